"""The NASA POWER daily point service: modelled days by the solar clock, with the newest ones not there yet."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from typing import Any

from .et0 import WIND_10M_TO_2M, pressure_kpa
from .exchange import LONGER_TAIL_DAYS, MOST_DAYS, Ask, Feed, Reply, World, json_reply
from .weather import TRUTH, Hour, hour_at, spot_at, utc_hour_of

PATH = "/api/temporal/daily/point"
FILL = -999.0
WEATHER_LAG_DAYS, SOLAR_LAG_DAYS = 3, 7  # weather from memory, to be verified; solar as documented
MOST_PARAMETERS = 20
FIRST_DAY = date(1981, 1, 1)  # of the weather, from memory, to be verified
_SOLAR = "ALLSKY_SFC_SW_DWN"
_ABSURD = 85.0
# The mean height of a cell of half a degree is not the height of the place.
_CELL_ABOVE_PLACE_M = 143.3


def _mean(values: list[float]) -> float:
    return sum(values) / len(values)


@dataclass(frozen=True, slots=True)
class Variable:
    """One parameter: its unit in community AG, what it is called, and how a day's 24 hours and elevation make it."""

    units: str
    longname: str
    value: Callable[[list[Hour], float], float]


VARIABLES: dict[str, Variable] = {
    "T2M": Variable("C", "Temperature at 2 Meters", lambda h, _: _mean([x.temperature_c for x in h])),
    "T2M_MAX": Variable("C", "Temperature at 2 Meters Maximum", lambda h, _: max(x.temperature_c for x in h)),
    "T2M_MIN": Variable("C", "Temperature at 2 Meters Minimum", lambda h, _: min(x.temperature_c for x in h)),
    "T2MDEW": Variable("C", "Dew/Frost Point at 2 Meters", lambda h, _: _mean([x.dewpoint_c for x in h])),
    "RH2M": Variable("%", "Relative Humidity at 2 Meters", lambda h, _: _mean([x.rh_pct for x in h])),
    "WS2M": Variable("m/s", "Wind Speed at 2 Meters", lambda h, _: WIND_10M_TO_2M * _mean([x.wind_10m_m_s for x in h])),
    "WS10M": Variable("m/s", "Wind Speed at 10 Meters", lambda h, _: _mean([x.wind_10m_m_s for x in h])),
    _SOLAR: Variable(
        "MJ/m^2/day", "All Sky Surface Shortwave Downward Irradiance", lambda h, _: sum(x.solar_mj_m2 for x in h)
    ),
    "PRECTOTCORR": Variable("mm/day", "Precipitation Corrected", lambda h, _: sum(x.rain_mm for x in h)),
    "PS": Variable("kPa", "Surface Pressure", lambda _, elevation: pressure_kpa(elevation)),
}


class _Refused(Exception):
    """A question that is answered with status 422."""


def _refusal(sentence: str, status: int = 422) -> Reply:
    return json_reply({"message": sentence}, status)


def trouble(status: int) -> Reply:
    """Tell that the service cannot answer, in the other of the two shapes its errors have."""
    words = "Too many requests. Please try again later." if status == 429 else "The service is not available."
    return json_reply({"messages": [words]}, status)


def answer(ask: Ask, world: World) -> Reply:
    """Answer one request for the days of a point."""
    if ask.path != PATH:
        return _refusal("Not Found", 404)
    try:
        return json_reply(_told(ask, world))
    except _Refused as refused:
        return _refusal(str(refused))


def _needed(ask: Ask, name: str) -> str:
    value = ask.query.get(name, "")
    if not value:
        raise _Refused(f"The parameter '{name}' is required.")
    return value


def _number(ask: Ask, name: str, limit: float) -> float:
    try:
        value = float(_needed(ask, name))
    except ValueError:
        raise _Refused(f"The parameter '{name}' is not a number.") from None
    if not -limit <= value <= limit:
        raise _Refused(f"The parameter '{name}' must lie between -{limit:g} and {limit:g}.")
    return value


def _day(ask: Ask, name: str) -> date:
    try:
        return datetime.strptime(_needed(ask, name), "%Y%m%d").replace(tzinfo=UTC).date()
    except ValueError:
        raise _Refused(f"The parameter '{name}' must be a date such as 20260601.") from None


def _one_of(ask: Ask, name: str, choices: tuple[str, ...], default: str = "") -> str:
    value = (ask.query.get(name, default) if default else _needed(ask, name)).upper()
    if value not in choices:
        raise _Refused(f"The parameter '{name}' must be one of {', '.join(choices)}.")
    return value


def _parameters(ask: Ask) -> list[str]:
    _needed(ask, "parameters")
    names = ask.list_of("parameters")
    if len(names) > MOST_PARAMETERS:
        raise _Refused(f"At most {MOST_PARAMETERS} parameters can be asked for at once; {len(names)} were.")
    for name in names:
        if name not in VARIABLES:
            raise _Refused(f"The parameter '{name}' is not known.")
    return names


def _told(ask: Ask, world: World) -> dict[str, Any]:
    """Check the question and tell its days."""
    names = _parameters(ask)
    community = _one_of(ask, "community", ("AG", "RE", "SB"))
    longitude, latitude = _number(ask, "longitude", 180), _number(ask, "latitude", 90)
    first, last = _day(ask, "start"), _day(ask, "end")
    _one_of(ask, "format", ("JSON",), "JSON")  # the service also writes CSV and others; this server does not
    standard = _one_of(ask, "time-standard", ("LST", "UTC"), "LST")
    if (last - first).days >= MOST_DAYS:
        raise _Refused(f"At most {MOST_DAYS} days can be asked for at once.")  # own bound
    if not FIRST_DAY <= first <= last:
        raise _Refused(f"The days must run from {FIRST_DAY:%Y%m%d} on and not backwards.")
    place = spot_at(world.seed, latitude, longitude)
    offset_h = place.solar_offset_h if standard == "LST" else 0
    elevation = _number(ask, "site-elevation", 9000) if "site-elevation" in ask.query else place.elevation_m
    days = [first + timedelta(days=number) for number in range((last - first).days + 1)]
    table: dict[str, dict[str, float]] = {name: {} for name in names}
    for day in days:
        known = [name for name in names if _is_known(name, day, world)]
        start = utc_hour_of(day, offset_h)
        hours = [hour_at(place, TRUTH, hour) for hour in range(start, start + 24)] if known else []
        for name in names:
            scale = 1 / 3.6 if name == _SOLAR and community != "AG" else 1.0
            value = VARIABLES[name].value(hours, elevation) * scale if name in known else FILL
            table[name][f"{day:%Y%m%d}"] = round(value, 2)
    _spoil(table, world.fault)
    found: dict[str, Any] = {
        "type": "Feature",
        "geometry": {
            "type": "Point",
            "coordinates": [longitude, latitude + world.far_deg, round(place.elevation_m + _CELL_ABOVE_PLACE_M, 2)],
        },
        "properties": {"parameter": table},
    }
    return found | _frame(names, community, standard, (first, last), world)


def _is_known(name: str, day: date, world: World) -> bool:
    """Say whether a day has arrived yet; the sun's takes longer."""
    if world.fault == "all-null":
        return False
    lag = SOLAR_LAG_DAYS if name == _SOLAR else WEATHER_LAG_DAYS
    longer = LONGER_TAIL_DAYS if world.fault == "null-tail" else 0
    return (world.issued - day).days > lag + longer


def _spoil(table: dict[str, dict[str, float]], fault: str) -> None:
    """Make the faults that leave the answer's shape whole."""
    days = list(next(iter(table.values())))
    if fault == "unequal-arrays":
        table[list(table)[-1]].pop(days[0])
    if fault == "spike":
        name = "T2M_MAX" if "T2M_MAX" in table else next(iter(table))
        table[name][days[len(days) // 2]] = _ABSURD


def _frame(
    names: list[str], community: str, standard: str, range_of_days: tuple[date, date], world: World
) -> dict[str, Any]:
    """Everything that stands around the values."""
    first, last = range_of_days
    units = {name: VARIABLES[name].units for name in names}
    if _SOLAR in units and (community != "AG") != (world.fault == "wrong-units"):
        units[_SOLAR] = "kW-hr/m^2/day"
    if world.fault == "wrong-units":
        units = {name: {"C": "K", "m/s": "mph"}.get(unit, unit) for name, unit in units.items()}
    return {
        "header": {
            "title": "NASA/POWER Source Native Resolution Daily Data",
            "api": {"version": "v2.9.2", "name": "POWER Daily API"},
            "sources": ["MERRA2", "FLASHFLUX", "POWER"],
            "fill_value": FILL,
            "time_standard": standard,
            "start": f"{first:%Y%m%d}",
            "end": f"{last:%Y%m%d}",
        },
        "messages": [],
        "parameters": {n: {"units": units[n], "longname": VARIABLES[n].longname} for n in names},
        "times": {"data": 1.2, "process": 0.03},
    }


HOSTS = {"power": Feed(answer, trouble)}
