"""One run at a time in a folder: a lock that the system takes off when the run ends, however it ends."""

from __future__ import annotations

import os
import sys
from contextlib import contextmanager, suppress
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path


@contextmanager
def folder_lock(folder: Path) -> Iterator[None]:
    """Wait until no other run holds ``folder``, and hold it.

    The folder itself is locked, so that nothing is left behind in it; on Windows, which locks files alone, an
    empty file ``.yieldplan-lock`` is. Where a file system knows no locks the run goes on without one.

    Raises
    ------
    OSError
        If the folder cannot be opened.
    """
    from filelock import lock_descriptor  # noqa: PLC0415 - slow to load

    if sys.platform == "win32":
        handle = os.open(folder / ".yieldplan-lock", os.O_RDWR | os.O_CREAT)
    else:
        handle = os.open(folder, os.O_RDONLY)
    try:
        with suppress(OSError):
            lock_descriptor(handle)
        yield
    finally:
        os.close(handle)
