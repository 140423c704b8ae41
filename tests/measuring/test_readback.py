"""The report on an input, as it stands on the terminal."""

from __future__ import annotations

import re
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest

from yieldplan.measuring.readback import understood
from yieldplan.model import Blank, Defect, Job, Offcut, Shop, metric_shop
from yieldplan.model.shop import INCH, MM
from yieldplan.pages.renderables import plain_text
from yieldplan.workbook import read

KNOT = Defect(kind="knot", x1=0, x2=INCH, y1=0, y2=INCH, z1=0, z2=INCH)
OAK = Offcut(
    name="P1",
    length=24 * INCH,
    width=6 * INCH,
    thickness=2 * INCH,
    qty=2,
    species="White oak",
    ring_angle=40,
    defects=(KNOT,),
    other=(("Bin", "7"),),
)
ASH = Offcut(name="P2", length=36 * INCH, width=4 * INCH, thickness=INCH, species="Ash")
RIB = Blank(
    name="Rib",
    need=4,
    spare=1,
    length=12 * INCH,
    width=2 * INCH,
    thickness=INCH,
    species=("White oak", "Ash"),
    ring_from=30,
    ring_to=60,
    allows=("pin knot",),
    clear_end=2 * INCH,
)
CLEAT = Blank(name="Cleat", need=2, length=6 * INCH, width=2 * INCH, thickness=INCH, priority=2)
JOB = Job(
    offcuts=(OAK, replace(OAK, name="P3", species="white  oak", qty=1, defects=()), ASH),
    blanks=(RIB, CLEAT),
    shop=Shop(end_trim=3 * INCH // 4, length_premium=Fraction(1, 2)),
    name="pile.xlsx",
)

WHOLE = """\
pile.xlsx
3 rows of offcuts, 4 pieces, 2 defects marked, 1 without a ring angle.

Species    Pieces  Board feet      m³
-------------------------------------
White oak       3        6.00  0.0142
Ash             1        1.00  0.0024
all             4        7.00  0.0165

Moisture: the Shop sheet sets no target moisture, so no size is changed for it.
Rings to the wide face, as this shop uses the words: flat sawn 0° to 30°, rift
30° to 60°, quarter sawn 60° to 90°.

Board by board
Offcut  As read, in
----------------------------------------------------------------------------
P1      24 × 6 × 2; 2 alike; White oak, 40°; knot 0 to 1, 0 to 1 from edge 1
P3      24 × 6 × 2; white  oak, 40°
P2      36 × 4 × 1; Ash

Batch
2 kinds of blank, 6 needed and 1 spare: 0.83 board feet (0.0020 m³) finished,
11.9 % of the pile.

Blank  Need  Spare  Priority  Finished size, in  Asks for
--------------------------------------------------------------------------------
Rib       4      1         1  12 × 2 × 1         White oak or Ash; rings 30–60°;
                                                 2" clear at one end; pin knot
                                                 allowed
Cleat     2      0         2  6 × 2 × 1          any wood without defects

Shop settings
Setting         Here  Default
-----------------------------
end trim        3/4"  1/2"
length premium  0.5   1
All others at their defaults; bare numbers are inches.

Columns kept but not used
Offcuts: Bin.
"""


def test_the_whole_report() -> None:
    """The whole text at 80 columns: counts, volumes, species however spelled, demands, changed settings."""
    assert plain_text(understood(JOB), 80) == WHOLE


def test_defaults_are_said_to_hold() -> None:
    """A shop without changes is one sentence, and what is not there has no column."""
    job = Job(offcuts=(replace(ASH, ring_angle=5),), blanks=(replace(RIB, spare=0),), name="pile")
    text = plain_text(understood(job))
    assert "All at their defaults; bare numbers are inches." in text
    assert "0 defects marked, all with a ring angle." in text
    assert "Spare" not in text
    assert "Priority" not in text
    assert "Columns kept" not in text


def test_metric_settings_are_set_beside_metric_defaults() -> None:
    """A workbook in millimetres has defaults of its own; only what differs from those is shown, minutes too."""
    shop = metric_shop(rip_kerf=4 * MM, machine_setting=350)
    text = plain_text(understood(replace(JOB, shop=shop)))
    lines = [line.split() for line in text[text.index("Shop settings") :].splitlines()]
    assert lines[3:5] == [
        ["rip", "kerf", "4", "mm", "3", "mm"],
        ["machine", "setting", "3.5", "min", "2", "min"],
    ]
    assert " ".join(lines[5]) == "All others at their defaults; bare numbers are millimetres."


def test_volumes_are_said_first_as_the_job_is_measured() -> None:
    """Cubic metres stand before board feet in a metric workbook."""
    text = " ".join(plain_text(understood(replace(JOB, shop=metric_shop()))).split())
    assert "Species Pieces m³ Board feet" in text
    assert "0.0020 m³ (0.83 board feet) finished" in text


def test_metric_defaults_are_said_to_hold() -> None:
    """All defaults of a metric workbook are one sentence."""
    text = plain_text(understood(replace(JOB, shop=metric_shop())))
    assert "All at their defaults; bare numbers are millimetres." in text


@pytest.mark.parametrize("name", ["skiff-frames.xlsx", "floor-cleats-mm"])
def test_no_figure_is_broken_over_two_lines(name: str) -> None:
    """At 80 columns 2 3/8, 1 in 15, 12 % and face 1 each stand on one line."""
    demo = Path(__file__).parents[2] / "data_demo" / name
    lines = [line.strip() for line in plain_text(understood(read(demo)), 80).splitlines()]
    broken = re.compile(r"[0-9]\n([0-9]+/[0-9]|in [0-9]|%|mm\b)|([0-9] in|face|edge|×)\n[0-9]")
    found = "\n".join(line for line in lines if line)
    assert broken.search(found[found.index("Board by board") :]) is None
