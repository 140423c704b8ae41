"""The order of cuts along one row of pieces: strips or layers of a billet, sticks of a strip.

A piece is cut with a true side against the fence, the part between fence and blade being as wide as the
fence is set. All pieces of the batch meet the settings from the widest to the narrowest, each setting once,
so the cuts of a row must be possible in falling order of their settings. That can always be had: a part
that may not simply be cut off next is parted from the rest first, in company with what lies before it
(:class:`_Finder` finds the way with the fewest settings of its own). A gap that is wider than a kerf by less
than a mark of the rule is taken for a kerf; a sliver thinner than a kerf on a face is left to the planer.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache
from itertools import pairwise
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable

    from yieldplan.order.figures import Grid


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """One kept piece of a row, from ``start`` to ``end`` (steps, in the billet's box).

    ``size`` is the fence setting that makes it; ``mark`` is the name it gets; ``shared`` says that its size
    is a blank's rough size, which other pieces of the batch are likely to need as well.
    """

    start: int
    end: int
    size: int
    mark: str
    keeper: bool = False
    shared: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """Pieces side by side across a billet's box of depth ``depth``.

    Attributes
    ----------
    mark
        Name of the piece that is cut.
    kerf
        Of the saw that reaches, or None where none does (then the row is a single piece and needs no cut).
    trim
        Whether the last piece is cut to size even if its far side lies on the box's: a rough edge is, a rough
        face is left to the planer.
    group
        Makes the name of a piece that still holds the parts of two indices, both included.
    """

    parts: tuple[Part, ...]
    depth: int
    mark: str
    kerf: int | None
    trim: bool
    grid: Grid
    group: Callable[[int, int], str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Cut:
    """One pass, or several like passes one after another, at one fence setting.

    ``turned``: the far side, sawn before, goes on the fence instead of the near one. ``jointed``: the near
    side is the jointed one (at the first pass), not a sawn one. ``rest`` is the name of what is left beyond
    the blade after the last pass, or ``""`` for waste.
    """

    piece: str
    turned: bool
    jointed: bool
    setting: int
    gives: tuple[str, ...]
    rest: str


@dataclass(frozen=True, slots=True)
class _Way:
    """A way to cut parts apart: its cost, its largest setting, its cuts in falling order of settings."""

    cost: tuple[int, int]
    largest: int
    cuts: tuple[Cut, ...]


_NONE = _Way((0, 0), 0, ())


def row_cuts(row: Row) -> tuple[Cut, ...]:
    """Return the cuts of a row, in an order in which their settings never rise."""
    if row.kerf is None or not row.parts:
        return ()
    for sliver in (row.grid.step, max(row.kerf, row.grid.step)):
        way = _Finder(row, row.kerf, sliver).find()
        if way is not None:
            return _merged(way)
    raise AssertionError(f"no order of cuts was found for {row.mark}")


class _Finder:
    """Looks through all ways to cut one row; rows are short (ten pieces at the most in a usual shop).

    Waste beside a part that is thinner than ``sliver`` is left on it.
    """

    def __init__(self, row: Row, kerf: int, sliver: int) -> None:
        self.row, self.kerf, self.grid, self.sliver = row, kerf, row.grid, sliver
        self.find_from = cache(self._find_from)

    def find(self) -> _Way | None:
        return self.find_from(0, len(self.row.parts) - 1, 0, self.row.depth, False, self.row.mark)

    def _find_from(self, first: int, last: int, near: int, far: int, closed: bool, mark: str) -> _Way | None:
        """Return the best way for the parts ``first``..``last`` in a piece that lies from ``near`` to ``far``.

        These are where the cuts before have come to lie, which may be a little beside the plan, since settings are
        marks of the rule. ``closed``: its far side was sawn, else it is the offcut's rough one (or a waste side, sawn
        as well, of which the last part is still to be freed). None if settings would rise.
        """
        if first == last:
            return self._single(first, near, far, closed, mark)
        if self._plain(first, last, near):
            way = self._peel(first, last, near, far, closed, mark)
            if way is not None:
                return way
        tried = [self._peel(first, last, near, far, closed, mark)]
        tried += [
            self._split(first, middle, last, place, near, far, closed, mark)
            for middle in range(first, last)
            for place in self._places(middle)
        ]
        if not closed or far - self.row.parts[last].end >= self.sliver:
            tried.append(self._close(first, last, near, far, mark))
        return min((way for way in tried if way is not None), key=lambda way: way.cost, default=None)

    def _plain(self, first: int, last: int, near: int) -> bool:
        """Return whether the parts lie a kerf apart in falling sizes: then they simply come off in turn."""
        run = self.row.parts[first : last + 1]
        for part in run:
            if part.start - near >= self.sliver:
                return False
            near += part.size + self.kerf
        return all(after.size <= before.size for before, after in pairwise(run))

    def _places(self, middle: int) -> tuple[int, ...]:
        """Return where the cut after part ``middle`` may begin: at its end or a kerf before the next part."""
        before, after = self.row.parts[middle].end, self.row.parts[middle + 1].start - self.kerf
        return (before,) if after == before else (before, after)

    def _single(self, index: int, near: int, far: int, closed: bool, mark: str) -> _Way:
        part = self.row.parts[index]
        beyond = far - part.end
        price = 0 if part.shared else 1
        if self._on_jointed_face(part, near):
            return self._slivered(part, beyond, closed, mark)
        if part.start - near < self.sliver:
            if closed and beyond < self.sliver:
                return _NONE
            if beyond < self.kerf and not closed and (part.keeper or not self.row.trim):
                return _NONE
            cut = Cut(
                piece=mark, turned=False, jointed=near == 0, setting=part.size, gives=(part.mark,), rest=""
            )
            return _Way((price, 1), part.size, (cut,))
        turn = Cut(
            piece=part.mark, turned=True, jointed=False, setting=part.size, gives=(part.mark,), rest=""
        )
        if closed and beyond < self.sliver:
            return _Way((price, 1), part.size, (replace(turn, piece=mark),))
        setting = max(self._group_setting(part.end, far, near), part.size)
        free = Cut(piece=mark, turned=False, jointed=near == 0, setting=setting, gives=(part.mark,), rest="")
        return _Way((price + 1, 2), setting, (free, turn))

    def _on_jointed_face(self, part: Part, near: int) -> bool:
        """Return whether a sliver thinner than a kerf lies between a part and the jointed face."""
        return not self.row.trim and near == 0 and self.grid.step <= part.start < self.kerf

    def _slivered(self, part: Part, beyond: int, closed: bool, mark: str) -> _Way:
        """Return the way for a part with a sliver on the jointed face, which is left to the planer."""
        if beyond < (self.grid.step if closed else self.kerf):
            return _NONE
        setting = max(self._group_setting(part.end, part.end + beyond, 0), part.size)
        cut = Cut(piece=mark, turned=False, jointed=True, setting=setting, gives=(part.mark,), rest="")
        return _Way((1, 1), setting, (cut,))

    def _peel(self, first: int, last: int, near: int, far: int, closed: bool, mark: str) -> _Way | None:
        """Return the way that takes off the first part to its size; None if it does not lie at the near side."""
        part = self.row.parts[first]
        if part.start - near >= self.sliver:
            return None
        return self._cut_off(first, first, last, part.size, _NONE, near, far, closed, mark)

    def _split(
        self, first: int, middle: int, last: int, place: int, near: int, far: int, closed: bool, mark: str
    ) -> _Way | None:
        """Return the way that parts ``first``..``middle`` from the rest at ``place``; None if settings would rise."""
        setting = self._group_setting(place, self.row.parts[middle + 1].start - self.kerf, near)
        left = self.find_from(first, middle, near, near + setting, True, self._name(first, middle))
        if left is None:
            return None
        return self._cut_off(first, middle, last, max(setting, left.largest), left, near, far, closed, mark)

    def _cut_off(
        self,
        first: int,
        middle: int,
        last: int,
        setting: int,
        left: _Way,
        near: int,
        far: int,
        closed: bool,
        mark: str,
    ) -> _Way | None:
        parts = self.row.parts
        right = self.find_from(middle + 1, last, near + setting + self.kerf, far, closed, mark)
        if right is None or right.largest > setting:
            return None
        rest = parts[last].mark if middle + 1 == last and not right.cuts else mark
        name = self._name(first, middle)
        cut = Cut(piece=mark, turned=False, jointed=near == 0, setting=setting, gives=(name,), rest=rest)
        cuts = (cut, *sorted((*left.cuts, *right.cuts), key=lambda c: -c.setting))
        price = 0 if setting == parts[first].size and first == middle and parts[first].shared else 1
        cost = (price + left.cost[0] + right.cost[0], 1 + left.cost[1] + right.cost[1])
        return _Way(cost, setting, cuts)

    def _name(self, first: int, last: int) -> str:
        return self.row.parts[first].mark if first == last else self.row.group(first, last)

    def _close(self, first: int, last: int, near: int, far: int, mark: str) -> _Way | None:
        """Return the way that first takes off what lies beyond the last part."""
        setting = self._group_setting(self.row.parts[last].end, far, near)
        inner = self.find_from(first, last, near, near + setting, True, mark)
        if inner is None:
            return None
        setting = max(setting, inner.largest)
        cut = Cut(piece=mark, turned=False, jointed=near == 0, setting=setting, gives=(mark,), rest="")
        return _Way((1 + inner.cost[0], 1 + inner.cost[1]), setting, (cut, *inner.cuts))

    def _group_setting(self, place: int, most: int, near: int) -> int:
        """Return the mark for a cut at ``place``: above it if that stays within ``most``, else below."""
        up = self.grid.up(place - near)
        return up if near + up <= most else self.grid.down(place - near)


def _merged(way: _Way) -> tuple[Cut, ...]:
    """Return the cuts with like passes on one piece, one after another, made into one."""
    merged: list[Cut] = []
    for cut in way.cuts:
        before = merged[-1] if merged else None
        if (
            before is not None
            and not before.turned
            and not cut.turned
            and before.setting == cut.setting
            and before.rest == cut.piece == before.piece
        ):
            merged[-1] = replace(before, gives=before.gives + cut.gives, rest=cut.rest)
        else:
            merged.append(cut)
    return tuple(merged)
