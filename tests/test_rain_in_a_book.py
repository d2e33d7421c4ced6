"""rainfall.csv in a book: the point's file as NOAA Atlas 14 gives it; what is typed wins; what is missing is said."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest
from books import TODAY, book_folder, deck
from click.testing import CliRunner

from baybook.cli import main
from baybook.files.book import read_book
from baybook.problems import BookError
from baybook.water import rain_advice

FILE = Path(__file__).parent / "published" / "atlas14_39N_105W.csv"  # Volume 8, 39.0 N 105.0 W: US government data


def book(folder, *, file=True, **changes):
    """The worked deck without a typed rain unless the changes give one."""
    made = book_folder(folder, **{**changes, "job": {"rainfall": None, **changes.get("job", {})}})
    if file:
        shutil.copyfile(FILE, made / "rainfall.csv")
    return made


def only(folder):
    (inputs,) = read_book(folder, TODAY)
    return inputs


def problems(folder):
    with pytest.raises(BookError) as found:
        read_book(folder, TODAY)
    return [(one.source, one.line, one.field, one.message) for one in found.value.problems]


def test_an_empty_cell_takes_the_hour_of_a_hundred_years(tmp_path):
    inputs = only(book(tmp_path))
    assert inputs.job.rain_in_per_h == 2.18  # printed in the file
    assert inputs.rain.text == (
        "rainfall.csv: NOAA Atlas 14 Volume 8 Version 2, 39, -105, partial duration, 60 min, 100 years"
    )


@pytest.mark.parametrize(
    ("minutes", "years", "printed"),
    [(5, 100, 9.31), (60, 10, 1.26), (5, 10, 5.52), (60, 100, 2.18), (1440, 1000, 0.371)],
)
def test_duration_and_interval_are_rates(tmp_path, minutes, years, printed):
    rates = {"rain_duration_min": minutes, "rain_return_years": years}
    assert only(book(tmp_path, rates=rates)).job.rain_in_per_h == printed


def test_both_durations_are_shown_whatever_is_used(tmp_path):
    for name, changes in (("taken", {}), ("typed", {"job": {"rainfall": "4.7 in/h"}})):
        rain = only(book(tmp_path / name, **changes)).rain
        assert (rain.hour_in_per_h, rain.five_minutes_in_per_h, rain.years) == (2.18, 9.31, 100)
        assert 4 < rain.five_minutes_in_per_h / rain.hour_in_per_h < 4.5


def test_what_is_typed_is_kept(tmp_path):
    inputs = only(book(tmp_path, job={"rainfall": "120 mm/h"}))
    assert inputs.job.rain_in_per_h == pytest.approx(120 / 25.4)
    assert inputs.rain.text == "typed in jobs.csv"


def test_without_a_file_there_is_nothing_beside_it(tmp_path):
    rain = only(book(tmp_path, file=False, job={"rainfall": "5 in/h"})).rain
    assert (rain.hour_in_per_h, rain.five_minutes_in_per_h, rain.years) == (None, None, 0)


@pytest.mark.parametrize(("key", "value", "said"), [("rain_duration_min", 20, "20"), ("rain_return_years", 30, "30")])
def test_a_value_the_file_lacks_is_not_guessed(tmp_path, key, value, said):
    ((source, line, field, message),) = problems(book(tmp_path, rates={key: value}))
    assert (source, line, field) == ("jobs.csv", 2, "rainfall")
    assert said in message
    assert "rain_duration_min or rain_return_years" in message


def test_no_rain_at_all_names_both_ways(tmp_path):
    ((source, line, field, message),) = problems(book(tmp_path, file=False))
    assert (source, line, field) == ("jobs.csv", 2, "rainfall")
    assert "4.7 in/h" in message
    assert "rainfall.csv" in message
    assert "Idaho, Montana, Oregon, Washington, Wyoming" in message


def test_a_published_city_is_a_suggestion_and_never_used(tmp_path):
    ((_, _, _, message),) = problems(book(tmp_path, file=False, job={"site": "12 Peach Row, Savannah GA 31401"}))
    assert "Savannah 4.3 in/h" in message
    assert "International Plumbing Code 2018, Appendix B, p. 129" in message
    assert "used only if you type it" in message


@pytest.mark.parametrize("state", ["ID", "MT", "OR", "WA", "WY"])
def test_states_without_coverage_get_their_sentence(tmp_path, state):
    ((_, _, _, message),) = problems(book(tmp_path, file=False, job={"site": f"4 Spruce Way {state}"}))
    assert "NOAA Atlas 14 has no estimates for" in message
    assert rain_advice(f"4 Spruce Way {state} 83702") in message


def test_a_file_that_is_none_is_a_problem_even_where_rain_is_typed(tmp_path):
    folder = book(tmp_path, job={"rainfall": "5 in/h"})
    (folder / "rainfall.csv").write_text("month,rain\n1,3\n", encoding="utf-8")
    assert [one[:3] for one in problems(folder)] == [("rainfall.csv", 1, "rainfall")]
    (folder / "rainfall.csv").write_text("The selected location is not within a project area.\n", encoding="utf-8")
    ((_, _, _, message),) = problems(folder)
    assert "does not cover this place" in message


def test_a_file_saved_by_a_spreadsheet_program_is_read(tmp_path):
    folder = book(tmp_path)
    text = FILE.read_text(encoding="utf-8")
    padded = "\r\n".join(line + "," * max(0, 10 - line.count(",")) for line in text.splitlines())
    for encoding in ("utf-8-sig", "utf-16", "cp1252"):
        (folder / "rainfall.csv").write_bytes(padded.encode(encoding))
        assert only(folder).job.rain_in_per_h == 2.18, encoding


def test_it_is_said_in_the_json(tmp_path):
    result = CliRunner().invoke(main, ["takeoff", str(book(tmp_path)), "--json"])
    assert result.exit_code == 0, result.output
    (job,) = json.loads(result.stdout)["jobs"].values()
    assert job["rain"]["in_per_h"] == 2.18
    assert "Volume 8" in job["rain"]["from"]


def test_the_template_of_jobs_says_where_it_comes_from():
    assert "from rainfall.csv" in (Path(__file__).parents[1] / "templates" / "jobs.csv").read_text(encoding="utf-8")


def test_a_typed_zero_is_still_refused(tmp_path):
    assert "must be above 0" in problems(book(tmp_path, job={"rainfall": "0 in/h"}))[0][3]


def test_the_deck_itself_needs_no_file():
    assert "rainfall" in deck()["jobs"]
