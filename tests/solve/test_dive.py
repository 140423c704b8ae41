"""A plan from the linear relaxation: rounding by hand, and whole batches out of many like bars."""

from __future__ import annotations

import numpy as np
import pytest
from test_generate import generator, least_worth
from test_master import column

from yieldplan.model import Blank, Job, Offcut, Shop
from yieldplan.solve import Options, plan
from yieldplan.solve.dive import dive, rounded

INCH = 8128
ONE, OTHER = column(0, (1, 2), 10), column(0, (2, 0), 8)


def test_whole_shares_are_rounded_down() -> None:
    """2.5 of one is two; less than one of another waits for the next round. A hair below a whole number is whole."""
    assert rounded([(ONE, 2.5), (OTHER, 0.9)]) == [(ONE, 2)]
    assert rounded([(ONE, 3 - 1e-9), (OTHER, 1.0)]) == [(ONE, 3), (OTHER, 1)]


def test_where_no_share_is_whole_the_largest_is_taken_once() -> None:
    """0.6 before 0.5; of nothing, nothing."""
    assert rounded([(ONE, 0.5), (OTHER, 0.6)]) == [(OTHER, 1)]
    assert rounded([]) == []


def bars(lengths: list[int], bar: int) -> Job:
    """Return a job of one blank of each length out of bars that nothing is lost or kept of; lengths in inches."""
    shop = Shop(
        rip_kerf=0,
        bandsaw_kerf=0,
        crosscut_kerf=0,
        face_skim=0,
        edge_skim=0,
        width_allowance=0,
        thickness_allowance=0,
        length_allowance=0,
        end_trim=0,
        keeper_length=1000 * INCH,
        shortest_machined_length=INCH,
    )
    blanks = [
        Blank(name=str(at), need=1, length=length * INCH, width=2 * INCH, thickness=2 * INCH)
        for at, length in enumerate(lengths)
    ]
    piece = Offcut(name="Bar", length=bar * INCH, width=2 * INCH, thickness=2 * INCH, qty=len(lengths))
    return Job(offcuts=(piece,), blanks=tuple(blanks), shop=shop)


LENGTHS = [15, 16, 16, 17, 18, 19, 19, 20, 15, 18, 17, 20, 16, 19, 15, 20, 17, 18, 19, 16]
"""After the recipe of Schwerin and Waescher (1997, from memory): 15 to 20 in bars of 100."""


def test_a_dive_makes_the_whole_batch() -> None:
    """Each blank, from bars that are not too full, and of these as many as the lengths ask for at the least: 4."""
    found = generator(bars(LENGTHS, 100))
    columns = dive(found, least_worth(found.job, {1: 0}), lambda: False)
    assert columns is not None
    assert (np.sum([c.counts for c in columns], axis=0) >= 1).all()
    assert all(np.dot(c.counts, LENGTHS) <= 100 for c in columns)
    assert len(columns) == -(-sum(LENGTHS) // 100)


def test_a_dive_stops_when_told_to() -> None:
    """And then there is no plan of it."""
    found = generator(bars(LENGTHS, 100))
    assert dive(found, least_worth(found.job, {1: 0}), lambda: True) is None


@pytest.mark.parametrize("bar", [40, 60, 100])
def test_where_nothing_can_be_kept_bounds_go_by_whole_bars(bar: int) -> None:
    """Every bar is worth the same, so a bound of a little more than n - 1 bars proves n."""
    job = bars(LENGTHS, bar)
    best = plan(job, options=Options(seconds=20))
    assert best.proof.proven
    assert len(best.offcuts) >= -(-sum(LENGTHS) // bar)
    assert best.proof.bound % (best.proof.net_worth // len(best.offcuts)) == 0
