"""From cells to numbers in canonical units, refusing what is no number or cannot be true."""

from __future__ import annotations

import json
import math
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from etsched.core.atmosphere import wind_at_2m
from etsched.documents.column_names import in_own_unit, own_unit, scale_and_unit
from etsched.documents.refusals import clean, shown
from etsched.errors import Problem, QuantityRefused
from etsched.frames.weather import DAILY_LIMITS, HOURLY_LIMITS
from etsched.units import parse

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from etsched.documents.columns import Column
    from etsched.feeds.csv_table import Table

_NUMBER = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d{1,3})?", re.ASCII)
_MISSING_NUMBER = re.compile(r"-?9{2,}(00)?(\.[90]+)?|-[67]999(\.0+)?", re.ASCII)
_MISSING_WORD = re.compile(r"[#*?.-]*|#?n/?a|nan|null|none|missing|m|t|trace", re.IGNORECASE)
_HEADING_UNIT = re.compile(r"[(\[]\s*([^()\[\]]+?)\s*[)\]]$|[ _](°[CF]|deg[CF]|[CF])$")
_REFERENCE_HEIGHT_M = 2.0
_ENDLESS = 1e12
_PROBE = np.array([0.0, 100.0])  # two numbers tell two units apart
# In fog a humidity sensor reads a little over 100 %; up to here that counts as 100 %, and is said. Own limit.
_FOG_PCT = 105.0


@dataclass(frozen=True, slots=True)
class Numbers:
    """One quantity of every row, NaN where it is missing, and what was wrong or set right on the way."""

    values: NDArray[np.float64]
    problems: tuple[Problem, ...]
    notes: tuple[str, ...]


def read_numbers(table: Table, key: str) -> Numbers:
    """Read one quantity of a file.

    Parameters
    ----------
    table : Table
        The file.
    key : str
        The mapping's name of the quantity, such as `tmin`.

    Returns
    -------
    numbers : Numbers
        In the canonical unit; wind at 2 m.
    """
    column, heading = table.mapping.columns[key], table.heading(key)
    name, text = table.frame_column(key), table.text(key)
    read = _Reader(table.mapping.file.decimal, (*table.mapping.file.missing, *column.missing))
    known = {cell: read.number(cell) for cell in set(text)}
    problems = table.cells.at_rows(
        [row for row, cell in enumerate(text) if known[cell] is None],
        heading,
        lambda row: (f"{shown(text[row])} is no number", read.remedy(text[row])),
    )
    raw = np.array([known[cell] for cell in text], dtype=np.float64)
    values = in_own_unit(raw, column.unit, name)
    values, notes = _without_fog(values, heading, name)
    low, high = (HOURLY_LIMITS if table.hourly else DAILY_LIMITS)[name]
    problems += table.cells.at_rows(
        np.flatnonzero((values < low) | (values > high)).tolist(),
        heading,
        lambda row: _outside(text[row], float(values[row]), column.unit, name, (low, high)),
    )
    return Numbers(_at_2m(values, column), tuple(problems), notes)


@dataclass(frozen=True, slots=True)
class _Reader:
    """Reads one cell: a number, NaN for a missing value, None for anything else."""

    decimal: str
    marks: tuple[str, ...]

    def number(self, cell: str) -> float | None:
        if not cell or cell in self.marks:
            return math.nan
        value = self._plain(cell)
        return math.nan if value is not None and value in map(self._plain, self.marks) else value

    def _plain(self, cell: str) -> float | None:
        if self.decimal == ",":
            cell = cell.replace(".", " ").replace(",", ".")
        if not _NUMBER.fullmatch(cell):
            return None
        value = float(cell)
        # What no weather reaches counts as endless, so that converting it cannot overflow; the limits refuse it.
        return value if abs(value) < _ENDLESS else math.copysign(math.inf, value)

    def remedy(self, cell: str) -> str:
        """Say what to do about a cell that holds no number."""
        if _MISSING_WORD.fullmatch(cell):
            return _declare(cell)
        other = "." if self.decimal == "," else ","
        if _Reader(other, ()).number(cell) is not None:
            return f'set decimal = "{other}" in [file] of the column mapping, or correct the cell'
        return "correct the cell"


def _declare(cell: str) -> str:
    mark = json.dumps(cell, ensure_ascii=False)
    return f"if it marks a missing value, add {mark} to missing in the column mapping"


def _outside(cell: str, value: float, unit: str, name: str, limits: tuple[float, float]) -> tuple[str, str]:
    """Say that a value cannot be true, and what is most likely the matter."""
    own = own_unit(name)
    converted = "" if unit == own else f" is {value:.4g} {own} and"
    wrong = f"{shown(cell)} {unit}{converted} lies outside {limits[0]:g} to {limits[1]:g} {own}"
    if _MISSING_NUMBER.fullmatch(cell):
        return wrong, _declare(cell)
    if own == "degC" == unit and limits[1] < value < 140.0:
        return wrong, "if the column is in degF, correct its unit in the column mapping"
    return wrong, "correct the cell, or the unit in the column mapping"


def _without_fog(values: NDArray[np.float64], heading: str, name: str) -> tuple[NDArray[np.float64], tuple[str, ...]]:
    fog = (values > 100.0) & (values <= _FOG_PCT)
    if not name.endswith("_pct") or not fog.any():
        return values, ()
    note = f"{heading} reads between 100 and {_FOG_PCT:g} % in {fog.sum()} rows, taken as 100 %"
    return np.where(fog, 100.0, values), (note,)


def _at_2m(values: NDArray[np.float64], column: Column) -> NDArray[np.float64]:
    if column.height is None:
        return values
    height_m = parse(column.height, "m")
    # At the reference height itself the rounded constants of Eq. 47 would change the number by 0.02 %.
    return values if height_m == _REFERENCE_HEIGHT_M else wind_at_2m(values, height_m)


def contradicted_units(table: Table) -> list[Problem]:
    """Give the headings that state another unit of the quantity than the mapping does, such as `Tmax (F)`.

    A number in front of the mapping's unit is no contradiction: who writes "0.1 mm" has looked.
    """
    problems = []
    for key, column in table.mapping.columns.items():
        heading, name = table.heading(key), table.frame_column(key)
        stated = _HEADING_UNIT.search(heading)
        if stated is None:
            continue
        said = stated[1] or stated[2]
        try:
            converted = [in_own_unit(_PROBE, unit, name) for unit in (said, scale_and_unit(column.unit)[1])]
        except QuantityRefused:  # what stands in the brackets is no unit of this quantity
            continue
        if not np.allclose(converted[0], converted[1]):
            wrong = f"the heading says {clean(said)}, the column mapping says {column.unit}"
            problems.append(table.cells.at_heading(heading, wrong, "correct the one that is wrong"))
    return problems
