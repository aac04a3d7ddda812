"""Calls `etsched` as a person does: each call a process of its own, in which the program is loaded anew.

Most of a short command's time goes into loading the libraries that it is built on. So a process that has loaded them
stands by and forks for each call. What Python reads of the environment only when it starts is given by starting it.
"""

from __future__ import annotations

import atexit
import gc
import json
import os
import runpy
import select
import shutil
import subprocess
import sys
import tempfile
import traceback
import warnings
from contextlib import contextmanager
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, NoReturn

if TYPE_CHECKING:
    from collections.abc import Iterator

ROOT = Path(__file__).parents[2]
ENVIRONMENT = os.environ | {"PYTHONPATH": str(ROOT), "PYTHONWARNINGS": "error", "PYTHONUTF8": "1"}
_READ_AT_START = ("PYTHON", "LC_", "LANG", "TZ")
_LIBRARIES = ("alembic.command", "click", "jinja2", "pandas", "pint", "pydantic", "requests", "rich.table")
_TIMEOUT_S = 120


def etsched(
    *words: object, cwd: Path | None = None, given: bytes = b"", **env: str
) -> subprocess.CompletedProcess[str]:
    """Call `etsched` with what is given on standard input; `env` is added to the environment."""
    plain, environment = [str(word) for word in words], ENVIRONMENT | env
    if any(name.startswith(_READ_AT_START) for name in env):
        return subprocess.run(
            [sys.executable, "-m", "etsched", *plain],
            cwd=cwd,
            env=environment,
            input=given.decode(),
            capture_output=True,
            encoding="utf-8",
            check=False,
            timeout=_TIMEOUT_S,
        )
    return _STANDING[-1].call(plain, str(cwd or Path.cwd()), given, environment)


_STANDING: list[_Standing] = []


@contextmanager
def standing_by() -> Iterator[None]:
    """Let a process stand by for the calls that come."""
    folder = Path(tempfile.mkdtemp())
    command = [sys.executable, "-m", "tests.cli.called", folder / "compiled"]
    # Threads of a library for reckoning would be lost in a fork.
    alone = ENVIRONMENT | {"OPENBLAS_NUM_THREADS": "1"}
    pipes = {"stdin": subprocess.PIPE, "stdout": subprocess.PIPE, "text": True}
    with subprocess.Popen(command, cwd=ROOT, env=alone, **pipes) as process:
        _STANDING.append(_Standing(process, folder))
        try:
            yield
        finally:
            _STANDING.pop()
    shutil.rmtree(folder)


class _Standing:
    """The process that stands by, as seen from the tests."""

    def __init__(self, process: subprocess.Popen[str], folder: Path) -> None:
        self.process = process
        self.streams = [folder / name for name in ("in", "out", "err")]

    def call(
        self, words: list[str], cwd: str, given: bytes, environment: dict[str, str]
    ) -> subprocess.CompletedProcess[str]:
        self.streams[0].write_bytes(given)
        call = {"words": words, "cwd": cwd, "env": environment, "streams": [str(path) for path in self.streams]}
        print(json.dumps(call), file=self.process.stdin, flush=True)
        if not select.select([self.process.stdout], [], [], _TIMEOUT_S)[0]:
            self.process.kill()
            raise subprocess.TimeoutExpired(words, _TIMEOUT_S)
        code = int(self.process.stdout.readline())
        out, err = (path.read_bytes().decode() for path in self.streams[1:])
        return subprocess.CompletedProcess(words, code, out, err)


def stand_by(compiled: str) -> None:
    """Load the libraries, then fork for each call that comes in and tell how it ended."""
    for name in _LIBRARIES:
        import_module(name)
    gc.freeze()
    # The program's own modules are compiled by whoever loads them first, and not into the checkout.
    sys.pycache_prefix, sys.dont_write_bytecode = compiled, False
    calls, answers = os.fdopen(os.dup(0)), os.fdopen(os.dup(1), "w")
    while line := calls.readline():
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", DeprecationWarning)  # no thread of a library is of use to the child
            child = os.fork()
        if child == 0:
            calls.close()
            answers.close()
            become(**json.loads(line))
        print(os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]), file=answers, flush=True)
    calls.close()
    answers.close()


def become(words: list[str], cwd: str, env: dict[str, str], streams: list[str]) -> NoReturn:
    """Become `python -m etsched` with these words, and end like it, but without taking the libraries down."""
    for number, path in enumerate(streams):
        opened = os.open(path, os.O_RDWR | os.O_CREAT | (os.O_TRUNC if number else 0), 0o600)
        os.dup2(opened, number)
        os.close(opened)
    os.chdir(cwd)
    os.environ.clear()
    os.environ.update(env)
    sys.argv = ["etsched", *words]
    code = 0
    try:
        runpy.run_module("etsched", run_name="__main__", alter_sys=True)
    except SystemExit as ending:
        code = int(ending.code or 0)
    except BaseException:
        traceback.print_exc()
        code = 1
    atexit._run_exitfuncs()
    gc.collect()  # what was left open is told
    for stream in (sys.stdout, sys.stderr):
        stream.flush()
    os._exit(code)


if __name__ == "__main__":
    stand_by(sys.argv[1])
