"""Few blank lengths for many frame lengths: the least wood, exactly.

The distinct lengths l_1 < ... < l_m are wanted c_1 ... c_m times. A frame may be cut from any blank that is not
shorter, so the best blanks are some of the l_j, each serving the lengths l_i ... l_j next below it. With at most k
blanks, W(k, j) is the least total length that serves the first j lengths, the j-th being the last served::

    W(k, j) = min over i <= j, l_j - l_i <= over, of  W(k - 1, i - 1) + l_j (c_i + ... + c_j),    W(k, 0) = 0

All in whole steps.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Mapping

_NEVER = np.iinfo(np.int64).max // 4


class TooFewKindsError(ValueError):
    """So few blank lengths cannot keep to what was asked; ``least`` is how many can."""

    def __init__(self, least: int) -> None:
        super().__init__(least)
        self.least = least


def blank_lengths(
    wanted: Mapping[int, int], *, at_most: int | None = None, longer_by: int | None = None
) -> tuple[int, ...]:
    """Return the lengths of blanks, rising, that make all wanted frames with the least wood.

    Parameters
    ----------
    wanted
        Length in steps to how many are wanted.
    at_most
        How many lengths of blanks there may be.
    longer_by
        By how much a blank may be longer than a frame cut from it, in steps. Alone it asks for as few lengths as
        keep to it, and of those for the least wood. With neither every length has its own blank.

    Raises
    ------
    TooFewKindsError
        If no ``at_most`` lengths keep to ``longer_by``.

    Examples
    --------
    >>> blank_lengths({10: 5, 11: 1, 20: 1}, at_most=2)
    (11, 20)
    """
    sizes = sorted(wanted)
    if at_most is None and longer_by is None:
        return tuple(sizes)
    lengths = np.array(sizes, dtype=np.int64)
    before = np.concatenate([[0], np.cumsum([wanted[size] for size in sizes])])
    first = np.searchsorted(lengths, lengths - (sizes[-1] if longer_by is None else longer_by))
    row = np.full(len(sizes) + 1, _NEVER, dtype=np.int64)  # W(0, j); then W(1, j), W(2, j) ...
    row[0] = 0
    totals, splits = [_NEVER], [np.zeros_like(row)]  # W(k, m), and for each k the i - 1 of every j
    while len(totals) <= min(at_most or 0, len(sizes)) or min(totals) == _NEVER:
        new, split = np.full_like(row, _NEVER), np.zeros_like(row)
        for j, low in enumerate(first, 1):
            costs = row[low:j] + lengths[j - 1] * (before[j] - before[low:j])
            best = int(np.argmin(costs))
            if costs[best] < _NEVER:
                new[j], split[j] = costs[best], low + best
        row = new
        totals.append(int(row[-1]))
        splits.append(split)
    fewest = next(kinds for kinds, total in enumerate(totals) if total < _NEVER)
    if at_most is not None and fewest > at_most:
        raise TooFewKindsError(fewest)
    kinds = min(range(len(totals)), key=lambda kinds: (totals[kinds], kinds))
    chosen, last = [], len(sizes)
    for level in range(kinds, 0, -1):
        chosen.append(sizes[last - 1])
        last = int(splits[level][last])
    return tuple(reversed(chosen))
