"""What only the record of a visit holds: days and moments, readings of cups, words for what was seen and felt."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Annotated

from etsched.documents.reader import Json, Reader
from etsched.documents.refusals import closest, refuse, shown, written_out
from etsched.documents.typed import Positive, Typed
from etsched.documents.words import Whole
from etsched.reference.faults import head_faults
from etsched.reference.feel import feel_classes
from etsched.reference.signs import signs, spoken

TIPPED = "tipped"
# Units in which cups are read: how a person writes one, and what it measures.
CUP_UNITS = {"mL": "ml", "fl oz": "ml", "in": "mm", "mm": "mm", "cm": "mm"}
_DIGITS = re.compile(r"[1-9]\d{0,3}", re.ASCII)


class Moment(Reader):
    """A date and a time of day, on the wall: no zone."""

    def schema(self) -> Json:
        """Describe text of a date and a time; TOML's own needs no quotes."""
        return {"type": "string", "pattern": "^[0-9]{4}-[0-9]{2}-[0-9]{2}[ T][0-9]{2}:[0-9]{2}(:[0-9]{2})?$"}

    def read(self, raw: object) -> datetime:
        """Accept TOML's own date with a time, or text of both."""
        try:
            moment = datetime.fromisoformat(raw.strip()) if isinstance(raw, str) and ":" in raw else raw
        except ValueError:
            moment = raw
        if isinstance(moment, datetime) and moment.tzinfo is None:
            return moment
        raise refuse(f"{shown(raw)} is no date with a time of day", 'write both, such as "2026-07-14 06:10"')


class YesNo(Reader):
    """True or false, as TOML writes them."""

    def schema(self) -> Json:
        """Describe a boolean."""
        return {"type": "boolean"}

    def read(self, raw: object) -> bool:
        """Accept TOML's own words without quotes."""
        if isinstance(raw, bool):
            return raw
        raise refuse(f"{shown(raw)} is neither true nor false", "write true or false, without quotes")


@dataclass(frozen=True, slots=True)
class Phrase(Reader):
    """A word or phrase out of a table, in any case, with more than one way to say the same."""

    noun: str
    said: Callable[[], Mapping[str, str]]
    names: Callable[[], list[str]]

    def schema(self) -> Json:
        """List every phrase."""
        return {"type": "string", "enum": [*self.said()]}

    def read(self, raw: object) -> str:
        """Give the key of a phrase; refuse an unknown one with the closest."""
        said = {phrase.casefold(): key for phrase, key in self.said().items()}
        typed = " ".join(raw.split()).casefold() if isinstance(raw, str) else ""
        if typed in said:
            return said[typed]
        match = closest(typed, self.said())
        remedy = f'perhaps you meant "{match}"' if match else f"write {written_out(self.names())}"
        raise refuse(f"{shown(raw)} is no {self.noun}", remedy)


@dataclass(frozen=True, slots=True)
class Minutes(Typed):
    """A time in minutes; the key says so, a plain number is as good as text."""

    def schema(self) -> Json:
        """Describe both."""
        return Typed.schema(self) | {"type": ["number", "string"]}

    def read(self, raw: object) -> float:
        """Take a plain number as minutes."""
        plain = isinstance(raw, int | float) and not isinstance(raw, bool)
        return Typed.read(self, f"{raw} min" if plain else raw)


@dataclass(frozen=True, slots=True)
class Ohms(Typed):
    """A resistance, or the word for a line that lets nothing through."""

    def schema(self) -> Json:
        """Describe a resistance."""
        return Typed.schema(self) | {"examples": [*self.examples, "open"]}

    def read(self, raw: object) -> float:
        """Read "open" as a resistance without end."""
        if isinstance(raw, str) and raw.strip().casefold() == "open":
            return math.inf
        return Typed.read(self, raw)


class Caught(Reader):
    """What one cup caught, in the unit of its test; None for a cup that was tipped."""

    def schema(self) -> Json:
        """Describe a number or the word."""
        return {"anyOf": [{"type": "number", "minimum": 0}, {"const": TIPPED}]}

    def read(self, raw: object) -> float | None:
        """Accept a plain number that is not negative."""
        if isinstance(raw, str) and raw.strip().casefold() == TIPPED:
            return None
        if not isinstance(raw, int | float) or isinstance(raw, bool) or not abs(raw) < 1e6:
            remedy = f'write what the cup caught without a unit, or "{TIPPED}"; the unit stands once for the test'
            raise refuse(f"{shown(raw)} is no plain number", remedy)
        if raw < 0:
            raise refuse(f"{shown(raw)} is negative", f'read the cup again, or write "{TIPPED}"')
        return float(raw)


class Place(Reader):
    """Where a cup stood along one direction, a plain number in the unit of its grid."""

    def schema(self) -> Json:
        """Describe a number."""
        return {"type": "number"}

    def read(self, raw: object) -> float:
        """Accept a plain number."""
        if not isinstance(raw, int | float) or isinstance(raw, bool) or not abs(raw) < 1e4:
            raise refuse(f"{shown(raw)} is no plain number", "write the distance without a unit")
        return float(raw)


@dataclass(frozen=True, slots=True)
class TerminalKey(Reader):
    """A terminal as a key, in front of its minutes or its day."""

    example: str

    def schema(self) -> Json:
        """Describe digits."""
        return {"type": "string", "pattern": "^[1-9][0-9]{0,3}$"}

    def read(self, raw: object) -> int:
        """Accept digits."""
        if isinstance(raw, str) and _DIGITS.fullmatch(raw):
            return int(raw)
        raise refuse(f"{shown(raw)} is no terminal", f"write the number of the terminal, as in {self.example}")


def _plain(*words: str) -> Callable[[], dict[str, str]]:
    return lambda: {word: word for word in words}


def _phrase(noun: str, said: Callable[[], Mapping[str, str]]) -> Phrase:
    """Make a choice among phrases of which each is its own name."""
    return Phrase(noun, said, lambda: [*said()])


PatternIn = Annotated[
    str, Phrase("pattern", lambda: spoken("pattern"), lambda: [each.name for each in signs("pattern").values()])
]
ColourIn = Annotated[
    str, Phrase("colour", lambda: spoken("colour"), lambda: [each.name for each in signs("colour").values()])
]
# A second pattern or colour of an area stands among its signs.
SignIn = Annotated[
    str,
    Phrase(
        "sign",
        lambda: spoken("sign", "pattern", "colour"),
        lambda: [each.name for each in signs("sign").values()],
    ),
]
InsectIn = Annotated[
    str, Phrase("insect", lambda: spoken("insect"), lambda: [each.name for each in signs("insect").values()])
]
FaultIn = Annotated[str, _phrase("fault of a head", lambda: {key: key for key in head_faults()})]
FeelIn = Annotated[str, _phrase("feel class", lambda: {each.key: each.key for each in feel_classes()})]
CoreColourIn = Annotated[str, _phrase("colour of a core's place", _plain("green", "brown"))]
VoltageAtIn = Annotated[str, _phrase("place to read a voltage", _plain("terminal", "valve"))]
TugIn = Annotated[str, _phrase("outcome of a tug", _plain("holds", "lifts"))]
RainSwitchIn = Annotated[str, _phrase("state of a rain switch", _plain("on", "bypassed", "none"))]
CupUnitIn = Annotated[str, _phrase("unit of cups", _plain(*CUP_UNITS))]
GridUnitIn = Annotated[str, _phrase("unit of places", _plain("ft", "in", "m", "cm"))]

MomentIn = Annotated[datetime, Moment()]
YesNoIn = Annotated[bool, YesNo()]
CaughtIn = Annotated[float | None, Caught()]
PlaceIn = Annotated[float, Place()]
MinutesKeyIn = Annotated[int, TerminalKey("{ 7 = 12 }")]
DayKeyIn = Annotated[int, TerminalKey("{ 7 = 2026-07-17 }")]
HeadCount = Annotated[int, Whole(1, 999)]

ProgramMinutes = Annotated[float, Minutes("Minutes", "min", "0 min", "1440 min", (12,))]
TestMinutes = Annotated[float, Minutes("Minutes", "min", "1 min", "600 min", (15,))]
MeterMinutes = Annotated[float, Minutes("Minutes", "min", "0.5 min", "1440 min", (5,))]
PercentAdjust = Annotated[float, Typed("Percent adjust", "pct", "0 %", "300 %", ("80 %",))]
Cover = Annotated[float, Typed("Living cover", "pct", "0 %", "100 %", ("60 %",))]
Drop = Annotated[float, Typed("Drop", "s", "0 s", "3600 s", ("14 s",))]
Mown = Annotated[float, Positive("Mowing height", "mm", "0 in", "12 in", ("2.5 in", "60 mm"))]
Thatch = Annotated[float, Typed("Thatch", "mm", "0 in", "6 in", ("0.5 in", "12 mm"))]
InsectCount = Annotated[float, Typed("Insects a square foot", "count", "0", "10000", (4,))]
SoilDepth = Annotated[float, Typed("Depth", "mm", "0 in", "72 in", ("6 in", "150 mm"))]
Distance = Annotated[float, Typed("Distance", "m", "-3000 ft", "3000 ft", ("10 ft", "3 m"))]
Spacing = Annotated[float, Positive("Spacing", "m", "0 ft", "100 ft", ("5 ft", "1.5 m"))]
Throat = Annotated[float, Positive("Throat", "cm2", "0 sq in", "300 sq in", ("16.5 sq in", "106 cm2"))]
Diameter = Annotated[float, Positive("Diameter", "mm", "0 in", "20 in", ("4.6 in", "117 mm"))]
Capacity = Annotated[float, Positive("Capacity", "ml", "0 mL", "5000 mL", ("130 mL", "4.4 fl oz"))]
Wind = Annotated[float, Typed("Wind", "m_s", "0 mph", "60 mph", ("3 mph", "1.3 m/s"))]
Pressure = Annotated[float, Positive("Pressure", "kpa", "0 psi", "200 psi", ("40 psi", "280 kPa"))]
Coil = Annotated[float, Ohms("Resistance", "ohm", "0 ohm", "1000000 ohm", ("34 ohm",))]
Voltage = Annotated[float, Typed("Voltage", "v", "0 V", "60 V", ("26 V",))]
MeterVolume = Annotated[float, Typed("Volume", "l", "0 gal", "100000 gal", ("42 gal", "160 L"))]
Nitrogen = Annotated[float, Positive("Nitrogen", "pct", "0 %", "100 %", ("24 %",))]
SlowRelease = Annotated[float, Typed("Slow release", "fraction", "0", "1", ("50 %",))]
Salinity = Annotated[float, Typed("Conductivity", "ds_m", "0 dS/m", "60 dS/m", ("1.1 dS/m",))]
