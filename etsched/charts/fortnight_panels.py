"""The three panels of the fortnight: temperatures, rain that hangs from the sky, ET that rises from the turf."""

from __future__ import annotations

from datetime import date
from xml.etree.ElementTree import Element

from etsched.charts.axes import Axis, round_axis
from etsched.charts.day_sheet import (
    BAR_PX,
    BLACK,
    GREY,
    INSET_PX,
    LEAF,
    PALE,
    Sheet,
    across,
    bar,
    boundary,
    column,
    look,
    nothing,
    numbers,
    panel,
    scale,
)
from etsched.charts.drawing import element, px
from etsched.model.plan import DayWeather
from etsched.units import reader_label, to_reader

_BLADE_PX = 22.0  # at most; many days make them narrower
# Scales do not shrink below these, or a drop would look like a flood: degrees of either kind, and mm.
_LEAST_SPAN, _LEAST_DEPTH_MM = 4.0, 2.5

# The two ends of each day's likely range in the reader's unit, nothing where there is none.
Ranges = dict[date, tuple[float, ...]]


def temperatures(sheet: Sheet, top: float, bottom: float) -> None:
    """Draw a column from the lowest to the highest temperature of each day; nothing where they are not known."""
    part = panel(sheet, "temperature", f"Temperature, low to high ({reader_label('c', sheet.system)})", top, bottom)
    known = [day for day in sheet.days if sheet.read(day.tmin_c, "c") is not None]
    known = [day for day in known if sheet.read(day.tmax_c, "c") is not None]
    if not known:
        nothing(part, "no temperatures", top, bottom)
        return
    ends = sheet.known([value for day in known for value in (day.tmin_c, day.tmax_c)], "c")
    low, high = min(ends), max(ends)
    axis = round_axis(low, max(high, low + _LEAST_SPAN), bottom - INSET_PX, top + INSET_PX)
    scale(part, axis)
    boundary(sheet, part, top, bottom)
    labels = []
    for day in known:
        at_low, at_high = (axis.y(to_reader(value, "c", sheet.system)) for value in (day.tmin_c, day.tmax_c))
        bar(sheet, part, day, (at_high, at_low), "clay")
        labels += [(day, day.tmax_c, at_high - 5), (day, day.tmin_c, at_low + 13)]
    numbers(sheet, part, labels, "c")


def rain(sheet: Sheet, top: float, bottom: float) -> None:
    """Hang a bar from the top of the panel for each day with rain, as long as the rain is deep."""
    ranges = {day.day: sheet.span(day.rain_low_mm, day.rain_high_mm, "mm") for day in sheet.days}
    part = panel(sheet, "rain", f"Rain ({reader_label('mm', sheet.system)}){_boxes(ranges)}", top, bottom)
    wet = [day for day in sheet.days if day.rain_mm > 0.0]
    axis = _depths(sheet, [day.rain_mm for day in wet], ranges, (top, bottom - INSET_PX))
    if wet or any(ranges.values()):
        scale(part, axis)
    else:
        nothing(part, "no rain", top, bottom)
    boundary(sheet, part, top, bottom)
    element(part, "path", d=across(top), stroke=BLACK, stroke_width=1.6)
    for day in sheet.days:
        _likely(sheet, part, day, axis, ranges[day.day])
    labels = []
    for day in wet:
        end = to_reader(day.rain_mm, "mm", sheet.system)
        bar(sheet, part, day, (top, axis.y(end)), "water")
        labels.append((day, day.rain_mm, axis.y(max((end, *ranges[day.day]))) + 14))
    numbers(sheet, part, labels, "mm")


def reference_et(sheet: Sheet, top: float, bottom: float) -> None:
    """Let a blade grow from the turf for each day, as high as its reference ET, its likely range behind it."""
    ranges = {day.day: sheet.span(day.eto_low_mm, day.eto_high_mm, "mm") for day in sheet.days}
    part = panel(sheet, "eto", f"Reference ET ({reader_label('mm', sheet.system)}){_boxes(ranges)}", top, bottom)
    axis = _depths(sheet, [day.eto_mm for day in sheet.days], ranges, (bottom, top + INSET_PX))
    scale(part, axis)
    boundary(sheet, part, top, bottom)
    labels = []
    for day in sheet.days:
        eto = sheet.read(day.eto_mm, "mm")
        if eto is not None:
            _likely(sheet, part, day, axis, ranges[day.day])
            _blade(sheet, part, day, axis.y(eto), bottom)
            labels.append((day, day.eto_mm, axis.y(max((eto, *ranges[day.day]))) - 7))
    _turf(part, bottom)
    numbers(sheet, part, labels, "mm")


def _depths(sheet: Sheet, values_mm: list[float], ranges: Ranges, ends: tuple[float, float]) -> Axis:
    least = to_reader(_LEAST_DEPTH_MM, "mm", sheet.system)
    reach = [least, *sheet.known(values_mm, "mm"), *(end for ends_in in ranges.values() for end in ends_in)]
    return round_axis(0.0, max(reach), *ends)


def _boxes(ranges: Ranges) -> str:
    return ", box: likely range" if any(ranges.values()) else ""


def _blade(sheet: Sheet, part: Element, day: DayWeather, tip: float, ground: float) -> None:
    """Draw a blade of grass; its tip is the figure."""
    x, half = sheet.axis.middle(day.day), sheet.bar_px(_BLADE_PX) / 2
    waist, middle = half * 0.8, ground + (tip - ground) * 0.55
    outline = (
        f"M{px(x - half)} {px(ground)}Q{px(x - waist)} {px(middle)} {px(x)} {px(tip)}"
        f"Q{px(x + waist)} {px(middle)} {px(x + half)} {px(ground)}Z"
    )
    element(part, "path", data_day=day.day.isoformat(), d=outline, stroke_linejoin="round", **look(day, "leaf"))


def _likely(sheet: Sheet, part: Element, day: DayWeather, axis: Axis, ends: tuple[float, ...]) -> None:
    """Draw a likely range as a pale box, to stand behind its day's mark and wider than that."""
    if ends:
        place = column(sheet, day, sheet.bar_px(BAR_PX) * 1.5, (axis.y(ends[0]), axis.y(ends[1])))
        element(part, "rect", data_range=day.day.isoformat(), **place, fill=PALE, stroke=GREY)


def _turf(part: Element, ground: float) -> None:
    """Draw what the blades grow from: the thatch and two rows of soil."""
    element(part, "path", d=across(ground), stroke=LEAF, stroke_width=3)
    for depth, dots in ((5.0, "0 9"), (9.5, "0 13")):
        d = across(ground + depth)
        element(part, "path", d=d, stroke=GREY, stroke_width=2, stroke_linecap="round", stroke_dasharray=dots)
