"""Loading the kernels: numba compiles them at the first run and keeps them beside the package."""

from __future__ import annotations

import numpy as np

from yieldplan.model import Blank, Defect, Job, Offcut
from yieldplan.model.shop import INCH
from yieldplan.solve.labels import Opener
from yieldplan.solve.pricing import price
from yieldplan.solve.stock import classes, prepare
from yieldplan.solve.trace import best_cutting


def load_kernels() -> None:
    """Use every kernel once on a made-up offcut, so that compiling does not eat into the time for searching."""
    knot = Defect(kind="knot", x1=20 * INCH, x2=21 * INCH, y1=0, y2=INCH, z1=0, z2=INCH // 2, through=False)
    offcut = Offcut(name="A", length=40 * INCH, width=5 * INCH, thickness=2 * INCH, defects=(knot,))
    blank = Blank(name="B", need=1, length=10 * INCH, width=2 * INCH, thickness=INCH)
    job = Job(offcuts=(offcut,), blanks=(blank,))
    for one, members in classes(job):
        stock = prepare(one, members, job)
        if stock is not None:
            priced = price(stock, np.array([1000.0]))
            best_cutting(priced)
            Opener(priced).cuttings(priced.best)
