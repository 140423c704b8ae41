"""A set of outputs is written whole or not at all."""

from __future__ import annotations

from pathlib import Path

import pytest

from yieldplan.files import Content, check_writable, write_set
from yieldplan.model.errors import OutputError


def contents_of(folder: Path) -> dict[str, bytes]:
    """Return every file under a folder, hidden ones too."""
    return {str(path.relative_to(folder)): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def test_writes_bytes_and_what_writers_make(tmp_path: Path) -> None:
    """Bytes are written as they are; a writer gets a path that ends in the file's own name."""
    out = tmp_path / "deep" / "order"
    written = write_set(out, {"a.txt": b"one", "b.bin": lambda path: path.write_text(path.name)})
    assert written == (out / "a.txt", out / "b.bin")
    assert contents_of(tmp_path) == {"deep/order/a.txt": b"one", "deep/order/b.bin": b"b.bin"}


def test_replaces_its_own_files_and_leaves_others(tmp_path: Path) -> None:
    """Earlier output of the same names gives way; all else in the folder stays."""
    (tmp_path / "a.txt").write_bytes(b"old")
    (tmp_path / "mine.txt").write_bytes(b"kept")
    write_set(tmp_path, {"a.txt": b"new"})
    assert contents_of(tmp_path) == {"a.txt": b"new", "mine.txt": b"kept"}


@pytest.mark.parametrize(
    "error", [OSError(28, "No space left on device"), KeyboardInterrupt(), ValueError("x")]
)
def test_a_failing_writer_leaves_everything_as_it_was(tmp_path: Path, error: BaseException) -> None:
    """When one file cannot be made, the earlier ones stand untouched and no folder is left behind."""

    def fail(path: Path) -> None:
        path.write_bytes(b"half")
        raise error

    (tmp_path / "a.txt").write_bytes(b"old")
    with pytest.raises((OutputError, KeyboardInterrupt, ValueError)):
        write_set(tmp_path, {"a.txt": b"new", "b.txt": fail})
    with pytest.raises((OutputError, KeyboardInterrupt, ValueError)):
        write_set(tmp_path / "new" / "folder", {"b.txt": fail})
    assert contents_of(tmp_path) == {"a.txt": b"old"}
    assert [path.name for path in tmp_path.iterdir()] == ["a.txt"]


@pytest.mark.parametrize("failing", range(1, 9))
def test_a_failing_rename_leaves_one_whole_set(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, failing: int
) -> None:
    """Whichever rename fails, the folder holds the old set; after the one that counts, the new set."""
    (tmp_path / "a.txt").write_bytes(b"old a")
    (tmp_path / "c.txt").write_bytes(b"old c")
    rename, calls = Path.replace, 0

    def replace(self: Path, target: Path) -> Path:
        nonlocal calls
        calls += 1
        if calls == failing:
            raise PermissionError(13, "Permission denied")
        return rename(self, target)

    monkeypatch.setattr(Path, "replace", replace)
    contents: dict[str, Content] = {"a.txt": b"new a", "b.txt": b"new b", "c.txt": b"new c"}
    if failing <= 4:  # three names are led through one link, and that link is turned
        why = r"could not be written to \(Permission denied\); nothing was written; is a file in it open"
        with pytest.raises(OutputError, match=why):
            write_set(tmp_path, contents)
        assert contents_of(tmp_path) == {"a.txt": b"old a", "c.txt": b"old c"}
    else:
        write_set(tmp_path, contents)
        assert {name: (tmp_path / name).read_bytes() for name in contents} == contents


def test_a_file_in_the_folders_place_is_named(tmp_path: Path) -> None:
    """A folder name that is taken by a file is refused before any work."""
    (tmp_path / "order").write_bytes(b"")
    with pytest.raises(OutputError, match=r"order is not a folder, so nothing can be written there"):
        check_writable(tmp_path / "order" / "deeper", ("a.txt",))


def test_a_folder_in_a_files_place_is_named(tmp_path: Path) -> None:
    """A file name that is taken by a folder is refused before any work."""
    (tmp_path / "plan.json").mkdir()
    with pytest.raises(
        OutputError, match=r"plan\.json is a folder, but a file of that name is to be written"
    ):
        check_writable(tmp_path, ("plan.json",))


def test_a_broken_link_in_the_folders_place_is_named(tmp_path: Path) -> None:
    """A link that leads nowhere is no folder to write into."""
    (tmp_path / "order").symlink_to(tmp_path / "gone")
    with pytest.raises(OutputError, match="is not a folder"):
        check_writable(tmp_path / "order", ())
