"""Days of weather for the chart, and what it drew of them."""

from __future__ import annotations

import re
from datetime import date, timedelta
from typing import Any
from xml.etree import ElementTree

from etsched.charts.fortnight import fortnight_svg
from etsched.model.plan import DayWeather

MONDAY = date(2026, 7, 13)
SVG = "{http://www.w3.org/2000/svg}"


def day(ahead: int = 0, **given: Any) -> DayWeather:
    """A day so many days after Monday, Jul 13: 10 to 30 °C, 5 mm of ET, no rain, sound, unless said otherwise."""
    plain: dict[str, Any] = {
        "forecast": False,
        "tmin_c": 10.0,
        "tmax_c": 30.0,
        "eto_mm": 5.0,
        "rain_mm": 0.0,
        "filled": (),
    }
    return DayWeather(day=MONDAY + timedelta(days=ahead), **(plain | {"grade": "sound"} | given))


def drawn(*days: DayWeather, title: str = "Larkmoor Green", attributions: tuple[str, ...] = ()) -> ElementTree.Element:
    """The metric chart of some days, parsed."""
    return ElementTree.fromstring(fortnight_svg(days, title, "metric", attributions))  # noqa: S314 - our own


def panel(svg: ElementTree.Element, name: str) -> ElementTree.Element:
    """One panel of a chart."""
    (found,) = [part for part in svg.iter(f"{SVG}g") if part.get("data-panel") == name]
    return found


def marks(svg: ElementTree.Element, name: str, of: str = "data-day") -> dict[int, ElementTree.Element]:
    """What a panel drew, by days after Monday."""
    found = [part for part in panel(svg, name).iter() if part.get(of)]
    return {(date.fromisoformat(part.get(of, "")) - MONDAY).days: part for part in found}


def box(rect: ElementTree.Element) -> tuple[float, float, float, float]:
    """Left, top, width and height of a rectangle."""
    left, top, width, height = (float(rect.get(name, "nan")) for name in ("x", "y", "width", "height"))
    return left, top, width, height


def blade(path: ElementTree.Element) -> tuple[float, float]:
    """Height of a blade's tip over its ground, and the middle of its foot."""
    numbers = [float(text) for text in re.findall(r"-?[\d.]+", path.get("d", ""))]
    left, ground, _, _, tip_x, tip, _, _, right, _ = numbers
    assert tip_x == (left + right) / 2
    return ground - tip, tip_x


def texts(part: ElementTree.Element) -> list[str]:
    """All that is written in a part of the chart, in order."""
    return [line.text or "" for line in part.iter(f"{SVG}text")]
