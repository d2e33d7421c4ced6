"""A cut plan as a workbook holds it, held to itself: what is cut is what was planned, from the stock planned."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from baybook.workbook.compare import cell_name
from baybook.workbook.read import Address, ReadBook
from baybook.workbook.shape import Shape
from baybook.workbook.sheets.stock import blocks_of

__all__ = ["PlanFault", "plan_costs", "plan_faults"]

_CUT = re.compile(r"(?:(\d+) x )?(\d+(?:\.\d+)?)")


@dataclass(frozen=True, slots=True)
class PlanFault:
    """What does not add up in a plan, and the cells that say it."""

    cells: tuple[Address, ...]
    message: str

    def __str__(self) -> str:
        return f"{', '.join(cell_name(at) for at in self.cells)}: {self.message}"


def plan_costs(book: ReadBook, shape: Shape) -> tuple[float, ...]:
    """Return what the plan of each cut item costs, by the workbook."""
    return tuple(_number(book.at("cut_cost", block)) for block in range(shape.blocks))


def plan_faults(book: ReadBook, shape: Shape, values: Mapping[Address, Any]) -> list[PlanFault]:
    """Return what does not add up in the cut plans that a workbook holds.

    Parameters
    ----------
    book : ReadBook
        The workbook as read.
    shape : Shape
        Its shape.
    values : mapping
        The values of its formulas, worked out from its inputs and its plans.

    Returns
    -------
    list of PlanFault
        Empty if each plan cuts what it was made for from the stock it counts, at the cost it says.
    """
    return [fault for block in range(1, shape.blocks + 1) for fault in _Block(book, shape, values, block).faults()]


def _number(value: Any) -> float:
    return float(value) if isinstance(value, int | float) else 0.0


class _Block:
    """The plan of one cut item."""

    def __init__(self, book: ReadBook, shape: Shape, values: Mapping[Address, Any], block: int) -> None:
        self.book, self.shape, self.values, self.block = book, shape, values, block
        self.item, self.liner = blocks_of(shape)[block - 1]

    def cell(self, key: str, row: int) -> Address:
        where = self.book.names[key]
        return where.sheet, where.row + row, where.col

    def number(self, key: str, row: int) -> float:
        return _number(self.book.at(key, row))

    def whole(self, key: str, row: int) -> int:
        return round(self.number(key, row))

    def rows(self, key: str, holds: Callable[[int], bool]) -> list[int]:
        return [row for row in range(self.book.names[key].rows) if holds(row)]

    def faults(self) -> Iterator[PlanFault]:
        planned = self.rows("n_block", lambda row: self.number("n_block", row) == self.block)
        patterns = self.rows("pat_item", self.is_mine)
        first = (self.block - 1) * self.shape.lengths
        stock = [row for row in range(first, first + self.shape.lengths) if self.whole("u_plan16", row)]
        for row in range(first, first + self.shape.lengths):
            if row not in stock and self.number("u_plan", row):
                yield PlanFault(
                    (self.cell("u_plan", row),), f"{self.whole('u_plan', row)} stock pieces of no length are counted"
                )
        offcuts = self.rows("r_plan_qty", lambda row: self.values.get(self.cell("r_block", row)) == self.block)
        yield from self.asked(planned, patterns)
        yield from self.taken(patterns, stock, offcuts)
        yield from (fault for row in patterns for fault in self.fits(row))
        yield from self.cost(stock, offcuts)

    def is_mine(self, row: int) -> bool:
        text = str(self.book.at("pat_item", row) or "").casefold()
        name = str(self.book.at("l_liner", self.liner - 1) or "") if self.liner else ""
        return text == f"{self.item} {name}".strip().casefold()

    def cuts(self, row: int) -> Counter[int]:
        """Return sixteenths and count of what a pattern cuts."""
        found: Counter[int] = Counter()
        for part in str(self.book.at("pat_cuts", row) or "").split(" + "):
            match = _CUT.fullmatch(part)
            if match:
                found[round(float(match[2]) * 16)] += int(match[1] or 1)
        return found

    def asked(self, planned: list[int], patterns: list[int]) -> Iterator[PlanFault]:
        asked: Counter[int] = Counter()
        for row in planned:
            asked[self.whole("n_len16", row)] += self.whole("n_plan", row)
        cut: Counter[int] = Counter()
        for row in patterns:
            for length, count in self.cuts(row).items():
                cut[length] += count * self.whole("pat_times", row)
        for length in sorted(asked.keys() | cut.keys()):
            if asked[length] != cut[length]:
                rows = [row for row in patterns if length in self.cuts(row)]
                cells = [
                    *(self.cell("n_plan", row) for row in planned if self.whole("n_len16", row) == length),
                    *(self.cell(key, row) for row in rows for key in ("pat_times", "pat_cuts")),
                ]
                message = f"{asked[length]} pieces of {length / 16:g} in were planned and {cut[length]} are cut"
                yield PlanFault(tuple(cells), message)
        total = self.whole("t_planned", self.block - 1)
        if total != asked.total():
            message = f"{total} pieces were planned, by length they are {asked.total()}"
            yield PlanFault((self.cell("t_planned", self.block - 1),), message)

    def taken(self, patterns: list[int], stock: list[int], offcuts: list[int]) -> Iterator[PlanFault]:
        used: Counter[int] = Counter()
        for row in patterns:
            used[round(self.number("pat_stock", row) * 16)] += self.whole("pat_times", row)
        counted: Counter[int] = Counter()
        for row in stock:
            counted[self.whole("u_plan16", row)] += self.whole("u_plan", row)
        for row in offcuts:
            counted[self.whole("r_plan16", row)] += self.whole("r_plan_used", row)
        for length in sorted(used.keys() | counted.keys()):
            if used[length] != counted[length]:
                cells = [
                    *(self.cell("u_plan", row) for row in stock if self.whole("u_plan16", row) == length),
                    *(self.cell("r_plan_used", row) for row in offcuts if self.whole("r_plan16", row) == length),
                    *(self.cell("pat_times", row) for row in patterns if self.is_of(row, length)),
                ]
                message = f"{counted[length]} stock pieces of {length / 16:g} in are counted and {used[length]} are cut"
                yield PlanFault(tuple(cells), message)

    def is_of(self, row: int, length: int) -> bool:
        return round(self.number("pat_stock", row) * 16) == length

    def fits(self, row: int) -> Iterator[PlanFault]:
        kerf, trim = self.whole("planned_kerf", 0), self.whole("planned_trim", 0)
        cuts = self.cuts(row)
        taken = sum(length * count for length, count in cuts.items()) + kerf * (cuts.total() - 1) + trim
        whole = round(self.number("pat_stock", row) * 16)
        left = max(0, whole - taken - kerf)
        if taken > whole or round(self.number("pat_rest", row) * 16) != left:
            cells = tuple(self.cell(key, row) for key in ("pat_stock", "pat_cuts", "pat_rest"))
            yield PlanFault(cells, f"{left / 16:g} in are left over of {whole / 16:g} in")

    def cost(self, stock: list[int], offcuts: list[int]) -> Iterator[PlanFault]:
        cost = sum(self.whole("u_plan", row) * self.number("u_plan_price", row) for row in stock)
        cost += sum(self.whole("r_plan_used", row) * self.number("r_plan_value", row) for row in offcuts)
        said, bound = self.number("cut_cost", self.block - 1), self.number("cut_bound", self.block - 1)
        if abs(cost - said) > 0.004:
            yield PlanFault(
                (
                    self.cell("cut_cost", self.block - 1),
                    *(self.cell("u_plan_price", row) for row in stock),
                    *(self.cell("r_plan_value", row) for row in offcuts),
                ),
                f"the plan's stock costs {cost:.2f}, the plan says {said:.2f}",
            )
        proof = str(self.book.at("cut_proof", self.block - 1) or "")
        if bound > said + 0.004 or (proof.startswith("proven") and abs(bound - said) > 0.004):
            cells = tuple(self.cell(key, self.block - 1) for key in ("cut_bound", "cut_proof"))
            yield PlanFault(cells, f"no plan is under {bound:.2f}, this one costs {said:.2f}: {proof}")
