"""Seeds of tiny piles that the tests of whole searches use, and what the enumeration says of them."""

from __future__ import annotations

from functools import cache

from brute import Answer, best
from tiny_piles import tiny

SLOW = frozenset({9001, 9010, 9026})
"""Seeds whose enumeration takes more than a second; they are left out."""

SEEDS = sorted(set(range(9000, 9044)) - SLOW)
"""Two or three of every flavour."""

SHORT = [9000, 9005, 9012, 9021, 9023, 9028, 9031, 9037]
"""Seeds of piles that are short of blanks, or nearly so."""

SPLIT = [9014, 9030, 9046, 9062, 9078, 9094]
"""Seeds of cupped boards that may be split."""


@cache
def answered(seed: int) -> Answer:
    """Return the enumeration's answer for a seed; each is worked out once for all tests."""
    return best(tiny(seed))
