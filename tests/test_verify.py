"""The recheck accepts two plans worked out by hand and names the rule that each mutation of them breaks."""

from __future__ import annotations

import json
from dataclasses import replace
from fractions import Fraction
from typing import TYPE_CHECKING, Any

import pytest
from brute import brute_force, witness
from hypothesis import given
from hypothesis import strategies as st
from strategies import jobs, tiny_job, wild_numbers, wild_plans

from yieldplan.model import Blank, Defect, Job, Offcut, Plan, Shop, dump_plan, load_plan
from yieldplan.verify import Breach, verify

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

INCH = 8128
Raw = dict[str, Any]


def inch(text: str) -> int:
    """Return steps of a length written as a sum of fractions of an inch: ``"11 1/8"``."""
    steps = sum(Fraction(part) for part in text.split()) * INCH
    assert steps == int(steps)
    return int(steps)


def cubic(text: str) -> int:
    """Return cubic steps of a volume written in cubic inches."""
    steps = Fraction(text) * INCH**3
    assert steps == int(steps)
    return int(steps)


# The tiny job: one ash offcut 20 x 3 x 1 in, straight; one rib 12 x 2 x 3/4 in; the shop's defaults.

TINY = Job(
    offcuts=(Offcut(name="Ash 1", length=inch("20"), width=inch("3"), thickness=inch("1"), species="Ash"),),
    blanks=(Blank(name="Rib", need=1, length=inch("12"), width=inch("2"), thickness=inch("3/4")),),
    name="tiny.xlsx",
    sha256="ab" * 32,
)

TINY_RAW: Raw = {
    "format": "yieldplan",
    "version": 1,
    "input": {"name": "tiny.xlsx", "sha256": "ab" * 32},
    # worth(20, 3, 1) = 60/144 bf x 1000 x (1 + 20/96) = 503.47; nothing is kept
    "proof": {"missing": {"1": 0}, "net_worth": 503, "bound": 503, "gap": 0.0, "proven": True},
    "made": {"Rib": 1},
    "extra": {"Rib": 0},
    "missing": {"Rib": 0},
    # Both losses are the skim, 1/32 in: the box is 2.96875 x 0.96875 in. In: 20 x 3 x 1 = 60. Blank: 12 x 2
    # x 0.75 = 18. Kerf: crosscut at 13 in, 0.125 x 3 = 0.375; rip 0.125 x 13 x 0.96875 = 1.57421875; resaw
    # (0.15625 is left over, a kerf of it is dust) 0.125 x 13 x 2.125 = 3.453125; the rib's end A 0.125 x
    # 1.5 = 0.1875. Shavings: jointing 13 x (3 - 2.96875 x 0.96875) = 1.6123046875; planing 13 x (2.125 x
    # 0.8125 - 2 x 0.75) = 2.9453125. Trimmings: 60 - 18 - 5.58984375 - 4.5576171875 = 31.8525390625.
    "account": {
        "in": cubic("60"),
        "blanks": cubic("18"),
        "keepers": 0,
        "kerf": cubic("5.58984375"),
        "shavings": cubic("4.5576171875"),
        "trimmings": cubic("31.8525390625"),
    },
    "offcuts": [
        {
            "offcut": "Ash 1",
            "copy": 1,
            "segments": [
                {
                    "kind": "billet",
                    "from": 0,
                    "to": inch("13"),
                    "layout": "rip first",
                    "face_loss": 254,
                    "edge_loss": 254,
                    "strips": [
                        {
                            "from": 0,
                            "to": inch("2 1/8"),
                            "keeper": False,
                            "sticks": [
                                {
                                    "from": 0,
                                    "to": inch("13/16"),
                                    "turned": False,
                                    "keeper": False,
                                    "blanks": [
                                        {
                                            "blank": "Rib",
                                            "extra": False,
                                            "from": inch("1/2"),
                                            "to": inch("13"),
                                            "clear_end": "A",
                                        }
                                    ],
                                    "keepers": [],
                                }
                            ],
                        }
                    ],
                }
            ],
        }
    ],
}

# The rich job: the second of two like oak offcuts 60 x 6 x 2 in, warped, with three defects; a rip-first
# and a resaw-first billet, a whole keeper, a keeper strip, a keeper layer, a keeper stick and a crosscut
# remainder; one frame is extra, the cleat lies turned, the thwart is missing.

RICH = Job(
    offcuts=(
        Offcut(name="Ash 1", length=inch("20"), width=inch("9"), thickness=inch("1"), species="Ash"),
        Offcut(
            name="Oak 2",
            length=inch("60"),
            width=inch("6"),
            thickness=inch("2"),
            qty=2,
            species="White oak",
            bow=inch("1/4"),
            crook=inch("1/4"),
            cup=inch("1/16"),
            twist=inch("1/8"),
            ring_angle=20,
            defects=(
                Defect(
                    kind="knot",
                    x1=inch("25"),
                    x2=inch("26"),
                    y1=inch("2 1/2"),
                    y2=inch("3"),
                    z1=0,
                    z2=inch("2"),
                ),
                Defect(
                    kind="pin  Knot",
                    x1=inch("2"),
                    x2=inch("3"),
                    y1=inch("2 3/8"),
                    y2=inch("2 3/4"),
                    z1=0,
                    z2=inch("1/4"),
                    through=False,
                ),
                Defect(
                    kind="check",
                    x1=inch("10"),
                    x2=inch("11"),
                    y1=inch("2 1/4"),
                    y2=inch("3"),
                    z1=inch("1 3/4"),
                    z2=inch("2"),
                    through=False,
                ),
            ),
        ),
    ),
    blanks=(
        Blank(
            name="Frame",
            need=3,
            extra=1,
            length=inch("10"),
            width=inch("2"),
            thickness=inch("3/4"),
            species=("white  OAK",),
            ring_from=0,
            ring_to=30,
        ),
        Blank(
            name="Cleat",
            need=1,
            extra=2,
            length=inch("20"),
            width=inch("1 1/4"),
            thickness=inch("3/4"),
            ring_from=60,
            ring_to=90,
            allows=("Pin knot",),
            clear_end=inch("6"),
        ),
        Blank(name="Thwart", need=1, length=inch("40"), width=inch("7"), thickness=inch("1"), priority=2),
    ),
    name="rich.xlsx",
    sha256="cd" * 32,
)


def blank_raw(name: str, start: str, end: str, *, extra: bool = False, clear_end: str = "A") -> Raw:
    """Return a cut blank as the plan file writes it, positions in inches."""
    return {"blank": name, "extra": extra, "from": inch(start), "to": inch(end), "clear_end": clear_end}


def stick_raw(start: str, end: str, *blanks: Raw, keeper: bool = False, turned: bool = False) -> Raw:
    """Return a stick as the plan file writes it, positions in inches."""
    return {
        "from": inch(start),
        "to": inch(end),
        "turned": turned,
        "keeper": keeper,
        "blanks": list(blanks),
        "keepers": [],
    }


def strip_raw(start: str, end: str, *sticks: Raw) -> Raw:
    """Return a strip (a keeper where it has no sticks) as the plan file writes it, positions in inches."""
    return {"from": inch(start), "to": inch(end), "keeper": not sticks, "sticks": list(sticks)}


REMAINDER = {"from": inch("11 1/8"), "to": inch("30")}

RICH_RAW: Raw = {
    "format": "yieldplan",
    "version": 1,
    "input": {"name": "rich.xlsx", "sha256": "cd" * 32},
    # worth(60, 6, 2) = 5 bf x 1000 x (1 + 60/96) = 8125. Kept: strip 147.83203125/144 x 1000 x (1 + 30/96)
    # = 1347.43; remainder 28.3125/144 x 1000 x (1 + 18.875/96) = 235.27; stick 45.1318359375/144 x 1000 x
    # (1 + 15/96) = 362.39; layer 89.296875/144 x 1000 x (1 + 15/96) = 717.01; whole 177/144 x 1000 x (1 +
    # 14.75/96) = 1418.02. 8125 - 1347 - 235 - 362 - 717 - 1418 = 4046; the bound 3844 is made up: gap
    # 202/4046.
    "proof": {
        "missing": {"1": 0, "2": 1},
        "net_worth": 4046,
        "bound": 3844,
        "gap": 202 / 4046,
        "proven": False,
    },
    "made": {"Frame": 3, "Cleat": 1, "Thwart": 0},
    "extra": {"Frame": 1, "Cleat": 0, "Thwart": 0},
    "missing": {"Frame": 0, "Cleat": 0, "Thwart": 1},
    # Billet 1 is half the offcut long: F = bow 1/16 + cup 1/16 + twist 1/32 + skim 1/32 = 3/16 in, E = 1/16
    # + 1/32 = 3/32 in; its box is 5.90625 x 1.8125 in. Billet 2 is a quarter: F = 1/64 + 1/16 + 1/64 + 1/32
    # = 1/8 in, E = 1/64 + 1/32 = 3/64 in; its box is 5.953125 x 1.875 in. In: 60 x 6 x 2 = 720. Blanks: 4 x
    # 10 x 2 x 0.75 + 20 x 1.25 x 0.75 = 78.75. Keepers: strip 30 x 2.71875 x 1.8125 = 147.83203125;
    # remainder 18.875 x 2 x 0.75 = 28.3125; stick 15 x 3.703125 x 0.8125 = 45.1318359375; layer 15 x 1 x
    # 5.953125 = 89.296875; whole 14.75 x 12 = 177. Kerf: two crosscuts 0.25 x 12 = 3; two rips 0.25 x 30 x
    # 1.8125 = 13.59375; resaw of strip 1 (1/8 between, 1/16 left over) 0.1875 x 30 x 2.125 = 11.953125, of
    # strip 2 0.125 x 30 x 0.8125 = 3.046875; stick 1 0.25 x 1.5 = 0.375, stick 2 0.375 x 1.5 = 0.5625, the
    # cleat 0.25 x 0.9375 = 0.234375; bandsawn resaw of billet 2 0.0625 x 15 x 5.953125 = 5.5810546875, rip
    # of its layer 0.125 x 15 x 0.8125 = 1.5234375, its frame 0.125 x 1.5 = 0.1875. Shavings: jointing 30 x
    # (12 - 5.90625 x 1.8125) = 38.84765625 and 15 x (12 - 5.953125 x 1.875) = 12.568359375; planing 2 x 30
    # x 0.2265625 = 13.59375, 30 x (0.8125 x 1.375 - 0.9375) = 5.390625, 15 x 0.2265625 = 3.3984375.
    # Trimmings: 720 - 78.75 - 487.5732421875 - 40.0576171875 - 73.798828125 = 39.8203125.
    "account": {
        "in": cubic("720"),
        "blanks": cubic("78.75"),
        "keepers": cubic("487.5732421875"),
        "kerf": cubic("40.0576171875"),
        "shavings": cubic("73.798828125"),
        "trimmings": cubic("39.8203125"),
    },
    "offcuts": [
        {
            "offcut": "Oak 2",
            "copy": 2,
            "segments": [
                {
                    "kind": "billet",
                    "from": 0,
                    "to": inch("30"),
                    "layout": "rip first",
                    "face_loss": inch("3/16"),
                    "edge_loss": inch("3/32"),
                    "strips": [
                        strip_raw(
                            "0",
                            "2 1/8",
                            {
                                **stick_raw("0", "13/16", blank_raw("Frame", "1/2", "11")),
                                "keepers": [REMAINDER],
                            },
                            stick_raw(
                                "15/16",
                                "1 3/4",
                                blank_raw("Frame", "1/2", "11"),
                                blank_raw("Frame", "11 1/8", "21 5/8"),
                            ),
                        ),
                        strip_raw(
                            "2 1/4",
                            "3 1/16",
                            stick_raw(
                                "0",
                                "1 3/8",
                                blank_raw("Cleat", "1/2", "21", clear_end="B"),
                                turned=True,
                            ),
                        ),
                        strip_raw("3 3/16", "5 29/32"),
                    ],
                },
                {
                    "kind": "billet",
                    "from": inch("30 1/8"),
                    "to": inch("45 1/8"),
                    "layout": "resaw first",
                    "face_loss": inch("1/8"),
                    "edge_loss": inch("3/64"),
                    "strips": [
                        strip_raw(
                            "0",
                            "13/16",
                            stick_raw("0", "2 1/8", blank_raw("Frame", "30 1/8", "40 5/8", extra=True)),
                            stick_raw("2 1/4", "5 61/64", keeper=True),
                        ),
                        strip_raw("7/8", "1 7/8"),
                    ],
                },
                {"kind": "keeper", "from": inch("45 1/4"), "to": inch("60")},
            ],
        }
    ],
}


def copy_of(raw: Raw) -> Raw:
    """Return a copy that may be changed."""
    copied: Raw = json.loads(json.dumps(raw))
    return copied


def plan_of(raw: Raw) -> Plan:
    """Return the plan that a raw plan file holds."""
    return load_plan(json.dumps(raw).encode())


def rules(breaches: tuple[Breach, ...]) -> set[str]:
    """Return the R rules that were broken."""
    return {breach.rule for breach in breaches if breach.rule.startswith("R")}


CUTS = 10
"""Crosscuts of the rich plan, 2 + 2 + 3 + 2 + 1: 2 on the offcut; stick 1 at its start and between blank and remainder,
stick 2 also behind its last blank, the cleat at both ends; in billet 2 the frame at its end."""


def lesser_claims(extras: int = 1, offcuts: int = 1, crosscuts: int = 0) -> Raw:
    """Return what a plan file claims of aims 3 and 4."""
    return {"extras_at_most": extras, "offcuts_at_least": offcuts, "crosscuts_at_least": crosscuts}


def segment(raw: Raw, number: int = 0) -> Raw:
    """Return a segment of the first drawn offcut."""
    found: Raw = raw["offcuts"][0]["segments"][number]
    return found


def strip(raw: Raw, number: int = 0, billet: int = 0) -> Raw:
    """Return a strip."""
    found: Raw = segment(raw, billet)["strips"][number]
    return found


def stick(raw: Raw, number: int = 0, of: int = 0, billet: int = 0) -> Raw:
    """Return a stick."""
    found: Raw = strip(raw, of, billet)["sticks"][number]
    return found


def move(piece: Raw, by: str) -> Raw:
    """Shift a piece along its axis, by inches, and return it."""
    piece["from"] += int(Fraction(by) * INCH)
    piece["to"] += int(Fraction(by) * INCH)
    return piece


def stretch(piece: Raw, end: str, by: str) -> None:
    """Move one end of a piece, by inches."""
    piece[end] += int(Fraction(by) * INCH)


def test_claims_may_be_what_the_plan_itself_has() -> None:
    """The rich plan has one extra, draws one offcut, and takes CUTS crosscuts: claims up to these hold, not beyond."""
    raw = copy_of(RICH_RAW)
    for crosscuts, rules_broken in ((CUTS, ()), (CUTS + 1, ("proof",))):
        raw["proof"].update(lesser_claims(crosscuts=crosscuts), missing_at_least={"1": 0, "2": 1})
        assert tuple(breach.rule for breach in verify(RICH, plan_of(raw))) == rules_broken


@pytest.mark.parametrize(("job", "raw"), [(TINY, TINY_RAW), (RICH, RICH_RAW)], ids=["tiny", "rich"])
def test_good_plan_has_no_breach(job: Job, raw: Raw) -> None:
    """A plan worked out by hand, account and worth included, passes."""
    assert verify(job, plan_of(raw)) == ()


def test_plan_file_of_a_good_plan_passes() -> None:
    """A plan that went through its file, where blanks are listed by name, passes still."""
    assert verify(RICH, load_plan(dump_plan(plan_of(RICH_RAW)))) == ()


def test_input_name_alone_does_not_matter() -> None:
    """A renamed input with the same bytes is the same input."""
    assert verify(replace(TINY, name="renamed.xlsx"), plan_of(TINY_RAW)) == ()


# Mutations of a plan. Each is caught, and no rule but the named ones is said to be broken.

TINY_CHANGES: list[tuple[str, Callable[[Raw], object], set[str]]] = [
    ("blank in the end trim", lambda raw: move(stick(raw)["blanks"][0], "-1/64"), {"R1"}),
    (
        "blank in the far end trim",
        lambda raw: [move(piece, by="7") for piece in (segment(raw), stick(raw)["blanks"][0])],
        {"R1"},
    ),
    ("billet too short", lambda raw: stretch(segment(raw), "to", "-65/64"), {"R2", "R8"}),
    ("face loss", lambda raw: segment(raw).update(face_loss=253), {"R3"}),
    ("edge loss", lambda raw: segment(raw).update(edge_loss=0), {"R3"}),
    ("losses exchanged with length", lambda raw: segment(raw).update(face_loss=255, edge_loss=255), {"R3"}),
    ("strip outside the box", lambda raw: move(strip(raw), "7/8"), {"R4"}),
    ("strip before the box", lambda raw: move(strip(raw), "-1/64"), {"R4"}),
    ("strip reversed", lambda raw: strip(raw).update({"from": inch("2 1/8"), "to": 0}), {"R2", "R4", "R6"}),
    ("stick outside the box", lambda raw: move(stick(raw), "3/16"), {"R4"}),
    ("two sticks in one place", lambda raw: strip(raw)["sticks"].append(stick(raw)), {"R4"}),
    ("no strips", lambda raw: segment(raw).update(strips=[]), {"R4"}),
    ("strip without sticks", lambda raw: strip(raw).update(sticks=[]), {"R4"}),
    ("stick without blanks", lambda raw: stick(raw).update(blanks=[]), {"R4"}),
    ("no segments", lambda raw: raw["offcuts"][0].update(segments=[]), {"R4"}),
    ("strip a step wide", lambda raw: strip(raw).update(to=inch("2 1/8") + 1), {"R6"}),
    ("strip a step narrow", lambda raw: strip(raw).update(to=inch("2 1/8") - 1), {"R6"}),
    ("stick a step thin", lambda raw: stick(raw).update(to=inch("13/16") - 1), {"R6"}),
    ("said to be turned", lambda raw: stick(raw).update(turned=True), {"R6"}),
    ("blank a step short", lambda raw: stick(raw)["blanks"][0].update(to=inch("13") - 1), {"R8"}),
    ("blank past the billet", lambda raw: move(stick(raw)["blanks"][0], "1/64"), {"R8"}),
    ("billet past the offcut", lambda raw: segment(raw).update(to=inch("20") + 1), {"R8"}),
    ("billet before the offcut", lambda raw: segment(raw).update({"from": -1}), {"R8"}),
    (
        "billet reversed",
        lambda raw: segment(raw).update({"from": inch("13"), "to": 0}),
        {"R2", "R8"},
    ),
    ("clear end where none is asked", lambda raw: stick(raw)["blanks"][0].update(clear_end="B"), {"R9"}),
    (
        "short keeper",
        lambda raw: raw["offcuts"][0]["segments"].append(
            {"kind": "keeper", "from": inch("13 1/8"), "to": inch("20")}
        ),
        {"R11"},
    ),
    ("keeper strip with a stick", lambda raw: strip(raw).update(keeper=True), {"R11"}),
    ("keeper stick with a blank", lambda raw: stick(raw).update(keeper=True), {"R11"}),
]

RICH_CHANGES: list[tuple[str, Callable[[Raw], object], set[str]]] = [
    (
        "strips a step closer than a kerf",
        lambda raw: strip(raw, 2).update({"from": inch("3 3/16") - 1}),
        {"R5"},
    ),
    ("strips overlap", lambda raw: strip(raw, 2).update({"from": inch("3")}), {"R4"}),
    ("sticks closer than a kerf", lambda raw: move(stick(raw, 1), "-1/64"), {"R5"}),
    ("layers closer than the bandsaw's kerf", lambda raw: stretch(strip(raw, 1, 1), "from", "-1/64"), {"R5"}),
    (
        "sticks of a layer closer than a kerf",
        lambda raw: stretch(stick(raw, 1, 0, 1), "from", "-1/64"),
        {"R5"},
    ),
    ("layouts exchanged", lambda raw: segment(raw, 1).update(layout="rip first"), {"R4", "R5", "R6"}),
    ("turned cleat said to be flat", lambda raw: stick(raw, 0, 1).update(turned=False), {"R6", "R7"}),
    (
        "two sections on a stick",
        lambda raw: stick(raw, 1)["blanks"][1].update(blank="Cleat"),
        {"R6", "R7", "R8"},
    ),
    ("keeper stick said to be turned", lambda raw: stick(raw, 1, 0, 1).update(turned=True), {"R6"}),
    ("segments closer than a kerf", lambda raw: stretch(segment(raw, 2), "from", "-1/64"), {"R8"}),
    ("segments overlap", lambda raw: stretch(segment(raw, 2), "from", "-2"), {"R8"}),
    ("segments out of order", lambda raw: raw["offcuts"][0]["segments"].reverse(), {"R8"}),
    ("blanks closer than a kerf", lambda raw: move(stick(raw, 1)["blanks"][1], "-1/64"), {"R8"}),
    ("blanks overlap", lambda raw: move(stick(raw, 1)["blanks"][1], "-1"), {"R8"}),
    ("remainder closer than a kerf", lambda raw: stretch(stick(raw)["keepers"][0], "from", "-1/64"), {"R8"}),
    ("remainder past the billet", lambda raw: stretch(stick(raw)["keepers"][0], "to", "1"), {"R8"}),
    ("remainder in a blank", lambda raw: stretch(stick(raw)["keepers"][0], "from", "-1"), {"R8"}),
    (
        "knot in a blank that allows pin knots",
        lambda raw: move(stick(raw, 0, 1)["blanks"][0], "257/64"),
        {"R9"},
    ),
    ("pin knot in the clear end", lambda raw: stick(raw, 0, 1)["blanks"][0].update(clear_end="A"), {"R9"}),
    ("defect on face 2, moved by jointing", lambda raw: move(stick(raw, 0, 1), "13/64"), {"R9"}),
    ("defect on the edge of strip 1, moved by jointing", lambda raw: move(strip(raw), "3/64"), {"R5", "R9"}),
    ("short remainder", lambda raw: stick(raw)["keepers"][0].update({"from": inch("18 1/64")}), {"R11"}),
    ("short whole keeper", lambda raw: segment(raw, 2).update({"from": inch("48 1/64")}), {"R11"}),
    ("thin keeper strip", lambda raw: strip(raw, 2).update({"from": inch("5 5/32") + 1}), {"R2", "R11"}),
    ("slender keeper stick", lambda raw: stick(raw, 1, 0, 1).update({"from": inch("4 29/64") + 1}), {"R11"}),
    ("remainder without a blank", lambda raw: stick(raw).update(blanks=[]), {"R4", "R11"}),
    (
        "keeper stick below the narrowest rip",
        lambda raw: stretch(stick(raw, 1, 0, 1), "to", "-3"),
        {"R2", "R11"},
    ),
]


@pytest.mark.parametrize(
    ("job", "raw", "change", "broken"),
    [
        pytest.param(job, raw, change, broken, id=f"{word}: {name}")
        for word, job, raw, changes in (
            ("tiny", TINY, TINY_RAW, TINY_CHANGES),
            ("rich", RICH, RICH_RAW, RICH_CHANGES),
        )
        for name, change, broken in changes
    ],
)
def test_mutation_of_a_plan_names_its_rule(
    job: Job, raw: Raw, change: Callable[[Raw], object], broken: set[str]
) -> None:
    """A change of the plan breaks the named rules and no other."""
    changed = copy_of(raw)
    change(changed)
    assert rules(verify(job, plan_of(changed))) == broken


def with_oak(**values: object) -> Job:
    """Return the rich job with another oak offcut."""
    ash, oak = RICH.offcuts
    return replace(RICH, offcuts=(ash, replace(oak, **values)))  # type: ignore[arg-type]


def with_blank(number: int, **values: object) -> Job:
    """Return the rich job with one blank changed."""
    blanks = list(RICH.blanks)
    blanks[number] = replace(blanks[number], **values)  # type: ignore[arg-type]
    return replace(RICH, blanks=tuple(blanks))


def with_shop(**values: object) -> Job:
    """Return the rich job with other shop settings."""
    return replace(RICH, shop=replace(Shop(), **values))  # type: ignore[arg-type]


JOB_CHANGES: list[tuple[str, Job, set[str]]] = [
    ("longer end trim", with_shop(end_trim=inch("9/16")), {"R1"}),
    ("longer shortest machined length", with_shop(shortest_machined_length=inch("15 1/64")), {"R2"}),
    ("smaller jointer", with_shop(jointer_width=inch("5 63/64")), {"R2"}),
    ("smaller planer", with_shop(planer_width=inch("1 63/64")), {"R2"}),
    ("thicker thinnest planed", with_shop(thinnest_planed=inch("49/64")), {"R2"}),
    ("wider narrowest rip", with_shop(narrowest_rip=inch("53/64")), {"R2"}),
    ("more cup", with_oak(cup=inch("5/64")), {"R3", "R4"}),
    ("more crook", with_oak(crook=inch("9/32")), {"R3", "R4"}),
    ("cup that leaves nothing", with_oak(cup=inch("2")), {"R3", "R4", "R9", "R11"}),
    ("wider rip kerf", with_shop(rip_kerf=inch("9/64")), {"R5"}),
    ("wider bandsaw kerf", with_shop(bandsaw_kerf=inch("5/64")), {"R5"}),
    ("no saw reaches the wide resaw", with_shop(bandsaw_height=inch("5 63/64")), {"R5"}),
    ("no saw reaches any cut", with_shop(saw_depth=0, bandsaw_height=0), {"R5"}),
    ("other width allowance", with_shop(width_allowance=inch("9/64")), {"R6"}),
    ("other thickness allowance", with_shop(thickness_allowance=inch("3/64")), {"R6"}),
    ("rings too flat for the cleat", with_oak(ring_angle=31), {"R7"}),
    ("rings a degree out for the cleat", with_blank(1, ring_from=71), {"R7"}),
    ("rings a degree out for the frame", with_blank(0, ring_to=19), {"R7"}),
    ("rings not read", with_oak(ring_angle=None), {"R7"}),
    ("rings read by a word that says too little", with_oak(ring_angle=(20, 31)), {"R7"}),
    ("rings out of range towards the far edge", with_oak(ring_angle=20, ring_angle_far=45), {"R7"}),
    ("slope not read", with_blank(0, max_slope=Fraction(1, 10)), {"R7"}),
    ("wood wetter than the target", replace(
        with_oak(moisture=Fraction(15)), shop=Shop(target_moisture=Fraction(12))
    ), {"R6"}),
    ("a kink under a billet", with_oak(kinks=(inch("10"),)), {"R3", "R4", "R9", "R11"}),
    ("a steeper slope than the limit", replace(
        with_oak(grain_slope=Fraction(1, 9)), blanks=with_blank(0, max_slope=Fraction(1, 10)).blanks
    ), {"R7"}),
    ("snipe", with_shop(snipe=inch("33/64")), {"R8"}),
    ("longer length allowance", with_shop(length_allowance=inch("33/64")), {"R8"}),
    ("wider crosscut kerf", with_shop(crosscut_kerf=inch("9/64")), {"R8"}),
    ("cleat that allows nothing", with_blank(1, allows=()), {"R9"}),
    ("cleat clear over its whole length", with_blank(1, clear_end=inch("30")), {"R9"}),
    ("through check instead of one on a face", with_oak(
        defects=(*RICH.offcuts[1].defects[:2], replace(RICH.offcuts[1].defects[2], through=True))
    ), {"R9"}),
    ("other species", with_oak(species="Red oak"), {"R10"}),
    ("no species", with_oak(species=""), {"R10"}),
    ("longer keepers", with_shop(keeper_length=inch("14 49/64")), {"R11"}),
    ("wider keepers", with_shop(keeper_width=inch("2 1/64")), {"R11"}),
    ("thicker keepers", with_shop(keeper_thickness=inch("49/64")), {"R11"}),
]  # fmt: skip


@pytest.mark.parametrize(
    ("job", "broken"), [pytest.param(job, broken, id=name) for name, job, broken in JOB_CHANGES]
)
def test_plan_under_another_job_names_the_rule(job: Job, broken: set[str]) -> None:
    """The same plan under a changed shop, offcut or blank breaks the named rules and no other."""
    assert rules(verify(job, plan_of(RICH_RAW))) == broken


def test_keeper_section_counts_either_way_round() -> None:
    """Keeper width and thickness may be met the other way round: 3/4 by 1 1/2 is a keeper too."""
    job = with_shop(keeper_width=inch("3/4"), keeper_thickness=inch("1 1/2"))
    assert verify(job, plan_of(RICH_RAW)) == ()


def test_jointed_defect_that_only_touches_is_not_met() -> None:
    """The check on face 2 counts from 1 9/16 in; a stick that ends just there does not meet it."""
    raw = copy_of(RICH_RAW)
    move(stick(raw, 0, 1), "3/16")
    assert rules(verify(RICH, plan_of(raw))) == set()


def test_defect_of_no_thickness_inside_a_blank_is_met() -> None:
    """A hairline shake (x1 = x2) strictly inside a blank is met; at its very end it is not."""
    hairline = Defect(kind="shake", x1=inch("5"), x2=inch("5"), y1=0, y2=inch("3"), z1=0, z2=inch("1"))
    inside = replace(TINY, offcuts=(replace(TINY.offcuts[0], defects=(hairline,)),))
    at_end = replace(
        TINY, offcuts=(replace(TINY.offcuts[0], defects=(replace(hairline, x1=inch("13"), x2=inch("13")),)),)
    )
    assert rules(verify(inside, plan_of(TINY_RAW))) == {"R9"}
    assert rules(verify(at_end, plan_of(TINY_RAW))) == set()


def test_strip_as_wide_as_the_box_needs_no_saw() -> None:
    """Where the strip and the stick fill the box no cut is made, so no saw need reach."""
    job = replace(
        TINY,
        offcuts=(replace(TINY.offcuts[0], width=inch("2 5/32"), thickness=inch("27/32")),),
        shop=Shop(saw_depth=0, bandsaw_height=0),
    )
    assert rules(verify(job, plan_of(TINY_RAW))) == set()


def test_strip_a_step_from_the_edge_needs_a_saw() -> None:
    """The least gap before the only strip is a cut, and no saw reaches."""
    wide = replace(TINY.offcuts[0], width=inch("2 5/32") + 1, thickness=inch("27/32"))
    job = replace(TINY, offcuts=(wide,), shop=Shop(saw_depth=0, bandsaw_height=0))
    raw = copy_of(TINY_RAW)
    strip(raw).update({end: strip(raw)[end] + 1 for end in ("from", "to")})
    assert "R5" in rules(verify(job, plan_of(raw)))


# Mutations of what stands beside the cuts.

OTHER_CHANGES: list[tuple[str, Callable[[Raw], object], str]] = [
    ("fingerprint", lambda raw: raw["input"].update(sha256="ef" * 32), "input"),
    ("unknown offcut", lambda raw: raw["offcuts"][0].update(offcut="Elm 9"), "input"),
    ("copy 0", lambda raw: raw["offcuts"][0].update(copy=0), "input"),
    ("copy beyond qty", lambda raw: raw["offcuts"][0].update(copy=3), "input"),
    ("a copy cut twice", lambda raw: raw["offcuts"].append(raw["offcuts"][0]), "input"),
    ("unknown blank", lambda raw: stick(raw)["blanks"][0].update(blank="Knee"), "input"),
    ("made one more", lambda raw: raw["made"].update(Frame=4), "counts"),
    ("made of an unknown blank", lambda raw: raw["made"].update(Knee=0), "counts"),
    ("made leaves a blank out", lambda raw: raw["made"].pop("Thwart"), "counts"),
    ("extra hidden", lambda raw: raw["extra"].update(Frame=0), "counts"),
    ("missing hidden", lambda raw: raw["missing"].update(Thwart=0), "counts"),
    ("extra called needed", lambda raw: stick(raw, 0, 0, 1)["blanks"][0].update(extra=False), "counts"),
    ("needed called extra", lambda raw: stick(raw, 0, 1)["blanks"][0].update(extra=True), "counts"),
    ("two extras of one", lambda raw: stick(raw)["blanks"][0].update(extra=True), "counts"),
    ("only whole keepers", lambda raw: raw["offcuts"][0].update(segments=[segment(raw, 2)]), "counts"),
    ("missing a class", lambda raw: raw["proof"]["missing"].update({"2": 0}), "proof"),
    ("missing in no class", lambda raw: raw["proof"].update(missing={"1": 0}), "proof"),
    ("missing in an unknown class", lambda raw: raw["proof"]["missing"].update({"3": 0}), "proof"),
    ("net worth", lambda raw: raw["proof"].update(net_worth=4045), "proof"),
    ("bound above", lambda raw: raw["proof"].update(bound=4047, gap=-1 / 4046), "proof"),
    ("gap", lambda raw: raw["proof"].update(gap=0.0), "proof"),
    ("gap not a number", lambda raw: raw["proof"].update(gap=float("nan")), "proof"),
    ("gap without end", lambda raw: raw["proof"].update(gap=float("inf")), "proof"),
    (
        "fewer missing than claimed",
        lambda raw: raw["proof"].update(missing_at_least={"1": 0, "2": 2}),
        "proof",
    ),
    (
        "a bound for a class that is none",
        lambda raw: raw["proof"].update(missing_at_least={"1": 0, "2": 1, "3": 0}),
        "proof",
    ),
    ("more extras than claimed", lambda raw: raw["proof"].update(lesser_claims(extras=0)), "proof"),
    ("fewer offcuts than claimed", lambda raw: raw["proof"].update(lesser_claims(offcuts=2)), "proof"),
    ("fewer crosscuts than claimed", lambda raw: raw["proof"].update(lesser_claims(crosscuts=99)), "proof"),
    ("proven with a gap", lambda raw: raw["proof"].update(proven=True), "proof"),
    (
        "volume in",
        lambda raw: raw["account"].update({"in": cubic("721"), "trimmings": cubic("40.8203125")}),
        "account",
    ),
    (
        "kerf called trimmings",
        lambda raw: raw["account"].update(kerf=0, trimmings=cubic("79.8779296875")),
        "account",
    ),
    ("a cubic step too many", lambda raw: raw["account"].update(blanks=cubic("78.75") + 1), "account"),
]  # fmt: skip


@pytest.mark.parametrize(
    ("change", "rule"), [pytest.param(change, rule, id=name) for name, change, rule in OTHER_CHANGES]
)
def test_mutation_beside_the_cuts_is_named(change: Callable[[Raw], object], rule: str) -> None:
    """A wrong name, count, figure or claim is found and named for what it is."""
    changed = copy_of(RICH_RAW)
    change(changed)
    assert rule in {breach.rule for breach in verify(RICH, plan_of(changed))}


def test_a_blank_listed_twice_is_a_breach() -> None:
    """A blank that stands twice under made is a breach of the counts."""
    plan = plan_of(TINY_RAW)
    breaches = verify(TINY, replace(plan, made=(("Rib", 1), ("Rib", 1))))
    assert [breach.rule for breach in breaches] == ["counts"]


def test_extras_while_needed_ones_are_missing() -> None:
    """An extra of a kind that misses a needed one is a breach even where the counts say so."""
    job = with_blank(0, need=4)
    raw = copy_of(RICH_RAW)
    raw["missing"]["Frame"] = 1
    raw["proof"]["missing"]["1"] = 1
    assert [breach.rule for breach in verify(job, plan_of(raw))] == ["counts"]


def test_offcut_drawn_for_extras_alone() -> None:
    """An offcut that gives extras only is a breach even where the counts agree."""
    job = replace(TINY, blanks=(replace(TINY.blanks[0], need=0, extra=1),))
    raw = copy_of(TINY_RAW)
    raw["made"]["Rib"], raw["extra"]["Rib"] = 0, 1
    stick(raw)["blanks"][0]["extra"] = True
    assert [breach.rule for breach in verify(job, plan_of(raw))] == ["counts"]


def test_unknown_layout_is_a_breach() -> None:
    """A layout that is neither of the two breaks R4 (no plan file gives one, a program might)."""
    plan = plan_of(TINY_RAW)
    drawn = plan.offcuts[0]
    billet = replace(drawn.segments[0], layout="sideways")  # type: ignore[arg-type]
    wrong = replace(plan, offcuts=(replace(drawn, segments=(billet,)),))
    assert "R4" in rules(verify(TINY, wrong))


def test_nothing_drawn_is_right_where_nothing_is_said_to_be_made() -> None:
    """An empty plan with everything missing is right."""
    raw = copy_of(TINY_RAW)
    raw.update(offcuts=[], made={"Rib": 0}, missing={"Rib": 1})
    raw["proof"].update(missing={"1": 1}, net_worth=0, bound=0)
    raw["account"] = dict.fromkeys(raw["account"], 0)
    assert verify(TINY, plan_of(raw)) == ()


def test_sentence_in_inches() -> None:
    """A breach reads as a sentence: rule, place, what was found and needed, in steps and inches."""
    raw = copy_of(TINY_RAW)
    strip(raw)["to"] -= 100
    first = verify(TINY, plan_of(raw))[0]
    assert first.where == "offcut Ash 1 copy 1, billet 1, strip 1, stick 1"
    assert first.sentence() == (
        "R6 section, offcut Ash 1 copy 1, billet 1, strip 1, stick 1: its rough size across y is "
        "17172 steps (about 2 7/64 in); its blanks lie flat, their width needs 17272 steps (2 1/8 in) there."
    )


def test_sentence_in_millimetres() -> None:
    """Where the shop's unit is mm, sizes are shown in mm."""
    raw = copy_of(TINY_RAW)
    segment(raw)["face_loss"] = -320
    job = replace(TINY, shop=Shop(units="mm"))
    (breach,) = verify(job, plan_of(raw))
    assert breach.message == (
        "its face loss is said to be -320 steps (-1.0 mm); a billet 105664 steps (330.2 mm) long loses "
        "254 steps (about 0.8 mm)"
    )


def leaves(raw: Any, path: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    """Yield the path of every number and flag in a raw plan."""
    if isinstance(raw, dict):
        for key, value in raw.items():
            yield from leaves(value, (*path, key))
    elif isinstance(raw, list):
        for key, value in enumerate(raw):
            yield from leaves(value, (*path, key))
    elif isinstance(raw, int):
        yield path


def put(raw: Raw, path: tuple[Any, ...], value: Any) -> Any:
    """Put a value at a path and return what stood there."""
    place: Any = raw
    for key in path[:-1]:
        place = place[key]
    old, place[path[-1]] = place[path[-1]], value
    return old


LEAVES = [path for path in leaves(RICH_RAW) if path[0] not in ("format", "version")]
NUMBERS = [path for path in LEAVES if path[-1] not in ("copy", "keeper", "turned", "extra", "proven")]
FLAGS = [path for path in LEAVES if path[-1] in ("keeper", "turned", "extra", "proven")]


@pytest.mark.parametrize("step", [1, -1])
def test_no_number_of_a_plan_is_a_step_off_unseen(step: int) -> None:
    """Every single number of a good plan, made one larger or smaller, is caught (but for the copy's)."""
    for path in NUMBERS:
        raw = copy_of(RICH_RAW)
        put(raw, path, put(raw, path, 0) + step)
        assert verify(RICH, plan_of(raw)), path


def test_no_flag_of_a_plan_is_turned_over_unseen() -> None:
    """Every single flag of a good plan, turned over, is caught."""
    for path in FLAGS:
        raw = copy_of(RICH_RAW)
        put(raw, path, not put(raw, path, None))
        assert verify(RICH, plan_of(raw)), path


@given(path=st.sampled_from(NUMBERS), number=wild_numbers())
def test_wild_number_is_a_breach_not_a_crash(path: tuple[Any, ...], number: int) -> None:
    """Any number anywhere in a plan is either the right one or gives a breach that can be said."""
    raw = copy_of(RICH_RAW)
    old = put(raw, path, 0)
    plan = plan_with(raw, path, number)
    breaches = verify(RICH, plan)
    assert bool(breaches) == (number != old)
    assert all(breach.sentence().endswith(".") for breach in breaches)


def plan_with(raw: Raw, path: tuple[Any, ...], number: int) -> Plan:
    """Return the plan with a number at a path, never printed (it may be too long for Python to print)."""
    marker = 77_777_777_777_777
    put(raw, path, marker)
    plan: Plan = swapped(plan_of(raw), marker, number)
    return plan


def swapped(value: Any, marker: int, number: int) -> Any:
    """Return a plan, or a part of one, with one number in another's stead."""
    if isinstance(value, tuple):
        return tuple(swapped(part, marker, number) for part in value)
    if hasattr(value, "__slots__"):
        return replace(
            value, **{name: swapped(getattr(value, name), marker, number) for name in value.__slots__}
        )
    return number if type(value) is int and value == marker else value


@given(job=jobs(), data=st.data())
def test_any_plan_gives_breaches_not_exceptions(job: Job, data: st.DataObject) -> None:
    """A plan put together at random is answered with breaches, each of which can be said."""
    for breach in verify(job, data.draw(wild_plans(job))):
        assert breach.sentence()


@pytest.mark.parametrize("seed", range(2, 32))
def test_plans_found_by_enumeration_pass(seed: int) -> None:
    """The best plan of a tiny job, found by other code, keeps every rule and is worth what it claims."""
    job = tiny_job(seed)
    assert verify(job, witness(job, brute_force(job))) == ()
