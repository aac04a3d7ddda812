"""How often the ranges of a cup test hold the ground, and how far its middle strays, on seeded tests of made lawns.

The fields are those that did not set the table of pivots, and the seed is another than the table's. `least` and
`most` are the field where the range holds least, and where the middle strays most.
"""

from __future__ import annotations

import sys
from pathlib import Path
from statistics import mean

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[2]))

from etsched.core import catch_cups as cups
from etsched.reference import cups as known
from tests.cross.cup_fields import ASIDE, truth
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


def main() -> None:
    for count in (4, 8, 12, 24, 48):
        drawn = [(caught_on(field, count, TESTS, SEED), truth(field)) for field in ASIDE.values()]
        rates = [_rate_covered(caught, true[0]) for caught, true in drawn]
        print(f"figure cup_rate_coverage_{count}_pct {mean(rates):.1f} pct")
        print(f"figure cup_rate_coverage_{count}_least_pct {min(rates):.1f} pct")
        if count >= known.least_for_uniformity():
            covered = [_du_covered(caught, true[1]) for caught, true in drawn]
            print(f"figure cup_du_coverage_{count}_pct {mean(covered):.1f} pct")
            print(f"figure cup_du_coverage_{count}_least_pct {min(covered):.1f} pct")
            biases = [_du_bias(caught, true[1]) for caught, true in drawn]
            print(f"figure cup_du_bias_{count}_fraction {mean(biases):.4f} fraction")
            print(f"figure cup_du_bias_{count}_most_fraction {max(biases, key=abs):.4f} fraction")


if __name__ == "__main__":
    main()
