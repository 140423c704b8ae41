"""What a real spreadsheet program saves: each kind of cell that it makes, in each format that it writes."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from soffice import needs_soffice, saved

from yieldplan.model import InputError
from yieldplan.workbook import read

if TYPE_CHECKING:
    from pathlib import Path

pytestmark = needs_soffice

HEAD = (
    '<?xml version="1.0" encoding="UTF-8"?><office:document '
    + " ".join(
        f'xmlns:{name}="urn:oasis:names:tc:opendocument:xmlns:{name}:1.0"'
        for name in ("office", "table", "text", "style")
    )
    + ' xmlns:of="urn:oasis:names:tc:opendocument:xmlns:of:1.2"'
    ' xmlns:number="urn:oasis:names:tc:opendocument:xmlns:datastyle:1.0" office:version="1.3"'
    ' office:mimetype="application/vnd.oasis.opendocument.spreadsheet"><office:automatic-styles>'
    '<number:date-style style:name="d"><number:year/><number:text>-</number:text><number:month/>'
    "<number:text>-</number:text><number:day/></number:date-style>"
    '<number:percentage-style style:name="p"><number:number/><number:text>%</number:text></number:percentage-style>'
    '<number:time-style style:name="t"><number:hours/><number:text>:</number:text><number:minutes/>'
    '</number:time-style><number:boolean-style style:name="b"><number:boolean/></number:boolean-style>'
    + "".join(
        f'<style:style style:name="{name}c" style:family="table-cell" style:data-style-name="{name}"/>'
        for name in "dptb"
    )
    + "</office:automatic-styles><office:body><office:spreadsheet>"
)
TAIL = "</office:spreadsheet></office:body></office:document>"


def text(value: str) -> str:
    """Return a cell of text."""
    return f'<table:table-cell office:value-type="string"><text:p>{value}</text:p></table:table-cell>'


def typed(kind: str, **attributes: str) -> str:
    """Return a cell of some other type."""
    inside = "".join(f' {name.replace("_", ":")}="{value}"' for name, value in attributes.items())
    kind = f' office:value-type="{kind}"' if kind else ""
    return f"<table:table-cell{kind}{inside}/>"


def number(value: float) -> str:
    """Return a cell of a number."""
    return typed("float", office_value=str(value))


def sheet(name: str, *rows: tuple[str, ...]) -> str:
    """Return a sheet."""
    body = "".join(f"<table:table-row>{''.join(row)}</table:table-row>" for row in rows)
    return f'<table:table table:name="{name}">{body}</table:table>'


ODD = {
    "date": '<table:table-cell table:style-name="dc" office:value-type="date" office:date-value="2025-03-08"/>',
    "percent": typed("percentage", office_value="0.12", **{"table:style-name": "pc"}),
    "time": '<table:table-cell table:style-name="tc" office:value-type="time" office:time-value="PT03H08M00S"/>',
    "truth": '<table:table-cell table:style-name="bc" office:value-type="boolean" office:boolean-value="true"/>',
    "error": typed("", table_formula="of:=NA()"),
    "sum": typed("", table_formula="of:=40+1.375"),
    "currency": typed("currency", office_currency="EUR", office_value="41"),
}
OFFCUTS = sheet(
    "Offcuts",
    tuple(map(text, ("Offcut", "Length", "Width", "Thickness"))),
    *((text(name), cell, number(4), text("1 1/2")) for name, cell in ODD.items()),
)
BLANKS = sheet(
    "Blanks",
    tuple(map(text, ("Blank", "Need", "Length", "Width", "Thickness"))),
    (text("rib"), number(2), number(18), number(1.5), number(0.75)),
)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Make a workbook of every kind of cell and have the program save it in its formats."""
    folder = tmp_path_factory.mktemp("saved")
    (folder / "pile.fods").write_text(HEAD + OFFCUTS + BLANKS + TAIL, encoding="utf-8")
    for ending in ("xlsx", "ods", "xls"):
        saved(folder / "pile.fods", folder, ending)
    return folder / "saved"


def test_every_odd_cell_is_named_and_the_others_are_read(folder: Path) -> None:
    """A date, a percentage, a time, a truth value and an error are refused; a formula and a sum of money are read."""
    with pytest.raises(InputError) as refusal:
        read(folder / "pile.xlsx")
    found = [(problem.cell, problem.found) for problem in refusal.value.problems]
    assert found == [
        ("B2", "is a date, probably 3/8, not a length"),
        ("B3", "is a percentage, not a length"),
        ("B4", "is a time, not a length"),
        ("B5", "is TRUE or FALSE, not a length"),
        ("B6", "is an error value of the spreadsheet, not a length"),
    ]


@pytest.mark.parametrize(
    ("ending", "found"),
    [("ods", "is an OpenDocument file"), ("xls", "is an old .xls workbook or another old office file")],
)
def test_other_formats_are_refused_by_name(folder: Path, ending: str, found: str) -> None:
    """Each is called what it is, with the next step."""
    with pytest.raises(InputError) as refusal:
        read(folder / f"pile.{ending}")
    (problem,) = refusal.value.problems
    assert problem.found == found
    assert problem.suggestion == "open it in a spreadsheet program and save it as .xlsx"
