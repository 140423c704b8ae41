"""The account of wood: a cutting worked by hand, and that it balances."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest
from strategies import small_job

from yieldplan.model import (
    Billet,
    Blank,
    CutBlank,
    Job,
    Keeper,
    Offcut,
    OffcutPlan,
    Stick,
    Strip,
    WholeKeeper,
)
from yieldplan.solve import Options, plan
from yieldplan.solve.account import account

INCH = 8128
SKIM = INCH // 32
RIB = Blank(name="Rib", need=2, length=6 * INCH, width=INCH, thickness=INCH)
PIECE = Offcut(name="P", length=40 * INCH, width=2 * INCH, thickness=2 * INCH)
JOB = Job(offcuts=(PIECE,), blanks=(RIB,))


def cubic(text: str) -> int:
    """Return cubic steps of a volume in cubic inches."""
    steps = Fraction(text) * INCH**3
    assert steps.denominator == 1
    return int(steps)


STICK = Stick(
    start=0,
    end=17 * INCH // 16,
    blanks=(
        CutBlank(blank="Rib", extra=False, start=INCH // 2, end=7 * INCH),
        CutBlank(blank="Rib", extra=False, start=7 * INCH + INCH // 8, end=13 * INCH + 5 * INCH // 8),
    ),
)
BILLET = Billet(
    start=0,
    end=14 * INCH,
    layout="rip first",
    face_loss=SKIM,
    edge_loss=SKIM,
    strips=(Strip(start=0, end=9 * INCH // 8, sticks=(STICK,)),),
)
KEPT = WholeKeeper(start=14 * INCH + INCH // 8, end=40 * INCH)


def test_an_account_by_hand() -> None:
    """Two ribs out of a billet of 14 in, the rest of 40 in kept whole.

    Box 1.96875 in square. Kerf: crosscut 1/8 x 4; rip 1/8 x 14 x 1.96875; resaw 1/8 x 14 x 1.125; on the
    stick (finished 1 x 1) end A 1/8, between the ribs 1/8, end B 1/8. Shavings: jointing 14 (4 - 1.96875^2),
    planing 14 (1.125 x 1.0625 - 1).
    """
    found = account(JOB, [OffcutPlan(offcut="P", copy=1, segments=(BILLET, KEPT))])
    assert found.volume_in == cubic("160")
    assert found.blanks == cubic("12")
    assert found.keepers == cubic("103.5")
    assert found.kerf == cubic("0.5") + cubic("3.4453125") + cubic("1.96875") + cubic("0.375")
    assert found.shavings == cubic("1.7363281250") + cubic("2.734375")
    assert found.trimmings == found.volume_in - sum((found.blanks, found.keepers, found.kerf, found.shavings))


def test_a_wide_gap_is_cut_on_both_sides() -> None:
    """A gap of two kerfs or more between pieces is two cuts, a smaller one is all dust."""
    apart = replace(
        BILLET,
        strips=(
            Strip(start=0, end=INCH // 2, keeper=True),
            Strip(start=INCH, end=3 * INCH // 2, keeper=True),
        ),
    )
    near = replace(apart, strips=(apart.strips[0], replace(apart.strips[1], start=11 * INCH // 16)))
    wide, narrow = (
        account(JOB, [OffcutPlan(offcut="P", copy=1, segments=(billet, KEPT))]).kerf
        for billet in (apart, near)
    )
    depth = 14 * INCH * (PIECE.thickness - SKIM)
    assert wide - narrow == depth * (INCH // 4 - 3 * INCH // 16)


def test_a_remainder_that_is_kept_has_the_finished_section() -> None:
    """It is cut off after planing: 5 in of 1 x 1 in."""
    stick = replace(STICK, blanks=STICK.blanks[:1], keepers=(Keeper(start=9 * INCH, end=14 * INCH),))
    billet = replace(BILLET, strips=(replace(BILLET.strips[0], sticks=(stick,)),))
    kept = account(JOB, [OffcutPlan(offcut="P", copy=1, segments=(billet,))]).keepers
    assert kept == cubic("5")


def test_nothing_drawn_is_nothing_wasted() -> None:
    """All figures are 0, and so is the waste figure."""
    found = account(JOB, [])
    assert (found.volume_in, found.trimmings, found.waste_figure) == (0, 0, 0.0)


@pytest.mark.parametrize("seed", range(6))
def test_the_account_of_a_plan_balances(seed: int) -> None:
    """What goes in comes out as one thing or another, none of them below nothing."""
    found = plan(small_job(seed), options=Options(seconds=2)).account
    parts = (found.blanks, found.keepers, found.kerf, found.shavings, found.trimmings)
    assert sum(parts) == found.volume_in
    assert min(parts) >= 0
    assert 0 <= found.waste_figure < 1
