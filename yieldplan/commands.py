"""The commands: each does its work, shows its report and returns its exit status; errors pass through.

What takes long to import is imported where it is needed.
"""

from __future__ import annotations

from difflib import get_close_matches
from pathlib import Path
from typing import TYPE_CHECKING

from yieldplan.files import check_writable, write_set
from yieldplan.model import dump_plan, load_plan
from yieldplan.model.errors import ArgumentError, OutputError, PlanFileError, StaleInputError
from yieldplan.model.words import fold
from yieldplan.stopping import noting_stop
from yieldplan.terminal import progress_line, put, show, talk, warn

if TYPE_CHECKING:
    from collections.abc import Mapping

    from yieldplan.files import Content
    from yieldplan.model import Job, Plan
    from yieldplan.order.paper import Paper
    from yieldplan.solve import Progress
    from yieldplan.solve.aims import Search
    from yieldplan.stopping import Stop

DONE, FAILED, BAD_INPUT, SHORT, STOPPED = 0, 1, 2, 3, 130
ORDER_NAMES = ("cutting-order.txt", "cutting-order.pdf", "cutting-order.xlsx")
OUTPUT_NAMES = ("plan.json", *ORDER_NAMES)


def tally(file: Path) -> int:
    """Write the empty workbook; a file that stands there already is bad input."""
    from yieldplan.workbook import write_tally  # noqa: PLC0415 - slow to load

    write_tally(file)
    put(f"{file} is ready to measure into.\n")
    return DONE


def check(source: Path) -> int:
    """Show what was understood of an input."""
    from yieldplan.order.understood import understood  # noqa: PLC0415 - slow to load

    show(understood(_read(source)))
    return DONE


def plan(source: Path, out: Path, seconds: float | None, paper: Paper, asked: str | None) -> int:
    """Plan, write the outputs into ``out`` and show the summary and the cutting order.

    ``asked`` names an offcut; what was tried on it is shown last.
    """
    job = _read(source)
    offcut = None if asked is None else _named(job, asked)
    check_writable(out, OUTPUT_NAMES)
    with noting_stop() as stop:
        result, search = _search(job, seconds, stop, keep=offcut is not None)
        _check_unchanged(source, job)
        written = _show_plan(job, result, out, paper)
        if offcut is not None and search is not None:
            from yieldplan.order.tried import tried_report  # noqa: PLC0415 - slow to load
            from yieldplan.solve import tried  # noqa: PLC0415 - slow to load

            show(tried_report(job, tried(search, offcut)))
        if isinstance(written, OutputError):
            raise written
        talk("Written: " + ", ".join(map(str, written)))
    if stop.asked:
        talk("Stopped: this is the best plan up to then.")
        return STOPPED
    return SHORT if result.missing_total else DONE


def _show_plan(job: Job, result: Plan, out: Path, paper: Paper) -> tuple[Path, ...] | OutputError:
    """Write the outputs, then show the plan; return the files, or why they could not be written."""
    from yieldplan.order.reasons import reasons  # noqa: PLC0415 - slow to load
    from yieldplan.order.summary import summary  # noqa: PLC0415 - slow to load

    why = reasons(job, result)
    text, pages = _order(job, result, why, paper)
    written = _write(out, {"plan.json": dump_plan(result), **pages})
    show(summary(job, result, why))
    put("\n" + text)
    return written


def _check_unchanged(source: Path, job: Job) -> None:
    """Raise if the input is no longer the one that was read: a plan for wood measured otherwise is none."""
    from yieldplan.workbook import fingerprint  # noqa: PLC0415 - slow to load

    if fingerprint(source) != job.sha256:
        raise StaleInputError(
            f"{job.name} was changed or moved while its plan was being made, so the plan is not shown and nothing "
            "was written; run the same command again."
        )


def _named(job: Job, asked: str) -> str:
    """Return the offcut of that name, however it is typed."""
    names = {fold(offcut.name): offcut.name for offcut in job.offcuts}
    if fold(asked) in names:
        return names[fold(asked)]
    near = get_close_matches(fold(asked), names, n=1)
    hint = (
        f"did you mean {names[near[0]]}?" if near else "names stand in the first column of the sheet Offcuts."
    )
    raise ArgumentError(f"--why {asked}: there is no offcut of that name in {job.name}; {hint}")


def _search(job: Job, seconds: float | None, stop: Stop, *, keep: bool) -> tuple[Plan, Search | None]:
    """Return the plan and, to be kept, the search that found it.

    From its end on Ctrl-C is held back: what has been found is shown and written, unless it is pressed again.
    """
    try:
        from yieldplan import solve  # noqa: PLC0415 - slow to load

        options = solve.Options() if seconds is None else solve.Options(seconds=seconds)
        with progress_line() as show_line:

            def on_event(event: Progress) -> None:
                if event.phase == solve.RECHECK:
                    stop.held = True
                if show_line is not None:
                    show_line(event)

            if keep:
                return solve.searched(job, options=options, on_event=on_event)
            return solve.plan(job, options=options, on_event=on_event), None
    except KeyboardInterrupt:
        if stop.held:
            raise
        raise KeyboardInterrupt("Stopped before there was any plan; nothing was written.") from None


def order(source: Path, plan_file: Path, out: Path, paper: Paper) -> int:
    """Print the cutting order of a saved plan again; a plan that breaks a rule is not printed."""
    job, plan = _read(source), _load(plan_file)
    if _breaches(job, plan):
        return FAILED
    check_writable(out, ORDER_NAMES)
    from yieldplan.order.reasons import reasons  # noqa: PLC0415 - slow to load

    text, pages = _order(job, plan, reasons(job, plan), paper)
    written = write_set(out, pages)
    put(text)
    talk("Written: " + ", ".join(map(str, written)))
    return DONE


def _order(job: Job, plan: Plan, why: Mapping[str, str], paper: Paper) -> tuple[str, dict[str, Content]]:
    """Return the cutting order's text, and what each of :data:`ORDER_NAMES` shall hold."""
    from yieldplan.order import cutting_order, order_text  # noqa: PLC0415 - slow to load
    from yieldplan.order.standby import name_stand_bys  # noqa: PLC0415 - slow to load
    from yieldplan.solve.standby import Giver  # noqa: PLC0415 - slow to load

    made = name_stand_bys(cutting_order(job, plan), Giver(job))
    text = order_text(made)

    def pdf(path: Path) -> None:
        from yieldplan.order.pdf import write_pdf  # noqa: PLC0415 - slow to load

        write_pdf(made, path, paper=paper, reasons=why)

    def xlsx(path: Path) -> None:
        from yieldplan.order.xlsx import write_xlsx  # noqa: PLC0415 - slow to load

        write_xlsx(made, path, paper=paper, reasons=why)

    return text, dict(zip(ORDER_NAMES, (text.encode("utf-8"), pdf, xlsx), strict=True))


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


def default_folder(source: Path) -> Path:
    """Return the folder that a plan goes into when none is named: in the current folder, after the input."""
    whole = source.absolute()
    name = whole.resolve().name if whole.is_dir() else whole.stem
    return Path(f"{name}-order")


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
