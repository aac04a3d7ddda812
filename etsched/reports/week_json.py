"""The week as one JSON document, schema `etsched.week/1`: metric numbers, the reader's figures beside."""

from __future__ import annotations

from dataclasses import asdict
from datetime import date, timedelta
from typing import Any

from etsched.model.plan import Assumption, DayWeather, NightPlan, Rest, WeekPlan
from etsched.model.site import Site
from etsched.reports import encode
from etsched.tables.figure import figure, reader_system
from etsched.tables.light_runs import LightRow, light_table
from etsched.tables.nights import NightOrder, night_clock, night_order
from etsched.tables.rests import HoldRow, hold_table, rest_text
from etsched.tables.savings import savings_table
from etsched.tables.totals import totals
from etsched.tables.volume import NO_CUPS
from etsched.tables.weather import kind_of, weather_table
from etsched.tables.week import StationRow, week_table
from etsched.units import UnitSystem

SCHEMA = "etsched.week/1"


def week_json(plan: WeekPlan, system: UnitSystem | None = None) -> str:
    """Write the whole plan, so that a later run can carry on from it and a person can follow every number.

    `water` is the ground on the first morning, `applied` what the week then puts down by the day it serves, light runs
    by day included (and, of dormant turf, the last run before the week), `water_end` the ground on the morning after
    the week.
    """
    read = reader_system(plan, system)
    return encode.to_text(
        {
            "schema": SCHEMA,
            "units": read,
            "site": _site(plan.site),
            "first_day": plan.first_day.isoformat(),
            "weather_source": plan.weather_source,
            "weather_as_of": weather_table(plan, read).as_of,
            "forecast_from": plan.forecast_from.isoformat() if plan.forecast_from else None,
            "weather": [_day(day) for day in plan.days],
            "nights": [
                _night(plan, night, order, read)
                for night, order in zip(plan.nights, night_order(plan, read), strict=True)
            ],
            **_light(plan, read),
            "stations": [_station(row) for row in week_table(plan, read).rows],
            "totals": _totals(plan, read),
            "water_price": None if plan.site.water_price is None else asdict(plan.site.water_price),
            "bound": None if plan.bound is None else asdict(plan.bound),
            "remedies": [asdict(each) for each in plan.remedies],
            "savings": _savings(plan, read),
            "rests": [rest(each, read) for each in plan.rests],
            "holds": [_hold(row) for row in hold_table(plan)],
            "water": encode.water(plan.start),
            "applied": _applied(plan),
            "water_end": encode.water(plan.end),
            "books": [encode.books(line) for line in plan.books],
            **_before(plan),
            "likely_depletion": [{**asdict(each), "day": each.day.isoformat()} for each in plan.depletion_ranges],
            "assumptions": [assumption(each, read) for each in plan.assumptions],
            "notes": list(plan.notes),
            "weather_credits": list(plan.attributions),
        }
    )


def _savings(plan: WeekPlan, system: UnitSystem) -> list[dict[str, Any]]:
    """Write what even water would save; a station without cups has nulls."""
    table = savings_table(plan, system)
    saved = {} if table is None else {row.terminal: row.saved for row in table.rows}
    return [
        {
            **asdict(each),
            "saved": saved[each.terminal].text if each.terminal in saved else NO_CUPS,
            **(encode.cost(saved[each.terminal]) if each.terminal in saved else {"cost_money": None, "cost": None}),
        }
        for each in plan.savings
    ]


def _before(plan: WeekPlan) -> dict[str, Any]:
    """Write the days before as far as their books are known; nothing at all where none is."""
    if not plan.before.books:
        return {}
    days, books = (_day(day) for day in plan.before.days), (encode.books(line) for line in plan.before.books)
    return {"before": {"weather": list(days), "books": list(books)}}


def rest(each: Rest, system: UnitSystem) -> dict[str, Any]:
    """Write why a station does not water on a night."""
    return {
        "terminal": each.terminal,
        "opens_on": each.opens_on.isoformat(),
        "serves": each.serves.isoformat(),
        "kind": each.kind.value,
        "reason": rest_text(each, system),
        "depletion_mm": each.depletion_mm,
        "peak_mm": each.peak_mm,
        "allowable_mm": each.allowable_mm,
        "waters_next_for": each.until.isoformat() if each.until else None,
    }


def _hold(row: HoldRow) -> dict[str, Any]:
    return {
        "kind": row.kind,
        "stations": row.stations,
        "first": row.first.isoformat(),
        "last": row.last.isoformat(),
        "ends": row.ends,
        "reason": row.reason,
    }


def _site(site: Site) -> dict[str, Any]:
    return {
        "name": site.name,
        "latitude_deg": site.place.latitude_deg,
        "longitude_deg": site.place.longitude_deg,
        "elevation_m": site.place.elevation_m,
        "zone": site.place.zone.key,
    }


def _day(day: DayWeather) -> dict[str, Any]:
    return {
        "day": day.day.isoformat(),
        "kind": kind_of(day),
        "tmin_c": day.tmin_c,
        "tmax_c": day.tmax_c,
        "eto_mm": day.eto_mm,
        "eto_low_mm": day.eto_low_mm,
        "eto_high_mm": day.eto_high_mm,
        "rain_mm": day.rain_mm,
        "rain_low_mm": day.rain_low_mm,
        "rain_high_mm": day.rain_high_mm,
        "rain_chance_pct": day.rain_chance_pct,
        "filled": list(day.filled),
        "grade": day.grade,
        "reasons": list(day.reasons),
        "sources": list(day.sources),
    }


def _night(plan: WeekPlan, night: NightPlan, order: NightOrder, system: UnitSystem) -> dict[str, Any]:
    window, clock = night.night, night_clock(plan, night, system)
    return {
        "opens_on": window.opens_on.isoformat(),
        "serves": window.serves.isoformat(),
        "opens_utc": encode.utc(window.opens),
        "closes_utc": encode.utc(window.closes),
        "opens_local": clock.local(0).isoformat(),
        "closes_local": clock.local(window.length_min).isoformat(),
        "length_min": window.length_min,
        "used_min": night.used_min,
        "bound_min": night.bound_min,
        "minutes": order.night.minutes,
        "finishes": order.night.finishes,
        "volume": order.night.volume.text,
        "runs": [
            encode.run(run, [start for start in order.starts if start.terminal == run.terminal], system)
            for run in night.runs
        ],
        "shortfalls": [
            {"terminal": short.terminal, "missing_min": short.missing_min, "reason": short.reason}
            for short in night.shortfalls
        ],
    }


def _light(plan: WeekPlan, system: UnitSystem) -> dict[str, Any]:
    """Write the runs by day; nothing at all where no turf is new."""
    if not plan.light:
        return {}
    rows = [
        {
            "day": row.day.isoformat(),
            "terminal": row.terminal,
            "area": row.area,
            "starts_local": list(row.starts),
            "starts_utc": _light_starts(plan, row),
            "minutes_each": row.each_min,
            "minutes": row.minutes,
            "applied_mm": row.depth.value,
            "depth": row.depth.text,
            "volume_l": row.volume.known.value,
            "volume": row.volume.text,
            **encode.cost(row.volume),
        }
        for row in light_table(plan, system)
    ]
    return {"light_runs": rows}


def _light_starts(plan: WeekPlan, row: LightRow) -> list[str]:
    """Give the instants at which a station's runs of a day begin, for who reads no wall clock."""
    hours = next(day for day in plan.light if day.hours.serves == row.day)
    runs = [run for run in hours.runs if run.terminal == row.terminal]
    return [encode.utc(hours.hours.opens + timedelta(minutes=run.start_min)) for run in runs]


def _station(row: StationRow) -> dict[str, Any]:
    return {
        "terminal": row.terminal,
        "plan_number": row.plan_number,
        "area": row.area,
        "state": row.state,
        "blocked": row.blocked,
        "minutes": row.minutes,
        "likely": _likely(row),
        "applied_mm": row.depth.value,
        "depth": row.depth.text,
        "volume_l": row.volume.known.value,
        "volume": row.volume.text,
        **encode.cost(row.volume),
        "missing_min": row.missing_min,
        "guessed": list(row.guessed),
        "mark": row.mark,
        "remark": row.remark,
        "cells": [cell.text if cell else None for cell in row.cells],
    }


def _likely(row: StationRow) -> dict[str, Any] | None:
    """Write the likely range of the minutes wanted, what moves it most, and what would narrow it."""
    if row.likely is None:
        return None
    return {
        "wanted_min": row.likely.wanted_min,
        "low_min": row.likely.low_min,
        "high_min": row.likely.high_min,
        "widest": row.likely.widest,
        "narrows": row.likely.narrows,
        "measure": row.likely.measure,
    }


def _totals(plan: WeekPlan, system: UnitSystem) -> dict[str, Any]:
    week = totals(plan, system)
    return {
        "eto_mm": week.eto.value,
        "eto": week.eto.text,
        "rain_mm": week.rain.value,
        "rain": week.rain.text,
        "minutes": week.minutes,
        "volume_l": week.volume.known.value,
        "volume": week.volume.text,
        **encode.cost(week.volume),
        "volume_unmetered_terminals": list(week.volume.unmetered),
    }


def _applied(plan: WeekPlan) -> list[dict[str, Any]]:
    minutes: dict[tuple[date, int], int] = {(day, terminal): ran for terminal, day, ran in plan.watered}
    nights = [(night.night.serves, run.terminal, run.length_min) for night in plan.nights for run in night.runs]
    lights = [(light.hours.serves, run.terminal, run.length_min) for light in plan.light for run in light.runs]
    for day, terminal, ran in (*nights, *lights):
        minutes[day, terminal] = minutes.get((day, terminal), 0) + ran
    return [
        {"terminal": terminal, "serves": day.isoformat(), "minutes": ran} for (day, terminal), ran in minutes.items()
    ]


def assumption(each: Assumption, system: UnitSystem) -> dict[str, Any]:
    """Write one assumption; `terminal` null means the whole property."""
    return {
        "terminal": each.terminal,
        "field": each.field,
        "value": each.value,
        "unit": each.suffix,
        "reader": figure(each.value, each.suffix, system).text,
        "basis": each.basis.value,
        "source": each.source,
        "low": each.low,
        "high": each.high,
        "minutes_now": each.minutes_now,
        "minutes_low": each.minutes_low,
        "minutes_high": each.minutes_high,
        "measure": each.measure,
    }
