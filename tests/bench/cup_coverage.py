"""How often the ranges of a cup test hold the ground, and how far its middle strays, on seeded tests of made lawns.

Means are over the fields that did not set the table of pivots, and the seed is another than the table's. `least` and
`most` are the field where the range holds least, and where the middle strays most, of all fields.
"""

from __future__ import annotations

import sys
from pathlib import Path
from statistics import mean

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[2]))

from etsched.core import catch_cups as cups
from etsched.reference import cups as known
from tests.cross.cup_fields import ASIDE, SETTING, truth
from tests.cross.measure_cup_intervals import caught_on

TESTS = 4_000
SEED = 20


def _du_covered(caught: np.ndarray, true: float) -> float:
    pivots = known.uniformity_pivots(caught.shape[-1])
    low, high = cups.uniformity_range(caught, pivots.less_factor, pivots.more_factor)
    return 100.0 * float(np.mean((low <= true) & (true <= high)))


def _du_bias(caught: np.ndarray, true: float) -> float:
    correction = known.uniformity_correction(caught.shape[-1])
    return float(cups.without_bias(cups.lower_quarter_uniformity(caught), correction).mean()) - true


def _rate_covered(caught: np.ndarray, true: float) -> float:
    pivots = known.rate_pivots(caught.shape[-1])
    rate = caught.mean(axis=-1)
    low, high = cups.rate_range(rate, cups.rate_spread(caught), pivots.less_factor, pivots.more_factor)
    return 100.0 * float(np.mean((low <= true) & (true <= high)))


def _figures(name: str, unit: str, aside: list[float], setting: list[float], worst: str) -> None:
    extreme = min(aside + setting) if worst == "least" else max(aside + setting, key=abs)
    print(f"figure {name}_{unit} {mean(aside):.4g} {unit}")
    print(f"figure {name}_{worst}_{unit} {extreme:.4g} {unit}")


def main() -> None:
    for count in (4, 8, 12, 24, 48):
        aside, setting = (
            [(caught_on(field, count, TESTS, SEED), truth(field)) for field in fields.values()]
            for fields in (ASIDE, SETTING)
        )
        rates = [[_rate_covered(caught, true[0]) for caught, true in drawn] for drawn in (aside, setting)]
        _figures(f"cup_rate_coverage_{count}", "pct", *rates, "least")
        if count >= known.least_for_uniformity():
            covered = [[_du_covered(caught, true[1]) for caught, true in drawn] for drawn in (aside, setting)]
            _figures(f"cup_du_coverage_{count}", "pct", *covered, "least")
            biases = [[_du_bias(caught, true[1]) for caught, true in drawn] for drawn in (aside, setting)]
            _figures(f"cup_du_bias_{count}", "fraction", *biases, "most")


if __name__ == "__main__":
    main()
