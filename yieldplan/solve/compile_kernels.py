"""Loading the kernels: numba compiles them at the first run and keeps them beside the package.

``python -m yieldplan.solve`` does it beforehand.
"""

from __future__ import annotations

from fractions import Fraction
from functools import cache
from multiprocessing import Process
from pathlib import Path

import numpy as np

from yieldplan.model import Blank, Defect, Job, Offcut, Shop
from yieldplan.model.shop import INCH
from yieldplan.solve import along, graph, paths, places, rows, tables
from yieldplan.solve.classes import classes_of, new_batch
from yieldplan.solve.pricing import Pricer


def load_all() -> None:
    """Use every kernel once, in two processes: one has those of billets along an offcut."""
    _forget_stale()
    other = Process(target=_along)
    other.start()
    compile_kernels()
    other.join()


def _along() -> None:
    pricer = _pricer()
    terms, one = pricer.terms, pricer.classes[0]
    given = one.wood, pricer.batch.shop, terms
    places.find_billets(*given, one.course, pricer.table, False)
    along.sort_billets(one.wood, pricer.table)
    along.lay_billets(*given, pricer.desk, pricer.table, 0, 0)


@cache
def compile_kernels() -> None:
    """Use the kernels of pricing once a process, on a made-up offcut; compiling them takes half a minute."""
    _forget_stale()
    pricer = _pricer()
    one = pricer.classes[0]
    given = one.wood, pricer.batch.shop, pricer.terms
    along.exact_value(*given, pricer.desk, one.course, 0, 0, one.wood.length)
    pricer.best(0)


def _pricer() -> Pricer:
    knot = Defect(kind="knot", x1=20 * INCH, x2=21 * INCH, y1=0, y2=INCH, z1=0, z2=INCH, through=False)
    offcut = Offcut(
        name="A", length=60 * INCH, width=5 * INCH, thickness=2 * INCH, defects=(knot,), cup=INCH // 2
    )
    blank = Blank(name="B", need=1, length=10 * INCH, width=2 * INCH, thickness=INCH)
    batch = new_batch(Job(offcuts=(offcut,), blanks=(blank,), shop=Shop(length_premium=Fraction(1))))
    pricer = Pricer(batch, classes_of(batch))
    pricer.set_prices(np.array([4_000_000]))
    return pricer


def _forget_stale() -> None:
    """Delete what numba compiled from older sources: it looks at the file of a function, not at those it calls."""
    kept = Path(along.best_offcut.stats.cache_path)
    modules = (along, graph, paths, places, rows, tables)
    newest = max(Path(str(module.__file__)).stat().st_mtime for module in modules)
    for compiled in kept.glob("*.nb?"):
        try:
            if compiled.stat().st_mtime < newest:
                compiled.unlink()
        except OSError:
            continue  # another process was quicker, or it cannot be deleted
