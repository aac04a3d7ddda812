"""Six virtual areas watered by the planner: scores in every valid window of 30 days.

An independent re-implementation from memory, no pass of any standard. Every third of the seasons with measured rain
and the last, with --all every one of them; then, under names of their own, typical years with made rain, one draw
each, with --all three (--made-rain: these alone). Two ways of counting: the day's rain in the ground before the night
is decided, as the draft counts it, and deciding at dusk with a forecast model.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[2]))

from tests.bench import _areas_replay, _seasons
from tests.bench._areas import AREAS
from tests.bench._areas_replay import Scores, Watered
from tests.bench._seasons import Season
from tests.cross import station_years

WAYS = {"rain known": True, "at dusk": False}
NAMES = ("adequacy", "excess_of_net", "excess_of_use")


def _worst(scored: list[Scores]) -> np.ndarray:
    """Least adequacy, greatest excess by water and by use, least rain efficiency: (4, A)."""
    return np.array(
        [
            np.min([s.adequacy for s in scored], axis=0),
            np.max([s.excess_of_net for s in scored], axis=0),
            np.max([s.excess_of_use for s in scored], axis=0),
        ]
    )


def _whole(watered: Watered) -> Scores:
    return _areas_replay.scores(watered, slice(None))


def _table(worst: dict[str, np.ndarray], rain: dict[str, np.ndarray]) -> str:
    rows = [
        "| area | "
        + " | ".join(
            f"{way}: adequacy, least | excess of water, most | excess of use, most | rain "
            "efficiency of the clairvoyant's, least season"
            for way in WAYS
        )
        + " |",
        "|---" * (1 + 4 * len(WAYS)) + "|",
    ]
    for a, area in enumerate(AREAS):
        cells = [f"{worst[way][k, a]:.1f} %" for way in WAYS for k in range(3)]
        for n, way in enumerate(WAYS):
            cells.insert(4 * n + 3, f"{rain[way][:, a].min():.1f} %")
        rows.append(f"| {a + 1} {area.name} | " + " | ".join(cells) + " |")
    return "\n".join(rows)


def main() -> None:
    every = "--all" in sys.argv[1:]
    if "--made-rain" not in sys.argv[1:]:
        _measure("virtual", _real(every))
    _measure("virtual_made_rain", _made_rain(every))


def _real(every: bool) -> tuple[Season, ...]:
    if station_years.pcse_files() is None:
        print(f"skipped {station_years.PCSE_NEEDED}")
        return ()
    seasons = _seasons.real_seasons()
    return seasons if every else (*seasons[::3], seasons[-1])


def _made_rain(every: bool) -> tuple[Season, ...]:
    if station_years.pvlib_files() is None:
        print(f"skipped {station_years.PVLIB_NEEDED}")
        return ()
    return _seasons.made_rain_seasons(3 if every else 1)


def _measure(title: str, seasons: tuple[Season, ...]) -> None:
    if not seasons:
        return
    scored: dict[str, list[Scores]] = {way: [] for way in WAYS}
    rain: dict[str, list[np.ndarray]] = {way: [] for way in WAYS}
    best: dict[str, np.ndarray] = {}
    for season in seasons:
        for way, rain_known in WAYS.items():
            watered = _areas_replay.live(season, rain_known=rain_known)
            windows = _areas_replay.valid_windows(watered)
            of_windows = [_areas_replay.scores(watered, window) for window in windows]
            scored[way].extend(of_windows)
            if season.name not in best:
                best[season.name] = _areas_replay.clairvoyant_rain_efficiency(watered)
            rain[way].append(100.0 * _whole(watered).rain_efficiency / best[season.name])
            said = _worst(of_windows) if windows else np.full((3, len(AREAS)), np.nan)
            print(
                f"{season.name:<18} {way:<10} {len(windows):3d} windows, adequacy {said[0].min():6.2f}, "
                f"excess of water {said[1].max():5.2f}, of use {said[2].max():5.2f}, "
                f"rain efficiency over the clairvoyant's {rain[way][-1].min():6.2f} %",
                file=sys.stderr,
                flush=True,
            )
    worst = {way: _worst(scored[way]) for way in WAYS}
    of_best = {way: np.array(rain[way]) for way in WAYS}
    print(_table(worst, of_best), file=sys.stderr)
    _figures(title, worst, of_best, scored)


def _figures(
    title: str, worst: dict[str, np.ndarray], of_best: dict[str, np.ndarray], scored: dict[str, list[Scores]]
) -> None:
    every = np.array(list(worst.values()))  # (ways, 3, A)
    print(f"figure {title}_adequacy_min_pct {every[:, 0].min():.2f} pct")
    print(f"figure {title}_excess_max_pct {every[:, 1:].max():.2f} pct")
    for way, short in zip(WAYS, ("known", "dusk"), strict=True):
        print(f"figure {title}_{short}_adequacy_min_pct {worst[way][0].min():.2f} pct")
        print(f"figure {title}_{short}_excess_of_water_max_pct {worst[way][1].max():.2f} pct")
        print(f"figure {title}_{short}_excess_of_use_max_pct {worst[way][2].max():.2f} pct")
        print(f"figure {title}_{short}_rain_efficiency_of_clairvoyant_min_pct {of_best[way].min():.2f} pct")
        print(f"figure {title}_{short}_windows {len(scored[way])} count")


if __name__ == "__main__":
    main()
