"""Names of species that do not agree with each other: a letter or a word apart, or left out on some rows."""

from __future__ import annotations

from itertools import combinations
from typing import TYPE_CHECKING

from yieldplan.model.species import BUILT_IN, species_key
from yieldplan.model.words import fold
from yieldplan.workbook.suggest import one_letter_apart

if TYPE_CHECKING:
    from collections.abc import Sequence

    from yieldplan.workbook.table import Row

_MOST_NAMES = 100
"""Different names past which they are no longer compared in pairs: then the column holds something else."""


def doubt_species(rows: Sequence[Row]) -> None:
    """Warn of offcuts without a species in a pile that has them, and of names that are probably one."""
    by_name: dict[str, list[Row]] = {}
    empty: list[Row] = []
    for row in rows:
        if row.unread("Species") or not row.good("Species"):
            continue
        name = row.cell("Species").text
        (by_name.setdefault(fold(name), []) if name else empty).append(row)
    _doubt_empty(by_name, empty)
    if len(by_name) <= _MOST_NAMES:
        _doubt_pairs(by_name)


def _doubt_empty(by_name: dict[str, list[Row]], empty: list[Row]) -> None:
    """Warn of each row without a species, or once where they are the most."""
    named = sum(map(len, by_name.values()))
    count = named + len(empty)
    if not named or not empty:
        return
    if len(empty) <= named:
        for row in empty:
            row.doubt(
                "Species",
                f"is empty, though {named} of {count} offcuts have their species",
                "a blank that asks for one passes this offcut over",
            )
        return
    found = (
        f"is empty here and on {len(empty) - 1} more of {count} offcuts, though the others have their species"
    )
    empty[0].warn("Species", found, "a blank that asks for one passes them over")
    for row in empty:
        row.doubted.add("Species")


def _doubt_pairs(by_name: dict[str, list[Row]]) -> None:
    """Warn of the rarer of two names that are a letter or a word apart, at its first row."""
    for one, other in combinations(by_name, 2):
        if not _alike(one, other):
            continue
        rare, usual = sorted((other, one), key=lambda name: (len(by_name[name]), len(name.split())))
        row, first = by_name[rare][0], by_name[usual][0].cell("Species").text
        more = len(by_name[rare]) - 1
        here = f", here and on {more} more {'row' if more == 1 else 'rows'}" if more else ""
        row.doubt("Species", f"counts as a different species from {first}{here}", f"did you mean {first}?")


def _alike(one: str, other: str) -> bool:
    """Return whether two names may be one: a letter apart and not both known, or one with a word more."""
    words, others = set(one.replace("-", " ").split()), set(other.replace("-", " ").split())
    if words == others:
        return True
    if (words < others or others < words) and abs(len(words) - len(others)) == 1:
        return True
    known = species_key(one) in BUILT_IN and species_key(other) in BUILT_IN
    return not known and one_letter_apart(one, other)
