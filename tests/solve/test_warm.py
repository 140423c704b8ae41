"""Compiling the kernels: said beforehand, done once, and anew when a source has changed."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING

from yieldplan.solve import warm

if TYPE_CHECKING:
    from pathlib import Path

    import pytest


def test_compiling_is_announced_before_it_begins(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where nothing is kept yet, whoever waits is told first."""
    said: list[str] = []
    monkeypatch.setattr(warm, "_kept_in", lambda: tmp_path)
    monkeypatch.setattr(warm, "_compile_together", lambda: said.append("compiling"))
    warm.load_kernels(lambda: said.append("told"))
    assert said == ["told", "compiling"]


def test_nothing_is_compiled_twice(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """What is kept is used, without a word."""
    (tmp_path / "settle.settle-1.py311.nbi").write_bytes(b"")
    said: list[str] = []
    monkeypatch.setattr(warm, "_kept_in", lambda: tmp_path)
    monkeypatch.setattr(warm, "_compile_together", lambda: said.append("compiling"))
    warm.load_kernels(lambda: said.append("told"))
    assert said == []


def test_what_is_older_than_its_source_is_forgotten(tmp_path: Path) -> None:
    """Numba looks at the file of a function only, not at those of the functions that it calls."""
    old, new = tmp_path / "old.nbc", tmp_path / "new.nbc"
    for file in (old, new):
        file.write_bytes(b"")
    os.utime(old, (0, 0))
    warm.forget_stale(tmp_path)
    assert not old.exists()
    assert new.exists()
