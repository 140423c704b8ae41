"""Draw all pages of a random plan on a pile of 300 offcuts; print what it held and how long each part took.

A process of its own, so that run.py can tell its peak memory: python tests/bench/big_pages.py SEED FOLDER
"""

from __future__ import annotations

import sys
import time
from itertools import pairwise
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "order"))

from random_plans import random_plan

from yieldplan.order import cutting_order, order_text
from yieldplan.order.pdf import pdf_bytes
from yieldplan.order.xlsx import xlsx_bytes

OFFCUTS = 300


def main(seed: int, folder: Path) -> None:
    """Draw the pages of a seed's plan and write what was measured, as a row of a table, into the folder."""
    job, plan = random_plan(seed, OFFCUTS)
    marks = [time.perf_counter()]
    order = cutting_order(job, plan)
    marks.append(time.perf_counter())
    order_text(order)
    marks.append(time.perf_counter())
    pdf = pdf_bytes(order)
    marks.append(time.perf_counter())
    xlsx_bytes(order)
    marks.append(time.perf_counter())
    cells = [str(n) for n in (seed, len(plan.offcuts), len(order.blanks), len(order.sheets))]
    cells += [f"{b - a:.2f}" for a, b in pairwise(marks)]
    cells += [f"{marks[-1] - marks[0]:.2f}", f"{len(pdf) / 1e6:.2f}"]
    (folder / "row").write_text(" | ".join(cells), encoding="utf-8")


if __name__ == "__main__":
    main(int(sys.argv[1]), Path(sys.argv[2]))
