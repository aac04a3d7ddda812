"""One station's root zone as it fills and empties: rain, irrigation, the water that is left, and the figures below.

Rain and irrigation hang from above, what is missing from full grows downwards, so that the water that is left stands
in the panel as it would in a tank. What lies ahead is hatched, its likely range a pale band round the line that is
expected; lines, shapes and textures tell everything, so that the picture reads without colour.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from xml.etree.ElementTree import Element, indent, tostring

from etsched.charts.axes import DayAxis
from etsched.charts.day_frame import MARGIN_PX, STYLE, credits_of, day_names, forecast_flag, headline
from etsched.charts.day_sheet import BLACK, LEFT_PX, RIGHT_PX, TEXT_PX, WIDTH_PX, Sheet, hatches
from etsched.charts.drawing import element, px, sized, told
from etsched.charts.root_zone_figures import figures
from etsched.charts.root_zone_panels import legend, visits_marked, water_in, water_left
from etsched.charts.root_zone_words import day_in_words, described, title
from etsched.errors import PlanRefused
from etsched.model.plan import WeekPlan
from etsched.tables.figure import reader_system
from etsched.tables.root_zone import RootZoneTable, root_zone_table
from etsched.units import UnitSystem

_WATER_IN_PX, _WATER_LEFT_PX = 90.0, 260.0


def root_zone(
    plan: WeekPlan, terminal: int, system: UnitSystem | None = None, visits: Sequence[date] = ()
) -> str:
    """Draw a station's week, and the days before it whose books are known, as one self-contained SVG.

    Parameters
    ----------
    plan : WeekPlan
    terminal : int
        The station.
    system : UnitSystem, optional
        The units its readers read; those of the site where nobody asks for others.
    visits : sequence of date
        Days on which somebody looked at the property.

    Returns
    -------
    str
        The same bytes for the same input, ready to be a file of its own or to stand in an HTML page.

    Raises
    ------
    PlanRefused
        Where the property has no such station, or its books no day.
    """
    table = root_zone_table(plan, terminal, system, visits)
    if not table.rows:
        raise PlanRefused(f"the water books of station {terminal} hold no day to draw")
    svg = Element("svg", {"xmlns": "http://www.w3.org/2000/svg", "class": "days root-zone", "role": "img"})
    told(svg, "title", title(plan, table))
    told(svg, "desc", described(table))
    element(svg, "style").text = STYLE
    hatches(svg)
    paper = element(svg, "rect", width=WIDTH_PX, fill="#fff")
    days = tuple(row.weather for row in table.rows)
    axis = DayAxis(days[0].day, (days[-1].day - days[0].day).days + 1, LEFT_PX, WIDTH_PX - RIGHT_PX - LEFT_PX)
    sheet = Sheet(svg, days, axis, reader_system(plan, system))
    named = _panels(sheet, table, forecast_flag(sheet, headline(sheet, title(plan, table))))
    bottom = figures(sheet, table, legend(sheet, table, named))
    _told_days(sheet, table, named)
    end = credits_of(sheet, plan.attributions, bottom)
    paper.set("height", px(end))
    sized(svg, WIDTH_PX, end, TEXT_PX, BLACK)
    indent(svg, "")
    return tostring(svg, encoding="unicode") + "\n"


def _panels(sheet: Sheet, table: RootZoneTable, top: float) -> float:
    """Draw the panels one below the other and name the days; give where that ends."""
    for draw, height in ((water_in, _WATER_IN_PX), (water_left, _WATER_LEFT_PX)):
        top = draw(sheet, table, top, height)
    return day_names(sheet, visits_marked(sheet, table, top + MARGIN_PX))


def _told_days(sheet: Sheet, table: RootZoneTable, bottom: float) -> None:
    """Lay over each day what a pointer that rests on it is told."""
    part = element(sheet.svg, "g", data_panel="told", fill="#fff", fill_opacity="0")
    for row in table.rows:
        slot = element(part, "rect", x=sheet.axis.begin(row.books.date), y=0.0, width=sheet.axis.slot_px, height=bottom)
        told(slot, "title", day_in_words(row))
