"""What the commands take: their files, and their options in groups, with the words that --help says of each."""

from __future__ import annotations

import datetime
import math
from collections.abc import Callable
from dataclasses import dataclass, is_dataclass
from functools import partial
from inspect import Parameter, Signature, signature
from pathlib import Path
from typing import Annotated, Any, Literal

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
        if is_dataclass(parameter.annotation):
            groups[parameter.name] = parameter.annotation
            taken += signature(groups[parameter.name], eval_str=True).parameters.values()
        else:
            taken.append(parameter.replace(kind=Parameter.KEYWORD_ONLY))

    def gathered(**given: Any) -> Work:
        made = {
            name: group(**{field: given.pop(field) for field in signature(group).parameters})
            for name, group in groups.items()
        }
        return partial(command, **given, **made)

    gathered.__doc__ = command.__doc__
    gathered.__annotations__ = {parameter.name: parameter.annotation for parameter in taken}
    gathered.__signature__ = Signature(taken)  # type: ignore[attr-defined]
    return gathered


def _argument(name: str, words: str) -> Any:
    return typer.Argument(metavar=name, help=words, show_default=False)


def _option(flag: str, kind: str, words: str, check: Callable[..., Any] | None = None) -> Any:
    """Return an option that takes a value of a ``kind``; the words say what holds without it."""
    return typer.Option(flag, metavar=kind, help=words, callback=check, show_default=False)


def _flag(flag: str, words: str) -> Any:
    return typer.Option(flag, help=words)


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


_IN = "Folder to write into; made if it is not there. [default: INPUT's name with -{}, in the current folder]"
_WHAT_HAPPENED = "The order's workbook with its sheet What happened filled in, or what-happened.csv."
_SECONDS = "How long to look for a better plan; less if it is proven sooner. [default: 20]"
_LIKE = "An older plan. Cut as many boards as possible the way it does, for at most 1 % more."
_SHOW = "Show the order on the screen as well, board by board."
_HALF_WAY = "The batch is not done: boards with nothing filled in stay in the pile."
_DATE = "The day, for the sheet Cut and the ledger. [default: left for you to fill in]"
_AT_MOST = "The most lengths that a blank may come in, 1 to 200. [default: one for each length of frame]"
_LONGER = "As few lengths as possible, with no blank longer than its frame by more than this."

Input = Annotated[Path, _argument("INPUT", "A workbook (.xlsx) or a folder of csv files.")]
PlanFile = Annotated[Path, _argument("PLAN.json", "The plan that was made from it.")]
NewWorkbook = Annotated[Path, _argument("FILE.xlsx", "The workbook to make.")]
Happened = Annotated[Path, _argument("WHAT-HAPPENED", _WHAT_HAPPENED)]
Ledger = Annotated[Path, _argument("LEDGER.csv", "The ledger that settle keeps.")]
Topic = Annotated[str | None, _argument("TOPIC", "The page to show; left out, the pages are listed.")]

OrderFolder = Annotated[Path | None, _option("--out", "DIR", _IN.format("order"))]
StationsFolder = Annotated[Path | None, _option("--out", "DIR", _IN.format("stations"))]
PagesFolder = Annotated[
    Path | None, _option("--out", "DIR", "Folder to write into. [default: the one PLAN.json is in]")
]
NextInput = Annotated[
    Path, _option("--out", "NEXT", "The next input to write: a workbook or a folder, as INPUT is.")
]
LedgerPage = Annotated[Path | None, _option("--out", "FILE.pdf", "Write a page to print as well.")]
LedgerTable = Annotated[Path | None, _option("--csv", "FILE.csv", "Write batches and years as csv as well.")]

Call = Annotated[bool, _flag("--call", "Show the boards in large letters, one by one, to call them over.")]
PaperSize = Literal["letter", "a4"]
Paper = Annotated[PaperSize, _option("--paper", "letter|a4", "Paper to print on. [default: letter]")]
Force = Annotated[bool, _flag("--force", "Write over what is there already.")]

Tickets = Annotated[bool, _flag("--tickets", "Add tickets to cut out, one for each stick and keeper.")]
OnScreen = Annotated[Literal["order"] | None, _option("--show", "order", _SHOW)]
More = Annotated[bool, _flag("--more", "Say how many more of each blank the rest of the pile would give.")]
Sets = Annotated[bool, _flag("--sets", "Say how many whole batches the pile would give.")]

HalfWay = Annotated[bool, _flag("--half-way", _HALF_WAY)]
Date = Annotated[str, _option("--date", "YYYY-MM-DD", _DATE, _day)]

AtMost = Annotated[int | None, _option("--at-most", "N", _AT_MOST, _lengths)]
LongerBy = Annotated[str | None, _option("--none-longer-by", "MEASURE", _LONGER)]
Linear = Annotated[bool, _flag("--linear", "Straight lines from point to point, not a batten's curve.")]


@dataclass(frozen=True, slots=True, kw_only=True)
class Searching:
    """How long a plan is looked for, at which price of work, and like which older plan."""

    seconds: Annotated[float, _option("--seconds", "N", _SECONDS, _above_zero)] = 20.0
    wood: Annotated[bool, _flag("--wood", "Save wood, however much work it takes.")] = False
    quick: Annotated[bool, _flag("--quick", "Save work: 2 minutes at most to save a board foot.")] = False
    like: Annotated[Path | None, _option("--like", "PLAN.json", _LIKE)] = None

    def __post_init__(self) -> None:
        one_of_two(self.wood, self.quick, "--wood and --quick")

    @property
    def price(self) -> int | None:
        """Hundredths of a minute that a board foot is worth; None: what the Shop sheet says."""
        return WOOD_ALONE if self.wood else QUICK if self.quick else None


def one_of_two(first: object, second: object, names: str) -> None:
    """Raise if both of two options are given."""
    if first and second:
        raise typer.BadParameter("expected one of the two, or neither", param_hint=names)
