"""What the picture of the fortnight shows, in words: for those who do not see it, and for one day under a pointer."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from datetime import date

from etsched.days import day_text
from etsched.model.plan import DayWeather
from etsched.tables.clock import days_text
from etsched.tables.figure import count_of, figure, span
from etsched.tables.weather import WeatherRow, kind_of
from etsched.units import UnitSystem


def described(days: Sequence[DayWeather], system: UnitSystem) -> str:
    """Tell the days, their extremes and sums, and how far to trust them."""
    parts = (days_counted(days), _temperatures(days, system), _rain(days, system), _et(days, system), _grades(days))
    return " ".join(f"{sentence}." for part in parts for sentence in part)


def day_in_words(row: WeatherRow) -> str:
    """Tell all that is known of one day."""
    parts = [
        f"{row.day}, {row.kind}",
        f"temperature {row.tmin.text} to {row.tmax.text}",
        f"rain {row.rain.text}" + (f", likely {row.rain_range}" if row.rain_range else ""),
        f"reference ET {row.eto.text}" + (f", likely {row.eto_range}" if row.eto_range else ""),
        f"grade {row.grade or 'not checked'}",
        row.reasons,
        row.filled,
        row.sources,
    ]
    return "; ".join(part for part in parts if part)


def days_counted(days: Sequence[DayWeather]) -> Iterator[str]:
    """Tell which days there are and how many of them are known how."""
    kinds = [kind_of(day) for day in days]
    counted = ", ".join(
        f"{kinds.count(kind)} {kind}" for kind in ("observed", "forecast", "standing in") if kind in kinds
    )
    yield f"{days_text([day.day for day in days])}: {count_of(len(days), 'day', 'days')}, {counted}"


def _temperatures(days: Sequence[DayWeather], system: UnitSystem) -> Iterator[str]:
    known = [day for day in days if not math.isnan(day.tmin_c + day.tmax_c)]
    if known:
        low, high = min(known, key=lambda day: day.tmin_c), max(known, key=lambda day: day.tmax_c)
        yield (
            f"Lowest temperature {figure(low.tmin_c, 'c', system).text} on {day_text(low.day)}, "
            f"highest {figure(high.tmax_c, 'c', system).text} on {day_text(high.day)}"
        )
    if len(known) < len(days):
        yield f"No temperatures for {days_text([day.day for day in days if day not in known])}"


def _rain(days: Sequence[DayWeather], system: UnitSystem) -> Iterator[str]:
    wet = [day for day in days if day.rain_mm > 0.0]
    if wet:
        most = max(wet, key=lambda day: day.rain_mm)
        together = figure(math.fsum(day.rain_mm for day in wet), "mm", system)
        yield (
            f"Rain on {count_of(len(wet), 'day', 'days')}, {together.text} together, "
            f"most on {day_text(most.day)} with {figure(most.rain_mm, 'mm', system).text}"
        )
    else:
        yield "No rain"
    yield from _ranges("rain", [(day.day, day.rain_low_mm, day.rain_high_mm) for day in days], system)


def _et(days: Sequence[DayWeather], system: UnitSystem) -> Iterator[str]:
    known = [day for day in days if not math.isnan(day.eto_mm)]
    if known:
        least, most = (pick(known, key=lambda day: day.eto_mm) for pick in (min, max))
        together = figure(math.fsum(day.eto_mm for day in known), "mm", system)
        yield (
            f"Reference ET {together.text} together, least on {day_text(least.day)} with "
            f"{figure(least.eto_mm, 'mm', system).text}, most on {day_text(most.day)} with "
            f"{figure(most.eto_mm, 'mm', system).text}"
        )
    yield from _ranges("reference ET", [(day.day, day.eto_low_mm, day.eto_high_mm) for day in days], system)


def _ranges(what: str, ends: Sequence[tuple[date, float | None, float | None]], system: UnitSystem) -> Iterator[str]:
    known = [(high - low, low, high, day) for day, low, high in ends if low is not None and high is not None]
    wide = [each for each in known if each[0] > 0.0]
    if wide:
        _, low, high, day = max(wide)
        text = span(figure(low, "mm", system), figure(high, "mm", system))
        yield f"A likely range of {what} for {count_of(len(wide), 'day', 'days')}, widest {text} on {day_text(day)}"


def _grades(days: Sequence[DayWeather]) -> Iterator[str]:
    graded = dict.fromkeys(day.grade for day in days)
    yield "Grade of the weather: " + "; ".join(
        f"{grade or 'not checked'} {days_text([day.day for day in days if day.grade == grade])}" for grade in graded
    )
