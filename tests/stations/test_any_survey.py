"""Whatever stands in the cells: a run is refused in sentences that can be read, or set out whole."""

from __future__ import annotations

import tempfile
from itertools import pairwise
from pathlib import Path

from corpus import VALUES
from hypothesis import given, settings
from hypothesis import strategies as st
from sane import check_refusal
from surveys import csv_folder, good

from yieldplan.measure import MM
from yieldplan.model import InputError
from yieldplan.stations.reading import read_survey
from yieldplan.stations.tape import copies, tape_list
from yieldplan.stations.words import tape_text

SHEETS = ("Run", "Points", "Obstacles", "Blanks")
PLAIN = (
    "0.001",
    "10",
    "25",
    "160.5",
    "250",
    "400",
    "900",
    "1800",
    "3500",
    "3600",
    "7",
    "yes",
    "Sides",
    "Futtock",
    None,
)
ODD = tuple(value[0] if isinstance(value, tuple) else value for value in VALUES.values())


@given(
    st.lists(
        st.tuples(
            st.sampled_from(SHEETS), st.integers(0, 30), st.integers(0, 30), st.sampled_from(PLAIN + ODD)
        ),
        min_size=1,
        max_size=3,
    ),
    st.booleans(),
)
@settings(max_examples=150)
def test_any_cells_are_refused_or_set_out(changes: list[tuple[str, int, int, object]], linear: bool) -> None:
    """No cell ends the run otherwise; what is set out lies on the run, rises, and has a blank for every frame."""
    sheets = good()
    for sheet, down, across, value in changes:
        rows = sheets[sheet]
        row = rows[1 + down % (len(rows) - 1)]
        row[across % len(row)] = value
    with tempfile.TemporaryDirectory() as folder:
        source = csv_folder(Path(folder), sheets)
        try:
            survey = read_survey(source, linear=linear)
        except InputError as error:
            check_refusal(error)
            return
        found = tape_list(survey, at_most=3)
        assert tape_text(found, "")
        assert bool(copies(source, survey.blanks, found.kinds)) == bool(found.kinds)
    sizes = {kind.name: kind.length for kind in found.kinds}
    for tape in found.tapes:
        marks = [station.mark for station in tape.stations]
        assert all(before <= after for before, after in pairwise(marks))
        assert marks[0] >= -MM
        assert marks[-1] <= tape.run.length + MM
        for made in tape.stations:
            assert made.length is None or made.length > 0
            assert not made.blank or made.length is None or sizes[made.blank] >= made.length
            assert bool(made.blank) == bool(tape.run.blank)
