"""A board in one line: as it is read back, and as one calls it over while another holds the tape."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from yieldplan.measuring.readback import called, calling_order, read_back
from yieldplan.model import Blank, Defect, Job, Offcut, Shop, metric_shop
from yieldplan.model.shop import INCH, MM

KNOT = Defect(kind="knot", x1=12 * INCH, x2=27 * INCH // 2, y1=0, y2=3 * INCH // 2, z1=0, z2=7 * INCH // 4)
BOARD = Offcut(
    name="P014",
    length=73 * INCH // 2,
    width=21 * INCH // 4,
    thickness=7 * INCH // 4,
    species="White oak",
    bow=INCH // 8,
    twist=INCH // 16,
    ring_angle=40,
    moisture=Fraction(12),
    grain_slope=Fraction(1, 20),
    kinks=(10 * INCH,),
    defects=(
        replace(KNOT, kind="check", x1=30 * INCH, x2=73 * INCH // 2, y2=21 * INCH // 4),
        KNOT,
        replace(KNOT, kind="pin knot", x1=20 * INCH, x2=41 * INCH // 2, through=False, z2=3 * INCH // 8),
        replace(KNOT, kind="wane", x1=0, x2=2 * INCH, through=False, z1=INCH),
    ),
)


def test_a_board_is_called_name_sizes_then_faults_from_end_a() -> None:
    """One line, in the order of the tape: a kink stands among the defects, each place where it begins."""
    assert called(BOARD, Shop()) == (
        "P014: 36 1/2 long, 5 1/4 wide, 1 3/4 thick. "
        "Wane 0 to 2, 0 to 1 1/2 from edge 1, face 2, 3/4 deep. Kink at 10. "
        "Knot 12 to 13 1/2, 0 to 1 1/2 from edge 1. "
        "Pin knot 20 to 20 1/2, 0 to 1 1/2 from edge 1, face 1, 3/8 deep. Check 30 to 36 1/2. "
        "Bow 1/8. Twist 1/16. White oak. Rings 40°. Moisture 12 %. Grain 1 in 20."
    )


def test_what_a_board_has_not_is_called_too() -> None:
    """A plain board is said to be one, so that nobody waits for its defects; like pieces are counted."""
    plain = Offcut(name="P7", length=24 * INCH, width=4 * INCH, thickness=INCH, qty=3)
    assert called(plain, Shop()) == ("P7: 24 long, 4 wide, 1 thick. 3 alike. No defects. Straight and flat.")


def test_read_back_says_the_same_shorter() -> None:
    """What was read stands in one line behind the name; what was not read is not there."""
    board = replace(BOARD, kinks=(), defects=BOARD.defects[:2])
    assert read_back(board, Shop()) == (
        "36 1/2 × 5 1/4 × 1 3/4; White oak, 40°, 12 %, 1 in 20; bow 1/8, twist 1/16; "
        "knot 12 to 13 1/2, 0 to 1 1/2 from edge 1; check 30 to 36 1/2"
    )
    plain = Offcut(name="P7", length=24 * INCH, width=4 * INCH, thickness=INCH)
    assert read_back(plain, Shop()) == "24 × 4 × 1"


def test_rings_that_turn_are_said_at_both_edges() -> None:
    """A second reading, or a word, is given as the angles that it stands for."""
    board = replace(BOARD, defects=(), kinks=(), ring_angle=(0, 30), ring_angle_far=60)
    assert "Rings 0 to 30° at edge 1, 60° at the far edge." in called(board, Shop())


def test_a_figure_in_another_unit_has_its_unit() -> None:
    """Figures stand as on the tape; one that no inch rule shows keeps its millimetres."""
    metric = Offcut(name="F1", length=1050 * MM, width=120 * MM, thickness=28 * MM + 160)
    assert called(metric, metric_shop()).startswith("F1: 1050 long, 120 wide, 28.5 thick.")
    assert called(replace(metric, thickness=28 * MM), Shop()).startswith(
        "F1: 1050 mm long, 120 mm wide, 28 mm thick."
    )


def test_the_two_who_call_over_are_told_how() -> None:
    """The head says the unit, how the board lies and what is left unsaid; then comes a line for each board."""
    blank = Blank(name="rib", need=1, length=INCH, width=INCH, thickness=INCH)
    head, lines = calling_order(Job(offcuts=(BOARD, BOARD), blanks=(blank,), name="pile.xlsx"))
    assert head.startswith("pile.xlsx, 2 boards, in inches. Hook the tape on end A")
    assert lines == (called(BOARD, Shop()),) * 2
