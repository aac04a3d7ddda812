"""What the plan took the week's weather to be, day by day, and how much of it anybody measured."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Literal

from etsched.days import day_text
from etsched.model.plan import DayWeather, WeekPlan
from etsched.tables.clock import days_text
from etsched.tables.figure import Figure, figure, plain, reader_system
from etsched.units import UnitSystem

Kind = Literal["observed", "forecast", "standing in"]


@dataclass(frozen=True, slots=True)
class WeatherRow:
    """One day."""

    date: date
    day: str
    kind: Kind
    tmin: Figure
    tmax: Figure
    eto: Figure
    rain: Figure
    filled: str  # which variables were filled, and how


@dataclass(frozen=True, slots=True)
class WeatherTable:
    """The days, where they come from, and one sentence on what of them is known."""

    source: str
    as_of: str
    rows: tuple[WeatherRow, ...]


def weather_table(plan: WeekPlan, system: UnitSystem | None = None) -> WeatherTable:
    """Write the weather the plan rests on."""
    read = reader_system(plan, system)
    rows = tuple(_row(day, read) for day in plan.days)
    return WeatherTable(plain(plan.weather_source), _as_of(plan.observed_through, rows), rows)


def _row(day: DayWeather, system: UnitSystem) -> WeatherRow:
    return WeatherRow(
        date=day.day,
        day=day_text(day.day),
        kind=kind_of(day),
        tmin=figure(day.tmin_c, "c", system),
        tmax=figure(day.tmax_c, "c", system),
        eto=figure(day.eto_mm, "mm", system),
        rain=figure(day.rain_mm, "mm", system),
        filled="; ".join(plain(reason) for reason in day.filled),
    )


def kind_of(day: DayWeather) -> Kind:
    """Say how a day's weather is known."""
    if day.standing_in:
        return "standing in"
    return "forecast" if day.forecast else "observed"


def _as_of(observed: date | None, rows: tuple[WeatherRow, ...]) -> str:
    forecast = [row.date for row in rows if row.kind == "forecast"]
    standing_in = [row.date for row in rows if row.kind == "standing in"]
    parts = [f"observed through {day_text(observed)}" if observed else "nothing observed"]
    if forecast:
        parts.append(f"forecast {days_text(forecast)}")
    if standing_in:
        parts.append(f"no weather given for {days_text(standing_in)}: recent mean ETo and no rain stand in")
    return "; ".join(parts)
