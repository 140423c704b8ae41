"""Ctrl-C: noted, and held back where work would be lost by stopping at once."""

from __future__ import annotations

import signal
import threading
from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator


@dataclass(slots=True)
class Stop:
    """Whether Ctrl-C was pressed.

    Attributes
    ----------
    asked
        Set by the first Ctrl-C.
    held
        While this is set, from the first plan on, the first Ctrl-C is only noted; a second one stops at once.
    """

    asked: bool = False
    held: bool = False


@contextmanager
def noting_stop() -> Iterator[Stop]:
    """Note every Ctrl-C, which goes on its way as KeyboardInterrupt unless it is held back.

    Outside the main thread, where Python takes no signals, nothing is noted.
    """
    stop = Stop()
    if threading.current_thread() is not threading.main_thread():
        yield stop
        return

    def note(_signal: int, _frame: object) -> None:
        first, stop.asked = not stop.asked, True
        if not (stop.held and first):
            raise KeyboardInterrupt

    before = signal.signal(signal.SIGINT, note)
    try:
        yield stop
    finally:
        signal.signal(signal.SIGINT, before)
