"""The run scripts: what they tell who lacks a Python, and that `.venv` is whole or not there."""

from __future__ import annotations

import fcntl
import importlib.util
import os
import re
import shutil
import subprocess
import tomllib
from collections.abc import Iterator
from itertools import chain
from pathlib import Path
from types import ModuleType

import pytest

SOURCED = (".ci/venv.sh", ".ci/pages.sh", ".ci/postgresql.sh")
SCRIPTS = ("demo/run.sh", "tests/run.sh", "tests/bench/run.sh", ".ci/run", *SOURCED)
NEEDED = ("bash", "dirname", "mkdir", "cat", "sed", "mktemp", "rm")


@pytest.mark.parametrize("name", SCRIPTS)
def test_scripts_are_sound_bash_and_never_ask_for_more_rights(root: Path, name: str) -> None:
    subprocess.run(["bash", "-n", root / name], check=True)
    code = [line for line in (root / name).read_text().splitlines() if not line.lstrip().startswith("#")]
    assert not [line for line in code if "sudo" in line]


def test_the_pinned_set_holds_every_requirement_and_nothing_but_versions(root: Path) -> None:
    lines = (root / ".ci" / "constraints.txt").read_text().splitlines()
    pins = [line for line in lines if not line.startswith("#")]
    assert [pin for pin in pins if not re.fullmatch(r"[A-Za-z0-9._-]+==[0-9][A-Za-z0-9.]*", pin)] == []
    project = tomllib.loads((root / "pyproject.toml").read_text())["project"]
    asked = [*project["dependencies"], *chain(*project["optional-dependencies"].values())]
    names = {re.split(r"[^A-Za-z0-9._-]", each)[0].lower().replace("_", "-") for each in asked}
    assert names - {pin.partition("==")[0].lower().replace("_", "-") for pin in pins} == set()


class Machine:
    """A machine with few programs on it, for a copy of the scripts."""

    def __init__(self, root: Path, place: Path) -> None:
        self.programs = place / "programs"
        self.project = place / "a clone"
        self.programs.mkdir()
        for name in NEEDED:
            found = shutil.which(name)
            assert found is not None
            (self.programs / name).symlink_to(found)
        for name in (*SCRIPTS, ".ci/venv.py", ".ci/constraints.txt", "pyproject.toml"):
            (self.project / name).parent.mkdir(parents=True, exist_ok=True)
            shutil.copy(root / name, self.project / name)

    def program(self, name: str, text: str) -> None:
        """Put a shell program on the machine."""
        (self.programs / name).write_text(f"#!/usr/bin/env bash\n{text}\n")
        (self.programs / name).chmod(0o755)

    def run(self, name: str, **more: str) -> subprocess.CompletedProcess[str]:
        """Run one of the scripts from elsewhere."""
        environment = {"PATH": str(self.programs), **more}
        command = [self.programs / "bash", self.project / name]
        return subprocess.run(
            command,
            cwd=self.programs,
            env=environment,
            capture_output=True,
            check=False,
            text=True,
            timeout=60,
        )


@pytest.fixture
def machine(root: Path, tmp_path: Path) -> Machine:
    """A machine with apt-get that notes what it is asked, for a user who is not root."""
    machine = Machine(root, tmp_path)
    machine.program("id", "echo 1000")
    machine.program("apt-get", f'echo "$@" >> "{tmp_path}/asked"')
    machine.program("apt-cache", '[ "$2" = python3.12-venv ]')
    return machine


OLD = "exit 1"
# New enough by its word, without the module: the version test passes, the import fails, the version is told.
WITHOUT_VENV = """case "$2" in *version_info*print*|*print*version_info*) echo 3.11 ;; *ensurepip*) exit 1 ;; esac"""
# Has the module, yet the environment cannot be made.
BROKEN_VENV = """case "$1 $2" in *print*) echo 3.11 ;; .ci/venv.py*) exit 3 ;; esac"""


@pytest.mark.parametrize("script", ["demo/run.sh", "tests/run.sh", "tests/bench/run.sh", ".ci/run"])
def test_without_python_the_one_line_is_told(machine: Machine, tmp_path: Path, script: str) -> None:
    done = machine.run(script)
    assert done.returncode == 3
    assert done.stdout == ""
    assert done.stderr.splitlines()[-1].strip() == "apt-get install -y python3.12 python3.12-venv"
    assert "Python 3.11 or newer" in done.stderr
    assert not (tmp_path / "asked").exists()


@pytest.mark.parametrize("python", [WITHOUT_VENV, BROKEN_VENV])
def test_a_python_without_working_venv_is_given_its_own(machine: Machine, python: str) -> None:
    machine.program("python3.13", OLD)
    machine.program("python3", python)
    done = machine.run("demo/run.sh")
    assert done.returncode == 3
    assert done.stderr.splitlines()[-1].strip() == "apt-get install -y python3.11-venv"


@pytest.mark.parametrize(
    ("known", "line"),
    [
        ("exit 1", "apt-get update && apt-get install -y python3 python3-venv"),
        ('[ "$2" = python3 ]', "ETSCHED_PYTHON=/path/to/python3.11 bash "),
    ],
)
def test_apt_without_lists_and_apt_without_a_new_python(machine: Machine, known: str, line: str) -> None:
    machine.program("apt-cache", known)
    done = machine.run("demo/run.sh")
    assert done.returncode == 3
    assert done.stderr.splitlines()[-1].strip().startswith(line)


def test_without_apt_get_a_python_is_to_be_named(machine: Machine) -> None:
    (machine.programs / "apt-get").unlink()
    done = machine.run("demo/run.sh")
    assert done.returncode == 3
    assert done.stderr.splitlines()[-1].strip().startswith("ETSCHED_PYTHON=/path/to/python3.11 bash ")


def test_root_installs_what_is_missing_and_only_then_gives_up(machine: Machine, tmp_path: Path) -> None:
    machine.program("id", "echo 0")
    machine.program("python3.11", WITHOUT_VENV)
    done = machine.run("demo/run.sh")
    assert done.returncode == 3
    asked = (tmp_path / "asked").read_text().splitlines()
    assert asked == ["update -qq", "install -y python3.11-venv"]


def test_a_named_python_that_does_not_fit_is_refused(machine: Machine) -> None:
    machine.program("old", OLD)
    done = machine.run("demo/run.sh", ETSCHED_PYTHON="./old")
    assert done.returncode == 3
    assert f"ETSCHED_PYTHON={machine.programs}/./old is no Python 3.11" in done.stderr


@pytest.fixture
def venv(root: Path, monkeypatch: pytest.MonkeyPatch) -> ModuleType:
    """The module that makes environments ready, with the making itself replaced by a directory and a note."""
    spec = importlib.util.spec_from_file_location("venv_of_scripts", root / ".ci" / "venv.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)

    def build(root: Path, place: Path, extra: str) -> None:
        shutil.rmtree(place, ignore_errors=True)
        (place / "bin").mkdir(parents=True)
        (place / "bin" / "python").touch()
        (place / "extra").write_text(extra)
        (place / module.STAMP).touch()

    monkeypatch.setattr(module, "build", build)
    return module


@pytest.fixture
def project(root: Path, tmp_path: Path) -> Path:
    """A project with nothing but what decides its environment."""
    (tmp_path / ".ci").mkdir()
    (tmp_path / ".cache").mkdir()
    shutil.copy(root / ".ci" / "constraints.txt", tmp_path / ".ci")
    shutil.copy(root / "pyproject.toml", tmp_path)
    return tmp_path


@pytest.fixture
def lock(project: Path) -> Iterator[int]:
    """The lock as a script holds it."""
    descriptor = os.open(project / ".cache" / "venv.lock", os.O_CREAT | os.O_RDWR)
    yield descriptor
    os.close(descriptor)


def no_build(*_: object) -> None:
    """Stand in for the making where nothing may be made."""
    raise AssertionError("an environment was built although one fits")


def test_a_fitting_environment_is_not_built_again(
    venv: ModuleType, project: Path, lock: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    venv.make_ready(project, "test", lock)
    assert (project / ".venv" / "extra").read_text() == "test"
    monkeypatch.setattr(venv, "build", no_build)
    venv.make_ready(project, "test", lock)
    venv.make_ready(project, "", lock)  # what the tests need holds what the demo needs
    assert (project / ".venv" / "extra").read_text() == "test"


def test_the_tests_get_more_than_the_demo_had(venv: ModuleType, project: Path, lock: int) -> None:
    venv.make_ready(project, "", lock)
    assert (project / ".venv" / "extra").read_text() == ""
    venv.make_ready(project, "test", lock)
    assert (project / ".venv" / "extra").read_text() == "test"
    assert len(list((project / ".cache").glob("env-*"))) == 1


@pytest.mark.parametrize("name", ["pyproject.toml", ".ci/constraints.txt"])
def test_a_change_of_what_is_asked_builds_anew(venv: ModuleType, project: Path, lock: int, name: str) -> None:
    venv.make_ready(project, "test", lock)
    before = (project / ".venv").resolve()
    with (project / name).open("a") as file:
        file.write("\n# changed\n")
    venv.make_ready(project, "test", lock)
    assert (project / ".venv").resolve() != before
    assert not before.exists()


@pytest.mark.parametrize("missing", ["etsched-ready", "bin/python"])
def test_half_an_environment_counts_as_none(venv: ModuleType, project: Path, lock: int, missing: str) -> None:
    venv.make_ready(project, "test", lock)
    (project / ".venv" / missing).unlink()
    (project / ".venv" / "left").touch()
    venv.make_ready(project, "test", lock)
    assert (project / ".venv" / missing).exists()
    assert not (project / ".venv" / "left").exists()


def test_a_failed_build_leaves_the_old_environment(
    venv: ModuleType, project: Path, lock: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    venv.make_ready(project, "test", lock)
    before = (project / ".venv").resolve()
    (project / "pyproject.toml").write_text("# changed")

    def failing(*_: object) -> None:
        raise venv.SetUpError("no network", 1)

    monkeypatch.setattr(venv, "build", failing)
    with pytest.raises(venv.SetUpError, match="no network"):
        venv.make_ready(project, "test", lock)
    assert (project / ".venv").resolve() == before
    assert venv.is_ready(before)


def test_an_environment_made_by_hand_is_kept_aside(venv: ModuleType, project: Path, lock: int) -> None:
    (project / ".venv").mkdir()
    (project / ".venv" / "mine").touch()
    venv.make_ready(project, "test", lock)
    assert (project / ".venv").is_symlink()
    (aside,) = project.glob(".venv-before-*")
    assert (aside / "mine").exists()


def test_it_builds_alone_and_runs_beside_others(
    venv: ModuleType, project: Path, lock: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    other = os.open(project / ".cache" / "venv.lock", os.O_RDWR)
    build = venv.build

    def watched(*given: object) -> None:
        with pytest.raises(BlockingIOError):
            fcntl.flock(other, fcntl.LOCK_SH | fcntl.LOCK_NB)
        build(*given)

    monkeypatch.setattr(venv, "build", watched)
    venv.make_ready(project, "test", lock)
    fcntl.flock(other, fcntl.LOCK_SH | fcntl.LOCK_NB)
    with pytest.raises(BlockingIOError):
        fcntl.flock(other, fcntl.LOCK_EX | fcntl.LOCK_NB)
    os.close(other)
