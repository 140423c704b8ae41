"""A plan as pandas data frames, for people who compute.

The unit stands in the name of a column: lengths end in ``_in`` or ``_mm`` and volumes in ``_board_feet`` or ``_m3``, as
the job's Shop sheet has its units; times in ``_minutes``, shares in ``_percent``. Figures are floats, good to far below
a mark; the plan itself holds them exactly.
"""

from __future__ import annotations

from collections import Counter
from itertools import count
from typing import TYPE_CHECKING, Any, NamedTuple

import pandas as pd

from yieldplan.model import BOARD_FOOT, SplitBillet, jointed, keepers, milled, sawn_rows, section
from yieldplan.model.pieces import PieceNames
from yieldplan.model.shop import INCH, MM
from yieldplan.model.work import saw_settings
from yieldplan.pages.wording import CUBIC_METRE

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from yieldplan.model import Billet, Job, OffcutPlan, Plan, Shop, Wood, Work

Record = dict[str, Any]

CROSSCUT_SAW = "crosscut saw"

ROWS = {1: "first row", 2: "second row"}
"""Which row of a billet a saw setting is for."""

LENGTHS = (
    *("length", "width", "thickness", "at"),
    *("rough_width", "rough_thickness", "planed_width", "planed_thickness"),
)
VOLUMES = ("volume",)
SHARES = {"share": "percent", "time": "minutes"}

COLUMNS = {
    "blanks": (
        *("blank", "priority", "length", "width", "thickness"),
        *("need", "made", "missing", "spares_wanted", "spares"),
    ),
    "boards": (
        *("board", "offcut", "copy", "rack", "species", "length", "width", "thickness", "volume"),
        *("billets", "sticks", "blanks", "keepers"),
    ),
    "sticks": (
        *("stick", "board", "billet", "layout", "turned", "length"),
        *("rough_width", "rough_thickness", "planed_width", "planed_thickness", "blanks"),
    ),
    "cuts": ("board", "piece", "stage", "machine", "at", "odd"),
    "settings": ("machine", "what", "at", "uses"),
    "keepers": ("keeper", "board", "form", "length", "width", "thickness", "volume"),
    "account": ("part", "volume", "share"),
    "work": ("what", "count", "time"),
}
"""The columns of each table, before their units."""


class Tables(NamedTuple):
    """A plan's data frames.

    Attributes
    ----------
    blanks
        What is wanted, made, missing, kind by kind.
    boards
        What is drawn, board by board.
    sticks
        What is planed: its rough and planed section, and how many blanks are cut from it.
    cuts
        Every saw pass and crosscut, board by board. ``at`` is where the fence stands, or the distance from end A; of
        the stop it is the length that is cut. An odd cut clears wood before a piece.
    settings
        Every setting of saws, planer and stop, and how often it is used.
    keepers
        What goes back on the rack.
    account
        Where the wood goes.
    work
        What is counted, and the minutes that it takes.
    """

    blanks: pd.DataFrame
    boards: pd.DataFrame
    sticks: pd.DataFrame
    cuts: pd.DataFrame
    settings: pd.DataFrame
    keepers: pd.DataFrame
    account: pd.DataFrame
    work: pd.DataFrame


def tables(job: Job, plan: Plan) -> Tables:
    """Return a plan as data frames; the plan was made for this job."""
    names = PieceNames(job, plan)
    cuts = [cut for drawn in plan.offcuts for cut in _cuts(job, names, drawn)]
    records: dict[str, Iterable[Record]] = {
        "blanks": _blanks(job, plan),
        "boards": (_board(job, names, drawn) for drawn in plan.offcuts),
        "sticks": (stick for drawn in plan.offcuts for stick in _sticks(job, names, drawn)),
        "cuts": cuts,
        "settings": _settings(job, plan, cuts),
        "keepers": (keeper for drawn in plan.offcuts for keeper in _keepers(job, names, drawn)),
        "account": _account(plan),
        "work": _work(plan.work, job.shop),
    }
    return Tables(**{name: _frame(COLUMNS[name], rows, job.shop) for name, rows in records.items()})


def _frame(columns: tuple[str, ...], records: Iterable[Record], shop: Shop) -> pd.DataFrame:
    """Return records as a frame: lengths and volumes in the shop's units, which stand in the names of the columns."""
    inch = shop.units == "inch"
    step, sign = (INCH, "in") if inch else (MM, "mm")
    cube, volume = (BOARD_FOOT, "board_feet") if inch else (CUBIC_METRE, "m3")
    frame = pd.DataFrame(list(records), columns=list(columns))
    for column in columns:
        if column in LENGTHS:
            frame[column] = frame[column].astype(float) / step
        elif column in VOLUMES:
            frame[column] = frame[column].astype(float) / cube
    units = {**dict.fromkeys(LENGTHS, sign), **dict.fromkeys(VOLUMES, volume), **SHARES}
    return frame.rename(columns={name: f"{name}_{unit}" for name, unit in units.items()})


def _blanks(job: Job, plan: Plan) -> Iterator[Record]:
    made, spare, missing = dict(plan.made), dict(plan.spare), dict(plan.missing)
    for blank in job.blanks:
        yield {
            "blank": blank.name,
            "priority": blank.priority,
            "length": blank.length,
            "width": blank.width,
            "thickness": blank.thickness,
            "need": blank.need,
            "made": made.get(blank.name, 0),
            "missing": missing.get(blank.name, 0),
            "spares_wanted": blank.spare,
            "spares": spare.get(blank.name, 0),
        }


def _board(job: Job, names: PieceNames, drawn: OffcutPlan) -> Record:
    offcut = job.offcut(drawn.offcut)
    return {
        "board": names.board(drawn),
        "offcut": drawn.offcut,
        "copy": drawn.copy,
        "rack": offcut.rack,
        "species": offcut.species,
        "length": offcut.length,
        "width": offcut.width,
        "thickness": offcut.thickness,
        "volume": offcut.volume,
        "billets": len(drawn.jointed),
        "sticks": sum(len(part.sticks) for part in drawn.jointed),
        "blanks": sum(1 for _ in drawn.blanks),
        "keepers": len(names.keepers(drawn)),
    }


def _parts(job: Job, names: PieceNames, drawn: OffcutPlan) -> Iterator[tuple[str, Wood, Billet]]:
    """Yield all that is jointed of a board, with its name and its wood."""
    offcut = job.offcut(drawn.offcut)
    for index, billet in enumerate(drawn.billets):
        for wood, part in milled(offcut, billet, job.shop):
            split = isinstance(billet, SplitBillet)
            yield (
                names.half(drawn, index, far=wood.low > 0) if split else names.billet(drawn, index),
                wood,
                part,
            )


def _sticks(job: Job, names: PieceNames, drawn: OffcutPlan) -> Iterator[Record]:
    numbers = count(1)
    for billet, wood, part in _parts(job, names, drawn):
        for stick in part.sticks:
            sizes = section(wood.offcut, job.blank(stick.blanks[0].blank), job.shop, turned=stick.turned)
            yield {
                "stick": names.stick(drawn, next(numbers)),
                "board": names.board(drawn),
                "billet": billet,
                "layout": part.layout,
                "turned": stick.turned,
                "length": part.end - part.start,
                "rough_width": sizes.rough_width,
                "rough_thickness": sizes.rough_thickness,
                "planed_width": sizes.planed_width,
                "planed_thickness": sizes.planed_thickness,
                "blanks": len(stick.blanks),
            }


def _cuts(job: Job, names: PieceNames, drawn: OffcutPlan) -> Iterator[Record]:
    """Yield every saw pass and crosscut of a board, in the order in which they come."""
    board, shop, offcut = names.board(drawn), job.shop, job.offcut(drawn.offcut)

    def cut(piece: str, stage: str, machine: str, at: int, *, odd: bool = False) -> Record:
        return {"board": board, "piece": piece, "stage": stage, "machine": machine, "at": at, "odd": odd}

    places = [(billet.start, billet.end) for billet in drawn.billets]
    for at in _ends(places, offcut.length, shop.crosscut_kerf):
        yield cut(board, "rough crosscut", CROSSCUT_SAW, at)
    for index, billet in enumerate(drawn.billets):
        if isinstance(billet, SplitBillet):
            yield cut(names.billet(drawn, index), "split", "bandsaw", billet.split, odd=True)
    numbers = count(1)
    for name, wood, part in _parts(job, names, drawn):
        for row in sawn_rows(wood, part, shop):
            for sawn in row.passes:
                stage = "rip" if row.axis == "y" else "resaw"
                yield cut(name, stage, str(row.machine), sawn.at, odd=sawn.odd)
        for stick in part.sticks:
            name_of_stick, before = names.stick(drawn, next(numbers)), part.start
            yield cut(name_of_stick, "square", CROSSCUT_SAW, stick.blanks[0].start)
            for number, blank in enumerate(stick.blanks):
                if number and blank.start - before > shop.crosscut_kerf:
                    yield cut(name_of_stick, "square", CROSSCUT_SAW, blank.start)
                yield cut(name_of_stick, "stop", CROSSCUT_SAW, blank.end - blank.start)
                before = blank.end


def _ends(places: list[tuple[int, int]], length: int, kerf: int) -> Iterator[int]:
    """Yield where rough crosscuts free billets, from end A: one does for two billets that are a kerf apart."""
    here = 0
    for number, (start, end) in enumerate(places):
        if start - here > (kerf if number else 0):
            yield start
        if end < length:
            yield end
        here = end


def _settings(job: Job, plan: Plan, cuts: list[Record]) -> Iterator[Record]:
    """Yield every setting: those of the saws once for the batch, each odd cut by itself, planer and stop."""
    saws: Counter[tuple[str, int, str]] = Counter()
    planer: Counter[tuple[str, int]] = Counter()
    for drawn in plan.offcuts:
        offcut = job.offcut(drawn.offcut)
        for wood, part in jointed(job, drawn):
            rows = list(sawn_rows(wood, part, job.shop))
            saws.update((machine, at, ROWS[number]) for number, machine, at in saw_settings(rows))
            for stick in part.sticks:
                sizes = section(offcut, job.blank(stick.blanks[0].blank), job.shop, turned=stick.turned)
                planer.update([("width", sizes.planed_width), ("thickness", sizes.planed_thickness)])
    for (machine, at, what), uses in sorted(saws.items()):
        yield {"machine": machine, "what": what, "at": at, "uses": uses}
    for cut in cuts:
        if cut["odd"]:
            yield {"machine": cut["machine"], "what": f"odd cut, {cut['piece']}", "at": cut["at"], "uses": 1}
    for (what, at), uses in sorted(planer.items()):
        yield {"machine": "planer", "what": what, "at": at, "uses": uses}
    stops = Counter(cut["at"] for cut in cuts if cut["stage"] == "stop")
    for at, uses in sorted(stops.items()):
        yield {"machine": CROSSCUT_SAW, "what": "stop", "at": at, "uses": uses}


def _keepers(job: Job, names: PieceNames, drawn: OffcutPlan) -> Iterator[Record]:
    for name, keeper in zip(names.keepers(drawn), keepers(job, drawn), strict=True):
        length, *sides = keeper.size
        yield {
            "keeper": name,
            "board": names.board(drawn),
            "form": keeper.form,
            "length": length,
            "width": max(sides),
            "thickness": min(sides),
            "volume": keeper.volume,
        }


def _account(plan: Plan) -> Iterator[Record]:
    account = plan.account
    for part in ("in", "blanks", "keepers", "kerf", "shavings", "trimmings"):
        volume = account.volume_in if part == "in" else getattr(account, part)
        share = 100 * volume / account.volume_in if account.volume_in else 0.0
        yield {"part": part, "volume": volume, "share": share}


def _work(work: Work, shop: Shop) -> Iterator[Record]:
    """Yield each count with its minutes; together they are all of the work."""
    for what, number, each in (
        ("boards handled", work.offcuts, shop.offcut_handled),
        ("billets jointed", work.billets, shop.billet_jointed),
        ("settings of saws", work.saw_settings, shop.machine_setting),
        ("table saw passes", work.passes - work.bandsaw_passes, shop.cut),
        ("bandsaw passes", work.bandsaw_passes, shop.bandsaw_pass),
        ("settings of the planer", work.planer_settings, shop.machine_setting),
        ("sticks planed", work.sticks, shop.stick_planed),
        ("settings of the stop", work.stop_settings, shop.stop_setting),
        ("crosscuts", work.crosscuts, shop.cut),
    ):
        yield {"what": what, "count": number, "time": number * each / 100}
