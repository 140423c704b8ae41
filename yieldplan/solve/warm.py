"""Loading the kernels: numba compiles them at the first run and keeps them beside the package.

Compiling takes about as long as planning. It is done in two processes at once; run as a module this one compiles its
share and leaves it in numba's cache.
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import numpy as np
from numba import typeof

from yieldplan.model import Blank, Defect, Job, Offcut
from yieldplan.model.shop import INCH
from yieldplan.solve import layouts, listing, settle, sticks
from yieldplan.solve.labels import Opener
from yieldplan.solve.pricing import Priced
from yieldplan.solve.stock import classes, prepare
from yieldplan.solve.trace import best_cutting


def load_kernels() -> None:
    """Use every kernel once on a made-up offcut, so that compiling does not eat into the time for searching."""
    kept = Path(settle.settle.stats.cache_path)
    forget_stale(kept)
    if not any(kept.glob("settle.settle-*.nbi")):
        _compile_together()
    priced = _example()
    priced.find_best(0.0, lambda: False)
    best_cutting(priced)
    Opener(priced).cuttings(priced.best)


def forget_stale(kept: Path) -> None:
    """Delete what numba has compiled from older sources: it looks at the file of a function, not at those it calls."""
    newest = max(source.stat().st_mtime for source in Path(__file__).parent.glob("*.py"))
    for compiled in kept.glob("*.nb?"):  # numba keeps those of a folder of sources in a folder of their own
        try:
            if compiled.stat().st_mtime < newest:
                compiled.unlink()
        except OSError:
            continue  # another process was quicker, or it cannot be deleted


def _example() -> Priced:
    knot = Defect(kind="knot", x1=20 * INCH, x2=21 * INCH, y1=0, y2=INCH, z1=0, z2=INCH // 2, through=False)
    offcut = Offcut(name="A", length=40 * INCH, width=5 * INCH, thickness=2 * INCH, defects=(knot,))
    blank = Blank(name="B", need=1, length=10 * INCH, width=2 * INCH, thickness=INCH)
    job = Job(offcuts=(offcut,), blanks=(blank,))
    stock = prepare(*classes(job)[0], job)
    assert stock is not None
    return Priced(stock, np.array([1000.0]), upper=False, keepers=True)


def _compile_together() -> None:
    """Compile the outermost kernel in another process and the others in this one."""
    with subprocess.Popen(
        [sys.executable, "-m", "yieldplan.solve.warm"], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
    ):
        priced = _example()
        stock, rule, grain = priced.stock, priced.rule, priced.stock.grain
        settle.bound_by_area(*priced.bound_arguments())
        sticks.trace_stick(
            *(grain, stock.arcs, 0, 0, priced.prices, rule, 0, priced.held.run, priced.held.ended)
        )
        listing.stick_moves(grain, 0, 0, priced.prices, rule, 0, 0, 0, 0.0)
        row, none, keep = priced.rows[0], np.zeros(3), False
        zero = stock.arcs.end[0] - stock.arcs.end[0]
        listing.row_moves(row, 0, np.array([1]), 1, 0, zero, zero, zero, none, none, keep, rule, 0.0)
        layouts.path_of(row.spots, 0)


if __name__ == "__main__":
    settle.settle.compile(tuple(map(typeof, _example().settle_arguments(0.0, single=True))))
