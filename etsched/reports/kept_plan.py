"""A week's document that was kept, read back into the plan that it was written from, so that every table can set it.

What the document does not hold stays as the dataclasses have it: which light runs a day's hours could not hold, and
the hours by day beyond the runs in them. The site file says where the property is; what a visit found in it (areas,
faults) is taken from the document, since the plan was made by that.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import fields, replace
from datetime import date, datetime, timedelta
from typing import cast

from etsched.days import Night, day_text
from etsched.errors import PlanRefused
from etsched.model.light_runs import LightDay, LightRun
from etsched.model.plan import (
    Assumption,
    BooksBefore,
    Cycle,
    DayWeather,
    DepletionRange,
    MinutesRange,
    NightPlan,
    Remedy,
    Rest,
    RestKind,
    Run,
    Saving,
    Shortfall,
    StationDay,
    Step,
    WaterState,
    WeekBound,
    WeekPlan,
)
from etsched.model.site import Basis, Site, Station, WaterPrice
from etsched.reports.encode import Json
from etsched.tables.rests import rest_text
from etsched.units import UnitSystem

_LOOKED_BACK_D = 366  # the words name no year


def plan_from(week: Json, site: Site) -> WeekPlan:
    """Give the plan of a document, schema `etsched.week/1`.

    Raises PlanRefused where it is of stations that the site file does not have any more.
    """
    first_day, days = _date(week["first_day"]), tuple(_day(each) for each in week["weather"])
    return WeekPlan(
        site=_site(week, site),
        first_day=first_day,
        days=days,
        nights=tuple(_night(each) for each in week["nights"]),
        books=tuple(_book(each) for each in week["books"]),
        start=_water(week["water"]),
        end=_water(week["water_end"]),
        assumptions=tuple(_assumption(each) for each in week["assumptions"]),
        notes=tuple(week["notes"]),
        weather_source=week["weather_source"],
        attributions=tuple(week["weather_credits"]),
        light=_light(week.get("light_runs", ())),
        watered=_before(week["applied"], first_day),
        observed_through=_observed_through(week["weather_as_of"], first_day),
        # Documents of earlier versions have none.
        forecast_from=_date(week["forecast_from"]) if week.get("forecast_from") else None,
        rests=tuple(_rest(each, cast("UnitSystem", week["units"])) for each in week["rests"]),
        ranges=tuple(_range(row) for row in week["stations"] if row["likely"] is not None),
        bound=None if week["bound"] is None else WeekBound(**week["bound"]),
        before=_days_before(week.get("before", {"weather": (), "books": ()})),
        # Documents of earlier versions have none.
        depletion_ranges=tuple(_likely(each) for each in week.get("likely_depletion", ())),
        remedies=tuple(Remedy(**each) for each in week["remedies"]),
        savings=tuple(_saving(row) for row in week.get("savings", ())),
    )


def _site(week: Json, site: Site) -> Site:
    known = {station.terminal: station for station in site.stations}
    gone = [row["terminal"] for row in week["stations"] if row["terminal"] not in known]
    if gone:
        raise PlanRefused(
            f"the last plan has a station {gone[0]} that the site file does not have any more; plan the week anew"
        )
    stations = tuple(_station(row, known[row["terminal"]]) for row in week["stations"])
    units = "metric" if week["units"] == "metric" else "us"
    # The price that the plan was made with, also where the site file states another one by now.
    price = week.get("water_price")
    return replace(
        site,
        name=week["site"]["name"],
        stations=stations,
        units=units,
        water_price=None if price is None else WaterPrice(**price),
    )


def _station(row: Json, known: Station) -> Station:
    return replace(known, area=row["area"], plan_number=row["plan_number"] or None, blocked=row["blocked"] or None)


def _day(row: Json) -> DayWeather:
    lists: Json = {name: tuple(row[name]) for name in ("filled", "reasons", "sources")}
    plainly = {name: row[name] for name in row if name not in {"day", "kind"}}
    kind = row["kind"]
    return DayWeather(
        day=_date(row["day"]), forecast=kind == "forecast", standing_in=kind == "standing in", **{**plainly, **lists}
    )


def _observed_through(as_of: str, first_day: date) -> date | None:
    """Find the day that the document names in words; it may lie before every day that the document has."""
    words = as_of.partition(";")[0].removeprefix("observed through ")
    backwards = (first_day - timedelta(days=back) for back in range(_LOOKED_BACK_D))
    return next((day for day in backwards if day_text(day) == words), None)


def _night(row: Json) -> NightPlan:
    window = Night(
        opens_on=_date(row["opens_on"]),
        opens=datetime.fromisoformat(row["opens_utc"]),
        closes=datetime.fromisoformat(row["closes_utc"]),
        serves=_date(row["serves"]),
    )
    shortfalls = tuple(Shortfall(**each) for each in row["shortfalls"])
    return NightPlan(window, tuple(_run(each) for each in row["runs"]), row["used_min"], row["bound_min"], shortfalls)


def _run(row: Json) -> Run:
    same = {
        name: row[name]
        for name in (
            "terminal", "wanted_min", "depletion_mm", "allowable_mm", "net_mm", "gross_mm", "applied_mm",
            "credited_mm", "flow_l", "reason",
        )
    }  # fmt: skip
    steps = (_step(each) for each in row["working"])
    cycles = tuple(Cycle(each["start_min"], each["length_min"]) for each in row["cycles"])
    return Run(cycles=cycles, soak_min=row["least_soak_min"], working=tuple(steps), **same)


def _step(row: Json) -> Step:
    return Step(row["name"], row["value"], row["unit"], row["formula"], row["source"])


def _book(row: Json) -> StationDay:
    return StationDay(**{**{each.name: row[each.name] for each in fields(StationDay)}, "day": _date(row["day"])})


def _days_before(row: Json) -> BooksBefore:
    return BooksBefore(tuple(_day(each) for each in row["weather"]), tuple(_book(each) for each in row["books"]))


def _likely(row: Json) -> DepletionRange:
    return DepletionRange(**{**row, "day": _date(row["day"])})


def _date(text: str) -> date:
    return date.fromisoformat(text)


def _water(row: Json) -> WaterState:
    deficit, thickness = (
        {int(terminal): tuple(layers) for terminal, layers in row[name].items()}
        for name in ("deficit_mm", "thickness_mm")
    )
    return WaterState(_date(row["morning"]), deficit, thickness)


def _assumption(row: Json) -> Assumption:
    given = {name: row[name] for name in row if name not in {"unit", "reader", "basis"}}
    return Assumption(suffix=row["unit"], basis=Basis(row["basis"]), **given)


def _saving(row: Json) -> Saving:
    return Saving(**{each.name: row[each.name] for each in fields(Saving)})


def _range(row: Json) -> MinutesRange:
    return MinutesRange(terminal=row["terminal"], **row["likely"])


def _rest(row: Json, system: UnitSystem) -> Rest:
    """Read a rest; its sentence is the reason and what the table adds to it, and the table adds that again."""
    bare = Rest(
        terminal=row["terminal"],
        opens_on=_date(row["opens_on"]),
        serves=_date(row["serves"]),
        kind=RestKind(row["kind"]),
        reason="",
        depletion_mm=row["depletion_mm"],
        peak_mm=row["peak_mm"],
        allowable_mm=row["allowable_mm"],
        until=_date(row["waters_next_for"]) if row["waters_next_for"] else None,
    )
    return replace(bare, reason=row["reason"].removesuffix(rest_text(bare, system)))


def _before(applied: Iterable[Json], first_day: date) -> tuple[tuple[int, date, int], ...]:
    runs = ((each["terminal"], _date(each["serves"]), each["minutes"]) for each in applied)
    return tuple(run for run in runs if run[1] < first_day)


def _light(rows: Iterable[Json]) -> tuple[LightDay, ...]:
    by_day: dict[str, list[Json]] = {}
    for row in rows:
        by_day.setdefault(row["day"], []).append(row)
    return tuple(_light_day(_date(day), of_day) for day, of_day in by_day.items())


def _light_day(day: date, rows: list[Json]) -> LightDay:
    begins = [(datetime.fromisoformat(start), row) for row in rows for start in row["starts_utc"]]
    opens = min(start for start, _ in begins)
    closes = max(start + timedelta(minutes=row["minutes_each"]) for start, row in begins)
    runs = [_light_run(int((start - opens).total_seconds() // 60), row) for start, row in begins]
    in_order = sorted(runs, key=lambda run: (run.start_min, run.terminal))
    return LightDay(Night(day, opens, closes, day), tuple(in_order))


def _light_run(start_min: int, row: Json) -> LightRun:
    share = 1.0 / len(row["starts_utc"])
    flow_l = None if row["volume_l"] is None else row["volume_l"] * share
    applied_mm = row["applied_mm"] * share
    # The books are kept already: what they credited, and when in the day, is not asked again.
    return LightRun(row["terminal"], start_min, row["minutes_each"], applied_mm, applied_mm, flow_l, 0.0)
