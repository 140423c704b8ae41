"""Crosscuts slid to where more is kept: no place of any single cut, step by step, may do better."""

from __future__ import annotations

import itertools
from dataclasses import replace
from fractions import Fraction
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from strategies import cupped_job, small_job, varied_job, wood_job
from test_parting import INCH, SHOP, bent

from yieldplan.model import (
    BOARD_FOOT,
    Billet,
    Blank,
    Defect,
    Job,
    Offcut,
    WholeKeeper,
    billets_of,
    edge_loss,
    face_loss,
    worth,
)
from yieldplan.solve import Options, plan
from yieldplan.solve.columns import keepers_worth
from yieldplan.solve.slide import kept_most
from yieldplan.verify import verify

if TYPE_CHECKING:
    from collections.abc import Callable

    from yieldplan.model import OffcutPlan, Plan, Shop
    from yieldplan.solve.columns import Segments
    from yieldplan.solve.kernel import Ints

RIB = Blank(name="Rib", need=1, length=11 * INCH, width=2 * INCH, thickness=INCH)


def of(offcut: Offcut, *blanks: Blank, shop: Shop = SHOP) -> Job:
    """Return a job of one offcut."""
    return Job(offcuts=(offcut,), blanks=blanks, shop=shop, name="slide", sha256="0" * 64)


def kept(piece: OffcutPlan, job: Job, segments: Segments | None = None) -> int:
    """Return what the keepers of a planned offcut are worth."""
    return keepers_worth(piece.segments if segments is None else segments, job.offcut(piece.offcut), job)


def slid(piece: OffcutPlan, found: Plan, job: Job) -> Segments:
    """Return the cutting of a planned offcut with its cuts slid, as far as that passes the recheck."""

    def sound(segments: Segments) -> bool:
        other = replace(found, offcuts=(replace(piece, segments=segments),))
        return not any(breach.rule.startswith("R") for breach in verify(job, other))

    return kept_most(piece.segments, job.offcut(piece.offcut), job, sound)


def blanks_of(segments: Segments) -> list[str]:
    """Return the names of all blanks in a cutting, sorted."""
    return sorted(
        cut.blank
        for segment in segments
        for billet in billets_of(segment)
        for strip in billet.strips
        for stick in strip.sticks
        for cut in stick.blanks
    )


def rounded(length: Ints, one: Any, other: Any, shop: Shop) -> Ints:
    """Return what leftovers are worth, rounded down; 0 where they are no keepers (R11)."""
    wide, thin = np.maximum(one, other), np.minimum(one, other)
    value = length.astype(float) * one * other * 1000 / BOARD_FOOT
    value *= 1 + float(shop.length_premium) * np.minimum(length, shop.full_length) / shop.full_length
    good = (length >= shop.keeper_length) & (wide >= shop.keeper_width) & (thin >= shop.keeper_thickness)
    return np.where(good, np.floor(value + 1e-9), 0).astype(np.int64)


def beside_rib(rib: Blank, board: Offcut, shop: Shop, run: Any) -> Any:
    """Return the most that billets of so many steps (n,) keep beside a rib in a corner; -1 where it does not fit.

    The rib lies flat or turned; beside it a strip or layer is kept, above it a stick.
    """
    high, deep = board.width - edge_loss(board, run, shop), board.thickness - face_loss(board, run, shop)
    rough = (rib.width + shop.width_allowance, rib.thickness + shop.thickness_allowance)
    same, best = np.ones_like(run), np.full_like(run, -1)
    for (y, z), rip_first in itertools.product((rough, rough[::-1]), (True, False)):
        first, second, one, other = (high, deep, y, z) if rip_first else (deep, high, z, y)
        kerf, inner = shop.kerf_at(board.thickness if rip_first else board.width), shop.kerf_at(one)
        beside = first - one - kerf if kerf is not None else same * 0
        above = second - other - inner if inner is not None else same * 0
        sawn = ((first == one) | (kerf is not None)) & ((second == other) | (inner is not None))
        total = rounded(run, np.where(beside >= shop.narrowest_rip, beside, 0), second, shop)
        total += rounded(run, same * one, np.where(above >= shop.narrowest_rip, above, 0), shop)
        best = np.where(sawn & (first >= one) & (second >= other), np.maximum(best, total), best)
    return best


def most_kept(rib: Blank, board: Offcut, shop: Shop) -> int:
    """Return the most that can be kept with one rib, behind its billet and on its stick too; it may end at any step."""
    end = np.arange(shop.shortest_machined_length, board.length + 1)
    span, kerf, same = rib.length + shop.length_allowance, shop.crosscut_kerf, np.ones_like(end)
    rest = np.minimum(end, board.length - shop.end_trim) - span - kerf
    total = rounded(board.length - end - kerf, same * board.width, same * board.thickness, shop)
    total += rounded(rest, same * rib.width, same * rib.thickness, shop)
    beside = beside_rib(rib, board, shop, end)
    return int((total + beside)[(beside >= 0) & (end >= span + shop.end_trim)].max(initial=0))


@pytest.mark.parametrize("seed", range(24))
def test_no_step_of_a_cut_does_better(seed: int) -> None:
    """One rib out of a bent board: nowhere could its billet end so that more would be kept.

    A quarter of these plans were beaten by a unit, and proven, when only places were tried at which something begins
    to fit.
    """
    board, shop = bent(seed)
    found = plan(of(board, RIB, shop=shop), options=Options(seconds=3))
    least = worth(board.length, board.width, board.thickness, shop) - most_kept(RIB, board, shop)
    assert found.proof.bound <= found.proof.net_worth
    assert found.proof.net_worth == least


@pytest.mark.parametrize(("length", "bow"), [(30, 4), (34, 4), (34, 8), (36, 4)])
def test_no_step_of_a_cut_between_two_billets_does_better(length: int, bow: int) -> None:
    """Two ribs that take the whole length of a board: the cut between their billets is where most is kept of both."""
    board = Offcut(name="P", length=length * INCH, width=6 * INCH, thickness=2 * INCH, bow=INCH // bow)
    shop, rib = replace(SHOP, length_premium=Fraction(0)), replace(RIB, need=2, width=3 * INCH)
    found = plan(of(board, rib, shop=shop), options=Options(seconds=5))
    span = rib.length + shop.length_allowance + shop.end_trim
    end = np.arange(span, board.length - span - shop.crosscut_kerf + 1)
    both = [beside_rib(rib, board, shop, run) for run in (end, board.length - end - shop.crosscut_kerf)]
    whole = worth(board.length, board.width, board.thickness, shop)
    assert len(found.offcuts[0].segments) == 2
    assert found.proof.net_worth == whole - int((both[0] + both[1]).max())


@pytest.mark.parametrize("make", [small_job, varied_job, wood_job, cupped_job])
def test_plans_leave_nothing_to_slide(make: Callable[[int], Job]) -> None:
    """Whatever is planned: no drawn offcut keeps more with a cut slid, if that passes the recheck."""
    for seed in range(3000, 3012):
        job = make(seed)
        found = plan(job, options=Options(seconds=3))
        for piece in found.offcuts:
            assert kept(piece, job, slid(piece, found, job)) == kept(piece, job), (make.__name__, seed)


def test_only_cuts_are_slid() -> None:
    """Where a cut is badly placed: the blanks stay what they are, more is kept, and as much as the recheck counts."""
    board = Offcut(name="P", length=40 * INCH, width=6 * INCH, thickness=2 * INCH, bow=INCH // 8)
    job = of(board, replace(RIB, need=2))
    found = plan(job, options=Options(seconds=3))
    (piece,) = found.offcuts
    near, far = piece.segments
    assert isinstance(near, Billet)
    assert isinstance(far, WholeKeeper)
    by = 2 * INCH
    worse = (
        replace(
            near,
            end=near.end + by,
            face_loss=face_loss(board, near.end + by - near.start, job.shop),
            strips=tuple(strip for strip in near.strips if not strip.keeper),
        ),
        replace(far, start=far.start + by),
    )
    bad = replace(piece, segments=worse)
    after = slid(bad, found, job)
    assert blanks_of(after) == blanks_of(worse) == ["Rib", "Rib"]
    assert kept(piece, job, after) == kept(piece, job) > kept(bad, job)


def test_what_fails_the_recheck_is_not_taken() -> None:
    """Where nothing else is sound everything stays."""
    board = Offcut(name="P", length=40 * INCH, width=6 * INCH, thickness=2 * INCH, bow=INCH // 8)
    cutting = (
        WholeKeeper(start=0, end=13 * INCH),
        WholeKeeper(start=13 * INCH + SHOP.crosscut_kerf, end=39 * INCH),
    )
    job = of(board, RIB)
    assert kept_most(cutting, board, job, lambda _: False) == cutting
    assert kept_most(cutting, board, job, lambda _: True) != cutting


def test_a_billet_that_cannot_be_moved_on_to_end_a() -> None:
    """A bent board whose first rib stands against the end trim, and ends its billet: this begins inside the trim.

    As long as lets a layer be kept beside the ribs, 18.4756 in; it used to be 18 in, 18 units dearer, and proven.
    """
    knot = Defect(kind="knot", x1=254000, x2=294640, y1=30480, y2=41656, z1=0, z2=18288, through=True)
    board = Offcut(
        name="P",
        length=37 * INCH,
        width=11 * INCH // 2,
        thickness=9 * INCH // 4,
        bow=762,
        crook=1524,
        cup=508,
        twist=254,
        defects=(knot,),
    )
    wide = Blank(name="Wide", need=2, length=35 * INCH // 2, width=5 * INCH // 2, thickness=5 * INCH // 4)
    square = Blank(name="Square", need=2, length=17 * INCH, width=5 * INCH // 4, thickness=5 * INCH // 4)
    job = of(board, wide, square)
    found = plan(job, options=Options(seconds=5))
    first = found.offcuts[0].segments[0]
    assert isinstance(first, Billet)
    longest = board.thickness - first.face_loss
    layer = first.strips[-1]
    assert found.proof.proven
    assert 0 < first.start < SHOP.end_trim
    assert layer.keeper
    assert layer.end == longest
    assert layer.end - layer.start == max(SHOP.keeper_thickness, SHOP.narrowest_rip)
