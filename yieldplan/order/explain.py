"""How pieces are named and how a board is laid, in sentences for the first page."""

from __future__ import annotations

from typing import TYPE_CHECKING

from yieldplan.sanitize import sanitize

if TYPE_CHECKING:
    from yieldplan.order.data import Order

LAYING = (
    "Pencil on every board, as it was measured: A and B on its ends, 1 on face 1, and a tick across the corner where "
    "face 1 meets edge 1. Carry the 1 and the tick on to every part that is cut from it."
)

MARGINS = (
    "What each blank has to spare before it is lost, once its billet is jointed as planned; what is planed off is part "
    "of it. Each by itself: neighbours may count on the same gap. The spare board is untouched and gives each kind of "
    "blank that this board gives, if not as many; one may stand by for several."
)


def naming(order: Order) -> tuple[str, ...]:
    """Return sentences that explain the names of pieces, with an example from the order's own pile."""
    name, sign = sanitize(order.cards[0].root) if order.cards else "P1", order.sign
    sticks = (
        f"Names grow from the board's own. {name}{sign}3 is its third stick, counted through the whole board; "
        f"{name}{sign}3 to 5 are sticks that are still joined; {name}{sign}K1 goes back on the rack. Write them on the "
        "end grain of end B, where no cutter takes them. Blanks of a kind are alike and have no names."
    )
    lengths = f"{name}{sign}A, {name}{sign}B are the lengths of a board of which two or more are milled."
    halves = f"{name}{sign}near and {name}{sign}far are the halves of one that is split before jointing."
    copies = f"{order.copy_sign}2 behind a board's name is the second of several like boards."
    several = any(len(card.lengths) - sum(x.keeper for x in card.lengths) > 1 for card in order.cards)
    split = any(milled.half for card in order.cards for milled in card.milled)
    again = any(offcut.qty > 1 for offcut in order.job.offcuts)
    said = ((lengths, several), (halves, split), (copies, again))
    return (sticks, *(words for words, true in said if true))
