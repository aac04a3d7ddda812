"""Reference ET of a weather file as CSV (RFC 4180), units in the header names."""

from __future__ import annotations

import csv
import io

from etsched.planning.et_days import EtDays
from etsched.tables.et import COLUMNS, et_table
from etsched.units import UnitSystem


def et_csv(days: EtDays, system: UnitSystem) -> str:
    """Write one row a day; an empty cell is not known."""
    depth, heat = ("mm", "c") if system == "metric" else ("in", "f")
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    names = (f"{name.removesuffix('_mm')}_{depth}" for name in COLUMNS)
    writer.writerow(("day", f"tmin_{heat}", f"tmax_{heat}", f"rain_{depth}", *names, "filled"))
    for row in et_table(days, system):
        figures = (row.tmin, row.tmax, row.rain, *row.et)
        writer.writerow((row.day.isoformat(), *(each.shown for each in figures), row.filled))
    return out.getvalue()
