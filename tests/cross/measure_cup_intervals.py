"""Measure how far cup tests stray from the ground they stand on, on made lawns; prints the data file.

    python -m tests.cross.measure_cup_intervals > etsched/reference/cup_intervals.toml

Pivots are set on some fields so that each end of an interval holds in 93 % of the tests of the field where it holds
least: both ends then hold in at least 86 %. Other fields, kept aside, tell what the intervals cover in truth.
"""

from __future__ import annotations

from collections.abc import Iterable
from statistics import mean

import numpy as np

from etsched.core import catch_cups as cups
from tests.cross.cup_fields import ASIDE, SETTING, SMALL_CORNER, Field, truth

COUNTS = tuple(range(4, 33))
LEAST_FOR_UNIFORMITY = 8
END_FRACTION = 0.93
TESTS = 20_000

HEAD = f"""\
# Pivots and corrections for catch cups by their number, measured on {len(SETTING)} made fields (normal, skewed both
# ways, flat, two populations) with {TESTS} seeded tests of cups at random places each. `less` and `more` say how many
# spreads the ground may lie below and above what was found; each end holds in {END_FRACTION:.1%} of the tests of the
# field where it holds least. `correction` takes off the bias of DU(lq) on average. Coverage is counted on {len(ASIDE)}
# fields that set nothing, heads that overlap among them: `usual` is their mean; `hardest` is the least of all fields,
# those that set the pivots too. `missed` is the coverage on a dry corner of an eighth of the ground, which random
# cups may miss altogether.
# Written by: python -m tests.cross.measure_cup_intervals > etsched/reference/cup_intervals.toml
source = "seeded tests on made fields (tests/cross/cup_fields.py)"
mark = "measured"
"""


def caught_on(field: Field, count: int, tests: int = TESTS, seed: int = 1) -> np.ndarray:
    """Many tests of so many cups, the same ones at every call."""
    return field(np.random.default_rng((seed, count)), (tests, count))


def rate_pivots(field: Field, caught: np.ndarray) -> np.ndarray:
    """How many spreads the mean of the ground lies above the mean of the cups."""
    return (truth(field)[0] / caught.mean(axis=-1) - 1.0) / cups.rate_spread(caught)


def shortfall_pivots(field: Field, caught: np.ndarray) -> np.ndarray:
    """How many spreads the logarithm of the shortfall of the ground lies above that of the cups."""
    return np.log((1.0 - truth(field)[1]) / cups.shortfall(caught)) / cups.shortfall_spread(caught)


def ends(pivots: Iterable[np.ndarray]) -> tuple[float, float]:
    """Pivots that hold on the field where each holds least, rounded outwards."""
    found = np.array([np.quantile(each, [1.0 - END_FRACTION, END_FRACTION]) for each in pivots])
    return float(np.ceil(-found[:, 0].min() * 100.0) / 100.0), float(np.ceil(found[:, 1].max() * 100.0) / 100.0)


def inside(pivots: np.ndarray, less: float, more: float) -> float:
    """Share of tests in which the interval holds the ground."""
    return float(np.mean((pivots >= -less) & (pivots <= more)))


def correction(count: int) -> float:
    """True over mean found shortfall, mean over fields."""
    found = [
        (1.0 - truth(field)[1]) / (1.0 - cups.lower_quarter_uniformity(caught_on(field, count))).mean()
        for field in SETTING.values()
    ]
    return round(float(mean(found)), 3)


def rows(what: str, counts: Iterable[int]) -> dict[str, list[float]]:
    """Columns of one table."""
    pivots_of = {"rate": rate_pivots, "uniformity": shortfall_pivots}[what]
    columns: dict[str, list[float]] = {"count": list(counts)}
    for count in columns["count"]:
        less, more = ends(pivots_of(f, caught_on(f, count)) for f in SETTING.values())
        covered = [inside(pivots_of(f, caught_on(f, count)), less, more) for f in ASIDE.values()]
        row = {"less_factor": less, "more_factor": more}
        if what == "uniformity":
            row["correction_factor"] = correction(count)
        least = min(covered + [inside(pivots_of(f, caught_on(f, count)), less, more) for f in SETTING.values()])
        row |= {"usual_fraction": round(mean(covered), 3), "hardest_fraction": round(least, 3)}
        if what == "uniformity":
            missed = inside(pivots_of(SMALL_CORNER, caught_on(SMALL_CORNER, count)), less, more)
            row["missed_fraction"] = round(missed, 3)
        for name, value in row.items():
            columns.setdefault(name, []).append(value)
    return columns


def data_file() -> str:
    """Write the whole data file."""
    text = HEAD
    for what, least in (("rate", COUNTS[0]), ("uniformity", LEAST_FOR_UNIFORMITY)):
        text += f"\n[{what}]\n"
        for name, values in rows(what, [count for count in COUNTS if count >= least]).items():
            text += f"{name} = {values}\n"
    return text


if __name__ == "__main__":
    print(data_file(), end="")  # noqa: T201 - that is what it is for
