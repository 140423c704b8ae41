"""What the user sees after planning, on one screen: made and missing, what to be careful with, wood and work.

Pure functions of the order. They return rich renderables without colour; every word that the user typed is shown as it
is, never read as markup, and made harmless for the terminal.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.console import Group
from rich.padding import Padding

from yieldplan.model.pieces import counted
from yieldplan.order.careful import tight_ones
from yieldplan.order.explain import NO_REASON
from yieldplan.order.howgood import how_good, wood_or_work_rows, work_line
from yieldplan.order.sentences import several
from yieldplan.pages.renderables import Words, row, table
from yieldplan.pages.wording import listed, plural, size, unit_sign, wood_words

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from rich.console import RenderableType

    from yieldplan.model import Plan
    from yieldplan.order.data import Order

MOST, KEPT = 20, 6
"""How many boards and keepers are named; where there are more they are counted."""


def why_missing(plan: Plan, why: Mapping[str, str]) -> Iterator[RenderableType]:
    """Yield what is missing, kind by kind, each with its reason; ``why`` has these by the name of the blank."""
    for name, missing in plan.missing:
        if missing:
            yield Words(f"{counted(missing, name)} missing:")
            yield Padding(Words(why.get(name, NO_REASON)), (0, 0, 0, 2))


def summary(
    order: Order,
    *,
    ended: str = "",
    coarse: Sequence[str] = (),
    others: Sequence[Plan] = (),
) -> Group:
    """Return the summary of a plan, which fits on one screen.

    Parameters
    ----------
    order
        From :func:`yieldplan.order.steps.cutting_order`.
    ended
        Why the search ended, a clause; it is shown where the plan is not proven.
    coarse
        The offcuts that were looked at on a coarser mark.
    others
        What other prices of work give.
    """
    job, plan = order.job, order.plan
    parts: list[RenderableType] = []
    if count := len(job.warnings):  # what they say was shown before the search
        again = f"yieldplan check shows {plural(count, 'it', 'them')} again."
        parts.append(Words(f"{count} {plural(count, 'warning')} above; {again}"))
    parts.append(Words(_made(order), "bold"))
    lines = [*_boards(order)]
    if plan.offcuts:
        lines += [wood_words(plan.account, job.shop), work_line(job, plan)]
    search = f" The search ended: {ended.rstrip('.')}." if ended and not plan.proof.proven else ""
    lines.append(how_good(job, plan) + search)
    if coarse:
        few = "so many places for cuts that only some were tried. The plan is right all the same."
        lines.append(f"{listed(coarse)}: {few}")
    parts += map(Words, lines)
    heads, rows = wood_or_work_rows(job, plan, others)
    if rows:
        made = table(*heads)
        for column in made.columns[1:-1]:
            column.justify = "right"  # broken only where the screen is narrow
        for cells in rows:
            row(made, *cells)
        parts += [Words(""), made]
    return Group(*parts)


def _made(order: Order) -> str:
    """Return what is made, of what was needed and wanted beyond it."""
    need, spare = (sum(getattr(kind, what) for kind in order.job.blanks) for what in ("need", "spare"))
    missing, boards = order.plan.missing_total, len(order.cards)
    spares = f", and {order.plan.spare_total} of {spare} spares" if spare else ""
    if missing:
        made = f"; {order.plan.spare_total} of {spare} spares are made" if spare else ""
        return f"SHORT: {missing} of {need} needed blanks {plural(missing, 'is', 'are')} missing{made}."
    if not boards:
        return f"Nothing is needed, so nothing is cut{spares}."
    made = f"All {need} needed blanks are" if need != 1 else "The one needed blank is"
    return f"{made} made{spares}, from {boards} {plural(boards, 'board')}."


def _boards(order: Order) -> Iterator[str]:
    """Yield which boards are cut and left, what to be careful with, and what goes back on the rack."""
    left = sum(count for _, count in order.left)
    untouched = f"{left} {plural(left, 'board is', 'boards are')}" if left else "none is"
    boards = f"boards: {listed([card.board for card in order.cards], MOST)}; " if order.cards else ""
    said = f"{boards}{untouched} left alone."
    yield said[:1].upper() + said[1:]
    careful = list(_careful(order))
    if careful:
        yield f"Take care: {'; '.join(careful)}."
    if order.rack:
        kept = [f"{one.name} {size(order.job.shop, *one.size)}" for one in order.rack]
        more = f" and {len(kept) - KEPT} more" if len(kept) > KEPT else ""
        yield f"Keepers, {unit_sign(order.job.shop)}: {'; '.join(kept[:KEPT])}{more}."


def _careful(order: Order) -> Iterator[str]:
    """Yield what to be careful with: boards that no other could replace, metal, what has little to spare."""
    alone = [card.board for card in order.cards if not card.stand_by]
    if alone:
        yield f"no spare board for {listed(alone)}"
    metal = [card.board for card in order.cards if card.ends.metal]
    if metal:
        yield f"metal in {listed(metal)}"
    found = [tight_ones(card, order.job.shop) for card in order.cards]
    tight = [several(tuple(dict.fromkeys(one.name for one in some))) for some in found if some]
    if tight:
        few = "1/16 in" if order.job.shop.units == "inch" else "1.5 mm"
        yield f"less than {few} to spare on {listed(tight)}"
