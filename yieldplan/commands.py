"""The commands: each does its work, shows its report and returns its exit status; errors pass through.

What takes long to import is imported where it is needed.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from yieldplan.files import check_writable, write_set
from yieldplan.model import dump_plan, load_plan
from yieldplan.model.errors import OutputError, PlanFileError, StaleInputError
from yieldplan.model.pieces import HAPPENED_CSV
from yieldplan.planning import recheck, still_right
from yieldplan.stopping import STOPPED, noting_stop
from yieldplan.terminal import progress_line, put, screen_width, show, show_large, talk, turn_pages, warn

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from rich.console import RenderableType

    from yieldplan.files import Content
    from yieldplan.model import Job, OffcutPlan, Plan
    from yieldplan.order import Order
    from yieldplan.pages.paper import Paper
    from yieldplan.solve import Progress, Solution
    from yieldplan.stopping import Stop


@dataclass(frozen=True, slots=True, kw_only=True)
class Settling:
    """How a batch is settled: half way through it, on which date, over what is there already."""

    half_way: bool = False
    date: str = ""
    force: bool = False


DONE, FAILED, BAD_INPUT, SHORT = 0, 1, 2, 3
ORDER_NAMES = ("cutting-order.pdf", "cutting-order.xlsx", "cutting-order.txt", HAPPENED_CSV)
OUTPUT_NAMES = ("plan.json", *ORDER_NAMES)


@dataclass(frozen=True, slots=True, kw_only=True)
class Printing:
    """How the order is printed: on which paper, with tickets to cut out, and board by board on the screen."""

    paper: Paper = "letter"
    tickets: bool = False
    show: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Printed:
    """A cutting order: why blanks are missing, what each of :data:`ORDER_NAMES` shall hold, how many pages it has."""

    order: Order
    why: Mapping[str, str]
    contents: Mapping[str, Content]
    pages: int


def tally(file: Path, paper: Paper) -> int:
    """Write the empty workbook, and the sheet to print beside it; files that are there already are bad input."""
    from yieldplan.measuring.sheet import measuring_sheet  # noqa: PLC0415 - slow to load
    from yieldplan.workbook import write_tally  # noqa: PLC0415 - slow to load

    book, sheet = write_tally(file, {"-sheet.pdf": measuring_sheet(paper)})
    put(f"{book} is ready to measure into; print {sheet} and take it to the rack.\n")
    return DONE


def check(source: Path, *, call: bool = False) -> int:
    """Show what was understood of an input; with ``call`` only its boards, as they are called over."""
    job = _read(source)
    if call:
        from yieldplan.measuring.boards import calling_order  # noqa: PLC0415 - slow to load

        show_large(*calling_order(job))
        return DONE
    from yieldplan.measuring.readback import understood  # noqa: PLC0415 - slow to load

    show(understood(job))
    if count := len(job.warnings):
        talk(
            "See the warning above the report."
            if count == 1
            else f"See the {count} warnings above the report."
        )
    return DONE


def guide(topic: str | None, command_list: str) -> int:
    """Show a page of the guide, or its topics."""
    from yieldplan.guide_pages import page  # noqa: PLC0415 - slow to load

    turn_pages(page(topic, command_list))
    return DONE


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What else a plan is asked for.

    Attributes
    ----------
    like
        An older plan's file: as many boards as may be are cut as it cuts them.
    more, sets
        Whether it is said how much more of each kind there is wood for, and how many whole batches.
    """

    like: Path | None = None
    more: bool = False
    sets: bool = False


def plan(
    source: Path,
    out: Path,
    seconds: float | None,
    price: int | None,
    printing: Printing,
    asked: Asked | None = None,
) -> int:
    """Read, solve, recheck, order and write; show the summary, and behind it what is said of the pile.

    ``price`` is hundredths of a minute for a board foot; None: the shop's own. What cannot be written is shown
    all the same.
    """
    asked = asked or Asked()
    job = _read(source)
    old = None if asked.like is None else _load(asked.like)
    _check_folder(out, OUTPUT_NAMES)
    with noting_stop() as stop:
        solution = _solve(job, seconds, price, stop, still_right(job, old) if old else ())
        recheck(job, solution.plan)
        _check_unchanged(source, job)
        printed = _print(job, solution.plan, printing, solution.alternatives, old)
        written = _write(out, {"plan.json": dump_plan(solution.plan), **printed.contents})
        _show(
            printed,
            printing,
            ended=solution.ended,
            coarse=solution.coarse,
            others=solution.alternatives,
        )
        if not stop.asked:
            for part in _of_the_pile(job, solution.plan, old, asked, seconds, stop):
                show(part)
        if isinstance(written, OutputError):
            raise written
        talk(_files(out, written, printed.pages))
    if stop.asked:
        talk("Stopped: this is the best plan found so far.")
        return STOPPED
    return SHORT if solution.plan.missing_total else DONE


def _of_the_pile(
    job: Job, plan: Plan, old: Plan | None, asked: Asked, seconds: float | None, stop: Stop
) -> Iterator[RenderableType]:
    """Yield what is said of the pile behind the summary: cards that hold, what to buy, how much more there is."""
    from yieldplan import pile_screen  # noqa: PLC0415 - slow to load
    from yieldplan.solve import Options  # noqa: PLC0415

    if old is not None:
        yield from pile_screen.cards_kept(job, old, plan)
    given = Options().seconds if seconds is None else seconds
    yield from pile_screen.buying(job, plan, seconds=given, recheck=recheck, stopped=lambda: stop.asked)
    if asked.more:
        yield from pile_screen.more_of_each(job, plan, recheck=recheck)
    if asked.sets:
        yield from pile_screen.sets_of_all(job, recheck=recheck)


def _solve(
    job: Job, seconds: float | None, price: int | None, stop: Stop, like: tuple[OffcutPlan, ...]
) -> Solution:
    """Return what the search found; ``like`` are cuttings of an older plan that are right still.

    From the first plan on Ctrl-C is held back: the search is told of it and ends with the best plan up to then, which
    is shown and written, unless it is pressed again.
    """
    from yieldplan.solve import Options, solve  # noqa: PLC0415 - slow to load

    try:
        options = Options(price=price, alternatives=True)
        options = options if seconds is None else replace(options, seconds=seconds)
        with progress_line(sum(blank.need for blank in job.blanks), job.shop.units) as show_line:

            def on_event(event: Progress) -> None:
                stop.hold()
                if show_line is not None:
                    show_line(event)

            solution = solve(job, options=options, like=like, on_event=on_event, stopped=lambda: stop.asked)
            stop.hold()
            return solution
    except BaseException as error:
        # Libraries make other errors of a Ctrl-C that comes while they are being loaded.
        if stop.held or not (stop.asked or isinstance(error, KeyboardInterrupt)):
            raise
        raise KeyboardInterrupt("Stopped before there was any plan; nothing was written.") from None


def _check_unchanged(source: Path, job: Job) -> None:
    """Raise if the input is no longer the one that was read: a plan for wood measured otherwise is none."""
    from yieldplan.workbook import fingerprint  # noqa: PLC0415 - slow to load

    if fingerprint(source) != job.sha256:
        raise StaleInputError(
            f"{job.name} was changed or moved while its plan was being made, so the plan is not shown and nothing "
            "was written; run the same command again."
        )


def _show(
    printed: Printed,
    printing: Printing,
    *,
    ended: str = "",
    coarse: Sequence[str] = (),
    others: Sequence[Plan] = (),
) -> None:
    """Show the order board by board if that is asked for, and the summary last, with what the search said."""
    from yieldplan.order.summary import summary  # noqa: PLC0415 - slow to load
    from yieldplan.order.text import boards_text  # noqa: PLC0415 - slow to load

    if printing.show:
        put(boards_text(printed.order, width=screen_width()))
    show(summary(printed.order, printed.why, ended=ended, coarse=coarse, others=others))


def order(source: Path, plan_file: Path, out: Path, printing: Printing) -> int:
    """Print the cutting order of a saved plan again; a plan that breaks a rule is not printed."""
    job, plan = _read(source), _load(plan_file)
    if _breaches(job, plan):
        return FAILED
    _check_folder(out, ORDER_NAMES)
    printed = _print(job, plan, printing)
    written = write_set(out, printed.contents)
    _show(printed, printing)
    talk(_files(out, written, printed.pages))
    return DONE


def _check_folder(out: Path, names: tuple[str, ...]) -> None:
    """Raise if an order could not be written there, or if it would take the place of what was written back."""
    from yieldplan.order.happened import is_filled_in  # noqa: PLC0415 - slow to load

    check_writable(out, names)
    for path in (out / name for name in ("cutting-order.xlsx", HAPPENED_CSV)):
        if path.is_file() and is_filled_in(path.read_bytes()):
            raise OutputError(
                f"{path} has been filled in with what happened, and would be lost; name another folder with --out, "
                "or move it away"
            )


def _print(
    job: Job,
    plan: Plan,
    printing: Printing,
    others: Sequence[Plan] = (),
    like: Plan | None = None,
) -> Printed:
    """Return the cutting order in all its forms."""
    from yieldplan.measuring.reasons import reasons  # noqa: PLC0415 - slow to load
    from yieldplan.order import cutting_order, order_text  # noqa: PLC0415 - slow to load
    from yieldplan.order.happened import happened_csv  # noqa: PLC0415 - slow to load
    from yieldplan.order.pdf import page_count, pdf_bytes  # noqa: PLC0415 - slow to load
    from yieldplan.order.xlsx import xlsx_bytes  # noqa: PLC0415 - slow to load

    why, made = reasons(job, plan), cutting_order(job, plan, like)
    pdf = pdf_bytes(made, paper=printing.paper, reasons=why, tickets=printing.tickets)
    contents = (
        pdf,
        xlsx_bytes(made, paper=printing.paper, reasons=why, others=others),
        order_text(made, reasons=why).encode("utf-8"),
        happened_csv(made),
    )
    found = dict(zip(ORDER_NAMES, contents, strict=True))
    return Printed(order=made, why=why, contents=found, pages=page_count(pdf))


def _files(out: Path, written: Sequence[Path], pages: int) -> str:
    """Return in a sentence what was written where, and how many pages there are to print."""
    count = f"{pages} {'page' if pages == 1 else 'pages'}"
    names = (f"{path.name} ({count})" if path.suffix == ".pdf" else path.name for path in written)
    return f"Written to {out}: {', '.join(names)}."


def _write(out: Path, contents: Mapping[str, Content]) -> tuple[Path, ...] | OutputError:
    """Write the files, or return why not, so that a plan that took long to find can still be shown."""
    try:
        return write_set(out, contents)
    except OutputError as error:
        return error


def verify(source: Path, plan_file: Path) -> int:
    """Recheck a plan file against the input that it was made from."""
    job, plan = _read(source), _load(plan_file)
    if _breaches(job, plan):
        return FAILED
    put(
        f"{plan_file} keeps every rule, its account of wood balances, and it was made from this {job.name}.\n"
    )
    return DONE


def _breaches(job: Job, plan: Plan) -> int:
    """Show every rule that a plan breaks; return how many."""
    from yieldplan.verify import verify  # noqa: PLC0415 - late, as the other rooms

    breaches = verify(job, plan)
    for breach in breaches:
        put(breach.sentence() + "\n")
    if count := len(breaches):
        put(f"{count} {'breach' if count == 1 else 'breaches'}: do not cut from this plan.\n")
    return len(breaches)


def stations(
    source: Path, out: Path, at_most: int | None, longer_by: str | None, linear: bool, paper: Paper
) -> int:
    """Divide the runs of an input, show the tape list and write it, with the input again asking for its blanks."""
    from yieldplan import stations as room  # noqa: PLC0415 - slow to load

    survey = room.read_survey(source, linear=linear)
    warn(survey.warnings)
    longest = None if longer_by is None else room.longest_over(longer_by, survey)
    found = room.tape_list(survey, room.Gathering(linear=linear, at_most=at_most, longer_by=longest))
    made = room.copies(source, found)
    room.check_copies(source, out, made)
    text = room.tape_text(found, room.copied_words(source, made))
    contents = (
        text.encode("utf-8"),
        room.tape_csv(found).encode("utf-8"),
        room.pdf_bytes(found, paper=paper),
    )
    written = write_set(out, {**dict(zip(room.NAMES, contents, strict=True)), **made})
    show(room.report(found))
    talk("Written: " + ", ".join(map(str, written)))
    return DONE


def settle(source: Path, plan_file: Path, happened: Path, out: Path, settling: Settling) -> int:
    """Write the next input, as a batch leaves the pile, and the batch's row in the ledger; show what it comes to."""
    from yieldplan import pile as room  # noqa: PLC0415 - slow to load

    job, plan = _read(source), _load(plan_file)
    room.check_out(source, out)
    if plan.input_sha256 != job.sha256:
        return _another_input(job, plan)
    if _breaches(job, plan):
        return FAILED
    settled = room.settlement(job, plan, happened, half_way=settling.half_way)
    warn(settled.warnings)
    files = room.next_input(source, job, settled, settling.date)
    _check_unchanged(source, job)
    row = room.ledger_row(job, settled, settling.date)
    written = room.write_settled(source, out, files, row, force=settling.force)
    put(room.said(job, settled))
    talk("Written: " + ", ".join(written))
    return DONE


def _another_input(job: Job, plan: Plan) -> int:
    """Say in the words of the recheck that a plan is not one of this input, and nothing that follows from it."""
    from yieldplan.verify import verify  # noqa: PLC0415 - late, as the other rooms

    put(verify(job, plan)[0].sentence() + "\n")
    talk("Nothing was settled: name the input as it was when the plan was made.")
    return FAILED


def ledger(file: Path, page: Path | None, table: Path | None, force: bool, paper: Paper) -> int:
    """Show the batches of a ledger and the year so far; write them as a page and as csv where asked."""
    from yieldplan import pile as room  # noqa: PLC0415 - slow to load

    batches = room.read_ledger(file)
    contents: dict[Path, Content] = {}
    if page is not None:
        contents[page] = room.ledger_pdf(batches, paper=paper)
    if table is not None:
        contents[table] = room.ledger_csv(batches)
    for path in contents:
        room.check_new(path, force=force)
    show(room.ledger_report(batches))
    for path, content in contents.items():
        talk("Written: " + ", ".join(map(str, write_set(path.parent, {path.name: content}))))
    return DONE


def default_folder(source: Path, ending: str = "order") -> Path:
    """Return the folder that outputs go into when none is named: in the current folder, after the input."""
    whole = source.absolute()
    name = whole.resolve().name if whole.is_dir() else whole.stem
    return Path(f"{name}-{ending}")


def _read(source: Path) -> Job:
    """Read an input and pass on its warnings."""
    from yieldplan.workbook import read  # noqa: PLC0415 - slow to load

    job = read(source)
    warn(job.warnings)
    return job


def _load(plan_file: Path) -> Plan:
    try:
        return load_plan(plan_file.read_bytes())
    except (PlanFileError, OSError) as error:
        why = (
            f"{error.strerror}; expected a plan.json that yieldplan wrote"
            if isinstance(error, OSError)
            else error
        )
        raise PlanFileError(f"{plan_file}: {why}.") from error
