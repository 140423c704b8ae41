"""The input as it lies on the disk: one workbook, or a folder of csv files, told apart and fingerprinted."""

from __future__ import annotations

import hashlib
import os
import unicodedata
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal, NoReturn

from yieldplan.model import InputError, Problem
from yieldplan.model.words import fold
from yieldplan.workbook.csvfolder import grid_of_csv
from yieldplan.workbook.grid import Faults, Grid, joined, shorten
from yieldplan.workbook.layouts import BLANKS, CUT, EVERY_LAYOUT, LAYOUTS, OFFCUTS, Layout
from yieldplan.workbook.suggest import near
from yieldplan.workbook.xlsx import grids_of_workbook

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from pathlib import Path

MOST_BYTES = 50_000_000
_CLOSE_IT = "close it where it is open in another program, or check its permissions"
_EITHER = "a workbook (.xlsx) or a folder of csv files"
HOW_TO = "How to measure"
"""The sheet of the blank workbook that is not read but people."""

TAPE_LIST = "stations"
"""The tape list in a csv folder that stations have been set out in: for people too."""

_QUIET = (fold(HOW_TO), fold(CUT), TAPE_LIST)
"""Sheets that may stand beside those that are read."""

Kind = Literal["sheet", "file"]
"""What a layout lies in: a sheet of a workbook, a file of a folder."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """Which sheets are read, which of them must be there, and what to do where one is not."""

    layouts: tuple[Layout, ...]
    required: tuple[Layout, ...]
    hint: str = ""

    def named(self, kind: Kind) -> str:
        """Return the names of the sheets or csv files that must be there."""
        names = [_shown(layout.name, kind) for layout in self.required]
        return f"the {kind}{'s' if len(names) > 1 else ''} {joined(names)}"


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
            _stop(name, "does not exist", _EITHER, "check the path")
        data = _bytes(path, name)
    except InputError:
        raise
    except PermissionError:
        _stop(name, "may not be read", suggestion=_CLOSE_IT)
    except (OSError, ValueError) as error:
        reason = (error.strerror or "it cannot be opened") if isinstance(error, OSError) else str(error)
        _stop(name, f"cannot be read: {reason.lower()}")
    if path.suffix.lower() == ".csv":
        _stop(name, "is a single csv file", f"the folder with {wanted.named('file')} in it")
    grids = grids_of_workbook(data, name)
    cut = next((grid for grid in grids if fold(grid.sheet) == fold(CUT)), None)
    picked = _pick([(grid.sheet, grid) for grid in grids], name, "sheet", faults, wanted)
    return Source(name=name, sha256=hashlib.sha256(data).hexdigest(), grids=picked, cut=cut)


def _open_folder(path: Path, name: str, faults: Faults, wanted: Wanted) -> Source:
    seen = [file for file in sorted(path.iterdir()) if not _is_by_the_way(file)]
    found = {_readable(file.name): file for file in seen if file.suffix.lower() == ".csv"}
    if not found:
        books = [file.name for file in seen if file.suffix.lower() == ".xlsx"]
        suggestion = f"did you mean the workbook {books[0]} in it?" if books else ""
        _stop(name, "has no csv files in it", wanted.named("file"), suggestion)
    named = [(file.stem, Grid(file=shown)) for shown, file in found.items()]
    picked = _pick(named, name, "file", faults, wanted)
    files: dict[str, bytes] = {}
    grids: dict[str, Grid] = {}
    for layout in EVERY_LAYOUT:
        if layout.name not in picked:
            continue
        file = found[picked[layout.name].file]
        try:
            files[layout.name] = _bytes(file, file.name)
        except InputError as error:
            faults.error(error.problems[0])
        except PermissionError:
            faults.error(Problem(file=file.name, found="may not be read", suggestion=_CLOSE_IT))
        else:
            if layout in wanted.layouts:
                grid = grid_of_csv(files[layout.name], file.name, layout.headings, faults)
                grids |= {layout.name: grid} if grid else {}
    return Source(name=name, sha256=_fingerprint(files), grids=grids, cut=_cut_in(path))


def _cut_in(folder: Path) -> Grid | None:
    """Return what a csv folder's cut.csv holds; None where there is none that can be read."""
    file = folder / f"{CUT.lower()}.csv"
    try:
        return grid_of_csv(_bytes(file, file.name), file.name, ("Offcut",), Faults())
    except (InputError, OSError):
        return None


def _pick(
    named: Iterable[tuple[str, Grid]], where: str, kind: Kind, faults: Faults, wanted: Wanted
) -> dict[str, Grid]:
    """Return what is read, by the name of its layout; report what is there twice, is not read, or is missing.

    What is not read is an error where its name is nearly one that is missing.
    """
    picked: dict[str, Grid] = {}
    rest: dict[str, Grid] = {}
    for title, grid in named:
        name = _layout_of(title)
        if not name:
            rest[title] = grid
        elif name in picked:
            found = f"is a second {kind} named {_shown(name, kind)}"
            faults.error(grid.problem("", found, f"each {kind} once"))
        else:
            picked[name] = grid
    required = [layout.name for layout in wanted.required]
    missing = [layout.name for layout in wanted.layouts if layout.name not in picked]
    for title, grid in rest.items():
        likely = near(title, missing, 0.75)
        if likely and likely not in required:  # with a required one that is missing it is named below
            step = f"did you mean {_shown(likely, kind)}?"
            faults.error(grid.problem("", f"is a {kind} that is not read under this name", "", step))
        elif not likely and fold(title) not in _QUIET and (grid.rows or kind == "file"):
            faults.warning(grid.problem("", f"is a {kind} that is not read"))
    for name in required:
        if name not in picked:
            likely = near(name, rest, 0.75)
            others = {title: grid.sheet or grid.file for title, grid in rest.items()}
            there = f"it has {', '.join(others.values()) or 'no others'}"
            step = f"rename the {kind} {others[likely]}" if likely else wanted.hint or there
            found = f"has no {kind} {_shown(name, kind)}"
            faults.error(Problem(file=where, found=found, expected=wanted.named(kind), suggestion=step))
    return picked


def _shown(name: str, kind: Kind) -> str:
    return name if kind == "sheet" else f"{name.lower()}.csv"


def _layout_of(title: str) -> str:
    return next((layout.name for layout in EVERY_LAYOUT if fold(title) == fold(layout.name)), "")


def _readable(name: str) -> str:
    """Return a file's name as text whatever the system: UTF-8, what is not replaced, an accent one with its letter."""
    return shorten(unicodedata.normalize("NFC", os.fsencode(name).decode("utf-8", "replace")), 200)


def _is_by_the_way(file: Path) -> bool:
    """Return whether a file is a system's or a program's own: macOS's ``._x``, the marks that a file is open."""
    return file.name.startswith((".", "~$"))


def sheet_of(file: Path) -> str:
    """Return the sheet that a file of a csv folder is named for; nothing where no one reads it."""
    return _layout_of(file.stem) if file.suffix.lower() == ".csv" and not _is_by_the_way(file) else ""


def fingerprint(path: Path) -> str:
    """Return the fingerprint that :func:`open_source` would give now; nothing where there is none to be had."""
    try:
        if not path.is_dir():
            return hashlib.sha256(_bytes(path, path.name)).hexdigest()
        files = {layout: file for file in sorted(path.iterdir(), reverse=True) if (layout := sheet_of(file))}
        return _fingerprint({layout: _bytes(file, file.name) for layout, file in files.items()})
    except (OSError, ValueError):
        return ""


def _fingerprint(files: Mapping[str, bytes]) -> str:
    """Return the fingerprint of a csv folder from its files by sheet, whatever their order."""
    digest = hashlib.sha256()
    for layout in EVERY_LAYOUT:
        if (data := files.get(layout.name)) is not None:
            digest.update(f"{layout.name.lower()}.csv {len(data)}\n".encode() + data)
    return digest.hexdigest()


def _bytes(path: Path, name: str) -> bytes:
    if not path.is_file():
        _stop(name, "is not a file", _EITHER)
    if path.stat().st_size > MOST_BYTES:
        _stop(name, "is larger than 50 MB", suggestion="save only the sheets that are read")
    return path.read_bytes()


def _stop(name: str, found: str, expected: str = "", suggestion: str = "") -> NoReturn:
    raise InputError((Problem(file=name, found=found, expected=expected, suggestion=suggestion),)) from None
