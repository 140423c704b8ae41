"""Text that a user typed cannot steer the terminal."""

from __future__ import annotations

import pytest

from yieldplan.sanitize import sanitize


@pytest.mark.parametrize(
    ("typed", "shown"),
    [
        ("Frame 3 × 4 ⅜ – “oak”", "Frame 3 × 4 ⅜ – “oak”"),
        ("\x1b[31mred", "\\x1b[31mred"),
        ("a\tb\r\nc", "a\\tb\\r\\nc"),
        ("bell\x07 and \x9b2J", "bell\\x07 and \\x9b2J"),
        ("evil \u202eknalb", "evil \\u202eknalb"),
        ("line\u2028end", "line\\u2028end"),
        ("no characters \ufffe\U0001ffff", "no characters \\ufffe\\U0001ffff"),
        ("lone \ud800", "lone \\ud800"),
        ("می\u200cخواهم", "می\u200cخواهم"),
    ],
)
def test_steering_characters_are_written_out(typed: str, shown: str) -> None:
    """Control and direction characters are shown as escapes; letters, signs and joiners stay."""
    assert sanitize(typed) == shown
