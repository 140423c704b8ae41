"""Text is only text: what a user typed steers no terminal, is no formula, no markup and no part of a file's name."""

from __future__ import annotations

import io
import json
import unicodedata
from dataclasses import replace
from typing import TYPE_CHECKING

import openpyxl
import pdfplumber
import pytest
from random_plans import random_plan

from yieldplan import workbook
from yieldplan.cli import main
from yieldplan.commands import OUTPUT_NAMES
from yieldplan.measuring.readback import understood
from yieldplan.measuring.reasons import reasons
from yieldplan.model.planfile import dump_plan, load_plan
from yieldplan.order import cutting_order
from yieldplan.order.summary import summary, why_missing
from yieldplan.pages.renderables import plain_text
from yieldplan.terminal import put, show
from yieldplan.verify import verify

if TYPE_CHECKING:
    from pathlib import Path

    from yieldplan.model import Job, Plan

TEXTS = {
    "rich markup": "[bold red]Rib[/] [link=file:///etc/passwd]x[/link]",
    "a terminal escape": "Rib\x1b]0;gone\x07\x1b[2J",
    "a C1 escape": "Rib\x9b31m",
    "a formula": '=HYPERLINK("https://example.org","Rib")',
    "a command for a spreadsheet": "@SUM(1+1)*cmd|' /C calc'!A0",
    "XML": "</t></is><!-- <b>Rib</b> &amp; &#10; ]]>",
    "right-to-left": "Rib \u202e\u2066gnirts\u2069",
    "line breaks": "Rib\nSTOP\r\nsaw\u2028here",
    "a nought and what XML forbids": "Rib\x00\ufffe\uffff",
    "percent and braces": "%s {0} {name} %n \\N{BULLET} $HOME `id`",
    "a path": "../../etc/passwd",
    "a Windows path": "C:\\con\\aux:*?",
    "many scripts": "Ребро πλευρά 肋骨 ضلع पसली",
    "marks heaped on a letter": "R" + "\u0301" * 60,
    "10 000 characters": "Rib " * 2500,
    "one long word": "R" * 10_000,
}


def named(text: str) -> tuple[Job, Plan]:
    """Return a job and a plan in which the text stands wherever a user can put any, as long as is read there."""
    job, plan = random_plan(8, offcuts=3)
    note = text[:2000]
    first, *others = job.offcuts
    offcut = replace(first, name=f"{text[:77]} 1", rack=note, note=note, species=note, other=((note, text),))
    blank = replace(job.blanks[0], name=f"{text[:77]} 2", note=note, other=((note, text),))
    kinds = {job.blanks[0].name: blank.name}
    job = replace(job, name=text[:200], offcuts=(offcut, *others), blanks=(blank, *job.blanks[1:]))
    raw = json.loads(dump_plan(plan))
    raw["input"]["name"] = text[:200]
    for word in ("made", "spare", "missing"):
        raw[word] = {kinds.get(name, name): count for name, count in raw[word].items()}
    for drawn in raw["offcuts"]:
        drawn["offcut"] = offcut.name if drawn["offcut"] == first.name else drawn["offcut"]
        for billet in drawn["billets"]:
            for part in (half for half in billet.get("halves", [billet]) if half is not None):
                for cut in (
                    c for strip in part["strips"] for stick in strip["sticks"] for c in stick["blanks"]
                ):
                    cut["blank"] = kinds.get(cut["blank"], cut["blank"])
    return job, load_plan(json.dumps(raw).encode())


def steering(text: str) -> set[str]:
    """Return the signs in a text that could steer what shows it, but for the ends of its lines."""
    return {sign for sign in text if unicodedata.category(sign) in ("Cc", "Cf", "Cs", "Zl", "Zp")} - {"\n"}


@pytest.mark.parametrize("text", TEXTS.values(), ids=TEXTS.keys())
def test_it_is_shown_harmless_everywhere(
    text: str, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Terminal, text, pdf, workbook and plan file all hold it, readable where it can be read, and none obeys it."""
    job, plan = named(text)
    assert verify(job, plan) == ()
    assert dump_plan(load_plan(dump_plan(plan))) == dump_plan(plan)
    order = cutting_order(job, plan)
    for renderable in (summary(order), *why_missing(plan, reasons(job, plan)), understood(job)):
        assert not steering(plain_text(renderable, 80))
        show(renderable)
    for breach in verify(replace(job, offcuts=job.offcuts[1:]), plan):
        put(breach.sentence() + "\n")
    (tmp_path / "plan.json").write_bytes(dump_plan(plan))
    monkeypatch.setattr(workbook, "read", lambda _: job)
    arguments = ["order", "pile.xlsx", str(tmp_path / "plan.json"), "--tickets", "--show", "order"]
    for paper in ("letter", "a4") if len(text) > 1000 else ("letter",):
        assert main([*arguments, "--paper", paper]) == 0
    shown = capsys.readouterr().out
    assert not steering(shown)
    start = text[:6].split(maxsplit=1)[0]
    if not steering(start):
        assert start in shown

    with pdfplumber.open(tmp_path / "cutting-order.pdf") as book:
        assert not any(page.hyperlinks for page in book.pages)
    read = openpyxl.load_workbook(io.BytesIO((tmp_path / "cutting-order.xlsx").read_bytes()))
    cells = [cell for sheet in read.worksheets for row in sheet.iter_rows() for cell in row]
    assert not [cell.coordinate for cell in cells if cell.data_type == "f" or cell.hyperlink]
    assert not any(steering(str(cell.value)) for cell in cells)


def test_files_have_names_of_their_own() -> None:
    """No name of a file that is written comes from what was typed; each is one that any system takes."""
    for name in OUTPUT_NAMES:
        assert name.isascii()
        assert name == name.lower()
        assert not set(name) & set('\\/:*?"<>| ')
