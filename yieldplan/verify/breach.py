"""A broken rule as data, and the notebook in which the recheck writes them down."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Literal

from yieldplan.measure import write

if TYPE_CHECKING:
    from yieldplan.model import Blank, Shop

Rule = Literal[
    "R1", "R2", "R3", "R4", "R5", "R6", "R7", "R8", "R9", "R10",
    "marks", "account", "work", "proof", "input", "counts",
]  # fmt: skip

_WORDS: dict[Rule, str] = {
    "R1": "ends", "R2": "machines", "R3": "losses", "R4": "layout", "R5": "kerf", "R6": "section",
    "R7": "grain", "R8": "length", "R9": "defects", "R10": "species", "account": "of wood",
}  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Breach:
    """One thing that the recheck found wrong in a plan.

    ``where`` names offcut, copy, billet, strip, stick, blank, or the plan as a whole; ``message`` says what was found
    and what the rule needs, with sizes in steps and as the user reads them.
    """

    rule: Rule
    where: str
    message: str

    def sentence(self) -> str:
        """Return the breach as one sentence: rule, place, what was found, what the rule needs."""
        title = f"{self.rule} {_WORDS.get(self.rule, '')}".rstrip()
        return f"{title}, {self.where}: {self.message}."


@dataclass(frozen=True, slots=True, kw_only=True)
class Notebook:
    """Collects breaches, at one place of the plan; writes sizes in the shop's unit; ``blanks`` is the batch by name."""

    shop: Shop
    blanks: dict[str, Blank]
    where: str = ""
    found: list[Breach] = field(default_factory=list)

    def at(self, place: str) -> Notebook:
        """Return the same notebook at a place within this one."""
        return replace(self, where=", ".join(filter(None, (self.where, place))))

    def note(self, rule: Rule, message: str) -> None:
        """Write down one breach."""
        self.found.append(Breach(rule=rule, where=self.where or "plan", message=message))

    def least(self, rule: Rule, what: str, size: int, limit: int, setting: str) -> None:
        """Note a size (steps) that is below a limit of the shop."""
        if size < limit:
            self.note(rule, f"its {what} is {self.size(size)}; the {setting} is {self.size(limit)}")

    def most(self, rule: Rule, what: str, size: int, limit: int, setting: str) -> None:
        """Note a size (steps) that is above a limit of the shop."""
        if size > limit:
            self.note(rule, f"its {what} is {self.size(size)}; the {setting} is {self.size(limit)}")

    def sized(self, rule: Rule, what: str, said: int, true: int) -> None:
        """Note a size (steps) that is not what the rule needs."""
        if said != true:
            self.note(rule, f"its {what} is said to be {self.size(said)}; it has to be {self.size(true)}")

    def counted(self, rule: Rule, what: str, said: int, found: int) -> None:
        """Note a count or a sum that the plan has wrong."""
        if said != found:
            self.note(rule, f"{what} are said to be {said}; they come to {found}")

    def size(self, steps: int) -> str:
        """Return a length in steps and as the shop reads it: ``4064 steps (1/2")``."""
        return f"{steps} steps ({write(steps, self.shop.units)})"

    def span(self, start: int, end: int) -> str:
        """Return from where to where, likewise."""
        return f"{self.size(start)} to {self.size(end)}"
