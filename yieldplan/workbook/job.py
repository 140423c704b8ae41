"""The whole input read into one job, or every problem in it at once."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from yieldplan.model import InputError, Job
from yieldplan.model.words import fold
from yieldplan.workbook.blanks import MOST_IN_ALL, read_blanks
from yieldplan.workbook.defects import read_defects
from yieldplan.workbook.grid import EMPTY, Faults
from yieldplan.workbook.layouts import BLANKS, DEFECTS, OFFCUTS, SHOP, SPECIES, YARD, Layout
from yieldplan.workbook.offcuts import MOST_PIECES, Pile, read_offcuts
from yieldplan.workbook.plausibility import doubt_blanks, doubt_offcuts
from yieldplan.workbook.shop_sheet import read_shop
from yieldplan.workbook.source import Source, open_source
from yieldplan.workbook.table import Table, table
from yieldplan.workbook.warnings import doubt_species, warn_of_misfits
from yieldplan.workbook.wood import read_species
from yieldplan.workbook.yard import read_yard

if TYPE_CHECKING:
    from yieldplan.measure import Unit
    from yieldplan.model import Problem


def read(path: str | Path) -> Job:
    """Return the job that a workbook or a folder of csv files describes.

    Parameters
    ----------
    path
        An ``.xlsx`` workbook with the sheets Offcuts, Defects, Blanks, Shop, Species and Yard, or a folder with csv
        files of those names in lower case. All but Offcuts and Blanks may be missing.

    Raises
    ------
    InputError
        With every problem of the whole input, the questionable things behind them. What is only questionable
        is in ``Job.warnings`` otherwise.
    """
    opened = Faults()
    source = open_source(Path(path), opened)
    job, faults, doubt = _reading(source, opened)
    refused = bool(faults.errors)
    if doubt:  # in the other unit stands what is wrong besides, where all sheets are right in it
        _, other, mixed = _reading(source, opened, "mm" if job.shop.units == "inch" else "inch")
        if mixed and mixed.place != doubt.place:
            step = "write the unit with each figure; other sheets are right as they are"
            doubt = replace(doubt, suggestion=step)
        faults = faults if mixed or len(other.errors) > len(faults.errors) else other
    errors, warnings = faults.errors, faults.warnings
    if doubt and refused:
        errors = (doubt, *errors)
    elif doubt:
        warnings = (replace(doubt, severity="warning"), *warnings)
    if errors:
        raise InputError((*errors, *warnings))
    return replace(job, warnings=warnings)


def _reading(source: Source, opened: Faults, units: Unit | None = None) -> tuple[Job, Faults, Problem | None]:
    """Return what the sheets say, as far as they are without fault, and what is wrong with them.

    Last of all comes what is said where most sizes of a sheet look like another unit. ``units`` says what a bare number
    means whatever the Shop sheet says.
    """
    faults = Faults(opened)
    shop, marks, doubted = read_shop(source.grids.get(SHOP.name), faults, units)

    def sheet(layout: Layout) -> Table | None:
        grid = source.grids.get(layout.name)
        if grid is None:
            return None
        if not grid.rows and layout in (DEFECTS, SPECIES, YARD):
            return None
        return table(grid, layout, faults, marks)

    offcuts, defects, blanks = sheet(OFFCUTS), sheet(DEFECTS), sheet(BLANKS)
    if species := sheet(SPECIES):
        shop = replace(shop, species=read_species(species))
    pile = read_offcuts(offcuts, shop) if offcuts else Pile()
    marked = read_defects(defects, pile if offcuts else None) if defects else {}
    batch = read_blanks(blanks, shop) if blanks else []
    yard = read_yard(stock, shop) if (stock := sheet(YARD)) else ()
    for needed in (offcuts, blanks):
        if needed and len(needed.grid.rows) == 1:
            needed.fault("has no row under its headings", f"at least one {needed.layout.required[0].lower()}")
    marks.report(source.name, faults)
    of_pile, of_batch = doubt_offcuts(pile.rows), doubt_blanks([row for row, _ in batch])
    doubt_species(pile.rows)
    sound = [(row, replace(one, defects=marked.get(fold(one.name), ()))) for row, one in pile.sound]
    wanted = [(row, blank) for row, blank in batch if blank is not None]
    job = Job(
        offcuts=tuple(offcut for _, offcut in sound),
        blanks=tuple(blank for _, blank in wanted),
        shop=shop,
        yard=yard,
        struck=_struck(source),
        name=source.name,
        sha256=source.sha256,
    )
    at_fault = _sheets_at_fault(source, faults) | ({SHOP.name} if doubted or of_pile or of_batch else set())
    vague = _is_too_much(offcuts, blanks, job) or at_fault & {"", SHOP.name, SPECIES.name}
    if not vague and sound and wanted:
        of_offcuts, of_blanks = BLANKS.name not in at_fault, not at_fault & {OFFCUTS.name, DEFECTS.name}
        warn_of_misfits(sound, wanted, shop, offcuts=of_offcuts, blanks=of_blanks)
    return job, faults, of_pile or of_batch


def _struck(source: Source) -> tuple[str, ...]:
    """Return the names of boards that earlier batches have cut; nothing is asked of that sheet but its heading."""
    rows = source.cut.rows if source.cut else ()
    heads = rows[0][1] if rows else {}
    column = next((column for column, cell in heads.items() if fold(cell.text) == fold("Offcut")), None)
    if column is None:
        return ()
    return tuple(name for _, cells in rows[1:] if (name := cells.get(column, EMPTY).text))


MOST_PAIRS = 200_000
"""Rows of Offcuts times rows of Blanks: what the memory for a plan grows with."""


def _sheets_at_fault(source: Source, faults: Faults) -> set[str]:
    """Return the sheets on which an error stands; "" for one that is on no sheet that was read."""
    sheets = {(grid.file, grid.sheet): name for name, grid in source.grids.items()}
    return {sheets.get((problem.file, problem.sheet), "") for problem in faults.errors}


def _is_too_much(offcuts: Table | None, blanks: Table | None, job: Job) -> bool:
    """Report what is too much all together, though no row is; return whether anything is."""
    pieces, wanted = sum(one.qty for one in job.offcuts), sum(one.need + one.spare for one in job.blanks)
    rows, kinds = len(job.offcuts), len(job.blanks)
    pairs = f"has {rows} rows, which times the {kinds} rows of {BLANKS.name} is {rows * kinds}"
    limits = (
        (offcuts, pieces, MOST_PIECES, f"has {pieces} pieces in all", ""),
        (blanks, wanted, MOST_IN_ALL, f"asks for {wanted} blanks in all, spares among them", ""),
        (offcuts, rows * kinds, MOST_PAIRS, pairs, "plan the batch in two parts, or the pile"),
    )
    told = False
    for sheet, count, most, found, step in limits:
        if sheet and count > most:
            sheet.fault(found, f"at most {most}", step)
            told = True
    return told
