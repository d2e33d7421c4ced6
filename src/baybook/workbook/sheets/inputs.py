"""Input sheets: every declared field of the book in the workbook, in the units the job is shown in."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from decimal import Decimal
from typing import Any

from baybook.data import dressed_depths
from baybook.estimate import Estimate
from baybook.job.fields import Field, Kind, fields_of
from baybook.job.rates import Rates, rate_field
from baybook.job.records import ITEMS, Area, Extra, Framing, Job, Liner, Override, PriceRow, StockPiece, Supplier
from baybook.workbook.declare import Block, Column, Scalar, Sheet, Table
from baybook.workbook.shape import Shape, offers_here, stock_here, suppliers_here

__all__ = ["input_column", "input_sheets", "lists_of"]

IN_PER_M = 1000 / 25.4


def lists_of(shape: Shape) -> dict[str, tuple[str, ...]]:
    """Return the words each input with a list accepts, by list name."""
    lists = {}
    for record in (Job, Area, Framing, PriceRow, Extra, Rates):
        for one in fields_of(record):
            if one.choices:
                lists[f"list_{one.name}"] = one.choices
    lists["list_extra_kind"] = ("material", "labour", "other")
    lists["list_kind"] = next(one.choices for one in fields_of(Framing) if one.name == "kind")
    lists["list_joist"] = tuple(dressed_depths())
    lists["list_leader_size"] = shape.sizes
    lists["list_cut_item"] = tuple(code for code, item in ITEMS.items() if item.cut)
    return lists


class Units:
    """The units inputs are shown in: feet and inches, or metres and millimetres."""

    def __init__(self, metric: bool) -> None:
        self.metric = metric
        self.big, self.small = ("m", "mm") if metric else ("ft", "in")
        self.big_in, self.small_in = (IN_PER_M, 1 / 25.4) if metric else (12.0, 1.0)

    def of(self, one: Field) -> str:
        """Return the unit an input is shown in."""
        if one.kind in {Kind.LENGTH, Kind.JOIST} and not one.name.endswith(("_in", "_ft")):
            return self.big if one.bare_unit == "ft" else self.small
        return one.unit or {Kind.COUNT: "no", Kind.SHARE: "share", Kind.DATE: "date"}.get(one.kind, "")

    def shown(self, one: Field, value: Any) -> Any:
        """Return a value in the unit it is shown in; exact money and percentages as numbers."""
        if isinstance(value, Decimal):
            return float(value)
        if value is None or value == "":
            return None
        if one.kind in {Kind.LENGTH, Kind.JOIST} and not one.name.endswith(("_in", "_ft")):
            return self.plain(value, self.big_in if one.bare_unit == "ft" else self.small_in)
        return value

    def plain(self, inches: float, unit_in: float) -> float:
        """Return inches in a larger unit: the number a person wrote, which gives the inches back."""
        written = round(inches / unit_in, 9)
        close = 1e-11 if self.metric else 0.0  # no millimetre is a whole binary fraction of an inch
        return written if abs(written * unit_in - inches) <= close else inches / unit_in


def format_of(one: Field) -> str:
    """Return the number format of an input."""
    return {
        Kind.PERCENT: "0.00%",
        Kind.MONEY: "#,##0.00",
        Kind.DATE: "yyyy-mm-dd",
        Kind.COUNT: "0",
        Kind.SHARE: "0.00",
        Kind.LENGTH: "0.####",
        Kind.FALL: "0.####",
    }.get(one.kind, "General")


def input_column(prefix: str, one: Field, values: Iterable[Any], units: Units, choices: str = "") -> Column:
    """Return the column of an input: its declaration gives head, unit, list and prompt."""
    return Column(
        key=f"{prefix}_{one.name}",
        header=one.name.replace("_", " "),
        unit=units.of(one).replace("money", "money"),
        role="input",
        rule=one.rule,
        values=tuple(units.shown(one, value) for value in values),
        fmt=format_of(one),
        choices=choices or (f"list_{one.name}" if one.choices else ""),
        help=one.help,
    )


def _columns(
    prefix: str, record: type, rows: Sequence[Any], units: Units, skip: Sequence[str] = ()
) -> tuple[Column, ...]:
    return tuple(
        input_column(prefix, one, (getattr(row, one.attribute) for row in rows), units)
        for one in fields_of(record)
        if one.name not in skip
    )


def _scalar(key: str, one: Field, value: Any, units: Units) -> Scalar:
    return Scalar(
        key=key,
        label=one.name.replace("_", " "),
        unit=units.of(one),
        role="input",
        rule=one.rule,
        value=units.shown(one, value),
        fmt=format_of(one),
        choices=f"list_{one.name}" if one.choices or one.name == "leader_size" else "",
        help=one.help,
        note=one.help + (f" ({one.basis})" if one.basis else ""),
    )


def _job_sheet(estimate: Estimate, units: Units) -> Sheet:
    inputs = estimate.inputs
    scalars = [_scalar(f"job_{one.name}", one, getattr(inputs.job, one.attribute), units) for one in fields_of(Job)]
    on = Scalar(
        key="job_prices_on",
        label="prices of",
        unit="date",
        role="input",
        rule="M6",
        value=inputs.on,
        fmt="yyyy-mm-dd",
        help="counts while quoted on is empty",
        note="the day whose prices count while quoted on is empty",
    )
    return Sheet(
        title="Job",
        purpose="What is asked for the whole job: customer, rain, tax, overhead, profit. Yellow cells are yours to change.",
        parts=(Block(title="The job", scalars=(*scalars, on)),),
        landscape=False,
    )


def _areas_sheet(estimate: Estimate, shape: Shape, units: Units) -> Sheet:
    areas = estimate.inputs.areas
    depths = {depth: code for code, depth in dressed_depths().items()}
    columns = []
    for one in fields_of(Area):
        if one.name == "job":
            continue
        values = [getattr(area, one.attribute) for area in areas]
        if one.kind is not Kind.JOIST:
            if one.name == "liner":
                values = [estimate.inputs.liner_of(area).liner for area in areas]
            columns.append(input_column("a", one, values, units))
            continue
        columns.append(
            Column(
                key="a_joist",
                header="joist",
                unit="size",
                role="input",
                rule=one.rule,
                values=tuple(depths.get(value) for value in values),
                choices="list_joist",
                help="a dressed size; leave empty and give the depth of other lumber",
            )
        )
        columns.append(
            Column(
                key="a_joist_depth",
                header="or depth",
                unit=units.small,
                role="input",
                rule=one.rule,
                values=tuple(None if value in depths else units.plain(value, units.small_in) for value in values),
                fmt="0.####",
                help="depth of a joist that is no dressed size",
            )
        )
    water = ("gutter_side", "gutter_fix", "leader_at", "gutter_line", "posts_through", "wall_height", "wall_length", "roof_area",
             "frame_fall_in_per_ft")  # fmt: skip
    of_water = tuple(column for column in columns if column.key.removeprefix("a_") in water)
    echo = Column(key="a_again", header="area", role="label", formula='=[a_area@]&""')
    return Sheet(
        title="Areas",
        purpose="One part of the deck a row, framed in one direction: width along the ledger, projection out from it.",
        parts=(
            Table(
                key="areas",
                title="Areas",
                rows=shape.areas,
                columns=tuple(column for column in columns if column not in of_water),
                note="a spare row is an area you can add",
            ),
            Table(key="areas_water", title="Their water", rows=shape.areas, columns=(echo, *of_water)),
        ),
    )


def _framing_sheet(estimate: Estimate, shape: Shape, units: Units) -> Sheet:
    columns = _columns("f", Framing, estimate.inputs.framing, units, skip=("job",))
    table = Table(key="framing", title="Framing", rows=shape.framing, columns=columns)
    return Sheet(
        title="Framing",
        purpose="Members added to an area: doubled joists, divider boards, flush and dropped beams, blocking. x from the "
        "left end, y from the back of the ledger, both to the centre.",
        parts=(table,),
    )


def _liners_sheet(estimate: Estimate, shape: Shape, units: Units) -> Sheet:
    liners = tuple(estimate.inputs.liners.values())
    table = Table(key="liners", title="Liner records", rows=shape.liners, columns=_columns("l", Liner, liners, units))
    return Sheet(
        title="Liners",
        purpose="What the maker's sheet says of the liner actually bought. There is no default for any of it.",
        parts=(table,),
    )


def _rates_sheet(estimate: Estimate, units: Units) -> Sheet:
    rates = estimate.inputs.rates
    scalars = [
        _scalar(one.name, one, getattr(rates, one.attribute), units) for one in fields_of(Rates) if one.name != "units"
    ]
    waste = []
    for code, item in ITEMS.items():
        one = rate_field(f"waste_{code}")
        if one is not None and not item.cut:
            waste.append(_scalar(one.name, one, rates.waste_of(code), units))
    return Sheet(
        title="Rates",
        purpose="Allowances, spacings, wastes and production rates in force for this job; the basis stands beside each.",
        parts=(
            Block(title="Rates", scalars=tuple(scalars)),
            Block(title="Waste, on the net quantity", scalars=tuple(waste)),
        ),
        landscape=False,
    )


def _prices_sheet(estimate: Estimate, shape: Shape, units: Units) -> Sheet:
    columns = _columns("v", PriceRow, offers_here(estimate), units)
    table = Table(
        key="offers",
        title="Offers",
        rows=shape.offers,
        columns=columns,
        note="Of offers that cost the same the first is taken.",
    )
    return Sheet(
        title="Prices",
        purpose="The price list in force, sorted by supplier and SKU. Of offers that cost the same the one that stands "
        "first is taken. Freight is an other cost of the job, one order a supplier.",
        parts=(
            Table(
                key="suppliers",
                title="Suppliers' terms",
                rows=shape.suppliers,
                columns=_columns("sp", Supplier, suppliers_here(estimate), units),
            ),
            table,
        ),
    )


def _split_item(text: str) -> tuple[str, str]:
    item, _, liner = (part.strip() for part in text.partition(":"))
    return item.casefold(), liner


def _extras_sheet(estimate: Estimate, shape: Shape, units: Units) -> Sheet:
    inputs = estimate.inputs
    extras = [
        input_column(
            "e",
            one,
            (getattr(row, one.attribute) for row in inputs.extras),
            units,
            "list_extra_kind" if one.choices else "",
        )
        for one in fields_of(Extra)
        if one.name != "job"
    ]
    return Sheet(
        title="Extras",
        purpose="Lines of your own, quantities you know better, and offcuts on hand.",
        parts=(
            Table(key="extras", title="Lines of your own", rows=shape.extras, columns=tuple(extras)),
            Table(
                key="overrides",
                title="Quantities you know better (they replace the net quantity, or stock pieces of a length)",
                rows=shape.overrides,
                columns=_item_columns("h", Override, inputs.overrides, units, "list_item"),
            ),
            Table(
                key="offcuts",
                title="Offcuts on hand",
                rows=shape.offcuts,
                columns=_item_columns("r", StockPiece, stock_here(estimate), units, "list_cut_item"),
            ),
        ),
    )


def _item_columns(prefix: str, record: type, rows: Sequence[Any], units: Units, choices: str) -> tuple[Column, ...]:
    """Columns of a record whose item may name a liner: item and liner stand apart."""
    made = []
    for one in fields_of(record):
        if one.name == "job":
            continue
        if one.name != "item":
            made.append(input_column(prefix, one, (getattr(row, one.attribute) for row in rows), units))
            continue
        split = [_split_item(row.item) for row in rows]
        made.append(
            Column(
                key=f"{prefix}_item",
                header="item",
                role="input",
                values=tuple(item for item, _ in split),
                choices=choices,
                help=one.help,
            )
        )
        made.append(
            Column(
                key=f"{prefix}_liner",
                header="liner",
                role="input",
                values=tuple(liner or None for _, liner in split),
                help="its liner record, where a job uses several",
            )
        )
    return tuple(made)


def input_sheets(estimate: Estimate, shape: Shape) -> tuple[Sheet, ...]:
    """Return the input sheets of a job.

    Parameters
    ----------
    estimate : Estimate
        The job.
    shape : Shape
        Rows of each table.

    Returns
    -------
    tuple of Sheet
        Job, Areas, Framing, Liners, Rates, Prices, Extras.
    """
    units = Units(estimate.inputs.rates.units == "metric")
    return (
        _job_sheet(estimate, units),
        _areas_sheet(estimate, shape, units),
        _framing_sheet(estimate, shape, units),
        _liners_sheet(estimate, shape, units),
        _rates_sheet(estimate, units),
        _prices_sheet(estimate, shape, units),
        _extras_sheet(estimate, shape, units),
    )
