"""A process stands by for the calls of these tests."""

import pytest

from tests.cli.called import standing_by


@pytest.fixture(scope="session", autouse=True)
def _standing():
    with standing_by():
        yield
