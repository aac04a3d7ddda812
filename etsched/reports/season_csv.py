"""A season as CSV (RFC 4180): one row a week, units in the header names."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence

from etsched.model.plan import WeekPlan
from etsched.tables.figure import reader_system
from etsched.tables.season import season_table
from etsched.units import UnitSystem


def season_csv(plans: Sequence[WeekPlan], system: UnitSystem | None = None) -> str:
    """Write every week of a season and its total."""
    read = reader_system(plans[0], system)
    depth, volume = ("mm", "L") if read == "metric" else ("in", "gal")
    table = season_table(plans, read)
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(
        (
            "week_of",
            f"reference_et_{depth}",
            f"rain_{depth}",
            "minutes",
            "station_nights",
            f"mean_depth_{depth}",
            f"volume_{volume}",
            "dry_station_days",
            "missing_min",
        )
    )
    dates = [plan.first_day.isoformat() for plan in plans]
    for name, row in zip([*dates, "season"], (*table.rows, table.total), strict=True):
        writer.writerow(
            (
                name,
                row.eto.shown,
                row.rain.shown,
                row.minutes,
                row.waterings,
                row.depth.shown,
                row.volume.known.shown,
                row.dry_days,
                row.missing_min,
            )
        )
    return out.getvalue()
