"""The one pint registry. Typed values come in here and figures for readers go out; nothing else imports pint."""

from __future__ import annotations

import re
from functools import cache
from typing import TYPE_CHECKING, Literal, overload

import pint

from etsched.errors import QuantityRefused
from etsched.quantities import QUANTITIES

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

UnitSystem = Literal["us", "metric"]

# What people write on a phone, in pint's words.
_SPELLINGS = {
    "in/hr": "inch/hour",
    "in/h": "inch/hour",
    '"': "inch",
    "°f": "degF",
    "f": "degF",
    "°c": "degC",
    "c": "degC",
    "%": "percent",
    "gpm": "gallon/minute",
    "gal/min": "gallon/minute",
    "l/min": "liter/minute",
    "l/s": "liter/second",
    "sq ft": "foot^2",
    "sqft": "foot^2",
    "ft2": "foot^2",
    "ft²": "foot^2",
    "sq in": "inch^2",
    "fl oz": "fluid_ounce",
    "sq m": "meter^2",
    "m2": "meter^2",
    "m²": "meter^2",
    "mph": "mile/hour",
    "mi/h": "mile/hour",
    "km/h": "kilometer/hour",
    "kmh": "kilometer/hour",
    "m/s": "meter/second",
    "mbar": "millibar",
    "mbars": "millibar",
    "hpa": "hectopascal",
    "kpa": "kilopascal",
    "mm/h": "millimeter/hour",
    "in/in": "dimensionless",
    "mm/mm": "dimensionless",
    "mm/m": "millimeter/meter",
    "in/ft": "inch/foot",
    "ly/day": "langley/day",
    "w/m2": "watt/meter^2",
    "w/m^2": "watt/meter^2",
    "w/m²": "watt/meter^2",
    "wh/m2": "watt_hour/meter^2",
    "mj/m2": "megajoule/meter^2",
    "mj/m2/day": "megajoule/meter^2/day",
    "mj/m²": "megajoule/meter^2",
    "kwh/m2": "kilowatt_hour/meter^2",
    "minutes": "minute",
    "min": "minute",
    "hours": "hour",
    "h": "hour",
    "°": "degree",
    "deg": "degree",
}

_TYPED = re.compile(r"^\s*([+-]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d+)?)\s*(\S.*?)?\s*$")

# Areas as people type them: m2 is m^2.
_POWER = re.compile(r"\b(m|cm|ft|in)([23])\b")

# How each quantity is read: suffix -> (US unit, label, digits), (metric unit, label, digits).
_READERS: dict[str, tuple[tuple[str, str, int], tuple[str, str, int]]] = {
    "c": (("degF", "°F", 0), ("degC", "°C", 1)),
    "mm": (("inch", "in", 2), ("mm", "mm", 1)),
    "mm_d": (("inch/day", "in/day", 2), ("mm/day", "mm/day", 1)),
    "mm_h": (("inch/hour", "in/h", 2), ("mm/hour", "mm/h", 1)),
    "m": (("foot", "ft", 0), ("meter", "m", 0)),
    "m2": (("foot^2", "sq ft", 0), ("meter^2", "m²", 0)),
    "l": (("gallon", "gal", 0), ("liter", "L", 0)),
    "l_min": (("gallon/minute", "gpm", 1), ("liter/minute", "L/min", 1)),
    "m_s": (("mile/hour", "mph", 1), ("meter/second", "m/s", 1)),
    "kpa": (("kPa", "kPa", 2), ("kPa", "kPa", 2)),
    "water_kpa": (("psi", "psi", 0), ("kPa", "kPa", 0)),
    "mj_m2_d": (("MJ/m^2/day", "MJ/m²/day", 1), ("MJ/m^2/day", "MJ/m²/day", 1)),
    "min": (("minute", "min", 0), ("minute", "min", 0)),
    "pct": (("percent", "%", 0), ("percent", "%", 0)),
    "fraction": (("percent", "%", 0), ("percent", "%", 0)),
    "factor": (("dimensionless", "", 3), ("dimensionless", "", 3)),
    # A pound on 1000 square feet is a thousandth of a pound on one.
    "g_m2": (("millipound/foot^2", "lb/1000 sq ft", 2), ("gram/meter^2", "g/m²", 1)),
    "kg": (("pound", "lb", 1), ("kilogram", "kg", 1)),
    "s": (("second", "s", 0), ("second", "s", 0)),
    "ohm": (("ohm", "Ω", 0), ("ohm", "Ω", 0)),
    "v": (("volt", "V", 1), ("volt", "V", 1)),
    "ds_m": (("decisiemens/meter", "dS/m", 1), ("decisiemens/meter", "dS/m", 1)),
}


# The volumes that water is billed by: a thousand gallons, a hundred cubic feet (written CCF or HCF), a cubic metre.
BILLED = {
    "kgal": (1.0, "kilogallon"),
    "CCF": (100.0, "foot^3"),
    "HCF": (100.0, "foot^3"),
    "m³": (1.0, "meter^3"),
}

# The units this trade uses daily, in pint's own notation. pint's whole list takes 0.15 s to read, so it is read only
# when somebody writes a unit that is not here; a test holds the two together.
_EVERYDAY = """
kilo- = 1e3 = k-
mega- = 1e6 = M-
hecto- = 1e2 = h-
deci- = 1e-1 = d-
centi- = 1e-2 = c-
milli- = 1e-3 = m-
meter = [length] = m = metre
second = [time] = s
gram = [mass] = g
pound = 453.59237 * gram = lb
kelvin = [temperature]; offset: 0 = K
ampere = [current] = A
radian = [] = rad
percent = 0.01 = %
degree = 0.017453292519943295 * radian = deg
inch = 0.0254 * meter = in = inches
foot = 0.3048 * meter = ft = feet
mile = 1609.344 * meter = mi
minute = 60 * second = min
hour = 3600 * second = h = hr
day = 86400 * second = d
liter = 0.001 * meter ** 3 = l = L = litre
gallon = 231 * inch ** 3 = gal
fluid_ounce = gallon / 128 = floz
newton = kilogram * meter / second ** 2 = N
pascal = newton / meter ** 2 = Pa
bar = 1e5 * pascal
pound_force_per_square_inch = 9.80665 * pound * meter / second ** 2 / inch ** 2 = psi
joule = newton * meter = J
watt = joule / second = W
volt = watt / ampere = V
ohm = volt / ampere = Ω
siemens = ampere / volt = S
watt_hour = watt * hour = Wh
degree_Celsius = kelvin; offset: 273.15 = °C = celsius = degC
degree_Fahrenheit = 0.5555555555555556 * kelvin; offset: 255.3722222222222 = °F = fahrenheit = degF
"""


@cache
def _everyday() -> pint.UnitRegistry[float]:
    registry: pint.UnitRegistry[float] = pint.UnitRegistry(None, cache_folder=None)
    for line in _EVERYDAY.splitlines():
        if line:
            registry.define(line)
    return registry


@cache
def _whole() -> pint.UnitRegistry[float]:
    return pint.UnitRegistry(cache_folder=None)


# Units are words with slashes and small powers, at most with a scale before them as in "0.1 mm". pint evaluates
# arithmetic, and a tower such as m^9^9^9 would keep it for hours.
_UNIT_TEXT = re.compile(
    r"(?:\d{0,4}(?:\.\d{1,4})?\s+)?"
    r"(?:[^\W\d_]|[_°%\"″²³*·/ .-]|(?:\^|\*\*)?-?[1-4](?![\d^*])){1,40}"
)


@cache
def _scale(unit: str, canonical: str) -> tuple[float, float]:
    """Give factor and offset of the line that leads from one unit to another."""
    if _UNIT_TEXT.fullmatch(unit.strip()) is None:
        raise QuantityRefused(f'"{unit}" is no unit this program knows')
    name = _SPELLINGS.get(unit.strip().lower()) or _POWER.sub(r"\1^\2", unit.strip())
    try:
        try:
            return _line(_everyday(), name, canonical)
        except pint.UndefinedUnitError:
            return _line(_whole(), name, canonical)
    except pint.DimensionalityError as error:
        raise QuantityRefused(f'"{unit}" does not measure the same thing as "{canonical}"') from error
    except Exception as error:  # pint raises its own and Python's tokenizer errors alike
        raise QuantityRefused(f'"{unit}" is no unit this program knows') from error


def _line(registry: pint.UnitRegistry[float], unit: str, canonical: str) -> tuple[float, float]:
    source, target = registry.Unit(unit), registry.Unit(canonical)
    zero = registry.Quantity(0.0, source).to(target).magnitude
    ten = registry.Quantity(10.0, source).to(target).magnitude
    return (ten - zero) / 10.0, zero


def parse(text: str, suffix: str) -> float:
    """Read a typed value such as `"6 in"` into the canonical unit of `suffix`.

    Raises QuantityRefused with a sentence when the number, the unit or the dimension does not fit.
    """
    match = _TYPED.match(text)
    quantity = QUANTITIES[suffix]
    if match is None:
        raise QuantityRefused(f'"{text}" is not a number with a unit')
    number, unit = match.groups()
    if unit is None:
        if quantity.unit != "dimensionless":
            raise QuantityRefused(f'"{text}" has no unit')
        return float(number)
    return float(to_canonical(float(number), unit, suffix))


@overload
def to_canonical(value: float, unit: str, suffix: str) -> float: ...
@overload
def to_canonical(value: NDArray[np.float64], unit: str, suffix: str) -> NDArray[np.float64]: ...
def to_canonical(value: float | NDArray[np.float64], unit: str, suffix: str) -> float | NDArray[np.float64]:
    """Convert a number or an array from a unit people use to the canonical unit of `suffix`."""
    factor, offset = _scale(unit, QUANTITIES[suffix].unit)
    return value * factor + offset


def to_reader(value: float, suffix: str, system: UnitSystem) -> float:
    """Convert a canonical number to the unit its reader uses; not rounded."""
    factor, offset = _scale(_READERS[suffix][system == "metric"][0], QUANTITIES[suffix].unit)
    return (value - offset) / factor


def reader_label(suffix: str, system: UnitSystem) -> str:
    """Give the unit label a reader sees, such as `in/h`."""
    return _READERS[suffix][system == "metric"][1]


def reader_digits(suffix: str, system: UnitSystem) -> int:
    """Give how many decimals a reader is shown."""
    return _READERS[suffix][system == "metric"][2]


def per_m3(price: float, volume: str) -> float:
    """Convert the price of a volume that water is billed by, such as `kgal`, to that of a cubic metre.

    Raises QuantityRefused for any other volume.
    """
    if volume not in BILLED:
        raise QuantityRefused(f'"{volume}" is no volume that water is billed by')
    number, unit = BILLED[volume]
    return 1000.0 * price / (number * to_canonical(1.0, unit, "l"))


def say(value: float, suffix: str, system: UnitSystem) -> str:
    """Write a canonical number as its reader reads it: `0.42 in/h`, `78 °F`."""
    number = f"{to_reader(value, suffix, system):,.{reader_digits(suffix, system)}f}"
    label = reader_label(suffix, system)
    if not label:
        return number
    return f"{number}{label}" if label == "%" else f"{number} {label}"
