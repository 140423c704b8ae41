"""The input as it lies on the disk: one workbook, or a folder of csv files, told apart and fingerprinted."""

from __future__ import annotations

import hashlib
import os
import unicodedata
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, NoReturn

from yieldplan.model import InputError, Problem
from yieldplan.model.words import fold
from yieldplan.workbook.csvfolder import grid_of_csv
from yieldplan.workbook.grid import Faults, Grid, shorten
from yieldplan.workbook.layouts import BLANKS, CUT, EVERY_LAYOUT, LAYOUTS, OFFCUTS, Layout
from yieldplan.workbook.suggest import near
from yieldplan.workbook.xlsx import grids_of_workbook

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping

MOST_BYTES = 50_000_000
_CLOSE_IT = "close it where it is open in another program, or check its permissions"
HOW_TO = "How to measure"
"""The sheet of the blank workbook that is not read but people."""

TAPE_LIST = "stations"
"""The tape list in a csv folder that stations have been set out in: for people too."""

_QUIET = (fold(HOW_TO), fold(CUT), TAPE_LIST)
"""Sheets that may stand beside those that are read."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """Which sheets are read, which of them must be there, and what to do where one is not."""

    layouts: tuple[Layout, ...]
    required: tuple[Layout, ...]
    hint: str = ""

    @property
    def files(self) -> str:
        """The names of the csv files that must be there."""
        return " and ".join(f"{layout.name.lower()}.csv" for layout in self.required)

    @property
    def sheets(self) -> str:
        """The names of the sheets that must be there."""
        word = "the sheet" if len(self.required) == 1 else "the sheets"
        return f"{word} {' and '.join(layout.name for layout in self.required)}"


JOB = Wanted(layouts=LAYOUTS, required=(OFFCUTS, BLANKS))


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """What was found on the disk: grids by the name of their layout, and the fingerprint of the bytes.

    ``cut`` is the sheet of struck boards, where there is one.
    """

    name: str
    sha256: str
    grids: dict[str, Grid]
    cut: Grid | None = None


def open_source(path: Path, faults: Faults, wanted: Wanted = JOB) -> Source:
    """Return the sheets of a workbook or csv folder, those that are wanted.

    Raises
    ------
    InputError
        If there is nothing to read at all; what is wrong with single sheets goes to ``faults``.
    """
    name = _readable(path.name if path.name not in ("", "..") else path.resolve().name)
    try:
        if path.is_dir():
            return _open_folder(path, name, faults, wanted)
        if not path.exists():
            _stop(name, "does not exist", "a workbook (.xlsx) or a folder of csv files", "check the path")
        data = _bytes(path, name)
    except InputError:
        raise
    except PermissionError:
        _stop(name, "may not be read", suggestion=_CLOSE_IT)
    except (OSError, ValueError) as error:
        reason = (error.strerror or "it cannot be opened") if isinstance(error, OSError) else str(error)
        _stop(name, f"cannot be read: {reason.lower()}")
    if path.suffix.lower() == ".csv":
        lie = "lies" if len(wanted.required) == 1 else "lie"
        _stop(name, "is a single csv file", f"the folder that {wanted.files} {lie} in")
    grids = grids_of_workbook(data, name)
    cut = next((grid for grid in grids if fold(grid.sheet) == fold(CUT)), None)
    picked = _pick_sheets(grids, name, faults, wanted)
    return Source(name=name, sha256=hashlib.sha256(data).hexdigest(), grids=picked, cut=cut)


def _readable(name: str) -> str:
    """Return a file's name as text whatever the system: UTF-8, what is not replaced, an accent one with its letter."""
    return shorten(unicodedata.normalize("NFC", os.fsencode(name).decode("utf-8", "replace")), 200)


def _is_by_the_way(file: Path) -> bool:
    """Return whether a file is a system's or a program's own: macOS's ``._x``, the marks that a file is open."""
    return file.name.startswith((".", "~$"))


def fingerprint(path: Path) -> str:
    """Return the fingerprint that :func:`open_source` would give now; nothing where there is none to be had."""
    try:
        if not path.is_dir():
            return hashlib.sha256(_bytes(path, path.name)).hexdigest()
        files = {layout: file for file in sorted(path.iterdir(), reverse=True) if (layout := sheet_of(file))}
        return folder_fingerprint({layout: _bytes(file, file.name) for layout, file in files.items()})
    except (OSError, ValueError):
        return ""


def sheet_of(file: Path) -> str:
    """Return the sheet that a file of a csv folder is named for; nothing where no one reads it."""
    if file.suffix.lower() != ".csv" or _is_by_the_way(file):
        return ""
    return next((layout.name for layout in EVERY_LAYOUT if fold(file.stem) == fold(layout.name)), "")


def folder_fingerprint(files: Mapping[str, bytes]) -> str:
    """Return the fingerprint of a csv folder from its files by sheet, whatever their order."""
    digest = hashlib.sha256()
    for layout in EVERY_LAYOUT:
        if (data := files.get(layout.name)) is not None:
            digest.update(f"{layout.name.lower()}.csv {len(data)}\n".encode() + data)
    return digest.hexdigest()


def _stop(name: str, found: str, expected: str = "", suggestion: str = "") -> NoReturn:
    raise InputError((Problem(file=name, found=found, expected=expected, suggestion=suggestion),)) from None


def _bytes(path: Path, name: str) -> bytes:
    if not path.is_file():
        _stop(name, "is not a file", "a workbook (.xlsx) or a folder of csv files")
    if path.stat().st_size > MOST_BYTES:
        _stop(name, "is larger than 50 MB", suggestion="save only the sheets that are read")
    return path.read_bytes()


def _pick_sheets(grids: list[Grid], file: str, faults: Faults, wanted: Wanted) -> dict[str, Grid]:
    known = {fold(layout.name): layout.name for layout in EVERY_LAYOUT}
    picked: dict[str, Grid] = {}
    rest: list[Grid] = []
    for grid in grids:
        layout = known.get(fold(grid.sheet))
        if layout is None:
            rest.append(grid)
        elif layout in picked:
            faults.error(grid.problem("", f"is a second sheet named {layout}", "each sheet once"))
        else:
            picked[layout] = grid
    for grid in rest:
        _report_unread(grid, "sheet", "", picked, faults, wanted)
    read = {fold(layout.name) for layout in wanted.layouts}
    titles = ", ".join(grid.sheet for grid in grids if fold(grid.sheet) not in read) or "no others"
    for needed in wanted.required:
        if needed.name not in picked:
            likely = near(needed.name, [grid.sheet for grid in rest], 0.75)
            faults.error(
                Problem(
                    file=file,
                    found=f"has no sheet {needed.name}",
                    expected=wanted.sheets,
                    suggestion=f"rename the sheet {likely}" if likely else wanted.hint or f"it has {titles}",
                )
            )
    return picked


def _report_unread(
    grid: Grid, word: str, ending: str, picked: Collection[str], faults: Faults, wanted: Wanted
) -> None:
    """Report a sheet or file that is not read: an error where its name is nearly one that is missing."""
    own = (grid.sheet or grid.file).removesuffix(ending)
    missing = [layout.name for layout in wanted.layouts if layout.name not in picked]
    likely = near(own, missing, 0.75)
    if likely in {layout.name for layout in wanted.required}:
        return  # reported with the sheet that is missing
    if likely:
        shown = likely.lower() + ending if ending else likely
        faults.error(
            grid.problem("", f"is a {word} that is not read under this name", "", f"did you mean {shown}?")
        )
    elif fold(own) not in _QUIET and (grid.rows or ending):
        faults.warning(grid.problem("", f"is a {word} that is not read"))


def _open_folder(path: Path, name: str, faults: Faults, wanted: Wanted) -> Source:
    found: dict[str, Path] = {}
    rest: list[str] = []
    seen = [file for file in sorted(path.iterdir()) if not _is_by_the_way(file)]
    for file in (file for file in seen if file.suffix.lower() == ".csv"):
        layout = sheet_of(file)
        if not layout:
            rest.append(_readable(file.name))
        elif layout in found:
            there, expected = f"is there besides {found[layout].name}", f"one file {layout.lower()}.csv"
            faults.error(Problem(file=file.name, found=there, expected=expected))
        else:
            found[layout] = file
    if not found and not rest:
        books = [file.name for file in seen if file.suffix.lower() == ".xlsx"]
        suggestion = f"did you mean the workbook {books[0]} in it?" if books else ""
        _stop(name, "has no csv files in it", wanted.files, suggestion)
    files = _contents(found, faults)
    grids: dict[str, Grid] = {}
    for one in wanted.layouts:
        if one.name in files:
            grid = grid_of_csv(files[one.name], found[one.name].name, one.headings, faults)
            grids |= {one.name: grid} if grid else {}
    for file_name in rest:
        _report_unread(Grid(file=file_name), "file", Path(file_name).suffix, found, faults, wanted)
    for needed in wanted.required:
        if needed.name not in found:
            likely = near(needed.name, [Path(other).stem for other in rest], 0.75)
            faults.error(
                Problem(
                    file=f"{needed.name.lower()}.csv",
                    found=f"is not in the folder {name}",
                    expected=wanted.files,
                    suggestion=f"rename {likely}.csv" if likely else wanted.hint,
                )
            )
    return Source(name=name, sha256=folder_fingerprint(files), grids=grids, cut=_cut_in(path))


def _contents(found: Mapping[str, Path], faults: Faults) -> dict[str, bytes]:
    """Return what can be read of the files of a csv folder, by sheet."""
    files: dict[str, bytes] = {}
    for layout in EVERY_LAYOUT:
        if (file := found.get(layout.name)) is None:
            continue
        try:
            files[layout.name] = _bytes(file, file.name)
        except InputError as error:
            faults.error(error.problems[0])
        except PermissionError:
            faults.error(Problem(file=file.name, found="may not be read", suggestion=_CLOSE_IT))
    return files


def _cut_in(folder: Path) -> Grid | None:
    """Return what a csv folder's cut.csv holds; None where there is none that can be read."""
    file = folder / f"{CUT.lower()}.csv"
    try:
        return grid_of_csv(_bytes(file, file.name), file.name, ("Offcut",), Faults())
    except (InputError, OSError):
        return None
