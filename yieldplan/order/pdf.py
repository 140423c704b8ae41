"""The cutting order as printed pages: front page, cards, machine sheets, keepers."""

from __future__ import annotations

from typing import TYPE_CHECKING

from reportlab.lib.colors import black
from reportlab.platypus import CondPageBreak, HRFlowable

from yieldplan.files import write_set
from yieldplan.order.cards import LAID, put_cards
from yieldplan.order.cautions import CAUTIONS, DEFER, HOW
from yieldplan.order.columns import setting_text, sheet_rows, size_text, used_columns
from yieldplan.order.document import Document
from yieldplan.order.front import put_front
from yieldplan.order.paper import HUGE, LARGE, SMALL, Column, height_of, para, start_of, table

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path

    from reportlab.platypus import Flowable, Paragraph

    from yieldplan.order.data import Order, Sheet
    from yieldplan.order.paper import Paper

READ = 12.0
"""Size of what is read at a machine, in bad light."""


def write_pdf(
    order: Order, path: Path, *, paper: Paper = "letter", reasons: Mapping[str, str] | None = None
) -> None:
    """Write the cutting order as printed pages, whole or not at all.

    Parameters
    ----------
    order
        From :func:`yieldplan.order.steps.cutting_order`.
    path
        Written under another name in the same folder first, then renamed.
    paper
        ``"letter"`` or ``"a4"``.
    reasons
        Blank name to the reason why the pile does not make the missing ones.

    Raises
    ------
    OutputError
        If it could not be written.
    """
    write_set(path.parent, {path.name: pdf_bytes(order, paper=paper, reasons=reasons)})


def pdf_bytes(order: Order, *, paper: Paper = "letter", reasons: Mapping[str, str] | None = None) -> bytes:
    """Return the pages' bytes; the same order gives the same bytes. See :func:`write_pdf`."""
    foot = f"{order.job.name}, plan {order.fingerprint}"
    document = Document(paper, f"Cutting order {order.fingerprint}", foot)
    put_front(document, order, reasons or {})
    if order.cards:
        document.section(para("Offcuts to cut", LARGE, bold=True), para(LAID, SMALL, after=5.0))
        put_cards(document, order)
        _put_sheets(document, order)
        _put_keepers(document, order)
    return document.drawn()


def _title(words: str) -> Paragraph:
    return para(words, 16, bold=True, after=4.0)


def _put_sheets(document: Document, order: Order) -> None:
    """Put the machines' sheets on the pages; every change of machine begins a page."""
    machine = stage = None
    for number, sheet in enumerate(order.sheets, 1):
        before: list[Flowable] = []
        if sheet.machine is not machine:
            machine, stage = sheet.machine, None
            document.section(*_machine_head(sheet))
        if sheet.stage is not stage:
            stage = sheet.stage
            how = [para(sentence) for sentence in HOW[stage]]
            before = [para(stage.value, 16, bold=True), *how[:-1], para(HOW[stage][-1], after=6.0)]
            document.running()
        _put_sheet(document, order, sheet, number, before)


def _machine_head(sheet: Sheet) -> list[Flowable]:
    return [
        para(sheet.machine.value.capitalize(), LARGE, bold=True),
        *(para(sentence, SMALL, after=0.0) for sentence in (*CAUTIONS[sheet.machine], DEFER)),
        HRFlowable("100%", 1.0, color=black, spaceBefore=4.0, spaceAfter=6.0),
    ]


def _put_sheet(
    document: Document, order: Order, sheet: Sheet, number: int, before: Sequence[Flowable]
) -> None:
    """Put one setting's table on the pages; where it goes on, stage and setting are said again."""
    shop = order.job.shop
    columns = used_columns(sheet, shop)
    heads = [Column("", tick=True)]
    for column in columns:
        named, noted = column.heading in ("Piece", "Stick"), column.heading == "Note"
        heads.append(Column(column.heading, right=column.figure, bold=named, yields=noted))
    rows = [("", *row) for row in sheet_rows(sheet, shop, columns)]
    said = f"{number}. {setting_text(sheet, shop)}"
    stage = para(sheet.stage.value, bold=True)
    begin = [*before, para(said, HUGE if sheet.setting else LARGE, bold=True)]
    lines = table(heads, rows, document.measure, READ, after=14.0)
    document.story += [CondPageBreak(height_of(begin, document.measure) + start_of(lines)), *begin]
    if len(rows) > 3:
        document.running(stage, para(f"{said} (continued)", LARGE, bold=True))
    document.story.append(lines)
    document.running(stage)


def _put_keepers(document: Document, order: Order) -> None:
    """Put the list of what goes back on the rack on the pages."""
    document.section(_title("Keepers: back on the rack"))
    columns = (
        Column("", tick=True),
        Column("New name", bold=True),
        Column("Size"),
        Column("Species"),
        Column("Cut from"),
    )
    rows = [
        ("", kept.name, size_text(kept, order.job.shop), kept.offcut.species, kept.parent)
        for kept in order.keepers
    ]
    document.story.append(table(columns, rows, document.measure) if rows else para("None."))
