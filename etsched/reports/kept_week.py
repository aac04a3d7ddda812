"""What is read out of a week's document that was kept: its nights for a controller, one station's reasons, other units.

The plan itself is gone by then. Every figure beside a canonical number is set anew for the reader who asks; sentences
stay as they were written, in the units that the site's own readers read.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from etsched.reports.encode import Json, utc
from etsched.tables.figure import Figure, figure
from etsched.tables.volume import Volume
from etsched.units import UnitSystem

WHY_SCHEMA = "etsched.why/1"
_BY_NIGHT = ("nights", "rests")


def week_in(week: Json, system: UnitSystem) -> Json:
    """Give a week's document with its readers' figures in other units."""
    light = [_texts_in(row, system) for row in week.get("light_runs", ())]
    changed = {
        "units": system,
        "nights": [_night_in(night, system) for night in week["nights"]],
        "stations": [_texts_in(row, system) for row in week["stations"]],
        "savings": [_saved_in(each, system) for each in week.get("savings", ())],
        "totals": _totals_in(week["totals"], system),
        "assumptions": [{**each, "reader": _reader(each, system)} for each in week["assumptions"]],
    }
    return {**week, **changed, **({"light_runs": light} if light else {})}


def nights_for_controller(week: Json, system: UnitSystem) -> list[Json]:
    """Give every night with what opens when: instants, the wall clock, whole minutes."""
    areas = {row["terminal"]: row["area"] for row in week["stations"]}
    zone = ZoneInfo(week["site"]["zone"])
    return [
        {
            **{key: night[key] for key in ("opens_on", "serves", "opens_utc", "closes_utc")},
            **{key: night[key] for key in ("opens_local", "closes_local", "minutes")},
            "volume": _volume(night["runs"], system).text,
            "runs": [_run(run, areas[run["terminal"]], night, zone, system) for run in night["runs"] if run["minutes"]],
            "light_runs": [
                _texts_in(row, system) for row in week.get("light_runs", ()) if row["day"] == night["serves"]
            ],
        }
        for night in week["nights"]
    ]


def why_from(week: Json, terminal: int, opens_on: str | None, system: UnitSystem) -> Json | None:
    """Give one station's reasons, schema `etsched.why/1`, of one night where it is named; None without the station."""
    station = next((row for row in week["stations"] if row["terminal"] == terminal), None)
    if station is None:
        return None
    nights, rests = ([each for each in week[name] if opens_on in (None, each["opens_on"])] for name in _BY_NIGHT)
    rests = [each for each in rests if each["terminal"] == terminal]
    serves = {each["serves"] for each in (*nights, *rests)}
    return {
        "schema": WHY_SCHEMA,
        "units": system,
        "site": week["site"]["name"],
        "first_day": week["first_day"],
        "terminal": terminal,
        "area": station["area"],
        "plan_number": station["plan_number"] or None,
        "blocked": station["blocked"] or None,
        "nights": [_why_night(night, terminal, system) for night in nights],
        "rests": rests,
        "books": [
            line
            for line in week["books"]
            if line["terminal"] == terminal and (opens_on is None or line["day"] in serves)
        ],
        "assumptions": [
            {**each, "reader": _reader(each, system)}
            for each in week["assumptions"]
            if each["terminal"] in (None, terminal)
        ],
    }


def _why_night(night: Json, terminal: int, system: UnitSystem) -> Json:
    run = next((run for run in night["runs"] if run["terminal"] == terminal), None)
    return {
        "opens_on": night["opens_on"],
        "serves": night["serves"],
        "missing_min": sum(each["missing_min"] for each in night["shortfalls"] if each["terminal"] == terminal),
        "run": None if run is None else _run_in(run, system),
    }


def _run(run: Json, area: str, night: Json, zone: ZoneInfo, system: UnitSystem) -> Json:
    opens = datetime.fromisoformat(night["opens_utc"])
    return {
        **{key: run[key] for key in ("terminal", "minutes", "applied_mm", "flow_l", "reason")},
        "area": area,
        "depth": figure(run["applied_mm"], "mm", system).text,
        "volume": _volume([run], system).text,
        "cycles": [_cycle(opens + timedelta(minutes=each["start_min"]), each, zone) for each in run["cycles"]],
    }


def _cycle(begins: datetime, cycle: Json, zone: ZoneInfo) -> Json:
    return {
        "start_utc": utc(begins),
        "start_local": begins.astimezone(zone).isoformat(),
        "minutes": cycle["length_min"],
    }


def _night_in(night: Json, system: UnitSystem) -> Json:
    return {
        **night,
        "volume": _volume(night["runs"], system).text,
        "runs": [_run_in(run, system) for run in night["runs"]],
    }


def _run_in(run: Json, system: UnitSystem) -> Json:
    return {**run, "working": [{**step, "reader": _reader(step, system, more_digits=1)} for step in run["working"]]}


def _texts_in(row: Json, system: UnitSystem) -> Json:
    volume = Volume(figure(row["volume_l"], "l", system), ())
    return {**row, "depth": figure(row["applied_mm"], "mm", system).text, "volume": volume.text}


def _saved_in(row: Json, system: UnitSystem) -> Json:
    if row["saved_l"] is None:
        return row
    return {**row, "saved": figure(row["saved_l"], "l", system).text}


def _totals_in(totals: Json, system: UnitSystem) -> Json:
    known = figure(totals["volume_l"], "l", system)
    return {
        **totals,
        "eto": figure(totals["eto_mm"], "mm", system).text,
        "rain": figure(totals["rain_mm"], "mm", system).text,
        "volume": Volume(known, tuple(totals["volume_unmetered_terminals"])).text,
    }


def _volume(runs: Iterable[Json], system: UnitSystem) -> Volume:
    """Add up as `tables.volume` does, from rows of a document."""
    watering = [run for run in runs if run["minutes"]]
    flows = [run["flow_l"] for run in watering if run["flow_l"] is not None]
    unmetered = tuple(sorted({run["terminal"] for run in watering if run["flow_l"] is None}))
    total: Figure = figure(sum(flows) if flows or not watering else None, "l", system)
    return Volume(total, unmetered)


def _reader(each: Any, system: UnitSystem, more_digits: int = 0) -> str:  # noqa: ANN401 - a row of a document
    return figure(each["value"], each["unit"], system, more_digits=more_digits).text
