"""Lengths: read as people write them, held as whole marks in steps of 1/320 mm, shown as they are held.

The way in is exact: text and numbers become rational numbers, and one named rounding (:class:`Rounding`)
takes them to whole marks of the shop, always against the user's disappointment; nothing behind it rounds again. A
float means its shortest decimal text, so 0.1 is one tenth. The way out is :func:`write`, which reads back to the same
step.
"""

from __future__ import annotations

import math
import re
from decimal import Decimal
from enum import Enum
from fractions import Fraction
from typing import Literal
from unicodedata import decomposition, normalize

INCH = 8128
"""Steps in one inch: 25.4 mm exactly (international yard and pound, 1959) at 320 steps a millimetre."""

MM = 320
"""Steps in one millimetre."""

LONGEST = 30_000 * MM
"""The longest length that is read, 30 m: no shop holds a longer piece, so a longer one is a slip."""

Unit = Literal["inch", "mm"]

NOT_A_LENGTH, TOO_LONG = "is not a length", "is longer than 30 m"
"""What is found of most things that are no length, and of one beyond :data:`LONGEST`."""


class Rounding(Enum):
    """What a length is used for, and so which way it goes to the next whole mark."""

    STOCK = "down"  # what is there, and what a machine can take
    WANTED = "up"  # what must come out
    LEAST = "up, needed"  # what a machine needs, what a keeper must have
    LOSS = "up, lost"  # kerfs, skims, allowances, warp
    DEFECT_FROM = "down, defect"
    DEFECT_TO = "up, defect"
    PLACE = "nearest"  # a place that has no safe side: a kink

    def steps(self, exact: Fraction, mark: int = 1) -> int:
        """Return an exact number of steps as a whole number of marks, in steps; of a place halfway the higher."""
        marks = exact / mark
        if self.value.startswith("down"):
            return math.floor(marks) * mark
        return (
            math.ceil(marks) if self.value.startswith("up") else math.floor(marks + Fraction(1, 2))
        ) * mark


class MeasureError(ValueError):
    """What was written is not one length; the three clauses make a sentence after the value.

    They are what is wrong ("is negative"), what was expected and the next step; the last two may be empty.
    """

    def __init__(self, found: str, expected: str = "", suggestion: str = "") -> None:
        super().__init__(found, expected, suggestion)
        self.found, self.expected, self.suggestion = found, expected, suggestion

    def __str__(self) -> str:
        expected = f"expected {self.expected}" if self.expected else ""
        return "; ".join(clause for clause in (self.found, expected, self.suggestion) if clause)


_SAME = {
    **dict.fromkeys("’‘‛′ʹʼ´`", "'"),
    **dict.fromkeys("”“‟„″ʺ˝〃", '"'),
    **dict.fromkeys("‐‑‒–—−﹣", "-"),
    **dict.fromkeys("⁄∕", "/"),
    **dict.fromkeys("\u00ad\u200b\u200c\u200d\u200e\u200f\u2060\ufeff", ""),
}
_RAISED_FRACTION = re.compile("([⁰¹²³⁴⁵⁶⁷⁸⁹]+)[/⁄∕]([₀₁₂₃₄₅₆₇₈₉]+)")

_UNITS = {
    **dict.fromkeys(('"', "in", "ins", "inch", "inches"), Fraction(INCH)),
    **dict.fromkeys(("mm", "millimetre", "millimetres", "millimeter", "millimeters"), Fraction(MM)),
    **dict.fromkeys(("cm", "centimetre", "centimetres", "centimeter", "centimeters"), Fraction(10 * MM)),
    **dict.fromkeys(("m", "metre", "metres", "meter", "meters"), Fraction(1000 * MM)),
}
_FEET = re.compile(r"([0-9.,]+)\s*(?:'|ft\b\.?|ft\.?(?=[0-9])|feet\b|foot\b)\s*(?:-\s*)?(.*)", re.ASCII)
_MARKED = re.compile(r"(.*[0-9.,])\s*(\"|[a-z]+)\.?", re.ASCII)
_FRACTION = re.compile(r"(?:([0-9]+)(?:\s*-\s*|\s+))?([0-9]+)\s*/\s*([0-9]+)", re.ASCII)
_DECIMAL = re.compile(r"[0-9]+(?:\.[0-9]*|,[0-9]+)?|[.,][0-9]+", re.ASCII)
_THOUSANDS = re.compile(r"[0-9]{1,3}(?:[ ,.'][0-9]{3})+(?:[.,][0-9]+)?", re.ASCII)
_MISTAKEN = str.maketrans({"o": "0", "l": "1", "i": "1", "\\": "/", "|": "/"})


def exact(value: object, unit: Unit, *, decimal_comma: bool = False) -> Fraction:
    r"""Return a length as the exact number of steps (seldom whole) that was written.

    It is text in any of the ways that people write a length, or a number (int, float, Decimal, Fraction). A bare number
    is in ``unit``; a unit that is written out wins. ``decimal_comma`` says that commas are known to stand for decimal
    points (a semicolon-separated file).

    Raises
    ------
    MeasureError
        If it is not one length from 0 to 30 m, or could be two.

    Examples
    --------
    >>> exact("3' 5 3/8\"", "inch") / INCH
    Fraction(331, 8)
    """
    if isinstance(value, str):
        steps = _from_text(_clean(value), unit, decimal_comma)
    else:
        steps = _from_number(value) * (INCH if unit == "inch" else MM)
    if steps < 0:
        raise MeasureError("is negative", "a length of 0 or more")
    if steps > LONGEST:
        text = f"{value}".strip()
        in_mm = unit == "inch" and _DECIMAL.fullmatch(text) and steps * MM <= LONGEST * INCH
        likely = f"did you mean {text} mm?" if in_mm else ""
        raise MeasureError(TOO_LONG, "a length of at most 30 m", likely or "check the unit and the figure")
    return steps


def _from_number(value: object) -> Fraction:
    if isinstance(value, bool) or not isinstance(value, (int, float, Decimal, Fraction)):
        raise MeasureError(NOT_A_LENGTH, "a number or text")
    if isinstance(value, (int, Fraction)):
        return Fraction(value)
    if not math.isfinite(value):
        raise MeasureError("is not a number", "a length")
    return Fraction(float.__repr__(value) if isinstance(value, float) else value)


def _clean(text: str) -> str:
    """Return the text with every typographic sign replaced by the plain one that it stands for."""
    if len(text) > 80:
        raise MeasureError("is too long for a length", "one length")
    text = _RAISED_FRACTION.sub(lambda found: f" {normalize('NFKC', found[0])}", text)
    return " ".join("".join(map(_plain_sign, text)).replace("''", '"').lower().split())


def _plain_sign(sign: str) -> str:
    """Return ⅜ as 3/8 with a space before it, ㎜ as mm, full-width and typographic signs as plain ones."""
    kind = decomposition(sign).partition(" ")[0]
    if kind == "<fraction>":
        return " " + normalize("NFKC", sign).replace("⁄", "/")
    return normalize("NFKC", sign) if kind in ("<wide>", "<square>") else _SAME.get(sign, sign)


def _from_text(text: str, unit: Unit, comma: bool) -> Fraction:
    if not text:
        raise MeasureError("is empty", _example(unit))
    if feet := _FEET.fullmatch(text):
        return _from_feet(feet[1], feet[2], unit, comma)
    marked = _MARKED.fullmatch(text)
    if marked and marked[2] in _UNITS:
        factor = _UNITS[marked[2]]
        return _amount(marked[1], factor, unit, comma) * factor
    if marked and marked[2].isalpha() and _is_amount(marked[1]) and not _is_amount(text.translate(_MISTAKEN)):
        raise MeasureError(f"has the unit {marked[2]}, which is not read", "in, ft, mm, cm or m")
    if unit == "mm" and _FRACTION.fullmatch(text):
        mixed = _mixed(_amount(text, Fraction(MM), unit, comma))
        raise MeasureError(
            "is a fraction without a unit where bare numbers are mm",
            "the unit with it",
            f"write “{mixed} in” or “{mixed} mm”",
        )
    factor = Fraction(INCH if unit == "inch" else MM)
    return _amount(text, Fraction(MM), unit, comma) * factor


def _from_feet(feet: str, inches: str, unit: Unit, comma: bool) -> Fraction:
    if not _DECIMAL.fullmatch(feet):
        raise MeasureError(NOT_A_LENGTH, _example(unit))
    foot = Fraction(12 * INCH)
    if not inches:
        return _amount(feet, foot, unit, comma) * foot
    marked = _MARKED.fullmatch(inches)
    if marked and _UNITS.get(marked[2]) == INCH:
        inches = marked[1]
    if not feet.isdigit():
        raise MeasureError("has a part of a foot and inches as well", "whole feet before the inches")
    rest = _amount(inches, Fraction(INCH), unit, comma)
    if rest >= 12:
        more, left = divmod(rest, 12)
        raise MeasureError(
            "has 12 or more inches after the feet",
            "fewer than 12",
            f"did you mean {int(feet) + more}' {_mixed(left)}\"?",
        )
    return int(feet) * foot + rest * INCH


def _amount(text: str, thousands: Fraction, unit: Unit, comma: bool) -> Fraction:
    """Return the number that the text is, without a unit.

    ``thousands`` is the steps in one where a comma is taken for a thousands separator: a reading that comes out
    longer than any piece is nothing that anyone means, so the comma is a decimal comma then.
    """
    fraction = _FRACTION.fullmatch(text)
    if fraction:
        return _fraction(fraction[1], fraction[2], fraction[3])
    if not _DECIMAL.fullmatch(text):
        raise _diagnosis(text, unit)
    before, _, after = text.partition(",")
    if len(after) == 3 and not comma and re.fullmatch(r"[1-9][0-9]{0,2}", before):
        joined = before + after
        if int(joined) * thousands <= LONGEST:
            raise MeasureError(
                "has a comma that could be a decimal point or a thousands separator",
                suggestion=f"write {before}.{after} or {joined}",
            )
    return Fraction(text.replace(",", ".").rstrip(".") or "0")


def _is_amount(text: str) -> bool:
    return bool(_FRACTION.fullmatch(text) or _DECIMAL.fullmatch(text))


def _fraction(whole: str | None, above: str, below: str) -> Fraction:
    if int(below) == 0:
        raise MeasureError("has a fraction over 0", "a fraction such as 3/8")
    part = Fraction(int(above), int(below))
    if whole is None:
        for at in range(1, len(above) if part >= 1 else 1):
            first, rest = above[:at], above[at:]
            if rest[0] != "0" and int(rest) < int(below):
                raise MeasureError(
                    "could be a fraction or a whole number and a fraction run together",
                    suggestion=f"write {first} {rest}/{below} or {_mixed(part)}",
                )
        return part
    if part >= 1:
        raise MeasureError(
            f"has a fraction of {above}/{below} after a whole number",
            "a fraction smaller than 1",
            f"did you mean {_mixed(int(whole) + part)}?",
        )
    return int(whole) + part


_SLIPS = (
    ("-?(?:nan|inf|infinity)", "is not a number", "", ""),
    (".*%.*", "is a percentage, not a length", "", ""),
    (".*/.*/.*", "has two fraction bars", "", ""),
    ("[0-9]+ [0-9]+", "is two numbers", "", "a fraction needs its bar, as in 3/8"),
    ("[0-9]+[.,][0-9]+[ -]+[0-9]+/[0-9]+", "has a decimal and a fraction", "one or the other", ""),
    (r"([0-9]+)\.([0-9]+/[0-9]+)", NOT_A_LENGTH, "", r"did you mean \1 \2?"),
)
"""Ways to write what is no length: what is found, what was expected (else a length such as ...), the next step."""


def _diagnosis(text: str, unit: Unit) -> MeasureError:
    """Return the error that says best why the text is not a length."""
    if text.startswith("-") and _is_amount(text[1:].strip()):
        return MeasureError("is negative", "a length of 0 or more")
    if _THOUSANDS.fullmatch(text):
        return MeasureError("has thousands separators", "a number without them", f"write {_joined(text)}")
    for pattern, found, expected, step in _SLIPS:
        if slip := re.fullmatch(pattern, text):
            return MeasureError(found, expected or _example(unit), slip.expand(step))
    parts = re.split(r" to | or |;", text)
    if len(parts) > 1 and all(_is_amount(part.strip()) for part in parts):
        return MeasureError(
            "is two measures", "one length", "of a size write the smallest, of warp the largest"
        )
    mended = text.translate(_MISTAKEN).strip("~≈?*+=. ")
    if mended != text and _is_amount(mended):
        return MeasureError(NOT_A_LENGTH, _example(unit), f"did you mean {mended}?")
    return MeasureError(NOT_A_LENGTH, _example(unit))


def _joined(text: str) -> str:
    """Return a number without its thousands separators; a last sign unlike the first is decimal."""
    marks = [sign for sign in text if not sign.isdigit()]
    digits = re.split(r"[ ,.']", text)
    if len(set(marks)) > 1:
        return "".join(digits[:-1]) + "." + digits[-1]
    return "".join(digits)


def _example(unit: Unit) -> str:
    return "a length such as 41 3/8" if unit == "inch" else "a length such as 1050 or 1050 mm"


def write(steps: int, unit: Unit, *, mark: bool = True) -> str:
    """Return a length exactly: what :func:`exact` takes back to the same step.

    Inches that no rule can show (not whole 64ths) are written in millimetres where the unit may stand with
    them, and as a fraction in lowest terms where it may not.

    Examples
    --------
    >>> write(331 * INCH // 8, "inch"), write(1, "inch"), write(1, "inch", mark=False)
    ('41 3/8"', '0.003125 mm', '1/8128')
    """
    if unit == "inch" and (steps % (INCH // 64) == 0 or not mark):
        return _mixed(Fraction(steps, INCH)) + ('"' if mark else "")
    return _plain(Fraction(steps, MM)) + (" mm" if mark else "")


def _mixed(value: Fraction) -> str:
    """Return 331/8 as 41 3/8."""
    whole, rest = divmod(abs(value), 1)
    text = f"{whole} {rest}" if whole and rest else str(rest or whole)
    return f"-{text}" if value < 0 else text


def _plain(value: Fraction) -> str:
    """Return a fraction as plain decimal text, without a tail of noughts."""
    text = f"{Decimal(value.numerator) / Decimal(value.denominator):.12f}"
    return text.rstrip("0").rstrip(".")
