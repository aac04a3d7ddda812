"""The fortnight's weather as one picture: temperatures, rain, reference ET with its range, and grades.

Rain hangs from the sky and reference ET grows from the turf. What was observed is solid, a forecast hatched, what
stands in for missing weather dotted, and a grade has its shape and letter, so that the picture reads without colour.
"""

from __future__ import annotations

from collections.abc import Sequence
from xml.etree.ElementTree import Element, indent, tostring

from etsched.charts.axes import DayAxis
from etsched.charts.drawing import element, px, sized, told, width_px, words, wrapped
from etsched.charts.fortnight_grades import day_names, grades, legend
from etsched.charts.fortnight_panels import rain, reference_et, temperatures
from etsched.charts.fortnight_sheet import (
    BLACK,
    GREY,
    HEAD_PX,
    LEFT_PX,
    NAME_PX,
    NAME_SMALL_PX,
    NOTE_PX,
    NOTE_SMALL_PX,
    RIGHT_PX,
    SMALL_SCREEN_PX,
    TEXT_PX,
    TEXT_SMALL_PX,
    WIDTH_PX,
    Sheet,
    hatches,
)
from etsched.charts.fortnight_words import day_in_words, described
from etsched.days import day_text
from etsched.errors import PlanRefused
from etsched.model.plan import DayWeather
from etsched.tables.weather import weather_rows
from etsched.units import UnitSystem

# The sizes stand on the root too, for readers that ignore a style.
_STYLE = (
    f".fortnight text{{font-size:{TEXT_PX}px}}"
    f".fortnight .name{{font-size:{NAME_PX}px}}"
    f".fortnight .figures text,.fortnight .note{{font-size:{NOTE_PX}px}}"
    f"@media (max-width:{SMALL_SCREEN_PX}px){{"
    f".fortnight text{{font-size:{TEXT_SMALL_PX}px}}"
    f".fortnight .name{{font-size:{NAME_SMALL_PX}px}}"
    f".fortnight .note{{font-size:{NOTE_SMALL_PX}px}}"
    ".fortnight .desk{display:none}}"
)
_MARGIN_PX = 12.0
_NAME_LINES = 3  # of a longer title the rest is told, not drawn
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
    svg = Element("svg", {"xmlns": "http://www.w3.org/2000/svg", "class": "fortnight", "role": "img"})
    told(svg, "title", title)
    told(svg, "desc", described(days, system))
    element(svg, "style").text = _STYLE
    hatches(svg)
    paper = element(svg, "rect", width=WIDTH_PX, fill="#fff")
    first, last = days[0].day, days[-1].day
    axis = DayAxis(first, (last - first).days + 1, LEFT_PX, WIDTH_PX - RIGHT_PX - LEFT_PX)
    sheet = Sheet(svg, tuple(days), axis, system)
    under_panels = _panels(sheet, _forecast_flag(sheet, _name(sheet, title)))
    named = day_names(sheet, grades(sheet, under_panels + HEAD_PX))
    _told_days(sheet, named)
    top = _attributions(sheet, attributions, legend(sheet, named))
    paper.set("height", px(top))
    sized(svg, WIDTH_PX, top, TEXT_PX, BLACK)
    indent(svg, "")
    return tostring(svg, encoding="unicode") + "\n"


def _name(sheet: Sheet, title: str) -> float:
    lines = wrapped(title, NAME_SMALL_PX, WIDTH_PX - 2 * _MARGIN_PX)
    if len(lines) > _NAME_LINES:
        lines = [*lines[: _NAME_LINES - 1], lines[_NAME_LINES - 1][:-1] + "…"]
    for at, line in enumerate(lines, 1):
        words(sheet.svg, line, _MARGIN_PX, at * (NAME_SMALL_PX + 6), font_weight="bold", class_="name")
    return len(lines) * (NAME_SMALL_PX + 6) + _MARGIN_PX


def _forecast_flag(sheet: Sheet, top: float) -> float:
    """Write over the panels where the forecast begins, on the side that has room."""
    ahead = sheet.ahead_from
    if ahead is None:
        return top
    x = sheet.axis.begin(ahead)
    text = f"forecast from {day_text(ahead)} →"
    late = x + width_px(text, TEXT_SMALL_PX) > WIDTH_PX
    words(sheet.svg, text, x, top + 20, text_anchor="end" if late else "start", data_forecast=ahead.isoformat())
    return top + 24


def _panels(sheet: Sheet, top: float) -> float:
    for draw, height in _PANELS:
        draw(sheet, top + HEAD_PX, top + HEAD_PX + height)
        top += HEAD_PX + height
    return top + _MARGIN_PX


def _told_days(sheet: Sheet, bottom: float) -> None:
    """Lay over each day what a pointer that rests on it is told."""
    part = element(sheet.svg, "g", data_panel="told", fill="#fff", fill_opacity="0")
    for row in weather_rows(sheet.days, sheet.system):
        slot = element(part, "rect", x=sheet.axis.begin(row.date), y=0.0, width=sheet.axis.slot_px, height=bottom)
        told(slot, "title", day_in_words(row))


def _attributions(sheet: Sheet, attributions: tuple[str, ...], top: float) -> float:
    y = top + 4
    for attribution in attributions:
        for line in wrapped(attribution, NOTE_SMALL_PX, WIDTH_PX - 2 * _MARGIN_PX):
            y += NOTE_SMALL_PX + 3
            words(sheet.svg, line, _MARGIN_PX, y, class_="note", fill=GREY)
    return y + _MARGIN_PX
