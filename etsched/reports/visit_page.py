"""One visit as one printable page: what the clock delivers, what was seen and measured, what follows. No script."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from etsched.charts.cup_map import cup_map_svg
from etsched.reports.week_page import page_environment
from etsched.tables.visit import VisitTable, visit_table

if TYPE_CHECKING:
    from etsched.planning.visit_outcome import VisitOutcome
    from etsched.units import UnitSystem


def visit_page(outcome: VisitOutcome, system: UnitSystem | None = None) -> str:
    """Write the page; every text of a person is escaped, so a hostile name is shown and never obeyed."""
    table = visit_table(outcome, system)
    return page_environment().get_template("visit.html.j2").render(_values(outcome, table))


def _values(outcome: VisitOutcome, table: VisitTable) -> dict[str, Any]:
    return {
        "table": table,
        "maps": [_map(outcome, table, at) for at in range(len(table.cups))],
        "zone": outcome.filed.place.zone.key,
        "sheet": "portrait",
    }


def _map(outcome: VisitOutcome, table: VisitTable, at: int) -> str:
    """Draw a cup test, nothing where it was refused. The drawing escapes its own texts, so the page takes it whole."""
    read, row = outcome.cups[at], table.cups[at]
    if read.result is None:
        return ""
    return cup_map_svg(read.test, read.result, row.name, table.system, row.tonight.value)
