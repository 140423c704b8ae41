"""Kernels are compiled anew where a source of theirs has changed."""

from __future__ import annotations

import pytest

from yieldplan.solve.warm import load_kernels


@pytest.fixture(autouse=True, scope="session")
def _kernels() -> None:
    load_kernels()
