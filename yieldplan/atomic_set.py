"""Putting a whole set of new files in the place of an old one at a single moment.

A folder is a list of names, and a system renames one name at a time; to change four at once they are first
made to hang on one. In a workshop, a folder inside the folder, lie the ``old`` files and the ``new`` ones, and a
link ``now`` that leads to ``old``. Each name in the folder becomes a link through ``now``: what is read under it
stays the same. Then ``now`` is renamed to lead to ``new``: that is the moment. Then each name becomes the plain
file again that it leads to. Whenever the run is killed, all names lead to the old files or all to the new ones, and
the next run finishes what is left (:func:`tidy`).

Where a file system has no links, the new files are moved into place one by one, and copies of the old ones put back
if that is not finished: at once after an error, by the next run after a kill.
"""

from __future__ import annotations

import os
import shutil
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pathlib import Path

PREFIX = ".yieldplan-"
"""How the names of workshops begin."""


def replace_set(workshop: Path) -> None:
    """Put the files in ``workshop / "new"`` in the place of those of the same names in the folder round it.

    However it ends, :func:`tidy` must follow: it finishes the replacement, or takes it back if it had not come to
    the moment.

    Raises
    ------
    OSError
        If the files cannot be put there.
    """
    folder, new, old, copies = workshop.parent, *(workshop / name for name in ("new", "old", "copies"))
    names = sorted(os.listdir(new))
    copies.mkdir()
    for name in names:
        if (folder / name).exists():
            shutil.copy2(folder / name, copies / name)
    copies.rename(old)  # never half of them
    try:
        _lead(workshop / "now", "old")
    except (OSError, NotImplementedError):
        for name in names:
            (new / name).replace(folder / name)
        old.rename(workshop / "done")
        return
    for name in names:
        _lead(folder / name, f"{workshop.name}/now/{name}", workshop / "link")
    _lead(workshop / "now", "new", workshop / "link")


def _lead(place: Path, target: str, spare: Path | None = None) -> None:
    """Make ``place`` a link to ``target``, at once if something stands there already."""
    (spare or place).symlink_to(target)
    if spare is not None:
        spare.replace(place)


def tidy(folder: Path) -> None:
    """Finish or take back every replacement in ``folder`` that was broken off, and clear away the workshops.

    Only where no other run is writing into the folder.

    Raises
    ------
    OSError
        If a file cannot be put where it belongs; what is still needed is kept then.
    """
    workshops = [path for path in folder.glob(f"{PREFIX}*") if path.is_dir()]
    if not workshops:
        return
    for path in folder.iterdir():
        if path.is_symlink() and os.readlink(path).startswith(PREFIX):
            _make_plain(path)
    for workshop in workshops:
        old, linked = workshop / "old", (workshop / "now").is_symlink()
        if old.is_dir():
            for path in () if linked else tuple(old.iterdir()):
                path.replace(folder / path.name)
            old.rename(workshop / "done")
        shutil.rmtree(workshop, ignore_errors=True)


def _make_plain(link: Path) -> None:
    """Put the file that a link leads to in its place; a link that leads nowhere is taken away."""
    target = link.parent / os.readlink(link)
    if target.exists():
        target.replace(link)
    else:
        link.unlink()
