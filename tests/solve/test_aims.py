"""The whole search: its aims, its promises, and how it ends when it is stopped."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

import pytest
from strategies import small_job, tiny_job

from yieldplan.model import Blank, Job, Offcut, Plan, dump_plan
from yieldplan.model.errors import SolverError
from yieldplan.solve import Options, Progress, aims, plan
from yieldplan.solve.generate import Generator
from yieldplan.verify import verify
from yieldplan.verify.breach import Breach

if TYPE_CHECKING:
    from collections.abc import Callable

INCH = 8128
LONG = Options(seconds=20)
QUICK = (4, 5, 9, 10, 11, 12, 13, 14)
"""Tiny jobs that are proven in well under a second."""
RIB = Blank(name="Rib", need=1, length=12 * INCH, width=2 * INCH, thickness=3 * INCH // 4)
PIECE = Offcut(name="P", length=20 * INCH, width=3 * INCH, thickness=INCH)
TINY = Job(offcuts=(PIECE,), blanks=(RIB,), name="tiny", sha256="ab" * 32)


@pytest.mark.parametrize("seconds", [0.0, -1.0, float("nan"), float("inf")])
def test_seconds_must_be_a_number_above_nothing(seconds: float) -> None:
    """The message says what stands there."""
    with pytest.raises(ValueError, match=f"seconds must be a number above 0, not {seconds}"):
        Options(seconds=seconds)


def test_the_tiny_job() -> None:
    """One rib out of one piece: it is made, the whole piece is drawn (worth 503), and that is proven."""
    found = plan(TINY)
    assert (found.made, found.proof.net_worth, found.proof.bound) == ((("Rib", 1),), 503, 503)
    assert found.proof.proven


def test_short_stock_goes_first() -> None:
    """Of two pieces that will do the one of less worth is drawn."""
    long = replace(PIECE, name="Long", length=90 * INCH)
    found = plan(replace(TINY, offcuts=(long, PIECE)), options=LONG)
    assert [drawn.offcut for drawn in found.offcuts] == ["P"]
    assert found.proof.proven


def test_the_first_class_is_served_first() -> None:
    """One piece, two blanks that exclude each other: the one of priority 1 is made though it stands last."""
    later = replace(RIB, name="Later", length=13 * INCH, priority=2)
    found = plan(replace(TINY, blanks=(later, RIB)), options=LONG)
    assert dict(found.made) == {"Later": 0, "Rib": 1}
    assert found.proof.missing == ((1, 0), (2, 1))


def test_an_extra_never_draws_an_offcut() -> None:
    """A second piece would give the welcome rib, but is left alone."""
    job = replace(TINY, offcuts=(replace(PIECE, qty=2),), blanks=(replace(RIB, extra=1),))
    found = plan(job, options=LONG)
    assert (len(found.offcuts), dict(found.extra)) == (1, {"Rib": 0})


def test_an_extra_is_taken_where_it_costs_nothing() -> None:
    """A piece long enough for two ribs, and too narrow for keepers, gives the welcome one too."""
    job = replace(TINY, offcuts=(replace(PIECE, length=28 * INCH),), blanks=(replace(RIB, extra=3),))
    job = replace(job, shop=replace(job.shop, keeper_length=100 * INCH))
    assert dict(plan(job, options=LONG).extra) == {"Rib": 1}


def test_nothing_to_cut_from_is_a_plan_too() -> None:
    """With no piece that will do all is missing, proven."""
    found = plan(replace(TINY, offcuts=(replace(PIECE, length=5 * INCH),)))
    assert (found.offcuts, dict(found.missing), found.proof.proven) == ((), {"Rib": 1}, True)


@pytest.mark.parametrize("seed", range(12))
def test_every_blank_and_offcut_is_accounted_for(seed: int) -> None:
    """Made and missing add up to the need, no piece is drawn twice, and the plan passes the recheck."""
    job = small_job(seed)
    found = plan(job, options=Options(seconds=1))
    assert verify(job, found) == ()
    made, missing = dict(found.made), dict(found.missing)
    assert all(made[blank.name] + missing[blank.name] == blank.need for blank in job.blanks)
    drawn = [(piece.offcut, piece.copy) for piece in found.offcuts]
    assert len(set(drawn)) == len(drawn)


@pytest.mark.parametrize("seed", QUICK)
def test_identical_runs_give_identical_bytes(seed: int) -> None:
    """The same job gives the same plan file."""
    assert dump_plan(plan(tiny_job(seed), options=LONG)) == dump_plan(plan(tiny_job(seed), options=LONG))


@pytest.mark.parametrize("seed", QUICK)
def test_the_order_of_rows_changes_nothing_that_counts(seed: int) -> None:
    """Pile and batch upside down: as many missing, the same proven net worth."""
    job = tiny_job(seed)
    turned = replace(job, offcuts=job.offcuts[::-1], blanks=job.blanks[::-1])
    assert plan(turned, options=LONG).proof == plan(job, options=LONG).proof


def rank(found: Plan) -> tuple[object, ...]:
    """Return what a plan is judged by: missing class by class, then net worth."""
    return tuple(count for _, count in found.proof.missing), found.proof.net_worth


@pytest.mark.parametrize("seed", QUICK)
def test_more_stock_is_never_worse(seed: int) -> None:
    """A piece more in the pile: no more missing, and as few missing draw no more."""
    job = tiny_job(seed)
    more = replace(job, offcuts=(*job.offcuts, replace(job.offcuts[0], name="one more")))
    before, after = plan(job, options=LONG), plan(more, options=LONG)
    assert before.proof.proven
    assert after.proof.proven
    assert rank(after) <= rank(before)


@pytest.mark.parametrize("seed", QUICK)
def test_a_lower_need_is_never_worse(seed: int) -> None:
    """One blank fewer wanted: as many made of the rest, or more, for no more."""
    job = tiny_job(seed)
    first = next(blank for blank in job.blanks if blank.need)
    less = replace(job, blanks=tuple(replace(b, need=b.need - 1) if b is first else b for b in job.blanks))
    before, after = plan(job, options=LONG), plan(less, options=LONG)
    assert before.proof.proven
    assert after.proof.proven
    short = dict(before.missing)[first.name] > 0
    missing = tuple(
        count - (short and priority == first.priority) for priority, count in before.proof.missing
    )
    assert rank(after) <= (missing, before.proof.net_worth)


def test_progress_is_told() -> None:
    """Phases come in order, fewer and fewer are missing, the bound only rises, and the last word is the plan's."""
    events: list[Progress] = []
    job = small_job(8)
    job = replace(job, blanks=tuple(replace(blank, priority=1) for blank in job.blanks))
    found = plan(job, options=Options(seconds=10), on_event=events.append)
    phases = list(dict.fromkeys(event.phase for event in events))
    assert phases[0] == "reading the pile"
    assert phases[-2:] == ["extras", "recheck"]
    missing = [event.missing for event in events if event.missing is not None]
    assert missing == sorted(missing, reverse=True)
    bounds = [event.bound for event in events if event.bound is not None]
    assert bounds == sorted(bounds)
    assert (events[-1].missing, events[-1].best) == (found.missing_total, found.proof.net_worth)
    assert all(0 <= event.looked_at <= event.offcuts for event in events)


def test_a_bound_told_is_never_above_the_best_told() -> None:
    """No event claims a negative gap."""
    for seed in (0, 3, 8):
        events: list[Progress] = []
        plan(small_job(seed), options=Options(seconds=2), on_event=events.append)
        gaps = [event.gap for event in events if event.gap is not None]
        assert all(gap >= 0 for gap in gaps)


@pytest.mark.parametrize("seed", [1, 3, 8])
def test_out_of_time_nothing_is_called_proven(seed: int) -> None:
    """With no time to speak of there is still a plan that passes the recheck, and no claim."""
    job = small_job(seed)
    found = plan(job, options=Options(seconds=1e-6))
    assert verify(job, found) == ()
    assert found.proof.bound < found.proof.net_worth
    assert not found.proof.proven


def interrupt(monkeypatch: pytest.MonkeyPatch, when: Callable[[int], bool]) -> None:
    """Let Ctrl-C come in the n-th listing of the generator, counted from 1, if ``when(n)``."""
    real, runs = Generator.near, []

    def near(self: Generator, *args: Any, **more: Any) -> bool:
        runs.append(1)
        if when(len(runs)):
            raise KeyboardInterrupt
        return real(self, *args, **more)

    monkeypatch.setattr(Generator, "near", near)


def test_ctrl_c_before_there_is_a_plan_is_passed_on(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing was found yet, so nothing is returned."""

    def stop(self: Generator, *args: Any, **more: Any) -> None:
        raise KeyboardInterrupt

    for name in ("run", "look_once"):
        monkeypatch.setattr(Generator, name, stop)
    with pytest.raises(KeyboardInterrupt):
        plan(small_job(8))


def test_ctrl_c_later_gives_the_best_plan_so_far(monkeypatch: pytest.MonkeyPatch) -> None:
    """It passes the recheck and is not called proven."""
    job = small_job(8)
    assert plan(job, options=LONG).proof.proven
    interrupt(monkeypatch, lambda run: run >= 2)
    found = plan(job, options=LONG)
    assert verify(job, found) == ()
    assert found.offcuts
    assert not found.proof.proven


def test_a_cutting_that_fails_the_recheck_is_done_without(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the recheck finds fault with all that is cut from one offcut, the plan goes without that offcut."""
    job = small_job(8)
    faulty = plan(job, options=LONG).offcuts[0].offcut

    def stricter(job: Job, found: Plan) -> tuple[Breach, ...]:
        bad = [drawn.offcut for drawn in found.offcuts if drawn.offcut == faulty]
        return (*verify(job, found), *(Breach(rule="R5", where=name, message="no kerf") for name in bad))

    monkeypatch.setattr(aims, "verify", stricter)
    found = plan(job, options=LONG)
    assert found.offcuts
    assert faulty not in [drawn.offcut for drawn in found.offcuts]
    assert verify(job, found) == ()


def test_a_plan_that_fails_the_recheck_is_not_returned(monkeypatch: pytest.MonkeyPatch) -> None:
    """The solver's own mistake becomes an error with the first breach in it."""
    monkeypatch.setattr(aims, "verify", lambda job, found: verify(replace(job, sha256="cd" * 32), found))
    with pytest.raises(SolverError, match="does not pass the recheck, so it is not shown"):
        plan(TINY)


def test_aim_1_has_a_bound_where_it_is_not_proven(monkeypatch: pytest.MonkeyPatch) -> None:
    """Three ribs wanted, room for two: one is missing at the least, which the plan says though it was not told so."""
    job = replace(TINY, offcuts=(replace(PIECE, qty=2),), blanks=(replace(RIB, need=3),))
    assert plan(job, options=LONG).proof.missing_at_least == ((1, 1),)
    monkeypatch.setattr(aims.Search, "_least_missing", lambda *_: False)
    found = plan(job, options=LONG)
    assert (found.proof.missing, found.proof.missing_at_least) == (((1, 1),), ((1, 0),))
    assert not found.proof.proven
    assert verify(job, found) == ()
