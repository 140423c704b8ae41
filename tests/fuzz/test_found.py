"""What fuzzing found, kept: each input by which something was wrong once."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from sane import check_job, check_refusal
from skiff_workbook import folder

from yieldplan.model import InputError
from yieldplan.workbook import read

if TYPE_CHECKING:
    from pathlib import Path

CSV: dict[str, dict[str, bytes]] = {
    "a control sign in a heading that is offered as the one meant": {
        "defects": b"Offc\x7ft,Kind,From,To\nA1,knot,10,12 1/2\n",
    },
}


@pytest.mark.parametrize("files", CSV.values(), ids=CSV.keys())
def test_csv_folder_is_refused_or_sane(files: dict[str, bytes], tmp_path: Path) -> None:
    """Each is refused in plain words that can be printed, or makes a sane job."""
    try:
        job = read(folder(**files)(tmp_path))
    except InputError as error:
        check_refusal(error)
    else:
        check_job(job)
