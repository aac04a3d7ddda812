"""What all tests share: where the project lies, and the flag that runs the long campaigns too."""

from __future__ import annotations

from pathlib import Path

import pytest


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--campaign", action="store_true", help="run the long campaigns (tests marked slow) too")


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    if config.getoption("--campaign"):
        return
    left_out = pytest.mark.skip(reason="a long campaign; to run it: bash tests/run.sh --campaign")
    for item in items:
        if item.get_closest_marker("slow"):
            item.add_marker(left_out)


@pytest.fixture(scope="session")
def root() -> Path:
    """The top directory of the project."""
    return Path(__file__).resolve().parent.parent
