"""How fast the water books run: 1,000 stations × 365 days against plain numpy of the same sums, interleaved.

The reference is written as a person would write the balance with numpy and nothing else: no checks, no dataclasses, no
layers below the roots. The ratio says what the layers, the closing of the books and the house's order cost.
"""

from __future__ import annotations

from statistics import median
from time import perf_counter

import numpy as np

from etsched.core import root_zone

STATIONS, DAYS, ROUNDS = 1000, 365, 9


def _weather() -> tuple[np.ndarray, ...]:
    rng = np.random.default_rng(7)
    etc = rng.uniform(2.0, 9.0, (DAYS, STATIONS))
    rain = np.where(rng.random(DAYS) < 0.2, rng.uniform(1.0, 20.0, DAYS), 0.0)
    fraction = np.clip(0.4 + 0.04 * (5.0 - etc), 0.1, 0.8)
    total = rng.uniform(15.0, 40.0, STATIONS)
    return etc, rain, fraction, total


def ours(etc, rain, fraction, total) -> float:
    state = np.zeros((STATIONS, 3))
    before = np.ones(1)
    worst = 0.0
    for day in range(DAYS):
        irrigation = np.where(state[:, 0] > fraction[day] * total, state[:, 0], 0.0)
        pulses = np.broadcast_to(rain[day], (STATIONS, 1))
        asked = root_zone.DayDemand(etc[day], fraction[day], irrigation, pulses, before)
        water = root_zone.day_step(state, total, asked)
        worst = max(worst, float(np.abs(root_zone.balance_error(state, asked, water)).max()))
        state = water.deficit_mm
    if worst > 1e-9:
        raise SystemExit(f"the books are off by {worst} mm")
    return float(state[:, 0].sum())


def plain(etc, rain, fraction, total) -> float:
    depletion = np.zeros(STATIONS)
    for day in range(DAYS):
        allowable = fraction[day] * total
        depletion = np.where(depletion > allowable, 0.0, depletion)
        stress = np.clip((total - depletion) / (total - allowable), 0.0, 1.0)
        depletion = np.minimum(depletion + stress * etc[day], total)
        depletion = np.maximum(depletion - rain[day], 0.0)
    return float(depletion.sum())


def main() -> None:
    case = _weather()
    if abs(ours(*case) - plain(*case)) > 1e-6:
        raise SystemExit("the two balances disagree")
    ratios, times = [], []
    for _ in range(ROUNDS):
        start = perf_counter()
        ours(*case)
        middle = perf_counter()
        plain(*case)
        end = perf_counter()
        times.append(middle - start)
        ratios.append((middle - start) / (end - middle))
    print(f"figure balance_vs_numpy {median(ratios):.2f} ratio")
    print(f"figure balance_1000x365_s {median(times):.4f} s")


if __name__ == "__main__":
    main()
