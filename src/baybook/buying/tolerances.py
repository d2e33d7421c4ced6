"""How much a bill may differ from its order before somebody must look at it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from decimal import Decimal

from baybook.buying.records import Settings

__all__ = ["POLICIES", "Tolerance", "tolerance_of"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Tolerance:
    """What is let pass.

    Parameters
    ----------
    price_percent : Decimal or None
        Price difference of a line, as a share of the ordered price; None: not looked at.
    under_percent : bool
        The difference must stay under that share; reaching it is too much.
    price_money : Decimal or None
        Price difference of a line. [money]; None: not looked at.
    price_rule : str
        ``both``: a line passes under both limits; ``either``: under the greater of the two.
    order_money : Decimal or None
        Price differences of all lines of one order together. [money]
    overage_only : bool
        What is too little is noted and never stays open.
    quantity_percent : Decimal
        Quantity difference, as a share of the ordered quantity.
    """

    price_percent: Decimal | None = None
    under_percent: bool = False
    price_money: Decimal | None = None
    price_rule: str = "both"
    order_money: Decimal | None = None
    overage_only: bool = False
    quantity_percent: Decimal = Decimal(0)

    def price_passes(self, difference: Decimal, ordered: Decimal, of_order: Decimal) -> bool:
        """Return whether the price of a line is near enough.

        Parameters
        ----------
        difference : Decimal
            Billed less ordered, for the quantity billed. [money]
        ordered : Decimal
            The quantity billed at the ordered price. [money]
        of_order : Decimal
            The differences of all lines of the order together. [money]

        Returns
        -------
        bool
            True if it passes; without any limit only a difference of 0 does.
        """
        if difference == 0:
            return True
        limits = []
        if self.price_percent is not None:
            most = self.price_percent * abs(ordered)
            limits.append(abs(difference) < most if self.under_percent else abs(difference) <= most)
        if self.price_money is not None:
            limits.append(abs(difference) <= self.price_money)
        line = any(limits) if self.price_rule == "either" and limits else all(limits)
        if self.order_money is None:
            return bool(limits) and line
        return line and abs(of_order) <= self.order_money

    def quantity_passes(self, difference: Decimal, ordered: Decimal) -> bool:
        """Return whether a quantity is near enough, as a share of what was ordered."""
        return abs(difference) <= self.quantity_percent * ordered


# Ready settings after the published policies of four payables offices. Purdue University, Out-of-Tolerance Guidelines:
# line by line, under 15 % up to an overage of $100, any quantity difference needs approval. Saginaw Valley State
# University (as quoted by another): more than the greater of 10 % or $100, or more than was ordered, is held. New
# Mexico State University, Purchase Order Tolerance Rules: an invoice over its order by $50 or less is paid.
# Massachusetts Institute of Technology, Purchase Order Invoices: 50 % over the line, at most $100 of the whole order.
POLICIES: Mapping[str, Tolerance] = {
    "exact": Tolerance(),
    "purdue": Tolerance(price_percent=Decimal("0.15"), under_percent=True, price_money=Decimal(100)),
    "svsu": Tolerance(price_percent=Decimal("0.10"), price_money=Decimal(100), price_rule="either", overage_only=True),
    "nmsu": Tolerance(order_money=Decimal(50), overage_only=True),
    "mit": Tolerance(price_percent=Decimal("0.50"), order_money=Decimal(100), overage_only=True),
}


def tolerance_of(settings: Settings) -> Tolerance:
    """Return the tolerance of a book: a ready setting, with the single values that buying.csv changes."""
    base = POLICIES[settings.tolerance]
    changes = {
        "price_percent": settings.price_percent,
        "price_money": settings.price_money,
        "price_rule": settings.price_rule,
        "order_money": settings.order_money,
        "overage_only": None if settings.overage_only is None else settings.overage_only == "yes",
        "quantity_percent": settings.quantity_percent,
    }
    given = {name: value for name, value in changes.items() if value is not None}
    if settings.price_percent is not None:
        given["under_percent"] = False
    return replace(base, **given)  # type: ignore[arg-type]  # each value is that of its attribute
