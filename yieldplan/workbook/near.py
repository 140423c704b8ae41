"""Near matches: what was probably meant by a word that is almost right."""

from __future__ import annotations

from difflib import get_close_matches
from typing import TYPE_CHECKING

from yieldplan.model.pile import fold

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


def did_you_mean(word: str, known: Iterable[str], cutoff: float = 0.6) -> str:
    """Return the clause "did you mean ...?", or nothing where no known word is near."""
    found = near(word, known, cutoff)
    return f"did you mean {found}?" if found else ""
