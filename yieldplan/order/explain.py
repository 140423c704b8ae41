"""What has to be known before the first cut, in sentences: what is made, how pieces are named, how a board is laid."""

from __future__ import annotations

from typing import TYPE_CHECKING

from yieldplan.model.leftovers import SIDES
from yieldplan.model.pieces import PieceNames
from yieldplan.model.recut import cards_that_hold
from yieldplan.model.words import slope_words
from yieldplan.pages.wording import figure, listed, per_cent, plural, ring_text, size

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping, Sequence

    from yieldplan.model import Defect, Job, Offcut, Plan, Shop
    from yieldplan.order.data import Kept, Order

LAYING = (
    "Pencil on every board, as it was measured: A and B on its ends, 1 on face 1, and a tick across the corner where "
    "face 1 meets edge 1. Carry the 1 and the tick on to every part that is cut from it."
)

MARGINS = (
    "What each blank has to spare before it is lost, once its billet is jointed as planned; what is planed off is "
    "included. Take each figure by itself: neighbours may share one gap. The spare board is untouched and gives each "
    "kind of blank that this board gives, if not as many; one may be spare for several."
)

SIZE = "Finished size"
COUNTS = ("Need", "Made", "Spare", "Missing")
KINDS = ("Blank", SIZE, *COUNTS, "Wood", "If one is lost")
"""Headings of the batch as a table, the same in text, pages and workbook."""

NO_REASON = "No reason was found."
"""Said where no reason for a missing blank was handed in."""

ALONE = 6
"""How many boards without a spare one are named; where there are more they are counted."""


def headlines(order: Order) -> tuple[str, ...]:
    """Return what matters first: how much is made of what, and which boards no other could replace."""
    need, made = sum(kind.blank.need for kind in order.kinds), sum(kind.made for kind in order.kinds)
    boards, missing, spares = len(order.cards), order.plan.missing_total, order.plan.spare_total
    short = f"SHORT by {missing}: " if missing else ""
    more = f" and {spares} {plural(spares, 'spare')}" if spares else ""
    made_line = f"{short}{made} of {need} made{more} from {boards} {plural(boards, 'board')}."
    alone = [card.board for card in order.cards if not card.stand_by]
    if not alone:
        return (made_line,)
    if len(alone) > ALONE:
        return (made_line, f"{len(alone)} boards have no spare board: their cards say so.")
    has = plural(len(alone), "has", "have")
    return (made_line, f"{listed(alone)} {has} no spare board.")


def whys(order: Order, reasons: Mapping[str, str]) -> Iterator[str]:
    """Yield why the pile does not make the missing blanks, a paragraph a kind."""
    for kind in order.kinds:
        if kind.missing:
            name = kind.blank.name
            yield f"{name}, {kind.missing} missing: {reasons.get(name, NO_REASON)}"


def kind_rows(order: Order) -> list[tuple[str, ...]]:
    """Return the batch under :data:`KINDS`, a row a kind; each rendering makes harmless what a user typed."""
    return [
        (
            kind.blank.name,
            size(order.job.shop, kind.blank.length, kind.blank.width, kind.blank.thickness),
            *(str(kind.blank.need), str(kind.made), str(kind.spare or ""), str(kind.missing or "")),
            listed([name for name in kind.species if name]),
            listed(kind.another),
        )
        for kind in order.kinds
    ]


def filled(
    heads: tuple[str, ...], rows: Sequence[tuple[str, ...]]
) -> tuple[tuple[str, ...], list[tuple[str, ...]]]:
    """Return a table without the columns in which nothing stands."""
    used = [place for place in range(len(heads)) if any(row[place] for row in rows)]
    return tuple(heads[place] for place in used), [tuple(row[place] for place in used) for row in rows]


def board_facts(offcut: Offcut) -> tuple[str, ...]:
    """Return what is said of a board behind its size: species, rack, moisture, as far as they are known."""
    moisture = "" if offcut.moisture is None else f"moisture {per_cent(offcut.moisture)}"
    return tuple(filter(None, (offcut.species, offcut.rack and f"rack {offcut.rack}", moisture)))


def naming(order: Order) -> tuple[str, ...]:
    """Return sentences that explain the names of pieces, with names of the order's own pile."""
    if not order.cards:
        return ()
    stick = order.cards[0].milled[0].sections[0].name
    sticks = (
        "Sticks are numbered through their board, in the order in which they come off the saw. Write names such as "
        f"{stick} on the end grain of end B once the ends are off. Blanks of a kind are alike and have no names."
    )
    sentences = [sticks]
    if any(len(card.drawn.billets) > 1 for card in order.cards):
        sentences.append("Billets A, B and so on are lengths of one board, from its end A.")
    if any(card.splits for card in order.cards):
        sentences.append("Near and far are the halves of a split one: the near half keeps edge 1.")
    paired = [blank.name for blank in order.job.blanks if blank.pairs]
    if paired:
        sentences.append(
            f"{listed(paired, 99)}: made in pairs of one species. Pencil the number of its pair on each as it is cut: "
            "the two with one number belong together."
        )
    if order.rack:
        sentences.append(f"{order.rack[0].name} and so on are new names, for what goes back on the rack.")
    return tuple(sentences)


def kept_words(kept: Kept, shop: Shop) -> str:
    """Return a keeper in one sentence: new name and size, wood, which sides are true, its defects as they lie now."""
    offcut, fig = kept.offcut, figure(shop)
    wood = [offcut.species, f"from {kept.board}"]
    if offcut.moisture is not None:
        wood.append(f"moisture {per_cent(offcut.moisture)}")
    if offcut.rings is not None:
        wood.append(f"rings {ring_text(offcut)}")
    if offcut.grain_slope is not None:
        wood.append(f"grain {slope_words(offcut.grain_slope)}")
    sides = "all round" if len(kept.jointed) == len(SIDES) else ", ".join(kept.jointed)
    defects = "; ".join(_defect(one, fig) for one in offcut.defects)
    true = f"jointed: {sides}" if sides else "no side jointed"
    facts = "; ".join(filter(None, (", ".join(filter(None, wood)), true, defects)))
    return f"{kept.name}, {size(shop, *kept.size)}: {facts}"


def _defect(defect: Defect, fig: Callable[[int], str]) -> str:
    """Return a defect of a keeper and where it lies in it: along, across from edge 1, and through or on which face."""
    along = f"{fig(defect.x1)} to {fig(defect.x2)} from end A"
    across = f"{fig(defect.y1)} to {fig(defect.y2)} from edge 1"
    deep = "" if defect.through else f", {fig(defect.z1)} to {fig(defect.z2)} from face 1"
    return f"{defect.kind} {along}, {across}{deep}"


def left_words(order: Order) -> str:
    """Return the boards that are not touched, with how many of several like ones."""
    names = (f"{one.name} ({count} of {one.qty})" if one.qty > 1 else one.name for one, count in order.left)
    return ", ".join(names) or "None."


def holding(job: Job, old: Plan, new: Plan) -> str:
    """Return which cards of an older plan still hold, in a sentence or two."""
    names = PieceNames(job, new)
    kept = [names.board(drawn) for drawn in cards_that_hold(old.offcuts, new.offcuts)]
    if not kept:
        return "None of the older plan's cards holds any more: cut by the new ones."
    fresh = len(new.offcuts) - len(kept)
    new_ones = f" {fresh} {plural(fresh, 'board has', 'boards have')} a new card." if fresh else ""
    return f"Cards that still hold: {listed(kept, most=len(kept))}.{new_ones}"
