"""The wheel holds all it needs: built, installed into a new environment, and run there."""

from __future__ import annotations

import os
import subprocess
import sys
import sysconfig
import zipfile
from dataclasses import dataclass
from pathlib import Path

import pytest

TODAY = "2026-07-13"


@dataclass(frozen=True)
class Installed:
    """A new environment with nothing of this project in it but the wheel."""

    place: Path
    wheel: Path

    def run(self, program: str, *words: str | Path) -> subprocess.CompletedProcess[str]:
        """Run a program of the environment, away from the checkout."""
        return run([self.place / "bin" / program, *words], self.place)


def run(command: list[str | Path], place: Path) -> subprocess.CompletedProcess[str]:
    """Run a command that must succeed; what it said is shown if it does not."""
    environment = {name: value for name, value in os.environ.items() if not name.startswith(("PYTHON", "PIP_"))}
    done = subprocess.run(command, cwd=place, env=environment, capture_output=True, check=False, text=True)
    assert done.returncode == 0, f"{command}\n{done.stdout}\n{done.stderr}"
    return done


@pytest.fixture(scope="module")
def installed(root: Path, tmp_path_factory: pytest.TempPathFactory) -> Installed:
    """Build the wheel and install it; the packages it depends on are lent by the environment of the tests."""
    there = tmp_path_factory.mktemp("wheel")
    run([sys.executable, "-m", "build", "--wheel", "--no-isolation", "--outdir", there, root], there)
    (wheel,) = there.glob("*.whl")
    place = there / "new env"
    run([sys.executable, "-m", "venv", "--without-pip", place], there)
    pip = [sys.executable, "-m", "pip", "--python", place / "bin" / "python", "install", "--quiet"]
    run([*pip, "--root-user-action=ignore", "--no-deps", "--no-index", wheel], there)
    # A .pth line lends the packages, yet not the .pth by which the checkout itself is installed there.
    lent = sysconfig.get_path("purelib")
    version = f"python{sys.version_info.major}.{sys.version_info.minor}"
    (place / "lib" / version / "site-packages" / "lent.pth").write_text(lent + "\n")
    return Installed(place, wheel)


def test_every_file_of_the_package_is_in_the_wheel(root: Path, installed: Installed) -> None:
    held = set(zipfile.ZipFile(installed.wheel).namelist())
    package = (root / "etsched").rglob("*")
    files = {path.relative_to(root).as_posix() for path in package if path.is_file()}
    data = {name for name in files if "__pycache__" not in name and not name.endswith((".py", ".pyc"))}
    assert data, "the package has tables and templates"
    assert {name for name in files if "__pycache__" not in name} - held == set()


def test_what_runs_is_the_wheel_and_not_the_checkout(installed: Installed) -> None:
    where = installed.run("python", "-c", "import etsched; print(etsched.__file__)").stdout.strip()
    assert Path(where).is_relative_to(installed.place)


def test_it_tells_its_version(installed: Installed) -> None:
    import etsched

    assert installed.run("etsched", "--version").stdout.strip().endswith(etsched.__version__)


def test_it_writes_a_starter_site_and_accepts_it(installed: Installed, tmp_path: Path) -> None:
    starter = tmp_path / "starter.toml"
    installed.run("etsched", "new-site", starter)
    assert "[" in starter.read_text("utf-8")
    installed.run("etsched", "check", "site", starter)


def test_it_plans_a_week_as_a_page(root: Path, installed: Installed, tmp_path: Path) -> None:
    page = tmp_path / "week.html"
    demo = root / "demo"
    installed.run("etsched", "week", demo / "site.toml", demo / "weather.csv", "--today", TODAY, "--html", page)
    written = page.read_text("utf-8")
    assert written.lstrip().lower().startswith("<!doctype html>")
    assert written.rstrip().endswith("</html>")
