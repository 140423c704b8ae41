"""Reading printed pages back: letters and lines with their places, and what overlaps what."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from io import BytesIO
from typing import Any

import pdfplumber


@dataclass(frozen=True)
class Letter:
    """One printed sign: its box from the page's upper left corner, in points."""

    text: str
    x1: float
    y1: float
    x2: float
    y2: float
    size: float
    font: str


@dataclass(frozen=True)
class Stroke:
    """One printed straight line."""

    x1: float
    y1: float
    x2: float
    y2: float


@dataclass(frozen=True)
class Page:
    """One page as printed; ``boxes`` are its drawn rectangles (x1, y1, x2, y2)."""

    width: float
    height: float
    letters: tuple[Letter, ...]
    strokes: tuple[Stroke, ...]
    boxes: tuple[tuple[float, float, float, float], ...]

    def lines(self) -> list[tuple[float, str, bool]]:
        """Return the lines of text from top to bottom: size, words, whether it begins in bold."""
        rows: dict[int, list[Letter]] = defaultdict(list)
        for letter in self.letters:
            rows[round(letter.y2)].append(letter)
        found = []
        for _, letters in sorted(rows.items()):
            letters.sort(key=lambda letter: letter.x1)
            text, before = "", letters[0]
            for letter in letters:
                text += ("  " if letter.x1 - before.x2 > 4 else "") + letter.text
                before = letter
            found.append((letters[0].size, text.strip(), "Bold" in letters[0].font))
        return found


def read_pages(data: bytes, *, until: str = "", every: int = 1) -> list[Page]:
    """Return every n-th page (n is ``every``) of a pdf file, up to the first whose top line is ``until``."""
    pages = []
    with pdfplumber.open(BytesIO(data)) as document:
        for raw in document.pages[::every]:
            page = _page(raw)
            raw.close()
            if until and page.lines()[0][1] == until:
                break
            pages.append(page)
    return pages


def _page(page: Any) -> Page:
    letters = tuple(
        Letter(c["text"], c["x0"], c["top"], c["x1"], c["bottom"], c["size"], c["fontname"])
        for c in page.chars
    )
    strokes = [Stroke(x["x0"], x["top"], x["x1"], x["bottom"]) for x in page.lines]
    for place, line in enumerate(page.lines):
        (x1, y1), (x2, y2) = line["pts"][0], line["pts"][-1]
        strokes[place] = Stroke(x1, y1, x2, y2)
    boxes = tuple((r["x0"], r["top"], r["x1"], r["bottom"]) for r in page.rects)
    for x1, y1, x2, y2 in boxes:
        strokes += [
            Stroke(x1, y1, x2, y1),
            Stroke(x1, y2, x2, y2),
            Stroke(x1, y1, x1, y2),
            Stroke(x2, y1, x2, y2),
        ]
    return Page(float(page.width), float(page.height), letters, tuple(strokes), boxes)


BAND = 10.0
"""Height of the strips of the page by which lines are looked up, in points."""


def overlapping(page: Page) -> list[tuple[str, str]]:
    """Return pairs of signs printed over one another (by more than half a point either way)."""
    cells: dict[tuple[int, int], list[Letter]] = defaultdict(list)
    pairs = []
    for letter in page.letters:
        if letter.text.isspace():
            continue
        column, row = int(letter.x1 // 25), int(letter.y1 // 25)
        for other in (o for dx in (-1, 0, 1) for dy in (-1, 0, 1) for o in cells[column + dx, row + dy]):
            wide = min(letter.x2, other.x2) - max(letter.x1, other.x1)
            high = min(letter.y2, other.y2) - max(letter.y1, other.y1)
            if wide > 0.5 and high > 0.5:
                pairs.append((other.text, letter.text))
        cells[column, row].append(letter)
    return pairs


def struck_through(page: Page) -> list[tuple[str, Stroke]]:
    """Return signs that a line runs through; the lowest fifth and highest eighth of a sign's box are air."""
    bands: dict[int, list[Stroke]] = defaultdict(list)
    for stroke in page.strokes:
        low, high = sorted((stroke.y1, stroke.y2))
        for band in range(int(low // BAND), int(high // BAND) + 1):
            bands[band].append(stroke)
    found: set[tuple[str, Stroke]] = set()
    for letter in page.letters:
        if letter.text.isspace():
            continue
        tall = letter.y2 - letter.y1
        box = (letter.x1 + 0.3, letter.y1 + tall / 8, letter.x2 - 0.3, letter.y2 - tall / 5)
        for band in range(int(box[1] // BAND), int(box[3] // BAND) + 1):
            found |= {(letter.text, stroke) for stroke in bands[band] if _crosses(stroke, box)}
    return sorted(found, key=str)


def _crosses(stroke: Stroke, box: tuple[float, float, float, float]) -> bool:
    """Return whether a line comes into a box (by cutting it back at the box's four sides)."""
    x1, y1, x2, y2 = box
    if max(stroke.x1, stroke.x2) <= x1 or min(stroke.x1, stroke.x2) >= x2:
        return False
    dx, dy = stroke.x2 - stroke.x1, stroke.y2 - stroke.y1
    low, high = 0.0, 1.0
    for step, room in (
        (-dx, stroke.x1 - x1),
        (dx, x2 - stroke.x1),
        (-dy, stroke.y1 - y1),
        (dy, y2 - stroke.y1),
    ):
        if step == 0:
            if room <= 0:
                return False
        elif step < 0:
            low = max(low, room / step)
        else:
            high = min(high, room / step)
    return low < high
