"""Make `.venv` ready for the run scripts; started by any Python >= 3.11, standard library only.

Every environment is a directory under .cache/ that is built where it stays, because the scripts inside a
virtual environment hold absolute paths. Its name is a digest of all that decides what is in it, and its stamp
is written last: a directory with a stamp is complete, and then nothing is asked of the network. `.venv` is a
symbolic link to the environment in use, changed in one rename: it never points to half an environment.

File descriptor 9, opened by the calling script, carries the lock: shared as long as that script runs,
exclusive while an environment is built. So two runs at once neither build over nor delete each other's
packages, and a killed run leaves no lock behind.

Exit codes: 0 ready, 1 the environment could not be filled, 3 this Python lacks what makes one.
"""

from __future__ import annotations

import fcntl
import hashlib
import os
import shutil
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
CONSTRAINTS = Path(".ci/constraints.txt")
LOCK_FD = 9
STAMP = "etsched-ready"
# The test extra holds all that the program needs, so its environment serves the demo as well.
FULL = "test"
_ELSEWHERE = {"PIP_USER", "PIP_TARGET", "PIP_PREFIX", "PIP_ROOT", "PIP_REQUIRE_VIRTUALENV", "PIP_CONSTRAINT"}


class SetUpError(Exception):
    """The sentence to print and the exit code to end with."""

    def __init__(self, sentence: str, code: int) -> None:
        super().__init__(sentence)
        self.code = code


def environment(root: Path, extra: str) -> Path:
    """Name the directory of the environment with `extra`: whatever decides its content decides its name."""
    digest = hashlib.sha256()
    for part in (str(sys.implementation.cache_tag), sys.base_prefix, str(root), extra):
        digest.update(part.encode() + b"\0")
    for file in (root / "pyproject.toml", root / CONSTRAINTS, Path(__file__)):
        digest.update(file.read_bytes() + b"\0")
    return root / ".cache" / f"env-{digest.hexdigest()[:16]}"


def is_ready(place: Path) -> bool:
    """Say whether an environment is complete and its interpreter is still there."""
    return (place / STAMP).exists() and (place / "bin" / "python").exists()


def build(root: Path, place: Path, extra: str) -> None:
    """Build the environment in `place` and stamp it."""
    shutil.rmtree(place, ignore_errors=True)
    _say("Setting up .venv, once; this takes a minute or two and needs a package index in reach ...")
    making = [sys.executable, "-m", "venv", str(place)]
    made = subprocess.run(making, capture_output=True, text=True, check=False)  # noqa: S603 - our own words
    if made.returncode:
        said = made.stdout + made.stderr
        if "ensurepip" in said:
            raise SetUpError(f"{sys.executable} cannot make a virtual environment.", 3)
        raise SetUpError(f"{sys.executable} made no virtual environment:\n{said}", 1)
    # The build backend comes first and from the pinned set too, where an isolated build would take any.
    _pip(root, place, "hatchling", "editables")
    _pip(root, place, "--no-build-isolation", "--editable", f".[{extra}]" if extra else ".")
    if extra:
        # Only its files of station weather are read; it is never imported, so that nothing it needs is wanted.
        _pip(root, place, "--no-deps", "pcse")
    (place / STAMP).touch()


def _pip(root: Path, place: Path, *what: str) -> None:
    # The reader's own settings of index and proxy stay; those that would install elsewhere do not.
    settings = {name: value for name, value in os.environ.items() if name not in _ELSEWHERE}
    pip = f"{place}/bin/python", "-m", "pip", "-qq", "--no-input", "--disable-pip-version-check"
    asking = [*pip, "install", "--root-user-action=ignore", "--constraint", str(CONSTRAINTS), *what]
    done = subprocess.run(asking, cwd=root, env=settings, stdout=sys.stderr, check=False)  # noqa: S603
    if done.returncode:
        raise SetUpError("The packages could not be installed; with a package index in reach, run again.", 1)


def point(root: Path, place: Path) -> None:
    """Let `.venv` lead to `place`; one that somebody made there by hand is moved aside, not lost."""
    link, target = root / ".venv", place.relative_to(root)
    if link.is_symlink() and link.readlink() == target:
        return
    if link.exists() and not link.is_symlink():
        aside = root / f".venv-before-{os.getpid()}"
        link.rename(aside)
        _say(f"The .venv that was here is now {aside.name}; remove it when you no longer need it.")
    fresh = root / ".cache" / f"link-{os.getpid()}"
    fresh.unlink(missing_ok=True)
    # Written as seen from the root, where the rename brings it.
    fresh.symlink_to(target)
    fresh.replace(link)


def make_ready(root: Path, extra: str, lock_fd: int) -> None:
    """Let `.venv` hold the packages of `extra`, building them only if no complete environment does."""
    wanted = environment(root, extra)
    fitting = (environment(root, FULL), wanted)
    while True:
        _lock(lock_fd, fcntl.LOCK_SH)
        ready = next(filter(is_ready, fitting), None)
        if ready is not None:
            point(root, ready)
            return
        _lock(lock_fd, fcntl.LOCK_EX)
        if not any(map(is_ready, fitting)):  # another run may have built it while this one waited
            build(root, wanted, extra)
            point(root, wanted)
            for old in (root / ".cache").glob("env-*"):
                if old != wanted:
                    shutil.rmtree(old, ignore_errors=True)


def _lock(lock_fd: int, kind: int) -> None:
    try:
        fcntl.flock(lock_fd, kind | fcntl.LOCK_NB)
    except BlockingIOError:
        _say("Waiting for another run that is busy with .venv ...")
        fcntl.flock(lock_fd, kind)


def _say(sentence: str) -> None:
    sys.stderr.write(sentence + "\n")


if __name__ == "__main__":
    try:
        make_ready(ROOT, sys.argv[1], LOCK_FD)
    except SetUpError as reason:
        _say(str(reason))
        sys.exit(reason.code)
    except KeyboardInterrupt:
        sys.exit(130)
