"""An input opened to be changed, whichever kind it is."""

from __future__ import annotations

from typing import TYPE_CHECKING

from yieldplan.workbook.edit_csv import FolderEdit
from yieldplan.workbook.edit_xlsx import BookEdit

if TYPE_CHECKING:
    from pathlib import Path

    from yieldplan.workbook.edit import InputEdit


def edit_input(path: Path) -> InputEdit:
    """Open an input that has been read without a problem, to be changed.

    Raises
    ------
    OSError
        If it can no longer be read.
    """
    return FolderEdit(path) if path.is_dir() else BookEdit(path.read_bytes())
