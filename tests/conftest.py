"""What all tests share: where the project lies, and the flag that runs the long campaigns too."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import settings

# Speed is measured by the benches; a busy machine is no failure.
settings.register_profile("house", deadline=None)
settings.load_profile("house")


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--campaign", action="store_true", help="run the long campaigns (tests marked slow) too")
    parser.addoption("--live", action="store_true", help="ask the real weather feeds too (tests marked live)")


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    reasons = {
        "slow": ("--campaign", "a long campaign; to run it: bash tests/run.sh --campaign"),
        "live": ("--live", "asks real hosts; where the network may be used: bash tests/run.sh --live -k live"),
    }
    for mark, (flag, reason) in reasons.items():
        if config.getoption(flag):
            continue
        for item in items:
            if item.get_closest_marker(mark):
                item.add_marker(pytest.mark.skip(reason=reason))


@pytest.fixture(scope="session")
def root() -> Path:
    """The top directory of the project."""
    return Path(__file__).resolve().parent.parent
