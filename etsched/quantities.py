"""The canonical unit of every quantity: the suffix it wears, its plausible range and what it means.

Inside the program every number is in the unit its suffix names (the FAO-56 metric set); `units.py` converts at
the edges. A contract test walks `core` and `model` and fails on a number whose suffix is not listed here.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Quantity:
    """One kind of number: pint's name of its unit, its dimension, a plausible range and one sentence."""

    suffix: str
    unit: str
    dimension: str
    low: float
    high: float
    meaning: str


def _table(*rows: tuple[str, str, str, float, float, str]) -> dict[str, Quantity]:
    return {row[0]: Quantity(*row) for row in rows}


QUANTITIES = _table(
    ("c", "degC", "temperature", -90.0, 60.0, "An air temperature."),
    ("k", "kelvin", "temperature", 183.0, 333.0, "An absolute temperature."),
    ("kpa", "kPa", "pressure", 0.0, 110.0, "A vapour pressure or the pressure of the air."),
    ("water_kpa", "kPa", "pressure", 0.0, 2000.0, "The pressure of the water at a head."),
    ("kpa_per_c", "kPa/delta_degC", "slope", 0.0, 1.0, "A slope or constant in kPa per degree."),
    ("per_c", "1/delta_degC", "slope", 0.0, 0.01, "A coefficient per degree."),
    ("per_h", "1/hour", "decay", 0.0, 100.0, "How fast an intake rate falls off, per hour."),
    (
        "mj_m2",
        "MJ/m^2",
        "radiation total",
        -20.0,
        60.0,
        "A radiation total of the period in hand, an hour or a day.",
    ),
    ("mj_m2_d", "MJ/m^2/day", "radiation", -20.0, 60.0, "A radiation total of a day."),
    ("mj_m2_h", "MJ/m^2/hour", "radiation", -1.0, 6.0, "A radiation total of an hour."),
    ("m_s", "m/s", "speed", 0.0, 60.0, "A wind speed."),
    ("pct", "percent", "share", 0.0, 100.0, "A share in percent: relative humidity, slope."),
    ("fraction", "dimensionless", "share", 0.0, 1.0, "A share of one."),
    ("factor", "dimensionless", "ratio", 0.0, 10.0, "A ratio that multiplies a quantity."),
    ("mm", "mm", "depth", 0.0, 5000.0, "A depth of water or of soil."),
    ("mm_d", "mm/day", "depth rate", 0.0, 30.0, "A depth of water a day."),
    ("mm_h", "mm/hour", "depth rate", 0.0, 500.0, "A precipitation or intake rate, or ET of an hour."),
    ("m", "m", "length", -500.0, 9000.0, "A height or an elevation."),
    ("m2", "m^2", "area", 0.0, 1.0e7, "A watered area."),
    ("min", "minute", "time", 0.0, 10080.0, "A run time, a soak or a place in the night."),
    ("h", "hour", "time", 0.0, 25.0, "Hours of a day: sunshine, daylight, solar clock."),
    ("d", "day", "time", 0.0, 366.0, "A number of days."),
    ("deg", "degree", "angle", -180.0, 180.0, "A latitude or longitude."),
    ("rad", "radian", "angle", -6.3, 6.3, "An angle of the sun or a latitude."),
    ("l_min", "liter/minute", "flow", 0.0, 10000.0, "A flow of water."),
    ("l", "liter", "volume", 0.0, 1.0e9, "A volume of water."),
    ("ml", "milliliter", "volume", 0.0, 5000.0, "What a catch cup holds."),
    ("cm2", "cm^2", "area", 0.0, 2000.0, "The throat of a catch cup."),
    ("ohm", "ohm", "resistance", 0.0, 1.0e6, "The resistance of a coil with its wires."),
    ("v", "volt", "voltage", 0.0, 60.0, "The voltage at a terminal while its station is on."),
    ("s", "second", "time", 0.0, 3600.0, "A short time: how long a drop of water sits."),
    ("ds_m", "decisiemens/meter", "conductivity", 0.0, 60.0, "Electrical conductivity of water or of a soil extract."),
    ("g_m2", "gram/m^2", "dose", 0.0, 50.0, "Nitrogen fed to an area."),
    ("kg", "kilogram", "mass", 0.0, 1.0e5, "The weight of a product."),
    ("per_m3", "1/meter^3", "price", 0.0, 1.0e6, "What a cubic metre of water costs, in the currency beside it."),
    ("money", "dimensionless", "money", -1.0e12, 1.0e12, "An amount of the currency that stands beside it."),
    ("count", "dimensionless", "count", 0.0, 1.0e9, "A number of things."),
    ("day_of_year", "dimensionless", "count", 1.0, 366.0, "The number of the day in its year, 1 to 366."),
    ("month", "dimensionless", "count", 1.0, 12.0, "The number of the month, 1 to 12."),
)


def quantity_of(name: str) -> Quantity | None:
    """Find the quantity a name ends in: the longest listed suffix wins; None where there is none."""
    parts = name.split("_")
    for start in range(len(parts)):
        found = QUANTITIES.get("_".join(parts[start:]))
        if found is not None:
            return found
    return None
