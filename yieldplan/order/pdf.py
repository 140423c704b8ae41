"""The cutting order as printed pages: front page, cards, machine sheets, keepers and tickets."""

from __future__ import annotations

from typing import TYPE_CHECKING

from reportlab.lib.colors import black
from reportlab.platypus import CondPageBreak, HRFlowable, Table

from yieldplan.files import write_set
from yieldplan.order.cards import LAID, put_cards
from yieldplan.order.cautions import CAUTIONS, DEFER, HOW
from yieldplan.order.columns import (
    figure,
    setting_text,
    sheet_rows,
    size_text,
    used_columns,
)
from yieldplan.order.data import SPARE
from yieldplan.order.document import Document
from yieldplan.order.front import put_front
from yieldplan.order.paper import (
    BODY,
    HUGE,
    LARGE,
    LEADING,
    SMALL,
    Column,
    cell,
    font,
    height_of,
    para,
    start_of,
    table,
)

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path

    from reportlab.platypus import Flowable, Paragraph

    from yieldplan.order.data import Order, Piece, Sheet
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
        _put_finals(document, order)
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


def _put_finals(document: Document, order: Order) -> None:
    """Put the keepers and the blanks on the pages: a list of keepers, and tickets for both."""
    shop = order.job.shop
    document.section(_title("Keepers: back on the rack"))
    columns = (
        Column("", tick=True),
        Column("New name", bold=True),
        Column("Size"),
        Column("Species"),
        Column("Cut from"),
    )
    rows = [
        ("", piece.name, size_text(piece, shop), piece.offcut.species, piece.parent)
        for piece in order.keepers
    ]
    if rows:
        document.story.append(table(columns, rows, document.measure, after=10.0))
        tickets = [_keeper_ticket(order, piece) for piece in order.keepers]
        _put_tickets(document, tickets, [para("Tickets to cut out and pin on", LARGE, bold=True)])
    else:
        document.story.append(para("None."))
    document.section(_title("Blanks: tickets to cut out and pin on"))
    _put_tickets(document, [_blank_ticket(order, piece) for piece in order.blanks])


Lines = list[tuple[str, float, bool]]


def _keeper_ticket(order: Order, piece: Piece) -> Lines:
    fig = figure(order.job.shop)
    rack = f", rack {piece.offcut.rack}" if piece.offcut.rack else ""
    return [
        (piece.name, 16, True),
        (size_text(piece, order.job.shop), LARGE, False),
        (piece.offcut.species or "species not noted", BODY, False),
        (f"Keeper from {piece.parent}, {fig(piece.start)} to {fig(piece.end)}{rack}", BODY, False),
        (f"plan {order.fingerprint}", SMALL, False),
    ]


def _blank_ticket(order: Order, piece: Piece) -> Lines:
    lines: Lines = [
        (piece.blank + (f" ({SPARE})" if piece.spare else ""), 16, True),
        (size_text(piece, order.job.shop), LARGE, False),
        (piece.name + (f", {piece.offcut.species}" if piece.offcut.species else ""), BODY, False),
    ]
    if piece.clear_end:
        lines.append((f"Sound end: {piece.clear_end}", BODY, False))
    return [*lines, (f"plan {order.fingerprint}", SMALL, False)]


def _put_tickets(document: Document, tickets: Sequence[Lines], lead: Sequence[Flowable] = ()) -> None:
    """Put tickets on the pages, two side by side in frames of the same height."""
    wide = (document.measure - 12.0) / 2
    for place in range(0, len(tickets), 2):
        two = tickets[place : place + 2]
        cells: list[list[object]] = [[[], [], []] for _ in range(max(map(len, two)))]
        style: list[tuple[object, ...]] = [
            ("VALIGN", (0, 0), (-1, -1), "TOP"),
            *((side, (0, 0), (-1, -1), 7.0) for side in ("LEFTPADDING", "RIGHTPADDING")),
            *((side, (0, 0), (-1, -1), 0.0) for side in ("TOPPADDING", "BOTTOMPADDING")),
            ("TOPPADDING", (0, 0), (-1, 0), 6.0),
            ("BOTTOMPADDING", (0, -1), (-1, -1), 6.0),
        ]
        for at, lines in zip((0, 2), two, strict=False):
            style.append(("BOX", (at, 0), (at, -1), 0.6, black, "butt", [3, 3]))
            for number, (words, size, bold) in enumerate(lines):
                cells[number][at] = cell(words, wide - 14.0, size, bold)
                style.append(("FONT", (at, number), (at, number), font(bold), size, size * LEADING))
        pair = Table(cells, [wide, 12.0, wide], style=style, splitByRow=0, spaceAfter=12.0)
        if not place:
            document.story += [CondPageBreak(height_of([*lead, pair], document.measure)), *lead]
        document.story.append(pair)
