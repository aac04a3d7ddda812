"""The map of a cup test: where it is dry, where it is flooded, how deep each cup's place gets in tonight's run."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import floor, log10
from xml.etree.ElementTree import Element, indent, tostring

import numpy as np
from numpy.typing import NDArray

from etsched.charts import cup_words
from etsched.charts.cup_looks import INK, RING_WORDS, SHADES, draw_cup, rings, shade
from etsched.charts.cup_places import WIDTH_PX, Places, cup_places
from etsched.charts.drawing import element, moved, px, sized, told, words, wrapped
from etsched.model.visit import CupTest
from etsched.planning.cup_results import CupResult, cup_depths
from etsched.units import UnitSystem, to_canonical

_NAME_PX, _TEXT_PX, _FIGURE_PX = 19.0, 15.0, 14.0
_LINE_PX = 21.0
_MARGIN_PX = 12.0
_NAME_LINES = 3  # of a longer title the rest is told, not drawn
_BAR_PX = 130.0
_MOST_LARGE = 1.7


@dataclass(frozen=True, slots=True)
class _Map:
    """What every part of the drawing needs to know."""

    svg: Element
    places: Places
    shares: NDArray[np.float64]  # of the mean, by cup
    rings: list[str]
    tonight_mm: float | None
    system: UnitSystem

    @property
    def large(self) -> float:
        """How much larger words are on a sheet wider than usual, which a telephone shows the smaller."""
        return min(self.places.width_px / WIDTH_PX, _MOST_LARGE)

    def enlarged(self, top: float, draw: Callable[[Element], float]) -> float:
        """Let a part that begins at height 0 be drawn below `top` as large as the sheet asks; give where it ends."""
        part = element(self.svg, "g", transform=f"{moved(0.0, top)} scale({px(self.large)})")
        return top + float(px(self.large)) * draw(part)


def cup_map_svg(
    test: CupTest, result: CupResult, title: str, system: UnitSystem, tonight_mm: float | None = None
) -> str:
    """Draw a cup test as one self-contained SVG without script, outside fonts or links.

    Parameters
    ----------
    test : CupTest
    result : CupResult
        Of that test.
    title : str
        What stands over the map.
    system : UnitSystem
        The units its readers read.
    tonight_mm : float, optional
        Mean depth of tonight's run; without it the cups bear their catch in percent of the mean.

    Returns
    -------
    str
        The same bytes for the same input, ready to be a file of its own or to stand in an HTML page.
    """
    depth = cup_depths(test)
    shares = depth / depth.mean()
    svg = Element("svg", {"xmlns": "http://www.w3.org/2000/svg", "class": "cup-map", "role": "img"})
    drawing = _Map(svg, cup_places(test, depth), shares, rings(depth), tonight_mm, system)
    lines = cup_words.summary(result, shares, tonight_mm, system)
    told(svg, "title", title)
    told(svg, "desc", cup_words.described(lines, drawing.rings))
    paper = element(svg, "rect", width=drawing.places.width_px, fill="#fff")
    with_key = [*lines, cup_words.key(tonight_mm, system)]
    top = drawing.enlarged(0.0, lambda part: _text(part, with_key, _name(part, title)))
    under_cups = _cups(drawing, top)
    end = _scale_bar(drawing, under_cups)
    bottom = drawing.enlarged(end, lambda part: _below(drawing, part, result.sureness))
    paper.set("height", px(bottom))
    sized(svg, drawing.places.width_px, bottom, _TEXT_PX, INK)
    indent(svg, "")
    return tostring(svg, encoding="unicode") + "\n"


def _name(svg: Element, title: str) -> float:
    lines = wrapped(title, _NAME_PX, WIDTH_PX - 2 * _MARGIN_PX)
    if len(lines) > _NAME_LINES:
        lines = [*lines[: _NAME_LINES - 1], lines[_NAME_LINES - 1][:-1] + "…"]
    for at, line in enumerate(lines, 1):
        words(svg, line, _MARGIN_PX, at * (_NAME_PX + 6), font_weight="bold", font_size=_NAME_PX)
    return len(lines) * (_NAME_PX + 6) + 6


def _text(svg: Element, sentences: list[str], top: float) -> float:
    for sentence in sentences:
        for line in wrapped(sentence, _TEXT_PX, WIDTH_PX - 2 * _MARGIN_PX):
            top += _LINE_PX
            words(svg, line, _MARGIN_PX, top)
    return top


def _cups(drawing: _Map, top: float) -> float:
    """Draw the cups; give where they end."""
    places = drawing.places
    part = element(drawing.svg, "g", data_panel="cups", text_anchor="middle", font_size=_FIGURE_PX)
    for at, share in enumerate(drawing.shares.tolist()):
        x, y = float(places.x_px[at]), top + float(places.y_px[at])
        cup = element(part, "g", data_cup=str(at + 1))
        told(cup, "title", cup_words.of_cup(at + 1, share, drawing.rings[at], drawing.tonight_mm, drawing.system))
        look = shade(share)
        draw_cup(cup, x, y, places.radius_px, (look.fill, drawing.rings[at]))
        if places.has_figures:
            text = cup_words.in_cup(share, drawing.tonight_mm, drawing.system)
            words(cup, text, x, y, dy="0.35em", fill=look.ink)
    return top + places.height_px


def _scale_bar(drawing: _Map, top: float) -> float:
    """Draw a bar of a round length under cups that lie as they stood."""
    scale = drawing.places.px_per_m
    if scale is None:
        return top
    length_m, _ = _bar(scale, drawing.system)
    begin, y = _MARGIN_PX * drawing.large, top + 10
    end = px(begin + length_m * scale)
    element(drawing.svg, "path", d=f"M{px(begin)} {px(y - 5)}V{px(y)}H{end}V{px(y - 5)}", stroke=INK, fill="none")
    return y


def _below(drawing: _Map, part: Element, sureness: str) -> float:
    """Say how the cups lie, what their looks mean, and how sure the figures are."""
    places = drawing.places
    notes = [places.why]
    if places.px_per_m is not None:
        notes = [f"{_bar(places.px_per_m, drawing.system)[1]}; up is north on the grid of the cups."]
    if not places.has_figures:
        notes.append("The cups stand too close for figures; rest on one to read it.")
    return _text(part, [sureness], _legend(part, _text(part, notes, 0.0))) + _MARGIN_PX


def _bar(px_per_m: float, system: UnitSystem) -> tuple[float, str]:
    """Give the length of a scale bar that is round for its reader, in 1, 2 or 5 × 10ⁿ."""
    unit, label = ("m", "m") if system == "metric" else ("ft", "ft")
    one_m = float(to_canonical(1.0, unit, "m"))
    most = _BAR_PX / px_per_m / one_m
    power = 10.0 ** floor(log10(most))
    number = max(step * power for step in (1, 2, 5) if step * power <= most * (1 + 1e-9))
    return number * one_m, f"{number:g} {label}"


def _legend(svg: Element, top: float) -> float:
    """Say what the shades and rings mean, in two columns; give where that ends."""
    part = element(svg, "g", data_panel="legend")
    entries = [(each.words, (each.fill, "")) for each in SHADES]
    entries += [(words, ("#fff", ring)) for ring, words in RING_WORDS.items()]
    half = -(-len(entries) // 2)
    for at, (text, look) in enumerate(entries):
        column, row = divmod(at, half)
        x, y = _MARGIN_PX + 16 + column * WIDTH_PX / 2, top + 26 + row * 32
        draw_cup(part, x, y, 9, look)
        words(part, text, x + 22, y, dy="0.35em")
    return top + 26 + half * 32
