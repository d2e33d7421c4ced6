"""Functions on cut plans and prices."""

from __future__ import annotations

from decimal import Decimal
from typing import Any, NamedTuple

from baybook.addin.declare import UNITS, Argument, Function, Head, Pieces, arg, many_values, one_value, rows_of, table
from baybook.addin.reading import Refusal, is_blank, is_heading, read_cell
from baybook.cutplan import Piece, Plan, Stock, Unplannable, plan_cuts, verify_plan
from baybook.job.fields import Kind
from baybook.job.rates import Rates
from baybook.job.records import PriceRow
from baybook.numbers import cents, sixteenths_down, sixteenths_up
from baybook.pricing.offers import Taken, offers_on
from baybook.pricing.price import profit_on
from baybook.pricing.table import price_lines

__all__ = ["FUNCTIONS"]

PIECES = table("pieces", "columns: length to cut [in, or text with a unit], how many (left out: 1)")
STOCK = table("stock", "columns: length [in, or text with a unit], price, how many there are (blank: any), name")
_MOST_PIECES = 5_000  # a spreadsheet stands still while it waits
_LENGTH = arg(Kind.LENGTH, "length", bare_unit="in", unit="in", above=0, high=9999, help="a length")
_COUNT = arg(Kind.COUNT, "how many", default=1, low=0, high=100_000, help="how many")
_SUPPLY = arg(Kind.COUNT, "how many there are", optional=True, low=0, high=100_000, help="how many there are")
_PRICE = arg(Kind.MONEY, "price", low=0, high=9_999_999, help="price of one")
_NAME = arg(Kind.TEXT, "name", default="", help="its name")


def _records(name: str, rows: list[list[Any]], columns: tuple[Argument, ...], needed: int) -> list[list[Any] | None]:
    """Read a table column by column; None for a blank row and for a heading."""
    found: list[list[Any] | None] = []
    for number, row in enumerate(rows, 1):
        if all(is_blank(cell) for cell in row) or (number == 1 and is_heading(row)):
            found.append(None)
            continue
        if len(row) < needed:
            names = ", ".join(one.name for one in columns)
            raise Refusal(f"{name} has {len(row)} column{'s' * (len(row) != 1)}; it takes: {names}")
        padded = [*row, *[None] * len(columns)]
        found.append(
            [read_cell(one.field, padded[at], f"{name}, row {number}, {one.name}") for at, one in enumerate(columns)]
        )
    if not any(found):
        raise Refusal(f"{name} holds no row")
    return found


class _Planned(NamedTuple):
    plan: Plan
    stock: list[Stock]
    rows: list[int | None]  # row given -> index of its stock


def _planned(
    pieces: list[list[Any]], stock: list[list[Any]], kerf_in: float, trim_in: float, least_in: float
) -> _Planned:
    asked = [row for row in _records("pieces", pieces, (_LENGTH, _COUNT), 1) if row]
    rows = _records("stock", stock, (_LENGTH, _PRICE, _SUPPLY, _NAME), 2)
    offered = [
        Stock(sixteenths_down(length), int(cents(price) * 100), supply, name)
        for length, price, supply, name in (row for row in rows if row)
    ]
    wanted = [Piece(sixteenths_up(length), count) for length, count in asked]
    if sum(one.count for one in wanted) > _MOST_PIECES:
        raise Refusal(f"more than {_MOST_PIECES} pieces are asked for: plan them in parts")
    kerf, trim = sixteenths_up(kerf_in), sixteenths_up(trim_in)
    longest = max((one.length for one in offered if one.supply != 0), default=0) - trim
    for one in wanted:
        if one.count and one.length > longest:
            raise Refusal(
                f"a piece of {one.length / 16:g} in is longer than the longest stock less its end trim, "
                f"{max(0, longest) / 16:g} in: take longer stock or splice the piece"
            )
    try:
        plan = plan_cuts(wanted, offered, kerf=kerf, end_trim=trim, min_remainder=sixteenths_up(least_in))
    except ImportError as missing:
        raise Refusal(
            f"this plan needs the Python package {missing.name}, which is not installed", "numpy highspy"
        ) from None
    except Unplannable:
        raise Refusal("there is not enough stock for all pieces: add stock, or leave its number blank") from None
    verify_plan(plan, wanted, offered, kerf=kerf, end_trim=trim)
    numbers = iter(range(len(offered)))
    return _Planned(plan, offered, [next(numbers) if row else None for row in rows])


def _money(cent: int) -> float:
    return float(Decimal(cent) / 100)


def _cut_plan(*given: Any) -> list[list[Any]]:
    plan, stock, _ = _planned(*given)
    rows: list[list[Any]] = []
    for one in plan.patterns:
        used = stock[one.stock]
        pieces = Pieces(tuple((length / 16, count) for length, count in one.pieces))
        cost = _money(used.price * one.times)
        rows.append([one.times, used.length / 16, used.name, pieces, one.remainder / 16, cost])
    said = (
        "least cost, proven"
        if plan.proven
        else f"none can cost less than {_money(plan.lower_bound):.2f}: {plan.reason}"
    )
    return [*rows, [sum(plan.used), "", "in all", said, "", _money(plan.cost)]]


def _cut_counts(*given: Any) -> list[list[Any]]:
    planned = _planned(*given)
    return [["" if at is None else planned.plan.used[at]] for at in planned.rows]


# ---------------------------------------------------------------------------------------------- prices

_LINE = (
    arg(Kind.NAME, "item", help="what is bought"),
    arg(Kind.NUMBER, "quantity", low=0, high=9_999_999, help="in the unit of the offers"),
)
_OFFER_COLUMNS = ("supplier", "sku", "item", "pack_qty", "pack_price", "currency", "valid_from", "valid_to")
_OFFER = {
    one: arg(PriceRow, one, one, optional=one not in {"supplier", "sku", "item", "pack_price"}, default=default)
    for one, default in zip(_OFFER_COLUMNS, (None, None, None, 1.0, None, "", None, None), strict=True)
} | {"item": _LINE[0]}


def _offers(rows: list[list[Any]]) -> list[PriceRow]:
    """Read a table of offers by the names in its first row, which are those of prices.csv."""
    names = ["" if is_blank(cell) else str(cell).strip().casefold() for cell in rows[0]]
    lacking = [name for name, one in _OFFER.items() if not one.optional and name not in names]
    if lacking:
        raise Refusal(f"offers has no column {', '.join(lacking)}; its first row must name them as prices.csv does")
    found = []
    for number, row in enumerate(rows[1:], 2):
        if all(is_blank(cell) for cell in row):
            continue
        values = {
            name: read_cell(_OFFER[name].field, row[at], f"offers, row {number}, {name}")
            for at, name in enumerate(names)
            if name in _OFFER
        }
        found.append(PriceRow(**({"currency": ""} | values)))
    return found


def _in_force(rows: list[PriceRow], on: Any, currency: str) -> list[PriceRow]:
    """M6. The offers that count on a day in a currency; both must be said where the table leaves a doubt."""
    currencies = sorted({row.currency for row in rows})
    if currency == "" and len(currencies) > 1:
        raise Refusal(f"the offers are in {', '.join(one or 'none' for one in currencies)}: say currency_code")
    if on is None and any(row.valid_from or row.valid_to for row in rows):
        raise Refusal("the offers have dates from and to which they are valid: say price_date")
    currency = currency or (currencies[0] if currencies else "")
    if on is None:
        return [row for row in rows if row.currency == currency]
    return list(offers_on(rows, on, currency))


def _taken(lines: list[tuple[str, float]], offers: list[PriceRow]) -> list[list[Any]]:
    """Price the lines through the pandas table; row by row by the same rule where pandas is not installed."""
    try:
        import pandas as pd
    except ImportError:
        return [_priced_row(*line, one) for line, one in zip(lines, price_lines(lines, offers), strict=True)]
    from baybook.pricing.table import price_table

    columns = ("supplier", "sku", "item", "pack_qty", "pack_price")
    frame = pd.DataFrame([[getattr(row, name) for name in columns] for row in offers], columns=list(columns))
    priced = price_table(pd.DataFrame(lines, columns=["item", "quantity"]), frame)
    return [
        [*row[:6], float(row[6]), float(row[7])] for row in priced.astype(object).itertuples(index=False, name=None)
    ]


def _priced_row(item: str, quantity: float, one: Taken | None) -> list[Any]:
    if one is None:
        return [item, quantity, "", "", 0.0, 0, 0.0, 0.0]
    offer = one.offer
    return [
        item, quantity, offer.supplier, offer.sku, offer.pack_qty, one.packs, float(offer.pack_price), float(one.cost)
    ]  # fmt: skip


def _price_table(lines: list[list[Any]], offers: list[list[Any]], on: Any, currency: str) -> list[list[Any]]:
    wanted = [(item, quantity) for item, quantity in (row for row in _records("lines", lines, _LINE, 2) if row)]
    priced = _taken(wanted, _in_force(_offers(offers), on, currency))
    return [*priced, ["in all", "", "", "", "", "", "", float(sum(cents(Decimal(repr(row[-1]))) for row in priced))]]


def _marked_up(cost: Decimal, markup: Decimal) -> float:
    return float(cents(cost) + profit_on(cost, markup, "markup"))


def _with_margin(cost: Decimal, margin: Decimal) -> float:
    return float(cents(cost) + profit_on(cost, margin, "margin"))


_CUTTING = (
    PIECES,
    STOCK,
    arg(Rates, "kerf", "kerf_in"),
    arg(Rates, "end_trim", "end_trim_in"),
    arg(Rates, "offcut_min", "offcut_min_in"),
)
_COST = arg(Kind.MONEY, "cost", low=0, high=99_999_999, help="before profit")

FUNCTIONS = (
    Function(
        name="BAY_CUT_PLAN",
        help="The cheapest way to cut the pieces from the stock, as a table, with its proof.",
        rule="P7",
        args=(*_CUTTING, UNITS),
        gives=rows_of(
            "a row a way of cutting; last the sum and whether none can cost less",
            Head("times"),
            Head("stock", "in"),
            Head("name"),
            Head("pieces"),
            Head("left over", "in"),
            Head("cost"),
        ),
        core=_cut_plan,
        engine="cutplan.plan_cuts",
        example=([[142.5, 2], [72, 2]], [[144, 41], [192, 52]]),
    ),
    Function(
        name="BAY_CUT_COUNTS",
        help="How many of each row of the stock the cheapest cut plan takes.",
        rule="P7",
        args=_CUTTING,
        gives=many_values("stock pieces"),
        core=_cut_counts,
        engine="cutplan.plan_cuts",
        example=([[142.5, 2], [72, 2]], [[144, 41], [192, 52]]),
    ),
    Function(
        name="BAY_PRICE_TABLE",
        help="Lines priced from offers: the offer of least cost for the whole packs needed.",
        rule="M5",
        args=(
            table("lines", "columns: item, quantity with waste in the unit of the offers"),
            table("offers", f"first row the columns' names: {', '.join(_OFFER_COLUMNS)}"),
            arg(Kind.DATE, "price_date", optional=True, help="day whose prices count"),
            arg(Kind.CURRENCY, "currency_code", default="", help="of the offers that count, such as USD"),
        ),
        gives=rows_of(
            "a row a line; last the sum",
            Head("item"),
            Head("quantity"),
            Head("supplier"),
            Head("sku"),
            Head("pack_qty"),
            Head("packs"),
            Head("pack_price"),
            Head("cost"),
        ),
        core=_price_table,
        engine="pricing.table.price_table",
        example=(
            [["seam_tape", 163.8]],
            [
                ["supplier", "sku", "item", "pack_qty", "pack_price"],
                ["Alder Yard", "AY-T50", "seam_tape", 50, 31],
                ["Birch Supply", "BS-T75", "seam_tape", 75, 45],
            ],
        ),
    ),
    Function(
        name="BAY_MARKUP_PRICE",
        help="Price with profit as a share of the cost.",
        rule="M3",
        args=(_COST, arg(Kind.PERCENT, "markup", low=0, high=10, help="share of the cost, 25% or 0.25 as a number")),
        gives=one_value("price"),
        core=_marked_up,
        engine="pricing.price.profit_on",
        example=(8000, 0.25),
    ),
    Function(
        name="BAY_MARGIN_PRICE",
        help="Price with profit as a share of the price.",
        rule="M3",
        args=(_COST, arg(Kind.PERCENT, "margin", low=0, high=0.99, help="share of the price, 30% or 0.3 as a number")),
        gives=one_value("price"),
        core=_with_margin,
        engine="pricing.price.profit_on",
        example=(8000, 0.3),
    ),
)
