"""One visit as one printable page: what to do, why, how it comes back, and what that rests on. No script."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

from etsched.charts.cup_map import cup_map_svg
from etsched.reports.week_page import page_environment
from etsched.tables.visit import VisitTable, visit_table

if TYPE_CHECKING:
    from etsched.planning.visit_outcome import VisitOutcome
    from etsched.units import UnitSystem

_OWN_STYLE = re.compile(r' style="[^"]*"')


def visit_page(outcome: VisitOutcome, system: UnitSystem | None = None, back: str = "") -> str:
    """Write the page; every text of a person is escaped, so a hostile name is shown and never obeyed.

    `back` is the address of the property's own page, where the report is one page of a service.
    """
    values = visit_values(outcome, visit_table(outcome, system))
    return page_environment().get_template("visit.html.j2").render(values, property=back)


def visit_values(outcome: VisitOutcome, table: VisitTable) -> dict[str, Any]:
    """Give what the templates of a visit, and of its parts, are set from."""
    return {
        "table": table,
        "maps": [_map(outcome, table, at) for at in range(len(table.cups))],
        "zone": outcome.filed.place.zone.key,
        "sheet": "portrait",
    }


def _map(outcome: VisitOutcome, table: VisitTable, at: int) -> str:
    """Draw a cup test, nothing where it was refused. The drawing escapes its own texts, so the page takes it whole.

    Its size is the page's to say: a style of its own would be kept out where the service shows the page.
    """
    read, row = outcome.cups[at], table.cups[at]
    if read.result is None:
        return ""
    drawn = cup_map_svg(read.test, read.result, row.name, table.system, row.tonight.value)
    return _OWN_STYLE.sub("", drawn, count=1)
