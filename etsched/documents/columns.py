"""The column mapping: how the headings, units, missing marks and clock of a weather file are to be read."""

from __future__ import annotations

import re
import tomllib
from typing import TYPE_CHECKING, Annotated

from pydantic import BaseModel, ConfigDict, Field, PlainValidator, ValidationError, WithJsonSchema

from etsched.documents.column_checks import faults
from etsched.documents.column_names import KEYS, REQUIRED, Rows, own_unit
from etsched.documents.lines import line_of
from etsched.documents.refusals import closest, refuse, shown, written_out
from etsched.documents.words import OneOf, Whole
from etsched.errors import ColumnsRefused, Problem

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from pydantic_core import ErrorDetails

_AT_LINE = re.compile(r" \(at line (\d+), column \d+\)$")


def _heading(raw: object) -> str | int:
    if isinstance(raw, str) and raw.strip():
        return raw.strip()
    if isinstance(raw, int) and not isinstance(raw, bool) and raw >= 1:
        return raw
    raise refuse(f"{shown(raw)} names no column", "write its heading, or its position counted from 1")


Heading = Annotated[str | int, PlainValidator(_heading), WithJsonSchema({"type": ["string", "integer"], "minimum": 1})]
Marks = Annotated[tuple[str, ...], Field(strict=False)]


class _Table(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, strict=True)


class FileLayout(_Table):
    """How the text is cut into cells."""

    delimiter: str = ","
    """The one character between two cells, such as ";" or a tab."""
    decimal: Annotated[str, OneOf("decimal mark", lambda: (".", ","))] = "."
    """The decimal mark."""
    encoding: str = "utf-8"
    """Python's name of the encoding, such as "cp1252"."""
    header_line: Annotated[int, Whole(1, 1000)] = 1
    """The line that holds the headings; lines before it are skipped."""
    missing: Marks = ()
    """What marks a missing value. An empty cell always is one; numbers match by value: -999 is -999.0."""


class Stamps(_Table):
    """What the dates and times of the rows mean."""

    date: Heading = "date"
    """Column of the date, or of date and time together."""
    time: Heading | None = None
    """Column of the time, where it has one of its own. 24:00 is the next day's 00:00."""
    date_format: str | None = None
    """Such as "%m/%d/%Y". Left out: YYYY-MM-DD, followed by HH:MM where the column holds both."""
    time_format: str | None = None
    """Such as "%H%M". Left out: HH:MM."""
    stamps: Annotated[str | None, OneOf("end of an hour", lambda: ("start", "end"))] = None
    """Whether the row of an hour is stamped at its start or at its end."""
    clock: str | None = None
    """"local": the clock on the site's wall; "utc"; or an offset kept all year, such as "-07:00"."""
    year: Annotated[int | None, Whole(1900, 2100)] = None
    """Read every date as of this year, for a typical year made from several. 29 February may drop out."""


class Column(_Table):
    """Where one quantity stands, and in which unit."""

    column: Heading
    """Its heading, or its position counted from 1 where headings repeat."""
    unit: str
    """Such as "degF", "mph", "in", "W/m2"."""
    missing: Marks = ()
    """What else marks a missing value in this column."""
    height: str | None = None
    """Height of the anemometer, such as "10 m"; wind needs it, nothing else has it."""
    day_ends_at: Annotated[int, Whole(0, 24)] = 0
    """Hour of the row's date at which its value was read; read before noon, it is the day before's."""


class ColumnMapping(_Table):
    """How one weather file is to be read. Without `columns`, the file wears this program's own headings."""

    rows: Annotated[Rows | None, OneOf("kind of row", lambda: ("daily", "hourly"))] = None
    """Whether a row is a day or an hour."""
    file: FileLayout = FileLayout()
    time: Stamps = Stamps()
    columns: dict[str, Column] = {}
    """One table a quantity; the names are in `column_names.KEYS`."""

    def as_headed(self, headings: Sequence[str]) -> ColumnMapping:
        """Give the mapping for these headings: itself, or this program's own names if it has no columns."""
        if self.columns:
            return self
        rows: Rows = "hourly" if "time" in headings else "daily"
        columns = {
            key: Column(column=name, unit=own_unit(name), height="2 m" if key == "wind" else None)
            for key, name in KEYS[rows].items()
            if key in REQUIRED[rows] or name in headings
        }
        time = self.time
        if rows == "hourly":
            apart = {"date": "date", "time": "time"} if "date" in headings else {"date": "time"}
            time = time.model_copy(update={**apart, "stamps": "start", "clock": time.clock or "local"})
        return self.model_copy(update={"rows": rows, "time": time, "columns": columns})


def default_columns() -> ColumnMapping:
    """Give the mapping of a file that wears this program's own headings.

    Returns
    -------
    mapping : ColumnMapping
        Daily rows have `date`, `tmin_c`, `tmax_c` and any other of DAILY_COLUMNS. Hourly rows have `time`,
        or `date` and `time`, the start of the hour on the site's clock, `temperature_c` and any other of
        HOURLY_COLUMNS.
    """
    return ColumnMapping()


def read_columns(path: Path) -> ColumnMapping:
    """Read a column mapping from a TOML file. Raises ColumnsRefused with every problem found and its line."""
    try:
        text = path.read_bytes().decode("utf-8-sig")
    except (OSError, ValueError) as error:
        wrong = "the file cannot be read" if isinstance(error, OSError) else "this is no UTF-8 text"
        remedy = "name a column mapping that is there and is text in UTF-8"
        raise ColumnsRefused([Problem(str(path), None, "", wrong, remedy)]) from None
    return parse_columns(text, str(path))


def parse_columns(text: str, name: str) -> ColumnMapping:
    """Read a column mapping from a TOML text that problems call `name`. Raises ColumnsRefused."""
    try:
        mapping = ColumnMapping.model_validate(tomllib.loads(text))
    except ValidationError as error:
        found = [(fault["loc"], *_said(fault)) for fault in error.errors()]
    except (ValueError, RecursionError) as error:  # tomllib's own, and what it lets through: 10**5000, [[[[…
        raise ColumnsRefused([_not_toml(str(error), name)]) from None
    else:
        found = list(faults(mapping))
        if not found:
            return mapping
    problems = [
        Problem(name, line_of(text, path), ".".join(str(part) for part in path), wrong, remedy)
        for path, wrong, remedy in found
    ]
    raise ColumnsRefused(sorted(problems, key=lambda problem: problem.line or 0))


def _not_toml(message: str, name: str) -> Problem:
    line = _AT_LINE.search(message)
    wrong = f"this is not TOML: {_AT_LINE.sub('', message)}"
    return Problem(name, int(line[1]) if line else None, "", wrong, 'write key = "value" under [tables]')


def _said(fault: ErrorDetails) -> tuple[str, str]:
    """Put a fault that pydantic found into our words: what is wrong, what to do."""
    *above, key = fault["loc"]
    if fault["type"] == "refused":
        return str(fault["ctx"]["wrong"]), str(fault["ctx"]["remedy"])
    if fault["type"] == "missing":
        return "it is missing", f'add {key} = "…"'
    if fault["type"] == "extra_forbidden":
        known = _keys_at(above)
        meant = closest(str(key), known)
        hint = f'perhaps you meant "{meant}"' if meant else f"the keys here are {written_out(known)}"
        return "there is no such key here", hint
    return f"{shown(fault['input'])} does not fit", fault["msg"].replace("Input should be", "write")


def _keys_at(path: Sequence[str | int]) -> list[str]:
    models: dict[str | int, type[BaseModel]] = {"file": FileLayout, "time": Stamps, "columns": Column}
    return list((models[path[0]] if path else ColumnMapping).model_fields)
