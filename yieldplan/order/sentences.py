"""The steps of a card in the shop's words, one line each, figures without their unit."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby
from typing import TYPE_CHECKING

from yieldplan.model.pieces import counted
from yieldplan.order.data import WASTE, At, Joint, Plane, Saw, Square, Stop
from yieldplan.order.mates import mark_words
from yieldplan.order.names import several, short, times
from yieldplan.pages.wording import figure, spare_words

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from yieldplan.model import Shop
    from yieldplan.order.data import Card, Ends, Milled, Planed, Split


@dataclass(frozen=True, slots=True, kw_only=True)
class CardLine:
    """One line of a card: at which machine, for which part of the board (``""``: all of it), what is done."""

    at: At
    part: str
    text: str


def card_lines(card: Card, shop: Shop) -> tuple[CardLine, ...]:
    """Return the lines of a card, in the order in which they are done."""
    return tuple(_Sentences(card, shop).lines())


class _Sentences:
    def __init__(self, card: Card, shop: Shop) -> None:
        self.card, self.shop, self.fig, self.alone = card, shop, figure(shop), False

    def named(self, names: Sequence[str]) -> str:
        return short(several(names), self.card.board)

    def head(self, names: Sequence[str]) -> str:
        """Return which sticks a sentence is about, with a colon; nothing where the part gives but one."""
        return "" if self.alone else f"{self.named(names)}: "

    def lines(self) -> Iterator[CardLine]:
        card = self.card
        if card.ends.metal:
            yield CardLine(at=At.CROSSCUT, part="", text="Pull the metal first, all of it.")
        if card.ends.cuts:
            yield CardLine(at=At.CROSSCUT, part="", text=self._ends(card.ends))
        for split in card.splits:
            yield CardLine(at=At.BANDSAW, part=self._part(split.piece), text=self._split(split))
        several_parts = len(card.milled) > 1
        for milled in card.milled:
            part = self._part(milled.name) if several_parts or milled.half else ""
            self.alone = sum(not section.keeper for section in milled.sections) == 1
            for at, text in self._milled(milled):
                yield CardLine(at=at, part=part, text=text)

    def _part(self, name: str) -> str:
        """Return a part of the board by its short name; one that becomes a single stick is called that stick."""
        part = "" if name == self.card.board else short(name, self.card.board)
        return f"stick {part}" if part.isdecimal() else part

    def _ends(self, ends: Ends) -> str:
        """Say where the rough crosscuts are: the ends off, or what is cut out between running measures."""
        billets = [length for length in ends.lengths if not length.keeper]
        if len(ends.lengths) == 1:
            (low, high), long = billets[0].x, self.card.offcut.length
            at = [self.fig(place) for place, cut in ((low, low > 0), (high, high < long)) if cut]
            return f"{'Ends' if len(at) > 1 else 'End'} off at {' and '.join(at)}."
        alone = len(billets) == 1
        cut = [
            f"{'' if alone else self._part(length.name) + ' '}{self._span(length.x)}" for length in billets
        ]
        kept = [f"{length.name} {self._span(length.x)}" for length in ends.lengths if length.keeper]
        keep = f"; keep {', '.join(kept)}" if kept else ""
        return f"Cut out {', '.join(cut)}{keep}."

    def _span(self, span: tuple[int, int]) -> str:
        return f"from {self.fig(span[0])} to {self.fig(span[1])}"

    def _split(self, split: Split) -> str:
        halves = ((half, getattr(split, half)) for half in ("near", "far"))
        said = [f"the {half} half {self._half(half, name)}" for half, name in halves]
        line = self.fig(split.line)
        return f"Hollow side down, split along a line {line} from edge 1: {', '.join(said)}."

    def _half(self, half: str, name: str) -> str:
        if name == WASTE:
            return "falls"
        part = self._part(name)
        return "is used" if part.endswith(half) else f"is {part}"

    def _milled(self, milled: Milled) -> Iterator[tuple[At, str]]:
        steps = milled.steps
        for step in steps:
            if isinstance(step, Joint):
                yield At.JOINTER, self._joint(milled, step)
        yield from self._saws(milled.name, [step for step in steps if isinstance(step, Saw)])
        planes = [step for step in steps if isinstance(step, Plane)]
        if any(plane.rest or plane.overnight for plane in planes):
            night = " overnight, stickered" if any(plane.overnight for plane in planes) else ""
            yield At.PLANER, f"Let the sticks rest{night}; sight them, joint again any that have moved."
        yield from ((At.PLANER, self._plane(plane)) for plane in planes)
        yield from ((At.CROSSCUT, text) for text in self._lengths(steps))

    def _joint(self, milled: Milled, step: Joint) -> str:
        offcut = milled.wood.offcut
        hollow = " (hollow down)" if offcut.bow or offcut.cup else ""
        edge, face = (f", then {self.fig(more)} more off it" if more else "" for more in step.more)
        sawn = " (the split edge)" if milled.half == "far" else ""
        return (
            f"Face 1{hollow} flat{face}; edge 1{sawn} straight and square{edge}: "
            f"a blank is lost below {self.fig(step.wide)} wide or {self.fig(step.thick)} thick."
        )

    def _saws(self, name: str, saws: Sequence[Saw]) -> Iterator[tuple[At, str]]:
        """Yield a line a row of the billet ``name``; strips that are sawn alike are one line."""
        rows = (list(group) for _, group in groupby(saws, key=lambda step: step.chain))
        chains = [part for row in rows for part in _parted(row)]
        for (at, body), alike in groupby(chains, key=self._chain):
            hands = [chain[0].hand for chain in alike]
            if hands == [name]:
                yield at, _upper(body)
            else:
                yield at, f"{self._hands(hands)}: {body}"

    def _hands(self, hands: Sequence[str]) -> str:
        joined = any(hand.startswith("sticks ") for hand in hands)
        said = ", ".join(short(hand, self.card.board) for hand in hands) if joined else self.named(hands)
        return said + (", each" if len(hands) > 1 else "")

    def _chain(self, chain: Sequence[Saw]) -> tuple[At, str]:
        """Return where a row is sawn and its sentence, without the name of what is in hand."""
        first, last = chain[0], chain[-1]
        if first.off:
            return At.JOINTER, f"{self._pass(first)}."
        clauses = [self._pass(step) for step in chain]
        if last.rest == WASTE:
            clauses.append("rest falls")
        elif last.rest != first.hand:
            keep = "" if last.rest != short(last.rest, self.card.board) or last.off else ": keep it"
            clauses.append(f"the rest is {short(last.rest, self.card.board)}{keep}")
        if any(step.jointed for step in chain):
            clauses.append(f"joint each fresh {'edge' if first.rip else 'face'} at once")
        band = "bandsaw, " if first.machine == "bandsaw" else ""
        return At(first.machine), f"{band}{first.down} down, {first.side} to fence: {'; '.join(clauses)}."

    def _pass(self, step: Saw) -> str:
        if step.off:
            return f"joint {self.fig(step.fence)} more off {step.side}"
        often = "" if step.passes == 1 else f", {times(step.passes)}"
        if step.odd:
            falls = "falls" if step.gives[0] == WASTE else f"{step.gives[0]}: keep it"
        else:
            falls = "" if step.gives == (step.hand,) else self.named(step.gives)
        gives = f" ({falls})" if falls else ""
        return f"{'rip' if step.rip else 'resaw'} {self.fig(step.fence)}{often}{gives}"

    def _plane(self, step: Plane) -> str:
        wide, thick = step.width, step.thickness
        over = [
            f"{self._which(planed, step)}sawn {side} down, then turn over"
            for planed, side in ((wide, "edge"), (thick, "face"))
            if planed.sawn
        ]
        takes = f"takes {self.fig(wide.takes)} and {self.fig(thick.takes)}"
        notes = "; ".join([takes, *over])
        return _upper(f"{self.head(step.sticks)}plane {self.fig(wide.to)} × {self.fig(thick.to)} ({notes}).")

    def _which(self, planed: Planed, step: Plane) -> str:
        return "" if planed.sawn == step.sticks else f"{self.named(planed.sawn)}: "

    def _lengths(self, steps: Iterable[object]) -> Iterator[str]:
        """Yield a line for each squaring with its stops."""
        square: Square | None = None
        stops: list[Stop] = []
        for step in (*steps, None):
            if square is not None and not isinstance(step, Stop):
                yield self._cut(square, stops)
            if isinstance(step, Square):
                square, stops = step, []
            elif isinstance(step, Stop):
                stops.append(step)

    def _cut(self, square: Square, stops: Sequence[Stop]) -> str:
        at = "" if square.cut == self.shop.stick_trim else f" at {self.fig(square.cut)}"
        kept = f", keep {', '.join(square.kept)}" if square.kept else ""
        cuts = "; ".join(map(self._stop, stops))
        return _upper(f"{self.head(square.sticks)}square end A{at}{kept}; {cuts}.")

    def _stop(self, step: Stop) -> str:
        skip = f"then cut {self.fig(step.skip)} off" if step.skip else ""
        if step.skipped:
            skip += f", keep {', '.join(step.skipped)}"
        each = " each" if len(step.sticks) > 1 else ""
        often = f", {times(step.each)}{each}" if step.each > 1 else ""
        what = counted(step.count, step.blank) + spare_words(step.count, step.spare)
        sound = f", sound end at {step.sound}" if step.sound else ""
        marks = f" ({mark_words(step.marks, step.board)})" if step.marks else ""
        rest = f", rest is {', '.join(step.rest)}: keep it" if step.rest else ""
        return f"{skip + ', ' if skip else ''}stop {self.fig(step.stop)}{often}: {what}{marks}{sound}{rest}"


def _parted(row: Sequence[Saw]) -> list[Sequence[Saw]]:
    """Return a row's steps with what is jointed off before any cut by itself."""
    return [row[:1], row[1:]] if row[0].off and len(row) > 1 else [row]


def _upper(text: str) -> str:
    return text[:1].upper() + text[1:]
