"""The first of the two commands, as a newcomer runs it."""

import subprocess

import pytest


def test_the_demo_runs_to_its_end(root):
    if not (root / ".venv").exists():
        pytest.skip("the demo runs in .venv; bash tests/run.sh makes it")
    done = subprocess.run(
        ["bash", "demo/run.sh"],
        cwd=root,
        capture_output=True,
        text=True,
        encoding="utf-8",
        check=False,
        timeout=300,
    )
    assert done.returncode == 0, done.stderr
    written = {path.name for path in (root / "demo" / "out").iterdir()}
    assert {"week.csv", "week.json", "week.html", "weather.svg"} <= written
    assert done.stdout.count("valves off by") == 5  # the table, beside each document, and from the feeds
    assert "Station 7, Hall bank" in done.stdout
    assert "Skipped: nothing." in done.stderr
