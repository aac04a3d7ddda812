"""The week's table as CSV (RFC 4180): one row a station and night, units in the header names."""

from __future__ import annotations

import csv
import io

from etsched.model.plan import WeekPlan
from etsched.tables.figure import Figure
from etsched.tables.light_runs import LightRow, light_table
from etsched.tables.nights import NightColumn
from etsched.tables.week import StationRow, WeekTable, week_table
from etsched.units import UnitSystem

# A spreadsheet takes a cell that begins so for a formula; the last four are their full-width twins.
_FORMULA_SIGNS = ("=", "+", "-", "@", "\t", "\r", "\n", "\uff1d", "\uff0b", "\uff0d", "\uff20")


def week_csv(plan: WeekPlan, system: UnitSystem | None = None) -> str:
    """Write the week as CSV with a header; every station has a row in every night, also one that rests.

    `state` and `missing_min` are the night's own, so that columns can be summed; what begins with `week_`, `mark` and
    `remark` are the week's, the same on every night.
    """
    table = week_table(plan, system)
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(_header(table))
    for index, night in enumerate(table.nights):
        for row in table.rows:
            writer.writerow((*_cells(night, row, index), "; ".join(plan.attributions)))
    for light in light_table(plan, system):
        writer.writerow((*_light_cells(light), "; ".join(plan.attributions)))
    return out.getvalue()


def _header(table: WeekTable) -> tuple[str, ...]:
    depth, volume = ("mm", "L") if table.system == "metric" else ("in", "gal")
    return (
        "night_opens_on",
        "serves",
        "terminal",
        "plan_number",
        "area",
        "state",
        "starts_local",
        "cycles_min",
        "least_soak_min",
        "minutes",
        f"depth_{depth}",
        f"volume_{volume}",
        *([f"cost_{table.currency}"] if table.currency else []),
        "week_minutes",
        f"week_depth_{depth}",
        f"week_volume_{volume}",
        *([f"week_cost_{table.currency}"] if table.currency else []),
        "missing_min",
        "mark",
        "remark",
        "weather_credit",
    )


def _cells(night: NightColumn, row: StationRow, index: int) -> tuple[str | int, ...]:
    cell = row.cells[index]
    return (
        night.opens_on.isoformat(),
        night.serves.isoformat(),
        row.terminal,
        guarded(row.plan_number),
        guarded(row.area),
        row.state_on(index),
        "; ".join(cell.starts) if cell else "",
        cell.cycles if cell else "",
        cell.soak_min if cell and cell.soak_min else "",
        cell.minutes if cell else 0,
        cell.depth.shown if cell else "",
        cell.volume.shown if cell else "",
        *_cost(row.volume.cost, cell.cost if cell else None),
        row.minutes,
        row.depth.shown,
        row.volume.known.shown,
        *_cost(row.volume.cost, row.volume.cost),
        row.missing[index],
        row.mark,
        guarded(row.remark),
    )


def _light_cells(row: LightRow) -> tuple[str | int, ...]:
    """Write a row of runs by day, which open on and serve one day; what is the week's stands in the nights' rows."""
    return (
        row.day.isoformat(),
        row.day.isoformat(),
        row.terminal,
        guarded(row.plan_number),
        guarded(row.area),
        "by day",
        "; ".join(row.starts),
        f"{len(row.starts)} × {row.each_min}",
        "",
        row.minutes,
        row.depth.shown,
        row.volume.known.shown,
        *_cost(row.volume.cost, row.volume.cost),
        *("",) * 3,
        *_cost(row.volume.cost, None),
        *("",) * 3,
    )


def _cost(priced: Figure | None, cost: Figure | None) -> tuple[str, ...]:
    """Give the cell of a cost; none at all where no price is stated, since its column is left out then."""
    return () if priced is None else (cost.shown if cost else "",)


def guarded(text: str) -> str:
    """Put an apostrophe before a text that a spreadsheet would run as a formula."""
    runs = text.startswith(_FORMULA_SIGNS) or text.lstrip().startswith(_FORMULA_SIGNS)
    return f"'{text}" if runs else text
