"""A broken rule as data, and the notebook in which the recheck writes them down."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from yieldplan.model import Blank, Shop

Rule = Literal[
    "R1", "R2", "R3", "R4", "R5", "R6", "R7", "R8", "R9", "R10",
    "marks", "account", "work", "proof", "input", "counts",
]  # fmt: skip

TITLES: dict[Rule, str] = {
    "R1": "R1 ends",
    "R2": "R2 machines",
    "R3": "R3 losses",
    "R4": "R4 layout",
    "R5": "R5 kerf",
    "R6": "R6 section",
    "R7": "R7 grain",
    "R8": "R8 length",
    "R9": "R9 defects",
    "R10": "R10 species",
    "marks": "marks",
    "account": "account of wood",
    "work": "work",
    "proof": "proof",
    "input": "input",
    "counts": "counts",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Breach:
    """One thing that the recheck found wrong in a plan.

    Attributes
    ----------
    rule
        The rule's number (``"R7"``), or ``"marks"``, ``"account"``, ``"work"``, ``"proof"``, ``"input"`` or
        ``"counts"``.
    where
        The place: offcut, copy, billet, strip, stick, blank; "plan" for what concerns the whole.
    message
        What was found and what the rule needs, with sizes in steps and in the user's unit.
    """

    rule: Rule
    where: str
    message: str

    def sentence(self) -> str:
        """Return the breach as one sentence: rule, place, what was found, what the rule needs."""
        return f"{TITLES[self.rule]}, {self.where}: {self.message}."


def plain(number: int) -> str:
    """Return a whole number as text; one of absurd size as its order only, since a plan file may hold any."""
    bits = number.bit_length()
    if bits <= 128:
        return str(number)
    return f"{'less than -' if number < 0 else 'more than '}2^{bits - 1}"


@dataclass(slots=True, kw_only=True)
class Notebook:
    """Collects breaches and writes sizes in the shop's unit; holds what every check looks up.

    ``blanks`` is the batch by name.
    """

    shop: Shop
    blanks: dict[str, Blank]
    found: list[Breach] = field(default_factory=list)

    def note(self, rule: Rule, where: str, message: str) -> None:
        """Write down one breach."""
        self.found.append(Breach(rule=rule, where=where, message=message))

    def size(self, steps: int) -> str:
        """Return a length in steps and in the shop's unit: ``4064 steps (1/2 in)``."""
        readable = _inches(steps) if self.shop.units == "inch" else _millimetres(steps)
        return f"{plain(steps)} steps ({readable})"

    def span(self, start: int, end: int) -> str:
        """Return an interval in steps and in the shop's unit."""
        return f"{self.size(start)} to {self.size(end)}"


def _inches(steps: int) -> str:
    sixty_fourths, over = divmod(abs(steps), 127)  # 1/64 in is 127 steps
    if 2 * over >= 127:
        sixty_fourths += 1
    whole, part = divmod(sixty_fourths, 64)
    text = plain(whole)
    if part:
        below = 64
        while part % 2 == 0:
            part, below = part // 2, below // 2
        text = f"{plain(whole)} {part}/{below}" if whole else f"{part}/{below}"
    return f"{'about ' if over else ''}{'-' if steps < 0 else ''}{text} in"


def _millimetres(steps: int) -> str:
    tenths, over = divmod(abs(steps), 32)  # 0.1 mm is 32 steps
    if 2 * over >= 32:
        tenths += 1
    whole, part = divmod(tenths, 10)
    return f"{'about ' if over else ''}{'-' if steps < 0 else ''}{plain(whole)}.{part} mm"
