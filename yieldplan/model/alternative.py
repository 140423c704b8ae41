"""Wood or work: what a plan comes to at one price of work, to be set beside others."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from yieldplan.model.plan import Plan


@dataclass(frozen=True, slots=True, kw_only=True)
class Alternative:
    """The best plan that was found at one price of work.

    ``price`` is in hundredths of a minute for a board foot, 0 where work counts for nothing; ``net_worth`` in
    thousandths of a board foot; ``hundredths`` of a minute in all.
    """

    price: int
    missing: int
    boards: int
    net_worth: int
    saw_settings: int
    hundredths: int
    waste_figure: float
    proven: bool

    @classmethod
    def of(cls, plan: Plan, price: int) -> Alternative:
        """Return what a plan comes to that was made at this price."""
        return cls(
            price=price,
            missing=plan.missing_total,
            boards=len(plan.offcuts),
            net_worth=plan.proof.net_worth,
            saw_settings=plan.work.saw_settings,
            hundredths=plan.work.hundredths,
            waste_figure=plan.account.waste_figure,
            proven=plan.proof.proven,
        )
