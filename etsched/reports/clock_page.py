"""The programs of an ordinary clock as one printable page to key in from. No script, no links."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from etsched.model.clock_table import ClockTable, Difference
from etsched.reports.week_page import page_environment
from etsched.tables.clock_programs import clock_sheet, signed
from etsched.units import UnitSystem


def clock_page(table: ClockTable, changes: Sequence[Difference] | None, system: UnitSystem | None = None) -> str:
    """Write the page; every text of a person is escaped, so a hostile name is shown and never obeyed."""
    return page_environment().get_template("clock.html.j2").render(clock_values(table, changes, system))


def clock_values(
    table: ClockTable, changes: Sequence[Difference] | None, system: UnitSystem | None = None
) -> dict[str, Any]:
    """Give what the templates of the clock's sheet are set from."""
    sheet = clock_sheet(table, changes, system)
    starts = max((len(each.starts) for each in sheet.programs), default=0)
    zone = table.site.place.zone.key
    return {"table": sheet, "starts": range(starts), "signed": signed, "zone": zone, "sheet": "portrait"}
