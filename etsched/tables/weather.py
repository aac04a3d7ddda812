"""What the weather is taken to be, day by day, how much of it anybody measured and how far to trust it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Literal

from etsched.days import day_text
from etsched.model.plan import DayWeather, WeekPlan
from etsched.tables.clock import days_text
from etsched.tables.figure import Figure, figure, plain, reader_system, span
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
    eto_range: str  # likely range, `0.28–0.33 in`; nothing where the reader would see one figure twice
    rain_range: str
    grade: str
    reasons: str  # behind the grade
    filled: str  # which variables were filled, and how
    sources: str  # which feed each value comes from


@dataclass(frozen=True, slots=True)
class WeatherTable:
    """The days, where they come from, and one sentence on what of them is known."""

    source: str
    as_of: str
    rows: tuple[WeatherRow, ...]


def weather_table(plan: WeekPlan, system: UnitSystem | None = None) -> WeatherTable:
    """Write the weather the plan rests on."""
    read = reader_system(plan, system)
    rows = weather_rows(plan.days, read)
    return WeatherTable(plain(plan.weather_source), _as_of(plan, rows), rows)


def weather_rows(days: Iterable[DayWeather], system: UnitSystem) -> tuple[WeatherRow, ...]:
    """Write any days, such as the fortnight before and after today, a line each."""
    return tuple(_row(day, system) for day in days)


def _row(day: DayWeather, system: UnitSystem) -> WeatherRow:
    return WeatherRow(
        date=day.day,
        day=day_text(day.day),
        kind=kind_of(day),
        tmin=figure(day.tmin_c, "c", system),
        tmax=figure(day.tmax_c, "c", system),
        eto=figure(day.eto_mm, "mm", system),
        rain=figure(day.rain_mm, "mm", system),
        eto_range=_range_text(day.eto_low_mm, day.eto_high_mm, system),
        rain_range=_range_text(day.rain_low_mm, day.rain_high_mm, system),
        grade=day.grade,
        reasons=_joined(day.reasons),
        filled=_joined(day.filled),
        sources=_joined(day.sources),
    )


def _range_text(low_mm: float | None, high_mm: float | None, system: UnitSystem) -> str:
    low, high = figure(low_mm, "mm", system), figure(high_mm, "mm", system)
    return "" if low.shown == high.shown else span(low, high)


def _joined(texts: tuple[str, ...]) -> str:
    return "; ".join(plain(text) for text in texts)


def kind_of(day: DayWeather) -> Kind:
    """Say how a day's weather is known."""
    if day.standing_in:
        return "standing in"
    return "forecast" if day.forecast else "observed"


def _as_of(plan: WeekPlan, rows: tuple[WeatherRow, ...]) -> str:
    observed = plan.observed_through
    forecast = [*_forecast_before(plan), *(row.date for row in rows if row.kind == "forecast")]
    standing_in = [row.date for row in rows if row.kind == "standing in"]
    parts = [f"observed through {day_text(observed)}" if observed else "nothing observed"]
    if forecast:
        parts.append(f"forecast {days_text(forecast)}")
    if standing_in:
        parts.append(f"no weather given for {days_text(standing_in)}: recent mean ETo and no rain stand in")
    return "; ".join(parts)


def _forecast_before(plan: WeekPlan) -> list[date]:
    """Give the days between what was observed and the week: today, which is not over when the week is planned."""
    if plan.forecast_from is None:
        return []
    return [plan.forecast_from + timedelta(days=on) for on in range((plan.first_day - plan.forecast_from).days)]
