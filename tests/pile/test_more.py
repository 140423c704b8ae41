"""How much more a pile gives, kind by kind and in whole batches."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from strategies import small_job

from yieldplan.model import Blank, Job, Offcut, Plan, Shop
from yieldplan.model.shop import INCH
from yieldplan.pile.more import how_much_more, rest_of, whole_sets
from yieldplan.planning import recheck
from yieldplan.solve import Options, solve

NOUGHTS: dict[str, Any] = dict.fromkeys(
    (
        *("rip_kerf", "bandsaw_kerf", "bandsaw_skim", "crosscut_kerf", "face_skim", "edge_skim", "end_trim"),
        *("width_allowance", "thickness_allowance", "plane_off", "stick_trim", "least_planing"),
        "shortest_machined_length",
    ),
    0,
)
BARE = Shop(**NOUGHTS, keeper_width=INCH)
"""A shop that loses nothing, and keeps what is 18 in long and an inch square."""


def bars(*lengths: int, need: int = 1, length: int = 10) -> Job:
    """Return bars of an inch square and one kind of blank of that section, sizes in inches."""
    blank = Blank(name="Peg", need=need, length=length * INCH, width=INCH, thickness=INCH)
    offcuts = tuple(
        Offcut(name=f"P{n}", length=inches * INCH, width=INCH, thickness=INCH)
        for n, inches in enumerate(lengths)
    )
    return Job(offcuts=offcuts, blanks=(blank,), shop=BARE, name="bars", sha256="0" * 64)


def planned(job: Job) -> Plan:
    """Return a plan of a job."""
    return solve(job, options=Options(seconds=1)).plan


def test_what_is_left_gives_so_many_more() -> None:
    """Untouched boards and keepers count; what is too short to keep does not."""
    job = bars(35, 29, 50)
    plan = planned(job)
    drawn = {piece.offcut for piece in plan.offcuts}
    kept = {35: 2, 29: 1, 50: 4}  # pegs in what one peg of 10 leaves of each bar, where it is 18 in or more
    whole = {35: 3, 29: 2, 50: 5}
    lengths = dict(zip(("P0", "P1", "P2"), (35, 29, 50), strict=True))
    expected = sum((kept if name in drawn else whole)[inches] for name, inches in lengths.items())
    (more,) = how_much_more(job, plan, recheck=recheck)
    assert (more.blank, more.found, more.at_most) == ("Peg", expected, expected)


def test_each_kind_is_asked_alone() -> None:
    """Two kinds do not share the wood; one that fits nowhere is none, and a need of 0 is asked as well."""
    job = bars(40, need=0)
    long = replace(job.blanks[0], name="Rail", length=20 * INCH)
    wide = replace(job.blanks[0], name="Plank", width=2 * INCH)
    job = replace(job, blanks=(*job.blanks, long, wide))
    found = how_much_more(job, planned(job), recheck=recheck)
    assert [(one.blank, one.found, one.at_most) for one in found] == [
        ("Peg", 4, 4),
        ("Rail", 2, 2),
        ("Plank", 0, 0),
    ]


@pytest.mark.parametrize("seed", range(3))
def test_found_is_never_more_than_there_may_be(seed: int) -> None:
    """On random piles, each plan behind it rechecked; and a plan of nothing leaves the whole pile."""
    job = small_job(seed)
    plan = planned(job)
    plans: list[tuple[Job, Plan]] = []

    def checked(asked: Job, found: Plan) -> None:
        recheck(asked, found)
        plans.append((asked, found))

    for one in how_much_more(job, plan, recheck=checked, seconds=2):
        assert 0 <= one.found <= one.at_most
    assert all(asked.offcuts == rest_of(job, plan).offcuts for asked, _ in plans)
    assert rest_of(job, replace(plan, offcuts=())).offcuts == job.offcuts


def test_wood_is_neither_lost_nor_made() -> None:
    """What is left and the keepers hold what was there less what was drawn, and the keepers' share of that."""
    job = small_job(17)
    plan = planned(job)
    left = sum(one.qty * one.volume for one in rest_of(job, plan).offcuts)
    pile = sum(one.qty * one.volume for one in job.offcuts)
    assert left == pile - plan.account.volume_in + plan.account.keepers


@pytest.mark.parametrize(("need", "times"), [(1, 11), (2, 5), (3, 3), (11, 1), (12, 0)])
def test_whole_batches(need: int, times: int) -> None:
    """Bars of 40, 35 and 45 in give 4, 3 and 4 pegs of 10, eleven in all."""
    found = whole_sets(bars(40, 35, 45, need=need), recheck=recheck)
    assert (found.found, found.at_most) == (times, times)


def test_spares_are_not_part_of_a_batch() -> None:
    """A batch with spares is made as often as one without."""
    job = bars(40, 35, 45, need=3)
    spared = replace(job, blanks=(replace(job.blanks[0], spare=5),))
    assert whole_sets(spared, recheck=recheck) == whole_sets(job, recheck=recheck)


def test_a_batch_of_nothing_has_no_end() -> None:
    """It is refused."""
    with pytest.raises(ValueError, match="needs no blank"):
        whole_sets(bars(40, need=0), recheck=recheck)
