"""Reference ET of every day of a weather file, by each formula, in the reader's units."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from etsched.planning.et_days import EtDays
from etsched.tables.figure import Figure, figure
from etsched.units import UnitSystem

# Field of EtDays → head of its column.
COLUMNS = {
    "fao56_mm": "FAO-56 daily",
    "asce_short_mm": "ASCE short",
    "asce_tall_mm": "ASCE tall",
    "hargreaves_mm": "Hargreaves",
    "hourly_sum_mm": "FAO-56 hourly, summed",
}


@dataclass(frozen=True, slots=True)
class EtRow:
    """One day."""

    day: date
    tmin: Figure
    tmax: Figure
    rain: Figure
    et: tuple[Figure, ...]  # in the order of COLUMNS
    filled: str


def et_table(days: EtDays, system: UnitSystem) -> tuple[EtRow, ...]:
    """Write every day."""
    return tuple(
        EtRow(
            day=day,
            tmin=figure(float(days.tmin_c[n]), "c", system),
            tmax=figure(float(days.tmax_c[n]), "c", system),
            rain=figure(float(days.rain_mm[n]), "mm", system),
            et=tuple(figure(float(getattr(days, name)[n]), "mm", system) for name in COLUMNS),
            filled="; ".join(days.filled[n]),
        )
        for n, day in enumerate(days.day)
    )
