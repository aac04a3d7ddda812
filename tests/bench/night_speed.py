"""How long a night takes to pack and how far it ends beyond the proven bound, on seeded nights of made-up stations.

Sprays run 3 to 12 minutes and soak 1 to 7 times as long; rotors run 10 to 45 minutes, up to three times, and soak up
to half an hour. Nights of 32 stations and more are easy on one valve (someone is always soaked), nights of 4 to 10 are
hard, so the family holds five each of 4, 6, 8, 12, 24 and 48 stations; the window is wide enough for all.
"""

from __future__ import annotations

from statistics import mean, median
from time import perf_counter

import numpy as np

from etsched.core.night import Chains, Limits, pack

SIZES = (4, 6, 8, 12, 24, 48) * 5
ROUNDS = 5
WIDE_MIN = 5000


def _chain(rng: np.random.Generator) -> tuple[int, int, int]:
    if rng.random() < 0.6:
        run, longest = int(rng.integers(6, 41)), int(rng.integers(3, 13))
        cycles = -(-run // longest)
        cycle = -(-run // cycles)
        return cycles, cycle, cycle * int(rng.integers(1, 8))
    return int(rng.integers(1, 4)), int(rng.integers(10, 46)), int(rng.integers(0, 31))


def _night(seed: int, stations: int) -> Chains:
    rng = np.random.default_rng(seed)
    count, cycle, soak = np.array([_chain(rng) for _ in range(stations)]).T
    flow, rank = rng.uniform(20.0, 60.0, stations), rng.integers(0, 6, stations)
    return Chains(np.arange(1, stations + 1), count, cycle, soak, flow, rank)


def _seconds(chains: Chains, limits: Limits) -> float:
    times = []
    for _ in range(ROUNDS):
        start = perf_counter()
        pack(chains, limits)
        times.append(perf_counter() - start)
    return median(times)


def _gaps(limits: Limits) -> list[float]:
    gaps = []
    for seed, stations in enumerate(SIZES):
        packed = pack(_night(seed, stations), limits)
        if packed.dropped_count.any():
            raise SystemExit(f"the night of seed {seed} was to hold everything")
        gaps.append(100.0 * (packed.used_min / packed.bound_min - 1.0))
    return gaps


def main() -> None:
    one = _gaps(Limits(WIDE_MIN))
    print(f"figure night_gap_to_bound_mean_pct {mean(one):.2f} pct")
    print(f"figure night_gap_to_bound_max_pct {max(one):.2f} pct")
    few = [gap for gap, stations in zip(one, SIZES, strict=True) if stations <= 8]
    print(f"figure night_gap_few_stations_mean_pct {mean(few):.2f} pct")
    print(f"figure night_gap_two_valves_mean_pct {mean(_gaps(Limits(WIDE_MIN, 2))):.2f} pct")
    print(f"figure night_gap_flow_limit_mean_pct {mean(_gaps(Limits(WIDE_MIN, 3, 90.0))):.2f} pct")
    forty_eight = _night(48, 48)
    print(f"figure night_48_s {_seconds(forty_eight, Limits(WIDE_MIN)):.4f} s")
    print(f"figure night_48_two_valves_s {_seconds(forty_eight, Limits(WIDE_MIN, 2)):.4f} s")
    print(f"figure night_48_too_short_s {_seconds(forty_eight, Limits(360)):.4f} s")
    print(f"figure night_48_too_short_flow_limit_s {_seconds(forty_eight, Limits(360, 3, 90.0)):.4f} s")
    two_hundred = _night(200, 200)
    print(f"figure night_200_too_short_s {_seconds(two_hundred, Limits(360, 10)):.4f} s")
    print(f"figure night_200_too_short_flow_limit_s {_seconds(two_hundred, Limits(360, 10, 300.0)):.4f} s")
    slowest = max(_seconds(_night(seed, stations), Limits(WIDE_MIN)) for seed, stations in enumerate(SIZES))
    print(f"figure night_slowest_of_family_s {slowest:.4f} s")


if __name__ == "__main__":
    main()
