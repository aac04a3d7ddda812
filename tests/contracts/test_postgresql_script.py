"""The script that finds a PostgreSQL for the suite: what it does where none can be had, and that it cleans up."""

from __future__ import annotations

import os
import subprocess
from pathlib import Path

import pytest

# Functions defined after sourcing stand in for a machine without the programs on which nobody is root, or with a
# server that never starts.
NOTHING_THERE = "postgresql_takes() { return 1; }; find_pg_ctl() { return 1; }; id() { echo 1000; }"
ONE_ANSWERS = (
    "postgresql_takes() { export ETSCHED_TEST_POSTGRESQL=$1; }; "
    "start_postgresql() { export ETSCHED_TEST_POSTGRESQL=own; }"
)
NEVER_STARTS = "postgresql_takes() { return 1; }; find_pg_ctl() { POSTGRESQL_BIN=/nowhere; }"


def find(root: Path, machine: str, **environment: str) -> subprocess.CompletedProcess[str]:
    script = f"""
    set -euo pipefail
    source .ci/venv.sh
    source .ci/postgresql.sh
    {machine}
    trap 'echo "left: $PRIVATE_POSTGRESQL"; stop_postgresql' EXIT
    find_postgresql
    echo "found: ${{ETSCHED_TEST_POSTGRESQL:-nothing}}"
    """
    plain = {name: value for name, value in os.environ.items() if name not in {"CI", "ETSCHED_TEST_POSTGRESQL"}}
    return subprocess.run(
        ["bash", "-c", script],
        cwd=root,
        env=plain | environment,
        capture_output=True,
        text=True,
        check=False,
        timeout=60,
    )


def test_a_server_that_is_named_is_taken_as_it_is(root: Path) -> None:
    done = find(root, NOTHING_THERE, ETSCHED_TEST_POSTGRESQL="postgresql://there/db")
    assert (done.returncode, done.stdout.splitlines()[0]) == (0, "found: postgresql://there/db")


@pytest.mark.parametrize(("programs", "taken"), [("true", "own"), ("false", "postgresql:///postgres")])
def test_one_of_its_own_comes_before_one_that_answers(root: Path, programs: str, taken: str) -> None:
    done = find(root, f"{ONE_ANSWERS}; find_pg_ctl() {{ {programs}; }}")
    assert (done.returncode, done.stdout.splitlines()[0]) == (0, f"found: {taken}")


def test_where_there_is_none_its_tests_are_skipped_and_said(root: Path) -> None:
    done = find(root, NOTHING_THERE)
    assert (done.returncode, done.stdout.splitlines()[0]) == (0, "found: nothing")
    assert "PostgreSQL is missing: apt-get install -y postgresql." in done.stderr


@pytest.mark.parametrize("machine", [NOTHING_THERE, NEVER_STARTS])
def test_where_everything_must_run_that_is_a_failure(root: Path, machine: str) -> None:
    done = find(root, machine, CI="true", ETSCHED_TEST_POSTGRESQL="private")
    assert done.returncode == 1
    assert "found:" not in done.stdout
    assert "CI=true wants every test to run." in done.stderr


def test_a_server_that_never_starts_leaves_no_folder(root: Path) -> None:
    done = find(root, NEVER_STARTS, ETSCHED_TEST_POSTGRESQL="private")
    assert (done.returncode, done.stdout.splitlines()[0]) == (0, "found: nothing")
    assert "A private PostgreSQL did not start." in done.stderr
    left = Path(done.stdout.splitlines()[1].removeprefix("left: "))
    assert left.parent == Path("/tmp")  # noqa: S108 - where the script puts it, so that a socket's name stays short
    assert not left.exists()
