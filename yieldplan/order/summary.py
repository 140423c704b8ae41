"""What the user sees after planning: the batch, the offcuts, the keepers, wood and work, and how good it is.

Pure functions of the job and the plan. They return rich renderables without colour; every word that the user
typed is shown as it is, never read as markup, and sanitized for the terminal.
"""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from rich.console import Group
from rich.padding import Padding
from rich.text import Text

from yieldplan.model import keepers
from yieldplan.order.howgood import FIGURES, coarsely, how_good, wood_or_work
from yieldplan.order.marks import Marks
from yieldplan.order.minutes import how_long, in_minutes, places_of, shares
from yieldplan.order.renderables import heading, row, table
from yieldplan.order.wording import board_feet, cubic_metres, percent, plural, size, unit_sign
from yieldplan.sanitize import sanitize

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from rich.console import RenderableType
    from rich.table import Table

    from yieldplan.model import Alternative, Job, Offcut, OffcutPlan, Plan

FORMS = {
    "length": "as measured",
    "strip": "strip",
    "layer": "layer",
    "stick": "stick",
    "end": "end of a planed stick",
}
"""What each form of keeper is called."""


def summary(
    job: Job,
    plan: Plan,
    why: Mapping[str, str],
    *,
    ended: str = "",
    coarse: Sequence[str] = (),
    others: Sequence[Alternative] = (),
) -> Group:
    """Return the whole summary of a plan.

    Parameters
    ----------
    job, plan
        The plan was made for this job.
    why
        Blank name to the reason why the pile does not make the missing ones.
    ended
        Why the search ended, a clause; it is shown where the plan is not proven.
    coarse
        The offcuts that were looked at on a coarser mark.
    others
        What other prices of work give.
    """
    parts: list[RenderableType] = [_headline(job, plan), _batch(job, plan)]
    if plan.missing_total:
        parts += [heading("Why blanks are missing"), *_missing(plan, why)]
    if plan.offcuts:
        parts += [heading("Offcuts drawn"), _drawn(job, plan)]
    parts += [heading("Left alone"), _left(job, plan)]
    parts += [heading("Keepers, back to the rack"), _keepers(job, plan)]
    parts += [heading("Wood"), *_account(plan)]
    if plan.offcuts:
        parts += [heading("Work"), _work(job, plan)]
    parts += [heading("How good"), Text(how_good(job, plan))]
    if ended and not plan.proof.proven:
        parts.append(Text(f"The search ended: {ended.rstrip('.')}."))
    if coarse:
        parts.append(Text(sanitize(coarsely(coarse))))
    if others:
        parts += [heading("Wood or work"), wood_or_work(job, plan, others), Text(FIGURES)]
    return Group(*parts)


def _headline(job: Job, plan: Plan) -> Text:
    need, spare = (sum(getattr(blank, what) for blank in job.blanks) for what in ("need", "spare"))
    spares = f" Spares: {plan.spare_total} of {spare}." if spare else ""
    if plan.missing_total:
        verb = plural(plan.missing_total, "is", "are")
        return Text(
            f"SHORT: {plan.missing_total} of the {need} needed blanks {verb} missing.{spares}", style="bold"
        )
    made = f"All {need} needed blanks are made." if need != 1 else "The one needed blank is made."
    return Text(made + spares, style="bold")


def _batch(job: Job, plan: Plan) -> Padding:
    """Return the batch as a table; spares and priorities have a column only where there is something to tell."""
    made, spare, missing = dict(plan.made), dict(plan.spare), dict(plan.missing)
    columns = {
        "Need": [blank.need for blank in job.blanks],
        "Made": [made.get(blank.name, 0) for blank in job.blanks],
        "Missing": [missing.get(blank.name, 0) for blank in job.blanks],
    }
    cells = {name: [str(count) for count in counts] for name, counts in columns.items()}
    if any(blank.spare for blank in job.blanks):
        cells["Spares"] = [
            f"{spare.get(blank.name, 0)} of {blank.spare}" if blank.spare else "-" for blank in job.blanks
        ]
    if len({blank.priority for blank in job.blanks}) > 1:
        cells["Priority"] = [str(blank.priority) for blank in job.blanks]
    finished = f"Finished size, {unit_sign(job.shop)}"
    result = table("Blank", finished, *cells, right=cells, whole=(finished,))
    for at, blank in enumerate(job.blanks):
        shown = size(job.shop, blank.length, blank.width, blank.thickness)
        row(result, blank.name, shown, *(column[at] for column in cells.values()))
    return Padding(result, (1, 0, 0, 0))


def _missing(plan: Plan, why: Mapping[str, str]) -> list[RenderableType]:
    paragraphs: list[RenderableType] = []
    for name, count in plan.missing:
        if count:
            paragraphs.append(Text(sanitize(f"{name}, {count} missing")))
            paragraphs.append(Padding(Text(sanitize(why.get(name, "No reason was found."))), (0, 0, 0, 2)))
    return paragraphs


def _drawn(job: Job, plan: Plan) -> Table:
    rows = [(drawn, job.offcut(drawn.offcut)) for drawn in plan.offcuts]
    remarks = any(_remark(offcut) for _, offcut in rows)
    measured, marks = f"Measured size, {unit_sign(job.shop)}", Marks(job.offcuts)
    result = table("Offcut", "Rack", measured, "Gives", *(["Remarks"] if remarks else []), whole=(measured,))
    for drawn, offcut in rows:
        words = _gives(drawn)
        kept = sum(1 for _ in keepers(job, drawn))
        if kept:
            words.append(f"{kept} {plural(kept, 'keeper')}")
        shown = size(job.shop, offcut.length, offcut.width, offcut.thickness)
        cells = [marks.root(drawn.offcut, drawn.copy), offcut.rack, shown, ", ".join(words)]
        row(result, *cells, *([_remark(offcut)] if remarks else []))
    return result


def _gives(drawn: OffcutPlan) -> list[str]:
    """Return what blanks a drawn offcut gives, how many of each, and how many of those are spares."""
    cuts = tuple(drawn.blanks)
    spares = Counter(cut.blank for cut in cuts if cut.spare)
    return [
        f"{count} {name} ({spares[name]} spare)" if spares[name] else f"{count} {name}"
        for name, count in Counter(cut.blank for cut in cuts).items()
    ]


def _remark(offcut: Offcut) -> str:
    """Return the offcut's note and its columns that no rule reads."""
    return "; ".join(
        [*([offcut.note] if offcut.note else []), *(f"{head}: {text}" for head, text in offcut.other if text)]
    )


def _left(job: Job, plan: Plan) -> Text:
    drawn = Counter(cutting.offcut for cutting in plan.offcuts)
    left = [(offcut, offcut.qty - drawn[offcut.name]) for offcut in job.offcuts]
    left = [(offcut, count) for offcut, count in left if count]
    total = sum(count for _, count in left)
    pieces = sum(offcut.qty for offcut in job.offcuts)
    if not left:
        return Text(f"None of the {pieces} {plural(pieces, 'piece')}.")
    names = (f"{o.name} ({count} of {o.qty})" if o.qty > 1 else o.name for o, count in left)
    return Text(sanitize(f"{total} of {pieces} {plural(pieces, 'piece')}: {', '.join(names)}."))


def _keepers(job: Job, plan: Plan) -> RenderableType:
    shown, marks = f"Size, {unit_sign(job.shop)}", Marks(job.offcuts)
    result = table("From", shown, "Form", whole=(shown,))
    for drawn in plan.offcuts:
        name = marks.root(drawn.offcut, drawn.copy)
        for piece in keepers(job, drawn):
            length, *section = piece.size
            row(result, name, size(job.shop, length, *sorted(section, reverse=True)), FORMS[piece.form])
    return result if result.row_count else Text("None.")


def _account(plan: Plan) -> list[RenderableType]:
    account = plan.account
    result = table("", "Board feet", "m³", "Share", right=("Board feet", "m³", "Share"))
    rows = {
        "Drawn from the pile": account.volume_in,
        "  finished blanks": account.blanks,
        "  keepers": account.keepers,
        "  saw kerf": account.kerf,
        "  shavings (jointing, planing)": account.shavings,
        "  trimmings (all the rest)": account.trimmings,
    }
    for name, volume in rows.items():
        row(result, name, board_feet(volume), cubic_metres(volume), percent(volume, account.volume_in))
    waste, used = account.kerf + account.shavings + account.trimmings, account.volume_in - account.keepers
    if not used:
        return [result, Text("Waste figure: none, since nothing is cut.")]
    words = f"{percent(waste, used)} of the wood that is not kept went into kerf, shavings and trimmings."
    return [result, Text(f"Waste figure: {words}")]


def _work(job: Job, plan: Plan) -> Table:
    """Return the minutes by machine; the last line is all of them."""
    found = shares(job, plan)
    places = places_of(tuple(share.hundredths for share in found))
    result = table("", "Settings", "", "Minutes", right=("Settings", "Minutes"))
    for share in found:
        settings = share.settings or ""
        row(result, share.at, settings, share.does, in_minutes(share.hundredths, places))
    settings = sum(share.settings for share in found)
    whole = plan.work.hundredths
    row(result, "In all", settings, how_long(whole), in_minutes(whole, places))
    return result
