"""The recheck of billets that are split before jointing: mutations of a plan worked out by hand."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

import pytest
from hand_plans import (
    CUPPED,
    CUPPED_RAW,
    MARK,
    Raw,
    billet,
    copy_of,
    inch,
    plan_of,
    rib_strip,
    rules,
    with_offcut,
    with_shop,
)

from yieldplan.model import Defect, Job, SplitBillet
from yieldplan.verify import verify

if TYPE_CHECKING:
    from collections.abc import Callable

CHANGES: list[tuple[str, Callable[[Raw], object], set[str]]] = [
    ("between two marks", lambda raw: billet(raw).update(split=inch("4") + 1), {"R3", "marks"}),
    ("at the edge", lambda raw: billet(raw).update(split=0), {"R2", "R3", "R4"}),
    ("beyond the far edge", lambda raw: billet(raw).update(split=inch("8")), {"R2", "R3", "R4"}),
    ("near half too narrow", lambda raw: billet(raw).update(split=inch("23/32")), {"R2", "R3", "R4"}),
    ("loss of the whole billet", lambda raw: billet(raw)["halves"][0].update(face_loss=inch("5/16")), {"R3"}),
    ("loss of a half without cup", lambda raw: billet(raw)["halves"][1].update(face_loss=inch("1/16")), {"R3"}),
    ("one edge loss for both", lambda raw: billet(raw)["halves"][1].update(edge_loss=0), {"R3"}),
    ("a strip beyond its half", lambda raw: billet(raw)["halves"][1].update(strips=[rib_strip("2")]), {"R4"}),
    ("a half with a layout of nothing", lambda raw: billet(raw)["halves"][1].update(strips=[]), {"R4"}),
    ("waste in both", lambda raw: billet(raw).update(halves=[None, None]), {"R4"}),
]  # fmt: skip


@pytest.mark.parametrize(
    ("change", "broken"), [pytest.param(change, broken, id=name) for name, change, broken in CHANGES]
)
def test_mutation_breaks_the_rule(change: Callable[[Raw], object], broken: set[str]) -> None:
    """Each change of the split is caught, under the rules that it breaks and no others."""
    raw = copy_of(CUPPED_RAW)
    change(raw)
    assert rules(verify(CUPPED, plan_of(raw))) == broken


def test_halves_are_as_long_as_the_billet() -> None:
    """A half of another length than the billet that was split breaks R4 (no plan file gives one)."""
    plan = plan_of(CUPPED_RAW)
    (split,) = plan.offcuts[0].billets
    assert isinstance(split, SplitBillet)
    near, far = split.halves
    assert near is not None
    wrong = replace(split, halves=(replace(near, end=inch("14")), far))
    found = verify(CUPPED, replace(plan, offcuts=(replace(plan.offcuts[0], billets=(wrong,)),)))
    assert "R4" in rules(found)


def without_far_half() -> Raw:
    """Return the plan without its far rib: that half is waste."""
    raw = copy_of(CUPPED_RAW)
    billet(raw)["halves"][1] = None
    raw["made"]["Rib"] = raw["missing"]["Rib"] = 1
    raw["proof"]["missing"]["1"] = raw["proof"]["missing_at_least"]["1"] = 1
    return raw


def test_a_half_that_is_waste_is_not_jointed() -> None:
    """It has no losses, no shavings, no work and no keeper: a billet, a stick, a rip and two final cuts less."""
    raw = without_far_half()
    said = {breach.message for breach in verify(CUPPED, plan_of(raw))}
    assert {
        message for message in said if message.startswith(("billets", "sticks", "passes", "crosscuts"))
    } == {
        "billets are said to be 2; they come to 1",
        "sticks are said to be 2; they come to 1",
        "passes are said to be 3; they come to 2",
        "crosscuts are said to be 6; they come to 4",
    }
    raw["work"].update(billets=1, sticks=1, passes=2, crosscuts=4, hundredths=2750 - 300 - 150 - 3 * 50)
    raw["proof"].update(cost=raw["proof"]["cost"] - 600, bound=raw["proof"]["bound"] - 600)
    account, good = raw["account"], CUPPED_RAW["account"]
    spared_blank, spared_kerf = inch("12") * inch("2") * inch("3/4"), inch("1/4") * inch("2") * inch("3/4")
    spared_kerf += inch("1/8") * inch("13") * inch("7/8")
    jointing = inch("13") * (inch("3 15/16") * inch("1") - inch("3 7/8") * inch("7/8"))
    planing = inch("13") * (inch("2 1/8") * inch("13/16") - inch("2") * inch("3/4"))
    planed_off = inch("13") * inch("2 1/8") * inch("1/16")
    account["blanks"] -= spared_blank
    account["kerf"] -= spared_kerf
    account["shavings"] -= jointing + planing + planed_off
    account["trimmings"] = good["trimmings"] + spared_blank + spared_kerf + jointing + planing + planed_off
    assert verify(CUPPED, plan_of(raw)) == ()


def board(**changes: Any) -> Job:
    """Return the job with a changed board."""
    return with_offcut(CUPPED, **changes)


def shop(**changes: Any) -> Job:
    """Return the job with changed settings."""
    return with_shop(CUPPED, **changes)


JOBS = [
    ("flat board", board(cup=inch("7/32")), {"R2"}),
    ("warp that is not enough", shop(split_warp=inch("9/32")), {"R2"}),
    ("a jointer that does not take the board", shop(split_warp=inch("9/32"), jointer_width=inch("7 31/32")), set()),
    ("half the twist is just enough", with_shop(board(twist=inch("1/16")), split_warp=inch("9/32")), {"R3"}),
    ("half the twist is not enough", with_shop(board(twist=inch("1/32")), split_warp=inch("9/32")), {"R2", "R3"}),
    ("bandsaw too low", shop(bandsaw_height=inch("31/32")), {"R2"}),
    ("bandsaw just high enough", shop(bandsaw_height=inch("1")), set()),
    ("a bandsaw kerf more", shop(bandsaw_kerf=inch("3/32")), set()),
    ("jointer narrower than a half", shop(jointer_width=inch("3 31/32")), {"R2"}),
    ("twisted as well", board(twist=inch("1/8")), {"R3"}),
    ("kinked beyond the billet", board(kinks=(inch("15"),)), {"R2"}),
    ("a second ring reading", board(ring_angle=10, ring_angle_far=20), {"R2"}),
    ("one ring reading", board(ring_angle=10), set()),
]  # fmt: skip


@pytest.mark.parametrize(("job", "broken"), [pytest.param(job, rule, id=name) for name, job, rule in JOBS])
def test_plan_under_another_job_breaks_the_rule(job: Job, broken: set[str]) -> None:
    """The same plan under a changed board or shop breaks the named rules and no other."""
    assert rules(verify(job, plan_of(CUPPED_RAW))) == broken


def test_the_sum_of_a_half_s_losses_is_rounded_up_once() -> None:
    """In marks, of the far half: cup 1.94, twist 0.48, bow 0.42, skim 2: that is 4.84, up to 5, not 2 + 1 + 1 + 2."""
    raw = copy_of(CUPPED_RAW)
    for half in billet(raw)["halves"]:
        half["face_loss"] = 5 * MARK
    assert rules(verify(board(twist=inch("3/32"), bow=inch("1/32")), plan_of(raw))) == set()


@pytest.mark.parametrize(("more", "said"), [(0, []), (MARK, ["R2"])])
def test_a_half_just_as_wide_as_the_narrowest_rip_may_be_sawn(more: int, said: list[str]) -> None:
    """The far half, 3 15/16 in wide, is the narrower one; that holds for one that is waste too."""
    for raw in (CUPPED_RAW, without_far_half()):
        found = verify(shop(narrowest_rip=inch("3 15/16") + more), plan_of(raw))
        assert [breach.rule for breach in found if breach.where.endswith("half")] == said


def test_only_what_is_jointed_has_to_go_over_the_jointer() -> None:
    """The near half, 4 in wide, does not: as waste it may be wider than the jointer."""
    raw = copy_of(CUPPED_RAW)
    billet(raw)["halves"][0] = None
    assert "R2" not in rules(verify(shop(jointer_width=inch("3 15/16")), plan_of(raw)))
    assert "R2" in rules(verify(shop(jointer_width=inch("3 29/32")), plan_of(raw)))


@pytest.mark.parametrize(
    ("y1", "y2", "met"),
    [
        ("4 1/8", "4 1/8", False),  # just where the far strip begins: its box starts 1/16 in from the saw cut
        ("0", "1/16", False),  # jointed away in the near half
        ("0", "3/32", True),
        ("2 3/16", "4 1/8", False),  # between the two ribs, and the saw cut
        ("2 5/32", "4 5/32", True),
        ("6 1/4", "8", False),
        ("6 7/32", "8", True),
    ],
)
def test_defects_lie_in_the_frame_of_their_half(y1: str, y2: str, met: bool) -> None:
    """A stain counts from each half's own edge 1, and moves with the jointing of that half."""
    stain = Defect(kind="stain", x1=inch("5"), x2=inch("6"), y1=inch(y1), y2=inch(y2), z1=0, z2=inch("1"))
    assert (rules(verify(board(defects=(stain,)), plan_of(CUPPED_RAW))) == {"R9"}) is met
