"""The largest piles that are allowed, each planned by the command line in a process of its own: peak memory and time.

Random piles, the same each time, at the limits of README.md: as many rows as may be, long boards, many defects, rings
that turn across the piece, boards that may be split, and many pieces of a kind.
"""

from __future__ import annotations

import csv
import json
import random
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Iterator

HERE = Path(__file__).resolve().parent


class Shape(NamedTuple):
    """A pile in millimetres: rows of Offcuts and Blanks, the longest offcut, defects on each, and the rest.

    ``rings`` is how many readings each offcut has, ``cup`` that of all, ``qty`` how many there are of each, ``need`` of
    each blank; ``wide`` and ``thick`` are the largest sections.
    """

    offcuts: int
    blanks: int
    longest: int
    defects: int
    rings: int = 0
    cup: int = 0
    qty: int = 1
    need: int = 20
    wide: int = 190
    thick: int = 60


SHAPES = {
    "many boards of a shop": Shape(2000, 100, 4000, 3, rings=1),
    "many short straight ends": Shape(2000, 100, 900, 0, qty=10, need=200),
    "rings that turn, many defects": Shape(2000, 100, 4000, 10, rings=2),
    "cupped boards, many defects": Shape(2000, 100, 4000, 10, cup=8),
    "30 m, 60 defects, cupped": Shape(333, 200, 30_000, 60, cup=8),
    "30 m, wider than the jointer": Shape(1000, 200, 30_000, 20, cup=8, wide=380, thick=140),
    "three such, wide and thick": Shape(3, 200, 30_000, 60, cup=8, wide=380, thick=140),
    "500 of each board, 100 of each blank": Shape(40, 200, 6000, 2, rings=1, qty=500, need=100),
}


def sheets(shape: Shape) -> dict[str, list[list[object]]]:
    """Return the rows of the sheets of a pile."""
    rng = random.Random(f"largest {shape}")
    names = ("Offcut", "Length", "Width", "Thickness", "Qty", "Bow", "Crook", "Cup", "Twist")
    offcuts: list[list[object]] = [[*names, "Ring angle", "Ring angle far"]]
    defects: list[list[object]] = [["Offcut", "Kind", "From", "To", "Edge from", "Edge to", "Face", "Depth"]]
    for number in range(shape.offcuts):
        length = rng.randint(min(400, shape.longest), shape.longest) if shape.defects < 60 else shape.longest
        width, thickness = rng.randint(shape.wide // 2, shape.wide), rng.randint(25, shape.thick)
        warp = [rng.randint(0, most) if shape.defects else 0 for most in (12, 12)]
        read = [rng.randint(0, 90) for _ in range(shape.rings)]
        row = [f"P{number}", length, max(width, thickness), min(width, thickness), shape.qty, *warp]
        offcuts.append([*row, shape.cup, rng.randint(0, 6) if shape.defects else 0, *read])
        for _ in range(shape.defects):
            at, across = rng.randrange(length - 50), rng.randrange(max(width, thickness) - 15)
            kind = rng.choice(("knot", "check", "pin knot", "wane"))
            spoilt = [at, min(length, at + rng.randint(10, 150)), across, across + rng.randint(5, 15)]
            depth = rng.choice((["through", None], [1, 8], [2, 5]))
            defects.append([f"P{number}", kind, *spoilt, *depth])
    blanks: list[list[object]] = [
        ["Blank", "Need", "Length", "Width", "Thickness", "Ring from", "Ring to", "Allows", "Clear end"]
    ]
    for number in range(shape.blanks):
        sides = sorted((rng.randint(15, 90), rng.randint(10, 40)), reverse=True)
        start = rng.randint(0, 60) if shape.rings and rng.random() < 0.5 else None
        rings: list[int | None] = [start, None if start is None else start + 30]
        length, clear = rng.randint(100, min(2500, shape.longest - 60)), rng.choice((0, 30))
        allows = rng.choice((None, "pin knot", "pin knot, knot"))
        blanks.append([f"K{number}", shape.need, length, *sides, *rings, allows, clear])
    shop: list[list[object]] = [
        ["Setting", "Value"],
        ["units", "mm"],
        *([["bandsaw height", 200]] if shape.thick > 100 else []),
    ]
    return {"offcuts": offcuts, "defects": defects, "blanks": blanks, "shop": shop}


def largest() -> Iterator[str]:
    """Yield the table of the largest piles, each with the seconds that `plan` has if none are given."""
    yield "| pile | offcuts x blanks | exit status | seconds | peak MiB | missing | net worth | gap |"
    yield "| --- " * 8 + "|"
    for name, shape in SHAPES.items():
        with tempfile.TemporaryDirectory() as top:
            source, out = Path(top) / "pile", Path(top) / "order"
            source.mkdir()
            for sheet, rows in sheets(shape).items():
                if len(rows) > 1:
                    with (source / f"{sheet}.csv").open("w", newline="", encoding="utf-8") as file:
                        csv.writer(file).writerows(rows)
            command = [sys.executable, "-m", "yieldplan", "plan", str(source), "--out", str(out)]
            ran = subprocess.run(
                [sys.executable, str(HERE / "measure.py"), *command],
                capture_output=True,
                text=True,
                check=True,
            )
            status, seconds, memory = ran.stdout.split()
            plan = out / "plan.json"
            made = json.loads(plan.read_text(encoding="utf-8")) if plan.exists() else None
            figures = " | | "
            if made:
                missing = sum(made["missing"].values())
                figures = f"{missing} | {made['proof']['net_worth']} | {made['proof']['gap']:.2%}"
        yield (
            f"| {name} | {shape.offcuts} x {shape.blanks} | {status} | {float(seconds):.0f} "
            f"| {float(memory):.0f} | {figures} |"
        )


if __name__ == "__main__":
    for line in largest():
        print(line, flush=True)
