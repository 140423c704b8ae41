"""How pieces are named and how an offcut is laid, in sentences for the first page."""

from __future__ import annotations

from typing import TYPE_CHECKING

from yieldplan.harmless import harmless
from yieldplan.model import SplitBillet
from yieldplan.order.marks import stick_mark

if TYPE_CHECKING:
    from yieldplan.order.data import Order

LAYING = (
    "Pencil on every offcut, as it was measured: A and B on its ends, 1 on face 1, and a tick across the "
    "corner where face 1 meets edge 1. Carry the 1 and the tick on to every part that is cut from it."
)


MARGINS = (
    "What each blank has to spare before it is lost, once its billet is jointed as planned; its planing and length "
    "allowances are part of it. Each by itself: neighbours may count on the same gap. The stand-by, an untouched "
    "offcut or a keeper, could make all blanks of that offcut should it fail; one may stand by for several. "
    "On a large pile not all are looked at."
)


def naming(order: Order) -> tuple[str, ...]:
    """Return sentences that explain the names of pieces, with an example from the order's own pile."""
    name = harmless(order.cards[0].root) if order.cards else "P1"
    sign, small = order.sign, stick_mark(2)
    grown = (
        f"Names grow from the offcut's own. {name}{sign}A2{small}3 is read from the left: offcut {name}; A, "
        "its first length from end A on; 2, the second strip from edge 1 (the second layer from face 1, if "
        f"it is resawn first); {small}, that strip's second stick from face 1 (that layer's from edge 1); 3, "
        f"the third piece from end A on. {name}{sign}A2-4 is a board in which strips 2 to 4 are still "
        "together. A part that needs no further saw cut gets its whole name at once."
    )
    short = (
        "Capitals I and O, and small letters that look like figures (b g i l o q s z), are not used. In the "
        f"lists what a piece gives is written short: A2{small} stands for {name}{sign}A2{small}."
    )
    copies = f"{order.copy_sign}2 behind an offcut's name is the second of several like pieces."
    split = (
        f"{name}{sign}An and {name}{sign}Af are the near and the far half of a length A that is split before "
        "jointing; their strips go on from there."
    )
    several = any(offcut.qty > 1 for offcut in order.job.offcuts)
    halves = any(isinstance(part, SplitBillet) for drawn in order.plan.offcuts for part in drawn.segments)
    return (grown, short, *((split,) if halves else ()), *((copies,) if several else ()))
