"""What single values cannot tell: entries of a site file that contradict each other."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from datetime import datetime, time
from typing import Any

from etsched.documents.lines import Path
from etsched.documents.refusals import shown
from etsched.documents.site_model import NewTurfIn, PlaceIn, StationIn, WateringIn
from etsched.model.site import Basis, TurfMode
from etsched.reference.tables import least_cycle
from etsched.units import UnitSystem, say

# Where it stands, what is wrong, what to do.
Trouble = tuple[Path, str, str]
Stations = Mapping[int, StationIn]

_FARTHEST_DEG = 60.0  # no clock on earth is four hours away from its sun
# 1 L/min on 1 m² is 60 mm/h (arithmetic). Areas are paced and flows read off dials: a tenth either way is no
# contradiction (common practice, no source).
_MM_H_PER_L_MIN_M2 = 60.0
_FLOW_TOLERANCE = 0.10


def terminals_once(stations: Iterable[Any]) -> Iterator[Trouble]:
    """Find terminals that two stations claim; `stations` is what the file holds, readable or not."""
    taken: set[int] = set()
    for index, station in enumerate(stations):
        terminal = station.get("terminal") if isinstance(station, dict) else None
        if isinstance(terminal, int) and terminal in taken:
            wrong = f"terminal {shown(terminal)} belongs to a station above already"
            yield (
                ("station", index, "terminal"),
                wrong,
                "give every station the terminal its valve is wired to",
            )
        elif isinstance(terminal, int) and not isinstance(terminal, bool):
            taken.add(terminal)


def bans_name_stations(bans: object, stations: Iterable[Any]) -> Iterator[Trouble]:
    """Find terminals of a ban that no station has."""
    # A list, as what stands in a file's place of a terminal may be anything, such as a list of its own.
    known = [station.get("terminal") for station in stations if isinstance(station, dict)]
    for index, ban in enumerate(bans if isinstance(bans, list) else []):
        named = ban.get("stations") if isinstance(ban, dict) else None
        for terminal in named if isinstance(named, list) else []:
            if isinstance(terminal, int) and terminal not in known:
                wrong = f"{shown(terminal)} is no terminal of this file"
                yield ("ban", index, "stations"), wrong, "name terminals of its stations, or none for all"


def place_agrees(place: PlaceIn) -> Iterator[Trouble]:
    """Find a longitude that lies far from its time zone, as it does when the minus of the west is missing."""
    offset = datetime(2026, 1, 15, tzinfo=place.time_zone).utcoffset()
    hours = offset.total_seconds() / 3600 if offset else 0.0
    apart = abs((place.longitude - 15 * hours + 180) % 360 - 180)
    if apart > _FARTHEST_DEG:
        wrong = f"{place.longitude:g} lies far outside the time zone {place.time_zone.key}"
        yield (
            ("place", "longitude"),
            wrong,
            "write west as a negative number, or name the time zone of the place",
        )


def window_holds_a_cycle(watering: WateringIn, stations: Stations) -> Iterator[Trouble]:
    """Find a window into which the least cycle of a station does not fit."""
    if watering.opens == watering.closes:
        remedy = 'for the whole day write opens = "00:00" and closes = "23:59"'
        yield ("watering", "closes"), f"the window opens and closes at {watering.closes:%H:%M}", remedy
        return
    length = (_minute(watering.closes) - _minute(watering.opens)) % 1440
    longest = max(stations.values(), key=_least_cycle_min, default=None)
    if longest is not None and _least_cycle_min(longest) > length:
        least = f"the least cycle of station {longest.terminal}, {_least_cycle_min(longest):g} min"
        wrong = f"the window of {length} min is shorter than {least}"
        yield ("watering", "closes"), wrong, "open the window longer"


def light_hours_hold_a_run(hours: NewTurfIn, stations: Stations) -> Iterator[Trouble]:
    """Find hours by day into which the least cycle of a station with new turf does not fit."""
    length = _minute(hours.closes) - _minute(hours.opens)
    new = [each for each in stations.values() if each.mode in {TurfMode.NEW_SEED, TurfMode.NEW_SOD}]
    longest = max(new, key=_least_cycle_min, default=None)
    if longest is not None and _least_cycle_min(longest) > length:
        least = f"the least cycle of station {longest.terminal}, {_least_cycle_min(longest):g} min"
        wrong = f"the {length} min between opening and closing do not hold {least}"
        yield ("new_turf", "closes"), wrong, "let the hours be longer"


def light_hours_lie_outside_the_window(hours: NewTurfIn, watering: WateringIn) -> Iterator[Trouble]:
    """Find hours by day that reach into the window, where light runs and the night's would share one supply."""
    begins, lasts = _minute(watering.opens), (_minute(watering.closes) - _minute(watering.opens)) % 1440
    light_begins, light_lasts = _minute(hours.opens), _minute(hours.closes) - _minute(hours.opens)
    if (light_begins - begins) % 1440 < lasts or (begins - light_begins) % 1440 < light_lasts:
        window = f"{watering.opens:%H:%M} to {watering.closes:%H:%M}"
        wrong = f"the hours by day reach into the window of [watering], {window}"
        yield ("new_turf", "opens"), wrong, "let them begin after it closes and end before it opens"


def flows_fit(watering: WateringIn, stations: Stations, units: UnitSystem) -> Iterator[Trouble]:
    """Find stations that take more than the supply gives."""
    for index, station in stations.items():
        if watering.max_flow is not None and station.flow and station.flow.value > watering.max_flow:
            flow, most = (say(each, "l_min", units) for each in (station.flow.value, watering.max_flow))
            wrong = f"{flow} is more than max_flow in [watering], {most}"
            yield ("station", index, "flow"), wrong, "correct one of the two, such a valve could never open"


def station_agrees(index: int, station: StationIn, units: UnitSystem) -> Iterator[Trouble]:
    """Find figures of one station that contradict each other."""
    for key, wrong, remedy in (
        *_rates_agree(station, units),
        *_depths_agree(station, units),
        *_mode_agrees(station),
    ):
        yield ("station", index, key), wrong, remedy


def _rates_agree(station: StationIn, units: UnitSystem) -> Iterator[tuple[str, str, str]]:
    rate, wettest = station.precip_rate, station.wettest_quarter_rate
    if wettest and not rate:
        remedy = "write precip_rate too, the mean of the same cups"
        yield "wettest_quarter_rate", "the rate of the wettest quarter stands without the mean rate", remedy
    if wettest and rate and wettest.value < rate.value:
        lower, mean = (say(each, "mm_h", units) for each in (wettest.value, rate.value))
        wrong = f"{lower} in the wettest quarter is less than the mean rate, {mean}"
        yield (
            "wettest_quarter_rate",
            wrong,
            "look at the cups again, the fullest quarter holds more than the mean",
        )
    if rate and rate.known is Basis.MEASURED and station.application_efficiency:
        wrong = "is not used where the rate was measured, because cups catch only what lands"
        yield "application_efficiency", wrong, "take it out, or say that the rate is known otherwise"
    if rate and rate.known is Basis.FROM_FLOW and station.flow and station.size:
        from_flow = station.flow.value * _MM_H_PER_L_MIN_M2 / station.size
        if abs(rate.value - from_flow) > _FLOW_TOLERANCE * from_flow:
            said, given = (say(each, "mm_h", units) for each in (rate.value, from_flow))
            wrong = f"{said} is not what flow and size give, {given}"
            yield "precip_rate", wrong, "correct the rate, the flow or the size"


def _depths_agree(station: StationIn, units: UnitSystem) -> Iterator[tuple[str, str, str]]:
    depletion, roots, water = station.depletion, station.root_depth, station.available_water
    if depletion and roots and water and depletion.value > roots.value * water.value:
        missing, held = (say(each, "mm", units) for each in (depletion.value, roots.value * water.value))
        wrong = f"{missing} is more than the root zone can hold, {held}"
        yield "depletion", wrong, "correct the depletion, root_depth or available_water"


def _mode_agrees(station: StationIn) -> Iterator[tuple[str, str, str]]:
    special = station.mode not in {None, TurfMode.NORMAL}
    if special and station.mode_since is None:
        remedy = "add mode_since, the day it was sown or laid, or fell dormant"
        yield "mode", f'"{station.mode}" does not say since when', remedy
    if station.mode_since is not None and not special:
        yield "mode_since", "stands without a mode", 'add mode = "new seed", "new sod" or "dormant", or take it out'


def _least_cycle_min(station: StationIn) -> float:
    return station.least_cycle.value if station.least_cycle else least_cycle(station.head).value


def _minute(clock: time) -> int:
    return clock.hour * 60 + clock.minute
