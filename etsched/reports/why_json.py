"""One station's week with its reasons as a JSON document, schema `etsched.why/1`."""

from __future__ import annotations

from typing import Any

from etsched.model.plan import WeekPlan
from etsched.reports import encode
from etsched.reports.week_json import assumption, rest
from etsched.tables.figure import reader_system
from etsched.tables.nights import night_order
from etsched.tables.working import find_station, working_table
from etsched.units import UnitSystem

SCHEMA = "etsched.why/1"


def why_json(plan: WeekPlan, terminal: int, system: UnitSystem | None = None) -> str:
    """Write what led to one station's minutes: water, books, working of every night, and what was assumed.

    Raises PlanRefused if the property has no such station.
    """
    read = reader_system(plan, system)
    station = find_station(plan, terminal)
    return encode.to_text(
        {
            "schema": SCHEMA,
            "units": read,
            "site": plan.site.name,
            "first_day": plan.first_day.isoformat(),
            "terminal": terminal,
            "plan_number": station.plan_number,
            "area": station.area,
            "blocked": station.blocked,
            "nights": _nights(plan, terminal, read),
            "rests": [rest(each, read) for each in plan.rests if each.terminal == terminal],
            "books": [encode.books(line) for line in plan.books if line.terminal == terminal],
            "assumptions": [assumption(each, read) for each in plan.assumptions if each.terminal in (None, terminal)],
        }
    )


def _nights(plan: WeekPlan, terminal: int, system: UnitSystem) -> list[dict[str, Any]]:
    nights = []
    for night, order in zip(plan.nights, night_order(plan, system), strict=True):
        starts = [start for start in order.starts if start.terminal == terminal]
        run = next((run for run in night.runs if run.terminal == terminal), None)
        nights.append(
            {
                "opens_on": night.night.opens_on.isoformat(),
                "serves": night.night.serves.isoformat(),
                "outcome": working_table(plan, terminal, night.night.opens_on, system).outcome,
                "missing_min": sum(s.missing_min for s in night.shortfalls if s.terminal == terminal),
                "run": None if run is None else encode.run(run, starts, system),
            }
        )
    return nights
