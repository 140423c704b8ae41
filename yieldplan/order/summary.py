"""What the user sees after planning: the batch, the offcuts, the keepers, the waste and the proof.

Pure functions of the job and the plan. They return rich renderables without colour; every word that the user
typed is shown as it is, never read as markup, and made harmless for the terminal.
"""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from rich.console import Group
from rich.padding import Padding
from rich.text import Text

from yieldplan.harmless import harmless
from yieldplan.model import plan_crosscuts
from yieldplan.order.kept import cuts, keepers
from yieldplan.order.marks import Marks
from yieldplan.order.renderables import heading, row, table
from yieldplan.order.wording import (
    board_feet,
    cubic_metres,
    gap_percent,
    percent,
    plural,
    size,
    unit_sign,
)

if TYPE_CHECKING:
    from collections.abc import Mapping

    from rich.console import RenderableType
    from rich.table import Table

    from yieldplan.model import Job, Offcut, Plan


def summary(job: Job, plan: Plan, why: Mapping[str, str]) -> Group:
    """Return the whole summary of a plan.

    Parameters
    ----------
    job, plan
        The plan was made for this job.
    why
        Blank name to the reason why the pile does not make the missing ones.
    """
    parts: list[RenderableType] = [_headline(job, plan), _batch(job, plan)]
    if plan.missing_total:
        parts += [heading("Why blanks are missing"), *_missing(plan, why)]
    if plan.offcuts:
        parts += [heading("Offcuts drawn"), _drawn(job, plan)]
    parts += [
        heading("Left alone"),
        _left(job, plan),
        heading("Keepers, back to the rack"),
        _keepers(job, plan),
    ]
    parts += [heading("Wood"), *_account(plan), heading("Proof"), Text(proof_sentence(plan))]
    lesser = lesser_sentence(job, plan)
    parts += [Text(lesser)] if lesser else []
    return Group(*parts)


def proof_sentence(plan: Plan) -> str:
    """Say in plain words what is proven of the plan, or how much could still be gained.

    Net worth is the measure of stock used: thousandths of a board foot, a long piece counted dearer than its
    halves, less the worth of the keepers.
    """
    proof, short = plan.proof, plan.missing_total > 0
    meaning = (
        "Net worth is the stock used: thousandths of a board foot, a long piece counted dearer, "
        "keepers taken off."
    )
    worth, bound = f"{proof.net_worth:,}", f"{proof.bound:,}"
    if proof.proven:
        order = " (first priority first)" if len(proof.missing) > 1 else ""
        what = f"misses fewer blanks{order}, nor as few" if short else "makes every needed blank"
        return (
            f"Proven: no plan under the same rules {what} from less stock than this one, "
            f"with its net worth of {worth}. {meaning}"
        )
    doubt = f"{_doubt(plan)}. Of plans that miss no more, " if short else ""
    none = "none" if short else "no plan"
    if proof.gap > 0 and proof.bound <= 0:
        also = f"{_doubt(plan)}, and " if short else ""
        return (
            f"Not proven: {also}the search ended before it had a bound, so how far this plan's net worth of "
            f"{worth} is from the least is not known. {meaning}"
        )
    if proof.gap > 0:
        return (
            f"Not proven: {doubt}{none} can draw less than a net worth of {bound}, and this one draws "
            f"{worth}: at most {gap_percent(proof.gap)} of it could still be saved. {meaning}"
        )
    return f"Not proven: {doubt}{none} draws less than this one's net worth of {worth}. {meaning}"


def _doubt(plan: Plan) -> str:
    """Say whether aim 1 is proven, and if not how many blanks are missing in any plan, as far as that is known."""
    missing, least = dict(plan.proof.missing), plan.proof.missing_at_least
    unproven = [(priority, count) for priority, count in least if count < missing[priority]]
    if least and not unproven:
        return "no plan misses fewer blanks"
    doubt = "another plan may make more of the missing blanks"
    if not unproven or not unproven[0][1]:
        return doubt
    priority, count = unproven[0]
    return f"{doubt}, though none misses fewer than {count}" + (
        f" of priority {priority}" if len(missing) > 1 else ""
    )


def lesser_sentence(job: Job, plan: Plan) -> str:
    """Say what is known of extras, offcuts and crosscuts (aims 3 and 4); empty where nothing is."""
    lesser = plan.proof.lesser
    if lesser is None or not plan.offcuts:
        return ""
    welcome = any(blank.extra for blank in job.blanks)
    first = "extras, offcuts" if welcome else "offcuts"
    sentences = [f"Next come {first} and crosscuts, each among the plans that are as good in all before it."]
    if welcome:
        most = (
            "the most there can be"
            if plan.extra_total == lesser.extras
            else f"and no plan has more than {lesser.extras}"
        )
        sentences.append(f"Extras: {plan.extra_total}, {most}.")
    for name, has, least in (
        ("Offcuts drawn", len(plan.offcuts), lesser.offcuts),
        ("Crosscuts", plan_crosscuts(job, plan), lesser.crosscuts),
    ):
        few = "the fewest there can be" if has == least else f"and it takes at least {least}"
        sentences.append(f"{name}: {has}, {few}.")
    return " ".join(sentences)


def _headline(job: Job, plan: Plan) -> Text:
    need = sum(blank.need for blank in job.blanks)
    if plan.missing_total:
        verb = plural(plan.missing_total, "is", "are")
        return Text(f"SHORT: {plan.missing_total} of the {need} needed blanks {verb} missing.", style="bold")
    return Text(
        f"All {need} needed blanks are made." if need != 1 else "The one needed blank is made.", style="bold"
    )


def _batch(job: Job, plan: Plan) -> Padding:
    made, extra, missing = dict(plan.made), dict(plan.extra), dict(plan.missing)
    classes = len({blank.priority for blank in job.blanks}) > 1
    counts = ("Need", "Made", "Missing", "Extra") + (("Priority",) if classes else ())
    finished = f"Finished size, {unit_sign(job.shop)}"
    result = table("Blank", finished, *counts, right=counts, whole=(finished,))
    for blank in job.blanks:
        shown = size(job.shop, blank.length, blank.width, blank.thickness, up=True)
        numbers = [blank.need, made.get(blank.name, 0), missing.get(blank.name, 0), extra.get(blank.name, 0)]
        if classes:
            numbers.append(blank.priority)
        row(result, blank.name, shown, *numbers)
    return Padding(result, (1, 0, 0, 0))


def _missing(plan: Plan, why: Mapping[str, str]) -> list[RenderableType]:
    paragraphs: list[RenderableType] = []
    for name, count in plan.missing:
        if count:
            paragraphs.append(Text(harmless(f"{name}, {count} missing")))
            paragraphs.append(Padding(Text(harmless(why.get(name, "No reason was found."))), (0, 0, 0, 2)))
    return paragraphs


def _drawn(job: Job, plan: Plan) -> Table:
    kept = Counter((keeper.offcut, keeper.copy) for keeper in keepers(job, plan))
    rows = [(drawn, job.offcut(drawn.offcut)) for drawn in plan.offcuts]
    remarks = any(_remark(offcut) for _, offcut in rows)
    measured, marks = f"Measured size, {unit_sign(job.shop)}", Marks(job.offcuts)
    result = table("Offcut", "Rack", measured, "Gives", *(["Remarks"] if remarks else []), whole=(measured,))
    for drawn, offcut in rows:
        gives = Counter(cut.blank for cut in cuts(drawn))
        words = [f"{count} {name}" for name, count in gives.items()]
        count = kept[drawn.offcut, drawn.copy]
        if count:
            words.append(f"{count} {plural(count, 'keeper')}")
        cells = [marks.root(drawn.offcut, drawn.copy), offcut.rack, _measured(job, offcut), ", ".join(words)]
        row(result, *cells, *([_remark(offcut)] if remarks else []))
    return result


def _measured(job: Job, offcut: Offcut) -> str:
    return size(job.shop, offcut.length, offcut.width, offcut.thickness)


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
    return Text(harmless(f"{total} of {pieces} {plural(pieces, 'piece')}: {', '.join(names)}."))


def _keepers(job: Job, plan: Plan) -> RenderableType:
    kept = list(keepers(job, plan))
    if not kept:
        return Text("None.")
    shown, marks = f"Size, {unit_sign(job.shop)}", Marks(job.offcuts)
    result = table("From", shown, "Form", whole=(shown,))
    for piece in kept:
        name = marks.root(piece.offcut, piece.copy)
        row(result, name, size(job.shop, piece.length, piece.width, piece.thickness), piece.form)
    return result


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
