"""What the screen says of the pile behind a plan's summary: what to buy, how much more there is, which cards hold."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from yieldplan.model.pieces import counted
from yieldplan.model.words import slope_words
from yieldplan.order.explain import holding
from yieldplan.pages.renderables import Words, heading, row, table
from yieldplan.pages.wording import length, listed, percent, plural, size, unit_sign, volume
from yieldplan.pile.buy import money_job, smallest_boards, what_to_buy
from yieldplan.pile.more import how_much_more, whole_sets

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from rich.console import RenderableType

    from yieldplan.model import Billet, Job, Plan, Shop
    from yieldplan.pile.buy import Purchase, SmallestBoard
    from yieldplan.pile.more import Recheck

FOR_BUYING = 10.0
"""Seconds that what to buy may take at most; half of those that the plan was given, if that is less."""


def buying(
    job: Job, plan: Plan, *, seconds: float, recheck: Recheck, stopped: Callable[[], bool]
) -> Iterator[RenderableType]:
    """Yield what to buy where blanks are missing: from the Yard, or the smallest boards that would do."""
    if not plan.missing_total:
        return
    yield heading("What to buy")
    limit = min(FOR_BUYING, seconds / 2)
    found = what_to_buy(job, plan, seconds=limit, stopped=stopped) if job.yard else None
    short = dict(plan.missing)
    if found is not None:
        recheck(money_job(job, plan), found.money_plan)
        recheck(found.job, found.plan)
        yield from _bought(found)
        short = dict(found.missing)
    left = [one for one in smallest_boards(job, plan) if short.get(one.blank.name)]
    if job.yard and left:
        names = listed(f"{one.blank.name} ({short[one.blank.name]})" for one in left)
        yield Words(f"No boards were found on Yard for {names}.")
    for one in left:
        yield Words(_smallest(one, job.shop))
    if left and not job.yard:
        yield Words("List what the yard sells, with prices, on a sheet Yard, and the plan says which to buy.")


def _bought(found: Purchase) -> Iterator[RenderableType]:
    shop, sign = found.job.shop, found.currency
    made = listed(counted(n, name) for name, n in found.plan.made if n)
    all_of = "what is missing" if not found.missing else "part of what is missing"
    yield Words(f"{_money(found.money, sign)} buys boards that make {all_of}: {made}.")
    sold, price = f"Sold as, {unit_sign(shop)}", "Price each"
    result = table("Buy", "Stock", sold, price, "Gives", right=("Buy", price), whole=(sold,))
    for stock, count in found.boards:
        board = stock.board
        cut = [drawn for drawn in found.plan.offcuts if drawn.offcut == board.name]
        gives = Counter(blank.blank for drawn in cut for blank in drawn.blanks)
        sizes = size(shop, board.length, board.width, board.thickness)
        names = ", ".join(counted(n, name) for name, n in gives.items())
        row(result, count, board.name, sizes, _money(stock.price, sign), names)
    yield result
    offcuts = found.plan.offcuts
    ways = Counter((drawn.offcut, *(_cut_as(part, shop) for part in drawn.jointed)) for drawn in offcuts)
    for (name, *parts), count in ways.items():
        yield Words(f"{name}{f', {count} of them' if count > 1 else ''}: {'; '.join(parts)}.")
    yield Words(_how_good(found))
    kept, blanks = found.plan.account.keepers, found.plan.account.blanks
    keepers = f", of which {volume(kept, shop)} goes on the rack as keepers" if kept else ""
    yield Words(
        f"That is {volume(found.volume, shop)} of boards{keepers}, for {volume(blanks, shop)} of blanks: "
        f"{percent(*found.waste.as_integer_ratio())} will be waste, faults included. That much waste means buying "
        f"{percent(*found.more.as_integer_ratio())} more than the blanks hold."
    )


def _cut_as(part: Billet, shop: Shop) -> str:
    """Return a billet in words: how long it is, its sticks by their rough section, what comes off them."""
    first, second = ("rip", "resaw") if part.rip_first else ("resaw", "rip")
    sticks = Counter(
        (strip.end - strip.start, stick.end - stick.start) for strip in part.strips for stick in strip.sticks
    )
    blanks = Counter(cut.blank for stick in part.sticks for cut in stick.blanks)
    sizes = (
        f"{count} {plural(count, 'stick')} ({first} {length(one, shop)}, {second} {length(other, shop)})"
        for (one, other), count in sticks.items()
    )
    gives = listed(counted(count, name) for name, count in blanks.items())
    return f"a billet {length(part.end - part.start, shop)} long, {listed(sizes)}, for {gives}"


def _how_good(found: Purchase) -> str:
    proof = found.money_plan.proof
    if found.proven:
        said = "Proven: no boards on Yard that make as much cost less."
    elif proof.missing != proof.missing_at_least:
        said = "Not proven: other boards on Yard may make more of it."
    else:
        off = _money(found.money - found.least, found.currency)
        said = f"Not proven: nothing cheaper by more than {off} exists on Yard."
    coarse = f" For {listed(found.coarse)} that holds among cuts on a coarser grid along the board."
    return said + (coarse if found.coarse else "")


def _smallest(one: SmallestBoard, shop: Shop) -> str:
    """Return the smallest board for a blank, with the grain that it asks for."""
    blank, board, several = one.blank, one.board, one.missing > 1
    if board is None:
        return (
            f"{blank.name}: no board would do, because the machines cannot make it (see its size on Blanks)."
        )
    wood = f" of {listed(blank.species)}" if blank.species else ""
    sizes = f"{size(shop, board.length, board.width, board.thickness)} {unit_sign(shop)}"
    takes = f"{'each' if several else 'it'} takes a sound, straight board{wood}, at least {sizes}"
    text = f"{blank.name}, {one.missing} missing: {takes}"
    if blank.ring_range is not None:
        low, high = blank.ring_range
        text += f", rings at {low}° to {high}° to its wide face"
    if blank.max_slope:
        text += f", grain no steeper than {slope_words(blank.max_slope)}"
    if several and one.length_for_all > board.length:
        all_of = "both" if one.missing == 2 else f"all {one.missing}"
        text += f". One {length(one.length_for_all, shop)} long gives {all_of}"
    return f"{text}."


def more_of_each(job: Job, plan: Plan, *, recheck: Recheck) -> Iterator[RenderableType]:
    """Yield how many more of each kind alone what is left gives."""
    yield heading("How much more")
    found = how_much_more(job, plan, recheck=recheck)
    most = (f" ({one.at_most} at most)" if one.at_most > one.found else "" for one in found)
    some = [counted(one.found, one.blank) + more for one, more in zip(found, most, strict=True) if one.found]
    if some:
        number, _, rest = some[0].partition(" ")
        first = some[0] if rest.startswith("×") else f"{number} more {rest}"
        yield Words(f"What is left, keepers included, is enough for {', or '.join([first, *some[1:]])}.")
    for one in found:
        if one.at_most and not one.found:
            yield Words(f"None was found for {one.blank}; {one.at_most} at most.")
    if names := [one.blank for one in found if not one.at_most]:
        yield Words(f"Not enough for one more: {', '.join(names)}.")


def sets_of_all(job: Job, *, recheck: Recheck) -> Iterator[RenderableType]:
    """Yield how many times the whole pile makes the batch."""
    yield heading("Whole batches")
    if not any(blank.need for blank in job.blanks):
        yield Words("The batch needs no blank, so there is nothing to count.")
        return
    found = whole_sets(job, recheck=recheck)
    most = f"at most {counted(found.at_most, 'time')}"
    if found.found:
        no_more = "and not more" if found.at_most == found.found else most
        words = f"The whole pile makes the batch {counted(found.found, 'time')}, {no_more}."
    elif found.at_most:
        words = f"No plan was found that makes the whole batch even once; {most} it could be made."
    else:
        words = "No plan makes the whole batch out of this pile."
    yield Words(f"{words} Spares are not counted.")


def cards_kept(job: Job, old: Plan, new: Plan) -> Iterator[RenderableType]:
    """Yield which cards of an older plan still hold."""
    yield heading("Cards")
    yield Words(holding(job, old, new))


def _money(hundredths: int, sign: str) -> str:
    return f"{sign}{hundredths // 100:,}.{hundredths % 100:02d}"
