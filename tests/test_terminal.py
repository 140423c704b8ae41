"""Lines in large letters: on a terminal that has them, on one that has not, and in a pipe."""

from __future__ import annotations

import io
import sys
from typing import TYPE_CHECKING

from yieldplan.terminal import show_large

if TYPE_CHECKING:
    import pytest

LINES = ("P001: 36 1/2 long, 5 1/4 wide, 1 3/4 thick. No faults.", "P2: 24 long\x1b[2J")


class _Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


def _shown(monkeypatch: pytest.MonkeyPatch, out: io.StringIO, term: str = "xterm") -> str:
    monkeypatch.setenv("TERM", term)
    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.setattr(sys, "stdout", out)
    show_large("Two boards.", LINES)
    return out.getvalue()


def test_a_terminal_shows_lines_of_double_width_apart(monkeypatch: pytest.MonkeyPatch) -> None:
    """Each is wrapped to half the columns, with a blank line before; what a name could steer is written out."""
    assert _shown(monkeypatch, _Terminal()) == (
        "Two boards.\n\n"
        "\x1b#6\x1b[1mP001: 36 1/2 long, 5 1/4 wide, 1 3/4\x1b[0m\n"
        "\x1b#6\x1b[1mthick. No faults.\x1b[0m\n\n"
        "\x1b#6\x1b[1mP2: 24 long\\x1b[2J\x1b[0m\n"
    )


def test_a_dumb_terminal_is_sent_no_codes(monkeypatch: pytest.MonkeyPatch) -> None:
    """It gets the same lines, as wide as it is."""
    shown = _shown(monkeypatch, _Terminal(), "dumb")
    assert "\x1b" not in shown
    assert LINES[0] in shown


def test_a_pipe_gets_a_line_a_board(monkeypatch: pytest.MonkeyPatch) -> None:
    """No code, no wrapping: as a file, or for a screen reader."""
    assert _shown(monkeypatch, io.StringIO()) == f"Two boards.\n{LINES[0]}\nP2: 24 long\\x1b[2J\n"
