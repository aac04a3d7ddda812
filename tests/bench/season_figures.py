"""The figures of a real season that the README shows: the demo's stations under Greensboro's typical year."""

from __future__ import annotations

import sys
from pathlib import Path
from time import perf_counter

sys.path.insert(0, str(Path(__file__).parents[2]))

from etsched.tables.season import season_table
from tests.planning.real_year import real_season


def main() -> None:
    start = perf_counter()
    weeks = real_season()
    seconds = perf_counter() - start
    total = season_table(weeks, "us").total
    print(f"figure season_eto_in {total.eto.shown} in")
    print(f"figure season_rain_in {total.rain.shown} in")
    print(f"figure season_minutes {total.minutes} min")
    print(f"figure season_mean_depth_in {total.depth.shown} in")
    print(f"figure season_water_gal {total.volume.known.shown} gal")
    print(f"figure season_station_nights {total.waterings} count")
    print(f"figure season_dry_station_days {total.dry_days} count")
    print(f"figure season_missing_min {total.missing_min} min")
    print(f"figure season_replay_s {seconds:.2f} s")


if __name__ == "__main__":
    main()
