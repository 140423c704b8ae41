"""The cutting order as a workbook: set-up, boards, a sheet a machine, keepers, margins."""

from __future__ import annotations

import datetime
import re
import zipfile
from collections import Counter
from dataclasses import fields
from io import BytesIO
from typing import TYPE_CHECKING, Literal

from openpyxl import Workbook
from openpyxl.cell.cell import Cell
from openpyxl.styles import Alignment, Border, Font, NamedStyle, Side
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.header_footer import HeaderFooterItem, _HeaderFooterPart
from openpyxl.worksheet.properties import PageSetupProperties

from yieldplan.files import write_set
from yieldplan.model import Shop, metric_shop
from yieldplan.order.cautions import ALWAYS, CAUTIONS, DEFER, HOW
from yieldplan.order.columns import (
    MACHINE_COLUMNS,
    MARGIN_HEADS,
    SETTING_HEADS,
    figure,
    margin_rows,
    setting_rows,
    setting_text,
    sheet_rows,
    unit_word,
)
from yieldplan.order.data import Machine
from yieldplan.order.explain import LAYING, MARGINS, naming
from yieldplan.order.wording import shown_setting
from yieldplan.sanitize import sanitize

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path

    from openpyxl.cell.cell import MergedCell
    from openpyxl.worksheet.worksheet import Worksheet

    from yieldplan.order.data import Order

Paper = Literal["letter", "a4"]

_PAPER = {"letter": "1", "a4": "9"}
_EPOCH = datetime.datetime(2000, 1, 1)
_ZIP_DATE = (1980, 1, 1, 0, 0, 0)
_FORMULA = ("=", "+", "-", "@")
_TICK = "☐"
_WIDEST = 28
_LONGEST_NAME = 200
"""A longer input name finds no room in a footer, which holds 255 signs."""
_THIN, _THICK = Side(style="thin", color="FF000000"), Side(style="medium", color="FF000000")


def _style(
    name: str, *, bold: bool = False, top: Side | None = None, bottom: Side | None = None
) -> NamedStyle:
    return NamedStyle(
        name=name,
        font=Font(name="DejaVu Sans", size=11, bold=bold),
        alignment=Alignment(horizontal="left", wrap_text=True, vertical="top"),
        border=Border(top=top, bottom=bottom),
        number_format="@",
    )


_MODIFIED = re.compile(rb"(<dcterms:modified[^>]*>)[^<]*(</dcterms:modified>)")


def _styles() -> tuple[NamedStyle, ...]:
    return (
        _style("order title", bold=True),
        _style("order words"),
        _style("order heading", bold=True, bottom=_THICK),
        _style("order row", bottom=_THIN),
        _style("order first row", bottom=_THIN, top=_THICK),
    )


def write_xlsx(
    order: Order, path: Path, *, paper: Paper = "letter", reasons: Mapping[str, str] | None = None
) -> None:
    """Write the cutting order as a workbook, whole or not at all.

    Parameters
    ----------
    order
        From :func:`yieldplan.order.steps.cutting_order`.
    path
        Written under another name in the same folder first, then renamed.
    paper
        What the sheets are set up to be printed on.
    reasons
        Blank name to the reason why the pile does not make the missing ones.

    Raises
    ------
    OutputError
        If it could not be written.
    """
    write_set(path.parent, {path.name: xlsx_bytes(order, paper=paper, reasons=reasons)})


def xlsx_bytes(order: Order, *, paper: Paper = "letter", reasons: Mapping[str, str] | None = None) -> bytes:
    """Return the workbook's bytes; the same order gives the same bytes. See :func:`write_xlsx`."""
    book = Workbook()
    first = book.active
    assert first is not None
    book.remove(first)
    for style in _styles():
        book.add_named_style(style)
    book.properties.creator = "yieldplan"
    book.properties.created = book.properties.modified = _EPOCH
    writer = _Book(book, order, paper)
    writer.front(reasons or {})
    writer.boards()
    writer.wood()
    for machine in Machine:
        writer.machine(machine)
    writer.keepers()
    writer.margins()
    writer.left()
    writer.settings()
    raw = BytesIO()
    book.save(raw)
    return _timeless(raw.getvalue())


class _Book:
    """Fills a workbook sheet by sheet."""

    def __init__(self, book: Workbook, order: Order, paper: Paper) -> None:
        self.book, self.order, self.paper = book, order, paper
        self.fig = figure(order.job.shop)

    def front(self, reasons: Mapping[str, str]) -> None:
        """Add the sheet that says what this is, how pieces are named, and what is made and missing."""
        order = self.order
        sheet = self._sheet("Start here", landscape=False)
        lines = [
            f"Cutting order for {order.job.name}, plan {order.fingerprint}",
            f"All figures in {unit_word(order.job.shop)}. The column Step gives the order of the work.",
            *naming(order),
            LAYING,
            *ALWAYS,
            DEFER,
        ]
        heads = ("Blank", "Made", "Spare", "Missing", "Why")
        rows = [
            (name, made, spare, missing, reasons.get(name, "") if missing else "")
            for (name, made), (_, spare), (_, missing) in zip(
                order.plan.made, order.plan.spare, order.plan.missing, strict=True
            )
        ]
        self._table(sheet, len(lines) + 2, heads, rows, least=14)
        self._lines(sheet, lines, len(heads))

    def wood(self) -> None:
        """Add the sheet on the wood itself, with the planer settings where moisture makes them differ."""
        if self.order.notes:
            sheet, lines = self._sheet("Wood"), list(self.order.notes)
            self._table(sheet, len(lines) + 2, SETTING_HEADS, setting_rows(self.order), least=14)
            self._lines(sheet, lines, len(SETTING_HEADS))

    def margins(self) -> None:
        """Add the sheet of margins, the tightest first."""
        if self.order.margins:
            sheet = self._sheet("Margins")
            self._table(sheet, 3, MARGIN_HEADS, margin_rows(self.order), least=14)
            self._lines(sheet, [MARGINS], len(MARGIN_HEADS))

    def machine(self, machine: Machine) -> None:
        """Add a machine's sheet, if the order has work for it."""
        steps = [(n, sheet) for n, sheet in enumerate(self.order.sheets, 1) if sheet.machine is machine]
        if not steps:
            return
        sheet = self._sheet(machine.value.capitalize())
        stages = list(dict.fromkeys(step.stage for _, step in steps))
        lines = [
            *(f"{stage.value}: {' '.join(HOW[stage])}" for stage in stages),
            *CAUTIONS[machine],
            DEFER,
        ]
        columns = MACHINE_COLUMNS[machine]
        heads = ("Done", "Step", "Work", "Setting", *(column.heading for column in columns))
        rows: list[Sequence[str | int]] = []
        breaks = []
        for number, step in steps:
            breaks.append(len(rows))
            for cells in sheet_rows(step, self.order.job.shop, columns):
                setting = setting_text(step, self.order.job.shop)
                rows.append((_TICK, number, step.stage.value, setting, *cells))
        self._table(sheet, len(lines) + 2, heads, rows, breaks)
        self._lines(sheet, lines, len(heads))

    def boards(self) -> None:
        """Add the sheet of the boards drawn, as measured, and what each gives."""
        heads = ("Done", "Board", "Species", "Rack", "Length", "Width", "Thickness", "Gives")
        rows: list[Sequence[str | int]] = []
        for card, drawn in zip(self.order.cards, self.order.plan.offcuts, strict=True):
            offcut = card.offcut
            sizes = map(self.fig, (offcut.length, offcut.width, offcut.thickness))
            gives = Counter(cut.blank for cut in drawn.blanks)
            words = ", ".join(f"{count} {name}" for name, count in gives.items())
            rows.append((_TICK, card.root, offcut.species, offcut.rack, *sizes, words))
        self._table(self._sheet("Boards"), 1, heads, rows)

    def keepers(self) -> None:
        """Add the sheet of keepers."""
        heads = ("Done", "New name", "Species", "Cut from", "From", "To", "Length", "Width", "Thickness")
        rows: list[Sequence[str | int]] = []
        for kept in self.order.keepers:
            figures = (kept.start, kept.end, kept.length, kept.width, kept.thickness)
            rows.append((_TICK, kept.name, kept.offcut.species, kept.parent, *map(self.fig, figures)))
        self._table(self._sheet("Keepers"), 1, heads, rows)

    def left(self) -> None:
        """Add the sheet of offcuts that are not touched."""
        rows = [(offcut.name, count, offcut.species, offcut.rack) for offcut, count in self.order.left]
        self._table(
            self._sheet("Left alone", landscape=False), 1, ("Offcut", "How many", "Species", "Rack"), rows
        )

    def settings(self) -> None:
        """Add the sheet of the shop's settings; one that is not the default is said to be the shop's own."""
        shop = self.order.job.shop
        usual = metric_shop() if shop.units == "mm" else Shop()
        rows = [
            (
                field.name.replace("_", " "),
                shown_setting(shop, shop, field.name),
                "the shop's own" if getattr(shop, field.name) != getattr(usual, field.name) else "",
            )
            for field in fields(shop)
        ]
        self._table(self._sheet("Settings", landscape=False), 1, ("Setting", "Value", ""), rows)

    def _sheet(self, title: str, *, landscape: bool = True) -> Worksheet:
        sheet: Worksheet = self.book.create_sheet(title)
        sheet.page_setup.orientation = "landscape" if landscape else "portrait"
        sheet.page_setup.paperSize = _PAPER[self.paper]
        sheet.page_setup.fitToWidth, sheet.page_setup.fitToHeight = 1, 0
        sheet.sheet_properties.pageSetUpPr = PageSetupProperties(fitToPage=True)
        name = sanitize(self.order.job.name).replace("&", "&&")
        if len(name) > _LONGEST_NAME:
            name = "a long name"
        sheet.HeaderFooter.oddFooter = HeaderFooterItem(
            left=_HeaderFooterPart(text=f"{name}, plan {self.order.fingerprint}"),
            right=_HeaderFooterPart(text="page &P of &N"),
        )
        return sheet

    def _table(
        self,
        sheet: Worksheet,
        top: int,
        heads: Sequence[str],
        rows: Sequence[Sequence[str | int]],
        breaks: Sequence[int] = (),
        *,
        least: int = 0,
    ) -> None:
        """Write a table with its heading in row ``top``, repeated on every printed page."""
        marks = set(breaks)
        for place, head in enumerate(heads, 1):
            _write(sheet.cell(top, place), head, "order heading")
        for number, row in enumerate(rows):
            for place, value in enumerate(row, 1):
                style = "order first row" if number in marks else "order row"
                _write(sheet.cell(top + 1 + number, place), value, style)
        for place, head in enumerate(heads, 1):
            longest = max(len(str(text)) for text in (head, *(row[place - 1] for row in rows)))
            sheet.column_dimensions[get_column_letter(place)].width = max(least, min(_WIDEST, longest + 2))
        sheet.print_title_rows = f"{top}:{top}"
        sheet.freeze_panes = f"A{top + 1}"

    def _lines(self, sheet: Worksheet, lines: Sequence[str], columns: int) -> None:
        """Write sentences above a table, each across all of its columns and as high as it needs."""
        room = sum(sheet.column_dimensions[get_column_letter(place)].width for place in range(1, columns + 1))
        for number, line in enumerate(lines, 1):
            _write(sheet.cell(number, 1), line, "order title" if number == 1 else "order words")
            sheet.merge_cells(start_row=number, start_column=1, end_row=number, end_column=columns)
            sheet.row_dimensions[number].height = 16 * (1 + int(1.25 * len(line) / room))


def _write(cell: Cell | MergedCell, value: str | int, style: str) -> None:
    """Put text, or a whole number, into a cell; nothing that a user typed becomes a formula."""
    assert isinstance(cell, Cell)
    cell.style = style
    if isinstance(value, int):
        cell.value = value
    elif value:
        text = sanitize(value)
        cell.value = text
        cell.data_type = "s"
        if text.startswith(_FORMULA):
            cell.quotePrefix = True


def _timeless(data: bytes) -> bytes:
    """Return the workbook without the time of its making, so that like orders give like bytes."""
    out = BytesIO()
    stamp = _EPOCH.strftime("%Y-%m-%dT%H:%M:%SZ").encode()
    with zipfile.ZipFile(BytesIO(data)) as old, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new:
        for entry in old.infolist():
            content = old.read(entry)
            if entry.filename == "docProps/core.xml":
                content = _MODIFIED.sub(rb"\g<1>" + stamp + rb"\g<2>", content)
            info = zipfile.ZipInfo(entry.filename, _ZIP_DATE)
            info.compress_type = zipfile.ZIP_DEFLATED
            new.writestr(info, content)
    return out.getvalue()
