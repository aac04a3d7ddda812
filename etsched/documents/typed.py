"""Typed values: a number with its unit as people write it, such as `"6 in"`, read into its canonical unit.

The bounds are common practice without a source: wide enough for every real lawn, tight enough to catch a slip
of the point or a wrong unit.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import Annotated, ClassVar

from etsched.documents.reader import Json, Reader
from etsched.documents.refusals import refuse, shown
from etsched.errors import QuantityRefused
from etsched.units import parse, to_canonical

_TYPED = re.compile(r"\s*[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?\s*(.*?)\s*", re.DOTALL)
# Units are words, slashes and small powers. A formula such as m^9^9^9 would keep the unit parser for hours.
_UNIT = re.compile(r"(?:[^\W\d_]|[°%\"″²³/ .-]|\^?[23](?!\d)){0,24}")
_COMMA = re.compile(r"\d,\d")

# Where the unit goes without saying, a plain number is as good as text.
_PLAIN = {"fraction", "factor", "deg", "count"}
_NOUNS = {
    "mm": "a depth",
    "mm_h": "a depth an hour",
    "pct": "a share in percent",
    "fraction": "a share",
    "factor": "a factor",
    "m2": "an area",
    "m": "a height",
    "min": "a time",
    "l_min": "a flow",
    "deg": "an angle in degrees",
    "kpa": "a pressure",
    "m_s": "a speed",
    "c": "a temperature",
    "ml": "a volume",
    "l": "a volume",
    "cm2": "an area",
    "ohm": "a resistance",
    "v": "a voltage",
    "s": "a time",
    "ds_m": "a conductivity",
    "count": "a number",
}


@dataclass(frozen=True, slots=True)
class Typed(Reader):
    """How one kind of typed value is read: its name, quantity, bounds and examples, US units first."""

    name: str
    suffix: str
    low: str
    high: str
    examples: tuple[str | float, ...]

    between: ClassVar[str] = "from {} to {}"

    def schema(self) -> Json:
        """Describe what is accepted; the unit makes it text."""
        words = f"{_NOUNS[self.suffix].capitalize()} {self.between.format(self.low, self.high)}."
        kind = ["string", "number"] if self.suffix in _PLAIN else "string"
        return {"title": self.name, "description": words, "type": kind, "examples": [*self.examples]}

    def read(self, raw: object) -> float:
        """Read text with a unit, or a plain number where the unit goes without saying."""
        if isinstance(raw, str):
            value, unit = self._read_text(raw)
        elif not isinstance(raw, int | float) or isinstance(raw, bool):
            raise refuse(f"{shown(raw)} cannot be read as {_NOUNS[self.suffix]}", f"write {self._such_as}")
        elif self.suffix in _PLAIN:
            value, unit = _as_float(raw), ""
        else:
            raise refuse(f"{shown(raw)} has no unit", f"write it in quotes, such as {self._such_as}")
        self._check_range(raw, value, unit)
        return value

    @property
    def _such_as(self) -> str:
        return " or ".join(f'"{each}"' if isinstance(each, str) else str(each) for each in self.examples)

    def _read_text(self, text: str) -> tuple[float, str]:
        match = _TYPED.fullmatch(text)
        if _COMMA.search(text):
            remedy = f"write a decimal point and no commas, such as {self._such_as}"
            raise refuse(f"{shown(text)} holds a comma", remedy)
        if match is None:
            raise refuse(f"{shown(text)} is not one number with a unit", f"write {self._such_as}")
        unit = match[1]
        if not unit:
            if self.suffix not in _PLAIN:
                raise refuse(f"{shown(text)} has no unit", f"write {self._such_as}")
            return _as_float(text), ""
        try:
            if not _UNIT.fullmatch(unit):
                raise QuantityRefused(unit)
            return parse(text, self.suffix), unit
        except QuantityRefused:
            wrong = f"{shown(text)} cannot be read as {_NOUNS[self.suffix]}"
            raise refuse(wrong, f"write {self._such_as}") from None

    def _check_range(self, raw: object, value: float, unit: str) -> None:
        low, high = parse(self.low, self.suffix), parse(self.high, self.suffix)
        lowest, highest = self._in_unit(low, unit), self._in_unit(high, unit)
        if self._allows(value, low, high):
            return
        if not math.isfinite(value):
            wrong = f"{shown(raw)} is no number to reckon with"
        elif value > high:
            wrong = f"{shown(raw)} is more than {highest}"
        else:
            wrong = f"{shown(raw)} is " + (f"less than {lowest}" if value < low else "zero")
        remedy = f"write a value {self.between.format(lowest, highest)}" + (", and look at the unit" if unit else "")
        if self.suffix == "fraction" and not unit and value > 1:
            remedy = f"write percent with its sign or a share of one, such as {self._such_as}"
        raise refuse(wrong, remedy)

    def _allows(self, value: float, low: float, high: float) -> bool:
        return low <= value <= high

    def _in_unit(self, canonical: float, unit: str) -> str:
        """Write a bound in the unit the person used."""
        scale = to_canonical(1.0, unit, self.suffix) if unit else 1.0
        number = f"{float(f'{canonical / scale:.4g}'):.10g}"
        return f"{number} {unit}" if unit else number


@dataclass(frozen=True, slots=True)
class Positive(Typed):
    """A typed value that must lie above its lower bound, which is zero."""

    between: ClassVar[str] = "above {} and up to {}"

    def _allows(self, value: float, low: float, high: float) -> bool:
        return low < value <= high


def _as_float(raw: str | float) -> float:
    try:
        return float(raw)
    except OverflowError:  # a whole number of hundreds of digits
        return math.inf


Latitude = Annotated[float, Typed("Latitude", "deg", "-90 deg", "90 deg", (37.4,))]
Longitude = Annotated[float, Typed("Longitude", "deg", "-180 deg", "180 deg", (-119.9,))]
Elevation = Annotated[float, Typed("Elevation", "m", "-430 m", "8900 m", ("1200 ft", "366 m"))]
TurfHeight = Annotated[float, Typed("Turf height", "m", "0.1 in", "12 in", ("3 in", "75 mm"))]
Slope = Annotated[float, Typed("Slope", "pct", "0 %", "100 %", ("4 %",))]
RootDepth = Annotated[float, Typed("Root depth", "mm", "1 in", "48 in", ("6 in", "150 mm"))]
TargetDepth = Annotated[float, Typed("Target depth", "mm", "1 in", "72 in", ("8 in", "200 mm"))]
Depletion = Annotated[float, Typed("Depletion", "mm", "0 in", "12 in", ("0.3 in", "8 mm"))]
Microclimate = Annotated[float, Typed("Microclimate factor", "factor", "0.1", "2", (0.85,))]
Density = Annotated[float, Typed("Density factor", "factor", "0.1", "1.5", (0.9,))]
CropFactor = Annotated[float, Typed("Crop factor", "factor", "0.1", "1.5", (0.8,))]
FirstRunoff = Annotated[float, Typed("First runoff", "min", "1 min", "600 min", ("11 min",))]
LeastCycle = Annotated[float, Typed("Least cycle", "min", "1 min", "120 min", ("3 min",))]
PercentBound = Annotated[float, Typed("Percent adjust", "pct", "0 %", "400 %", ("200 %",))]
PercentStep = Annotated[float, Positive("Step of percent adjust", "pct", "0 %", "50 %", ("5 %",))]
Cut = Annotated[float, Positive("Cut", "pct", "0 %", "100 %", ("20 %",))]
MostMinutes = Annotated[float, Typed("Most minutes", "min", "1 min", "1440 min", ("60 min",))]
HoldWind = Annotated[float, Positive("Wind", "m_s", "0 mph", "60 mph", ("15 mph", "7 m/s"))]
HoldFreeze = Annotated[float, Typed("Freezing", "c", "10 °F", "50 °F", ("35 °F", "2 °C"))]
LeastDepth = Annotated[float, Positive("Least depth", "mm", "0 in", "4 in", ("0.3 in", "8 mm"))]
AvailableWater = Annotated[
    float, Typed("Available water", "fraction", "0.02", "0.35", ("0.17 in/in", "2.0 in/ft", "170 mm/m"))
]
Area = Annotated[float, Positive("Size", "m2", "0 m2", "100000 m2", ("900 sq ft", "84 m2"))]
SurfaceStorage = Annotated[float, Positive("Surface storage", "mm", "0 in", "2 in", ("0.26 in", "6.6 mm"))]
PrecipRate = Annotated[float, Typed("Precipitation rate", "mm_h", "0.02 in/h", "6 in/h", ("0.42 in/h", "10.7 mm/h"))]
WettestRate = Annotated[
    float, Positive("Rate in the wettest quarter", "mm_h", "0 in/h", "12 in/h", ("0.58 in/h", "14.7 mm/h"))
]
Intake = Annotated[float, Positive("Intake", "mm_h", "0 in/h", "20 in/h", ("0.35 in/h", "9 mm/h"))]
AllowableDepletion = Annotated[float, Positive("Allowable depletion", "fraction", "0", "0.9", ("50 %", 0.5))]
Uniformity = Annotated[float, Positive("Uniformity", "fraction", "0", "1", ("72 %", 0.72))]
Efficiency = Annotated[float, Positive("Application efficiency", "fraction", "0", "1", ("85 %", 0.85))]
Flow = Annotated[float, Positive("Flow", "l_min", "0 gpm", "2000 gpm", ("14 gpm", "53 L/min"))]
