"""A broken rule as data, and the notebook in which the recheck writes them down."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from fractions import Fraction
from typing import TYPE_CHECKING, Literal

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
        title = f"{self.rule} {_WORDS.get(self.rule, '')}".rstrip()
        return f"{title}, {self.where}: {self.message}."


def plain(number: int) -> str:
    """Return a whole number as text; one of absurd size as its order only, since a plan file may hold any."""
    bits = number.bit_length()
    if bits <= 128:
        return str(number)
    return f"{'less than -' if number < 0 else 'more than '}2^{bits - 1}"


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

    def size(self, steps: int) -> str:
        """Return a length in steps and, to the nearest 64th or tenth, in the shop's unit: ``4064 steps (1/2 in)``."""
        inch = self.shop.units == "inch"
        part, parts = (127, 64) if inch else (32, 10)  # 1/64 in is 127 steps, 0.1 mm is 32
        count, over = divmod(abs(steps), part)
        whole, rest = divmod(count + (2 * over >= part), parts)
        text = f"{plain(whole)}.{rest} mm"
        if inch:
            fraction = str(Fraction(rest, parts))
            text = (fraction if not whole else f"{plain(whole)} {fraction}" if rest else plain(whole)) + " in"
        return f"{plain(steps)} steps ({'about ' if over else ''}{'-' if steps < 0 else ''}{text})"

    def span(self, start: int, end: int) -> str:
        """Return an interval in steps and in the shop's unit."""
        return f"{self.size(start)} to {self.size(end)}"
