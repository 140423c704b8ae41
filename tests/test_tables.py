"""A plan as data frames: everything is there once, in the units that the columns say."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from functools import cache
from typing import TYPE_CHECKING

import pytest
from strategies import cupped_job, small_job

from yieldplan import Planned
from yieldplan.model import BOARD_FOOT, Job, Plan
from yieldplan.model.pieces import pieces
from yieldplan.model.shop import INCH, MM
from yieldplan.pages.wording import CUBIC_METRE
from yieldplan.solve import Options, solve
from yieldplan.solve.assemble import assemble
from yieldplan.tables import COLUMNS, Tables

if TYPE_CHECKING:
    from collections.abc import Callable

JOBS: tuple[tuple[Callable[[int], Job], int], ...] = (
    *((small_job, seed) for seed in (0, 7, 17)),
    *((cupped_job, seed) for seed in (1, 2, 5)),
)


@cache
def planned(make: Callable[[int], Job], seed: int) -> tuple[Job, Plan, Tables]:
    """Return a random job, a plan of it and its tables."""
    job = make(seed)
    plan = solve(job, options=Options(seconds=1)).plan
    return job, plan, Planned(job=job, plan=plan).tables()


@pytest.mark.parametrize(("make", "seed"), JOBS)
def test_everything_is_there_once(make: Callable[[int], Job], seed: int) -> None:
    """Boards, sticks, keepers by the names that the order has; blanks as they are made."""
    job, plan, tables = planned(make, seed)
    named = {
        kind: [one.name for one in pieces(job, plan) if one.kind == kind]
        for kind in ("board", "stick", "keeper")
    }
    assert list(tables.boards["board"]) == named["board"]
    assert list(tables.sticks["stick"]) == named["stick"]
    assert list(tables.keepers["keeper"]) == named["keeper"]
    assert dict(zip(tables.blanks["blank"], tables.blanks["made"], strict=True)) == dict(plan.made)
    assert tables.blanks["spares"].sum() == plan.spare_total
    assert (
        tables.sticks["blanks"].sum()
        == tables.boards["blanks"].sum()
        == sum(1 for drawn in plan.offcuts for _ in drawn.blanks)
    )


@pytest.mark.parametrize(("make", "seed"), JOBS)
def test_every_cut_and_setting_is_listed(make: Callable[[int], Job], seed: int) -> None:
    """They come to the counts of the plan's work, machine by machine."""
    _, plan, tables = planned(make, seed)
    work, cuts = plan.work, Counter(tables.cuts["machine"])
    assert cuts["bandsaw"] == work.bandsaw_passes
    assert cuts["table saw"] + cuts["bandsaw"] == work.passes
    assert cuts["crosscut saw"] == work.crosscuts
    assert tables.cuts["odd"].sum() == work.odd_cuts
    settings = Counter(tables.settings["machine"])
    assert settings["table saw"] + settings["bandsaw"] == work.saw_settings
    assert (settings["planer"], settings["crosscut saw"]) == (work.planer_settings, work.stop_settings)
    sawn = tables.settings[tables.settings["machine"].isin(["table saw", "bandsaw"])]
    assert sawn["uses"].sum() == work.passes


@pytest.mark.parametrize(("make", "seed"), JOBS)
def test_the_sums_are_those_of_the_plan(make: Callable[[int], Job], seed: int) -> None:
    """Minutes are all of the work; the account is the wood that the boards hold, and the keepers that are listed."""
    _, plan, tables = planned(make, seed)
    assert round(100 * tables.work["time_minutes"].sum()) == plan.work.hundredths
    account = tables.account.set_index("part")["volume_board_feet"]
    assert account["in"] == pytest.approx(tables.boards["volume_board_feet"].sum())
    assert account["in"] == pytest.approx(plan.account.volume_in / BOARD_FOOT)
    assert account.drop("in").sum() == pytest.approx(account["in"])
    assert account["keepers"] == pytest.approx(tables.keepers["volume_board_feet"].sum())
    if plan.offcuts:
        shares = tables.account.set_index("part")["share_percent"]
        assert shares.drop("in").sum() == pytest.approx(100)


def test_lengths_are_in_the_units_of_the_job() -> None:
    """Inches, board feet, or millimetres, cubic metres, as the names of the columns say: the same steps."""
    job, plan, inches = planned(small_job, 17)
    metric = Planned(job=replace(job, shop=replace(job.shop, units="mm")), plan=plan).tables()
    steps = [part.end - part.start for drawn in plan.offcuts for part in drawn.jointed]
    for lengths in (inches.sticks["length_in"] * INCH, metric.sticks["length_mm"] * MM):
        assert set(lengths.round()) == set(steps)
    volumes = [job.offcut(drawn.offcut).volume for drawn in plan.offcuts]
    for found in (inches.boards["volume_board_feet"] * BOARD_FOOT, metric.boards["volume_m3"] * CUBIC_METRE):
        assert list(found) == pytest.approx(volumes)


def test_a_plan_of_nothing_has_its_columns() -> None:
    """No board is drawn: the frames are empty, and their columns are there."""
    job = small_job(0)
    tables = Planned(job=job, plan=assemble(job, ())).tables()
    assert len(tables.boards) == len(tables.cuts) == len(tables.settings) == len(tables.keepers) == 0
    for name, columns in COLUMNS.items():
        frame = getattr(tables, name)
        assert [column.split("_")[0] for column in frame.columns] == [
            column.split("_")[0] for column in columns
        ]
    assert tables.work["time_minutes"].sum() == 0
