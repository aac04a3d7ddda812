"""The names a column mapping uses for the weather's quantities, and what their units must measure."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Literal

from etsched.errors import QuantityRefused
from etsched.frames.weather import DAILY_COLUMNS, HOURLY_COLUMNS
from etsched.quantities import QUANTITIES, quantity_of
from etsched.units import to_canonical

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

_SCALED = re.compile(r"(?!0+(?:\.0+)? )(\d+(?:\.\d+)?) +(\S.*)", re.ASCII)

Rows = Literal["daily", "hourly"]


def suffix_of(frame_column: str) -> str:
    """Give the unit suffix of a weather column: `c` of `tmin_c`."""
    quantity = quantity_of(frame_column)
    if quantity is None:  # pragma: no cover - this module would not load
        raise KeyError(frame_column)
    return quantity.suffix


# The keys of [columns] and the frame's columns they fill: `tmin` fills `tmin_c`.
KEYS: dict[Rows, dict[str, str]] = {
    "daily": {name.removesuffix(f"_{suffix_of(name)}"): name for name in DAILY_COLUMNS},
    "hourly": {name.removesuffix(f"_{suffix_of(name)}"): name for name in HOURLY_COLUMNS},
}
REQUIRED: dict[Rows, tuple[str, ...]] = {"daily": ("tmin", "tmax"), "hourly": ("temperature",)}


def own_unit(frame_column: str) -> str:
    """Give the unit in which this program keeps a weather column."""
    return QUANTITIES[suffix_of(frame_column)].unit


def in_own_unit(values: NDArray[np.float64], unit: str, frame_column: str) -> NDArray[np.float64]:
    """Convert a file's numbers to the unit this program keeps a weather column in.

    A unit may have a number in front: files of rain in tenths of a millimetre state "0.1 mm". Radiation comes as a
    rate or as the total of the row's hour or day; both lead to the same number, so that "Wh/m2" of an hour and its
    mean in "W/m2" are one. Raises QuantityRefused where the unit measures something else.
    """
    scale, plain = scale_and_unit(unit)
    suffix = suffix_of(frame_column)
    if suffix.startswith("mj_m2_"):
        try:
            return to_canonical(values * scale, plain, "mj_m2")
        except QuantityRefused:
            pass
    return to_canonical(values * scale, plain, suffix)


def scale_and_unit(unit: str) -> tuple[float, str]:
    """Part the number in front of a unit from it: `0.1 mm` is 0.1 and `mm`."""
    match = _SCALED.fullmatch(unit)
    return (float(match[1]), match[2]) if match else (1.0, unit)
