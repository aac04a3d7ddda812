"""A clock that only sleeping moves, so that a minute of waiting takes no time; a certificate of our own."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

import pytest


class Clock:
    def __init__(self) -> None:
        self.now_s = 1000.0
        self.slept: list[float] = []

    def __call__(self) -> float:
        return self.now_s

    def sleep(self, duration_s: float) -> None:
        self.slept.append(duration_s)
        self.now_s += duration_s


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def own_certificate(tmp_path: Path) -> Path:
    """A key and a certificate for 127.0.0.1 that only itself vouches for, in one file."""
    openssl = shutil.which("openssl")
    if openssl is None:
        pytest.skip("needs openssl: apt-get install openssl")
    made = tmp_path / "own.pem"
    command = [openssl, "req", "-x509", "-newkey", "rsa:2048", "-nodes", "-days", "2", "-subj", "/CN=127.0.0.1"]
    command += ["-addext", "subjectAltName=IP:127.0.0.1", "-keyout", str(made), "-out", str(tmp_path / "certificate")]
    subprocess.run(command, check=True, capture_output=True, timeout=60)
    made.write_text(made.read_text("ascii") + (tmp_path / "certificate").read_text("ascii"), "ascii")
    return made
