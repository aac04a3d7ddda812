"""SVG elements, written so that no text of a person can become markup and the same input gives the same bytes."""

from __future__ import annotations

import re
import unicodedata
from xml.etree.ElementTree import Element, SubElement

from etsched.tables.figure import plain

# Attributes of an element, by their names as `element` takes them.
Marks = dict[str, str | float]
# XML 1.0 §2.2: what is not of these cannot stand in a document, not even escaped.
_NOT_XML = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
# Widths in shares of the type size, for setting lines only: rough figures of common sans-serif faces.
_NARROW, _WIDE = frozenset("ijlftrI.,;:'|!()[] "), frozenset("mwMW@%—…")
_NARROW_EM, _LETTER_EM, _CAPITAL_EM, _WIDE_EM, _FULL_EM = 0.35, 0.57, 0.72, 0.95, 1.05


_FONTS = "Liberation Sans, Arial, Helvetica, sans-serif"


def element(parent: Element, tag: str, **marks: str | float) -> Element:
    """Add an element; `stroke_width` becomes `stroke-width`, `class_` becomes `class`, numbers are shortened."""
    written = {
        name.rstrip("_").replace("_", "-"): value if isinstance(value, str) else px(value)
        for name, value in marks.items()
    }
    return SubElement(parent, tag, written)


def sized(svg: Element, width: float, height: float, text_px: float, ink: str) -> None:
    """Give a drawing its size, the type it is set in and its ink; it shrinks with a narrow page."""
    marks = {
        "viewBox": f"0 0 {px(width)} {px(height)}",
        "width": px(width),
        "height": px(height),
        "style": "max-width:100%;height:auto",
        "font-family": _FONTS,
        "font-size": px(text_px),
        "fill": ink,
    }
    for name, value in marks.items():
        svg.set(name, value)


def words(parent: Element, text: str, x: float, y: float, **marks: str | float) -> Element:
    """Add a line of text whose baseline begins, or by `text_anchor` is centred or ends, at a place."""
    line = element(parent, "text", x=x, y=y, **marks)
    line.text = legible(text)
    return line


def told(parent: Element, tag: str, text: str) -> None:
    """Add what is told and not drawn: a `title` or a `desc`."""
    element(parent, tag).text = legible(text)


def legible(text: str) -> str:
    """Return a person's text as one line of characters that XML may hold."""
    return plain(_NOT_XML.sub(" ", text))


def px(value: float) -> str:
    """Write a coordinate to the hundredth."""
    return f"{round(value, 2) + 0.0:.2f}".rstrip("0").rstrip(".")


def moved(x: float, y: float) -> str:
    """Write the transform that brings a shape's own middle to a place."""
    return f"translate({px(x)} {px(y)})"


def width_px(text: str, size_px: float) -> float:
    """Estimate how wide a line will be, rather too wide than too narrow."""
    return size_px * sum(map(_width_em, text))


def _width_em(character: str) -> float:
    if character in _NARROW:
        return _NARROW_EM
    if character in _WIDE:
        return _WIDE_EM
    if unicodedata.east_asian_width(character) in "WF":
        return _FULL_EM
    return _CAPITAL_EM if character.isupper() else _LETTER_EM


def wrapped(text: str, size_px: float, room_px: float) -> list[str]:
    """Break a text into lines that fit, between words where there is a space and within a word where there is none."""
    lines, rest = [], legible(text)
    while rest:
        fits = _fitting(rest, size_px, room_px)
        space = rest.rfind(" ", 0, fits + 1)
        cut = fits if fits == len(rest) or space <= 0 else space
        lines.append(rest[:cut])
        rest = rest[cut:].lstrip()
    return lines


def _fitting(text: str, size_px: float, room_px: float) -> int:
    """Count the characters that fit; one at least, so that every text comes to an end."""
    used_px = 0.0
    for count, character in enumerate(text):
        used_px += width_px(character, size_px)
        if used_px > room_px and count:
            return count
    return len(text)
