"""Jobs written as inputs, and what happened written down: what the tests of settling start from."""

from __future__ import annotations

import csv
import hashlib
import io
import random
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import TYPE_CHECKING, Any

from random_plans import random_plan
from skiff_workbook import save_csv, save_xlsx

from yieldplan.measure import write
from yieldplan.model import Billet, Blank, CutBlank, Job, Offcut, OffcutPlan, Stick, Strip
from yieldplan.model.pieces import HAPPENED, pieces
from yieldplan.model.planfile import dump_plan
from yieldplan.pile.settle import next_input
from yieldplan.pile.settlement import settlement
from yieldplan.solve.assemble import assemble
from yieldplan.workbook import read
from yieldplan.workbook.shop_sheet import LENGTHS, MINUTES

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from skiff_workbook import Sheets

    from yieldplan.model import Plan
    from yieldplan.model.pieces import Piece
    from yieldplan.pile.settlement import Settlement


def sheets_of(job: Job) -> Sheets:
    """Return a job as the cells of an input that is read as just that job."""
    unit = job.shop.units

    def fig(steps: int) -> str:
        return write(steps, unit, mark=False)

    def ring(reading: object) -> object:
        words = {span: word for word, span in job.shop.ring_words.items()}
        return words[reading] if isinstance(reading, tuple) else reading

    offcuts: list[list[Any]] = [
        [
            *("Offcut", "Length", "Width", "Thickness", "Qty", "Species", "Bow", "Crook", "Cup", "Twist"),
            *("Ring angle", "Ring angle far", "Moisture", "Grain slope", "Kink at", "Rack", "Note"),
        ]
    ]
    defects: list[list[Any]] = [
        ["Offcut", "Kind", "From", "To", "Edge from", "Edge to", "Face", "Depth", "Note"]
    ]
    for one in job.offcuts:
        offcuts.append(
            [one.name, fig(one.length), fig(one.width), fig(one.thickness), one.qty, one.species]
            + [fig(steps) for steps in (one.bow, one.crook, one.cup, one.twist)]
            + [ring(one.ring_angle), ring(one.ring_angle_far)]
            + [None if one.moisture is None else f"{float(one.moisture):g} %"]
            + [
                None
                if one.grain_slope is None
                else f"{one.grain_slope.numerator} in {one.grain_slope.denominator}"
            ]
            + ["; ".join(map(fig, one.kinks)), one.rack, one.note]
        )
        for bad in one.defects:
            face, depth = (1, bad.z2) if bad.z1 == 0 else (2, one.thickness - bad.z1)
            defects.append(
                [one.name, bad.kind, *map(fig, (bad.x1, bad.x2, bad.y1, bad.y2))]
                + (["", ""] if bad.through else [face, fig(depth)])
                + [bad.note]
            )
    blanks: list[list[Any]] = [
        [
            "Blank",
            "Need",
            "Length",
            "Width",
            "Thickness",
            "Spare",
            "Species",
            "Allows",
            "Clear end",
            "Priority",
        ]
    ]
    blanks += [
        [
            *(b.name, b.need, *map(fig, (b.length, b.width, b.thickness)), b.spare),
            *(", ".join(b.species), ", ".join(b.allows), fig(b.clear_end), b.priority),
        ]
        for b in job.blanks
    ]
    return {"Offcuts": offcuts, "Defects": defects, "Blanks": blanks, "Shop": _shop(job)}


def _shop(job: Job) -> list[list[Any]]:
    """Return every setting of a job's shop."""
    shop = job.shop
    rows: list[list[Any]] = [
        ["Setting", "Value"],
        ["units", shop.units],
        ["mark", write(shop.mark, shop.units)],
    ]
    rows += [[name, write(getattr(shop, name.replace(" ", "_")), shop.units)] for name in LENGTHS]
    rows += [[name, f"{getattr(shop, name.replace(' ', '_')) / 100:g}"] for name in MINUTES]
    rows.append(["length premium", f"{float(shop.length_premium):g}"])
    if shop.target_moisture is not None:
        rows.append(["target moisture", f"{float(shop.target_moisture):g} %"])
    return rows


@dataclass(frozen=True, slots=True, kw_only=True)
class Batch:
    """An input on the disk with a plan of it."""

    source: Path
    job: Job
    plan: Plan

    @property
    def fingerprint(self) -> str:
        """What the plan is known by."""
        return hashlib.sha256(dump_plan(self.plan)).hexdigest()[:8]

    @property
    def pieces(self) -> tuple[Piece, ...]:
        """What the plan makes."""
        return pieces(self.job, self.plan)


def written(job: Job, plan: Plan, folder: Path, *, workbook: bool = False) -> Batch:
    """Write a job as an input and return it as it is read, with the plan as one of that input."""
    sheets = sheets_of(job)
    source = save_xlsx(sheets, folder / "pile.xlsx") if workbook else save_csv(sheets, folder / "pile")
    again = read(source)
    return Batch(
        source=source,
        job=again,
        plan=replace(plan, input_name=again.name, input_sha256=again.sha256),
    )


def random_batch(seed: int, folder: Path, *, workbook: bool = False) -> Batch:
    """Return a random batch that cuts something; a seed that makes none gives that of the next one."""
    job, plan = random_plan(seed)
    while not plan.offcuts:
        seed += 1
        job, plan = random_plan(seed)
    rng = random.Random(seed)
    offcuts = tuple(_read_more(one, rng) for one in job.offcuts)
    return written(replace(job, offcuts=offcuts), plan, folder, workbook=workbook)


def _read_more(offcut: Offcut, rng: random.Random) -> Offcut:
    """Return an offcut with its slope of grain, without defects of no size, which no input can hold."""
    sized = tuple(one for one in offcut.defects if one.x1 < one.x2 and one.y1 < one.y2 and one.z1 < one.z2)
    return replace(offcut, defects=sized, grain_slope=rng.choice((None, Fraction(1, 12))))


def happened_text(batch: Batch, marks: Mapping[str, Mapping[str, object]]) -> str:
    """Return what happened as csv: a row a piece, filled in where ``marks`` says so by heading."""
    out = io.StringIO()
    sheet = csv.DictWriter(out, HAPPENED, restval="")
    sheet.writeheader()
    for piece in batch.pieces:
        sheet.writerow({"Piece": piece.name, "Planned": piece.gives, **marks.get(piece.name, {})})
    return out.getvalue()


def random_marks(batch: Batch, seed: int, *, measured: bool = False) -> dict[str, dict[str, object]]:
    """Return what may have come of a random batch, without contradictions; keepers perhaps measured."""
    rng = random.Random(seed)
    marks: dict[str, dict[str, object]] = {}
    found = batch.pieces
    for board in (piece for piece in found if piece.kind == "board"):
        own = [piece for piece in found if piece.board == board.name and piece is not board]
        fate = rng.choice(("", "", "as planned", "not cut", "spoiled", "short", "sticks", "sticks", "sticks"))
        if fate in ("as planned", "not cut", "spoiled"):
            marks[board.name] = {"Outcome": fate}
        elif fate == "short":
            marks[board.name] = {"Outcome": fate, "Good": _some(board, rng)}
        elif fate == "sticks":
            for stick in (piece for piece in own if piece.kind == "stick"):
                outcome = rng.choice(("", "as planned", "spoiled", "short", "not cut"))
                marks[stick.name] = {
                    "Outcome": outcome,
                    "Good": _some(stick, rng) if outcome == "short" else "",
                }
        for piece in own:
            if piece.kind != "keeper" or fate in ("not cut", "spoiled") or piece.parent != board.name:
                continue
            if fate != "sticks" and rng.random() < 0.2:
                marks[piece.name] = {"Outcome": "spoiled"}
            elif fate != "sticks" and measured and rng.random() < 0.5:
                length, *across = piece.box.size
                sizes = {"length": length, "width": max(across), "thickness": min(across)}
                marks[piece.name] = {
                    f"Measured {name}": write(
                        size - rng.randint(-1, 20) * batch.job.shop.mark, batch.job.shop.units
                    )
                    for name, size in sizes.items()
                    if rng.random() < 0.6
                }
    return marks


def _some(piece: Piece, rng: random.Random) -> str:
    """Return fewer blanks than a piece gives, as they are written under Good."""
    left = [rng.randint(0, count) for _, count in piece.blanks]
    if sum(left) == piece.planned:
        left[0] -= 1
    if len(left) == 1:
        return str(left[0])
    return ", ".join(f"{count} {name}" for count, (name, _) in zip(left, piece.blanks, strict=True))


def settled_at(batch: Batch, folder: Path, marks: Mapping[str, Mapping[str, object]], **how: Any) -> Settled:
    """Settle a batch in a folder and return what it comes to, with the next input on the disk."""
    happened = folder / "what-happened.csv"
    happened.write_text(happened_text(batch, marks), encoding="utf-8")
    found = settlement(batch.job, batch.plan, happened, **how)
    files = next_input(batch.source, batch.job, found)
    out = folder / ("next.xlsx" if "" in files else "next")
    if "" in files:
        out.write_bytes(files[""])
    else:
        out.mkdir(exist_ok=True)
        for name, data in files.items():
            (out / name).write_bytes(data)
    return Settled(found=found, out=out, files=files)


@dataclass(frozen=True, slots=True, kw_only=True)
class Settled:
    """A settled batch: what it comes to, and the next input."""

    found: Settlement
    out: Path
    files: Mapping[str, bytes]

    @property
    def job(self) -> Job:
        """The next input as it is read."""
        return read(self.out)


INCH = 8128


def small_batch(folder: Path, *, workbook: bool = False, cleat: str = "Cleat", **changes: Any) -> Batch:
    """Write a batch worked out by hand, in inches; ``changes`` are made to board P1, ``cleat`` names its cleat.

    P1 gives two ribs (stick P1-1) and a cleat (P1-2, whose end is kept, K1); P2 two ribs (P2-1), and a strip is kept
    (K2); P3 is not drawn.
    """
    board = Offcut(name="P1", length=44 * INCH, width=6 * INCH, thickness=7 * INCH // 4, rack="loft")
    blank = Blank(name="Rib", need=6, length=12 * INCH, width=9 * INCH // 4, thickness=21 * INCH // 16)
    job = Job(
        offcuts=(
            replace(board, **changes),
            replace(board, name="P2", length=40 * INCH),
            replace(board, name="P3", length=30 * INCH),
        ),
        blanks=(blank, replace(blank, name=cleat, need=1, spare=1, length=8 * INCH)),
    )
    rib = (_cut("Rib", 1), _cut("Rib", 14))
    drawn = [
        _drawn("P1", 30, (rib, (_cut(cleat, 1),))),
        _drawn("P2", 27, (rib,)),
    ]
    return written(job, assemble(job, drawn), folder, workbook=workbook)


def _cut(name: str, start: int) -> CutBlank:
    return CutBlank(blank=name, start=start * INCH, end=(start + (12 if name == "Rib" else 8)) * INCH)


def _drawn(name: str, end: int, sticks: tuple[tuple[CutBlank, ...], ...]) -> OffcutPlan:
    strips = tuple(
        Strip(
            start=low,
            end=low + 19 * INCH // 8,
            sticks=(Stick(start=0, end=11 * INCH // 8, blanks=blanks),),
        )
        for low, blanks in zip((0, 5 * INCH // 2), sticks, strict=False)
    )
    loss = INCH // 16
    billet = Billet(
        start=INCH // 2, end=end * INCH, layout="rip first", face_loss=loss, edge_loss=loss, strips=strips
    )
    return OffcutPlan(offcut=name, copy=1, billets=(billet,))
