"""The planner and three plain ways held against a planner who knows all weather, over 26 seasons with measured rain.

Prints the figures, and on the error channel the table for the README and a line a season. What each part assumes is
written in `_seasons`, `_forecast`, `_baselines` and `_clairvoyant` beside this file.
"""

from __future__ import annotations

import sys
from pathlib import Path
from statistics import mean, median

sys.path.insert(0, str(Path(__file__).parents[2]))

from tests.bench import _against
from tests.bench._against import PLANNER, POLICIES, Compared
from tests.cross import station_years


def _line(compared: Compared) -> str:
    ratios = " ".join(f"{_against.ratio(compared, way):.3f}" for way in POLICIES)
    past = _against.past_unavoidable_mm(compared, PLANNER)
    return (
        f"{compared.name:<16} {'dry' if compared.dry else 'wet'} "
        f"rain {compared.rain_mm:4.0f} ETo {compared.eto_mm:5.0f} "
        f"best {compared.best.water_mm.sum():6.1f} mm, times {ratios}; past unavoidable {past.max():5.2f} mm, "
        f"not proved {compared.unproved_mm:.3f} mm, did not fit {compared.missing_min} min"
    )


def _median(values: list[float], form: str) -> str:
    return format(median(values), form) if values else "none"


def _table(seasons: list[Compared]) -> str:
    dry, wet = [s for s in seasons if s.dry], [s for s in seasons if not s.dry]
    head = (
        f"| way of watering | water, {len(dry)} dry seasons (× the clairvoyant's, median) "
        f"| water, {len(wet)} wet seasons (median) | gap closed, wet (median) "
        "| waterings a station and season (mean) | past allowable, a station and season (mean) |\n"
        "|---|---|---|---|---|---|"
    )
    rows = [head]
    for way in POLICIES:
        rows.append(
            f"| {way} | {_median([_against.ratio(s, way) for s in dry], '.3f')} "
            f"| {_median([_against.ratio(s, way) for s in wet], '.3f')} "
            f"| {_median([_against.gap_closed_pct(s, way) for s in wet], '.0f')} % "
            f"| {mean(float(s.ways[way].waterings_count.mean()) for s in seasons):.1f} "
            f"| {mean(float(s.ways[way].past_allowable_mm.mean()) for s in seasons):.1f} mm |"
        )
    rows.append(
        f"| clairvoyant | 1 | 1 | 100 % | {mean(float(s.best.waterings_count.mean()) for s in seasons):.1f} "
        f"| {mean(float(s.best.past_allowable_mm.mean()) for s in seasons):.1f} mm |"
    )
    return "\n".join(rows)


def main() -> None:
    if station_years.pcse_files() is None:
        print(f"skipped {station_years.PCSE_NEEDED}")
        return
    from tests.bench._seasons import real_seasons

    compared = []
    for season in real_seasons():
        compared.append(_against.compare(season))
        print(_line(compared[-1]), file=sys.stderr, flush=True)
    print(_table(compared), file=sys.stderr)
    dry, wet = [s for s in compared if s.dry], [s for s in compared if not s.dry]
    past = [float(_against.past_unavoidable_mm(s, PLANNER).max()) for s in compared]
    smallest = min(float(s.ways[PLANNER].smallest_share.min()) for s in compared)
    print(f"figure clairvoyant_dry_median {median(_against.ratio(s, PLANNER) for s in dry):.3f} ratio")
    print(f"figure clairvoyant_wet_median {median(_against.ratio(s, PLANNER) for s in wet):.3f} ratio")
    closed = median(_against.gap_closed_pct(s, PLANNER) for s in wet)
    print(f"figure clairvoyant_wet_gap_closed_pct {closed:.1f} pct")
    print(f"figure stress_over_unavoidable_mm {max(past):.2f} mm")
    print(f"figure stress_over_unavoidable_median_mm {median(past):.2f} mm")
    print(f"figure smallest_watering_of_least_depth_pct {100.0 * smallest:.0f} pct")
    print(f"figure clairvoyant_not_proved_mm {sum(s.unproved_mm for s in compared):.3f} mm")
    print(f"figure season_replay_s {median(s.planner_s for s in compared):.2f} s")


if __name__ == "__main__":
    main()
