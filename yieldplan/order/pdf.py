"""The cutting order as printed pages: front page, cards, machine sheets, tickets, what is left alone."""

from __future__ import annotations

from io import BytesIO
from typing import TYPE_CHECKING

from reportlab.pdfgen.canvas import Canvas

from yieldplan.files import write_set
from yieldplan.order.cards import LAID, put_cards
from yieldplan.order.cautions import CAUTIONS, DEFER, HOW
from yieldplan.order.columns import figure, setting_text, sheet_rows, size_text, used_columns
from yieldplan.order.flow import Flow
from yieldplan.order.front import put_front
from yieldplan.order.paper import (
    BODY,
    DROP,
    HUGE,
    LARGE,
    LEADING,
    MARGIN,
    SIZES,
    SMALL,
    Block,
    Column,
    Line,
    Rect,
    Text,
    font,
    moved,
    printable,
    space,
    table_blocks,
    text_block,
    width_of,
    wrap,
)

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path

    from yieldplan.order.data import Order, Piece, Sheet
    from yieldplan.order.paper import Mark, Paper

READ = 12.0
"""Size of what is read at a machine, in bad light."""

COUNT_ROOM = 110.0
"""Room at the foot for ``page n of m``."""


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
    foot = _foot(order, paper)
    flow = Flow(paper, len(foot) * SMALL * LEADING + 8.0)
    put_front(flow, order, reasons or {})
    if order.cards:
        lead = text_block("Offcuts to cut", flow.width, LARGE, bold=True, after=2.0)
        flow.page((lead, text_block(LAID, flow.width, SMALL, after=5.0)))
        put_cards(flow, order)
        _put_sheets(flow, order)
        _put_finals(flow, order)
    _put_left(flow, order)
    return _drawn(flow, foot, f"Cutting order {order.fingerprint}")


def _foot(order: Order, paper: Paper) -> tuple[str, ...]:
    room = SIZES[paper][0] - 2 * MARGIN - COUNT_ROOM
    return wrap(f"{order.job.name}, plan {order.fingerprint}", room, SMALL)


def _put_sheets(flow: Flow, order: Order) -> None:
    """Put the machines' sheets on the pages; every change of machine begins a page."""
    machine = stage = None
    for number, sheet in enumerate(order.sheets, 1):
        before: list[Block] = []
        if sheet.machine is not machine:
            machine, stage = sheet.machine, None
            flow.page(_machine_head(sheet, flow.width))
        if sheet.stage is not stage:
            stage = sheet.stage
            before.append(text_block(sheet.stage.value, flow.width, 16, bold=True))
            before += [text_block(sentence, flow.width, BODY) for sentence in HOW[stage]]
            before.append(space(4.0))
        _put_sheet(flow, order, sheet, number, before)


def _machine_head(sheet: Sheet, width: float) -> list[Block]:
    return [
        text_block(sheet.machine.value.capitalize(), width, LARGE, bold=True),
        *(text_block(sentence, width, SMALL, after=0.0) for sentence in (*CAUTIONS[sheet.machine], DEFER)),
        Block(10.0, (Line(0, 4, width, 4, 1.0),)),
    ]


def _put_sheet(flow: Flow, order: Order, sheet: Sheet, number: int, before: Sequence[Block]) -> None:
    shop = order.job.shop
    columns = used_columns(sheet, shop)
    heads = (
        Column("", tick=True),
        *(Column(c.heading, right=c.figure, bold=c.heading in ("Piece", "Stick")) for c in columns),
    )
    rows = [("", *row) for row in sheet_rows(sheet, shop, columns)]
    said = setting_text(sheet, shop)
    setting = text_block(f"{number}. {said}", flow.width, HUGE if sheet.setting else LARGE, bold=True)
    again = text_block(f"{number}. {said} (continued)", flow.width, LARGE, bold=True)
    stage = text_block(sheet.stage.value, flow.width, BODY, bold=True)
    table = table_blocks(heads, rows, flow.width, READ)
    flow.put_table((*before, setting), table, (stage, again), first=() if before else (stage,))
    flow.put((space(min(14.0, max(flow.left, 0.0))),))


def _put_finals(flow: Flow, order: Order) -> None:
    """Put the keepers and the blanks on the pages: a list of keepers, and tickets for both."""
    shop = order.job.shop
    flow.page((text_block("Keepers: back on the rack", flow.width, 16, bold=True, after=4.0),))
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
        flow.put_table((), table_blocks(columns, rows, flow.width))
        flow.put((space(10.0), text_block("Tickets to cut out and pin on", flow.width, LARGE, bold=True)))
        _put_tickets(flow, [_keeper_ticket(order, piece) for piece in order.keepers])
    else:
        flow.put((text_block("None.", flow.width),))
    flow.page((text_block("Blanks: tickets to cut out and pin on", flow.width, 16, bold=True, after=4.0),))
    _put_tickets(flow, [_blank_ticket(order, piece) for piece in order.blanks])


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
        (piece.blank + (" (extra)" if piece.extra else ""), 16, True),
        (size_text(piece, order.job.shop), LARGE, False),
        (piece.name + (f", {piece.offcut.species}" if piece.offcut.species else ""), BODY, False),
    ]
    if piece.clear_end:
        lines.append((f"Sound end: {piece.clear_end}", BODY, False))
    return [*lines, (f"plan {order.fingerprint}", SMALL, False)]


def _put_tickets(flow: Flow, tickets: Sequence[Lines]) -> None:
    """Put tickets on the pages, two side by side in frames of the same height."""
    wide, pad = (flow.width - 12.0) / 2, 7.0
    for place in range(0, len(tickets), 2):
        filled: list[tuple[float, list[Mark]]] = []
        for lines in tickets[place : place + 2]:
            y = pad
            marks: list[Mark] = []
            for words, size, bold in lines:
                for line in wrap(words, wide - 2 * pad, size, bold):
                    marks.append(Text(pad, y, line, size, bold))
                    y += size * LEADING
            filled.append((y + pad - 2.0, marks))
        high = max(height for height, _ in filled)
        block: list[Mark] = []
        for number, (_, inner) in enumerate(filled):
            x = number * (wide + 12.0)
            block += [Rect(x, 0.0, wide, high, 0.6, dash=True), *(moved(mark, x, 0.0) for mark in inner)]
        flow.put((Block(high + 12.0, tuple(block)),))


def _put_left(flow: Flow, order: Order) -> None:
    flow.page((text_block("Left alone", flow.width, 16, bold=True, after=4.0),))
    flow.put((text_block("These offcuts are not touched.", flow.width, BODY, after=4.0),))
    columns = (Column("Offcut", bold=True), Column("How many", right=True), Column("Rack"), Column("Species"))
    rows = [(offcut.name, str(count), offcut.rack, offcut.species) for offcut, count in order.left]
    if rows:
        flow.put_table((), table_blocks(columns, rows, flow.width, SMALL))
    else:
        flow.put((text_block("None.", flow.width),))


def _drawn(flow: Flow, foot: Sequence[str], title: str) -> bytes:
    """Return the pages as a pdf file."""
    out = BytesIO()
    wide, high = SIZES[flow.paper]
    canvas = Canvas(out, pagesize=(wide, high), invariant=1, pageCompression=1)
    canvas.setTitle(title)
    canvas.setCreator("yieldplan")
    for number, page in enumerate(flow.pages, 1):
        for y, block in page:
            for mark in block.marks:
                _draw(canvas, moved(mark, MARGIN, MARGIN + y), high)
        top = high - MARGIN - len(foot) * SMALL * LEADING
        _draw(canvas, Line(MARGIN, top - 4.0, wide - MARGIN, top - 4.0), high)
        for place, line in enumerate(foot):
            _draw(canvas, Text(MARGIN, top + place * SMALL * LEADING, line, SMALL), high)
        count = f"page {number} of {len(flow.pages)}"
        _draw(canvas, Text(wide - MARGIN - width_of(count, SMALL), top, count, SMALL), high)
        canvas.showPage()
    canvas.save()
    return out.getvalue()


def _draw(canvas: Canvas, mark: Mark, high: float) -> None:
    """Draw one mark; the canvas counts y from the lower edge of the page up."""
    if isinstance(mark, Text):
        canvas.setFont(font(mark.bold), mark.size)
        canvas.drawString(mark.x, high - mark.y - DROP * mark.size, printable(mark.text))
        return
    canvas.setLineWidth(mark.width)
    canvas.setDash([3, 3] if mark.dash else [])
    if isinstance(mark, Line):
        canvas.line(mark.x1, high - mark.y1, mark.x2, high - mark.y2)
    else:
        canvas.rect(mark.x, high - mark.y - mark.h, mark.w, mark.h, stroke=1, fill=0)
