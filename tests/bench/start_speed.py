"""How fast the command line starts: help against bare Python, and one site's week against its imports alone.

Fresh processes, interleaved, medians. Run from the repository with the package installed.
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path
from statistics import median
from time import perf_counter

DEMO = Path(__file__).parents[2] / "demo"
ROUNDS = 11

BARE = ["-c", "pass"]
HELP = ["-m", "etsched", "--help"]
IMPORTS = ["-c", "import pandas, pint"]
WEEK = [
    "-m",
    "etsched",
    "week",
    str(DEMO / "site.toml"),
    str(DEMO / "weather.csv"),
    "--today",
    "2026-07-13",
    "--json",
    "-",
]


def _seconds(arguments: list[str]) -> float:
    start = perf_counter()
    subprocess.run([sys.executable, *arguments], check=True, stdout=subprocess.DEVNULL)
    return perf_counter() - start


def main() -> None:
    times: dict[str, list[float]] = {"bare": [], "help": [], "imports": [], "week": []}
    for turn in range(ROUNDS + 1):
        for name, arguments in (("bare", BARE), ("help", HELP), ("imports", IMPORTS), ("week", WEEK)):
            taken = _seconds(arguments)
            if turn:  # the first turn only warms the disk's cache
                times[name].append(taken)
    over = [1000 * (a - b) for a, b in zip(times["help"], times["bare"], strict=True)]
    ratio = [a / b for a, b in zip(times["week"], times["imports"], strict=True)]
    print(f"figure help_over_python_ms {median(over):.1f} ms")
    print(f"figure week_cold_over_imports {median(ratio):.2f} ratio")
    print(f"figure week_cold_s {median(times['week']):.3f} s")


if __name__ == "__main__":
    main()
