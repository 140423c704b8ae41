"""Runs with mistakes in them: each has its message, with the cell, what was expected and the next step.

``python tests/stations/test_stations_corpus.py`` writes what is expected anew; read the difference before it is kept.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from skiff_workbook import put
from surveys import csv_folder, good, workbook

from yieldplan.model import InputError
from yieldplan.stations.reading import read_survey
from yieldplan.stations.tape import longest_over, tape_list

if TYPE_CHECKING:
    from collections.abc import Callable

    from skiff_workbook import Maker, Sheets

EXPECTED = Path(__file__).with_name("corpus.tsv")


def cells(**values: object) -> Maker:
    """Return a maker of the workbook with cells changed: ``Run_B2="abc"``."""

    def make(parent: Path) -> Path:
        sheets = good()
        for cell, value in values.items():
            put(sheets, cell.replace("_", "!"), value)
        return workbook(parent, sheets)

    return make


def done(change: Callable[[Sheets], object]) -> Maker:
    """Return a maker of the workbook with something done to its sheets."""

    def make(parent: Path) -> Path:
        sheets = good()
        change(sheets)
        return workbook(parent, sheets)

    return make


def exchange(sheet: str, one: int, other: int) -> Maker:
    """Return a maker of the workbook with two rows of a sheet exchanged."""

    def change(sheets: Sheets) -> None:
        rows = sheets[sheet]
        rows[one], rows[other] = rows[other], rows[one]

    return done(change)


def numbered_alike(sheets: Sheets) -> None:
    """Let a second run have a blank whose name is a number away from the first one's."""
    sheets["Points"] += [["Floors", "300", "900"], ["Floors", "3400", "700"]]
    for cell in ("Run!J3", "Blanks!A3"):
        put(sheets, cell, "Futtock 2")


def reversed_points(sheets: Sheets) -> None:
    """Turn the points round, below their headings."""
    sheets["Points"][1:] = sheets["Points"][:0:-1]


def empty_folder(parent: Path) -> Path:
    """Return a folder that nothing is in."""
    (parent / "skiff").mkdir()
    return parent / "skiff"


def _csv(change: Callable[[Sheets], object]) -> Maker:
    def make(parent: Path) -> Path:
        sheets = good()
        change(sheets)
        return csv_folder(parent, sheets)

    return make


CASES: dict[str, Maker] = {
    "nothing wrong": cells(),
    "no sheet Run": done(lambda sheets: sheets.pop("Run")),
    "Run under another name": done(lambda sheets: sheets.update(Runs=sheets.pop("Run"))),
    "Run without a row": done(lambda sheets: sheets.update(Run=sheets["Run"][:1])),
    "Run empty": done(lambda sheets: sheets.update(Run=[])),
    "Run without Length": cells(Run_B1="Lenth"),
    "a run without a name": cells(Run_A2=None),
    "two runs of a name": cells(Run_A3="sides"),
    "no length": cells(Run_B2=None),
    "a length of nothing": cells(Run_B2=0),
    "a length that is none": cells(Run_B2="3600 long"),
    "a length with a comma": cells(Run_B2="3,600"),
    "a length in inches without a unit": cells(Run_B2="141 3/4"),
    "clear parts that meet": cells(Run_C2=1800, Run_D2=1800),
    "a clear part as long as the run": cells(Run_C2="3.6 m"),
    "a siding as long as the stretch": cells(Run_C2=None, Run_D2=None, Run_G2=3600),
    "neither Spacing nor Spaces": cells(Run_E2=None),
    "both Spacing and Spaces": cells(Run_F2=9),
    "neither, and no column for them": done(
        lambda sheets: sheets.update(Run=[[*row[:4], *row[6:]] for row in sheets["Run"]])
    ),
    "a spacing of nothing": cells(Run_E2=0),
    "a spacing above the run": cells(Run_E2=3200),
    "a spacing above the run, with bare ends": cells(Run_C2=None, Run_D2=None, Run_E2=3600),
    "a spacing in the wrong unit": cells(Run_E2=4),
    "one space and no frame": cells(Run_C3=None, Run_D3=None, Run_F3=1),
    "half a space": cells(Run_F3=7.5),
    "no spaces": cells(Run_F3=0),
    "spaces as a date": cells(Run_F3="8-Mar"),
    "frames without room between": cells(Run_G3=400),
    "three sides": cells(Run_H2=3),
    "sides in words": cells(Run_H2="both"),
    "a negative allowance": cells(Run_I2=-12),
    "a blank that is not on Blanks": cells(Run_J2="Futock"),
    "a blank, and no sheet Blanks": done(lambda sheets: sheets.pop("Blanks")),
    "a blank twice on Blanks": cells(Blanks_A3="futtock"),
    "two blanks that numbers make alike": done(numbered_alike),
    "a blank with no points": cells(Run_J3="Cleat"),
    "Blanks without Need": cells(Blanks_B1="How many"),
    "an unknown run on Points": cells(Points_A3="Side"),
    "an unknown run on Obstacles": cells(Obstacles_A2="Bottom"),
    "points without a run": cells(Points_A3=None),
    "points out of order": exchange("Points", 2, 3),
    "two points at one place": cells(Points_B3=200),
    "a point past the end of the run": cells(Points_B5=3700),
    "a single point": done(lambda sheets: sheets.update(Points=sheets["Points"][:2])),
    "no points at all": done(lambda sheets: sheets.pop("Points")),
    "points that begin too late": cells(Points_B2=350),
    "points that end too soon": cells(Points_B5=3399),
    "a negative height": cells(Points_C4="-455"),
    "a height that is a word": cells(Points_C4="half a metre"),
    "no height": cells(Points_C4=None),
    "a height with a figure too many": cells(Points_C4=4555),
    "a curve that falls below nothing": cells(Points_C2=10, Points_C3=0, Points_C4=0, Points_C5=0, Run_I2=0),
    "heights of nothing on straight lines": cells(
        Points_C2=0, Points_C3=0, Points_C4=0, Points_C5=0, Run_I2=0
    ),
    "an obstacle past the end": cells(Obstacles_B2=4000),
    "an obstacle longer than the run": cells(Obstacles_B2=0, Obstacles_D2=3800),
    "an obstacle as long as the run": cells(Obstacles_B2=0, Obstacles_D2=3600),
    "an obstacle that keeps all clear": cells(Obstacles_C2=3600),
    "an obstacle the wrong way round": cells(Obstacles_D2=1000),
    "an obstacle of no size": cells(Obstacles_C2=0),
    "an obstacle without a place": cells(Obstacles_B2=None),
    "Shift that is neither yes nor no": cells(Obstacles_F2="perhaps"),
    "an obstacle in the way of every run, past all of them": cells(Obstacles_A2=None, Obstacles_B2=4000),
    "a heading that is not read": cells(Run_K1="Colour", Run_K2="green"),
    "a setting that is none": cells(Shop_A2="unit"),
    "everything at once": cells(Run_E2=4000, Run_H3=5, Points_C3=-1, Points_A4="Side", Obstacles_B2="x"),
    "a csv folder without run.csv": _csv(lambda sheets: sheets.pop("Run")),
    "a csv folder with points out of order": _csv(reversed_points),
    "a csv folder with a line too long": _csv(lambda sheets: sheets["Points"][2].append("7")),
    "a folder of nothing": empty_folder,
    "nothing there": lambda parent: parent / "skiff.xlsx",
    "a single csv file": lambda parent: csv_folder(parent) / "run.csv",
}


def outcome(name: str, parent: Path) -> str:
    """Return what becomes of a case, on one line."""
    try:
        survey = read_survey(CASES[name](parent), linear="straight" in name)
    except InputError as error:
        return "refused: " + " | ".join(problem.sentence() for problem in error.problems)
    found = tape_list(survey, at_most=2)
    stations = ", ".join(f"{len(tape.stations)} {tape.run.name}" for tape in found.tapes)
    kinds = ", ".join(f"{kind.need} {kind.name}" for kind in found.kinds)
    said = [f"{stations}; {kinds}", *(problem.sentence() for problem in survey.warnings)]
    return "read: " + " | ".join(said)


def expected() -> dict[str, str]:
    """Return what is expected of each case."""
    lines = EXPECTED.read_text(encoding="utf-8").splitlines()
    return dict(line.split("\t") for line in lines)


WANTED = expected() if EXPECTED.exists() else {}


@pytest.mark.parametrize("name", CASES)
def test_each_mistake_has_its_message(name: str, tmp_path: Path) -> None:
    """The message says cell, value, what was expected and the next step; what is only odd is warned of."""
    assert outcome(name, tmp_path) == WANTED[name]


def test_the_corpus_is_whole() -> None:
    """Every case has its expectation and the other way round."""
    assert list(WANTED) == list(CASES)


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("half", "--none-longer-by: “half” is not a length; expected a length such as 1050 or 1050 mm."),
        ("-5", "--none-longer-by: “-5” is negative; expected a length of 0 or more."),
        ("1/2", "--none-longer-by: “1/2” is a fraction without a unit where bare numbers are mm"),
    ],
)
def test_a_measure_on_the_command_line_is_read_as_one_in_a_cell(
    typed: str, said: str, tmp_path: Path
) -> None:
    """What is wrong with it is said in the same words."""
    with pytest.raises(ValueError, match="none-longer-by") as raised:
        longest_over(typed, read_survey(workbook(tmp_path)))
    assert str(raised.value).startswith(said)


def main() -> None:
    """Write what becomes of every case."""
    lines = []
    for name in CASES:
        with tempfile.TemporaryDirectory() as folder:
            lines.append(f"{name}\t{outcome(name, Path(folder))}\n")
    EXPECTED.write_text("".join(lines), encoding="utf-8")


if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).parents[1]))
    main()
