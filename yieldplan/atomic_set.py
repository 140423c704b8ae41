"""Putting a whole set of new files in the place of an old one at a single moment.

A folder is a list of names, and a system renames one name at a time; to change four at once they are first
made to hang on one. In a workshop, a folder inside the folder, lie the ``old`` files and the ``new`` ones, and a
link ``now`` that leads to ``old``. Each name in the folder becomes a link through ``now``: what is read under it
stays the same. Then ``now`` is renamed to lead to ``new``: that is the moment. Then each name becomes the plain
file again that it leads to. Whenever the run is killed, all names lead to the old files or all to the new ones, and
the next run finishes what is left (:func:`tidy`).

Where a file system has no links, and on Windows, the new files are moved into place one by one, and copies of the old
ones put back if that is not finished: at once after an error, by the next run after a kill. Windows lets few make
links, and nobody rename one over another that leads to a folder; and there a file that another program has open
cannot be replaced: it stays as it is, and with it the whole old set.
"""

from __future__ import annotations

import filecmp
import os
import shutil
import sys
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pathlib import Path

PREFIX = ".yieldplan-"
"""How the names of workshops begin."""

LINKS = sys.platform != "win32"
"""Whether links are thought of at all."""


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
    if not _has_links(workshop):
        _move(new, folder, workshop)
        old.rename(workshop / "done")
        return
    for name in names:
        _lead(folder / name, f"{workshop.name}/now/{name}", workshop / "link")
    _lead(workshop / "now", "new", workshop / "link")


def _move(new: Path, folder: Path, workshop: Path) -> None:
    """Move the new files into place one by one; first those names are noted that stand for nothing yet."""
    fresh, names = workshop / "fresh", sorted(os.listdir(new))
    fresh.mkdir()
    for name in names:
        if not (folder / name).exists():
            (fresh / name).touch()
    for name in names:
        (new / name).replace(folder / name)


def _has_links(workshop: Path) -> bool:
    """Return whether links can be made to hang the files on; then ``now`` leads to ``old``."""
    if not LINKS:
        return False
    try:
        _lead(workshop / "now", "old")
    except (OSError, NotImplementedError):
        return False
    return True


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
            if not linked:
                _put_back(old, folder)
            old.rename(workshop / "done")
        shutil.rmtree(workshop, ignore_errors=True)


def _put_back(old: Path, folder: Path) -> None:
    """Put the copies of the old files in their places: each that can be, before any that cannot is told of.

    One that another program has open was never replaced, and may stay.
    """
    stuck: OSError | None = None
    for noted in (old.parent / "fresh").glob("*"):
        (folder / noted.name).unlink(missing_ok=True)
    for copy in tuple(old.iterdir()):
        try:
            copy.replace(folder / copy.name)
        except OSError as error:
            if not _is_same(copy, folder / copy.name):
                stuck = error
    if stuck is not None:
        raise stuck


def _is_same(one: Path, other: Path) -> bool:
    try:
        return filecmp.cmp(one, other, shallow=False)
    except OSError:
        return False


def _make_plain(link: Path) -> None:
    """Put the file that a link leads to in its place; a link that leads nowhere is taken away."""
    target = link.parent / os.readlink(link)
    if target.exists():
        target.replace(link)
    else:
        link.unlink()
