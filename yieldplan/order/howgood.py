"""How good a plan is, in wood and minutes, and what other prices of work would give."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from yieldplan.model import SPARES
from yieldplan.model.work import QUICK, WOOD_ALONE
from yieldplan.order.minutes import how_long, net_feet
from yieldplan.order.renderables import row, table
from yieldplan.order.wording import gap_percent, listed, percent, plural

if TYPE_CHECKING:
    from collections.abc import Sequence

    from rich.table import Table

    from yieldplan.model import Alternative, Job, Plan


def how_good(job: Job, plan: Plan) -> str:
    """Say in plain words how much better a plan there may be: in blanks, then in wood or in work."""
    proof, price = plan.proof, price_of(job, plan)
    doubt, told = _blanks_in_doubt(plan), []
    if doubt:
        told.append(doubt)
    elif plan.missing_total:
        told.append(f"no plan makes more of the blanks{_in_order(plan)}")
    elif plan.proof.missing and dict(plan.proof.missing).get(SPARES):
        told.append("no plan makes all that is needed and more spares")
    told.append(_cost_in_doubt(plan, price))
    sentence = "; ".join(told)
    work = (
        f"less wood and work, at {_minutes(price)} for a board foot"
        if price
        else "less wood, whatever the work"
    )
    better = f"Better means fewer blanks missing, then {work}."
    return f"{'Proven' if proof.proven else 'Not proven'}: {sentence}. {better}"


def price_of(job: Job, plan: Plan) -> int:
    """Return the hundredths of a minute for a board foot that a plan was made at; 0 where work counts for nothing."""
    return job.shop.minutes_for_a_board_foot if plan.price is None else plan.price


def _in_order(plan: Plan) -> str:
    return ", the first priority first" if len(plan.proof.missing) > 2 else ""


def _blanks_in_doubt(plan: Plan) -> str:
    """Say whether another plan may make more blanks, as far as that is known; empty where none does."""
    missing = dict(plan.proof.missing)
    for name, least in plan.proof.missing_at_least:
        if least >= missing.get(name, 0):
            continue
        if name == SPARES:
            floor = f", though none misses fewer than {least}" if least else ""
            return f"another plan may make more spares{floor}"
        which = f" of priority {name}" if len(missing) > 2 else ""
        floor = f", though none misses fewer than {least}{which}" if least else ""
        return f"another plan may make more of the missing blanks{floor}"
    return ""


def _cost_in_doubt(plan: Plan, price: int) -> str:
    """Say by how much less wood or work another plan may do that makes no fewer blanks."""
    proof = plan.proof
    among = "of plans that miss no more, none is" if any(count for _, count in proof.missing) else "nothing"
    exists = "" if among.endswith("is") else " exists"
    over = proof.cost - proof.bound
    if over <= 0:
        return f"{among} better{exists}"
    if proof.bound <= 0:
        return "how much wood and work another plan might save is not known"
    work = f" ({how_long(Fraction(over * price, 1000))} of work)" if price else ""
    share = "" if proof.proven else f", {gap_percent(proof.gap)} of what this one takes"
    return f"{among} better by more than {net_feet(over)} board feet{work}{exists}{share}"


def _minutes(price: int) -> str:
    return f"{price / 100:g} {plural(price // 100 if price % 100 == 0 else 2, 'minute')}"


def coarsely(names: Sequence[str]) -> str:
    """Say which offcuts were looked at on a coarser mark; empty where none was."""
    if not names:
        return ""
    many = len(names) > 1
    return (
        f"{listed(names)}: so many places for cuts that only some were tried; what is planned of "
        f"{'them' if many else 'it'} is right all the same."
    )


FIGURES = (
    "Board feet: drawn less kept, a long piece counted dearer. Settings: of the saws. Found: not proven."
)
"""What the figures of :func:`wood_or_work` are."""


def wood_or_work(job: Job, plan: Plan, others: Sequence[Alternative]) -> Table:
    """Return what other prices of work give, dearest work first; "found" means that better may exist."""
    short = any(one.missing for one in others)
    counts = (*(("Missing",) if short else ()), "Boards", "Board feet", "Settings")
    result = table("For a board foot", *counts, "Work", "Waste", "", right=(*counts, "Work", "Waste"))
    here = price_of(job, plan)
    for one in sorted(others, key=lambda one: (one.price == WOOD_ALONE, one.price)):
        row(
            result,
            _named(one.price, here),
            *([one.missing] if short else ()),
            one.boards,
            net_feet(one.net_worth),
            one.saw_settings,
            how_long(one.hundredths),
            percent(round(one.waste_figure * 10_000), 10_000),
            "proven" if one.proven else "found",
        )
    return result


def _named(price: int, here: int) -> str:
    words = "any work" if price == WOOD_ALONE else f"{price / 100:g} min"
    option = {WOOD_ALONE: "--wood", QUICK: "--quick"}.get(price)
    mark = "this plan" if price == here else option
    return f"{words} ({mark})" if mark else words
