"""The command line: arguments, progress and exit statuses; all else is done by the rooms it calls.

Standard output carries the report, standard error everything else. typer only reads the arguments: each
command returns the work to be done, and :func:`main` runs it, so that errors become exit statuses in one
place. What takes long to import is imported where it is needed.

Exit statuses: 0 done; 1 any failure, or a plan that breaks a rule; 2 bad input or bad arguments; 3 planned,
but needed blanks are missing; 130 stopped by Ctrl-C.
"""

from __future__ import annotations

import datetime
import math
import re
import sys
import traceback
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Literal

import typer

from yieldplan import __version__, commands
from yieldplan.commands import BAD_INPUT, DONE, FAILED
from yieldplan.model.errors import ArgumentError, InputError, PlanFileError, YieldplanError
from yieldplan.model.work import QUICK, WOOD_ALONE
from yieldplan.stopping import STOPPED
from yieldplan.terminal import drop_stdout, is_reader_gone, put, steady_streams, talk, warn

if TYPE_CHECKING:
    from yieldplan.model import Problem

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

PlanFile = Annotated[
    Path, typer.Argument(metavar="PLAN.json", help="A plan made from it.", show_default=False)
]
PaperOption = Annotated[Literal["letter", "a4"], typer.Option(help="Paper that the pages are laid out for.")]
TicketsOption = Annotated[
    bool, typer.Option("--tickets", help="Add tickets to cut out, one a stick and keeper.")
]
ShowOption = Annotated[
    Literal["order"] | None,
    typer.Option("--show", help="Show the order on the screen as well.", show_default=False),
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
    paper: PaperOption = "letter",
) -> Work:
    """Write an empty workbook to measure into, and a sheet to print beside it.

    The sheet is FILE-sheet.pdf: two pages with rows that a pencil fits, and the marks that go on the wood. Existing
    files are not overwritten.
    """
    return lambda: commands.tally(file, paper)


@app.command("check")
def _check(
    source: Input,
    call: Annotated[
        bool, typer.Option("--call", help="Show the boards large, one by one, to call over against the wood.")
    ] = False,
) -> Work:
    """Show what is understood of an input, and every problem in it.

    Nothing is planned and nothing written. With --call one reads out, the other holds the tape: name, length, width,
    thickness, then the faults from end A on.
    """
    return lambda: commands.check(source, call=call)


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
            metavar="N",
            help="Seconds to look for a better plan; it ends sooner where the plan is proven. [default: 20]",
            show_default=False,
        ),
    ] = None,
    wood: Annotated[
        bool, typer.Option("--wood", help="Save wood, whatever work it takes: work counts for nothing.")
    ] = False,
    quick: Annotated[
        bool, typer.Option("--quick", help="Save work: a board foot is worth no more than 2 minutes.")
    ] = False,
    paper: PaperOption = "letter",
    tickets: TicketsOption = False,
    show: ShowOption = None,
    like: Annotated[
        Path | None,
        typer.Option(
            metavar="PLAN.json",
            help="An older plan: keep as many of its cards as possible, for at most 1 % more.",
            show_default=False,
        ),
    ] = None,
    more: Annotated[
        bool, typer.Option("--more", help="Say how many more of each kind what is left would give.")
    ] = False,
    sets: Annotated[
        bool, typer.Option("--sets", help="Say how many times the whole pile makes the batch.")
    ] = False,
) -> Work:
    """Plan the cutting and write the cutting order.

    Wood is weighed against work: the setting "minutes for a board foot" of the Shop sheet says how long the shop would
    work to save one; --wood and --quick take one extreme or the other instead.

    The plan is rechecked before anything is shown. Ctrl-C ends the search early with the best plan so far, as
    does running out of seconds; whether it is proven best is said in the summary.

    Where blanks are missing it says what to buy: the cheapest boards of the sheet Yard, or without one the smallest
    that would do.

    Exit status: 0 all needed blanks are made, 3 some are missing, 2 bad input.
    """
    if seconds is not None and not (math.isfinite(seconds) and seconds > 0):
        raise typer.BadParameter("expected a number of seconds above 0", param_hint="--seconds")
    if wood and quick:
        raise typer.BadParameter("expected one of the two, or neither", param_hint="--wood and --quick")
    price = WOOD_ALONE if wood else QUICK if quick else None
    printing = commands.Printing(paper=paper, tickets=tickets, show=show is not None)
    folder, asked = out or commands.default_folder(source), commands.Asked(like=like, more=more, sets=sets)
    return lambda: commands.plan(source, folder, seconds, price, printing, asked)


@app.command("order")
def _order(
    source: Input,
    plan_file: PlanFile,
    out: Annotated[
        Path | None,
        typer.Option(
            metavar="DIR", help="Folder for the pages. [default: the plan file's own]", show_default=False
        ),
    ] = None,
    paper: PaperOption = "letter",
    tickets: TicketsOption = False,
    show: ShowOption = None,
) -> Work:
    """Print the cutting order of a saved plan again.

    The plan is rechecked first; one that breaks a rule is not printed (exit status 1).
    """
    printing = commands.Printing(paper=paper, tickets=tickets, show=show is not None)
    return lambda: commands.order(source, plan_file, out or plan_file.parent, printing)


@app.command("verify")
def _verify(
    source: Input,
    plan_file: PlanFile,
) -> Work:
    """Recheck a plan against every rule.

    The rules of the shop, the account of wood, and what the plan claims to have proven.
    """
    return lambda: commands.verify(source, plan_file)


@app.command("settle")
def _settle(
    source: Input,
    plan_file: PlanFile,
    happened: Annotated[
        Path,
        typer.Argument(
            metavar="WHAT-HAPPENED",
            help="The cutting order's workbook with the sheet What happened filled in, or its csv.",
            show_default=False,
        ),
    ],
    out: Annotated[
        Path,
        typer.Option(
            metavar="NEXT", help="The next input to write: a workbook for a workbook, a folder for a folder."
        ),
    ],
    half_way: Annotated[
        bool,
        typer.Option(
            "--half-way", help="Boards with nothing filled in are still to be cut and stay in the pile."
        ),
    ] = False,
    date: Annotated[
        str,
        typer.Option(
            metavar="YYYY-MM-DD",
            help="The day, for the sheet Cut and the ledger. [default: left for you to fill in]",
            show_default=False,
        ),
    ] = "",
    force: Annotated[bool, typer.Option("--force", help="Overwrite NEXT if it is there already.")] = False,
) -> Work:
    """Write the pile as a batch leaves it.

    Boards that were cut move to the sheet Cut, keepers become new rows, Need goes down by what was made good; INPUT
    stays as it is. The batch gets a row in ledger.csv beside INPUT.
    """
    settling = commands.Settling(half_way=half_way, date=_day(date), force=force)
    return lambda: commands.settle(source, plan_file, happened, out, settling)


def _day(text: str) -> str:
    """Return a date as it is written down, or raise."""
    try:
        return text and datetime.date.fromisoformat(text).isoformat()
    except ValueError:
        raise typer.BadParameter("expected a date such as 2026-03-28", param_hint="--date") from None


@app.command("ledger")
def _ledger(
    file: Annotated[
        Path, typer.Argument(metavar="LEDGER.csv", help="The ledger that settle keeps.", show_default=False)
    ],
    out: Annotated[
        Path | None, typer.Option(metavar="FILE.pdf", help="Write it as a page as well.", show_default=False)
    ] = None,
    table: Annotated[
        Path | None,
        typer.Option("--csv", metavar="FILE.csv", help="Write batches and years as csv.", show_default=False),
    ] = None,
    force: Annotated[bool, typer.Option("--force", help="Overwrite files that are there already.")] = False,
    paper: PaperOption = "letter",
) -> Work:
    """Show what the batches came to, and the year so far."""
    return lambda: commands.ledger(file, out, table, force, paper)


@app.command("stations")
def _stations(
    source: Input,
    out: Annotated[
        Path | None,
        typer.Option(
            metavar="DIR",
            help="Folder for the tape list and the copy of INPUT; made if it is not there. "
            "[default: INPUT's name with -stations, in the current folder]",
            show_default=False,
        ),
    ] = None,
    at_most: Annotated[
        int | None,
        typer.Option(
            metavar="N",
            min=1,
            max=200,
            help="The most lengths that each blank may have. [default: one for each length of frame]",
            show_default=False,
        ),
    ] = None,
    longer_by: Annotated[
        str | None,
        typer.Option(
            "--none-longer-by",
            metavar="MEASURE",
            help="As few lengths as will do, with no blank longer than its frame by more than this.",
            show_default=False,
        ),
    ] = None,
    linear: Annotated[
        bool, typer.Option("--linear", help="Straight lines from point to point instead of a batten.")
    ] = False,
    paper: PaperOption = "letter",
) -> Work:
    """Divide a run into equal spaces, and ask for the blanks of its frames.

    Reads the sheets Run, Points and Obstacles. Writes a tape list in whole millimetres as a page and as csv, and a copy
    of INPUT whose sheet Blanks asks for the frames; plan takes it as it is. No station is shifted unless Obstacles says
    so.
    """
    return lambda: commands.stations(
        source, out or commands.default_folder(source, "stations"), at_most, longer_by, linear, paper
    )


@app.command("guide")
def _guide(
    topic: Annotated[
        str | None,
        typer.Argument(metavar="[TOPIC]", help="Left out: a list of the topics.", show_default=False),
    ] = None,
) -> Work:
    """Read the guide: how to measure, the workbook, the settings, how to follow the order, and more."""
    return lambda: commands.guide(topic, _command_list())


_HELP_OPTION = re.compile(r"(\n\nOptions:)?\n  (-h, )?--help .*")


def _command_list() -> str:
    """Return the help of every command, one after the other, for the guide."""
    group: Any = typer.main.get_command(app)
    helps = (
        command.get_help(command.context_class(command, info_name=f"yieldplan {name}", terminal_width=78))
        for name, command in group.commands.items()
    )
    return "\n\n".join(_HELP_OPTION.sub("", text.removeprefix("Usage: ")) for text in helps)


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
    except (Exception, KeyboardInterrupt) as error:
        if is_reader_gone(error):
            drop_stdout()
            return FAILED
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
        return BAD_INPUT if isinstance(error, (ArgumentError, PlanFileError)) else FAILED
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
    warn(problem for problem in problems if problem.severity == "warning")
    count = len(errors)
    talk(f"{count} {'problem' if count == 1 else 'problems'} to put right; nothing was written.")


def _report_usage(error: Any) -> None:
    """Say what is wrong with the arguments, with the usage line of the command they were meant for."""
    talk(f"yieldplan: {error.format_message()}")
    context = getattr(error, "ctx", None)
    if context is not None:
        talk(" ".join(context.get_usage().split()))
        talk(f"Try: {context.command_path} --help")
