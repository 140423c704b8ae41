"""Writing a set of output files whole or not at all, one run at a time in a folder."""

from __future__ import annotations

import os
import sys
import tempfile
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager, suppress
from pathlib import Path

from yieldplan.atomic_set import PREFIX, replace_set, tidy
from yieldplan.model.errors import ArgumentError, OutputError
from yieldplan.stopping import raising_stop

_WINDOWS_OWN = frozenset(
    ("CON", "PRN", "AUX", "NUL", *(f"{port}{n}" for port in ("COM", "LPT") for n in range(1, 10)))
)
"""Names of devices, whatever follows after a full stop."""

_WINDOWS_BARS = frozenset('<>:"|?*')
"""Signs that Windows allows in no file name; after a colon it would write beside the file, unseen."""

_LONG_PATH = 200
"""Characters of a folder's path from which Windows may refuse the names that are written in it."""

Content = bytes | Callable[[Path], object]
"""What a file shall hold: its bytes, or a function that writes them to the path it is given."""


def check_writable(folder: Path, names: tuple[str, ...]) -> None:
    """Raise before any work is done if the set ``names`` could plainly not be written into ``folder``.

    Nothing is created. Passing is no promise: a disk may still fill up. OutputError names the next step.
    """
    standing = folder
    while not os.path.lexists(standing) and standing != standing.parent:
        standing = standing.parent
    if not standing.is_dir():
        raise OutputError(
            f"{standing} is not a folder, so nothing can be written there; name another folder."
        )
    if not os.access(standing, os.W_OK | os.X_OK):
        raise OutputError(
            f"{standing} cannot be written to: you have no permission there; name another folder."
        )
    for name in names:
        if (folder / name).is_dir():
            raise OutputError(
                f"{folder / name} is a folder, but a file of that name is to be written; "
                "move it away or name another folder."
            )


@contextmanager
def folder_lock(folder: Path) -> Iterator[None]:
    """Wait until no other run holds ``folder``, and hold it; the system takes the lock off however the run ends.

    The folder itself is locked, so that nothing is left behind in it; on Windows, which locks files alone, an
    empty file ``.yieldplan-lock`` is. Where a file system knows no locks the run goes on without one.

    Raises
    ------
    OSError
        If the folder cannot be opened.
    """
    from filelock import lock_descriptor  # noqa: PLC0415 - slow to load

    if sys.platform == "win32":
        handle = os.open(folder / ".yieldplan-lock", os.O_RDWR | os.O_CREAT)
    else:
        handle = os.open(folder, os.O_RDONLY)
    try:
        with suppress(OSError):
            lock_descriptor(handle)
        yield
    finally:
        os.close(handle)


@raising_stop()
def write_set(folder: Path, contents: Mapping[str, Content]) -> tuple[Path, ...]:
    """Write every file of a set into ``folder``, or leave the folder as it was.

    The files are first written whole under a temporary folder inside ``folder``, then all put in the place of
    the old ones at one moment (:mod:`yieldplan.atomic_set`), so that a run that is killed leaves the old set or
    the new one; the next run clears up after it. Files of other names are not touched. A run that finds
    another one writing into the folder waits for it. The folder is made, with its parents, if it does not exist.
    The files are returned in the order given.

    Raises
    ------
    OutputError
        If any of them could not be written; nothing is changed then.
    """
    check_writable(folder, tuple(contents))
    made = [path for path in (folder, *folder.parents) if not path.exists()]
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with folder_lock(folder):
            tidy(folder)
            workshop = Path(tempfile.mkdtemp(prefix=PREFIX, dir=folder))
            try:
                _fill(workshop / "new", contents)
                replace_set(workshop)
            except BaseException:
                tidy(folder)
                raise
            # All names lead to the new files by now; what is left the next run tidies.
            with suppress(OSError):
                tidy(folder)
    except BaseException as error:
        for path in made:
            with suppress(OSError):  # something else has come into it
                path.rmdir()
        if isinstance(error, OSError) and not isinstance(error, OutputError):
            raise _refusal(folder, error) from error
        raise
    return tuple(folder / name for name in contents)


def _refusal(folder: Path, error: OSError) -> OutputError:
    hint = "; is a file in it open in another program?" if isinstance(error, PermissionError) else "."
    if sys.platform == "win32" and len(str(folder.absolute())) > _LONG_PATH:
        hint = "; its path is long for Windows, which takes 260 characters: name a shorter folder."
    return OutputError(f"{folder} could not be written to ({error.strerror}); nothing was written{hint}")


def check_new(path: Path, advice: str = "choose another name") -> None:
    """Raise if a new file cannot have this name: it is taken (``advice`` is the next step), or Windows has no such."""
    if path.stem.split(".")[0].rstrip().upper() in _WINDOWS_OWN:
        raise ArgumentError(f"{path.name} is a name that Windows keeps for itself; choose another name.")
    if wrong := sorted(set(path.name) & _WINDOWS_BARS):
        raise ArgumentError(
            f"{path.name} has a {wrong[0]} in it, which Windows does not allow in a name; leave it out."
        )
    if os.path.lexists(path):
        raise ArgumentError(f"{path} is there already and is left as it is; {advice}.")


def unless_there(path: Path, data: bytes, advice: str = "choose another name") -> Callable[[Path], object]:
    """Return what writes a new file unless another of its name is there; it looks when no other run can write there."""

    def write(place: Path) -> None:
        if not (path.is_file() and path.read_bytes() == data):
            check_new(path, advice)
        place.write_bytes(data)

    return write


def _fill(new: Path, contents: Mapping[str, Content]) -> None:
    """Write every file under the temporary folder, down to the disk."""
    new.mkdir()
    for name, content in contents.items():
        path = new / name
        if isinstance(content, bytes):
            path.write_bytes(content)
        else:
            content(path)
        with path.open("rb+") as file:
            os.fsync(file.fileno())
