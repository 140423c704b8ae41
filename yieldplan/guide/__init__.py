"""The guide: a plain text for each topic, as a file beside this one.

The first line of a text is its title. A line that begins at the left margin is a heading; what stands under it is
indented, items after a hyphen. A name in braces is filled in by :mod:`yieldplan.guide_pages`.
"""

from __future__ import annotations

from importlib.resources import files

TOPICS = (
    *("measure", "workbook", "settings", "stations", "commands", "order", "pile", "buy", "words"),
    *("limits", "faults", "python"),
)
"""In the order in which a newcomer needs them."""


def text(topic: str) -> str:
    """Return a topic's text as it stands in its file."""
    return files(__name__).joinpath(f"{topic}.txt").read_text(encoding="utf-8")


def title(topic: str) -> str:
    """Return what a topic is about, in a line."""
    return text(topic).partition("\n")[0]


def sections(topic: str) -> dict[str, tuple[str, ...]]:
    """Return the headings of a topic, each with the items under it, their lines joined."""
    found: dict[str, list[str]] = {}
    heading = ""
    for line in text(topic).split("\n")[1:]:
        words = line.strip()
        if line.startswith("  - "):
            found[heading].append(words.removeprefix("- "))
        elif line.startswith(" "):
            found[heading][-1] += f" {words}"
        elif words:
            heading = words
            found[heading] = []
    return {heading: tuple(items) for heading, items in found.items()}
