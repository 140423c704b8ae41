"""No plan escapes: every kind of change to a good plan, or to what it was made for, each on thirty plans.

The plans are sawn at random (order/random_plans.py) and pass the recheck as they are. A change takes one thing of a
plan, picked at random, and spoils it; the recheck has to name the rule that it breaks, whatever else breaks with it.
"""

from __future__ import annotations

import json
import random
from dataclasses import replace
from fractions import Fraction
from functools import cache
from typing import TYPE_CHECKING, Any, TypeVar

import pytest
from random_plans import random_plan

from yieldplan.model import Defect, Job, Plan, worth
from yieldplan.model.planfile import dump_plan, load_plan
from yieldplan.verify import verify

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

Raw = dict[str, Any]
T = TypeVar("T")
PLANS = 30


class NotHereError(Exception):
    """The plan has nothing that this change could spoil."""


class Case:
    """A good plan as its file holds it, its job, and a hand that picks."""

    def __init__(self, seed: int) -> None:
        self.job, text = good(seed)
        self.raw: Raw = json.loads(text)
        self.rng = random.Random(seed)

    def pick(self, things: Sequence[T]) -> T:
        """Return one of the things; the change is not for this plan if there is none."""
        if not things:
            raise NotHereError
        return self.rng.choice(things)

    def need(self, condition: object) -> None:
        """Say that the change is not for this plan where a condition does not hold."""
        if not condition:
            raise NotHereError

    def cuts(self) -> list[tuple[Raw, Raw, Raw, Raw]]:
        """Return every stick: its offcut, its billet or half, its strip and itself."""
        return [
            (drawn, part, strip, stick)
            for drawn in self.raw["offcuts"]
            for billet in drawn["billets"]
            for part in _parts(billet)
            for strip in part["strips"]
            for stick in strip["sticks"]
        ]

    def cut(self, kind: str = "stick", least: int = 0) -> tuple[Raw, Raw, Raw, Raw]:
        """Return one of :meth:`cuts`; ``kind`` names what shall have ``least`` parts, as in ``stick blanks``."""
        level, _, part = kind.partition(" ")
        at = ("offcut", "billet", "strip", "stick").index(level)
        return self.pick([path for path in self.cuts() if not part or len(path[at][part]) >= least])

    def billet(self, *, split: bool | None = None) -> tuple[Raw, Raw]:
        """Return an offcut and a billet of it, a split one or not as asked."""
        found = [(drawn, billet) for drawn in self.raw["offcuts"] for billet in drawn["billets"]]
        return self.pick([pair for pair in found if split is None or ("split" in pair[1]) is split])

    def plain_cut(self) -> tuple[Raw, Raw, Raw, Raw]:
        """Return a stick of a billet that is not split."""
        return self.pick([path for path in self.cuts() if path[1] in path[0]["billets"]])

    def pair(self, pieces: list[Raw]) -> tuple[Raw, Raw]:
        """Return two neighbours, in their order."""
        row = sorted(pieces, key=lambda piece: int(piece["from"]))
        at = self.pick(range(len(row) - 1))
        return row[at], row[at + 1]

    def shop(self, **changed: Any) -> None:
        """Change the shop."""
        self.job = replace(self.job, shop=replace(self.job.shop, **changed))

    def offcut(self, name: str, **changed: Any) -> None:
        """Change an offcut of the pile."""
        pile = (replace(o, **changed) if o.name == name else o for o in self.job.offcuts)
        self.job = replace(self.job, offcuts=tuple(pile))

    def blank(self, name: str, **changed: Any) -> None:
        """Change a kind of blank."""
        batch = (replace(b, **changed) if b.name == name else b for b in self.job.blanks)
        self.job = replace(self.job, blanks=tuple(batch))

    def plan(self) -> Plan:
        """Return the plan as it stands now."""
        return load_plan(json.dumps(self.raw).encode())


@cache
def good(seed: int) -> tuple[Job, str]:
    """Return a job and a plan for it that passes the recheck."""
    job, plan = random_plan(seed, offcuts=2)
    if not job.blanks:
        raise NotHereError
    assert verify(job, plan) == ()
    return job, dump_plan(plan).decode()


def _parts(billet: Raw) -> list[Raw]:
    """Return what is jointed of a billet; a half gets its place from the billet."""
    if "split" not in billet:
        return [billet]
    return [half for half in billet["halves"] if half is not None]


def move(piece: Raw, by: int) -> None:
    """Shift a piece along its axis."""
    piece["from"] += by
    piece["to"] += by


ATTACKS: dict[str, tuple[Callable[[Case], object], str]] = {}


def breaks(rule: str) -> Callable[[Callable[[Case], object]], Callable[[Case], object]]:
    """Note a change and the rule that it breaks."""

    def note(change: Callable[[Case], object]) -> Callable[[Case], object]:
        ATTACKS[change.__name__.strip("_").replace("_", " ")] = (change, rule)
        return change

    return note


# Places and sizes


@breaks("marks")
def _a_mark_of_another_shop(case: Case) -> None:
    case.raw["mark"] *= 2


@breaks("marks")
def _a_strip_between_two_marks(case: Case) -> None:
    move(case.cut()[2], 1)


@breaks("marks")
def _a_blank_between_two_marks(case: Case) -> None:
    move(case.pick(case.cut()[3]["blanks"]), 1)


@breaks("marks")
def _a_split_between_two_marks(case: Case) -> None:
    case.billet(split=True)[1]["split"] += 1


@breaks("R1")
def _a_billet_that_reaches_into_the_end_trim(case: Case) -> None:
    drawn, billet = case.billet()
    case.need(drawn["billets"][0] is billet)
    billet["from"] = case.job.shop.end_trim - case.job.shop.mark


@breaks("R1")
def _a_longer_end_trim(case: Case) -> None:
    drawn, billet = case.billet()
    length = case.job.offcut(drawn["offcut"]).length
    case.shop(end_trim=min(billet["from"], length - billet["to"]) + case.job.shop.mark)


@breaks("R1")
def _a_through_check_that_begins_in_the_end_trim(case: Case) -> None:
    drawn, billet = case.billet()
    offcut = case.job.offcut(drawn["offcut"])
    check = Defect(
        kind="check", x1=0, x2=billet["from"] + 160, y1=0, y2=offcut.width, z1=0, z2=offcut.thickness
    )
    case.offcut(offcut.name, defects=(check,))


@breaks("R2")
def _a_jointer_a_mark_too_narrow(case: Case) -> None:
    shop, width = case.job.shop, case.job.offcut(case.plain_cut()[0]["offcut"]).width
    case.shop(jointer_width=width - shop.mark)


@breaks("R2")
def _a_billet_a_mark_too_short(case: Case) -> None:
    billet = case.billet()[1]
    case.shop(shortest_machined_length=billet["to"] - billet["from"] + case.job.shop.mark)


@breaks("R2")
def _a_kink_in_a_billet(case: Case) -> None:
    drawn, billet = case.billet(split=False)
    case.offcut(drawn["offcut"], kinks=(billet["from"] + case.job.shop.mark,))


@breaks("R2")
def _a_planer_a_mark_too_narrow(case: Case) -> None:
    name = case.cut()[3]["blanks"][0]["blank"]
    case.shop(planer_width=case.job.blank(name).width - case.job.shop.mark)


@breaks("R2")
def _a_blank_a_mark_too_thin_for_the_planer(case: Case) -> None:
    thickest = max(blank.width for blank in case.job.blanks)
    case.shop(thinnest_planed=2 * thickest)


@breaks("R2")
def _a_stick_a_mark_too_narrow_to_rip(case: Case) -> None:
    stick = case.cut()[3]
    case.shop(narrowest_rip=stick["to"] - stick["from"] + case.job.shop.mark)


@breaks("R2")
def _a_flat_billet_that_is_split(case: Case) -> None:
    drawn, _ = case.billet(split=True)
    case.offcut(drawn["offcut"], cup=0, twist=0)
    case.shop(jointer_width=10**6 * case.job.shop.mark)


@breaks("R2")
def _a_half_too_narrow_to_rip(case: Case) -> None:
    billet = case.billet(split=True)[1]
    billet["split"] = case.job.shop.narrowest_rip - case.job.shop.mark


@breaks("R3")
def _a_face_loss_a_mark_less(case: Case) -> None:
    case.cut()[1]["face_loss"] -= case.job.shop.mark


@breaks("R3")
def _an_edge_loss_a_mark_more(case: Case) -> None:
    case.cut()[1]["edge_loss"] += case.job.shop.mark


@breaks("R3")
def _more_cup_than_was_measured(case: Case) -> None:
    offcut = case.job.offcut(case.plain_cut()[0]["offcut"])
    case.offcut(offcut.name, cup=offcut.cup + case.job.shop.mark)


@breaks("R3")
def _more_cup_on_a_split_board(case: Case) -> None:
    drawn, _ = case.billet(split=True)
    offcut = case.job.offcut(drawn["offcut"])
    case.offcut(offcut.name, cup=offcut.cup + 400 * case.job.shop.mark)


@breaks("R4")
def _strips_that_overlap(case: Case) -> None:
    first, second = case.pair(case.cut("billet strips", 2)[1]["strips"])
    move(second, first["to"] - second["from"] - case.job.shop.mark)


@breaks("R4")
def _sticks_that_overlap(case: Case) -> None:
    first, second = case.pair(case.cut("strip sticks", 2)[2]["sticks"])
    move(second, first["to"] - second["from"] - case.job.shop.mark)


@breaks("R4")
def _strips_in_the_wrong_order(case: Case) -> None:
    case.cut("billet strips", 2)[1]["strips"].reverse()


@breaks("R4")
def _a_strip_outside_the_box(case: Case) -> None:
    strip = case.cut()[2]
    move(strip, -strip["from"] - case.job.shop.mark)


@breaks("R4")
def _a_stick_outside_the_box(case: Case) -> None:
    drawn, billet, strip, _ = case.plain_cut()
    offcut = case.job.offcut(drawn["offcut"])
    rip_first = billet["layout"] == "rip first"
    deep = offcut.thickness - billet["face_loss"] if rip_first else offcut.width - billet["edge_loss"]
    last = strip["sticks"][-1]
    move(last, deep - last["to"] + case.job.shop.mark)


@breaks("R4")
def _a_stick_listed_twice(case: Case) -> None:
    _, _, strip, stick = case.cut()
    strip["sticks"].append(stick)


@breaks("R4")
def _a_stick_without_its_blanks(case: Case) -> None:
    case.cut()[3]["blanks"] = []


@breaks("R4")
def _a_half_with_a_layout_of_nothing(case: Case) -> None:
    billet = case.billet(split=True)[1]
    case.pick([half for half in billet["halves"] if half is not None])["strips"] = []


@breaks("R4")
def _a_split_billet_of_waste(case: Case) -> None:
    case.billet(split=True)[1]["halves"] = [None, None]


@breaks("R5")
def _no_kerf_between_strips(case: Case) -> None:
    first, second = case.pair(case.cut("billet strips", 2)[1]["strips"])
    move(second, first["to"] - second["from"])


@breaks("R5")
def _a_bandsaw_skim_left_out(case: Case) -> None:
    """Leave just the saw's own kerf on the bandsaw, where the fresh face is jointed before the next cut."""
    shop = case.job.shop
    kerf = shop.bandsaw_kerf + shop.bandsaw_skim
    pairs = [
        (first, second)
        for _, part, _, _ in case.cuts()
        for strip in part["strips"]
        for first, second in zip(strip["sticks"], strip["sticks"][1:], strict=False)
        if second["from"] - first["to"] >= kerf
        and strip is not part["strips"][-1]
        and strip["to"] - strip["from"] > shop.saw_depth
    ]
    first, second = case.pick(pairs)
    move(second, first["to"] + shop.bandsaw_kerf - second["from"])


@breaks("R5")
def _saws_that_reach_nothing(case: Case) -> None:
    case.cut("billet strips", 2)
    case.shop(saw_depth=0, bandsaw_height=0)


@breaks("R5")
def _a_bandsaw_that_does_not_resaw(case: Case) -> None:
    case.need(
        any(
            strip["to"] - strip["from"] > case.job.shop.saw_depth and len(strip["sticks"]) > 1
            for _, part, strip, _ in case.cuts()
            if part["layout"] == "rip first"
        )
    )
    case.shop(resaw_height=0)


@breaks("R6")
def _a_strip_a_mark_wider(case: Case) -> None:
    case.cut()[2]["to"] += case.job.shop.mark


@breaks("R6")
def _a_stick_a_mark_thinner(case: Case) -> None:
    case.cut()[3]["to"] -= case.job.shop.mark


@breaks("R6")
def _flat_called_turned(case: Case) -> None:
    stick = case.cut()[3]
    blank = case.job.blank(stick["blanks"][0]["blank"])
    case.need(blank.width - blank.thickness > 4 * case.job.shop.mark)
    stick["turned"] = not stick["turned"]


@breaks("R6")
def _another_width_allowance(case: Case) -> None:
    case.shop(width_allowance=case.job.shop.width_allowance + case.job.shop.mark)


@breaks("R6")
def _more_least_planing(case: Case) -> None:
    case.cut()
    shop = case.job.shop
    case.shop(least_planing=max(shop.width_allowance, shop.thickness_allowance) + shop.mark)


@breaks("R6")
def _two_sections_on_one_stick(case: Case) -> None:
    stick = case.cut("stick blanks", 2)[3]
    last = stick["blanks"][-1]
    kinds = {blank.name: (blank.width, blank.thickness) for blank in case.job.blanks}
    others = [name for name, section in kinds.items() if section != kinds[last["blank"]]]
    last["blank"] = case.pick(others)


@breaks("R7")
def _rings_that_do_not_suit(case: Case) -> None:
    drawn, _, _, stick = case.cut()
    rings = case.job.offcut(drawn["offcut"]).rings
    seen = -1 if rings is None else 90 - rings[0][0] if stick["turned"] else rings[0][0]
    low = (seen + 1, 90) if seen < 90 else (0, 89)
    case.blank(stick["blanks"][0]["blank"], ring_from=low[0], ring_to=low[1])


@breaks("R7")
def _rings_that_were_not_read(case: Case) -> None:
    drawn, _, _, stick = case.cut()
    case.offcut(drawn["offcut"], ring_angle=None)
    case.blank(stick["blanks"][0]["blank"], ring_from=0, ring_to=90)


@breaks("R7")
def _a_slope_that_was_not_read(case: Case) -> None:
    case.blank(case.cut()[3]["blanks"][0]["blank"], max_slope=Fraction(1, 10))


@breaks("R8")
def _a_blank_a_mark_longer(case: Case) -> None:
    case.pick(case.cut()[3]["blanks"])["to"] += case.job.shop.mark


@breaks("R8")
def _a_blank_a_mark_shorter(case: Case) -> None:
    case.pick(case.cut()[3]["blanks"])["from"] += case.job.shop.mark


@breaks("R8")
def _blanks_closer_than_a_kerf(case: Case) -> None:
    first, second = case.pair(case.cut("stick blanks", 2)[3]["blanks"])
    move(second, first["to"] + case.job.shop.crosscut_kerf - case.job.shop.mark - second["from"])


@breaks("R8")
def _a_blank_in_the_stick_trim(case: Case) -> None:
    _, part, _, stick = case.plain_cut()
    last = stick["blanks"][-1]
    move(last, part["to"] - case.job.shop.stick_trim + case.job.shop.mark - last["to"])


@breaks("R8")
def _more_stick_trim(case: Case) -> None:
    _, part, _, stick = case.plain_cut()
    case.shop(stick_trim=stick["blanks"][0]["from"] - part["from"] + case.job.shop.mark)


@breaks("R8")
def _billets_without_a_kerf(case: Case) -> None:
    drawn = case.cut("offcut billets", 2)[0]
    first, second = case.pair(drawn["billets"])
    first["to"] = second["from"]


@breaks("R8")
def _billets_in_the_wrong_order(case: Case) -> None:
    case.cut("offcut billets", 2)[0]["billets"].reverse()


@breaks("R8")
def _an_offcut_that_is_shorter_than_measured(case: Case) -> None:
    drawn = case.cut()[0]
    case.offcut(drawn["offcut"], length=drawn["billets"][-1]["to"] - case.job.shop.mark)


@breaks("R9")
def _a_blank_on_a_defect(case: Case) -> None:
    drawn, _, _, stick = case.cut()
    offcut, cut = case.job.offcut(drawn["offcut"]), case.pick(stick["blanks"])
    mark = case.job.shop.mark
    wane = Defect(
        kind="wane", x1=cut["to"] - mark, x2=offcut.length, y1=0, y2=offcut.width, z1=0, z2=offcut.thickness
    )
    case.offcut(offcut.name, defects=(*offcut.defects, wane))


@breaks("R9")
def _a_blank_just_beyond_a_check(case: Case) -> None:
    """Let a check end where a blank begins: it goes on further than it is seen."""
    drawn, _, _, stick = case.cut()
    offcut, cut = case.job.offcut(drawn["offcut"]), case.pick(stick["blanks"])
    check = Defect(
        kind="check", x1=cut["from"] - 1, x2=cut["from"], y1=0, y2=offcut.width, z1=0, z2=offcut.thickness
    )
    case.offcut(offcut.name, defects=(check,))


@breaks("R9")
def _an_allowed_knot_in_a_clear_end(case: Case) -> None:
    drawn, _, _, stick = case.cut()
    offcut, cut = case.job.offcut(drawn["offcut"]), case.pick(stick["blanks"])
    knot = Defect(kind="knot", x1=cut["from"], x2=cut["to"], y1=0, y2=offcut.width, z1=0, z2=offcut.thickness)
    case.offcut(offcut.name, defects=(knot,))
    case.blank(cut["blank"], clear_end=1)


@breaks("R9")
def _a_knot_that_is_no_longer_allowed(case: Case) -> None:
    drawn, _, _, stick = case.cut()
    offcut, cut = case.job.offcut(drawn["offcut"]), case.pick(stick["blanks"])
    knot = Defect(kind="knot", x1=0, x2=offcut.length, y1=0, y2=offcut.width, z1=0, z2=offcut.thickness)
    case.offcut(offcut.name, defects=(knot,))
    case.blank(cut["blank"], allows=("pin knot",))


@breaks("R10")
def _another_species(case: Case) -> None:
    case.blank(case.cut()[3]["blanks"][0]["blank"], species=("Elm", "Ash"))


# What stands beside the cuts


@breaks("input")
def _an_input_that_was_changed(case: Case) -> None:
    case.job = replace(case.job, sha256="1" * 64)


@breaks("input")
def _an_offcut_that_is_not_in_the_pile(case: Case) -> None:
    case.cut()[0]["offcut"] = "Q1"


@breaks("input")
def _a_copy_that_is_not_there(case: Case) -> None:
    drawn = case.cut()[0]
    drawn["copy"] = case.job.offcut(drawn["offcut"]).qty + 1


@breaks("input")
def _a_piece_cut_up_twice(case: Case) -> None:
    case.raw["offcuts"].append(case.cut()[0])


@breaks("input")
def _a_blank_that_no_one_asked_for(case: Case) -> None:
    case.pick(case.cut()[3]["blanks"])["blank"] = "mast"


@breaks("counts")
def _an_offcut_drawn_for_nothing(case: Case) -> None:
    case.cut()[0]["billets"] = []


@breaks("counts")
def _one_more_said_to_be_made(case: Case) -> None:
    case.raw["made"][case.pick(list(case.raw["made"]))] += 1


@breaks("counts")
def _a_spare_kept_quiet(case: Case) -> None:
    name = case.pick([name for name, count in case.raw["spare"].items() if count])
    case.raw["spare"][name] -= 1


@breaks("counts")
def _a_blank_left_out_of_the_cuts(case: Case) -> None:
    case.cut("stick blanks", 2)[3]["blanks"].pop()


@breaks("counts")
def _a_missing_one_kept_quiet(case: Case) -> None:
    blank = case.pick(case.job.blanks)
    case.blank(blank.name, need=blank.need + 1)


@breaks("counts")
def _a_needed_one_and_a_spare_exchanged(case: Case) -> None:
    """Call a needed one a spare where one of its kind is missing, with all counts to match."""
    short = {name for name, count in case.raw["missing"].items() if count}
    cuts = [cut for *_, stick in case.cuts() for cut in stick["blanks"] if cut["blank"] in short]
    cut = case.pick(cuts)
    cut["spare"] = True
    case.raw["made"][cut["blank"]] -= 1
    case.raw["missing"][cut["blank"]] += 1
    case.raw["spare"][cut["blank"]] += 1
    case.blank(cut["blank"], spare=1)


@breaks("counts")
def _a_needed_one_called_spare(case: Case) -> None:
    cuts = [cut for *_, stick in case.cuts() for cut in stick["blanks"] if not cut["spare"]]
    case.pick(cuts)["spare"] = True


@breaks("counts")
def _more_than_is_needed(case: Case) -> None:
    blank = case.pick([blank for blank in case.job.blanks if not dict(case.raw["missing"])[blank.name]])
    case.blank(blank.name, need=blank.need - 1)


@breaks("account")
def _kerf_called_trimmings(case: Case) -> None:
    case.raw["account"]["kerf"] -= 1
    case.raw["account"]["trimmings"] += 1


@breaks("account")
def _wood_from_nowhere(case: Case) -> None:
    case.raw["account"]["in"] += 1
    case.raw["account"]["trimmings"] += 1


@breaks("account")
def _an_account_that_does_not_balance(case: Case) -> None:
    case.raw["account"][case.pick(("blanks", "keepers", "shavings"))] += 1


@breaks("account")
def _what_is_planed_off_counted_as_kerf(case: Case) -> None:
    case.need(case.raw["account"]["shavings"])
    case.raw["account"]["shavings"] -= 160
    case.raw["account"]["kerf"] += 160


@breaks("account")
def _a_keeper_that_is_not_in_the_account(case: Case) -> None:
    case.need(case.raw["account"]["keepers"])
    case.raw["account"]["trimmings"] += case.raw["account"]["keepers"]
    case.raw["account"]["keepers"] = 0


@breaks("account")
def _smaller_keepers_than_the_account_has(case: Case) -> None:
    case.need(case.raw["account"]["keepers"])
    case.shop(keeper_length=10**6 * case.job.shop.mark)


@breaks("account")
def _a_keeper_invented_by_moving_a_cut(case: Case) -> None:
    """End a billet sooner so that a longer length is left, and take its worth off net worth, cost and bound."""
    drawn, billet = case.billet(split=False)
    case.need(drawn["billets"][-1] is billet)
    shop, offcut = case.job.shop, case.job.offcut(drawn["offcut"])
    last = max(
        cut["to"] for strip in billet["strips"] for stick in strip["sticks"] for cut in stick["blanks"]
    )
    end = max(last + shop.stick_trim, billet["from"] + shop.shortest_machined_length)
    rest = offcut.length - end - shop.crosscut_kerf
    case.need(end < billet["to"] and rest >= shop.keeper_length)
    case.need(offcut.width >= shop.keeper_width and offcut.thickness >= shop.keeper_thickness)
    billet["to"] = end
    for word in ("net_worth", "cost", "bound"):
        case.raw["proof"][word] -= worth(rest, offcut.width, offcut.thickness, shop)


# Work


def less(name: str) -> Callable[[Case], object]:
    """Return a change that leaves one out of a count of the work."""

    def change(case: Case) -> None:
        work = case.raw["work"]
        place = work["settings"] if name in work["settings"] else work
        case.need(place[name])
        place[name] -= 1

    change.__name__ = f"_one_left_out_of_{name}"
    return change


COUNTS = ("offcuts", "billets", "sticks", "passes", "bandsaw_passes", "odd_cuts", "crosscuts")
for count in (*COUNTS, "saws", "planer", "stop"):
    breaks("work")(less(count))


@breaks("work")
def _minutes_forged(case: Case) -> None:
    case.raw["work"]["hundredths"] -= 50
    for word in ("cost", "bound"):
        case.raw["proof"][word] -= 50


@breaks("work")
def _a_strip_that_is_planed_off_counted_as_sawn_off(case: Case) -> None:
    drawn, part, _, _ = case.plain_cut()
    offcut = case.job.offcut(drawn["offcut"])
    rip = part["layout"] == "rip first"
    depth = offcut.width - part["edge_loss"] if rip else offcut.thickness - part["face_loss"]
    case.need(depth - part["strips"][-1]["to"] <= case.job.shop.plane_off)
    case.raw["work"]["passes"] += 1
    case.raw["work"]["hundredths"] += case.job.shop.cut


@breaks("work")
def _more_planed_off_so_that_a_pass_goes(case: Case) -> None:
    """Plan for a shop that planes off all that is over, so that no last piece is sawn off."""
    case.need(case.raw["work"]["passes"] > case.raw["work"]["odd_cuts"])
    case.shop(plane_off=10**6 * case.job.shop.mark)


@breaks("work")
def _an_odd_cut_called_a_common_one(case: Case) -> None:
    case.need(case.raw["work"]["odd_cuts"])
    case.raw["work"]["odd_cuts"] -= 1
    case.raw["work"]["settings"]["saws"] -= 1
    case.raw["work"]["hundredths"] -= case.job.shop.machine_setting


# Claims


@breaks("proof")
def _less_net_worth(case: Case) -> None:
    for word in ("net_worth", "cost", "bound"):
        case.raw["proof"][word] -= 1


@breaks("proof")
def _less_cost(case: Case) -> None:
    case.raw["proof"]["cost"] -= 1


@breaks("proof")
def _work_at_another_price(case: Case) -> None:
    case.raw["hundredths_for_a_board_foot"] = 2 * case.job.shop.minutes_for_a_board_foot


@breaks("proof")
def _dearer_work(case: Case) -> None:
    case.shop(stick_planed=case.job.shop.stick_planed + 100)


@breaks("proof")
def _proven_forged(case: Case) -> None:
    case.raw["proof"]["proven"] = not case.raw["proof"]["proven"]


@breaks("proof")
def _proven_with_a_gap(case: Case) -> None:
    proof = case.raw["proof"]
    proof.update(bound=proof["cost"] * 998 // 1000, proven=True)
    proof["gap"] = (proof["cost"] - proof["bound"]) / proof["cost"]


@breaks("proof")
def _proven_with_fewer_missing_in_reach(case: Case) -> None:
    proof = case.raw["proof"]
    case.need(proof["proven"])
    name = case.pick([name for name, count in proof["missing"].items() if count])
    proof["missing_at_least"][name] -= 1


@breaks("proof")
def _a_bound_above_the_plan(case: Case) -> None:
    proof = case.raw["proof"]
    proof["bound"] = proof["cost"] + 1
    proof["gap"] = -1 / proof["cost"]


@breaks("proof")
def _a_bound_raised(case: Case) -> None:
    case.need(case.raw["proof"]["bound"] < case.raw["proof"]["cost"])
    case.raw["proof"]["bound"] += 1


@breaks("proof")
def _a_gap_forged(case: Case) -> None:
    case.raw["proof"]["gap"] += 1e-6


@breaks("proof")
def _a_missing_class(case: Case) -> None:
    case.raw["proof"]["missing"][case.pick(list(case.raw["proof"]["missing"]))] += 1


@breaks("proof")
def _a_spare_that_was_wanted_kept_quiet(case: Case) -> None:
    blank = case.pick(case.job.blanks)
    case.blank(blank.name, spare=blank.spare + 1)


@breaks("proof")
def _more_missing_at_the_least_than_are_missing(case: Case) -> None:
    case.raw["proof"]["missing_at_least"]["spares"] = case.raw["proof"]["missing"]["spares"] + 1


def test_every_rule_and_claim_is_attacked() -> None:
    """Every rule that a plan can break has a change that breaks it."""
    rules = {f"R{number}" for number in range(1, 11)}
    rules |= {"marks", "input", "counts", "account", "work", "proof"}
    assert {rule for _, rule in ATTACKS.values()} == rules


@pytest.mark.parametrize("name", ATTACKS)
def test_a_change_is_caught_on_thirty_plans(name: str) -> None:
    """On every plan that has what the change spoils, the rule that it breaks is named."""
    change, rule = ATTACKS[name]
    tried = 0
    for seed in range(600):
        try:
            case = Case(seed)
            change(case)
        except NotHereError:
            continue
        found = {breach.rule for breach in verify(case.job, case.plan())}
        assert rule in found, (seed, found)
        tried += 1
        if tried == PLANS:
            return
    pytest.fail(f"only {tried} plans have what this change spoils")
