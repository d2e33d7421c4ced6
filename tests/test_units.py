"""Quantities as people write them: what is read, refused and shown, and the factors against pint."""

from __future__ import annotations

import doctest
import math
import re
import subprocess
import sys
from fractions import Fraction

import pytest
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st

from baybook import units
from baybook.units import (
    FACTORS,
    UnitError,
    convert,
    feet_inches,
    metric,
    parse_area,
    parse_fall,
    parse_length,
    parse_rain,
    show_length,
)

# --- What is read ----------------------------------------------------------------------------------------------------

SAME_14_FT_3_HALF = [
    "14' 3-1/2\"",
    "14'3-1/2\"",
    "14' 3 1/2\"",
    "14'-3 1/2\"",
    "14'-3-1/2\"",
    "14' - 3 1/2\"",
    "14' 3½\"",
    "14' 3 ½\"",
    "14' 3-½\"",
    "14’ 3½”",
    "14′ 3 1⁄2″",
    "14‘ 3.5“",
    "14' 3,5''",
    "14′ 3½′′",
    "14 ft 3 1/2 in",
    "14 ft 3-1/2 in",
    "14ft 3.5in",
    "14 ft. 3.5 in.",
    "14 feet 3.5 inches",
    "14 foot 3.5 inch",
    "14 FT 3.50 IN",
    "14\u00a0ft\u202f3\u20071/2\u2009in",
    "14' 3\u20111/2\"",
    "  14'  3-1/2\"\n",
    '171.5"',
    "171-1/2 in",
    "171½ in",
    "171,5 in",
    "171.5''",
    "4.3561 m",
    "4356.1 mm",
    "435.61 cm",
    "4,3561 M",
]


@pytest.mark.parametrize("text", SAME_14_FT_3_HALF)
@pytest.mark.parametrize("bare", [None, "ft", "mm"])
def test_one_length_in_many_hands(text, bare):
    # 14·12 + 3.5 = 171.5 in; 171.5·25.4 = 4356.1 mm
    assert parse_length(text, bare) == 171.5


@pytest.mark.parametrize(
    ("text", "bare", "inches"),
    [
        ("14", "ft", 168.0),
        ("14", "in", 14.0),
        ("25.4", "mm", 1.0),
        ("0.0254", "m", 1.0),
        ("14.5", "ft", 174.0),
        ("14 1/2", "ft", 174.0),
        ("3-1/2", "in", 3.5),
        ("½", "in", 0.5),
        (".5", "in", 0.5),
        ("1/3 in", None, 0.333333333333),
        ("14½'", None, 174.0),
        ("14' 0\"", None, 168.0),
        ("14' 1/2\"", None, 168.5),
        ("14' 11-15/16\"", None, 179.9375),
        ("-3 in", None, -3.0),
        ("−14' 3\"", None, -171.0),
        ("-0", "in", 0.0),
        ("0,3048 m", None, 12.0),
        ("4,35 m", None, 171.259842519685),  # 4350/25.4 = 171.25984251968503...
        ("1 m", None, 39.370078740157),
        ("1000000 in", None, 1e6),
    ],
)
def test_lengths(text, bare, inches):
    assert parse_length(text, bare) == inches


@pytest.mark.parametrize(
    ("text", "inches"), [("12 ft 6 in", 150.0), ("1 1/2 in", 1.5), ("12'6\"", 150.0), ("12' 6-1/2\"", 150.5)]
)
def test_what_multiplying_across_a_space_would_get_wrong(text, inches):
    assert parse_length(text, None) == inches


@pytest.mark.parametrize(("glyph", "eighths"), [("⅛", 1), ("¼", 2), ("⅜", 3), ("½", 4), ("⅝", 5), ("¾", 6), ("⅞", 7)])
def test_typographic_fractions(glyph, eighths):
    assert parse_length(f"{glyph} in", None) == eighths / 8
    assert parse_length(f"2{glyph} in", None) == 2 + eighths / 8


@pytest.mark.parametrize(
    ("text", "bare", "sq_ft"),
    [
        ("130", "sq ft", 130.0),
        ("130 sq ft", "m2", 130.0),
        ("130 SqFt", None, 130.0),
        ("130 sq. ft.", None, 130.0),
        ("130.5 ft2", None, 130.5),
        ("130,5 ft²", None, 130.5),
        ("9.290304 m2", None, 100.0),  # 0.3048² · 100 = 9.290304
        ("9.290304 m²", None, 100.0),
        ("9.290304 sq m", None, 100.0),
        ("9.290304", "m2", 100.0),
        ("0", "sq ft", 0.0),
    ],
)
def test_areas(text, bare, sq_ft):
    assert parse_area(text, bare) == sq_ft


@pytest.mark.parametrize(
    ("text", "in_h"),
    [
        ("4.7 in/h", 4.7),
        ("4,7 in/hr", 4.7),
        ('4.7"/hour', 4.7),
        ("4-1/2 inches per hour", 4.5),
        ("127 mm/h", 5.0),
        ("127 MM/HR", 5.0),
        ("120 mm/h", 4.724409448819),  # 120/25.4
        ("0 in/h", 0.0),
    ],
)
def test_rain(text, in_h):
    assert parse_rain(text) == in_h


@pytest.mark.parametrize(
    ("text", "bare", "in_per_ft"),
    [
        ("1/4 in/ft", None, 0.25),
        ("¼ in/ft", None, 0.25),
        ('1/4"/ft', None, 0.25),
        ("1/4 in per foot", None, 0.25),
        ("0.25 in/ft", None, 0.25),
        ("0,25 in/ft", None, 0.25),
        ("20 mm/m", None, 0.24),
        ("2 %", None, 0.24),
        ("2%", "in/ft", 0.24),
        ("1/4", "in/ft", 0.25),
        ("20", "mm/m", 0.24),
        ("2", "%", 0.24),
        ("-1/8 in/ft", None, -0.125),
    ],
)
def test_falls(text, bare, in_per_ft):
    assert parse_fall(text, bare) == in_per_ft


# --- What is refused, and what the message says ----------------------------------------------------------------------

GENERAL = "write 14' 3-1/2\", 171.5 in, 4.35 m or 4350 mm"
REFUSED = [
    ("14-3 1/2", "14-3 1/2 could be 14 ft 3 1/2 in or 14 less 3 1/2: write 14' 3-1/2\" or 14 ft 3.5 in"),
    ('14-3"', '14-3" could be 14 ft 3 in or 14 less 3: write 14\' 3" or 14 ft 3 in'),
    ("14–3", "14–3 could be 14 ft 3 in or 14 less 3: write 14' 3\" or 14 ft 3 in"),
    ("14 - 3", "14 - 3 could be 14 ft 3 in or 14 less 3: write 14' 3\" or 14 ft 3 in"),
    ("14 3", "14 3 does not say which number is feet and which inches: write 14' 3\" or 14 ft 3 in"),
    ("14 3 1/2 in", "does not say which number is feet and which inches: write 14' 3-1/2\" or 14 ft 3.5 in"),
    ("14-16", "14-16 is not read as a length: " + GENERAL),
    ("14.5' 3\"", "14.5' 3\" has feet that are not whole before its inches: write whole feet, as in 14' 3\""),
    ("14 1/2 ft 3 in", "has feet that are not whole before its inches"),
    ("14' 12\"", "has 12 inches or more beside its feet: write inches below 12, or all of it in inches, 180 in"),
    ("-14' 12\"", "all of it in inches, -180 in"),
    ("14' 3", "14' 3 ends in a number without its inch mark: write 14' 3\""),
    ("14 ft.3 in", "is not read as a length"),
    ("14 ft -3 in", "is not read as a length"),
    ("14 ft - 3 in", "is not read as a length"),
    ("14' -3\"", "is not read as a length"),
    ("14' 3 mm", "is not read as a length"),
    ("14'3'", "is not read as a length"),
    ('14"3"', "is not read as a length"),
    ("3-5/4 in", "3-5/4 in has a fraction that is not below 1, 5/4: write a mixed number such as 3-1/2"),
    ("3 4/4 in", "has a fraction that is not below 1, 4/4"),
    ("11/2 in", "has a fraction that is not below 1, 11/2"),  # a lost space: 1 1/2
    ("1/0 in", "1/0 in has a fraction over zero, 1/0"),
    ("14' 3-1/0\"", "has a fraction over zero, 1/0"),
    ("½2 in", "is not read as a length"),
    ("1/2½ in", "is not read as a length"),
    ("1/2/3 in", "is not read as a length"),
    ("1.5 1/2 in", "is not read as a length"),
    ("1,234 mm", "1,234 mm could be 1234 or 1.234: write one of them, with no comma"),
    ("0,125 in", "0,125 in could be 125 or 0.125: write one of them, with no comma"),
    ("1,234.5 mm", "1,234.5 mm has a number written with stray or thousands separators: write it plainly, 1234.5"),
    ("1.234,5 mm", "stray or thousands separators"),
    ("1,234,567 mm", "stray or thousands separators"),
    ("1.234.567 mm", "stray or thousands separators"),
    ("14. in", "stray or thousands separators"),
    (",5 in", "stray or thousands separators"),
    ("3 810 mm", "3 810 mm has a space inside its number: write 3810 mm"),
    ("3\u202f810 mm", "has a space inside its number: write 3810 mm"),
    ("1'234 mm", "is not read as a length"),
    ("5 m 20 cm", "is not read as a length"),
    ("- 3 in", "is not read as a length"),
    ("+3 in", "is not read as a length"),
    ("--3 in", "is not read as a length"),
    ("1e3 mm", "1e3 mm is not read as a length: " + GENERAL),
    ("nan", "nan is not read as a length"),
    ("inf", "inf is not read as a length"),
    ("-inf in", "is not read as a length"),
    ("0x10 in", "is not read as a length"),
    ("1_000 mm", "is not read as a length|has a unit that is not read"),
    ("１２ in", "is not read as a length"),  # full-width digits
    ("١٢ in", "is not read as a length"),  # Arabic-Indic digits
    ("14 yd", "14 yd has a unit that is not read for a length, yd: " + GENERAL),
    ("14 sq ft", "14 sq ft has a unit that is not read for a length, sq ft"),
    ("14 mmm", "has a unit that is not read for a length, mmm"),
    ("14 ft x 12 ft", "is not read as a length"),
    ("abc", "abc is not read as a length"),
    ("ft", "ft is not read as a length"),
    ("14\n3", "is not read as a length"),
    ("14 in\x00", "is not read as a length"),
    ("", "nothing is written where a length belongs: " + GENERAL),
    (" \u00a0 ", "nothing is written where a length belongs"),
    ("9" * 5000, "9999… is too long to be a length"),
    ("1000001 in", "1000001 in is over 1,000,000 in, the most read as a length: check the number and its unit"),
    ("-83334 ft", "is over 1,000,000 in"),
]


@pytest.mark.parametrize(("text", "reason"), REFUSED, ids=[repr(text)[:20] for text, _ in REFUSED])
def test_refused_lengths(text, reason):
    with pytest.raises(UnitError) as caught:
        parse_length(text, "ft")
    assert any(part in str(caught.value) for part in reason.split("|"))


@pytest.mark.parametrize("bare", ["ft", None])
@pytest.mark.parametrize(
    "text", ["14-3 1/2", "14 3", "14-3 ½", "-14-3", "14' 3", "14' 15\"", "3 810 mm", "14 1 1/3 in"]
)
def test_the_cures_offered_can_be_read_and_agree(text, bare):
    with pytest.raises(UnitError) as caught:
        parse_length(text, bare)
    cure = re.split(r"write (?:inches below 12, or all of it in inches, )?", str(caught.value))[-1]
    readings = {round(parse_length(one, bare), 9) for one in cure.split(" or ")}
    assert len(readings) == 1


@pytest.mark.parametrize("text", ["14", "14.5", "0", "1/2", "-3"])
def test_a_metric_book_refuses_a_bare_length(text):
    with pytest.raises(UnitError) as caught:
        parse_length(text, None)
    assert str(caught.value) == (
        f"{text} has no unit, and a metric book needs a unit beside every length: 4.35 m or 4350 mm"
    )


@pytest.mark.parametrize(
    ("parse", "text", "reason"),
    [
        (lambda t: parse_area(t, None), "130", "a metric book needs a unit beside every area: 12 m2 or 130 sq ft"),
        (lambda t: parse_area(t, "sq ft"), "12 m", "12 m has a unit that is not read for an area, m"),
        (lambda t: parse_area(t, "sq ft"), "1 200", "1 200 has a space inside its number: write 1200"),
        (lambda t: parse_area(t, "sq ft"), "12' 6\"", "is not read as an area: write 130 sq ft or 12 m2"),
        (lambda t: parse_area(t, "sq ft"), "-1", "-1 is below zero, which an area cannot be"),
        (lambda t: parse_area(t, "m2"), "100000", "100000 is over 1,000,000 sq ft"),  # 1,076,391 sq ft
        (parse_rain, "4.7", "4.7 has no unit, and rain needs its unit: 4.7 in/h or 120 mm/h"),
        (parse_rain, "4.7 in", "4.7 in has a unit that is not read for a rate of rain, in"),
        (parse_rain, "-1 mm/h", "-1 mm/h is below zero, which a rate of rain cannot be"),
        (parse_rain, "1,234 mm/h", "could be 1234 or 1.234"),
        (parse_rain, "", "nothing is written where a rate of rain belongs: write 4.7 in/h or 120 mm/h"),
        (lambda t: parse_fall(t, None), "1/4", "a fall needs its unit: 1/4 in/ft, 20 mm/m or 2 %"),
        (lambda t: parse_fall(t, None), "1/4 in", "1/4 in has a unit that is not read for a fall, in"),
        (lambda t: parse_fall(t, None), "5/4 in/ft", "has a fraction that is not below 1, 5/4"),
    ],
)
def test_refused_areas_rain_and_falls(parse, text, reason):
    with pytest.raises(UnitError) as caught:
        parse(text)
    assert reason in str(caught.value)


# --- Properties ------------------------------------------------------------------------------------------------------

unhurried = settings(deadline=None)  # a busy machine is no failure
sixteenths = st.integers(-16_000_000, 16_000_000).map(lambda n: n / 16)


@unhurried
@given(sixteenths)
@example(0.0)
@example(-0.0625)
@example(191.9375)
def test_feet_and_inches_come_back(inches):
    assert parse_length(feet_inches(inches), None) == inches


@unhurried
@given(st.integers(-25_400_000, 25_400_000))
def test_millimetres_come_back(mm):
    inches = parse_length(f"{mm} mm", None)
    assert inches == pytest.approx(mm / 25.4, abs=1e-9)
    assert parse_length(metric(inches), None) == inches


@unhurried
@given(
    st.sampled_from(["", "-"]),
    st.integers(0, 9999),
    st.sampled_from(["'", " '", "’", "′ ", "ft", " ft ", " FEET ", " foot ", " ft. ", "'-", "' - "]),
    st.integers(0, 11),
    st.integers(0, 63),
    st.sampled_from(["-", " ", "  "]),
    st.sampled_from(['"', ' "', "”", "''", "in", " in", " in.", " inch", " Inches"]),
)
def test_every_spelling_of_feet_inches_and_64ths(sign, feet, foot_mark, inches, part, join, inch_mark):
    text = f"{sign}{feet}{foot_mark}{inches}{join}{part}/64{inch_mark}"
    size = feet * 12 + inches + part / 64
    assert parse_length(text, None) == (-size if sign else size)


@unhurried
@given(st.integers(0, 9999), st.integers(0, 99_999_999), st.integers(1, 8), st.sampled_from(["in", "ft", "mm"]))
def test_a_decimal_comma_is_read_unless_three_places_follow(whole, digits, places, unit):
    after = str(digits).zfill(8)[:places]
    assume(whole < 1000 or unit != "ft")
    text = f"{whole},{after} {unit}"
    if places == 3:
        with pytest.raises(UnitError, match="could be"):
            parse_length(text, None)
    else:
        assert parse_length(text, None) == parse_length(f"{whole}.{after} {unit}", None)


PIECES = [
    *["1", "3", "14", "12", "0", "1/2", "3/4", "½", "¾", ".5", "1.25", "2,5", " ", " ", " ", "-", "'", '"', "''"],
    *["ft", "in", " ft ", " in", "ft.", "in.", "feet", "inch", "mm", "cm", " m", "’", "”", "\u00a0", "/", ".", ","],
    *["e3", "nan", "x", "sq ft", "%"],
]
SIZES = {"'": 12, "f": 12, '"': 1, "i": 1, "mm": Fraction(5, 127), "cm": Fraction(50, 127), "m": Fraction(5000, 127)}


def by_tokens(text, bare):
    """Read an accepted length another way: numbers add up until a unit multiplies them; the rest is bare."""
    for plain, fancy in (("'", "’"), ('"', "”"), (" ", "\u00a0"), ('"', "''"), (" 1/2", "½"), (" 3/4", "¾")):
        text = text.replace(fancy, plain)
    total = group = Fraction(0)
    pending = False
    for number, unit in re.findall(r"([0-9]*[.,]?[0-9]+(?:/[0-9]+)?)|(['\"]|[a-z]+)", text.lower()):
        if number:
            group, pending = group + Fraction(number.replace(",", ".")), True
        else:
            total, group, pending = total + group * SIZES[unit if "m" in unit else unit[0]], Fraction(0), False
    if pending:
        total += group * {"ft": 12, "in": 1, None: 0}[bare]
    return float(round(-total if text.strip().startswith("-") else total, 12))


@unhurried
@given(st.lists(st.sampled_from(PIECES), max_size=8).map("".join), st.sampled_from(["ft", "in", None]))
def test_what_is_read_is_the_sum_of_its_tokens_and_all_else_is_one_sentence(text, bare):
    try:
        inches = parse_length(text, bare)
    except UnitError as error:
        assert_one_sentence(str(error))
    else:
        assert inches == by_tokens(text, bare)


@unhurried
@given(st.text(max_size=120))
def test_any_text_is_a_number_or_one_sentence(text):
    for parse in (
        lambda: parse_length(text, "ft"),
        lambda: parse_length(text, None),
        lambda: parse_area(text, "sq ft"),
        lambda: parse_rain(text),
        lambda: parse_fall(text, "in/ft"),
    ):
        try:
            assert math.isfinite(parse())
        except UnitError as error:
            assert_one_sentence(str(error))


def assert_one_sentence(message):
    assert message.isprintable()
    assert len(message) < 300
    assert re.search(r"write |check |a metric book needs|needs its unit", message)


# --- What is shown ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("inches", "us", "si"),
    [
        (171.5, "14' 3-1/2\"", "4.356 m"),
        (168, "14' 0\"", "4.267 m"),
        (168.5, "14' 0-1/2\"", "4.280 m"),
        (12, "1' 0\"", "305 mm"),
        (6, '6"', "152 mm"),
        (0.5, '1/2"', "13 mm"),
        (3.0625, '3-1/16"', "78 mm"),
        (0, '0"', "0 mm"),
        (-0.01, '0"', "0 mm"),
        (-6, '-6"', "-152 mm"),
        (-171.5, "-14' 3-1/2\"", "-4.356 m"),
        (191.99, "16' 0\"", "4.877 m"),
        (4350 / 25.4, "14' 3-1/4\"", "4.350 m"),
        (350 / 25.4, "1' 1-3/4\"", "350 mm"),
        (999.4 / 25.4, "3' 3-3/8\"", "999 mm"),
        (999.6 / 25.4, "3' 3-3/8\"", "1.000 m"),
    ],
)
def test_shown(inches, us, si):
    assert (feet_inches(inches), metric(inches)) == (us, si)
    assert (show_length(inches, "us"), show_length(inches, "metric")) == (us, si)


def test_the_half_sixteenth_from_both_sides():
    # 1/32 = 0.03125; noise in the seventh place does not move the count, a hundred-thousandth does
    assert feet_inches(168.03125) == feet_inches(168.03125 - 1e-9) == "14' 0-1/16\""
    assert feet_inches(168.03124) == "14' 0\""
    assert feet_inches(-168.03125) == "-14' 0-1/16\""
    assert metric(0.5 / 25.4) == "1 mm"
    assert metric(0.4999 / 25.4) == "0 mm"


@unhurried
@given(st.floats(-1e5, 1e5))
def test_shown_is_the_nearest(inches):
    assert abs(parse_length(feet_inches(inches), None) - inches) <= 1 / 32 + 1e-6
    assert abs(parse_length(metric(inches), None) - inches) * 25.4 <= 0.5 + 1e-5


@pytest.mark.parametrize("bad", [math.nan, math.inf, -math.inf])
def test_only_finite_lengths_are_shown(bad):
    for show in (feet_inches, metric):
        with pytest.raises(UnitError, match="finite"):
            show(bad)


def test_shown_in_us_or_metric_only():
    with pytest.raises(UnitError, match="units is imperial: write us or metric"):
        show_length(1.0, "imperial")


# --- Factors, pint and published figures -----------------------------------------------------------------------------


@pytest.mark.parametrize("name", FACTORS)
def test_factors_equal_pint(name):
    # W1 states 7.480519 gal/cu ft; 1728/231 = 7.48051948..., 6.4e-8 more. All others to the last bits of a float.
    within = 1e-7 if name == "GPM_PER_IN_H_SQ_FT" else 1e-15
    factor = FACTORS[name]
    assert getattr(units, name) == factor.value
    assert factor.value == pytest.approx(convert(1.0, factor.from_unit, factor.to_unit), rel=within)


def test_every_constant_is_in_the_mapping():
    constants = {name for name in units.__all__ if isinstance(getattr(units, name), float)}
    assert constants == set(FACTORS)
    assert len(FACTORS) == 10


PINT_NAMES = {
    "_LENGTH": ("in", {"'": "ft", '"': "in", "in.": "in", "ft.": "ft"}),
    "_AREA": (
        "ft**2",
        dict.fromkeys(("sq ft", "sq. ft.", "sqft", "ft2", "ft²"), "ft**2")
        | dict.fromkeys(("sq m", "m2", "m²"), "m**2"),
    ),
}


@pytest.mark.parametrize("kind", ["_LENGTH", "_AREA", "_RAIN", "_FALL"])
def test_every_unit_read_equals_pint(kind):
    target, names = PINT_NAMES.get(kind, ({"_RAIN": "in/hour", "_FALL": "in/ft"}.get(kind), {}))
    for unit, size in getattr(units, kind).units.items():
        name = names.get(unit, unit).replace(" per ", "/").replace('"', "in").replace("'", "ft").replace(".", "")
        name = {"%": "percent"}.get(name, re.sub(r"/\s*(h|hr)$", "/hour", name))
        assert float(size) == pytest.approx(convert(1.0, name, target), rel=1e-14), unit


def test_exact_by_definition():
    # International yard and pound, 1959: 1 yd = 0.9144 m (value from memory); US gallon 231 cu in (from memory)
    assert round(units.M_PER_FT * 3, 12) == 0.9144
    assert round(units.MM_PER_IN * 36, 9) == 914.4
    assert units.CU_IN_PER_FL_OZ * 128 == 231


def test_flow_factors_against_published_figures():
    # International Plumbing Code, section 1106: 0.0104 gpm for 1 in/h on 1 sq ft
    assert round(units.GPM_PER_IN_H_SQ_FT, 4) == 0.0104
    assert round(units.GPM_PER_IN_H_SQ_FT, 8) == 0.01038961
    assert round(units.L_S_PER_GPM, 7) == 0.0630902
    # MGMA, guidance document GD03 (2018): 150 mm/h is 0.042 L/s on a square metre
    l_s_per_m2 = parse_rain("150 mm/h") * units.GPM_PER_IN_H_SQ_FT * units.SQ_FT_PER_M2 * units.L_S_PER_GPM
    assert round(l_s_per_m2, 3) == 0.042


def test_a_cartridge_by_volume():
    # 10.1 US fl oz are 18.227 cu in
    assert round(10.1 * units.CU_IN_PER_FL_OZ, 3) == 18.227


@pytest.mark.parametrize(("fall", "percent"), [("1/16", 0.52), ("1/8", 1.04), ("1/4", 2.083), ("1/2", 4.17)])
def test_slopes_in_percent(fall, percent):
    # practice figures, computed: 1/4 in/ft is 2.083 %, which codes print as 2 %
    assert parse_fall(f"{fall} in/ft", None) / units.IN_PER_FT_PER_PERCENT == pytest.approx(percent, abs=0.005)


@pytest.mark.parametrize(
    ("from_unit", "to_unit"),
    [("ft", "s"), ("ft in", "in"), ("12 ft", "in"), ("smoot", "in"), ("=", "in"), ("ft", "((")],
)
def test_convert_refuses_in_a_sentence(from_unit, to_unit):
    with pytest.raises(UnitError, match="does not convert to"):
        convert(3.0, from_unit, to_unit)


def test_reading_and_showing_need_no_pint():
    code = (
        "import sys; from baybook.units import *; parse_length('4.35 m', None); parse_fall('2 %', None);"
        "feet_inches(3.5); print('pint' in sys.modules); convert(1, 'ft', 'in'); print('pint' in sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.split() == ["False", "True"]


def test_the_examples_in_the_docstrings_run():
    result = doctest.testmod(units)
    assert result.attempted >= 8
    assert result.failed == 0
