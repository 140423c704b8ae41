"""What holds for all tests: hypothesis draws the same examples every time; the kernels are compiled by one worker."""

import os
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

settings.register_profile(
    "steady", deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow]
)
settings.load_profile("steady")

# No test pulls the plug, and a busy disk takes seconds to answer.
pytest.MonkeyPatch().setattr(os, "fsync", lambda _: None)

COMPILES = "solve/test_pricing.py"
MEANWHILE = ("model", "workbook")
"""Rooms whose tests need no kernel."""


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Put a file first that compiles the kernels, then tests that need none: another worker has those meanwhile."""

    def turn(item: pytest.Item) -> int:
        file = item.path.relative_to(Path(__file__).parent)
        return 0 if file.as_posix() == COMPILES else 1 if file.parts[0] in MEANWHILE else 2

    items.sort(key=turn)
