"""What each Open-Meteo variable is made of: its unit, its digits, and how a day is made of hours."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from .et0 import et0_mm_h, pressure_kpa
from .weather import Hour, saturation_kpa

Values = list[float | None]


@dataclass(frozen=True, slots=True)
class Moment:
    """One stamp: the air at that instant, and the hour that ends with it, for which sun and rain are told."""

    now: Hour
    past: Hour
    elevation_m: float


@dataclass(frozen=True, slots=True)
class Hourly:
    """An hourly variable: `kind` is a key of the unit table, `digits` those written (from memory, to be verified)."""

    kind: str
    digits: int
    value: Callable[[Moment], float]


@dataclass(frozen=True, slots=True)
class Daily:
    """A daily variable: which hourly one, put together how, and times what."""

    kind: str
    digits: int
    hourly: str
    how: str
    factor: float = 1.0


def _vapour_pressure_deficit(at: Moment) -> float:
    return saturation_kpa(at.now.temperature_c) - saturation_kpa(at.now.dewpoint_c)


HOURLY: dict[str, Hourly] = {
    "temperature_2m": Hourly("temperature", 1, lambda at: at.now.temperature_c),
    "relative_humidity_2m": Hourly("percent", 0, lambda at: at.now.rh_pct),
    "dew_point_2m": Hourly("temperature", 1, lambda at: at.now.dewpoint_c),
    "wind_speed_10m": Hourly("wind", 1, lambda at: at.now.wind_10m_m_s),
    "shortwave_radiation": Hourly("radiation", 1, lambda at: at.past.solar_mj_m2 / 0.0036),
    "precipitation": Hourly("rain", 2, lambda at: at.past.rain_mm),
    "precipitation_probability": Hourly("percent", 0, lambda at: at.past.rain_chance_pct),
    "et0_fao_evapotranspiration": Hourly("rain", 2, lambda at: et0_mm_h(at.now, at.past, at.elevation_m)),
    "vapour_pressure_deficit": Hourly("pressure_kpa", 2, _vapour_pressure_deficit),
    "surface_pressure": Hourly("pressure_hpa", 1, lambda at: 10 * pressure_kpa(at.elevation_m)),
}


def _extremes(name: str, hourly: str, kind: str, digits: int) -> dict[str, Daily]:
    return {f"{name}_{how}": Daily(kind, digits, hourly, how) for how in ("max", "min", "mean")}


DAILY: dict[str, Daily] = {
    **_extremes("temperature_2m", "temperature_2m", "temperature", 1),
    **_extremes("relative_humidity_2m", "relative_humidity_2m", "percent", 0),
    **_extremes("dew_point_2m", "dew_point_2m", "temperature", 1),
    **_extremes("wind_speed_10m", "wind_speed_10m", "wind", 1),
    "shortwave_radiation_sum": Daily("radiation_sum", 2, "shortwave_radiation", "sum", 0.0036),
    "precipitation_sum": Daily("rain", 2, "precipitation", "sum"),
    "precipitation_hours": Daily("hours", 1, "precipitation", "hours"),
    "precipitation_probability_max": Daily("percent", 0, "precipitation_probability", "max"),
    "et0_fao_evapotranspiration": Daily("rain", 2, "et0_fao_evapotranspiration", "sum"),
    "sunrise": Daily("time", 0, "", "sun"),
    "sunset": Daily("time", 0, "", "sun"),
    "daylight_duration": Daily("seconds", 2, "", "sun"),
}

_WET_HOUR_MM = 0.1  # an hour counts as one with precipitation from here on (from memory, to be verified)


def together(values: Values, how: str) -> float | None:
    """Make a day of its hours; a day that lacks one is null."""
    known = [value for value in values if value is not None]
    if len(known) < len(values) or not known:
        return None
    if how == "hours":
        return float(sum(value >= _WET_HOUR_MM for value in known))
    total = sum(known)
    return {"max": max(known), "min": min(known), "sum": total, "mean": total / len(known)}[how]


# Spelling of units: °C, km/h, iso8601, seconds are read; the rest is from memory, to be verified.
_CHOSEN = {
    "temperature": ("temperature_unit", {"celsius": ("°C", 1.0, 0.0), "fahrenheit": ("°F", 1.8, 32.0)}),
    "wind": (
        "wind_speed_unit",
        {
            "kmh": ("km/h", 3.6, 0.0),
            "ms": ("m/s", 1.0, 0.0),
            "mph": ("mp/h", 1 / 0.44704, 0.0),
            "kn": ("kn", 3.6 / 1.852, 0.0),
        },
    ),
    "rain": ("precipitation_unit", {"mm": ("mm", 1.0, 0.0), "inch": ("inch", 1 / 25.4, 0.0)}),
    "time": ("timeformat", {"iso8601": ("iso8601", 1.0, 0.0), "unixtime": ("unixtime", 1.0, 0.0)}),
}
_FIXED = {
    "percent": "%",
    "radiation": "W/m²",
    "radiation_sum": "MJ/m²",
    "pressure_kpa": "kPa",
    "pressure_hpa": "hPa",
    "hours": "h",
    "seconds": "s",
}


def unit_of(kind: str, chosen: dict[str, str]) -> tuple[str, float, float]:
    """Give a unit as it is spelled, and factor and offset that lead to it from °C, m/s or mm."""
    if kind in _FIXED:
        return _FIXED[kind], 1.0, 0.0
    parameter, units = _CHOSEN[kind]
    return units[chosen[parameter]]


def written(values: Values, unit: tuple[str, float, float], digits: int) -> Values:
    """Bring values to their unit and round them as the hosts write them."""
    _, factor, offset = unit
    more = 1 if unit[0] == "inch" else 0  # 0.01 inch would hide a light rain
    return [None if value is None else round(value * factor + offset, digits + more) for value in values]
