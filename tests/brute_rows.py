"""Labels and rows: what the enumeration (:mod:`brute`) puts together, whatever the row is made of.

A *label* is one way to get certain blanks: the settings it needs (a bit each), what it costs without them, and what it
is made of. Labels with the same blanks are compared; one goes where another costs no more even if it alone had to pay
for every setting that it has and the other lacks. Blanks are counted in one number, eight bits a kind.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

Label = tuple[int, int, Any]
"""Settings, cost, parts."""

Labels = dict[int, list[Label]]
"""The labels that are worth having, by their blanks."""

FAR = 10**9
"""Beyond every row."""

NOTHING = 0
"""No blanks."""


class Tally:
    """How blanks are counted, and what a setting costs."""

    def __init__(self, wanted: Sequence[int], setting: int) -> None:
        self.wanted, self.setting = tuple(wanted), setting
        self.room = sum((128 + want) << 8 * kind for kind, want in enumerate(wanted))
        self.guard = sum(128 << 8 * kind for kind in range(len(self.wanted)))

    def counts(self, blanks: int) -> tuple[int, ...]:
        """Return how many of each kind."""
        return tuple(blanks >> 8 * kind & 255 for kind in range(len(self.wanted)))

    def put(self, found: Labels, blanks: int, label: Label) -> None:
        """Add a label unless one that is there is as good; take out those that it betters."""
        rivals = found.get(blanks)
        if rivals is None:
            found[blanks] = [label]
            return
        price, (mask, cost, _) = self.setting, label
        for other, less, _ in rivals:
            if less + price * (other & ~mask).bit_count() <= cost:
                return
        rivals[:] = [rival for rival in rivals if cost + price * (mask & ~rival[0]).bit_count() > rival[1]]
        rivals.append(label)

    def merge(self, found: Labels, more: Labels, cost: int = 0) -> None:
        """Add labels, each at so much more."""
        for blanks, labels in more.items():
            for mask, less, parts in labels:
                self.put(found, blanks, (mask, less + cost, parts))

    def join(
        self,
        found: Labels,
        ones: Labels,
        others: Labels,
        parts: Callable[[Any, Any], Any],
        *,
        cost: int = 0,
        mask: int = 0,
    ) -> None:
        """Add every label of the one put together with every label of the other, but for more than is wanted."""
        room, guard, put = self.room, self.guard, self.put
        for blanks, labels in ones.items():
            for more, rest in others.items():
                both = blanks + more
                if (room - both) & guard != guard:
                    continue
                for one_mask, one_cost, one in labels:
                    for other_mask, other_cost, other in rest:
                        label = (
                            one_mask | other_mask | mask,
                            one_cost + other_cost + cost,
                            parts(one, other),
                        )
                        put(found, both, label)


@dataclass(frozen=True, slots=True)
class Piece:
    """What may begin at a place: its size, what it holds, what sawing it costs and sets; ``tag`` says what it is."""

    size: int
    labels: Labels
    cost: int = 0
    mask: int = 0
    tag: Any = None


@dataclass
class Row:
    """Pieces in order along an axis, every mark a place: worked out once from its end back to its start.

    Attributes
    ----------
    end, high
        Where the row ends, and the last place at which a piece may end.
    kerf
        Between neighbours at least.
    pieces
        What may begin at a place.
    keep
        The worth of a leftover of some size, 0 where it is no keeper; a larger one is worth no less.
    beside, apart
        What it costs to begin a kerf behind the piece before, and further on.
    last
        What it costs that the last piece ends at a place.
    """

    tally: Tally
    end: int
    high: int
    kerf: int
    pieces: Callable[[int], Iterable[Piece]]
    keep: Callable[[int], int]
    beside: int = 0
    apart: int = 0
    last: Callable[[int], int] = lambda _: 0
    low: int = 0
    begun: list[Labels] = field(default_factory=list)
    later: list[Labels] = field(default_factory=list)
    _after: dict[int, Labels] = field(default_factory=dict)
    _worths: list[int] = field(default_factory=list)
    _least: int = 0

    def __post_init__(self) -> None:
        size = max(self.high - self.low, 0) + 2
        self.begun, self.later = [{}] * size, [{}] * size
        self._worths = [self.keep(size) if size else 0 for size in range(self.end - self.low + 1)]
        self._least = next((size for size, worth in enumerate(self._worths) if worth), FAR)
        for at in range(self.high - self.low, -1, -1):
            found: Labels = {}
            place = self.low + at
            for piece in self.pieces(place):
                end = place + piece.size
                if end <= self.high and piece.labels:
                    self._add(found, place, piece, self._behind(end))
            self.begun[at] = found
            if found:
                both = {blanks: list(labels) for blanks, labels in self.later[at + 1].items()}
                self.tally.merge(both, found)
                self.later[at] = both
            else:
                self.later[at] = self.later[at + 1]

    def _add(self, found: Labels, place: int, piece: Piece, rest: Labels) -> None:
        tag = piece.tag
        self.tally.join(
            found,
            piece.labels,
            rest,
            lambda one, other: (place, tag, one, other),
            cost=piece.cost,
            mask=piece.mask,
        )

    def _behind(self, before: int) -> Labels:
        """Return what may follow a piece that ends at a place: nothing, or more pieces."""
        known = self._after.get(before)
        if known is None:
            known = self._after[before] = {}
            left = before + self.kerf
            known[NOTHING] = [(0, self.last(before) - self._kept(self.end - left), None)]
            if left <= self.high:
                self.tally.merge(known, self._at(left), self.beside)
                self._further(known, left, left + 1, self.apart)
        return known

    def _further(self, found: Labels, left: int, place: int, cost: int) -> None:
        """Add all that begins at a place or further on, with what is left over from ``left`` on up to it."""
        if place > self.high:
            return
        self.tally.merge(found, self.later[place - self.low], cost)
        for start in range(max(place, left + self.kerf + self._least), self.high + 1):
            begun = self._at(start)
            if begun:
                self.tally.merge(found, begun, cost - self._kept(start - self.kerf - left))

    def _at(self, place: int) -> Labels:
        return self.begun[place - self.low] if self.low <= place <= self.high else {}

    def _kept(self, size: int) -> int:
        return self._worths[size] if size > 0 else 0

    def opened(self, start: int, earliest: int, near: int, costs: tuple[int, int]) -> Labels:
        """Return the labels of whole rows that start at ``start``, their first piece at ``earliest`` or further on.

        ``costs``: what it costs if that begins up to ``near`` behind the start, and if further on.
        """
        found: Labels = {}
        place = earliest
        while place <= min(start + near, self.high):
            worth = self._kept(place - self.kerf - start)
            self.tally.merge(found, self._at(place), costs[0] - worth)
            place += 1
        self._further(found, start, place, costs[1])
        return found
