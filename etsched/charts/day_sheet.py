"""A sheet on which days are drawn side by side: its looks, and a panel ready to be drawn in."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from xml.etree.ElementTree import Element

from etsched.charts.axes import Axis, DayAxis
from etsched.charts.drawing import Marks, element, px, width_px, words
from etsched.model.plan import DayWeather
from etsched.tables.figure import figure
from etsched.tables.weather import Kind, kind_of
from etsched.units import UnitSystem, to_reader

WIDTH_PX = 860.0
LEFT_PX, RIGHT_PX = 70.0, 12.0
HEAD_PX = 36.0  # the room above a panel for its name
# Room between the outermost tick and the edge of the panel, for the figures of the days.
INSET_PX = 17.0
BAR_PX = 30.0  # at most; many days make them narrower
# Type sizes at a desk, and on a sheet that a telephone shows at two fifths of its size.
NAME_PX, TEXT_PX, NOTE_PX = 21.0, 13.0, 11.5
SMALL_SCREEN_PX, NAME_SMALL_PX, TEXT_SMALL_PX, NOTE_SMALL_PX = 640, 30.0, 23.0, 20.0

BLACK, GREY, PALE, TINT = "#1a1a1a", "#595959", "#d4d4d4", "#f3f3ef"
# Dark alike, so that a copy in grey shows them alike: places, shapes and textures tell what is what, never ink alone.
CLAY, WATER, LEAF = "#9a4f1c", "#1b5a86", "#2c6130"
INKS = {"clay": CLAY, "water": WATER, "leaf": LEAF, "black": BLACK}


@dataclass(frozen=True, slots=True)
class Sheet:
    """What every part of the drawing needs to know."""

    svg: Element
    days: tuple[DayWeather, ...]
    axis: DayAxis
    system: UnitSystem

    @property
    def ahead_from(self) -> date | None:
        """First day that is forecast."""
        return next((day.day for day in self.days if day.forecast), None)

    def read(self, value: float | None, suffix: str) -> float | None:
        """Give a number in the reader's unit; None where it is not known."""
        return None if value is None or math.isnan(value) else to_reader(value, suffix, self.system)

    def known(self, values: Iterable[float | None], suffix: str) -> list[float]:
        """Give those of the numbers that are known, in the reader's unit."""
        return [number for value in values if (number := self.read(value, suffix)) is not None]

    def span(self, low: float | None, high: float | None, suffix: str) -> tuple[float, ...]:
        """Give the ends of a range in the reader's unit; nothing where it is not known or has no width."""
        ends = tuple(self.known([low, high], suffix))
        return ends if len(ends) == 2 and ends[0] < ends[1] else ()

    def bar_px(self, most_px: float) -> float:
        """Width of what stands for one day in its slot."""
        return min(self.axis.slot_px * 0.52, most_px)


def look(day: DayWeather, ink: str) -> Marks:
    """Give a day's mark its look: solid where observed, hatched where forecast, dotted where something stands in."""
    looks: dict[Kind, Marks] = {
        "observed": {"fill": INKS[ink]},
        "forecast": {"fill": f"url(#day-hatch-{ink})"},
        "standing in": {"fill": "#fff", "stroke_dasharray": "2 3"},
    }
    return {"stroke": INKS[ink], "stroke_width": 1.6, **looks[kind_of(day)]}


def hatches(svg: Element) -> None:
    """Add the hatch of every ink."""
    place = element(svg, "defs")
    for name, ink in INKS.items():
        hatch = element(
            place,
            "pattern",
            id=f"day-hatch-{name}",
            width=8,
            height=8,
            patternUnits="userSpaceOnUse",
            patternTransform="rotate(45)",
        )
        element(hatch, "rect", width=8, height=8, fill="#fff")
        element(hatch, "rect", width=2.4, height=8, fill=ink)


def panel(sheet: Sheet, name: str, title: str, top: float, bottom: float) -> Element:
    """Begin a panel: its name above it, and the days ahead on tinted ground."""
    part = element(sheet.svg, "g", data_panel=name)
    words(part, title, LEFT_PX, top - 9, font_weight="bold")
    ahead = sheet.ahead_from
    if ahead is not None:
        begin = sheet.axis.begin(ahead)
        element(part, "rect", x=begin, y=top, width=WIDTH_PX - RIGHT_PX - begin, height=bottom - top, fill=TINT)
    return part


def scale(part: Element, axis: Axis) -> None:
    """Rule a panel at its ticks and write them beside it."""
    for tick in axis.ticks:
        y = axis.y(tick)
        element(part, "path", d=across(y), stroke=PALE)
        words(part, axis.text(tick), LEFT_PX - 8, y, dy="0.35em", text_anchor="end")


def across(y: float) -> str:
    """Write the path of a line from side to side of a panel."""
    return f"M{px(LEFT_PX)} {px(y)}H{px(WIDTH_PX - RIGHT_PX)}"


def boundary(sheet: Sheet, part: Element, top: float, bottom: float) -> None:
    """Mark where the forecast begins, unless the sheet begins with it."""
    ahead = sheet.ahead_from
    if ahead is not None and ahead != sheet.axis.first:
        x = sheet.axis.begin(ahead)
        element(
            part, "path", d=f"M{px(x)} {px(top)}V{px(bottom)}", stroke=BLACK, stroke_width=1.6, stroke_dasharray="7 4"
        )


def numbers(sheet: Sheet, part: Element, places: list[tuple[DayWeather, float, float]], suffix: str) -> None:
    """Write figures at (day, value, height) where all of them have room; a small screen goes without."""
    texts = [(day, figure(value, suffix, sheet.system).number, y) for day, value, y in places]
    if texts and all(width_px(text, NOTE_PX) + 2 <= sheet.axis.slot_px for _, text, _ in texts):
        # A rim of paper keeps the lines of the panel off the figures.
        rim: Marks = {"stroke": "#fff", "stroke_width": 3, "stroke_linejoin": "round", "paint_order": "stroke"}
        group = element(part, "g", class_="desk figures", text_anchor="middle", **rim)
        for day, text, y in texts:
            words(group, text, sheet.axis.middle(day.day), y)


def bar(sheet: Sheet, part: Element, day: DayWeather, ends: tuple[float, float], ink: str) -> None:
    """Draw a bar of one day between two heights."""
    place = column(sheet, day, sheet.bar_px(BAR_PX), ends)
    element(part, "rect", data_day=day.day.isoformat(), **place, **look(day, ink))


def column(sheet: Sheet, day: DayWeather, width: float, ends: tuple[float, float]) -> Marks:
    """Place a rectangle of one day between two heights."""
    upper, lower = sorted(ends)
    return {"x": sheet.axis.middle(day.day) - width / 2, "y": upper, "width": width, "height": lower - upper}


def nothing(part: Element, text: str, top: float, bottom: float) -> None:
    """Say in a panel that it has nothing to show."""
    words(part, text, LEFT_PX + 12, (top + bottom) / 2, dy="0.35em", fill=GREY)
