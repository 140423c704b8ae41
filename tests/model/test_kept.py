"""Keepers as boards of the next pile: rings, defects, jointed sides and warp in their own frame."""

from __future__ import annotations

from dataclasses import replace

import pytest

from yieldplan.model import Billet, CutBlank, Defect, Job, Offcut, OffcutPlan, Shop, Stick, Strip, keepers
from yieldplan.model.kept import as_offcut, jointed_sides, said_rings
from yieldplan.model.pile import Blank

INCH = 8128
EIGHTH = INCH // 8
BOARD = Offcut(
    name="P1",
    length=40 * INCH,
    width=8 * INCH,
    thickness=2 * INCH,
    bow=INCH // 4,
    crook=INCH // 8,
    cup=INCH // 8,
    ring_angle=20,
    ring_angle_far=60,
    species="Larch",
)


def _job(*defects: Defect) -> Job:
    """Return a job with one board and a blank of 20 x 2 1/4 x 1 5/16 in."""
    blank = Blank(name="Rib", need=1, length=20 * INCH, width=9 * INCH // 4, thickness=21 * INCH // 16)
    shop = Shop(keeper_length=12 * INCH)
    return Job(offcuts=(replace(BOARD, defects=defects),), blanks=(blank,), shop=shop)


def _drawn(start: int = 0) -> OffcutPlan:
    """Return a plan with one strip from ``start`` across y; what is beyond it is kept."""
    cut = CutBlank(blank="Rib", start=INCH, end=21 * INCH)
    stick = Stick(start=0, end=11 * INCH // 8, blanks=(cut,))
    strip = Strip(start=start, end=start + 19 * INCH // 8, sticks=(stick,))
    billet = Billet(
        start=INCH // 2,
        end=39 * INCH,
        layout="rip first",
        face_loss=3 * INCH // 16,
        edge_loss=3 * INCH // 16,
        strips=(strip,),
    )
    return OffcutPlan(offcut="P1", copy=1, billets=(billet,))


def _kept(job: Job, drawn: OffcutPlan, form: str) -> Offcut:
    keeper = next(one for one in keepers(job, drawn) if one.form == form)
    return as_offcut(job.offcuts[0], keeper, "K1", job.shop)


def test_a_strip_has_the_rings_of_its_part_of_the_width() -> None:
    """Rings run evenly from 20 to 60 degrees over 8 in; a strip that begins at 2 11/16 in has those from there on."""
    kept = _kept(_job(), _drawn(), "strip")
    assert kept.width == 8 * INCH - 3 * INCH // 16 - 5 * INCH // 2
    assert kept.ring_angle == (33, 34)
    assert kept.ring_angle_far == 60


def test_defects_lie_in_the_keepers_own_frame() -> None:
    """A knot is moved by the keeper's start, along and across, and is as large as jointing may leave it."""
    knot = Defect(kind="knot", x1=10 * INCH, x2=11 * INCH, y1=5 * INCH, y2=6 * INCH, z1=0, z2=2 * INCH)
    gone = replace(knot, y1=0, y2=INCH)
    kept = _kept(_job(knot, gone), _drawn(), "strip")
    (moved,) = kept.defects
    start = 5 * INCH // 2
    assert (moved.x1, moved.x2) == (10 * INCH - INCH // 2, 11 * INCH - INCH // 2)
    assert (moved.y1, moved.y2) == (5 * INCH - start - 3 * INCH // 16, 6 * INCH - start - INCH // 16)
    assert moved.through
    assert moved.z2 == kept.thickness


def test_a_strip_beyond_the_table_saw_has_one_jointed_face_and_no_warp() -> None:
    """Face 1 was jointed with the board; its edge is sawn from the jointed one: straight, though not jointed."""
    job, drawn = _job(), _drawn()
    keeper = next(one for one in keepers(job, drawn) if one.form == "strip")
    assert jointed_sides(keeper) == ("face 1",)
    kept = _kept(job, drawn, "strip")
    assert (kept.bow, kept.crook, kept.cup, kept.twist) == (0, 0, 0, 0)


def test_a_length_over_a_kink_has_the_warp_of_its_worse_side() -> None:
    """Warp is that of each straight side by itself: a whole side that is kept keeps all of it."""
    board = replace(BOARD, kinks=(30 * INCH,))
    drawn = _drawn()
    job = replace(_job(), offcuts=(board,))
    short = replace(drawn, billets=(replace(drawn.billets[0], end=25 * INCH),))
    kept = _kept(job, short, "length")
    assert kept.kinks == (30 * INCH - 25 * INCH - EIGHTH,)
    assert (kept.bow, kept.crook) == (board.bow, board.crook)


def test_what_lies_before_a_piece_has_the_true_edge_as_well() -> None:
    """A keeper that an odd cut clears begins at the jointed edge."""
    job, drawn = _job(), _drawn(start=5 * INCH)
    keeper = next(one for one in keepers(job, drawn) if one.form == "strip")
    assert keeper.across[0] == 0
    assert jointed_sides(keeper) == ("face 1", "edge 1")


def test_the_end_of_a_planed_stick_is_true_all_round() -> None:
    """What is left of a stick has its planed section, and no warp."""
    kept = _kept(_job(), _drawn(), "end")
    assert (kept.width, kept.thickness) == (9 * INCH // 4, 21 * INCH // 16)
    assert (kept.bow, kept.crook, kept.cup, kept.twist) == (0, 0, 0, 0)


def test_a_deep_keeper_is_turned() -> None:
    """Deeper than wide it lies turned: rings read from the other side, face 1 where edge 1 was, edges swapped round."""
    knot = Defect(
        kind="knot", x1=10 * INCH, x2=11 * INCH, y1=0, y2=INCH // 2, z1=0, z2=INCH // 2, through=False
    )
    job, drawn = _job(knot), _drawn(start=5 * INCH // 4 + EIGHTH)
    job = replace(job, shop=replace(job.shop, keeper_width=7 * INCH // 4))
    keeper = next(one for one in keepers(job, drawn) if one.across[0] == 0)
    assert keeper.size[2] > keeper.size[1] == 5 * INCH // 4
    kept = as_offcut(job.offcuts[0], keeper, "K1", job.shop)
    assert jointed_sides(keeper) == ("face 1", "far edge")
    assert kept.ring_angle == (90 - 28, 90 - 20)
    assert kept.ring_angle_far is None
    (moved,) = kept.defects
    assert (moved.z1, moved.z2) == (0, INCH // 2 - INCH // 16)
    assert moved.y2 == kept.width


def test_a_length_between_billets_is_as_it_was_measured() -> None:
    """What is crosscut off and never jointed keeps the board's section, and its share of the warp."""
    drawn = _drawn()
    short = replace(drawn.billets[0], end=25 * INCH)
    kept = _kept(_job(), replace(drawn, billets=(short,)), "length")
    assert (kept.width, kept.thickness) == (8 * INCH, 2 * INCH)
    assert kept.cup == BOARD.cup
    assert 0 < kept.bow < BOARD.bow
    assert (kept.ring_angle, kept.ring_angle_far) == (20, 60)


@pytest.mark.parametrize("through", [True, False])
def test_a_defect_inside_reaches_to_the_nearer_face(through: bool) -> None:
    """The sheets know defects that go through, or from a face on: one inside the piece is made to reach a face."""
    deep = (0, 2 * INCH) if through else (INCH, 3 * INCH // 2)
    shake = Defect(
        kind="shake",
        x1=5 * INCH,
        x2=6 * INCH,
        y1=4 * INCH,
        y2=5 * INCH,
        z1=deep[0],
        z2=deep[1],
        through=through,
    )
    kept = _kept(_job(shake), _drawn(), "strip")
    (moved,) = kept.defects
    assert moved.through == through
    assert through or moved.z1 == 0 or moved.z2 == kept.thickness


@pytest.mark.parametrize("past", [1, 2])
def test_a_check_that_ended_beside_a_keeper_marks_its_end_where_no_trim_covers_it(past: int) -> None:
    """It may run on an inch, which end trim and stick trim keep clear; where it may run on two they do not."""
    job = _job(Defect(kind="check", x1=22 * INCH, x2=24 * INCH, y1=0, y2=8 * INCH, z1=0, z2=2 * INCH))
    job = replace(job, shop=replace(job.shop, past_a_check=past * INCH))
    drawn = _drawn()
    short = replace(drawn, billets=(replace(drawn.billets[0], end=24 * INCH),))
    kept = _kept(job, short, "length")
    assert [(one.x1, one.x2) for one in kept.defects] == ([] if past == 1 else [(0, job.shop.mark)])


@pytest.mark.parametrize(
    ("near", "far", "said"),
    [
        (40, None, (40, "")),
        (40, 52, (40, 52)),
        ((33, 34), 60, (33, 60)),
        (60, (33, 34), (60, 33)),
        ((43, 44), None, (43, 44)),
        ((30, 60), None, ("rift", "")),
        ((44, 50), None, ("rift", "")),
        ((0, 30), (60, 90), ("flat sawn", "quarter sawn")),
        ((25, 35), None, None),
        (None, None, ("", "")),
    ],
)
def test_rings_are_said_as_an_input_can_say_them(
    near: int | tuple[int, int] | None, far: int | tuple[int, int] | None, said: tuple[str, str] | None
) -> None:
    """Whole degrees, outward at the ends; a word for a span that it holds; nothing where none holds it."""
    piece = replace(BOARD, ring_angle=near, ring_angle_far=far)
    assert said_rings(piece, Shop()) == said
