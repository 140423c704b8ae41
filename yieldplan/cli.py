"""The command line: arguments, progress and exit statuses; all else is done by the rooms it calls.

Standard output carries the report, standard error everything else. typer only reads the arguments: each
command returns the work to be done, and :func:`main` runs it, so that errors become exit statuses in one
place. What takes long to import is imported where it is needed.

Exit statuses: 0 done; 1 any failure, or a plan that breaks a rule; 2 bad input or bad arguments; 3 planned,
but needed blanks are missing; 130 stopped by Ctrl-C.
"""

from __future__ import annotations

import math
import sys
import traceback
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from yieldplan import __version__
from yieldplan.files import check_writable, write_set
from yieldplan.model import dump_plan, load_plan
from yieldplan.model.errors import InputError, OutputError, PlanFileError, YieldplanError
from yieldplan.terminal import drop_stdout, progress_line, put, show, steady_streams, talk

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from yieldplan.files import Content
    from yieldplan.model import Job, Plan, Problem

DONE, FAILED, BAD_INPUT, SHORT, STOPPED = 0, 1, 2, 3, 130
OUTPUT_NAMES = ("plan.json", "cutting-order.txt")

Work = Callable[[], int]

app = typer.Typer(
    name="yieldplan",
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["-h", "--help"]},
)

Input = Annotated[
    Path,
    typer.Argument(metavar="INPUT", help="A workbook (.xlsx) or a folder of csv files.", show_default=False),
]


def _say_version(wanted: bool) -> None:
    if wanted:
        put(f"yieldplan {__version__}\n")
        raise typer.Exit


@app.callback()
def _yieldplan(
    debug: Annotated[bool, typer.Option("--debug", help="Show a traceback when something fails.")] = False,
    version: Annotated[
        bool, typer.Option("--version", callback=_say_version, is_eager=True, help="Show the version.")
    ] = False,
) -> None:
    """Plan which offcut gives which blank, cut where and in what order, with a proven waste figure."""


@app.command("tally")
def _tally(
    file: Annotated[
        Path, typer.Argument(metavar="FILE.xlsx", help="The workbook to make.", show_default=False)
    ],
) -> Work:
    """Write an empty workbook to measure a pile into. An existing file is not overwritten."""
    return lambda: _run_tally(file)


@app.command("check")
def _check(source: Input) -> Work:
    """Read an input, list every problem in it, and show what was understood."""
    return lambda: _run_check(source)


@app.command("plan")
def _plan(
    source: Input,
    out: Annotated[
        Path | None,
        typer.Option(
            metavar="DIR",
            help="Folder for plan.json and the cutting order; made if it is not there. "
            "[default: INPUT's name with -order, in the current folder]",
            show_default=False,
        ),
    ] = None,
    seconds: Annotated[
        float | None,
        typer.Option(
            metavar="N", help="Longest time to look for a better plan. [default: 30]", show_default=False
        ),
    ] = None,
) -> Work:
    """Plan the cutting: write plan.json and the cutting order, and show the summary.

    Ctrl-C ends the search early with the best plan found so far.
    """
    if seconds is not None and not (math.isfinite(seconds) and seconds > 0):
        raise typer.BadParameter("expected a number of seconds above 0", param_hint="--seconds")
    return lambda: _run_plan(source, out or default_folder(source), seconds)


@app.command("verify")
def _verify(
    source: Input,
    plan_file: Annotated[
        Path, typer.Argument(metavar="PLAN.json", help="A plan made from it.", show_default=False)
    ],
) -> Work:
    """Recheck a plan against every rule of the shop and its account of wood."""
    return lambda: _run_verify(source, plan_file)


def default_folder(source: Path) -> Path:
    """Return the folder that a plan goes into when none is named: in the current folder, after the input."""
    whole = source.absolute()
    name = whole.resolve().name if whole.is_dir() else whole.stem
    return Path(f"{name}-order")


def main(argv: list[str] | None = None) -> int:
    """Run the command line and return its exit status; the only place where errors become statuses.

    Parameters
    ----------
    argv
        The arguments, without the program's name; those of the process if left out.
    """
    steady_streams()
    args = list(sys.argv[1:] if argv is None else argv)
    options = args[: args.index("--")] if "--" in args else args
    debug = "--debug" in options
    args = [arg for arg in options if arg != "--debug"] + args[len(options) :]
    try:
        work = typer.main.get_command(app).main(args=args, prog_name="yieldplan", standalone_mode=False)
        status = work() if callable(work) else int(work or DONE)
        sys.stdout.flush()
    except BrokenPipeError:
        drop_stdout()
        return FAILED
    except (Exception, KeyboardInterrupt) as error:
        if debug:
            traceback.print_exc()
        return _report(error)
    return status


def _report(error: BaseException) -> int:
    """Say in plain words what went wrong and return the exit status."""
    if isinstance(error, KeyboardInterrupt):
        talk(str(error) or "Stopped.")
        return STOPPED
    if isinstance(error, InputError):
        _report_problems(error.problems)
        return BAD_INPUT
    if isinstance(error, YieldplanError):
        talk(str(error))
        return BAD_INPUT if isinstance(error, PlanFileError) else FAILED
    if hasattr(error, "format_message"):
        _report_usage(error)
        return BAD_INPUT
    if isinstance(error, OSError):
        place = f"{error.filename}: " if error.filename else ""
        talk(f"{place}{error.strerror or error}.")
        return FAILED
    talk(
        f"Something went wrong that should not have ({type(error).__name__}: {error}). "
        "Run the same command with --debug to see where."
    )
    return FAILED


def _report_problems(problems: tuple[Problem, ...]) -> None:
    errors = [problem for problem in problems if problem.severity == "error"]
    for problem in errors:
        talk(problem.sentence())
    _warn(problem for problem in problems if problem.severity == "warning")
    count = len(errors)
    talk(f"{count} {'problem' if count == 1 else 'problems'} to put right; nothing was written.")


def _report_usage(error: Any) -> None:
    """Say what is wrong with the arguments, with the usage line of the command they were meant for."""
    talk(f"yieldplan: {error.format_message()}")
    context = getattr(error, "ctx", None)
    if context is not None:
        talk(" ".join(context.get_usage().split()))
        talk(f"Try: {context.command_path} --help")


def _warn(warnings: Iterable[Problem]) -> None:
    for warning in warnings:
        talk(f"Warning: {warning.sentence()}")


def _read(source: Path) -> Job:
    """Read an input and pass on its warnings."""
    from yieldplan.workbook import read  # noqa: PLC0415 - slow to load

    job = read(source)
    _warn(job.warnings)
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


def _run_tally(file: Path) -> int:
    from yieldplan.workbook import write_tally  # noqa: PLC0415 - slow to load

    try:
        write_tally(file)
    except OutputError as error:
        talk(str(error))
        return BAD_INPUT
    put(f"{file} is ready to measure into.\n")
    return DONE


def _run_check(source: Path) -> int:
    from yieldplan.order.understood import understood  # noqa: PLC0415 - slow to load

    show(understood(_read(source)))
    return DONE


def _run_plan(source: Path, out: Path, seconds: float | None) -> int:
    job = _read(source)
    check_writable(out, OUTPUT_NAMES)
    result = _search(job, seconds)
    from yieldplan.order import cutting_order, order_text  # noqa: PLC0415 - slow to load
    from yieldplan.order.reasons import reasons  # noqa: PLC0415 - slow to load
    from yieldplan.order.summary import summary  # noqa: PLC0415 - slow to load

    text = order_text(cutting_order(job, result))
    contents = (dump_plan(result), text.encode("utf-8"))
    written = _write(out, dict(zip(OUTPUT_NAMES, contents, strict=True)))
    show(summary(job, result, reasons(job, result)))
    put("\n" + text)
    if isinstance(written, OutputError):
        raise written
    talk("Written: " + ", ".join(map(str, written)))
    return SHORT if result.missing_total else DONE


def _search(job: Job, seconds: float | None) -> Plan:
    from yieldplan.solve import Options, plan  # noqa: PLC0415 - slow to load

    options = Options() if seconds is None else Options(seconds=seconds)
    try:
        with progress_line() as on_event:
            return plan(job, options=options, on_event=on_event)
    except KeyboardInterrupt:
        raise KeyboardInterrupt("Stopped before there was any plan; nothing was written.") from None


def _write(out: Path, contents: Mapping[str, Content]) -> tuple[Path, ...] | OutputError:
    """Write the files, or return why not, so that a plan that took long to find can still be shown."""
    try:
        return write_set(out, contents)
    except OutputError as error:
        return error


def _run_verify(source: Path, plan_file: Path) -> int:
    job, plan = _read(source), _load(plan_file)
    from yieldplan.verify import verify  # noqa: PLC0415 - late, as the other rooms

    breaches = verify(job, plan)
    for breach in breaches:
        put(breach.sentence() + "\n")
    count = len(breaches)
    if count:
        put(f"{count} {'breach' if count == 1 else 'breaches'}: do not cut from this plan.\n")
        return FAILED
    put(
        f"{plan_file} keeps every rule, its account of wood balances, and it was made from this {job.name}.\n"
    )
    return DONE
