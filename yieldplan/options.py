"""What the commands take: their files, and their options in groups, with the words that --help says of each."""

from __future__ import annotations

import datetime
import math
from collections.abc import Callable
from dataclasses import dataclass, fields, is_dataclass
from functools import partial
from inspect import Parameter, Signature, signature
from pathlib import Path
from typing import Annotated, Any, Literal, get_type_hints

import typer

from yieldplan.model.work import QUICK, WOOD_ALONE

Work = Callable[[], int]
"""A command with all that it was given: does the work and returns the exit status."""


def taking_groups(command: Callable[..., int]) -> Callable[..., Work]:
    """Return what typer reads the arguments for: each field of a group is an option of its own.

    It gives back the command as :data:`Work` still to be done.
    """
    groups: dict[str, Any] = {}
    taken: list[Parameter] = []
    for parameter in signature(command, eval_str=True).parameters.values():
        if is_dataclass(group := parameter.annotation):
            groups[parameter.name] = group
            hints = get_type_hints(group, include_extras=True)
            taken += (
                parameter.replace(name=field.name, default=field.default, annotation=hints[field.name])
                for field in fields(group)
            )
        else:
            taken.append(parameter)

    def gathered(**given: Any) -> Work:
        made = {
            name: group(**{field.name: given.pop(field.name) for field in fields(group)})
            for name, group in groups.items()
        }
        return partial(command, **given, **made)

    ordered = [parameter.replace(kind=Parameter.KEYWORD_ONLY) for parameter in taken]
    gathered.__doc__ = command.__doc__
    gathered.__annotations__ = {parameter.name: parameter.annotation for parameter in ordered}
    gathered.__signature__ = Signature(ordered)  # type: ignore[attr-defined]
    return gathered


def _argument(name: str, words: str) -> Any:
    return typer.Argument(metavar=name, help=words, show_default=False)


def _option(flag: str, kind: str, words: str, **more: Any) -> Any:
    """Return an option that takes a value of a ``kind``; what holds without it is said in the words."""
    return typer.Option(flag, metavar=kind, help=words, show_default=False, **more)


Input = Annotated[Path, _argument("INPUT", "A workbook (.xlsx) or a folder of csv files.")]
PlanFile = Annotated[Path, _argument("PLAN.json", "The plan that was made from it.")]
NewWorkbook = Annotated[Path, _argument("FILE.xlsx", "The workbook to make.")]
Happened = Annotated[
    Path,
    _argument(
        "WHAT-HAPPENED", "The order's workbook with its sheet What happened filled in, or what-happened.csv."
    ),
]
Ledger = Annotated[Path, _argument("LEDGER.csv", "The ledger that settle keeps.")]
Topic = Annotated[str | None, _argument("TOPIC", "The page to show; left out, the pages are listed.")]

_IN_FOLDER = (
    "Folder to write into; made if it is not there. [default: INPUT's name with {}, in the current folder]"
)
OrderFolder = Annotated[Path | None, _option("--out", "DIR", _IN_FOLDER.format("-order"))]
StationsFolder = Annotated[Path | None, _option("--out", "DIR", _IN_FOLDER.format("-stations"))]
PagesFolder = Annotated[
    Path | None, _option("--out", "DIR", "Folder to write into. [default: where PLAN.json is]")
]
NextInput = Annotated[
    Path,
    _option("--out", "NEXT", "The next input to write: a workbook or a folder, as INPUT is."),
]
LedgerPage = Annotated[Path | None, _option("--out", "FILE.pdf", "Write a page to print as well.")]
LedgerTable = Annotated[Path | None, _option("--csv", "FILE.csv", "Write batches and years as csv as well.")]

Call = Annotated[
    bool, typer.Option("--call", help="Show the boards in large letters, one by one, to call them over.")
]
PaperSize = Literal["letter", "a4"]
Paper = Annotated[PaperSize, _option("--paper", "letter|a4", "Paper to print on. [default: letter]")]
Force = Annotated[bool, typer.Option("--force", help="Write over what is there already.")]


def _above_zero(seconds: float) -> float:
    if not (math.isfinite(seconds) and seconds > 0):
        raise typer.BadParameter("expected a number of seconds above 0")
    return seconds


def _day(text: str) -> str:
    try:
        return text and datetime.date.fromisoformat(text).isoformat()
    except ValueError:
        raise typer.BadParameter("expected a date such as 2026-03-28") from None


def _lengths(number: int | None) -> int | None:
    if number is not None and not 1 <= number <= 200:
        raise typer.BadParameter("expected 1 to 200")
    return number


@dataclass(frozen=True, slots=True, kw_only=True)
class Searching:
    """How long a plan is looked for, at which price of work, and like which older plan."""

    seconds: Annotated[
        float,
        _option(
            "--seconds",
            "N",
            "How long to look for a better plan; less if it is proven sooner. [default: 20]",
            callback=_above_zero,
        ),
    ] = 20.0
    wood: Annotated[bool, typer.Option("--wood", help="Save wood, however much work it takes.")] = False
    quick: Annotated[
        bool, typer.Option("--quick", help="Save work: spend no more than 2 minutes to save a board foot.")
    ] = False
    like: Annotated[
        Path | None,
        _option(
            "--like",
            "PLAN.json",
            "An older plan. Cut as many boards as possible the way it does, for at most 1 % more.",
        ),
    ] = None

    def __post_init__(self) -> None:
        if self.wood and self.quick:
            raise typer.BadParameter("expected one of the two, or neither", param_hint="--wood and --quick")

    @property
    def price(self) -> int | None:
        """Hundredths of a minute that a board foot is worth; None: what the Shop sheet says."""
        return WOOD_ALONE if self.wood else QUICK if self.quick else None


@dataclass(frozen=True, slots=True, kw_only=True)
class Printing:
    """How the order is printed."""

    paper: Paper = "letter"
    tickets: Annotated[
        bool, typer.Option("--tickets", help="Add tickets to cut out, one for each stick and keeper.")
    ] = False
    show: Annotated[
        Literal["order"] | None,
        _option("--show", "order", "Show the order on the screen as well, board by board."),
    ] = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Adding:
    """What else is said of the pile once it is planned."""

    more: Annotated[
        bool, typer.Option("--more", help="Say how many more of each blank the wood left over would give.")
    ] = False
    sets: Annotated[bool, typer.Option("--sets", help="Say how many whole batches the pile would give.")] = (
        False
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Settling:
    """How a batch is settled."""

    half_way: Annotated[
        bool,
        typer.Option(
            "--half-way", help="The batch is not done: boards with nothing filled in stay in the pile."
        ),
    ] = False
    date: Annotated[
        str,
        _option(
            "--date",
            "YYYY-MM-DD",
            "The day, for the sheet Cut and the ledger. [default: left for you to fill in]",
            callback=_day,
        ),
    ] = ""
    force: Force = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Gathering:
    """How the frames' lengths are found, and how few lengths of blank are asked for."""

    at_most: Annotated[
        int | None,
        _option(
            "--at-most",
            "N",
            "The most lengths that a blank may come in, 1 to 200. [default: one for each length of frame]",
            callback=_lengths,
        ),
    ] = None
    longer_by: Annotated[
        str | None,
        _option(
            "--none-longer-by",
            "MEASURE",
            "As few lengths as possible, with no blank longer than its frame by more than this.",
        ),
    ] = None
    linear: Annotated[
        bool, typer.Option("--linear", help="Straight lines from point to point, not the curve of a batten.")
    ] = False
