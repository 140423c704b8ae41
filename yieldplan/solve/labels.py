"""All cuttings of an offcut within a slack of its best value, by the recurrences of the kernels.

The kernels give the best value; :mod:`yieldplan.solve.listing` walks the same graphs and keeps every label (counts of
blanks, worth of keepers) that can still come within ``slack`` of it. With slack 0 they yield the best cuttings
themselves; with a slack of at least upper bound less lower bound, every cutting that an optimal plan can use
(enumeration by reduced cost).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from yieldplan.solve.book import (
    BLANK,
    CUT,
    FULL,
    KEEPER_STICK,
    KEEPER_STRIP,
    LEFT_OUT,
    OF_BILLET,
    OF_HALF,
    OF_SPLIT,
    OF_STICK,
    OF_STRIP,
    OFFCUT,
    REMAINDER,
    WHOLE,
    WORK,
    new_book,
    within,
)
from yieldplan.solve.budget import LISTING
from yieldplan.solve.listing import TABLE_FULL, list_cuttings

if TYPE_CHECKING:
    from yieldplan.solve.book import Book
    from yieldplan.solve.pricing import Priced

EPS = 2.0**-22
MOST_CUTS = 4096
"""Crosscuts that a cutting may have without being left out of a listing for them."""

MOST_LABELS = 20000

ROOM, MOST_ROOM = 2**14, 2**18
"""Labels that a book has room for at first, and at the most."""

MANY = 1 << 14
"""Caps where none are given."""

Counts = tuple[int, ...]


class OutOfTimeError(Exception):
    """The slack lets through more cuttings than can be listed in the time given."""


@dataclass(frozen=True, slots=True)
class Label:
    """A cutting: blanks of each kind, worth of keepers, and the pieces as a linked list (rest, piece).

    Places along x are counted from the billet's start, so that like billets share their labels.
    """

    counts: Counts
    worth: float
    pieces: Any


@dataclass
class Opener:
    """Lists the cuttings of one priced offcut. Kinds are counted in the stock's own order.

    Leftovers count as they did when the prices were taken. ``caps`` bounds the counts (None: no bound): a surplus
    blank counts for nothing, as if it were left uncut. Beyond ``limit`` seconds of work it gives up with
    OutOfTimeError; ``seconds`` is what it spent. ``whole`` tells afterwards whether no label was left out for being
    more than ``most`` at a node.
    """

    priced: Priced
    caps: Counts | None = None
    limit: float = math.inf
    most: int = MOST_LABELS
    whole: bool = True
    seconds: float = 0.0

    def cuttings(self, least: float) -> list[Label]:
        """Return the cuttings of the whole offcut that hold blanks and are worth at least ``least``."""
        least -= EPS + MOST_CUTS * CUT
        spent = self.priced.seconds
        try:
            return self._listed(least, spent)
        finally:
            self.seconds += self.priced.seconds - spent

    def _listed(self, least: float, spent: float) -> list[Label]:
        if not self.priced.find_all(least, spent + self.limit):
            raise OutOfTimeError
        stock, room = self.priced.stock, ROOM
        caps = np.array(self.caps if self.caps is not None else [MANY] * len(stock.kinds), np.int64)
        while True:
            left = min(self.limit - self.seconds - self.priced.seconds + spent, 1e6)
            if left <= 0 or room > MOST_ROOM:
                raise OutOfTimeError
            book = new_book(room, caps, self.priced.prices, self.most, int(left / LISTING))
            low, high = list_cuttings(*self.priced.list_arguments(), stock.anchor, stock.alike, least, book)
            self.seconds += LISTING * int(book.tally[WORK])
            if book.tally[FULL] == TABLE_FULL:
                self.priced.enlarge()
            elif book.tally[FULL]:
                room *= 4
            elif book.tally[WORK] > book.limit:
                raise OutOfTimeError
            else:
                break
        self.whole = not book.tally[LEFT_OUT]
        return _Reader(self.priced, book).labels(slice(low, high))


class _Reader:
    """Reads labels back out of a book, as :func:`yieldplan.solve.columns.make_column` takes them."""

    def __init__(self, priced: Priced, book: Book) -> None:
        self.priced, self.book = priced, book
        self.known: dict[tuple[int, int], Any] = {}

    def labels(self, places: slice) -> list[Label]:
        ids = self.book.ids[OFFCUT, places]
        worths = np.ceil(self.book.labels.worth[OFFCUT, ids] - EPS).tolist()  # whole but for the crosscuts
        counts = self.book.counts[OFFCUT, ids].tolist()
        return [
            Label(tuple(count), worth, self.pieces(int(OFFCUT), one))
            for one, count, worth in zip(ids.tolist(), counts, worths, strict=True)
        ]

    def pieces(self, row: int, one: int) -> Any:
        """Return the pieces of a label of a row as a linked list (rest, piece); None where it has none."""
        if (row, one) not in self.known:
            label = self.book.labels[row, one]
            back, what, a, b = int(label.back), int(label.what), int(label.a), int(label.b)
            self.known[row, one] = None
            if back >= 0:
                held = self.pieces(int(within(row, what)), int(label.part)) if what >= OF_BILLET else None
                self.known[row, one] = self.pieces(row, back), self.piece(what, a, b, int(label.c), held)
        return self.known[row, one]

    def piece(self, what: int, a: int, b: int, c: int, held: Any) -> Any:
        if what == WHOLE:
            nodes, offcut = self.priced.stock.nodes, self.priced.stock.offcut
            last = b == len(nodes)
            return (
                "whole",
                int(nodes[a]),
                offcut.length if last else int(nodes[b]) - self.priced.rule.crosscut,
            )
        if what == BLANK:
            return ("blank", c, a, b)
        if what == OF_SPLIT:
            return ("split", a, held)
        if what == OF_STICK:
            return ("stick", a, b, c, held)
        return (WORDS[what], a, b) if what < BLANK else (WORDS[what], a, b, held)


WORDS = {
    int(KEEPER_STRIP): "keeper strip",
    int(KEEPER_STICK): "keeper stick",
    int(REMAINDER): "remainder",
    int(OF_BILLET): "billet",
    int(OF_HALF): "billet",
    int(OF_STRIP): "strip",
}
