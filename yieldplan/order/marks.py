"""Names that can be pencilled on wood: they grow from the board's own name.

``P014#2`` is the second of several like boards. Its billets are ``P014#2-A``, ``P014#2-B`` only if it has two or more,
the halves of a split one ``near`` and ``far``. Its sticks are numbered through the whole board, ``P014#2-3``; what is
still joined is ``P014#2-3 to 5``; what goes back on the rack is ``P014#2-K1``. Blanks have no names of their own.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from yieldplan.model import Offcut

CAPITALS = "ABCDEFGHJLMNPQRSTUVWXYZ"
"""Billets; I and O are left out, as drawing offices do (common practice, no source), and K, which means a keeper."""


def billet_mark(number: int) -> str:
    """Return a billet's mark: A, B, ... from end A on, then pairs; ``number`` counts from 1."""
    text = ""
    while number:
        number, place = divmod(number - 1, len(CAPITALS))
        text = CAPITALS[place] + text
    return text


class Marks:
    """The names of one job's pieces.

    The sign between an offcut's name and a copy's number (``#``), and the one between its name and what grows
    from it (``-``), are doubled as often as it takes for no name to be readable in two ways.

    Parameters
    ----------
    offcuts
        The whole pile, drawn or not.
    """

    def __init__(self, offcuts: Sequence[Offcut]) -> None:
        names = [offcut.name for offcut in offcuts]
        several = [offcut.name for offcut in offcuts if offcut.qty > 1]
        self.copy_sign = _sign("#", several, names)
        self._several = frozenset(several)
        roots = [
            self.root(offcut.name, copy) for offcut in offcuts for copy in range(1, min(offcut.qty, 2) + 1)
        ]
        self.sign = _sign("-", roots, roots)

    def root(self, offcut: str, copy: int) -> str:
        """Return the name of a piece of the pile, with its copy's number where there are several."""
        return f"{offcut}{self.copy_sign}{copy}" if offcut in self._several else offcut

    def full(self, root: str, mark: str) -> str:
        """Return the whole name of a piece, from its offcut's and its own mark."""
        return f"{root}{self.sign}{mark}" if mark else root


def _sign(sign: str, stems: Sequence[str], names: Sequence[str]) -> str:
    """Return ``sign``, doubled until no name begins with a stem and the sign."""
    ordered = sorted(set(names))
    text = sign
    while any(_follows(stem + text, ordered) for stem in stems):
        text += sign
    return text


def _follows(prefix: str, ordered: Sequence[str]) -> bool:
    """Return whether one of the sorted names begins with ``prefix``."""
    low, high = 0, len(ordered)
    while low < high:
        middle = (low + high) // 2
        if ordered[middle] < prefix:
            low = middle + 1
        else:
            high = middle
    return low < len(ordered) and ordered[low].startswith(prefix)
