"""The steps of a card in the shop's words, one line each, figures without their unit; and what lists say alike.

Names of pieces are said several at once, and short where the board is named above.
"""

from __future__ import annotations

from collections import Counter
from itertools import groupby
from typing import TYPE_CHECKING, NamedTuple

from yieldplan.model.pieces import counted
from yieldplan.order.data import WASTE, Joint, Plane, Saw, Square, Stop
from yieldplan.pages.wording import figure, listed, spare_words

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Sequence

    from yieldplan.model import Shop
    from yieldplan.order.data import Card, Ends, Mark, Milled, Split, Step

    Fig = Callable[[int], str]


NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")


class CardLine(NamedTuple):
    """One line of a card: for which part of the board (``""``: all of it), and what is done."""

    part: str
    text: str


def card_lines(card: Card, shop: Shop) -> tuple[CardLine, ...]:
    """Return the lines of a card, in the order in which they are done."""
    return tuple(CardLine(part, f"{text[:1].upper()}{text[1:]}.") for part, text in _lines(card, shop))


def _lines(card: Card, shop: Shop) -> Iterator[tuple[str, str]]:
    """Yield part and text of each line, the text as it stands within a sentence."""
    fig = figure(shop)
    if card.ends.metal:
        yield "", "pull the metal first, all of it"
    if card.ends.cuts:
        yield "", ends_words(card.ends, fig)
    for split in card.splits:
        line = f"split along a line {fig(split.line)} from edge 1"
        yield _part(split.piece, card.board), f"bandsaw, hollow side down: {line}; {halves_words(split)}"
    for milled in card.milled:
        part = _part(milled.name, card.board) if len(card.milled) > 1 or milled.half else ""
        for text in _milled(milled, card.board, shop):
            yield part, text


def _part(name: str, board: str) -> str:
    return "" if name == board else called((name,), board)


def ends_words(ends: Ends, fig: Fig) -> str:
    """Say where the rough crosscuts are: the ends off, or what is cut out between running measures."""
    if len(ends.billets) + len(ends.keepers) == 1:
        low, high = ends.billets[0][1]
        at = [("A", low)] * (low > 0) + [("B", high)] * (high < ends.long)
        which = "ends" if len(at) > 1 else f"end {at[0][0]}"
        return f"{which} off at {' and '.join(fig(place) for _, place in at)}"
    kept, cut = (
        [f"{_part(name, ends.board)} from {fig(low)} to {fig(high)}".strip() for name, (low, high) in several]
        for several in (ends.keepers, ends.billets)
    )
    return f"cut out {', '.join(cut)}" + (f"; keep {', '.join(kept)}" if kept else "")


def halves_words(split: Split) -> str:
    """Say what becomes of the halves of a split billet."""
    said = []
    for half, name in (("near", split.near), ("far", split.far)):
        own = "waste" if name == WASTE else called((name,), split.board)
        said.append(f"the {half} half is {'used' if name.endswith(half) else own}")
    return ", ".join(said)


def _milled(milled: Milled, board: str, shop: Shop) -> Iterator[str]:
    """Yield what is done with a billet, or a half of one, from the jointer on."""
    fig, steps = figure(shop), milled.steps
    alone = sum(not section.keeper for section in milled.sections) == 1

    def head(names: Sequence[str]) -> str:
        return "" if alone else f"{called(names, board)}: "

    yield from (_joint(milled, step, fig) for step in steps if isinstance(step, Joint))
    yield from _rows([step for step in steps if isinstance(step, Saw)], milled.name, fig)
    planes = [step for step in steps if isinstance(step, Plane)]
    if any(plane.rest or plane.overnight for plane in planes):
        night = " overnight, stickered" if any(plane.overnight for plane in planes) else ""
        yield f"let the sticks rest{night}; sight them, and joint again any that have moved"
    for edge, flat in zip(planes[::2], planes[1::2], strict=True):
        yield head(edge.sticks) + _plane(edge, flat, fig)
    yield from (head(square.sticks) + text for square, text in _lengths(steps, shop.stick_trim, fig))


def _joint(milled: Milled, step: Joint, fig: Fig) -> str:
    hollow = " (hollow down)" if milled.wood.offcut.bow or milled.wood.offcut.cup else ""
    edge, face = (f", then {fig(more)} more off it" if more else "" for more in step.more)
    sawn = " (the split edge)" if milled.half == "far" else ""
    return (
        f"face 1{hollow} flat{face}; edge 1{sawn} straight and square{edge}: "
        f"a blank is lost below {fig(step.wide)} wide or {fig(step.thick)} thick"
    )


def _rows(saws: Sequence[Saw], name: str, fig: Fig) -> Iterator[str]:
    """Yield a line a row of the billet ``name``; strips that are sawn alike are one line."""
    chains: list[Sequence[Saw]] = []
    for _, group in groupby(saws, key=lambda step: step.chain):
        row = list(group)  # what is jointed off before any cut is a line by itself
        chains += [row[:1], row[1:]] if row[0].off and len(row) > 1 else [row]
    for (first, words), alike in groupby(chains, key=lambda chain: _row_words(chain, fig)):
        hands, board = [chain[0].hand for chain in alike], saws[0].board
        joined = any(hand.startswith("sticks ") for hand in hands)
        said = ", ".join(called((hand,), board) for hand in hands) if joined else called(hands, board)
        said = "" if hands == [name] else f"{said} each" if len(hands) > 1 else said
        yield f"{', '.join(filter(None, (first, said)))}{', ' if first else ': ' if said else ''}{words}"


def _row_words(chain: Sequence[Saw], fig: Fig) -> tuple[str, str]:
    """Return the saw of a row and its sentence, without the name of what is in hand."""
    first, last = chain[0], chain[-1]
    if first.off:
        return "", _pass(first, fig)
    clauses = [*(_pass(step, fig) for step in chain), rest_words(last, first.hand)]
    if any(step.jointed for step in chain):
        clauses.append(f"joint each fresh {'edge' if first.rip else 'face'} at once")
    return first.machine, f"{first.down} down, {first.side} to fence: {'; '.join(filter(None, clauses))}"


def _pass(step: Saw, fig: Fig) -> str:
    if step.off:
        return f"joint {fig(step.fence)} more off {step.side}"
    often = f", {times(step.passes)}" if step.passes > 1 else ""
    gives = gives_words(step)
    return f"{'rip' if step.rip else 'resaw'} {fig(step.fence)}{often}" + (f" ({gives})" if gives else "")


def gives_words(step: Saw) -> str:
    """Return what comes off; nothing where it has the name of what was in hand."""
    if step.gives == (step.hand,):
        return ""
    if step.gives == (WASTE,):
        return "waste"
    return called(step.gives, step.board) + (": keep it" if step.odd else "")


def rest_words(step: Saw, hand: str) -> str:
    """Return what is left at the end; nothing where it has the name of what was in hand at first."""
    if step.rest == WASTE:
        return "the rest is waste"
    name = called((step.rest,), step.board)
    keep = ": keep it" if name == step.rest and not step.off else ""
    return "" if step.rest == hand else f"the rest is {name}{keep}"


def _plane(edge: Plane, flat: Plane, fig: Fig) -> str:
    notes = [f"takes {fig(edge.before - edge.to)} and {fig(flat.before - flat.to)}"]
    notes += [f"{sawn_words(step)}, then turn over" for step in (edge, flat) if step.sawn]
    return f"plane {fig(edge.to)} × {fig(flat.to)} ({'; '.join(notes)})"


def sawn_words(step: Plane) -> str:
    """Return which side of which sticks is down first where both are sawn; nothing where all have a jointed one."""
    which = "" if step.sawn == step.sticks else f"{called(step.sawn, step.board)}: "
    return f"{which}sawn {'edge' if step.on_edge else 'face'} down" if step.sawn else ""


def _lengths(steps: Iterable[Step], trim: int, fig: Fig) -> Iterator[tuple[Square, str]]:
    """Yield each squaring, and what is said of it with its stops."""
    squares: list[tuple[Square, list[str]]] = []
    for step in steps:
        if isinstance(step, Square):
            begin = "square end A" if step.cut == trim else f"take {fig(step.cut)} off end A"
            squares.append((step, [begin + keep_words(step.kept, ", ")]))
        elif isinstance(step, Stop):
            squares[-1][1].append(_stop(step, fig))
    return ((square, "; ".join(said)) for square, said in squares)


def _stop(step: Stop, fig: Fig) -> str:
    skip = f"then take {fig(step.skip)} off{keep_words(step.skipped, ', ')}, " if step.skip else ""
    what = counted(step.count, step.blank) + stop_words(step)
    clear = f", clear end {step.clear}" if step.clear else ""
    rest = f", the rest is {', '.join(step.rest)}: keep it" if step.rest else ""
    return f"{skip}stop {fig(step.stop)}{often_words(step)}: {what}{clear}{rest}"


def often_words(step: Stop) -> str:
    """Return how often each stick goes to the stop, if more than once."""
    each = " each" if len(step.sticks) > 1 else ""
    return f", {times(step.each)}{each}" if step.each > 1 else ""


def stop_words(step: Stop) -> str:
    """Return which of the blanks are spares, and which pairs they belong to, to be said behind them."""
    marks = f" ({mark_words(step.marks, step.board)})" if step.marks else ""
    return spare_words(step.count, step.spare) + marks


def keep_words(names: Sequence[str], before: str) -> str:
    """Return what is kept, to be said behind ``before``; nothing if nothing is."""
    return f"{before}keep {', '.join(names)}" if names else ""


def several(names: Sequence[str]) -> str:
    """Return the names of sticks as they are said: ``P006-1``, ``P006-1 and 2``, ``P006-1 to 4``, ``P006-1, 3``.

    What comes after the last sign of names with one stem is a number; all others are given in full.
    """
    if len(names) < 2:
        return "".join(names)
    parts = [name.rsplit("-", 1) for name in names]
    if len({part[0] for part in parts}) > 1 or not all(part[-1].isdecimal() for part in parts):
        return ", ".join(names)
    numbers = [int(part[-1]) for part in parts]
    if len(names) > 2 and numbers == list(range(numbers[0], numbers[-1] + 1)):
        return f"{names[0]} to {numbers[-1]}"
    if len(names) == 2:
        return f"{names[0]} and {numbers[1]}"
    return ", ".join([names[0], *map(str, numbers[1:])])


def short(name: str, board: str) -> str:
    """Return a name without its board's, for where that stands above; the board's own name stays.

    ``P006-1 to 3`` becomes ``1 to 3``, ``sticks 1 to 3 of P006`` becomes ``sticks 1 to 3``.
    """
    name = name.removesuffix(f" of {board}")
    rest = name.removeprefix(board)
    return rest.lstrip("-") if rest.startswith("-") else name


def called(names: Sequence[str], board: str) -> str:
    """Return pieces by their short names, with what they are: ``sticks 1 to 3``, ``billet A``, ``K1``."""
    whole = several(names)
    said = short(whole, board)
    if said == whole:
        return said
    if said in ("near", "far"):
        return f"{said} half"
    if not said[:1].isdecimal():
        return said if said.startswith("sticks") else f"billet {said}"
    return f"{'stick' if len(names) == 1 else 'sticks'} {said}"


def times(count: int) -> str:
    """Return how often: ``once``, ``twice``, ``three times``."""
    if count < 3:
        return ("not at all", "once", "twice")[count]
    return f"{NUMBERS[count] if count < len(NUMBERS) else count} times"


def mark_words(marks: Sequence[Mark], board: str) -> str:
    """Return which pairs the blanks that one step cuts belong to: ``both of pairs 1, 2; one of pair 5, with P020``."""
    counts = Counter(mark for mark in marks if mark[0])
    both = [str(number) for (number, _), count in counts.items() if count > 1]
    row = len(both) > 2 and int(both[-1]) - int(both[0]) == len(both) - 1
    said = f"{both[0]} to {both[-1]}" if row else listed(both, 99)
    words = [f"both of {'pair' if len(both) == 1 else 'pairs'} {said}"] if both else []
    words += [
        f"one of pair {number}" + ("" if other == board else f", with {other}")
        for (number, other), count in counts.items()
        if count == 1
    ]
    if len(marks) > counts.total():
        words.append("one alone")
    return "; ".join(words)
