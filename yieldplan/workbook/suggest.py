"""Near matches: what was probably meant by a word that is almost right."""

from __future__ import annotations

from difflib import get_close_matches
from functools import cache
from typing import TYPE_CHECKING

from yieldplan.model.words import fold

if TYPE_CHECKING:
    from collections.abc import Iterable

KINDS = (
    "knot",
    "check",
    "shake",
    "split",
    "wane",
    "pith",
    "pitch pocket",
    "bark pocket",
    "sapwood",
    "stain",
    "rot",
    "worm hole",
    "nail hole",
    "saw cut",
)
"""Usual kinds of defect; any other word does as well."""


def near(word: str, known: Iterable[str], cutoff: float = 0.6) -> str | None:
    """Return the known word that is nearest to this one, or None where none is near."""
    by_fold = {fold(other): other for other in known}
    found = get_close_matches(fold(word), by_fold, n=1, cutoff=cutoff)
    return by_fold[found[0]] if found else None


@cache
def usual_kind(word: str) -> str | None:
    """Return the usual kind of defect that this word nearly is; None for a usual kind, or a quite other word."""
    likely = near(word, KINDS, 0.8)
    return None if likely is None or fold(likely) == fold(word) else likely


class Names:
    """Words that a user typed elsewhere, to look for near matches among; there may be thousands.

    Comparing costs time, so the search stops after about 100 000 comparisons: the first few hundred faults get
    their suggestion, and an input with more of them is still refused at once.
    """

    def __init__(self, names: Iterable[str]) -> None:
        self._known = {fold(name): name for name in names}
        self._left = 100_000

    def __contains__(self, name: str) -> bool:
        return fold(name) in self._known

    def did_you_mean(self, word: str) -> str:
        """Return the clause "did you mean ...?", or nothing where no name is near or it took too long."""
        self._left -= len(self._known)
        return did_you_mean(word, self._known.values()) if self._left >= 0 else ""


def did_you_mean(word: str, known: Iterable[str], cutoff: float = 0.6) -> str:
    """Return the clause "did you mean ...?", or nothing where no known word is near."""
    found = near(word, known, cutoff)
    return f"did you mean {found}?" if found else ""
