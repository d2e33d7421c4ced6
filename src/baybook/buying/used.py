"""What the jobs really used, beside what was taken off and the rates in use; rates are proposed, never applied."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from baybook.buying.link import Links
from baybook.buying.orders import Order, OrderLine, latest
from baybook.buying.records import HoursRow, Receipt, Return
from baybook.estimate import Estimate
from baybook.job.records import CUT_GOODS, ITEMS, PriceRow
from baybook.numbers import r6

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["ENOUGH", "HOURS_COLUMNS", "MATERIAL_COLUMNS", "Proposal", "hours_used", "materials_used", "proposals"]

ENOUGH = 5  # jobs behind a figure before it is proposed
MATERIAL_COLUMNS = (
    "job", "status", "item", "unit", "net", "order", "received", "returned", "left_over", "used", "waste", "in_use",
)  # fmt: skip
HOURS_COLUMNS = ("job", "status", "task", "count", "estimated", "worked", "each", "in_use")


@dataclass(frozen=True, slots=True)
class Proposal:
    """A rate as the jobs that are done bear it out.

    Parameters
    ----------
    key : str
        The key of rates.csv.
    in_use : float
        The rate of the newest of these jobs.
    proposed : float
        All they used over all that was taken off, or all hours over all counts.
    jobs : int
        The jobs behind it.
    low, quartile, median, upper, high, deviation : float
        Their spread, each job its own figure; the deviation is 0 for one job.
    """

    key: str
    in_use: float
    proposed: float
    jobs: int
    low: float
    quartile: float
    median: float
    upper: float
    high: float
    deviation: float

    @property
    def enough(self) -> bool:
        """Whether the jobs are enough to go by."""
        return self.jobs >= ENOUGH


def _units(line: OrderLine, offer: PriceRow | None) -> tuple[str, float]:
    """Return the item of an order line and its units in a pack; of cut goods the feet of a piece."""
    item = offer.item if offer else line.item.casefold()
    if item in CUT_GOODS:
        return item, (offer.length_in or 0.0) / 12 if offer else 0.0
    return item, offer.pack_qty if offer else float(line.pack_qty)


def _shares(line: OrderLine) -> dict[str, float]:
    total = float(sum(packs for _, packs in line.jobs))
    return {job.casefold(): float(packs) / total for job, packs in line.jobs} if total else {}


def _goods(
    orders: Sequence[Order], receipts: Iterable[Receipt], returns: Iterable[Return], prices: Iterable[PriceRow]
) -> dict[tuple[str, str], dict[str, float]]:
    """Return (job, item) -> units received, returned and left over; packs of several jobs by their shares."""
    links = Links(latest(orders), tuple(prices))
    found: dict[tuple[str, str], dict[str, float]] = {}

    def book(number: str, sku: str, quantity: Any, what: str, job: str = "") -> None:
        link = links.receipt(number, sku, quantity)
        if link.order is None or link.line is None or link.packs is None or link.line.is_freight:
            return
        item, each = _units(link.line, links.offer(link.order.supplier, link.line.sku))
        shares = {job.casefold(): 1.0} if job else _shares(link.line)
        for code, share in shares.items():
            row = found.setdefault((code, item), dict.fromkeys(("received", "returned", "left_over"), 0.0))
            row[what] = r6(row[what] + float(link.packs) * each * share)

    for one in receipts:
        book(one.order, one.sku, one.quantity - one.damaged, "received")
    for back in returns:
        book(back.order, back.sku, back.quantity, back.kind, back.job)
    return found


def _taken_off(estimate: Estimate) -> dict[str, tuple[str, float, float, float | None]]:
    """Return item -> unit, net, order quantity, waste rate in use; of cut goods feet, and no rate."""
    found: dict[str, tuple[str, float, float, float | None]] = {}
    for line in estimate.lines:
        _, net, order, _ = found.get(line.need.item, ("", 0.0, 0.0, None))
        found[line.need.item] = (line.unit, net + line.net, order + line.order, float(line.waste))
    for cut in estimate.cuts:
        _, net, order, _ = found.get(cut.cut.item, ("", 0.0, 0.0, None))
        pieces = sum(length for length, _ in cut.cut.pieces) / 192
        bought = sum(one.length * one.pieces for one in cut.bought) / 192
        found[cut.cut.item] = ("ft", net + pieces, order + bought, None)
    return found


def materials_used(
    estimates: Iterable[Estimate],
    orders: Sequence[Order],
    receipts: Iterable[Receipt],
    returns: Iterable[Return],
    prices: Iterable[PriceRow],
) -> pd.DataFrame:
    """Hold what each job received, less what it sent back and left over, against its take-off.

    Parameters
    ----------
    estimates : iterable of Estimate
        Jobs.
    orders, receipts, returns, prices : iterable
        What was bought for them; the price list knows what is in a pack.

    Returns
    -------
    DataFrame
        One row a job and item that anything came for; columns `MATERIAL_COLUMNS`: quantities float in the item's unit
        (feet of cut goods), ``waste`` what was used over net less 1, ``in_use`` the rate (both NaN for cut goods, whose
        plan is their waste, and some of which came from the rack).
    """
    import pandas as pd

    goods = _goods(orders, receipts, returns, prices)
    rows = []
    for estimate in estimates:
        code = estimate.inputs.job.job
        for item, (unit, net, order, rate) in _taken_off(estimate).items():
            came = goods.get((code.casefold(), item))
            if came is None:
                continue
            used = r6(came["received"] - came["returned"] - came["left_over"])
            waste = used / net - 1 if net > 0 and rate is not None else float("nan")
            rows.append(
                (code, estimate.inputs.job.status, item, unit, r6(net), r6(order), *came.values(), used, waste, rate)
            )
    frame = pd.DataFrame(rows, columns=list(MATERIAL_COLUMNS))
    return frame.astype(dict.fromkeys(MATERIAL_COLUMNS[4:], "float64"))


def hours_used(estimates: Iterable[Estimate], hours: Iterable[HoursRow]) -> pd.DataFrame:
    """Hold the hours worked on each task against the estimate.

    Parameters
    ----------
    estimates : iterable of Estimate
        Jobs.
    hours : iterable of HoursRow
        What was worked.

    Returns
    -------
    DataFrame
        One row a job and task that has both; columns `HOURS_COLUMNS`: ``each`` is hours worked for one of the count.
    """
    import pandas as pd

    worked: dict[tuple[str, str], float] = {}
    for row in hours:
        key = (row.job.casefold(), row.task)
        worked[key] = r6(worked.get(key, 0.0) + float(row.person_hours))
    rows = []
    for estimate in estimates:
        code, status = estimate.inputs.job.job, estimate.inputs.job.status
        for line in estimate.labour:
            spent = worked.get((code.casefold(), line.task))
            if spent is not None:
                each = spent / line.count if line.count > 0 else float("nan")
                rows.append((code, status, line.task, line.count, float(line.hours), spent, each, line.hours_each))
    frame = pd.DataFrame(rows, columns=list(HOURS_COLUMNS))
    return frame.astype(dict.fromkeys(HOURS_COLUMNS[3:], "float64"))


def proposals(materials: pd.DataFrame, hours: pd.DataFrame) -> list[Proposal]:
    """Work out what rates the jobs that are done bear out.

    Parameters
    ----------
    materials, hours : DataFrame
        As `materials_used` and `hours_used` give them; only jobs whose status is done count.

    Returns
    -------
    list of Proposal
        ``waste_ITEM`` for goods in packs, then ``hours_TASK``; also those with too few jobs behind them.
    """
    found = []
    packed = materials[(materials["status"] == "done") & (materials["net"] > 0) & materials["in_use"].notna()]
    for item, rows in packed.groupby("item", sort=False):
        share = max(0.0, float(rows["used"].sum() / rows["net"].sum() - 1))
        found.append(_proposal(f"waste_{item}", rows, "waste", share))
    worked = hours[(hours["status"] == "done") & (hours["count"] > 0)]
    for task, rows in worked.groupby("task", sort=False):
        found.append(_proposal(f"hours_{task}", rows, "each", float(rows["worked"].sum() / rows["count"].sum())))
    order = {f"waste_{item}": at for at, item in enumerate(ITEMS)}
    return sorted(found, key=lambda one: order.get(one.key, len(order)))


def _proposal(key: str, rows: pd.DataFrame, column: str, proposed: float) -> Proposal:
    values = rows[column]
    told: dict[Any, Any] = values.describe().to_dict()
    return Proposal(
        key=key,
        in_use=float(rows["in_use"].iloc[-1]),
        proposed=proposed,
        jobs=int(rows["job"].nunique()),
        low=told["min"],
        quartile=told["25%"],
        median=told["50%"],
        upper=told["75%"],
        high=told["max"],
        deviation=float(values.std()) if len(values) > 1 else 0.0,
    )
