"""A plan as pandas data frames, for people who compute.

The unit stands in the name of a column: lengths end in ``_in`` or ``_mm`` and volumes in ``_board_feet`` or ``_m3``, as
the job's Shop sheet has its units; times in ``_minutes``, shares in ``_percent``. Figures are floats, good to far below
a mark; the plan itself holds them exactly.
"""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING, Any, NamedTuple

import pandas as pd

from yieldplan.model import BOARD_FOOT, SplitBillet, sawn_rows
from yieldplan.model.pieces import PieceNames
from yieldplan.model.section import section_of
from yieldplan.model.shop import INCH, MM
from yieldplan.pages.wording import CUBIC_METRE

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from yieldplan.model import Job, OffcutPlan, Plan, Shop

Record = tuple[Any, ...]

CROSSCUT_SAW = "crosscut saw"

LENGTHS = (
    *("length", "width", "thickness", "at"),
    *("rough_width", "rough_thickness", "planed_width", "planed_thickness"),
)

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
    sticks = [stick for drawn in plan.offcuts for stick in _sticks(job, names, drawn)]
    cuts = [cut for drawn in plan.offcuts for cut in _cuts(job, names, drawn)]
    records: dict[str, Iterable[Record]] = {
        "blanks": _blanks(job, plan),
        "boards": (_board(job, names, drawn) for drawn in plan.offcuts),
        "sticks": sticks,
        "cuts": (cut[:-1] for cut in cuts),
        "settings": _settings(cuts, sticks),
        "keepers": (keeper for drawn in plan.offcuts for keeper in _keepers(names, drawn)),
        "account": _account(plan),
        "work": _work(plan, job.shop),
    }
    return Tables(**{name: _frame(COLUMNS[name], rows, job.shop) for name, rows in records.items()})


def _frame(columns: Sequence[str], records: Iterable[Record], shop: Shop) -> pd.DataFrame:
    """Return records as a frame: lengths and volumes in the shop's units, which stand in the names of the columns."""
    inch = shop.units == "inch"
    units: dict[str, tuple[str, int]] = {
        **dict.fromkeys(LENGTHS, ("in", INCH) if inch else ("mm", MM)),
        "volume": ("board_feet", BOARD_FOOT) if inch else ("m3", CUBIC_METRE),
        "share": ("percent", 1),
        "time": ("minutes", 1),
    }
    frame = pd.DataFrame(list(records), columns=list(columns))
    for column in units.keys() & frame.columns:
        frame[column] = frame[column].astype(float) / units[column][1]
    return frame.rename(columns={name: f"{name}_{unit}" for name, (unit, _) in units.items()})


def _blanks(job: Job, plan: Plan) -> Iterator[Record]:
    made, spare, missing = (Counter(dict(pairs)) for pairs in (plan.made, plan.spare, plan.missing))
    for blank in job.blanks:
        name, counts = blank.name, (blank.need, made[blank.name], missing[blank.name])
        sizes = (blank.length, blank.width, blank.thickness)
        yield name, blank.priority, *sizes, *counts, blank.spare, spare[name]


def _board(job: Job, names: PieceNames, drawn: OffcutPlan) -> Record:
    offcut = job.offcut(drawn.offcut)
    where = (names.board(drawn), drawn.offcut, drawn.copy, offcut.rack, offcut.species)
    sizes = (offcut.length, offcut.width, offcut.thickness, offcut.volume)
    sticks, blanks = len(drawn.sticks), sum(1 for _ in drawn.blanks)
    return *where, *sizes, len(drawn.jointed), sticks, blanks, len(names.keepers(drawn))


def _sticks(job: Job, names: PieceNames, drawn: OffcutPlan) -> Iterator[Record]:
    for billet, _, wood, part, own in names.parts(drawn):
        for name, stick in zip(own, part.sticks, strict=True):
            one = section_of(job, wood.offcut, stick)
            sizes = (one.rough_width, one.rough_thickness, one.planed_width, one.planed_thickness)
            where = (name, names.board(drawn), billet, part.layout)
            yield *where, stick.turned, part.end - part.start, *sizes, len(stick.blanks)


def _cuts(job: Job, names: PieceNames, drawn: OffcutPlan) -> Iterator[Record]:
    """Yield every saw pass and crosscut of a board in order; last, what a saw is set for, where it is set."""
    board, kerf = names.board(drawn), job.shop.crosscut_kerf
    for at in _ends(drawn, job.offcut(drawn.offcut).length, kerf):
        yield board, board, "rough crosscut", CROSSCUT_SAW, at, False, ""
    for index, billet in enumerate(drawn.billets):
        if isinstance(billet, SplitBillet):
            yield board, names.billet(drawn, index), "split", "bandsaw", billet.split, True, ""
    for name, _, wood, part, own in names.parts(drawn):
        rows = list(sawn_rows(wood, part, job.shop))
        for row in rows:
            stage = "rip" if row.axis == "y" else "resaw"
            what = "second row" if row.number == 2 and rows[0].is_cut else "first row"
            for sawn in row.passes:
                yield board, name, stage, str(row.machine), sawn.at, sawn.odd, "" if sawn.odd else what
        for named, stick in zip(own, part.sticks, strict=True):
            before = None
            for blank in stick.blanks:
                if before is None or blank.start - before > kerf:
                    yield board, named, "square", CROSSCUT_SAW, blank.start, False, ""
                yield board, named, "stop", CROSSCUT_SAW, blank.end - blank.start, False, ""
                before = blank.end


def _ends(drawn: OffcutPlan, length: int, kerf: int) -> Iterator[int]:
    """Yield where rough crosscuts free billets, from end A: one does for two billets that are a kerf apart."""
    here, between = 0, 0
    for billet in drawn.billets:
        if billet.start - here > between:
            yield billet.start
        if billet.end < length:
            yield billet.end
        here, between = billet.end, kerf


def _settings(cuts: Sequence[Record], sticks: Sequence[Record]) -> Iterator[Record]:
    """Yield every setting: those of the saws once for the batch, each odd cut by itself, planer and stop."""
    saws = Counter((machine, at, what) for _, _, _, machine, at, _, what in cuts if what)
    for (machine, at, what), uses in sorted(saws.items()):
        yield machine, what, at, uses
    for _, piece, _, machine, at, odd, _ in cuts:
        if odd:
            yield machine, f"odd cut, {piece}", at, 1
    for machine, what, places in (
        ("planer", "thickness", [stick[COLUMNS["sticks"].index("planed_thickness")] for stick in sticks]),
        ("planer", "width", [stick[COLUMNS["sticks"].index("planed_width")] for stick in sticks]),
        (CROSSCUT_SAW, "stop", [at for _, _, stage, _, at, _, _ in cuts if stage == "stop"]),
    ):
        for at, uses in sorted(Counter(places).items()):
            yield machine, what, at, uses


def _keepers(names: PieceNames, drawn: OffcutPlan) -> Iterator[Record]:
    for name, keeper in names.keepers(drawn):
        length, *sides = keeper.size
        yield name, names.board(drawn), keeper.form, length, max(sides), min(sides), keeper.volume


def _account(plan: Plan) -> Iterator[Record]:
    account = plan.account
    for part in ("in", "blanks", "keepers", "kerf", "shavings", "trimmings"):
        volume = account.volume_in if part == "in" else getattr(account, part)
        yield part, volume, 100 * volume / account.volume_in if account.volume_in else 0.0


def _work(plan: Plan, shop: Shop) -> Iterator[Record]:
    """Yield each count with its minutes; together they are all of the work."""
    work = plan.work
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
        yield what, number, number * each / 100
