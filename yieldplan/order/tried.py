"""What ``plan --why OFFCUT`` shows: which blanks suit the offcut, and what its best other cuttings would cost."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.console import Group
from rich.padding import Padding
from rich.text import Text

from yieldplan.harmless import harmless
from yieldplan.order.fit import judge
from yieldplan.order.reasons import verdict_words
from yieldplan.order.renderables import heading, row, table
from yieldplan.order.wording import plural

if TYPE_CHECKING:
    from collections.abc import Iterable

    from rich.console import RenderableType

    from yieldplan.model import Job
    from yieldplan.solve import Alternative, Tried


def tried_report(job: Job, tried: Tried) -> Group:
    """Return the report on one offcut of the pile."""
    offcut = job.offcut(tried.offcut)
    parts: list[RenderableType] = [
        heading(f"What was tried on {tried.offcut}"),
        Text(harmless(_looked(tried))),
    ]
    suits = table("Blank", "By itself, the piece", whole=("Blank",))
    for blank in job.blanks:
        row(suits, blank.name, verdict_words(judge(blank, offcut, job.shop), blank, job.shop))
    parts.append(Padding(suits, (1, 0, 0, 0)))
    if tried.cuttings:
        parts += [Padding(_cuttings(tried), (1, 0, 1, 0)), Text(_explained(tried))]
    return Group(*parts)


def _looked(tried: Tried) -> str:
    if not tried.sections:
        return "No blank can come out of it, so it was left alone."
    alike = f" It is one of {tried.alike} alike." if tried.alike > 1 else ""
    used = sum(count for _, count in tried.chosen)
    drawn = "It is left alone." if not used else "It is cut as marked."
    if tried.alike > 1 and used:
        drawn = f"{used} of them {plural(used, 'is', 'are')} cut as marked."
    return (
        f"{tried.billets:,} {plural(tried.billets, 'billet')} of {tried.sections} {plural(tried.sections, 'section')} "
        f"were tried, and {tried.cuttings:,} {plural(tried.cuttings, 'cutting')} weighed.{alike} {drawn}"
    )


def _cuttings(tried: Tried) -> RenderableType:
    shown = table(
        "",
        "Blanks",
        "Keepers",
        "Draws",
        "Batch draws at least",
        "More than planned",
        right=("Keepers", "Draws", "Batch draws at least", "More than planned"),
    )
    for one, count in tried.chosen:
        row(shown, "planned" if count == 1 else f"planned {count} times", *_cells(one, tried))
    for one in tried.best:
        row(shown, "", *_cells(one, tried))
    return shown


def _cells(one: Alternative, tried: Tried) -> Iterable[str]:
    yield ", ".join(name if count == 1 else f"{count} {name}" for name, count in one.blanks)
    yield str(one.keepers)
    yield f"{one.draws:,}"
    yield "not known" if one.least is None else f"{one.least:,}"
    yield "not known" if one.least is None else f"{max(0, one.least - tried.net_worth):,}"


def _explained(tried: Tried) -> str:
    return (
        "Draws: net worth of this piece so cut. No plan that cuts a piece so, and misses no more blanks, draws "
        f"less than the batch figure; the plan above draws {tried.net_worth:,}."
    )
