"""The recheck of billets that are split before jointing: a plan worked out by hand, and mutations of it."""

from __future__ import annotations

import json
from dataclasses import replace
from fractions import Fraction
from typing import TYPE_CHECKING, Any

import pytest
from test_verify import INCH, copy_of, cubic, inch, leaves, plan_of, put, rules, stick_raw, strip_raw

from yieldplan.model import Blank, Defect, Job, Offcut, Shop, SplitBillet, dump_plan, load_plan
from yieldplan.verify import verify

if TYPE_CHECKING:
    from collections.abc import Callable

Raw = dict[str, Any]
BOARD = Offcut(name="Elm 1", length=inch("20"), width=inch("8"), thickness=inch("1"), cup=inch("1/4"))
JOB = Job(
    offcuts=(BOARD,),
    blanks=(Blank(name="Rib", need=2, length=inch("12"), width=inch("2"), thickness=inch("3/4")),),
    name="cupped.xlsx",
    sha256="ab" * 32,
)

# Whole, the board is faced away: 1 - 1/4 - 1/32 leaves 23/32 in, and a rib needs 13/16. Split at 4 in, the near half
# is half as wide as the board: cup 1/4 x (1/2)^2 = 1/16 in, F = 3/32 in. The far one is 8 - 4 - 1/16 = 3 15/16 in
# wide: cup 2032 steps x (63/128)^2 = 492.2, so 493 steps, F = 747 steps.
FAR_DEEP = Fraction(INCH - 747, INCH)


def rib(start: str) -> Raw:
    """Return a strip of 2 1/8 in with one rib on it."""
    cut = {"blank": "Rib", "extra": False, "from": inch("1/2"), "to": inch("13"), "clear_end": "A"}
    end = Fraction(start) + Fraction(17, 8)
    return strip_raw(start, str(end), stick_raw("0", "13/16", cut))


def _account() -> Raw:
    """Return the account, worked out in cubic inches."""
    near_deep = Fraction(29, 32)
    kerf = Fraction(1, 8) * 8 + Fraction(1, 16) * 13  # the crosscut and the split
    kerf += Fraction(1, 8) * 13 * (near_deep + FAR_DEEP)  # a rip in each half
    kerf += (
        13 * Fraction(17, 8) * (near_deep + FAR_DEEP - Fraction(13, 8))
    )  # what is above the ribs: below a kerf
    kerf += 2 * Fraction(1, 8) * Fraction(3, 2)  # end A of each rib
    shavings = 13 * (4 - Fraction(127, 32) * near_deep)
    shavings += 13 * (Fraction(63, 16) - Fraction(125, 32) * FAR_DEEP)
    shavings += 2 * 13 * (Fraction(17, 8) * Fraction(13, 16) - Fraction(3, 2))
    keepers = 13 * Fraction(55, 32) * near_deep
    figures = {
        "in": Fraction(160),
        "blanks": Fraction(36),
        "keepers": keepers,
        "kerf": kerf,
        "shavings": shavings,
    }
    figures["trimmings"] = figures["in"] - sum(list(figures.values())[1:])
    return {name: cubic(str(figure)) for name, figure in figures.items()}


# worth(20, 8, 1) = 160/144 x 1000 x (1 + 20/96) = 1342.6; the kept strip 13 x 1 23/32 x 29/32 = 20.249 in^3 is worth
# 159.66. Net 1342 - 159 = 1183.
RAW: Raw = {
    "format": "yieldplan",
    "version": 1,
    "input": {"name": "cupped.xlsx", "sha256": "ab" * 32},
    "proof": {"missing": {"1": 0}, "net_worth": 1183, "bound": 1183, "gap": 0.0, "proven": True},
    "made": {"Rib": 2},
    "extra": {"Rib": 0},
    "missing": {"Rib": 0},
    "account": _account(),
    "offcuts": [
        {
            "offcut": "Elm 1",
            "copy": 1,
            "segments": [
                {
                    "kind": "billet",
                    "from": 0,
                    "to": inch("13"),
                    "split": inch("4"),
                    "halves": [
                        {
                            "layout": "rip first",
                            "face_loss": inch("3/32"),
                            "edge_loss": inch("1/32"),
                            "strips": [rib("0"), strip_raw("2 1/4", "3 31/32")],
                        },
                        {
                            "layout": "rip first",
                            "face_loss": 747,
                            "edge_loss": inch("1/32"),
                            "strips": [rib("0")],
                        },
                    ],
                }
            ],
        }
    ],
}


def split(raw: Raw) -> Raw:
    """Return the split billet."""
    found: Raw = raw["offcuts"][0]["segments"][0]
    return found


def test_good_plan_has_no_breach() -> None:
    """A split billet worked out by hand, account and worth included, passes; so it does through its file."""
    assert verify(JOB, plan_of(RAW)) == ()
    assert verify(JOB, load_plan(dump_plan(plan_of(RAW)))) == ()


def test_file_of_a_split_billet_is_read_back() -> None:
    """The file holds the split as it was given, key for key."""
    assert json.loads(dump_plan(plan_of(RAW))) == RAW


CHANGES: list[tuple[str, Callable[[Raw], object], set[str]]] = [
    ("between two marks of the rule", lambda raw: split(raw).update(split=inch("4") + 1), {"R2", "R3"}),
    ("a mark further", lambda raw: split(raw).update(split=inch("4 1/32")), {"R3"}),
    ("at the edge", lambda raw: split(raw).update(split=0), {"R2", "R3", "R4"}),
    ("beyond the far edge", lambda raw: split(raw).update(split=inch("8")), {"R2", "R3", "R4", "R11"}),
    ("near half too narrow", lambda raw: split(raw).update(split=inch("23/32")), {"R2", "R3", "R4"}),
    ("loss of the whole billet", lambda raw: split(raw)["halves"][0].update(face_loss=inch("9/32")), {"R3"}),
    ("loss of the other half", lambda raw: split(raw)["halves"][1].update(face_loss=inch("3/32")), {"R3"}),
    ("one edge loss for both", lambda raw: split(raw)["halves"][1].update(edge_loss=0), {"R3"}),
    ("halves exchanged", lambda raw: split(raw)["halves"].reverse(), {"R3", "R4"}),
    (
        "strip of the far half beyond its box",
        lambda raw: split(raw)["halves"][1].update(strips=[rib("2")]),
        {"R4"},
    ),
    ("nothing in either", lambda raw: [half.update(strips=[]) for half in split(raw)["halves"]], {"R4"}),
    ("waste with a wrong loss", lambda raw: split(raw)["halves"][1].update(strips=[], face_loss=746), {"R3"}),
]


@pytest.mark.parametrize(
    ("change", "broken"), [pytest.param(change, broken, id=name) for name, change, broken in CHANGES]
)
def test_mutation_breaks_the_rule(change: Callable[[Raw], object], broken: set[str]) -> None:
    """Each change of the split is caught, under the rules that it breaks and no others."""
    raw = copy_of(RAW)
    change(raw)
    assert rules(verify(JOB, plan_of(raw))) == broken


@pytest.mark.parametrize("step", [1, -1])
def test_no_number_of_a_split_is_a_step_off_unseen(step: int) -> None:
    """Every single number of the split billet, made one larger or smaller, is caught."""
    for path in leaves(RAW["offcuts"]):
        if path[-1] in ("copy", "keeper", "turned", "extra"):
            continue
        raw = copy_of(RAW)
        put(raw["offcuts"], path, put(raw["offcuts"], path, 0) + step)
        assert verify(JOB, plan_of(raw)), path


def test_halves_are_as_long_as_the_billet() -> None:
    """A half of another length than the billet that was split breaks R4 (no plan file gives one)."""
    plan = plan_of(RAW)
    (segment,) = plan.offcuts[0].segments
    assert isinstance(segment, SplitBillet)
    near = replace(segment.halves[0], end=inch("14"))
    wrong = replace(segment, halves=(near, segment.halves[1]))
    found = verify(JOB, replace(plan, offcuts=(replace(plan.offcuts[0], segments=(wrong,)),)))
    assert "R4" in rules(found)


def test_half_that_is_not_used_is_not_jointed() -> None:
    """A half without strips is waste: it costs no shavings, and a loss larger than its thickness does not matter."""
    raw = copy_of(RAW)
    split(raw)["halves"][1]["strips"] = []
    raw["made"]["Rib"], raw["missing"]["Rib"], raw["proof"]["missing"]["1"] = 1, 1, 1
    found = verify(JOB, plan_of(raw))
    assert {breach.rule for breach in found} == {"account"}
    (shavings,) = (breach for breach in found if breach.message.startswith("shavings"))
    spared = 13 * (Fraction(63, 16) - Fraction(125, 32) * FAR_DEEP)
    spared += 13 * (Fraction(17, 8) * Fraction(13, 16) - Fraction(3, 2))
    assert str(RAW["account"]["shavings"] - cubic(str(spared))) in shavings.message


def with_board(**changes: Any) -> Job:
    """Return the job with a changed board."""
    return replace(JOB, offcuts=(replace(BOARD, **changes),))


def with_shop(**changes: Any) -> Job:
    """Return the job with changed settings."""
    return replace(JOB, shop=Shop(**changes))


JOBS = [
    ("flat board", with_board(cup=inch("1/8") - 1), {"R2", "R3"}),
    ("warp that is not enough", with_shop(split_warp=inch("17/64")), {"R2"}),
    ("bandsaw too low", with_shop(bandsaw_height=inch("63/64")), {"R5"}),
    ("another bandsaw kerf", with_shop(bandsaw_kerf=inch("3/32")), {"R3"}),
    ("jointer narrower than a half", with_shop(jointer_width=inch("3 31/32")), {"R2"}),
    ("coarser marks", with_shop(shown_to=inch("3/16")), {"R2"}),
    ("twisted as well", with_board(twist=inch("1/8")), {"R3"}),
    ("bandsaw just high enough", with_shop(bandsaw_height=inch("1")), set()),
    ("kinked beyond the billet", with_board(kinks=(inch("15"),)), {"R2"}),
    ("a second ring reading", with_board(ring_angle=10, ring_angle_far=20), {"R2"}),
    ("one ring reading", with_board(ring_angle=10), set()),
    ("half the twist is just enough", replace(with_board(twist=3), shop=Shop(split_warp=2034)), {"R3"}),
    ("half the twist is not enough", replace(with_board(twist=3), shop=Shop(split_warp=2035)), {"R2", "R3"}),
]


@pytest.mark.parametrize(("job", "broken"), [pytest.param(job, rule, id=name) for name, job, rule in JOBS])
def test_plan_under_another_job_breaks_the_rule(job: Job, broken: set[str]) -> None:
    """The same plan under a changed board or shop breaks the named rules and no other."""
    assert rules(verify(job, plan_of(RAW))) == broken


@pytest.mark.parametrize(("more", "said"), [(0, []), (1, ["R2"])])
def test_a_half_just_as_wide_as_the_narrowest_rip_may_be_sawn(more: int, said: list[str]) -> None:
    """The far half, 3 15/16 in wide, is the narrower one."""
    found = verify(with_shop(narrowest_rip=inch("3 15/16") + more), plan_of(RAW))
    assert [breach.rule for breach in found if breach.where.endswith("half")] == said


@pytest.mark.parametrize(("less", "said"), [(0, []), (1, ["R2"])])
def test_a_half_that_is_waste_goes_over_the_jointer_all_the_same(less: int, said: list[str]) -> None:
    """Of the halves the near one, 4 in wide, is the wider one; here nothing is cut from it."""
    raw = copy_of(RAW)
    split(raw)["halves"][0]["strips"] = []
    found = verify(with_shop(jointer_width=inch("4") - less), plan_of(raw))
    assert [breach.rule for breach in found if breach.where.endswith("half")] == said


def test_where_any_step_can_be_drawn_a_split_may_lie_on_any() -> None:
    """Shown to a step, the rule has a mark everywhere; what is wrong is the loss of the wider half."""
    raw = copy_of(RAW)
    split(raw).update(split=inch("4") + 1)
    assert "R2" not in rules(verify(with_shop(shown_to=1), plan_of(raw)))


def test_offcut_wider_than_the_jointer_may_be_split() -> None:
    """A flat board too wide for the jointer has no billets, but each half goes over it."""
    job = replace(with_board(cup=0), shop=Shop(jointer_width=inch("4")))
    raw = copy_of(RAW)
    for half in split(raw)["halves"]:
        half["face_loss"] = inch("1/32")
    assert rules(verify(job, plan_of(raw))) == set()


@pytest.mark.parametrize(
    ("y1", "y2", "met"),
    [
        (
            "4 3/32",
            "4 3/32",
            False,
        ),  # just where the far half's strip begins: its box starts 1/32 in from the saw cut
        ("0", "1/32", False),  # jointed away in the near half
        ("0", "3/64", True),
        ("2 5/32", "4 3/32", False),  # between the two ribs, and the saw cut
        ("2 5/32", "4 7/64", True),
        ("6 7/32", "8", False),
        ("6 13/64", "8", True),
    ],
)
def test_defects_lie_in_the_frame_of_their_half(y1: str, y2: str, met: bool) -> None:
    """A knot counts from each half's own edge 1, and moves with the jointing of that half."""
    knot = Defect(kind="knot", x1=inch("5"), x2=inch("6"), y1=inch(y1), y2=inch(y2), z1=0, z2=inch("1"))
    assert (rules(verify(with_board(defects=(knot,)), plan_of(RAW))) == {"R9"}) is met
