"""The commands: each does its work, shows its report and returns its exit status; errors pass through.

Their docstrings are what --help says. What takes long to import is imported where it is needed.
"""

from __future__ import annotations

from itertools import chain
from pathlib import Path
from typing import TYPE_CHECKING

from yieldplan import options
from yieldplan.files import check_new, check_writable, write_set
from yieldplan.model.errors import OutputError, PlanFileError, StaleInputError
from yieldplan.model.pieces import HAPPENED_CSV
from yieldplan.planning import recheck, still_right
from yieldplan.stopping import STOPPED, noting_stop
from yieldplan.terminal import progress_line, put, screen_width, show, show_large, talk, turn_pages, warn

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from rich.console import RenderableType

    from yieldplan.model import Job, Plan
    from yieldplan.solve import Progress, Solution
    from yieldplan.stations.division import Survey
    from yieldplan.stopping import Stop

DONE, FAILED, BAD_INPUT, SHORT = 0, 1, 2, 3
ORDER_NAMES = ("cutting-order.pdf", "cutting-order.xlsx", "cutting-order.txt", HAPPENED_CSV)
OUTPUT_NAMES = ("plan.json", *ORDER_NAMES)


def tally(file: options.NewWorkbook, paper: options.Paper = "letter") -> int:
    """Write an empty workbook, and a sheet to print and fill in.

    FILE-sheet.pdf is two pages, with rows that a pencil fits and the marks that go on the wood. Files that are there
    already are left alone.
    """
    from yieldplan.measuring.sheet import measuring_sheet
    from yieldplan.workbook.tally import write_tally

    book, sheet = write_tally(file, {"-sheet.pdf": measuring_sheet(paper)})
    put(f"{book} is ready to fill in; print {sheet} and take it to the rack.\n")
    return DONE


def check(source: options.Input, call: options.Call = False) -> int:
    """Show what is understood of an input, and every problem in it.

    Nothing is planned or written. With --call one of you reads out and the other holds the tape: name, length, width,
    thickness, then the defects from end A on.
    """
    from yieldplan.measuring.readback import calling_order, understood

    job = _read(source)
    if call:
        show_large(*calling_order(job))
        return DONE
    show(understood(job))
    if count := len(job.warnings):
        which = "the warning" if count == 1 else f"the {count} warnings"
        talk(f"See {which} above the report.")
    return DONE


def plan(
    source: options.Input,
    out: options.OrderFolder = None,
    *,
    searching: options.Searching,
    paper: options.Paper = "letter",
    tickets: options.Tickets = False,
    on_screen: options.OnScreen = None,
    more: options.More = False,
    sets: options.Sets = False,
) -> int:
    """Plan the cutting and write the cutting order.

    Wood is weighed against work. The Shop sheet says how many minutes you would work to save a board foot; --wood and
    --quick go to one extreme or the other.

    The plan is rechecked before anything is shown. The summary says whether it is proven best, and if not, how much
    better any plan could be. Ctrl-C ends the search and keeps the best plan so far.

    If blanks are missing it says what to buy: the cheapest boards on the sheet Yard, or without that sheet the smallest
    that would do.

    Exit status: 0 if all needed blanks are made, 3 if some are missing, 2 if the input is bad.
    """
    from yieldplan.model.planfile import dump_plan

    folder = out or default_folder(source)
    job = _read(source)
    old = None if searching.like is None else _load(searching.like)
    _check_folder(folder, OUTPUT_NAMES)
    with noting_stop() as stop:
        solution = _solve(job, searching, old, stop)
        recheck(job, solution.plan)
        _check_unchanged(source, job)
        files, details, said = _cutting_order(
            job, solution, old, paper=paper, tickets=tickets, on_screen=on_screen
        )
        try:
            written = write_set(folder, {"plan.json": dump_plan(solution.plan), **files})
        except OutputError:
            show(said)  # it took long to find
            raise
        try:
            for part in chain(
                details, _of_the_pile(job, solution.plan, old, searching.seconds, stop, more=more, sets=sets)
            ):
                show(part)
        finally:
            show(said)  # last, so that it stands on the screen
        _tell(folder, written)
    if stop.asked:
        talk("Stopped: this is the best plan found so far.")
        return STOPPED
    return SHORT if solution.plan.missing_total else DONE


def _solve(job: Job, searching: options.Searching, old: Plan | None, stop: Stop) -> Solution:
    """Return what the search found.

    From the first plan on Ctrl-C is held back: the search is told of it and ends with the best plan up to then, which
    is shown and written, unless it is pressed again.
    """
    from yieldplan.solve import Options, solve

    asked = Options(seconds=searching.seconds, price=searching.price, alternatives=True)
    like = () if old is None else still_right(job, old)
    try:
        with progress_line(sum(blank.need for blank in job.blanks), job.shop.units) as show_line:

            def on_event(event: Progress) -> None:
                stop.hold()
                show_line(event)

            solution = solve(job, options=asked, like=like, on_event=on_event, stopped=lambda: stop.asked)
            stop.hold()
            return solution
    except BaseException as error:
        # Libraries make other errors of a Ctrl-C that comes while they are being loaded.
        if stop.held or not (stop.asked or isinstance(error, KeyboardInterrupt)):
            raise
        raise KeyboardInterrupt("Stopped before there was any plan; nothing was written.") from None


def _check_unchanged(source: Path, found: Job | Survey) -> None:
    """Raise if the input is no longer the one that was read: what is for wood measured otherwise is for none."""
    from yieldplan.workbook import fingerprint

    if fingerprint(source) != found.sha256:
        raise StaleInputError(
            f"{found.name} was changed or moved during the run, so nothing is shown and nothing was written; run the "
            "same command again."
        )


def _of_the_pile(
    job: Job, plan: Plan, old: Plan | None, seconds: float, stop: Stop, *, more: bool, sets: bool
) -> Iterator[RenderableType]:
    """Yield what is said of the pile before the summary: cards that hold, what to buy, how much more there is."""
    from yieldplan import pile_screen

    if stop.asked:
        return
    if old is not None:
        yield from pile_screen.cards_kept(job, old, plan)
    yield from pile_screen.buying(job, plan, seconds=seconds, recheck=recheck, stopped=lambda: stop.asked)
    if more:
        yield from pile_screen.more_of_each(job, plan, recheck=recheck)
    if sets:
        yield from pile_screen.sets_of_all(job, recheck=recheck)


def order(
    source: options.Input,
    plan_file: options.PlanFile,
    out: options.PagesFolder = None,
    paper: options.Paper = "letter",
    tickets: options.Tickets = False,
    on_screen: options.OnScreen = None,
) -> int:
    """Print the cutting order of a saved plan again.

    The plan is rechecked first. If it breaks a rule, nothing is printed and the exit status is 1.
    """
    from yieldplan.solve import Solution

    folder = out or plan_file.parent
    job, plan = _read(source), _load(plan_file)
    if _breaches(job, plan):
        return FAILED
    _check_folder(folder, ORDER_NAMES)
    files, details, said = _cutting_order(
        job, Solution(plan=plan, ended=""), paper=paper, tickets=tickets, on_screen=on_screen
    )
    written = write_set(folder, files)
    for part in (*details, said):
        show(part)
    _tell(folder, written)
    return DONE


def _cutting_order(
    job: Job,
    solution: Solution,
    like: Plan | None = None,
    *,
    paper: options.PaperSize,
    tickets: bool,
    on_screen: str | None,
) -> tuple[dict[str, bytes], tuple[RenderableType, ...], RenderableType]:
    """Return the files of the cutting order by name, and what the screen shows of it: details, then the summary."""
    from rich.text import Text

    from yieldplan.measuring.reasons import reasons
    from yieldplan.order import cutting_order, order_text
    from yieldplan.order.happened import happened_csv
    from yieldplan.order.pdf import pdf_bytes
    from yieldplan.order.summary import summary, why_missing
    from yieldplan.order.text import boards_text
    from yieldplan.order.xlsx import xlsx_bytes

    why, made = reasons(job, solution.plan), cutting_order(job, solution.plan, like)
    contents = (
        pdf_bytes(made, paper=paper, reasons=why, tickets=tickets),
        xlsx_bytes(made, paper=paper, reasons=why, others=solution.alternatives),
        order_text(made, reasons=why).encode("utf-8"),
        happened_csv(made),
    )
    boards = [Text(boards_text(made, width=screen_width()).removesuffix("\n"))] if on_screen else []
    said = summary(made, ended=solution.ended, coarse=solution.coarse, others=solution.alternatives)
    files = dict(zip(ORDER_NAMES, contents, strict=True))
    return files, (*boards, *why_missing(solution.plan, why)), said


def _tell(folder: Path, written: Sequence[Path]) -> None:
    """Say what was written where, and how many pages there are to print."""
    from yieldplan.order.pdf import page_count

    pages = page_count((folder / ORDER_NAMES[0]).read_bytes())
    count = f"{pages} {'page' if pages == 1 else 'pages'}"
    names = (f"{path.name} ({count})" if path.suffix == ".pdf" else path.name for path in written)
    talk(f"Written to {folder}: {', '.join(names)}.")


def _check_folder(out: Path, names: tuple[str, ...]) -> None:
    """Raise if an order could not be written there, or if it would take the place of what was written back."""
    from yieldplan.order.happened import is_filled_in

    check_writable(out, names)
    for path in (out / name for name in ("cutting-order.xlsx", HAPPENED_CSV)):
        if path.is_file() and is_filled_in(path.read_bytes()):
            raise OutputError(
                f"{path} has been filled in with what happened, and would be lost; name another folder with --out, "
                "or move it away."
            )


def verify(source: options.Input, plan_file: options.PlanFile) -> int:
    """Recheck a plan against every rule.

    These are the rules of the shop, the account of wood, and what the plan says is proven.
    """
    job, plan = _read(source), _load(plan_file)
    if _breaches(job, plan):
        return FAILED
    put(
        f"{plan_file} keeps every rule, its account of wood balances, and it was made from this {job.name}.\n"
    )
    return DONE


def _breaches(job: Job, plan: Plan) -> int:
    """Show every rule that a plan breaks; return how many."""
    from yieldplan.verify import verify

    breaches = verify(job, plan)
    for breach in breaches:
        put(breach.sentence() + "\n")
    if count := len(breaches):
        put(f"{count} {'breach' if count == 1 else 'breaches'}: do not cut from this plan.\n")
    return len(breaches)


def settle(
    source: options.Input,
    plan_file: options.PlanFile,
    happened: options.Happened,
    out: options.NextInput,
    *,
    half_way: options.HalfWay = False,
    date: options.Date = "",
    force: options.Force = False,
) -> int:
    """Write the pile as a batch leaves it.

    Boards that were cut move to the sheet Cut, keepers come in as new rows, and Need goes down by what was made good.
    INPUT stays as it is. The batch gets a row in ledger.csv beside INPUT.
    """
    from yieldplan.pile.ledger import ledger_row
    from yieldplan.pile.settle import check_out, next_input, write_settled
    from yieldplan.pile.settlement import said, settlement
    from yieldplan.verify import verify

    job, plan = _read(source), _load(plan_file)
    check_out(source, out)
    if plan.input_sha256 != job.sha256:
        put(verify(job, plan)[0].sentence() + "\n")
        talk("Nothing was settled: name the input as it was when the plan was made.")
        return FAILED
    if _breaches(job, plan):
        return FAILED
    settled = settlement(job, plan, happened, half_way=half_way)
    warn(settled.warnings)
    files = next_input(source, job, settled, date)
    _check_unchanged(source, job)
    row = ledger_row(job, settled, date)
    written = write_settled(source, out, files, row, force=force)
    put("\n".join(said(job, settled)) + "\n")
    talk(f"Written: {', '.join(written)}.")
    return DONE


def ledger(
    file: options.Ledger,
    page: options.LedgerPage = None,
    table: options.LedgerTable = None,
    force: options.Force = False,
    paper: options.Paper = "letter",
) -> int:
    """Show what the batches came to, and each year so far."""
    from yieldplan.pile.ledger import csv_bytes, pdf_bytes, read_ledger, report

    batches = read_ledger(file)
    contents: dict[Path, bytes] = {}
    if page is not None:
        contents[page] = pdf_bytes(batches, paper=paper)
    if table is not None:
        contents[table] = csv_bytes(batches)
    for path in () if force else contents:
        check_new(path, "choose another name, or overwrite it with --force")
    show(report(batches))
    for path, content in contents.items():
        write_set(path.parent, {path.name: content})
        talk(f"Written: {path}.")
    return DONE


def stations(
    source: options.Input,
    out: options.StationsFolder = None,
    at_most: options.AtMost = None,
    longer_by: options.LongerBy = None,
    linear: options.Linear = False,
    paper: options.Paper = "letter",
) -> int:
    """Divide a run into equal spaces, and list its frames' blanks.

    Reads the sheets Run, Points and Obstacles. Writes a tape list in whole millimetres, as a page, as text and as csv,
    and a copy of INPUT whose sheet Blanks asks for the frames; plan takes it as it is. A station is moved only where
    Obstacles says that it may be.
    """
    from yieldplan.stations import tape, words
    from yieldplan.stations.page import pdf_bytes
    from yieldplan.stations.reading import read_survey

    options.one_of_two(at_most, longer_by, "--at-most and --none-longer-by")
    folder = out or default_folder(source, "stations")
    survey = read_survey(source, linear=linear)
    warn(survey.warnings)
    longest = None if longer_by is None else tape.longest_over(longer_by, survey)
    found = tape.tape_list(survey, at_most=at_most, longer_by=longest)
    made = tape.copies(source, survey.blanks, found.kinds)
    _check_unchanged(source, survey)
    tape.check_copies(source, folder, made)
    text = words.tape_text(found, tape.copied_words(source, made))
    contents = (
        text.encode("utf-8"),
        words.tape_csv(found).encode("utf-8"),
        pdf_bytes(found, paper=paper),
    )
    written = write_set(folder, {**dict(zip(tape.NAMES, contents, strict=True)), **made})
    show(words.report(found))
    talk(f"Written: {', '.join(map(str, written))}.")
    return DONE


def guide(topic: str | None, command_list: str) -> int:
    """Show a page of the guide, or its topics."""
    from yieldplan.guide_pages import page

    turn_pages(page(topic, command_list))
    return DONE


def default_folder(source: Path, ending: str = "order") -> Path:
    """Return the folder that outputs go into when none is named: in the current folder, after the input."""
    whole = source.absolute()
    name = whole.resolve().name if whole.is_dir() else whole.stem
    return Path(f"{name}-{ending}")


def _read(source: Path) -> Job:
    """Read an input and pass on its warnings."""
    from yieldplan.workbook import read

    job = read(source)
    warn(job.warnings)
    return job


def _load(plan_file: Path) -> Plan:
    from yieldplan.model.planfile import load_plan

    try:
        return load_plan(plan_file.read_bytes())
    except PlanFileError as error:
        raise PlanFileError(f"{plan_file}: {error}") from error
    except OSError as error:
        expected = "expected a plan.json that yieldplan wrote"
        raise PlanFileError(f"{plan_file}: {error.strerror}; {expected}.") from error
