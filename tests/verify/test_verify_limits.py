"""What just reaches a limit keeps the rule, and a mark further breaks it; one breach hides no other."""

from __future__ import annotations

import math
from dataclasses import replace
from fractions import Fraction

import pytest
from hand_plans import (
    MARK,
    RICH,
    RICH_RAW,
    TINY,
    TINY_RAW,
    billet,
    copy_of,
    inch,
    move,
    plan_of,
    rules,
    stick,
    stretch,
    strip,
    with_blank,
    with_offcut,
    with_shop,
)

from yieldplan.model import Defect, Job
from yieldplan.verify import verify

AT_THE_LIMIT: dict[str, Job] = {
    "shortest machined length": with_shop(RICH, shortest_machined_length=inch("15")),
    "jointer width": with_shop(RICH, jointer_width=inch("6")),
    "planer width": with_shop(RICH, planer_width=inch("2")),
    "thinnest planed": with_shop(RICH, thinnest_planed=inch("3/4")),
    "narrowest rip": with_shop(RICH, narrowest_rip=inch("13/16")),
    "least planing": with_shop(RICH, least_planing=inch("1/16")),
    "keeper length": with_shop(RICH, keeper_length=inch("14 1/4")),
    "table saw's depth": with_shop(RICH, saw_depth=inch("2")),
    "bandsaw's height": with_shop(RICH, bandsaw_height=inch("6")),
    "what is planed off": with_shop(RICH, plane_off=inch("1/16")),
    "end trim": with_shop(RICH, end_trim=inch("1/2")),
    "stick trim": with_shop(RICH, stick_trim=inch("1/2")),
    "the most ring angle": with_blank(RICH, 0, ring_to=20),
    "the least ring angle": with_blank(RICH, 1, ring_from=70),
    "ring angle with no upper end": with_blank(RICH, 1, ring_from=70, ring_to=None),
    "ring angle with no lower end": with_blank(RICH, 0, ring_from=None, ring_to=20),
    "no least ring angle": with_blank(with_offcut(TINY, ring_angle=0), 0, ring_to=0),
    "no most ring angle": with_blank(with_offcut(TINY, ring_angle=90), 0, ring_from=90),
    "slope of grain": with_blank(
        with_offcut(TINY, grain_slope=Fraction(1, 10)), 0, max_slope=Fraction(1, 10)
    ),
    "a kink at the end of a billet": with_offcut(TINY, kinks=(inch("13 1/2"),)),
}


@pytest.mark.parametrize("name", AT_THE_LIMIT)
def test_what_just_reaches_a_limit_is_right(name: str) -> None:
    """Limits are allowed, ends of ranges included."""
    job = AT_THE_LIMIT[name]
    raw = TINY_RAW if job.offcuts[-1].name == "Ash 1" else RICH_RAW
    assert verify(job, plan_of(raw)) == ()


@pytest.mark.parametrize(
    ("number", "values"),
    [(1, {"ring_from": 71, "ring_to": None}), (0, {"ring_from": None, "ring_to": 19})],
    ids=["no upper end", "no lower end"],
)
def test_a_range_with_one_end_is_a_range(number: int, values: dict[str, int | None]) -> None:
    """A range of ring angles that is open on one side still ends on the other."""
    assert rules(verify(with_blank(RICH, number, **values), plan_of(RICH_RAW))) == {"R7"}


@pytest.mark.parametrize(
    ("turned", "narrower", "low", "high"),
    # 30 degrees to the inch; the strip begins 1/4 in from edge 1 and may come from 1/16 in further on
    [
        (False, "0", Fraction(15, 2), Fraction(585, 8)),
        (True, "-21/16", 90 - Fraction(270, 8), Fraction(165, 2)),
    ],
)
def test_rings_that_turn_across_the_offcut(
    turned: bool, narrower: str, low: Fraction, high: Fraction
) -> None:
    """Seen at both edges of the strip, and turned from 90 degrees back, all angles lie in the range (R7)."""
    job = with_offcut(TINY, ring_angle=0, ring_angle_far=90, thickness=inch("2 1/2"))
    raw = copy_of(TINY_RAW)
    stretch(move(strip(raw), "1/4"), "to", narrower)
    if turned:
        stick(raw).update({"to": inch("2 1/8"), "turned": True})
    for least, most, right in (
        (math.floor(low), math.ceil(high), True),
        (math.floor(low) + 1, math.ceil(high), False),
        (math.floor(low), math.ceil(high) - 1, False),
    ):
        found = rules(verify(with_blank(job, 0, ring_from=least, ring_to=most), plan_of(raw)))
        assert ("R7" not in found) is right, (least, most)
        assert found <= {"R7"}


@pytest.mark.parametrize(("more", "broken"), [(0, set()), (1, {"R9"})])
@pytest.mark.parametrize("edge", [True, False], ids=["edge", "face"])
def test_a_skim_takes_a_shallow_defect_off(edge: bool, more: int, broken: set[str]) -> None:
    """A defect as deep as the skim is jointed away; one a mark deeper is still met."""
    deep = inch("1/16") + more * MARK
    y2, z2 = (deep, inch("1")) if edge else (inch("3"), deep)
    stain = Defect(kind="stain", x1=inch("5"), x2=inch("6"), y1=0, y2=y2, z1=0, z2=z2, through=edge)
    assert rules(verify(with_offcut(TINY, defects=(stain,)), plan_of(TINY_RAW))) == broken


@pytest.mark.parametrize(
    ("kind", "past"),
    [
        ("end check", 1),
        ("Ring  SHAKE", 1),
        ("split", 1),
        ("knot", 0.5),
        ("Pin knot", 0.5),
        ("checks", 0),
        ("knotty", 0),
        ("wane", 0),
    ],
)
def test_cracks_and_knots_reach_further_than_they_are_seen(kind: str, past: float) -> None:
    """A check, split or shake counts an inch beyond what is seen, a knot half an inch; other kinds as they are.

    The rib lies from 1 to 13 in; the defect begins beyond it.
    """
    for off, broken in ((inch(str(past)) - MARK, {"R9"}), (inch(str(past)), set())):
        x1 = inch("13") + off
        seen = Defect(kind=kind, x1=x1, x2=x1 + MARK, y1=0, y2=inch("2"), z1=0, z2=inch("1"))
        assert rules(verify(with_offcut(TINY, defects=(seen,)), plan_of(TINY_RAW))) == broken


@pytest.mark.parametrize(
    ("changes", "sound"),
    [
        ({}, False),
        ({"kind": "knot"}, True),
        ({"through": False}, True),
        ({"y1": inch("1/32")}, True),
        ({"y2": inch("2 31/32")}, True),
        ({"x1": inch("1/2"), "x2": inch("17/32")}, True),
    ],
    ids=[
        "a through check",
        "no check",
        "on one face",
        "not from edge 1",
        "not to the far edge",
        "beyond the trim",
    ],
)
@pytest.mark.parametrize("end", ["A", "B"])
def test_a_check_that_begins_in_an_end_trim_lengthens_it(
    end: str, changes: dict[str, object], sound: bool
) -> None:
    """Only one that is through, over the whole width, and begins in the trim; then the trim goes past it."""
    check = Defect(kind="check", x1=inch("7/16"), x2=inch("15/32"), y1=0, y2=inch("3"), z1=0, z2=inch("1"))
    check = replace(check, **changes)  # type: ignore[arg-type]
    if end == "B":
        check = replace(check, x1=inch("14") - check.x2, x2=inch("14") - check.x1)
    job = with_offcut(TINY, length=inch("14"), defects=(check,))
    for past, right in ((MARK, True), (2 * MARK, sound)):
        found = verify(with_shop(job, past_a_check=past), plan_of(TINY_RAW))
        assert ("R1" not in rules(found)) is right


def test_one_check_brings_the_next_into_the_trim() -> None:
    """A trim that a check has made longer is a trim: what begins in that makes it longer again."""
    first = Defect(kind="check", x1=0, x2=inch("1/8"), y1=0, y2=inch("3"), z1=0, z2=inch("1"))
    second = replace(first, x1=inch("5/16"), x2=inch("7/16"))
    job = with_shop(TINY, end_trim=inch("1/4"), past_a_check=inch("1/4"))
    for checks, broken in (((first,), False), ((second,), False), ((second, first), True)):
        found = verify(with_offcut(job, defects=checks), plan_of(TINY_RAW))
        assert ("R1" in rules(found)) is broken


def test_warp_as_deep_as_the_wood_leaves_nothing() -> None:
    """A loss of all the thickness is no billet, not only one of more."""
    found = verify(with_offcut(TINY, cup=inch("15/16")), plan_of(TINY_RAW))
    assert any("jointing leaves nothing" in breach.message for breach in found if breach.rule == "R3")


def test_keeper_section_counts_either_way_round() -> None:
    """Keeper width and thickness may be met the other way round: 3/4 by 2 is a keeper too."""
    job = with_shop(RICH, keeper_width=inch("3/4"), keeper_thickness=inch("2"))
    assert verify(job, plan_of(RICH_RAW)) == ()


def test_defect_of_no_thickness_inside_a_blank_is_met() -> None:
    """A hairline (x1 = x2) strictly inside a blank is met; at its very end it is not."""
    hairline = Defect(kind="hair", x1=inch("5"), x2=inch("5"), y1=0, y2=inch("3"), z1=0, z2=inch("1"))
    at_end = replace(hairline, x1=inch("13"), x2=inch("13"))
    assert rules(verify(with_offcut(TINY, defects=(hairline,)), plan_of(TINY_RAW))) == {"R9"}
    assert rules(verify(with_offcut(TINY, defects=(at_end,)), plan_of(TINY_RAW))) == set()


@pytest.mark.parametrize(("over", "broken"), [(0, set()), (6, set()), (7, {"R5"})])
def test_what_the_planer_takes_off_needs_no_saw(over: int, broken: set[str]) -> None:
    """A strip and a stick that leave no more than *plane off* are not sawn, so no saw need reach."""
    job = with_offcut(TINY, width=inch("2 3/16") + over * MARK, thickness=inch("7/8"))
    assert rules(verify(with_shop(job, saw_depth=0, bandsaw_height=0), plan_of(TINY_RAW))) == broken


def test_two_strips_need_a_saw_between_them() -> None:
    """However much the planer takes off behind the last."""
    job = with_shop(RICH, plane_off=inch("6"), saw_depth=0, bandsaw_height=0)
    where = [breach.where for breach in verify(job, plan_of(RICH_RAW)) if breach.rule == "R5"]
    assert "offcut Oak 2 copy 2, billet 1" in where


def test_a_strip_that_does_not_begin_at_the_edge_needs_a_saw() -> None:
    """The least gap before the only strip is a cut where no saw reaches."""
    job = with_offcut(TINY, width=inch("2 7/32"), thickness=inch("7/8"))
    raw = copy_of(TINY_RAW)
    move(strip(raw), "1/32")
    assert rules(verify(with_shop(job, saw_depth=0, bandsaw_height=0), plan_of(raw))) == {"R5"}


@pytest.mark.parametrize(("width", "broken"), [("2 5/16", set()), ("2 11/32", {"R5"})])
def test_a_strip_that_is_not_sawn_off_stands_as_high_as_the_offcut(width: str, broken: set[str]) -> None:
    """Its far face is still rough: a resaw of it is as high as the offcut is wide, not as the strip."""
    job = with_offcut(TINY, width=inch(width), thickness=inch("1 1/4"))
    job = with_shop(job, saw_depth=inch("2 5/16"), bandsaw_height=0)
    assert rules(verify(job, plan_of(TINY_RAW))) == broken


def test_a_breach_hides_no_other() -> None:
    """After an unknown offcut, a piece the wrong way round, or an unknown blank, the rest is still looked at."""
    raw = copy_of(RICH_RAW)
    raw["offcuts"].insert(0, {**copy_of(raw)["offcuts"][0], "offcut": "Elm 9"})
    raw["offcuts"][1]["billets"][0]["face_loss"] += MARK
    assert "R3" in rules(verify(RICH, plan_of(raw)))

    raw = copy_of(RICH_RAW)
    billet(raw).update({"from": MARK, "to": 0})
    billet(raw, 1)["to"] = inch("60 1/32")
    where = {breach.where for breach in verify(RICH, plan_of(raw)) if breach.rule == "R8"}
    assert "offcut Oak 2 copy 2, billet 2" in where

    raw = copy_of(RICH_RAW)
    first, second = stick(raw, 1)["blanks"]
    first["blank"] = "mast"
    second["to"] += MARK
    where = {breach.where for breach in verify(RICH, plan_of(raw)) if breach.rule == "R8"}
    assert any(place.endswith("blank Frame (2)") for place in where)


def test_a_blank_at_the_very_end_of_its_stick_makes_no_dust_there() -> None:
    """Without a stick trim the rib may begin where its billet does: end A is squared, and next to nothing comes off."""
    raw = copy_of(TINY_RAW)
    move(stick(raw)["blanks"][0], "-1/2")
    dust = inch("1/8") * inch("2") * inch("3/4")
    raw["account"]["kerf"] -= dust
    raw["account"]["trimmings"] += dust
    assert verify(with_shop(TINY, stick_trim=0), plan_of(raw)) == ()


def test_dust_of_a_gap_narrower_than_a_kerf_is_all_counted() -> None:
    """A strip a mark from the edge makes a mark of dust there and no odd cut, and its far gap is still a kerf."""
    raw = copy_of(TINY_RAW)
    move(strip(raw), "1/32")
    dust = inch("13") * inch("15/16") * MARK
    raw["account"]["kerf"] += dust
    raw["account"]["trimmings"] -= dust
    assert verify(TINY, plan_of(raw)) == ()
