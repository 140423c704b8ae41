"""The picture in README.md: one board card, cut out of the pages of the demo's saved plan.

    python tests/bench/card_picture.py

It prints the order of data_demo/skiff-plan.json again and writes data_demo/board-card.png. To be run whenever the
pages have changed, and with data_demo/skiff-plan.json when the demo's plan has.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

import pdfplumber

from yieldplan.cli import main

if TYPE_CHECKING:
    from pdfplumber.page import Page
    from pdfplumber.pdf import PDF

DEMO = Path(__file__).resolve().parents[2] / "data_demo"
BOARD = "P008"
TITLE = 12
"""Points from which on a line is a card's title."""


def card(pages: PDF, board: str) -> Page:
    """Return the part of a page between a board's name, as a title, and the rule under its card."""
    for page in pages.pages:
        for word in page.extract_words(extra_attrs=["size"]):
            if word["text"] == board and word["size"] >= TITLE:
                rules = [line["top"] for line in page.lines if line["width"] > page.width / 2]
                bottom = min(top for top in rules if top > word["bottom"])
                left = min(line["x0"] for line in page.lines if line["top"] == bottom)
                cut: Page = page.crop((left - 4, word["top"] - 4, page.width - left + 4, bottom - 1))
                return cut
    raise LookupError(f"no page has a card of {board}")


def draw(folder: Path) -> None:
    """Print the order into a folder and write the picture."""
    arguments = [
        "order",
        str(DEMO / "skiff-frames.xlsx"),
        str(DEMO / "skiff-plan.json"),
        "--out",
        str(folder),
    ]
    if main(arguments):
        sys.exit("the saved plan is no longer right; plan the demo anew")
    with pdfplumber.open(folder / "cutting-order.pdf") as pages:
        picture = card(pages, BOARD).to_image(resolution=170, antialias=True).original
    picture.convert("L").quantize(16).save(DEMO / "board-card.png", optimize=True)


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as made:
        draw(Path(made))
