"""What the compiled kernels share: the tables that they read, the worth of a leftover, where defects lie.

The dynamic programme of one offcut is four longest-path recurrences, one inside the other, all over sorted
positions (Gilmore & Gomory 1965, Oper. Res. 13, 94-120; the three-stage form with defects Hahn 1968, Oper. Res.
16, 1100-1114; both from memory): blanks along a stick (``sticks``), sticks across a strip and strips across a
billet (``layouts``), billets and whole keepers along the offcut (``settle``).

Values are float64 but exact: prices are whole multiples of 2**-20 and worths whole numbers. A worth is
floored after adding 1e-9, so that it is never below the exact integer floor.

The compiled functions carry no annotations: numba reads the types of the arrays it is given.
"""
# mypy: disable-error-code="no-untyped-def, no-untyped-call, type-arg"

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
from numba import njit

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Ints = NDArray[np.int64]
    Floats = NDArray[np.float64]
    Flags = NDArray[np.bool_]
    Records = np.recarray[Any, np.dtype[np.void]]


ARC = np.dtype(
    [
        *((name, np.int64) for name in ("start", "end", "group", "first", "beyond", "last_end")),
        *((name, np.int64) for name in ("edge", "face", "relevant", "case", "clean", "model")),
        *(
            (name, np.int64)
            for name in ("width", "shift", "least", "along", "twin", "low", "high", "wider", "deeper")
        ),
        ("shorter", np.int64),
        *((name, np.float64) for name in ("gain_edge", "gain_face")),
        *((name, np.bool_) for name in ("rooted", "lean")),
    ],
    align=True,
)
"""A billet to try, on the offcut in steps, sorted by ``start``.

Those with one start are a ``group``, from ``first`` up to ``beyond``; ``last_end`` is the rank of the last blank end
inside; ``edge`` and ``face`` are E and F; ``relevant`` the set of defects met along x; ``case`` picks the positions
across (see :class:`Layout`), ``clean`` those where no defect is looked at. Without defects a billet holds no more than
its ``model`` does, and as much if it is ``rooted``. It is ``lean`` if it is tried for its blanks, not for the sake of
leftovers alone. ``width`` is what is jointed, ``shift`` where that begins across the offcut, ``least`` the F of the
shortest billet like it. ``shorter`` is the longest of those shorter billets that lose less; ``gain_edge`` and
``gain_face`` are by how much, at the most: its losses are not rounded up there.

Halves of split billets follow all billets: a billet may be split into the near halves ``low`` up to ``high``, each with
its ``twin``, the far one. ``along`` is the billet of the same place along the offcut: of a billet itself. ``wider`` and
``deeper``: how much larger the box of a half may be where the split lies before the next tried one.
"""

PLACE = np.dtype(
    [("inside", np.bool_), *((name, np.int64) for name in ("spoilt", "dull_a", "dull_b", "end", "next"))],
    align=True,
)
"""A blank of some kind that starts at some node: whether it lies between the trims; the sets of defects that forbid
it there, that spoil its clear end towards end A, and towards end B; rank of its end among all ends; node where the
next piece may start."""


class Grain(NamedTuple):
    """What the recurrence along the grain needs: positions, kinds, and what fits where.

    ``nodes`` (n,) positions where a piece may start; ``anchor`` (n,) whether it may start there though nothing
    ends just before; ``places`` (K, n) of :data:`PLACE`; ``allowed`` (S, K) whether a kind belongs on a stick;
    ``cares`` (S,) the set of defects that matter to a stick (rings that suit it lying flat may not when it is turned);
    ``sections`` (S, 2) finished width and thickness, 0 where no remainder is a keeper; ``spans`` (K,) lengths with
    allowance; ``clears`` (K,) lengths of clear ends; ``defects`` as in :class:`Piece`; ``ends`` how many ends of blanks
    there are; ``trim`` where the first blank may start, ``limit`` where the last may end.

    ``minds`` (K,) is the set of defects (and ring barriers) that spoil a kind, ``flaws`` how many are defects.
    ``blocks`` (M,) are the lengths of blanks that stand close together, so far as a remainder may lie beside them, and
    ``onward`` (M + 1, K) which block it is with one blank more, -1 where none; first row: with one alone.
    """

    nodes: Ints
    anchor: Flags
    places: Records
    allowed: Flags
    cares: Ints
    sections: Ints
    spans: Ints
    clears: Ints
    defects: Ints
    ends: int
    trim: int
    limit: int
    minds: Ints
    flaws: int
    blocks: Ints
    onward: Ints


class Layout(NamedTuple):
    """One layout's positions across: strips along the first axis, sticks along the second (R4).

    ``across`` (C, 2, most) are positions, first fixed ones, then ones measured back from the far side, which moves
    with the loss; both sorted, ``counts`` (C, 2) of them in each case; case 0 meets no defect. ``inner`` (C, D, 2,
    most) with ``inner_counts`` (C, D, 2) are those of the sticks for each first size. ``kerfs`` (C,) are of the cuts
    between strips. ``firsts`` (D, 2) are first sizes and the kerf of the cuts in such a strip; ``holds`` (D, S);
    ``depth`` (S,) second sizes. A kerf below 0: no saw reaches.
    """

    first_is_y: bool
    kerfs: Ints
    across: Ints
    counts: Ints
    inner: Ints
    inner_counts: Ints
    firsts: Ints
    holds: Flags
    depth: Ints


class Rule(NamedTuple):
    """Shop rules as numbers: lengths in steps; ``per_volume`` and ``per_length`` make the worth."""

    crosscut: int
    snipe: int
    keeper_length: int
    keeper_width: int
    keeper_thickness: int
    narrowest: int
    full: int
    per_volume: float
    per_length: float
    edge_skim: int
    face_skim: int
    least_kerf: int

    def without_keepers(self) -> Rule:
        """Return the same rules where nothing that is left is a keeper."""
        return self._replace(per_volume=0.0, keeper_length=1 << 60)


class Piece(NamedTuple):
    """An offcut's width and thickness, its defects (d, 7: x1, x2, y1, y2, z1, z2, through), and ``growth`` (2, 4).

    ``growth`` says by how much leftovers may grow between tried lengths (see :func:`leftover`), and last whether they
    may between tried splits (1.0); zeros where the exact value is asked for.
    """

    width: int
    thickness: int
    defects: Ints
    growth: Floats


_OPTIONS: dict[str, Any] = {"cache": True, "nogil": True, "no_cfunc_wrapper": True}
_COUNTED, _UNCOUNTED = {**_OPTIONS, "_nrt": True}, {**_OPTIONS, "_nrt": False}
"""Whether numba counts who holds an array (what is not said is taken from the caller)."""

_INNER: dict[str, Any] = {"no_cpython_wrapper": True}

compiled: Any = njit(**_COUNTED)
"""Compiles a function that Python calls too."""

inner: Any = njit(**_COUNTED, **_INNER)
"""Compiles a function that only compiled ones call: that takes half the time."""

frugal: Any = njit(**_UNCOUNTED)
"""Compiles a function that makes no arrays, and calls none that returns one it made.

Nobody counts then who holds the arrays that it is given: some dozens at a call, which takes longer than what most of
these functions do.
"""

frugal_inner: Any = njit(**_UNCOUNTED, **_INNER)
"""The same for a function that only compiled ones call."""


@frugal
def piece_worth(length, width, thickness, rule):
    """Return the worth of a leftover: floor(1000 v (1 + p min(l, f)/f)), v in board feet."""
    volume = float(length) * float(width) * float(thickness)
    return np.floor(volume * rule.per_volume * (1.0 + rule.per_length * min(length, rule.full)) + 1e-9)


@frugal
def leftover(length, gap, other, grow_gap, grow_other, rule):
    """Return the worth of a strip or stick left over, or an upper bound of it (``grow_*`` above 0).

    Between tried lengths a leftover of y by z gains worth with length as long as 2 crook/y + (2 bow +
    twist/2)/z <= 1 (the derivative of R3 against that of the length), but for what the losses are rounded up: its
    worth at this length bounds it where they are the same, and its section before they are rounded up, at the longest
    length where they are less (``grow_gap[3]``), beyond that. Else its section at the smallest loss does.
    """
    if grow_gap[2] / gap + grow_other[2] / other > 1.0:
        return piece_worth(length, gap + grow_gap[1], other + grow_other[1], rule)
    best = piece_worth(length, gap, other, rule)
    if grow_gap[0] > 0.0 or grow_other[0] > 0.0:
        best = max(best, piece_worth(grow_gap[3], gap + grow_gap[0], other + grow_other[0], rule))
    return best


@frugal
def rank(values, count, value):
    """Return the index of the first of ``count`` sorted values that is at least ``value``."""
    low, high = 0, count
    while low < high:
        middle = (low + high) // 2
        if values[middle] < value:
            low = middle + 1
        else:
            high = middle
    return low


@frugal
def places(sides, counts, box, row):
    """Fill the ``node`` and ``held`` of a row with the sorted positions in 0..box; return their number.

    ``sides`` (2, most) are fixed ones and ones measured back from the far side, ``counts`` of each; the latter, and 0,
    are held: a piece may start there though nothing ends just before.
    """
    i, j, n = 0, counts[1] - 1, 0
    while i < counts[0] or j >= 0:
        fixed = i < counts[0] and (j < 0 or sides[0, i] <= box - sides[1, j])
        if fixed:
            p = sides[0, i]
            i += 1
        else:
            p = box - sides[1, j]
            j -= 1
        if 0 <= p <= box:
            if n == 0 or row.node[n - 1] < p:
                row.node[n] = p
                row.held[n] = p == 0 or not fixed
                n += 1
            elif not fixed:
                row.held[n - 1] = True
    return n


@frugal
def hit_mask(defects, on_y, low, high, loss, skim):
    """Return the set (bit mask) of defects that meet low..high across a billet on one axis, after straightening (R9).

    ``defects`` is (d, 7): x1, x2, y1, y2, z1, z2, through; ``loss`` and ``skim`` are those of the axis.
    """
    mask = 0
    near = 2 if on_y else 4
    for d in range(len(defects)):
        if (not on_y and defects[d, 6] == 1) or (
            defects[d, near] - loss < high and low < defects[d, near + 1] - skim
        ):
            mask |= 1 << d
    return mask


@frugal
def axis_mask(arcs, arc, defects, on_y, low, high, rule):
    """Return the defects of a billet that meet low..high on one axis of its box; a stick meets those of both."""
    relevant = arcs.relevant[arc]
    if relevant == 0:
        return 0
    if on_y:
        loss, skim = arcs.edge[arc] + arcs.shift[arc], rule.edge_skim + arcs.shift[arc]
    else:
        loss, skim = arcs.face[arc], rule.face_skim
    return relevant & hit_mask(defects, on_y, low, high, loss, skim)


@frugal
def boxes(layout, arcs, arc, thickness):
    """Return the billet's box on the layout's first and second axis (R3)."""
    high, deep = arcs.width[arc] - arcs.edge[arc], thickness - arcs.face[arc]
    return (high, deep) if layout.first_is_y else (deep, high)
