"""A board given back, its blanks squeezed into the sticks of the others: fewer boards, or fewer blanks missing."""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from itertools import chain
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from yieldplan.model import Billet, CutBlank
from yieldplan.solve.costing import column_of
from yieldplan.solve.cover import cover
from yieldplan.solve.pack import LOOKED, pack, packing_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from yieldplan.model import SplitBillet, Stick
    from yieldplan.solve.classes import Batch, OffcutClass
    from yieldplan.solve.columns import Column
    from yieldplan.solve.pack import Packing

COVERED = 60_000_000
"""Moves that a question for an exact packing counts as: half a second."""

Section = tuple[int, int]


class Place(NamedTuple):
    """A stick of a plan: on which column, billet, strip it is and which one, where it begins, its room with a kerf."""

    column: int
    billet: int
    strip: int
    stick: int
    start: int
    room: int


@dataclass(slots=True, kw_only=True)
class Squeezer:
    """Packs the blanks of a plan anew into its sticks, section by section; only in sound wood that any of them suits.

    ``sections`` are those whose kinds may all lie on every stick of theirs, ``sound`` says of each class whether its
    wood is sound everywhere. ``looked`` counts the moves looked at; ``asked`` is what was already tried exactly.
    """

    batch: Batch
    classes: Sequence[OffcutClass]
    sections: frozenset[Section]
    sound: Sequence[bool]
    looked: int = 0
    asked: set[tuple[tuple[int, ...], int, int]] = field(default_factory=set)

    def section_of(self, name: str) -> Section:
        """Return the finished section of a blank."""
        blank = self.batch.job.blank(name)
        return blank.width, blank.thickness

    def squeeze(
        self, columns: Sequence[Column], loose: Iterable[str], *, most: int, seed: int
    ) -> list[Column] | None:
        """Return the columns with the loose blanks (names) on their sticks as well, as many as find room.

        None where none does, or where a stick would be left without a blank.
        """
        places: dict[Section, list[tuple[Place, Stick]]] = {}
        for n, column in enumerate(columns):
            if self.sound[column.offcut_class]:
                for place, stick in self._sticks(n, column):
                    places.setdefault(self.section_of(stick.blanks[0].blank), []).append((place, stick))
        extra: dict[Section, list[str]] = {}
        for name in loose:
            extra.setdefault(self.section_of(name), []).append(name)
        changed: dict[tuple[int, int, int, int], tuple[CutBlank, ...]] = {}
        for section, names in sorted(extra.items()):
            if section in self.sections and section in places:
                found = self._pack(places[section], names, most, seed)
                if found is None:
                    return None
                changed |= found
        if not changed:
            return None
        return [self._with(n, column, changed) for n, column in enumerate(columns)]

    def _sticks(self, n: int, column: Column) -> Iterable[tuple[Place, Stick]]:
        shop = self.batch.job.shop
        for b, billet in enumerate(column.cutting):
            if isinstance(billet, Billet):
                start, room = billet.start + shop.stick_trim, billet.end - billet.start - 2 * shop.stick_trim
                for s, strip in enumerate(billet.strips):
                    for k, stick in enumerate(strip.sticks):
                        yield Place(n, b, s, k, start, room + shop.crosscut_kerf), stick

    def _pack(
        self, places: Sequence[tuple[Place, Stick]], loose: Sequence[str], most: int, seed: int
    ) -> dict[tuple[int, int, int, int], tuple[CutBlank, ...]] | None:
        shop = self.batch.job.shop
        names = [*chain.from_iterable((cut.blank for cut in stick.blanks) for _, stick in places), *loose]
        where = [n for n, (_, stick) in enumerate(places) for _ in stick.blanks] + [-1] * len(loose)
        sizes = [self.batch.job.blank(name).length + shop.length_allowance for name in names]
        unit = math.gcd(*(size + shop.crosscut_kerf for size in sizes))
        packing = packing_of(
            (np.array(sizes, np.int64) + shop.crosscut_kerf) // unit,
            np.array([place.room for place, _ in places], np.int64) // unit,
            np.array(where, np.int64),
            seed,
        )
        held = self._covered(packing)
        if held is None:
            pack(packing, most)
            self.looked += int(packing.counts[LOOKED])
            held = [[] for _ in places]
            for piece, stick in enumerate(packing.best.tolist()):
                if stick >= 0:
                    held[stick].append(piece)
        if not all(held):
            return None
        found = {}
        for (place, _), pieces in zip(places, held, strict=True):
            at, blanks = place.start, []
            for size, name in sorted((sizes[piece], names[piece]) for piece in pieces):
                blanks.append(CutBlank(blank=name, start=at, end=at + size))
                at += size + shop.crosscut_kerf
            found[place[:4]] = tuple(blanks)
        return found

    def _covered(self, packing: Packing) -> list[list[int]] | None:
        """Return the pieces of each stick by :func:`cover`, where all sticks are as long; asked once a case."""
        rooms = packing.room + np.bincount(
            packing.where[packing.where >= 0], packing.size[packing.where >= 0], len(packing.room)
        ).astype(np.int64)
        asked = (tuple(sorted(packing.size.tolist())), int(rooms[0]), len(rooms))
        if (rooms != rooms[0]).any() or asked in self.asked:
            return None
        if 2 * int(packing.room.sum() - packing.size[packing.where < 0].sum()) >= asked[1]:
            return None
        self.asked.add(asked)
        self.looked += COVERED
        return cover(packing.size.tolist(), int(rooms[0]), len(rooms))

    def _with(
        self, n: int, column: Column, changed: dict[tuple[int, int, int, int], tuple[CutBlank, ...]]
    ) -> Column:
        """Return a column with other blanks on its sticks."""
        billets: list[Billet | SplitBillet] = []
        same = True
        for b, billet in enumerate(column.cutting):
            if isinstance(billet, Billet):
                strips = []
                for s, strip in enumerate(billet.strips):
                    sticks = [
                        replace(stick, blanks=changed.get((n, b, s, k), stick.blanks))
                        for k, stick in enumerate(strip.sticks)
                    ]
                    strips.append(replace(strip, sticks=tuple(sticks)))
                billets.append(replace(billet, strips=tuple(strips)))
            else:
                billets.append(billet)
            same = same and billets[-1] == billet
        if same:
            return column
        number = column.offcut_class
        return column_of(self.batch, number, self.classes[number].names[0], tuple(billets))
