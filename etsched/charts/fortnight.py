"""The fortnight's weather as one picture: temperatures, rain, reference ET with its range, and grades.

Rain hangs from the sky and reference ET grows from the turf. What was observed is solid, a forecast hatched, what
stands in for missing weather dotted, and a grade has its shape and letter, so that the picture reads without colour.
"""

from __future__ import annotations

from collections.abc import Sequence
from xml.etree.ElementTree import Element, indent, tostring

from etsched.charts.axes import DayAxis
from etsched.charts.day_frame import MARGIN_PX, STYLE, credits_of, day_names, forecast_flag, headline
from etsched.charts.day_sheet import BLACK, HEAD_PX, LEFT_PX, RIGHT_PX, TEXT_PX, WIDTH_PX, Sheet, hatches
from etsched.charts.drawing import element, px, sized, told
from etsched.charts.fortnight_grades import grades, legend
from etsched.charts.fortnight_panels import rain, reference_et, temperatures
from etsched.charts.fortnight_words import day_in_words, described
from etsched.errors import PlanRefused
from etsched.model.plan import DayWeather
from etsched.tables.weather import weather_rows
from etsched.units import UnitSystem

_PANELS = ((temperatures, 185.0), (rain, 115.0), (reference_et, 165.0))


def fortnight_svg(days: Sequence[DayWeather], title: str, system: UnitSystem, attributions: tuple[str, ...]) -> str:
    """Draw days of weather as one self-contained SVG without script, outside fonts or links.

    Parameters
    ----------
    days : sequence of DayWeather, in order of day
        Made for a fortnight; 1 to 31 days are read well.
    title : str
        What stands over the picture.
    system : UnitSystem
        The units its readers read.
    attributions : tuple of str
        Words that must stand with the weather.

    Returns
    -------
    str
        The same bytes for the same input, ready to be a file of its own or to stand in an HTML page.

    Raises
    ------
    PlanRefused
        Where there is no day to draw.
    """
    if not days:
        raise PlanRefused("there is no day of weather to draw")
    svg = Element("svg", {"xmlns": "http://www.w3.org/2000/svg", "class": "days fortnight", "role": "img"})
    told(svg, "title", title)
    told(svg, "desc", described(days, system))
    element(svg, "style").text = STYLE
    hatches(svg)
    paper = element(svg, "rect", width=WIDTH_PX, fill="#fff")
    first, last = days[0].day, days[-1].day
    axis = DayAxis(first, (last - first).days + 1, LEFT_PX, WIDTH_PX - RIGHT_PX - LEFT_PX)
    sheet = Sheet(svg, tuple(days), axis, system)
    under_panels = _panels(sheet, forecast_flag(sheet, headline(sheet, title)))
    named = day_names(sheet, grades(sheet, under_panels + HEAD_PX))
    _told_days(sheet, named)
    top = credits_of(sheet, attributions, legend(sheet, named))
    paper.set("height", px(top))
    sized(svg, WIDTH_PX, top, TEXT_PX, BLACK)
    indent(svg, "")
    return tostring(svg, encoding="unicode") + "\n"


def _panels(sheet: Sheet, top: float) -> float:
    for draw, height in _PANELS:
        draw(sheet, top + HEAD_PX, top + HEAD_PX + height)
        top += HEAD_PX + height
    return top + MARGIN_PX


def _told_days(sheet: Sheet, bottom: float) -> None:
    """Lay over each day what a pointer that rests on it is told."""
    part = element(sheet.svg, "g", data_panel="told", fill="#fff", fill_opacity="0")
    for row in weather_rows(sheet.days, sheet.system):
        slot = element(part, "rect", x=sheet.axis.begin(row.date), y=0.0, width=sheet.axis.slot_px, height=bottom)
        told(slot, "title", day_in_words(row))
