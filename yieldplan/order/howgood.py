"""What a plan takes, in work machine by machine, how good it is, and what other prices of work would give."""

from __future__ import annotations

import math
from collections import Counter
from fractions import Fraction
from typing import TYPE_CHECKING

from yieldplan.model import BOARD_FOOT, SPARES, SplitBillet, sawn_rows
from yieldplan.model.wood import jointed
from yieldplan.model.work import QUICK, WOOD_ALONE, saw_settings
from yieldplan.pages.wording import VOLUMES, bare_volume, gap_percent, how_long, percent

if TYPE_CHECKING:
    from collections.abc import Sequence

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


def net_wood(thousandths: int, units: Unit, *, up: bool = True) -> str:
    """Return a cost or net worth (thousandths of a board foot) in a shop's unit of wood, rounded up, or else down."""
    _, one, places = VOLUMES[units]
    scaled = Fraction(thousandths * BOARD_FOOT * 10**places, 1000 * one)
    return f"{(math.ceil(scaled) if up else math.floor(scaled)) / 10**places:,.{places}f}"


def how_good(job: Job, plan: Plan) -> str:
    """Say in one sentence how much better a plan there may be: in blanks, then in wood or in work."""
    doubt, told = _blanks_in_doubt(plan), []
    if doubt:
        told.append(doubt)
    elif plan.missing_total:
        order = ", the first priority first" if len(plan.proof.missing) > 2 else ""
        told.append(f"no plan makes more of the blanks{order}")
    elif dict(plan.proof.missing).get(SPARES):
        told.append("no plan makes all that is needed and more spares")
    told.append(_cost_in_doubt(job, plan))
    return f"{'Proven' if plan.proof.proven else 'Not proven'}: {'; '.join(told)}."


def price_of(job: Job, plan: Plan) -> int:
    """Return the hundredths of a minute for a board foot that a plan was made at; 0 where work counts for nothing."""
    return job.shop.minutes_for_a_board_foot if plan.price is None else plan.price


def _blanks_in_doubt(plan: Plan) -> str:
    """Say whether another plan may make more blanks, as far as that is known; empty where none does."""
    missing = dict(plan.proof.missing)
    for name, least in plan.proof.missing_at_least:
        if least < missing.get(name, 0):
            more = "spares" if name == SPARES else "of the missing blanks"
            which = f" of priority {name}" if name != SPARES and len(missing) > 2 else ""
            floor = f", though none misses fewer than {least}{which}" if least else ""
            return f"another plan may make more {more}{floor}"
    return ""


def _cost_in_doubt(job: Job, plan: Plan) -> str:
    """Say by how much less wood or work another plan may do that makes no fewer blanks."""
    proof, price = plan.proof, price_of(job, plan)
    misses = any(count for _, count in proof.missing)
    among, exists = ("of plans that miss no more, none is", "") if misses else ("nothing", " exists")
    over = proof.cost - proof.bound
    if over <= 0:
        return f"{among} better{exists}"
    if proof.bound <= 0:
        return "how much wood and work another plan might save is not known"
    work = f" ({how_long(Fraction(over * price, 1000))} of work)" if price else ""
    share = "" if proof.proven else f", {gap_percent(proof.gap)},"
    wood = f"{net_wood(over, job.shop.units)} {VOLUMES[job.shop.units][0]}"
    return f"{among} better by more than {wood}{work}{share}{exists}".rstrip(",")


FIGURES = "Net: drawn less kept. Found: better may exist."
"""What the figures of :func:`wood_or_work_rows` are."""


def wood_or_work_rows(
    job: Job, plan: Plan, others: Sequence[Plan]
) -> tuple[tuple[str, ...], list[tuple[str, ...]]]:
    """Return headings, and what other prices of work give, dearest work first; no rows where all give the same.

    ``found`` means that better may exist. Where one does not miss as many blanks as the plan, it says how many.
    """
    here, priced = price_of(job, plan), [(price_of(job, one), one) for one in others]
    rows: list[tuple[str, ...]] = [
        (
            _named(price, here),
            str(len(one.offcuts)),
            bare_volume(one.account.used, job.shop.units),
            str(one.work.saw_settings),
            how_long(one.work.hundredths),
            percent(round(one.account.waste_figure * 10_000), 10_000),
            ("proven" if one.proof.proven else "found")
            + (f", {one.missing_total} missing" if one.missing_total != plan.missing_total else ""),
        )
        for price, one in sorted(priced, key=lambda pair: (pair[0] == WOOD_ALONE, pair[0]))
    ]
    wood = "Net bd ft" if job.shop.units == "inch" else "Net m³"
    differ = bool(plan.offcuts) and len({row[1:-1] for row in rows}) > 1
    return ("For a board foot", "Boards", wood, "Saw settings", "Work", "Waste", ""), rows if differ else []


def _named(price: int, here: int) -> str:
    words = "any work" if price == WOOD_ALONE else f"{price / 100:g} min"
    option = {WOOD_ALONE: "--wood", QUICK: "--quick"}.get(price)
    mark = "this plan" if price == here else option
    return f"{words} ({mark})" if mark else words
