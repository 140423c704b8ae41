"""Three plans worked out by hand, every figure of them, and what the tests of the recheck change them with."""

from __future__ import annotations

import json
from dataclasses import replace
from fractions import Fraction
from typing import TYPE_CHECKING, Any

from yieldplan.model import Blank, Defect, Job, Offcut, Plan, Shop
from yieldplan.model.planfile import load_plan
from yieldplan.model.shop import INCH

if TYPE_CHECKING:
    from collections.abc import Iterator

    from yieldplan.verify import Breach

Raw = dict[str, Any]
F = Fraction


def inch(text: str) -> int:
    """Return steps of a length written as a sum of fractions of an inch: ``"11 1/8"``."""
    steps = sum(Fraction(part) for part in text.split()) * INCH
    assert steps == int(steps)
    return int(steps)


MARK = inch("1/32")


def cubic(volume: Fraction) -> int:
    """Return cubic steps of a volume in cubic inches."""
    steps = volume * INCH**3
    assert steps == int(steps)
    return int(steps)


def account(**figures: Fraction | int) -> Raw:
    """Return an account of figures in cubic inches; trimmings are what is left of ``volume_in``."""
    found = {name: Fraction(figure) for name, figure in figures.items()}
    found["in"] = found.pop("volume_in")
    found["trimmings"] = 2 * found["in"] - sum(found.values())
    return {name: cubic(figure) for name, figure in found.items()}


def worth(length: Fraction, one: Fraction, other: Fraction) -> int:
    """Return the worth of a piece in inches at the default premium: floor(1000 v (1 + l/96))."""
    return int(1000 * length * one * other / 144 * (1 + length / 96))


def proof(missing: dict[str, int], *, net: int, work: int, bound: int | None = None) -> Raw:
    """Return a proof by which nothing misses fewer; ``work`` is the price of the work, ``bound`` the cost itself."""
    cost = net + work
    least = cost if bound is None else bound
    return {
        "missing": missing,
        "missing_at_least": dict(missing),
        "cost": cost,
        "net_worth": net,
        "bound": least,
        "gap": (cost - least) / cost,
        "proven": 1000 * (cost - least) <= cost,
    }


def work(*counts: int, settings: tuple[int, int, int], hundredths: int) -> Raw:
    """Return the work: offcuts, billets, sticks, passes, bandsaw passes, odd cuts, crosscuts; then settings."""
    names = ("offcuts", "billets", "sticks", "passes", "bandsaw_passes", "odd_cuts", "crosscuts")
    return {
        **dict(zip(names, counts, strict=True)),
        "settings": dict(zip(("saws", "planer", "stop"), settings, strict=True)),
        "hundredths": hundredths,
    }


def head(job: Job) -> Raw:
    """Return what a plan file for a job begins with."""
    return {
        "format": "yieldplan",
        "version": 2,
        "input": {"name": job.name, "sha256": job.sha256},
        "mark": MARK,
    }


def blank(name: str, start: str, end: str, *, spare: bool = False, clear_end: str = "A") -> Raw:
    """Return a cut blank as the plan file writes it, positions in inches."""
    return {"blank": name, "spare": spare, "from": inch(start), "to": inch(end), "clear_end": clear_end}


def stick_of(start: str, end: str, *blanks: Raw, turned: bool = False) -> Raw:
    """Return a stick as the plan file writes it, positions in inches."""
    return {"from": inch(start), "to": inch(end), "turned": turned, "blanks": list(blanks)}


def strip_of(start: str, end: str, *sticks: Raw) -> Raw:
    """Return a strip or layer as the plan file writes it, positions in inches."""
    return {"from": inch(start), "to": inch(end), "sticks": list(sticks)}


def layout(word: str, face: str, edge: str, *strips: Raw) -> Raw:
    """Return what is done with a billet or half, its losses in inches."""
    return {
        "layout": f"{word} first",
        "face_loss": inch(face),
        "edge_loss": inch(edge),
        "strips": list(strips),
    }


# The tiny job: one ash offcut 20 x 3 x 1 in, straight; one rib 12 x 2 x 3/4 in; the shop's defaults.

TINY = Job(
    offcuts=(Offcut(name="Ash 1", length=inch("20"), width=inch("3"), thickness=inch("1"), species="Ash"),),
    blanks=(Blank(name="Rib", need=1, length=inch("12"), width=inch("2"), thickness=inch("3/4")),),
    name="tiny.xlsx",
    sha256="ab" * 32,
)

TINY_RAW: Raw = {
    **head(TINY),
    # worth(20, 3, 1) = 60/144 bf x 1000 x (1 + 20/96) = 503.47; nothing is kept.
    "proof": proof({"1": 0, "spares": 0}, net=503, work=1800),
    "made": {"Rib": 1},
    "spare": {"Rib": 0},
    "missing": {"Rib": 0},
    # Both losses are the skim, 1/16 in: the box is 2 15/16 x 15/16 in. The rip leaves 13/16 in, more than is planed
    # off; over the stick there is 1/8 in, which the planer takes. Kerf: both ends of the billet, the rip, both ends
    # of the rib.
    "account": account(
        volume_in=60,
        blanks=18,
        keepers=0,
        kerf=F(1, 4) * 3 + F(1, 8) * 13 * F(15, 16) + F(1, 4) * F(3, 2),
        shavings=13 * (3 - F(47, 16) * F(15, 16))
        + 13 * (F(17, 8) * F(13, 16) - F(3, 2))
        + 13 * F(17, 8) * F(1, 8),
    ),
    # One rip at 2 1/8; planer at 2 and at 3/4; stop at 12. (1 + 2) x 2 min, stop 1, offcut 4, billet 3, (1 pass + 4
    # crosscuts) x 0.5, stick 1.5: 18 min, and 10 min are a board foot.
    "work": work(1, 1, 1, 1, 0, 0, 4, settings=(1, 2, 1), hundredths=1800),
    "offcuts": [
        {
            "offcut": "Ash 1",
            "copy": 1,
            "billets": [
                {
                    "from": inch("1/2"),
                    "to": inch("13 1/2"),
                    **layout(
                        "rip",
                        "1/16",
                        "1/16",
                        strip_of("0", "2 1/8", stick_of("0", "13/16", blank("Rib", "1", "13"))),
                    ),
                }
            ],
        }
    ],
}

# The rich job: the second of two like oak offcuts 60 x 6 x 2 in, warped, with three defects; a rip-first and a
# resaw-first billet; keepers of every form; one frame is a spare, the cleat lies turned, the thwart is missing.

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
            spare=1,
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
            spare=2,
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
    shop=Shop(resaw_height=inch("6"), keeper_length=inch("14"), keeper_thickness=inch("3/4")),
    name="rich.xlsx",
    sha256="cd" * 32,
)

# Billet 1 is half the offcut long: F = bow 1/16 + cup 1/16 + twist 1/32 + skim 1/16 = 7/32 in, E = 1/16 + 1/16 = 1/8
# in; its box is 5 7/8 x 1 25/32 in. Billet 2 is a quarter: F = 1/64 + 1/16 + 1/64 + 1/16 = 5/32 in, E = 1/64 + 1/16, up
# to 3/32 in; its box is 5 29/32 x 1 27/32 in. Cuts up to 2 in high go on the table saw (kerf 1/8), the resaws of
# strip 1 and of billet 2 on the bandsaw (1/16 and a skim of 1/32).
RICH_KEPT = (
    (F(57, 4), F(6), F(2)),  # the length behind billet 2
    (F(30), F(43, 16), F(57, 32)),  # the strip behind the cleat's
    (F(155, 8), F(2), F(3, 4)),  # the end of the first stick
    (F(15), F(189, 32), F(15, 16)),  # the layer behind the frame's
    (F(15), F(109, 32), F(13, 16)),  # the stick behind the spare frame's
)
RICH_NET = worth(F(60), F(6), F(2)) - sum(worth(*size) for size in RICH_KEPT)

RICH_RAW: Raw = {
    **head(RICH),
    "proof": proof({"1": 0, "2": 1, "spares": 2}, net=RICH_NET, work=4950, bound=RICH_NET + 4750),
    "made": {"Frame": 3, "Cleat": 1, "Thwart": 0},
    "spare": {"Frame": 1, "Cleat": 0, "Thwart": 0},
    "missing": {"Frame": 0, "Cleat": 0, "Thwart": 1},
    "account": account(
        volume_in=720,
        blanks=4 * 15 + 20 * F(15, 16),
        keepers=sum(one * two * three for one, two, three in RICH_KEPT),
        kerf=F(3, 8) * 12  # three rough crosscuts
        + F(1, 4) * 30 * F(57, 32)  # two rips
        + F(3, 32) * 30 * F(17, 8)  # the resaw of strip 1; what is over its last stick is planed off
        + F(1, 8) * 30 * F(13, 16)  # the resaw of the cleat
        + F(3, 32) * 15 * F(189, 32)  # the resaw of billet 2
        + F(1, 4) * 15 * F(13, 16)  # the odd cut before the frame, and its rip
        + (F(1, 4) + F(3, 8) + F(1, 4))
        * F(3, 2)  # both ends of three sticks of frames, and between two of them
        + F(1, 4) * F(15, 16),  # both ends of the cleat
        shavings=30 * (12 - F(47, 8) * F(57, 32))
        + 15 * (12 - F(189, 32) * F(59, 32))
        + (2 * 30 + 15) * (F(17, 8) * F(13, 16) - F(3, 2))
        + 30 * (F(11, 8) * F(13, 16) - F(15, 16))
        + 30 * F(17, 8) * F(1, 16),
    ),
    # Passes: two rips, the resaw of strip 1 (bandsaw), that of the cleat; the resaw of billet 2 (bandsaw), an odd
    # cut and the rip of its layer. Crosscuts: 3 rough; 2, 3, 2 and 2 final. Saw settings: rips 2 1/8 and 13/16, resaws
    # 13/16 (bandsaw) and 1 3/8; in billet 2 the first row 13/16 (bandsaw), the second 2 1/8; the odd cut. Planer at 2,
    # 1 1/4 and 3/4; stop at 10 and 20. (7 + 3) x 2 min, 2 stops, offcut 4, 2 x 3, (5 + 12) x 0.5, 2 x 1.5, 4 x 1.5.
    "work": work(1, 2, 4, 7, 2, 1, 12, settings=(7, 3, 2), hundredths=4950),
    "offcuts": [
        {
            "offcut": "Oak 2",
            "copy": 2,
            "billets": [
                {
                    "from": inch("1/2"),
                    "to": inch("30 1/2"),
                    **layout(
                        "rip",
                        "7/32",
                        "1/8",
                        strip_of(
                            "0",
                            "2 1/8",
                            stick_of("0", "13/16", blank("Frame", "1", "11")),
                            stick_of(
                                "29/32",
                                "1 23/32",
                                blank("Frame", "1", "11"),
                                blank("Frame", "11 1/8", "21 1/8"),
                            ),
                        ),
                        strip_of(
                            "2 1/4",
                            "3 1/16",
                            stick_of("0", "1 3/8", blank("Cleat", "1", "21", clear_end="B"), turned=True),
                        ),
                    ),
                },
                {
                    "from": inch("30 5/8"),
                    "to": inch("45 5/8"),
                    **layout(
                        "resaw",
                        "5/32",
                        "3/32",
                        strip_of(
                            "0",
                            "13/16",
                            stick_of("1/4", "2 3/8", blank("Frame", "31 1/8", "41 1/8", spare=True)),
                        ),
                    ),
                },
            ],
        }
    ],
}

# The cupped job: an elm board 20 x 8 x 1 in with a cup of 1/4 in; two ribs. Whole, it is faced away: 1 - 1/4 - 1/16
# leaves 11/16 in, and a rib needs 13/16. Split at 4 in the near half has a quarter of the cup, 1/16 in: F = 1/8 in. The
# far one is 3 15/16 in wide: cup 1/4 x (63/128)^2 and the skim come to 3.94 marks, so F = 1/8 in too.

CUPPED = Job(
    offcuts=(Offcut(name="Elm 1", length=inch("20"), width=inch("8"), thickness=inch("1"), cup=inch("1/4")),),
    blanks=(Blank(name="Rib", need=2, length=inch("12"), width=inch("2"), thickness=inch("3/4")),),
    shop=Shop(keeper_length=inch("13"), keeper_width=inch("1 11/16"), keeper_thickness=inch("3/4")),
    name="cupped.xlsx",
    sha256="ef" * 32,
)

CUPPED_KEPT = F(13), F(27, 16), F(7, 8)  # beside the near rib; beside the far one 1/16 in less is no keeper
CUPPED_NET = worth(F(20), F(8), F(1)) - worth(*CUPPED_KEPT)


def rib_strip(start: str = "0") -> Raw:
    """Return a strip of 2 1/8 in with one rib on it."""
    end = str(Fraction(start) + Fraction(17, 8))
    return strip_of(start, end, stick_of("0", "13/16", blank("Rib", "1", "13")))


CUPPED_RAW: Raw = {
    **head(CUPPED),
    "proof": proof({"1": 0, "spares": 0}, net=CUPPED_NET, work=2750),
    "made": {"Rib": 2},
    "spare": {"Rib": 0},
    "missing": {"Rib": 0},
    "account": account(
        volume_in=160,
        blanks=36,
        keepers=CUPPED_KEPT[0] * CUPPED_KEPT[1] * CUPPED_KEPT[2],
        kerf=F(1, 4) * 8 + F(1, 16) * 13 + 2 * F(1, 8) * 13 * F(7, 8) + 2 * F(1, 4) * F(3, 2),
        shavings=13 * (4 - F(63, 16) * F(7, 8))
        + 13 * (F(63, 16) - F(31, 8) * F(7, 8))
        + 2 * 13 * (F(17, 8) * F(13, 16) - F(3, 2))
        + 2 * 13 * F(17, 8) * F(1, 16),
    ),
    # The split is an odd cut on the bandsaw; one rip in each half, at one setting. (2 + 2) x 2 min, stop 1, offcut 4,
    # 2 halves x 3, (2 + 6) x 0.5, 1.5, 2 x 1.5.
    "work": work(1, 2, 2, 3, 1, 1, 6, settings=(2, 2, 1), hundredths=2750),
    "offcuts": [
        {
            "offcut": "Elm 1",
            "copy": 1,
            "billets": [
                {
                    "from": inch("1/2"),
                    "to": inch("13 1/2"),
                    "split": inch("4"),
                    "halves": [
                        layout("rip", "1/8", "1/16", rib_strip()),
                        layout("rip", "1/8", "1/16", rib_strip()),
                    ],
                }
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
    """Return the R rules that were broken, and marks."""
    return {breach.rule for breach in breaches if breach.rule.startswith("R") or breach.rule == "marks"}


def billet(raw: Raw, number: int = 0) -> Raw:
    """Return a billet of the first drawn offcut."""
    found: Raw = raw["offcuts"][0]["billets"][number]
    return found


def strip(raw: Raw, number: int = 0, of: int = 0) -> Raw:
    """Return a strip of a billet."""
    found: Raw = billet(raw, of)["strips"][number]
    return found


def stick(raw: Raw, number: int = 0, of: int = 0, in_billet: int = 0) -> Raw:
    """Return a stick of a strip."""
    found: Raw = strip(raw, of, in_billet)["sticks"][number]
    return found


def move(piece: Raw, by: str) -> Raw:
    """Shift a piece along its axis, by inches, and return it."""
    piece["from"] += int(Fraction(by) * INCH)
    piece["to"] += int(Fraction(by) * INCH)
    return piece


def stretch(piece: Raw, end: str, by: str) -> None:
    """Move one end of a piece, by inches."""
    piece[end] += int(Fraction(by) * INCH)


def with_offcut(job: Job, **values: Any) -> Job:
    """Return a job with its last offcut changed."""
    *others, last = job.offcuts
    return replace(job, offcuts=(*others, replace(last, **values)))


def with_blank(job: Job, number: int, **values: Any) -> Job:
    """Return a job with one kind of blank changed."""
    blanks = list(job.blanks)
    blanks[number] = replace(blanks[number], **values)
    return replace(job, blanks=tuple(blanks))


def with_shop(job: Job, **values: Any) -> Job:
    """Return a job with other shop settings."""
    return replace(job, shop=replace(job.shop, **values))


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
