"""The heat check as one JSON document, schema `etsched.heat/1`: metric numbers, the reader's sentences beside."""

from __future__ import annotations

from dataclasses import asdict
from datetime import date
from typing import Any

from etsched.model.heat import HeatCheck, HeatNight
from etsched.model.plan import DayWeather
from etsched.reports import encode
from etsched.tables.heat_check import heat_system, heat_table
from etsched.units import UnitSystem

SCHEMA = "etsched.heat/1"


def heat_json(found: HeatCheck, system: UnitSystem | None = None) -> str:
    """Write the whole check; `table` is what the clock is set back to on `back_on`."""
    read = heat_system(found, system)
    table = heat_table(found, read)
    return encode.to_text(
        {
            "schema": SCHEMA,
            "units": read,
            "site": found.site.name,
            "first_day": found.first_day.isoformat(),
            "spell": {
                "hotter_c": found.spell.hotter_c,
                "first": found.spell.first.isoformat(),
                "last": found.spell.last.isoformat(),
                "words": table.spell,
            },
            "table_source": found.table_source,
            "programs": found.programs,
            "table": [
                {"terminal": terminal, "serves": serves.isoformat(), "minutes": minutes}
                for (terminal, serves), minutes in sorted(found.table_min.items(), key=lambda each: each[0][::-1])
            ],
            "days": [_day(found, day, usual) for day, usual in zip(found.days, found.usual_days, strict=True)],
            "stations": [_dated(asdict(station)) for station in found.stations],
            "nights": [_night(night) for night in found.nights],
            "percent_adjust": {**_dated(asdict(found.percent)), "words": list(table.percent)},
            "back_on": None if found.back_on is None else found.back_on.isoformat(),
            "verdict": list(table.verdict),
            "steps": list(table.steps),
            "back": table.back,
            "advice": [asdict(each) for each in found.advice],
            "notes": list(found.notes),
            "weather_source": found.weather_source,
            "weather_credits": list(found.attributions),
        }
    )


def _dated(values: dict[str, Any]) -> dict[str, Any]:
    return {name: value.isoformat() if isinstance(value, date) else value for name, value in values.items()}


def _day(found: HeatCheck, day: DayWeather, usual: DayWeather) -> dict[str, Any]:
    return {
        "day": day.day.isoformat(),
        "tmin_c": day.tmin_c,
        "tmax_c": day.tmax_c,
        "eto_mm": day.eto_mm,
        "usual_eto_mm": usual.eto_mm,
        "rain_mm": day.rain_mm,
        "standing_in": day.standing_in,
        "supposed": found.spell.hotter_c > 0.0 and found.spell.first <= day.day <= found.spell.last,
    }


def _night(night: HeatNight) -> dict[str, Any]:
    return {
        "opens_on": night.night.opens_on.isoformat(),
        "serves": night.night.serves.isoformat(),
        "opens_utc": encode.utc(night.night.opens),
        "closes_utc": encode.utc(night.night.closes),
        "length_min": night.night.length_min,
        "used_min": night.used_min,
        "bound_min": night.bound_min,
        "extra_min": night.extra_min,
        "fits_min": night.fits_min,
        "missing_min": night.missing_min,
        "runs": [asdict(run) for run in night.runs],
    }
