"""Loading the kernels: numba compiles them at the first run and keeps them beside the package.

Compiling takes longer than planning, so it is done in two processes at once. ``python -m yieldplan.solve`` does it
beforehand.
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numba import typeof

from yieldplan.model import Blank, Defect, Job, Offcut
from yieldplan.model.shop import INCH
from yieldplan.solve import book, kernel, layouts, listing, settle, sticks
from yieldplan.solve.book import new_book
from yieldplan.solve.labels import Opener
from yieldplan.solve.pricing import Priced
from yieldplan.solve.stock import classes, prepare
from yieldplan.solve.trace import best_cutting

if TYPE_CHECKING:
    from collections.abc import Callable

PRICING = "pricing"
"""What the other process is told to compile."""


def load_kernels(on_compiling: Callable[[], None] = lambda: None) -> None:
    """Use every kernel once on a made-up offcut; ``on_compiling`` is called first where that will take long."""
    kept = _kept_in()
    forget_stale(kept)
    if not any(kept.glob("settle.settle-*.nbi")):
        on_compiling()
        _compile_together()
    priced = _example()
    priced.find_best(0.0)
    best_cutting(priced)
    Opener(priced).cuttings(priced.best)


def _kept_in() -> Path:
    return Path(settle.settle.stats.cache_path)


def forget_stale(kept: Path) -> None:
    """Delete what numba has compiled from older sources: it looks at the file of a function, not at those it calls."""
    sources = (kernel, sticks, layouts, settle, book, listing)
    newest = max(Path(str(module.__file__)).stat().st_mtime for module in sources)
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
    """Compile the pricing in another process and a part of the listing in this one."""
    command = [sys.executable, "-m", "yieldplan.solve", PRICING]
    with subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL):
        priced = _example()
        stock, rule, grain, held = priced.stock, priced.rule, priced.stock.grain, priced.held
        sticks.trace_stick(*(grain, stock.arcs, 0, 0, priced.prices, rule, 0, held.run, held.ended))
        layouts.path_of(priced.rows[0].spots, 0)
        whole, one = np.int64(0), 0.0
        blank_book = new_book(1, np.zeros(1, np.int64), priced.prices, 1, 1)
        listed = (grain, stock.arcs, whole, whole, whole, rule, priced.prices, whole)
        listing.list_stick.compile(tuple(map(typeof, (*listed, stock.alike, one, blank_book))))


def compile_pricing() -> None:
    """Compile what pricing needs, without using it."""
    priced = _example()
    settle.bound_by_area.compile(tuple(map(typeof, priced.bound_arguments())))
    settle.settle.compile(tuple(map(typeof, priced.settle_arguments(0.0, single=True))))
