"""What is wrong in an input, as data; and every error that yieldplan raises on purpose."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True, slots=True, kw_only=True)
class Problem:
    """One thing wrong, or questionable, in the input: an error stops the run, a warning is shown and it goes on.

    ``file`` is named as the user knows it, without its folder; ``sheet`` is empty for a csv file; ``cell`` is ``D7``
    in a workbook, ``line 7, Width`` in a csv file, empty for a whole sheet or file; ``value`` is what stands there. The
    rest are clauses: what is wrong ("is not a length"), what was expected ("a length such as 41 3/8"), the next step
    ("did you mean White oak?"); the last two may be empty.
    """

    severity: Literal["error", "warning"] = "error"
    file: str
    sheet: str = ""
    cell: str = ""
    value: str = ""
    found: str
    expected: str = ""
    suggestion: str = ""

    @property
    def place(self) -> str:
        """Where the problem stands: ``pile.xlsx, Offcuts!D7`` or ``offcuts.csv, line 7, Width``."""
        inside = f"{self.sheet}!{self.cell}" if self.sheet and self.cell else self.sheet or self.cell
        return f"{self.file}, {inside}" if inside else self.file

    def sentence(self) -> str:
        """Return the problem as a sentence: place, value, what is wrong, what was expected, the next step.

        It is one line of signs that can be printed, whatever names from the input are in it.
        """
        value = f"“{self.value}” " if self.value else ""
        expected = f"expected {self.expected}" if self.expected else ""
        text = "; ".join(filter(None, (f"{self.place}: {value}{self.found}", expected, self.suggestion)))
        text = "".join(sign if sign.isprintable() else "\ufffd" for sign in text)
        return text if text.endswith(("?", ".")) else text + "."


class YieldplanError(Exception):
    """Base of all errors that yieldplan raises on purpose; its text is one plain sentence."""


class InputError(YieldplanError, ValueError):
    """The input cannot be used; ``problems`` are all that were found in the whole of it, errors first."""

    def __init__(self, problems: tuple[Problem, ...]) -> None:
        self.problems = problems
        super().__init__("\n".join(problem.sentence() for problem in problems))


class PlanFileError(YieldplanError, ValueError):
    """The file is not a plan file of a version that this program reads."""


class ArgumentError(YieldplanError, ValueError):
    """An argument of the command line names something that the input does not hold."""


class StaleInputError(YieldplanError, RuntimeError):
    """The input was changed while it was being planned; nothing is shown or written."""


class SolverError(YieldplanError, RuntimeError):
    """The solver made nothing that passes the recheck; nothing is shown."""


class OutputError(YieldplanError, OSError):
    """A result could not be written whole, so nothing was written."""
