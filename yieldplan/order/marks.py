"""Names that can be pencilled on wood: they grow from the offcut's own name and can be read back.

``P014#2-A3c1`` is read from the left: offcut P014, copy 2; its segment A (capital letters, from end A on);
the segment's strip 3 (figures; a layer, in a billet that is resawn first); its stick c (small letters); its
piece 1 along the stick. ``P014-A2-4`` is a piece in which strips 2 to 4 are still together. Letters and
figures take turns, and small letters that a pencil makes look like a figure are left out.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from yieldplan.model import Offcut

CAPITALS = "ABCDEFGHJKLMNPQRSTUVWXYZ"
"""Segments; I and O are left out, as drawing offices do (common practice, no source)."""

SMALL = "acdefhjkmnprtuvwxy"
"""Sticks; b g i l o q s z are left out: in pencil they pass for 6 9 1 1 0 9 5 2."""


def letters(number: int, alphabet: str) -> str:
    """Return the ``number``-th (from 1) word over ``alphabet``: its letters, then pairs, and so on."""
    text = ""
    while number:
        number, place = divmod(number - 1, len(alphabet))
        text = alphabet[place] + text
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


def segment_mark(number: int) -> str:
    """Return a segment's mark: A, B, ... from end A on; ``number`` counts from 1."""
    return letters(number, CAPITALS)


def stick_mark(number: int) -> str:
    """Return a stick's own letter; ``number`` counts from 1."""
    return letters(number, SMALL)
