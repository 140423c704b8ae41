"""What just reaches a limit keeps the rule, and a step further breaks it; one breach hides no other."""

from __future__ import annotations

from dataclasses import replace

import pytest
from test_verify import (
    RICH,
    RICH_RAW,
    TINY,
    TINY_RAW,
    copy_of,
    inch,
    plan_of,
    rules,
    segment,
    stick,
    stick_raw,
    strip,
    with_blank,
    with_shop,
)

from yieldplan.model import Defect, Job, Shop
from yieldplan.verify import verify

AT_THE_LIMIT: dict[str, Job] = {
    "shortest machined length": with_shop(shortest_machined_length=inch("15")),
    "jointer width": with_shop(jointer_width=inch("6")),
    "planer width": with_shop(planer_width=inch("2")),
    "thinnest planed": with_shop(thinnest_planed=inch("3/4")),
    "narrowest rip": with_shop(narrowest_rip=inch("13/16")),
    "keeper length": with_shop(keeper_length=inch("14 3/4")),
    "the most ring angle": with_blank(0, ring_to=20),
    "the least ring angle": with_blank(1, ring_from=70),
    "ring angle with no upper end": with_blank(1, ring_from=70, ring_to=None),
    "ring angle with no lower end": with_blank(0, ring_from=None, ring_to=20),
}


@pytest.mark.parametrize("job", AT_THE_LIMIT.values(), ids=AT_THE_LIMIT.keys())
def test_what_just_reaches_a_limit_is_right(job: Job) -> None:
    """Limits are allowed, ends of ranges included."""
    assert verify(job, plan_of(RICH_RAW)) == ()


@pytest.mark.parametrize(
    ("number", "values"),
    [(1, {"ring_from": 71, "ring_to": None}), (0, {"ring_from": None, "ring_to": 19})],
    ids=["no upper end", "no lower end"],
)
def test_a_range_with_one_end_is_a_range(number: int, values: dict[str, int | None]) -> None:
    """A range of ring angles that is open on one side still ends on the other."""
    assert rules(verify(with_blank(number, **values), plan_of(RICH_RAW))) == {"R7"}


@pytest.mark.parametrize(("more", "broken"), [(0, set()), (1, {"R9"})])
@pytest.mark.parametrize("edge", [True, False], ids=["edge", "face"])
def test_a_skim_takes_a_shallow_defect_off(edge: bool, more: int, broken: set[str]) -> None:
    """A defect as deep as the skim is jointed away; one a step deeper is still met."""
    deep = inch("1/32") + more
    y2, z2 = (deep, inch("1")) if edge else (inch("3"), deep)
    stain = Defect(kind="stain", x1=inch("5"), x2=inch("6"), y1=0, y2=y2, z1=0, z2=z2, through=edge)
    job = replace(TINY, offcuts=(replace(TINY.offcuts[0], defects=(stain,)),))
    assert rules(verify(job, plan_of(TINY_RAW))) == broken


def test_snipe_counts_at_the_far_end_too() -> None:
    """The rib starts where the snipe ends, but runs to the very end of its billet."""
    job = replace(TINY, shop=Shop(snipe=inch("1/2")))
    assert rules(verify(job, plan_of(TINY_RAW))) == {"R8"}


def test_warp_as_deep_as_the_wood_leaves_nothing() -> None:
    """A loss of all the thickness is no billet, not only one of more."""
    job = replace(TINY, offcuts=(replace(TINY.offcuts[0], cup=inch("31/32")),))
    said = [breach.message for breach in verify(job, plan_of(TINY_RAW)) if breach.rule == "R3"]
    assert any("straightening leaves nothing" in message for message in said)


def test_a_kept_stick_is_as_wide_as_its_strip() -> None:
    """Not as wide as where the strip ends: 13/16 by 1 3/8 in is no keeper."""
    raw = copy_of(RICH_RAW)
    strip(raw, 1)["sticks"] = [stick_raw("0", "1 3/8", keeper=True)]
    assert "R11" in rules(verify(RICH, plan_of(raw)))


def test_a_breach_hides_no_other() -> None:
    """After an unknown offcut, a piece the wrong way round, or an unknown blank, the rest is still looked at."""
    raw = copy_of(RICH_RAW)
    raw["offcuts"].insert(0, {**copy_of(raw)["offcuts"][0], "offcut": "Elm 9"})
    raw["offcuts"][1]["segments"][0]["face_loss"] += 1
    assert "R3" in rules(verify(RICH, plan_of(raw)))

    raw = copy_of(RICH_RAW)
    segment(raw, 0).update({"from": 1, "to": 0})
    segment(raw, 2)["to"] = inch("60") + 1
    where = {breach.where for breach in verify(RICH, plan_of(raw)) if breach.rule == "R8"}
    assert "offcut Oak 2 copy 2, keeper 3" in where

    raw = copy_of(RICH_RAW)
    first, second = stick(raw, 1)["blanks"]
    first["blank"] = "mast"
    second["to"] += 1
    where = {breach.where for breach in verify(RICH, plan_of(raw)) if breach.rule == "R8"}
    assert any(place.endswith("blank Frame (2)") for place in where)


def test_dust_of_a_gap_narrower_than_a_kerf_is_all_counted() -> None:
    """A strip a step from the edge makes a step of dust there, and its far gap is still wider than a kerf."""
    raw = copy_of(TINY_RAW)
    strip(raw)["from"] += 1
    strip(raw)["to"] += 1
    box = inch("13") * (inch("1") - 254)
    raw["account"]["kerf"] += box
    raw["account"]["trimmings"] -= box
    assert verify(TINY, plan_of(raw)) == ()


def test_a_blank_listed_twice_is_said() -> None:
    """The blank and how often it stands there."""
    plan = replace(plan_of(TINY_RAW), made=(("Rib", 1), ("Rib", 1)))
    (breach,) = verify(TINY, plan)
    assert breach.sentence() == "counts, blank Rib: it is listed 2 times under made; expected once."
