"""Work, leftovers and account counted twice: by the model, which the solver plans with, and by the recheck."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from hand_plans import (
    RICH,
    RICH_RAW,
    TINY,
    TINY_RAW,
    Raw,
    billet,
    blank,
    copy_of,
    inch,
    plan_of,
    stick,
    stick_of,
    strip,
    strip_of,
    with_blank,
    with_offcut,
    with_shop,
)
from random_plans import random_plan

from yieldplan.model import keepers, work_of
from yieldplan.model.work import prices
from yieldplan.solve.assemble import assemble
from yieldplan.verify import verify

if TYPE_CHECKING:
    from collections.abc import Callable

    from yieldplan.model import Job


@pytest.mark.parametrize("seed", range(200))
def test_model_and_recheck_agree_on_random_plans(seed: int) -> None:
    """What the model counts of a plan sawn at random is what the recheck counts, to the last step and minute."""
    job, plan = random_plan(seed, offcuts=3)
    assert verify(job, plan) == ()
    work = work_of(job, plan.offcuts)
    kept = [keeper for drawn in plan.offcuts for keeper in keepers(job, drawn)]
    assert plan.work == work
    assert plan.account.keepers == sum(keeper.volume for keeper in kept)
    assert plan.proof.cost == plan.proof.net_worth + prices(job.shop).of(work)


def counted(job: Job, raw: Raw) -> dict[str, int]:
    """Return the figures of work that the recheck comes to, where the plan says 77 to each."""
    said = copy_of(raw)
    said["work"] = {
        **dict.fromkeys(said["work"], 77),
        "settings": dict.fromkeys(said["work"]["settings"], 77),
    }
    found = {}
    for breach in verify(job, plan_of(said)):
        if breach.rule == "work":
            word, _, count = breach.message.partition(" are said to be 77; they come to ")
            found[word] = int(count)
    return found


def other(change: Callable[[Raw], object]) -> Raw:
    """Return the tiny plan, changed."""
    raw = copy_of(TINY_RAW)
    change(raw)
    return raw


RIB_STICK = stick_of("0", "13/16", blank("Rib", "1", "13"))

CASES: dict[str, tuple[Job, Raw, dict[str, int]]] = {
    "as it is": (TINY, TINY_RAW, {"passes": 1, "odd cuts": 0, "saw settings": 1, "crosscuts": 4}),
    "the rich plan": (
        RICH,
        RICH_RAW,
        {"passes": 7, "bandsaw passes": 2, "odd cuts": 1, "saw settings": 7, "planer settings": 3},
    ),
    "an odd cut before the strip": (
        TINY,
        other(lambda raw: strip(raw).update({"from": inch("5/32"), "to": inch("2 9/32")})),
        {"passes": 2, "odd cuts": 1, "saw settings": 2},
    ),
    "no odd cut where the strip begins just a kerf in": (
        TINY,
        other(lambda raw: strip(raw).update({"from": inch("1/8"), "to": inch("2 1/4")})),
        {"passes": 1, "odd cuts": 0, "saw settings": 1},
    ),
    "a strip that leaves no more than is planed off": (
        with_offcut(TINY, width=inch("2 3/8")),
        TINY_RAW,
        {"passes": 0, "saw settings": 0},
    ),
    "a strip that leaves a mark more": (
        with_offcut(TINY, width=inch("2 13/32")),
        TINY_RAW,
        {"passes": 1, "saw settings": 1},
    ),
    "a last strip that is not sawn off": (
        with_offcut(TINY, width=inch("4 9/16"), thickness=inch("2 3/8")),
        other(
            lambda raw: billet(raw).update(
                strips=[strip_of("0", "2 1/8", RIB_STICK), strip_of("2 7/32", "4 11/32", RIB_STICK)]
            )
        ),
        {"passes": 3, "bandsaw passes": 3, "odd cuts": 0, "saw settings": 2, "sticks": 2},
    ),
    "blanks that stand off one another": (
        with_offcut(with_blank(TINY, 0, need=2, length=inch("6")), length=inch("20")),
        other(lambda raw: stick(raw).update(blanks=[blank("Rib", "1", "7"), blank("Rib", "7 5/32", "13")])),
        {"crosscuts": 2 + 1 + 2 + 1, "stop settings": 2},
    ),
    "a billet to the very end of the offcut": (
        with_shop(with_offcut(TINY, length=inch("13 1/2")), end_trim=0),
        TINY_RAW,
        {"crosscuts": 3},
    ),
}


@pytest.mark.parametrize("name", CASES)
def test_work_by_hand(name: str) -> None:
    """Passes, settings and crosscuts as model.md counts them."""
    job, raw, expected = CASES[name]
    found = counted(job, raw)
    assert {word: found.get(word) for word in expected} == expected


def test_like_settings_of_a_batch_count_once() -> None:
    """Two copies cut alike need the fences, the planer and the stop of one."""
    job = with_blank(with_offcut(TINY, qty=2), 0, need=2)
    raw = copy_of(TINY_RAW)
    raw["offcuts"].append({**copy_of(raw)["offcuts"][0], "copy": 2})
    found = counted(job, raw)
    assert (found["saw settings"], found["planer settings"], found["stop settings"]) == (1, 2, 1)
    assert (found["offcuts"], found["passes"], found["crosscuts"]) == (2, 2, 8)


def test_a_second_row_is_the_first_where_the_first_is_not_cut() -> None:
    """A board whose only strip is not sawn off is resawn at the fence of one that is resawn first."""
    first, second = replace(TINY.offcuts[0], width=inch("2 3/16"), thickness=inch("1 3/4")), TINY.offcuts[0]
    job = replace(
        with_shop(with_blank(TINY, 0, need=2), saw_depth=inch("3")),
        offcuts=(first, replace(second, name="Ash 2", thickness=inch("1 3/4"))),
    )
    raw = copy_of(TINY_RAW)
    raw["offcuts"].append({**copy_of(raw)["offcuts"][0], "offcut": "Ash 2"})
    layer = strip_of("0", "13/16", stick_of("0", "2 1/8", blank("Rib", "1", "13")))
    raw["offcuts"][1]["billets"][0].update(layout="resaw first", strips=[layer])
    found = counted(job, raw)
    assert (found["passes"], found["saw settings"]) == (3, 2)


def test_every_odd_cut_is_a_setting_of_its_own() -> None:
    """Two odd cuts of the same distance are set twice."""
    job = with_blank(with_offcut(TINY, qty=2), 0, need=2)
    raw = other(lambda raw: strip(raw).update({"from": inch("1/4"), "to": inch("2 3/8")}))
    raw["offcuts"].append({**copy_of(raw)["offcuts"][0], "copy": 2})
    found = counted(job, raw)
    assert (found["odd cuts"], found["saw settings"]) == (2, 3)


def test_a_keeper_won_by_moving_a_cut_has_to_be_accounted_for() -> None:
    """A billet moved towards end A leaves a length long enough: net worth lowered to match is not enough."""
    job = with_shop(TINY, keeper_length=inch("6 3/8"), keeper_thickness=inch("1"))
    (breach, *more) = verify(job, plan_of(TINY_RAW))
    assert {breach.rule for breach in (breach, *more)} == {"account", "proof"}
    raw = copy_of(TINY_RAW)
    kept = 1000 * inch("6 3/8") * 3 * (96 * 8128 + inch("6 3/8")) // (144 * 8128 * 96 * 8128)
    raw["proof"].update(net_worth=503 - kept, cost=2303 - kept, bound=2303 - kept)
    assert {breach.rule for breach in verify(job, plan_of(raw))} == {"account"}
    raw["account"]["keepers"] = inch("6 3/8") * inch("3") * inch("1")
    raw["account"]["trimmings"] -= raw["account"]["keepers"]
    assert verify(job, plan_of(raw)) == ()


def test_a_leftover_that_the_planer_takes_is_counted_once() -> None:
    """In a shop that keeps slivers what is planed off may be one: then it is a keeper, and no shavings."""
    job = with_shop(
        TINY, keeper_length=inch("13"), keeper_width=inch("1 1/2"), keeper_thickness=inch("1/32"), rip_kerf=0
    )
    job = with_shop(with_offcut(job, width=inch("2 9/32")), bandsaw_kerf=0)
    raw = copy_of(TINY_RAW)
    plan = assemble(job, plan_of(raw).offcuts)
    assert verify(job, plan) == ()
    # behind the strip 3/32 by 15/16 in is left, too narrow; over the stick 3/32 in of the 1/8 behind a bandsaw's skim
    assert plan.account.keepers == inch("13") * inch("2 1/8") * inch("3/32")
    jointing = inch("13") * (inch("2 9/32") * inch("1") - inch("2 7/32") * inch("15/16"))
    planing = inch("13") * (inch("2 1/8") * inch("13/16") - inch("2") * inch("3/4"))
    skimmed = inch("13") * inch("2 1/8") * inch("1/32") + inch("13") * inch("15/16") * inch("3/32")
    assert plan.account.shavings == jointing + planing + skimmed
    assert plan.account.kerf == inch("1/4") * inch("2 9/32") * inch("1") + inch("1/4") * inch("2") * inch(
        "3/4"
    )
