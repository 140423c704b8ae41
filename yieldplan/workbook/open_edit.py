"""An input opened to be changed, whichever kind it is."""

from __future__ import annotations

from typing import TYPE_CHECKING

from yieldplan.workbook.edit_csv import FolderEdit
from yieldplan.workbook.edit_xlsx import BookEdit

if TYPE_CHECKING:
    from pathlib import Path

InputEdit = FolderEdit | BookEdit
"""A whole input being changed: ``sheet`` and ``new_sheet`` are its sheets, ``contents`` its files by their names.

A workbook is one file, under ``""``. A sheet is found in capitals or not; there is none without a heading row.
"""


def edit_input(path: Path) -> InputEdit:
    """Open an input that has been read without a problem, to be changed.

    Raises
    ------
    OSError
        If it can no longer be read.
    """
    return FolderEdit(path) if path.is_dir() else BookEdit(path.read_bytes())
