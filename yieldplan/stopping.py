"""Ctrl-C: it ends the process where there is nothing to put back, and is noted where work would be lost."""

from __future__ import annotations

import os
import signal
import sys
from contextlib import contextmanager
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator

STOPPED = 130
"""Exit status of a run that was stopped."""


def end_at_once() -> None:
    """Let Ctrl-C end the process with one sentence and status 130, whatever is being imported or read.

    A KeyboardInterrupt may be lost there, or show a traceback: imports and callbacks of libraries catch it. A process
    in the background that heeds no Ctrl-C goes on heeding none.
    """
    if signal.getsignal(signal.SIGINT) is signal.default_int_handler:
        signal.signal(signal.SIGINT, _end)


def _end(_signal: int, _frame: object) -> None:
    os.write(2, b"Stopped.\n")
    os._exit(STOPPED)


@contextmanager
def raising_stop() -> Iterator[None]:
    """Let Ctrl-C come as KeyboardInterrupt meanwhile: there is something to put back."""
    before = signal.getsignal(signal.SIGINT)
    if before is not _end:
        yield
        return
    signal.signal(signal.SIGINT, signal.default_int_handler)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)


class Stop:
    """Whether Ctrl-C was pressed, and whether there is a plan to lose.

    Attributes
    ----------
    asked
        Set by the first Ctrl-C.
    held
        From the first plan on: the first Ctrl-C is only noted; a second one stops at once.
    """

    def __init__(self) -> None:
        self.asked = self.held = False

    def hold(self) -> None:
        """Hold Ctrl-C back from now on; one that came before and was lost on its way comes now."""
        if self.asked and not self.held:
            raise KeyboardInterrupt
        self.held = True

    def note(self, _signal: int, _frame: object) -> None:
        """Note a Ctrl-C, which goes on its way as KeyboardInterrupt unless it is held back."""
        first, self.asked = not self.asked, True
        if not (self.held and first):
            raise KeyboardInterrupt


@contextmanager
def noting_stop() -> Iterator[Stop]:
    """Note every Ctrl-C; of one that is lost in a callback no traceback is shown."""
    stop, hook = Stop(), sys.unraisablehook
    before = signal.signal(signal.SIGINT, stop.note)
    sys.unraisablehook = lambda lost: None if lost.exc_type is KeyboardInterrupt else hook(lost)
    try:
        yield stop
    finally:
        sys.unraisablehook = hook
        signal.signal(signal.SIGINT, before)
