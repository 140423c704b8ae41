"""The command line: arguments in, exit statuses out; all else is done by :mod:`yieldplan.commands`.

Standard output carries the report, standard error everything else. typer only reads the arguments: what it returns is
the work to be done, and :func:`main` runs it, so that errors become exit statuses in one place.

Exit statuses: 0 done; 1 any failure, or a plan that breaks a rule; 2 bad input or bad arguments; 3 planned,
but needed blanks are missing; 130 stopped by Ctrl-C.
"""

from __future__ import annotations

import sys
import traceback
from typing import TYPE_CHECKING, Annotated, Any

import typer
from typer.core import TyperCommand

from yieldplan import __version__, commands
from yieldplan.commands import BAD_INPUT, DONE, FAILED
from yieldplan.model.errors import ArgumentError, InputError, PlanFileError, YieldplanError
from yieldplan.options import Topic, Work, taking_groups
from yieldplan.stopping import STOPPED
from yieldplan.terminal import drop_stdout, is_reader_gone, put, steady_streams, talk, warn

if TYPE_CHECKING:
    from yieldplan.model import Problem

app = typer.Typer(
    name="yieldplan",
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["-h", "--help"]},
)


class _PlainHelp(TyperCommand):
    """A command whose help names its arguments as the guide does, without braces and types."""

    def collect_usage_pieces(self, ctx: Any) -> list[str]:
        return [piece.strip("{}") for piece in super().collect_usage_pieces(ctx)]

    def format_options(self, ctx: Any, formatter: Any) -> None:
        arguments, options = [], []
        for parameter in self.params:
            name, words = parameter.get_help_record(ctx) or ("", "")
            if parameter.param_type_name == "argument":
                arguments.append((parameter.metavar or name, words.removesuffix("  [required]")))
            else:
                options.append((name, words))
        for heading, rows in (("Arguments", arguments), ("Options", options)):
            if rows:
                with formatter.section(heading):
                    formatter.write_dl(rows)


def _say_version(wanted: bool) -> None:
    if wanted:
        put(f"yieldplan {__version__}\n")
        raise typer.Exit


@app.callback()
def _yieldplan(
    debug: Annotated[
        bool, typer.Option("--debug", help="If something fails, show where in the program.")
    ] = False,
    version: Annotated[
        bool, typer.Option("--version", callback=_say_version, is_eager=True, help="Show the version.")
    ] = False,
) -> None:
    """Plan which offcut gives which blank, cut where and in what order, with a proven waste figure."""


def _guide(topic: Topic = None) -> int:
    """Show a page of the guide, or list its pages.

    How to measure, the workbook, the settings, how to follow the order, and more.
    """
    return commands.guide(topic, _command_list())


for _run in (
    *(commands.tally, commands.check, commands.plan, commands.order, commands.verify),
    *(commands.settle, commands.ledger, commands.stations, _guide),
):
    app.command(_run.__name__.removeprefix("_"), cls=_PlainHelp)(taking_groups(_run))


def _command_list() -> str:
    """Return the help of every command, one after the other, for the guide."""
    group: Any = typer.main.get_command(app)
    helps = (
        command.get_help(command.context_class(command, info_name=f"yieldplan {name}", terminal_width=78))
        for name, command in group.commands.items()
    )
    return "\n\n".join(text.removeprefix("Usage: ") for text in helps)


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
        work: Work | int | None = typer.main.get_command(app).main(
            args=args, prog_name="yieldplan", standalone_mode=False
        )
        status = work() if callable(work) else work or DONE
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
    said = error.format_message()
    talk(f"yieldplan: {said if said.endswith(('.', '?')) else said + '.'}")
    context = getattr(error, "ctx", None)
    if context is not None:
        talk(" ".join(context.get_usage().split()))
        talk(f"Try: {context.command_path} --help")
