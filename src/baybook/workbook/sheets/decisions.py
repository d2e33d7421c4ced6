"""The framing decisions side by side, as the engine estimated them when the workbook was made."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from typing import Any

from baybook.decisions import Compared, Figures, compare
from baybook.estimate import Estimate
from baybook.workbook.declare import Column, Sheet, Table, Text
from baybook.workbook.shape import Shape

__all__ = ["decisions_sheet"]

Figure = Callable[[Compared, Figures | None], Any]


def _figure(name: str) -> Figure:
    """Return a figure by its name; money and hours as numbers, nothing where a rule refuses the option."""

    def of(_: Compared, figures: Figures | None) -> Any:
        value = getattr(figures, name, None)
        return float(value) if isinstance(value, Decimal) else value

    return of


def _brought(one: Compared, _: Figures | None) -> str:
    brought = [("FAILED " if found.failed else "") + str(found) for found in one.new]
    return "; ".join([*filter(None, [one.refused]), *brought])


_COLUMNS: tuple[tuple[str, str, str, str, Figure], ...] = (
    ("dec_area", "area", "", "", lambda one, _: one.option.area),
    ("dec_decision", "decision", "", "", lambda one, _: one.option.decision),
    ("dec_option", "option", "", "", lambda one, _: one.option.words),
    ("dec_stated", "in this book", "", "", lambda one, _: "yes" if one.option.stated else ""),
    ("dec_bays", "bays", "no", "0", _figure("bays")),
    ("dec_outlets", "outlets", "no", "0", _figure("outlets")),
    ("dec_liner", "liner pieces", "no", "0", _figure("liner_pieces")),
    ("dec_gutter", "gutter", "ft", "#,##0.0", _figure("gutter_ft")),
    ("dec_leaders", "leaders", "no", "0", _figure("leaders")),
    ("dec_fall", "least fall in the area", "in/ft", "0.0000", _figure("least_fall_in_per_ft")),
    ("dec_hours", "hours", "h", "#,##0.00", _figure("hours")),
    ("dec_price", "price", "money", "#,##0.00", _figure("price")),
    ("dec_more", "more than stated", "money", "+#,##0.00;-#,##0.00;0.00",
     lambda one, _: float(one.price_more) if one.estimate else None),
    ("dec_warnings", "warnings", "no", "0", _figure("warnings")),
    ("dec_failed", "failed checks", "no", "0", _figure("failed")),
    ("dec_new", "what it brings, or why it cannot be", "", "", _brought),
    ("dec_gone", "what it does away with", "", "", lambda one, _: "; ".join(map(str, one.gone))),
)  # fmt: skip


def decisions_sheet(estimate: Estimate, shape: Shape) -> Sheet:
    """Return the alternatives of each area side by side, every one estimated as a whole job."""
    rows = [(one, one.figures) for one in compare(estimate)]
    table = Table(
        key="decisions",
        title="Gutter side, posts, boards, beam",
        rows=shape.decisions,
        columns=tuple(
            Column(
                key=key,
                header=header,
                unit=unit,
                role="money" if unit == "money" else "label",
                fmt=fmt,
                width=40 if key in {"dec_new", "dec_gone"} else 0,
                values=tuple(figure(one, figures) for one, figures in rows),
                origin="plan",
            )
            for key, header, unit, fmt, figure in _COLUMNS
        ),
    )
    return Sheet(
        title="Decisions",
        purpose="What settles the drainage before framing: each option of each area, estimated as a whole job when this "
        "workbook was made. No formula follows an input here: build or refresh to renew it.",
        parts=(
            table,
            Text(
                lines=(
                    "A gutter on the ledger side brings the water to the house: an apron, and more pipe to lead it away.",
                    "Posts through the liner each need tape, bead and blocking; posts outside the frame need none of it.",
                    "A flush beam makes short runs with more fall, and outlets and a gutter of their own at the beam.",
                )
            ),
        ),
    )
