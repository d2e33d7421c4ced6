"""From quantities to the price: lines, labour, overhead, profit, tax (rules T7, M1 to M6)."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from baybook.job.rates import Rates
from baybook.job.records import ITEMS, Extra, Job, JobInputs, Override, PriceRow
from baybook.numbers import cents, decimal_of, hundredths, r6
from baybook.pricing.cutgoods import CutLine
from baybook.pricing.offers import Taken, cheapest, order_quantity
from baybook.problems import Problem
from baybook.takeoff.model import Need

__all__ = [
    "ExtraLine",
    "LabourLine",
    "Line",
    "Totals",
    "extra_lines",
    "labour_lines",
    "never_offered",
    "price_line",
    "totals_of",
]

SELDOM = ("outlet_extension", "gutter_corner_out", "gutter_corner_in")  # items that many jobs do without


@dataclass(frozen=True, slots=True)
class Line:
    """A material line bought in packs."""

    need: Need
    net: float  # as taken off, or the estimator's own
    waste: Decimal
    order: float
    taken: Taken | None  # None where nothing is needed and nothing is on offer
    override: Override | None

    @property
    def packs(self) -> int:
        """Packs bought."""
        return self.taken.packs if self.taken else 0

    @property
    def cost(self) -> Decimal:
        """Cost of the packs."""
        return self.taken.cost if self.taken else Decimal(0)

    @property
    def unit(self) -> str:
        """Unit of the quantities."""
        return ITEMS[self.need.item].unit


@dataclass(frozen=True, slots=True)
class LabourLine:
    """M2. One task."""

    task: str
    count: float
    hours_each: float
    hours: Decimal
    cost: Decimal


@dataclass(frozen=True, slots=True)
class ExtraLine:
    """M3. A line the estimator added."""

    extra: Extra
    cost: Decimal


@dataclass(frozen=True, slots=True)
class Totals:
    """M3, M4. From cost to price, every figure in cents."""

    materials: Decimal
    labour: Decimal
    other: Decimal
    overhead: Decimal
    contingency: Decimal
    profit: Decimal
    tax: Decimal
    price: Decimal

    @property
    def cost(self) -> Decimal:
        """C of rule M3."""
        return self.materials + self.labour + self.other


def _offers_for(need: Need, offers: Sequence[PriceRow], only_liner: str) -> list[PriceRow]:
    """Offers of an item: of its liner record or of none; an item of no liner takes those of the job's only one."""
    record = need.liner or only_liner
    return [row for row in offers if row.item == need.item and row.liner.casefold() in {"", record}]


def _override_of(need: Need, inputs: JobInputs) -> Override | None:
    for row in inputs.overrides:
        item, _, liner = (part.strip().casefold() for part in row.item.partition(":"))
        if item == need.item and liner in {"", need.liner}:
            return row
    return None


def _missing(need: Need, inputs: JobInputs) -> Problem:
    """M6. A needed item without an offer is an error naming item, date and what was found."""
    same = [row for row in inputs.prices if row.item == need.item]
    shown = "; ".join(
        f"{row.supplier} {row.sku} in {row.currency}, valid {row.valid_from or 'open'} to {row.valid_to or 'open'}"
        for row in same[:3]
    )
    source = inputs.prices[0].place.source if inputs.prices else "prices.csv"
    of_liner = f" of liner {need.liner}" if need.liner else ""
    return Problem(
        source,
        0,
        need.item,
        f"job {inputs.job.job}: no offer for {need.item}{of_liner} on {inputs.on.isoformat()} in "
        f"{inputs.job.currency}: the price list has {shown or 'none of it'} (M6)",
    )


def never_offered(inputs: JobInputs, offers: Sequence[PriceRow]) -> list[Problem]:
    """M6. Items that every job needs and nobody offers on the day, cut goods apart."""
    offered = {row.item for row in offers}
    always = [code for code, item in ITEMS.items() if not item.cut and code not in SELDOM]
    return [_missing(Need(code, "", 0.0, "M6"), inputs) for code in always if code not in offered]


def price_line(need: Need, inputs: JobInputs, offers: Sequence[PriceRow]) -> Line | Problem:
    """T7, M1, M5, M6. Price one line; a problem if it is needed and not on offer."""
    override = _override_of(need, inputs)
    net = override.quantity if override else need.net
    waste = inputs.rates.waste_of(need.item)
    order = order_quantity(net, waste)
    only = next(iter(inputs.liners)) if len(inputs.liners) == 1 else ""
    taken = cheapest(order, _offers_for(need, offers, only))
    if taken is None and order > 0:
        return _missing(need, inputs)
    return Line(need, net, waste, order, taken, override)


def labour_lines(tasks: Mapping[str, float], rates: Rates, labour_rate: Decimal) -> tuple[LabourLine, ...]:
    """M2. Hours and cost of each task; the product is rounded to six places, then half up to 0.01."""
    lines = []
    for task, count in tasks.items():
        each = float(getattr(rates, f"hours_{task}"))
        hours = hundredths(r6(count * each))
        lines.append(LabourLine(task, count, each, hours, cents(hours * labour_rate)))
    return tuple(lines)


def extra_lines(extras: Sequence[Extra]) -> tuple[ExtraLine, ...]:
    """M3. Cost of each line the estimator added."""
    return tuple(ExtraLine(row, cents(decimal_of(row.quantity) * row.unit_cost)) for row in extras)


def _tax_on_materials(job: Job, rates: Rates, material_costs: Sequence[Decimal]) -> Decimal:
    """M4. Tax as a cost: once on the sum, or line by line."""
    if job.tax_on != "materials":
        return cents(Decimal(0))
    if rates.tax_basis == "item":
        return sum((cents(job.tax_rate * cost) for cost in material_costs), Decimal(0))
    return cents(job.tax_rate * sum(material_costs, Decimal(0)))


def profit_on(base: Decimal, profit: Decimal, basis: str) -> Decimal:
    """M3. Profit on a base, as a markup or a margin.

    Parameters
    ----------
    base : Decimal
        Cost with overhead, contingency and tax on materials. [money]
    profit : Decimal
        The share; under 1 for a margin.
    basis : str
        ``markup``: a share of the base; ``margin``: a share of the price.

    Returns
    -------
    Decimal
        Profit, in cents.

    Examples
    --------
    >>> str(8000 + profit_on(Decimal(8000), Decimal("0.25"), "markup"))
    '10000.00'
    >>> str(8000 + profit_on(Decimal(8000), Decimal("0.30"), "margin"))
    '11428.57'
    """
    return cents(base * profit) if basis == "markup" else cents(base / (1 - profit) - base)


def totals_of(
    inputs: JobInputs,
    lines: Sequence[Line],
    cuts: Sequence[CutLine],
    labour: Sequence[LabourLine],
    extras: Sequence[ExtraLine],
    freight: Decimal = Decimal(0),
) -> Totals:
    """M3, M4. From the lines to what the customer pays.

    Parameters
    ----------
    inputs : JobInputs
        Overhead, profit, tax and minimum charge.
    lines, cuts, labour, extras : sequence
        The priced lines.
    freight : Decimal
        Freight of the suppliers' orders, an other cost. [money]

    Returns
    -------
    Totals
        Every figure in cents; ``price`` includes the tax.
    """
    job, rates = inputs.job, inputs.rates

    def of_kind(kind: str) -> list[Decimal]:
        return [one.cost for one in extras if one.extra.kind == kind]

    goods = [line.cost for line in lines] + [cut.cost for cut in cuts] + of_kind("material")
    materials = cents(sum(goods, Decimal(0)))
    work = cents(sum((line.cost for line in labour), Decimal(0)) + sum(of_kind("labour"), Decimal(0)))
    other = cents(sum(of_kind("other"), freight))
    cost = materials + work + other
    overhead, contingency = cents(job.overhead * cost), cents(rates.contingency * cost)
    tax = _tax_on_materials(job, rates, goods)
    base = cost + overhead + contingency + tax
    profit = profit_on(base, job.profit, job.profit_basis)
    profit += max(Decimal(0), cents(rates.minimum_charge) - (base + profit))
    if job.tax_on == "total":
        tax = cents(job.tax_rate * (base + profit))
        return Totals(materials, work, other, overhead, contingency, profit, tax, base + profit + tax)
    return Totals(materials, work, other, overhead, contingency, profit, tax, base + profit)
