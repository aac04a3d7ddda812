"""How long a week takes to plan for 12, 48 and 200 stations, against a pass of the water books alone, interleaved.

The stations are made up and differ in heads, soils, roots and evenness; the week is hot and dry. 12 stations run one
valve at a time, 48 two, 200 ten: everybody fits. The crowded weeks have so few valves or so little flow that every
night is too short. The reference is the same week of the same stations in the same books, with nothing decided, packed
or explained. The ratio says what all that costs.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from statistics import median
from time import perf_counter

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[2]))

from etsched.frames.weather import Weather
from etsched.model.site import Head, Site, Station
from etsched.planning import water
from etsched.planning.outlook import WEEK_D, Outlook
from etsched.planning.weather_days import days_from_weather
from etsched.planning.week import Earlier, first_deficit, outlook_of, plan_week
from tests.planning import made

FIRST_DAY = date(2026, 7, 2)
ROUNDS = 5
SOILS = ("loam", "sandy loam", "clay loam")


@dataclass(frozen=True, slots=True)
class Case:
    """A property whose week is timed."""

    name: str
    stations: int
    rules: dict[str, float]
    fits: bool


CASES = (
    Case("week_12", 12, {}, fits=True),
    Case("week_48", 48, {"max_valves_count": 2}, fits=True),
    Case("week_48_flow_limit", 48, {"max_valves_count": 3, "max_flow_l_min": 150.0}, fits=True),
    Case("week_200", 200, {"max_valves_count": 10}, fits=True),
    Case("week_200_flow_limit", 200, {"max_valves_count": 10, "max_flow_l_min": 400.0}, fits=True),
    Case("week_48_crowded", 48, {}, fits=False),
    Case("week_200_crowded", 200, {"max_valves_count": 3}, fits=False),
    Case("week_200_crowded_flow_limit", 200, {"max_valves_count": 10, "max_flow_l_min": 200.0}, fits=False),
)


def _station(terminal: int) -> Station:
    rotor = terminal % 5 == 0
    return made.station(
        terminal,
        head=Head.ROTOR if rotor else Head.SPRAY,
        soil=SOILS[terminal % 3],
        slope_pct=2.0 + terminal % 4,
        root_depth=made.known(110.0 + 13 * (terminal % 7)),
        precip_rate=made.known(14.0 + terminal % 3 if rotor else 36.0 + 2 * (terminal % 5)),
        uniformity=made.known(0.55 + 0.03 * (terminal % 6)),
        area_m2=150.0 if rotor else 60.0 + 5 * (terminal % 4),
    )


def _weather() -> Weather:
    hottest = [33.0 + (7 * day) % 6 for day in range(50)]
    return made.weather(first=date(2026, 6, 1), days=50, forecast_from=FIRST_DAY, tmax_c=hottest)


def _books(outlook: Outlook, deficit: np.ndarray) -> None:
    """The week in the books, with nothing decided."""
    for later in range(WEEK_D):
        index = outlook.index(FIRST_DAY) + later
        deficit = water.pass_day(outlook.ground, outlook.days, index, deficit, np.zeros(len(deficit)))[1].deficit_mm


def _seconds(work: Callable[[], object]) -> float:
    start = perf_counter()
    work()
    return perf_counter() - start


def _measure(case: Case, weather: Weather) -> None:
    site: Site = made.site(*[_station(terminal) for terminal in range(1, case.stations + 1)], **case.rules)
    plan = plan_week(site, weather, FIRST_DAY)
    if case.fits is any(night.shortfalls for night in plan.nights) or not all(night.runs for night in plan.nights):
        raise SystemExit(f"the nights of {case.name} are not what they are said to be")
    outlook = outlook_of(site, days_from_weather(weather, site), FIRST_DAY)
    deficit = first_deficit(outlook, Earlier())
    times, ratios = [], []
    for _ in range(ROUNDS):
        ours = _seconds(lambda: plan_week(site, weather, FIRST_DAY))
        books = _seconds(lambda: _books(outlook, deficit))
        times.append(ours)
        ratios.append(ours / books)
    print(f"figure {case.name}_s {median(times):.3f} s")
    print(f"figure {case.name}_vs_books {median(ratios):.0f} ratio")


def main() -> None:
    weather = _weather()
    for case in CASES:
        _measure(case, weather)


if __name__ == "__main__":
    main()
