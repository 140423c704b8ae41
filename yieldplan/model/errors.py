"""Every error that yieldplan raises on purpose."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from yieldplan.model.problem import Problem


class YieldplanError(Exception):
    """Base of all errors that yieldplan raises on purpose; its text is one plain sentence."""


class InputError(YieldplanError, ValueError):
    """The input cannot be used.

    Parameters
    ----------
    problems
        Every problem found in the whole input, errors first.
    """

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
