"""Making text that a user typed safe to write to a terminal."""

from __future__ import annotations

import unicodedata

_STEERING = {"Cc", "Cf", "Cs", "Zl", "Zp"}
_JOINERS = "\u200c\u200d"


def sanitize(text: str) -> str:
    r"""Return the text with every character that could steer a terminal written out, as in ``\x1b``.

    Control, format (among them those that turn the direction of writing), surrogate, line and paragraph
    characters are written out, and the codes that are no characters, which no workbook may hold; ordinary
    letters of any script stay, with the joiners that some scripts need.
    """
    return "".join(
        char.encode("unicode_escape").decode("ascii") if _steers(char) and char not in _JOINERS else char
        for char in text
    )


def _steers(char: str) -> bool:
    return unicodedata.category(char) in _STEERING or ord(char) & 0xFFFE == 0xFFFE
