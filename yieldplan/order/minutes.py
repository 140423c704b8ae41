"""The work of a plan in one sentence and machine by machine; how times and net wood are written."""

from __future__ import annotations

import math
from collections import Counter
from fractions import Fraction
from typing import TYPE_CHECKING

from yieldplan.model import BOARD_FOOT, SplitBillet, sawn_rows
from yieldplan.model.wood import jointed
from yieldplan.model.work import saw_settings
from yieldplan.pages.wording import VOLUMES

if TYPE_CHECKING:
    from yieldplan.measure import Unit
    from yieldplan.model import Job, Plan
    from yieldplan.model.work import Setting


def shares(job: Job, plan: Plan) -> dict[str, int]:
    """Return the work of a plan by machine, hundredths of a minute in working order; together they are all of it."""
    shop, work, saws = job.shop, plan.work, _saw_settings(job, plan)
    found = {
        "handling": work.offcuts * shop.offcut_handled,
        "jointer": work.billets * shop.billet_jointed,
        "table saw": saws["table saw"] * shop.machine_setting
        + (work.passes - work.bandsaw_passes) * shop.cut,
        "bandsaw": saws["bandsaw"] * shop.machine_setting + work.bandsaw_passes * shop.bandsaw_pass,
        "planer": work.planer_settings * shop.machine_setting + work.sticks * shop.stick_planed,
        "crosscut saw": work.stop_settings * shop.stop_setting + work.crosscuts * shop.cut,
    }
    return {machine: time for machine, time in found.items() if time or machine == "handling"}


def _saw_settings(job: Job, plan: Plan) -> Counter[str]:
    """Return how often each saw is set: common settings once for the batch, every odd cut by itself."""
    common: set[Setting] = set()
    found = Counter[str]()
    for drawn in plan.offcuts:
        found["bandsaw"] += sum(isinstance(billet, SplitBillet) for billet in drawn.billets)
        for wood, part in jointed(job, drawn):
            rows = tuple(sawn_rows(wood, part, job.shop))
            common.update(saw_settings(rows))
            found.update(row.machine or "" for row in rows for sawn in row.passes if sawn.odd)
    found.update(machine for _, machine, _ in common)
    return found


def work_line(job: Job, plan: Plan) -> str:
    """Return the work in one sentence: all of it, then by machine."""
    found = ", ".join(f"{machine} {how_long(time)}" for machine, time in shares(job, plan).items())
    return f"Work: {how_long(plan.work.hundredths)}; {found}."


def how_long(hundredths: int | Fraction) -> str:
    """Return a time, rounded up: in seconds below two minutes, else ``12 min`` or ``4 h 10 min``."""
    seconds = -(-hundredths * 60 // 100)
    if seconds < 120:
        return f"{seconds} s"
    hours, minutes = divmod(-(-seconds // 60), 60)
    return f"{hours} h {minutes} min" if hours else f"{minutes} min"


def net_wood(thousandths: int, units: Unit, *, up: bool = True) -> str:
    """Return a cost or net worth (thousandths of a board foot) in a shop's unit of wood, rounded up, or else down."""
    _, one, places = VOLUMES[units]
    scaled = Fraction(thousandths * BOARD_FOOT * 10**places, 1000 * one)
    return f"{(math.ceil(scaled) if up else math.floor(scaled)) / 10**places:,.{places}f}"
