"""From a visit's form to its record, and the screens that the form is shown on.

A form is flat: `core.2.layers.0.feel` is a field of the third core, `run.5.wet.1` the second value of a list. What is
typed stays text, with its unit, so that the one reader of records refuses what it would refuse in a file.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeAlias

from etsched.documents.visit_words import TIPPED
from etsched.documents.visit_written import Written, visit_text

if TYPE_CHECKING:
    from etsched.model.site import Site
    from etsched.web.pages.visit_steps import Field, Step

Form: TypeAlias = Mapping[str, str]
NOTHING = "-"  # of a list: looked, and there was none
MOST_CUPS = 30  # in a row, and rows of them; common practice, no source: the largest audits have fewer
_MOST_ROWS = 300  # of one table; a visit of one day has far fewer
LISTS = frozenset({"layers", "feed_ban"})
_Row: TypeAlias = "dict[str, Written]"


@dataclass(frozen=True, slots=True)
class Grid:
    """Cups as they stood, by the names of their fields."""

    rows: int
    across: int


@dataclass(frozen=True, slots=True)
class Screen:
    """One thing to fill in; `adds` is the anchor of another of its kind, where there may be one."""

    prefix: str  # of its fields' names
    step: Step
    holds: bool  # whether anything is filled in
    adds: str = ""
    area: str = ""  # of a station's own screen
    grid: Grid | None = None

    @property
    def anchor(self) -> str:
        """Its name in the address."""
        return self.prefix.replace(".", "-")

    @property
    def title(self) -> str:
        """What stands above it; people count from 1, and stations by their terminals."""
        if self.step.each == "once":
            return self.step.title
        return f"{self.step.one} {int(self.prefix.rpartition('.')[2]) + (self.step.each == 'more')}"


def screens_of(steps: Sequence[Step], site: Site, form: Form, adds: str = "") -> list[Screen]:
    """Lay out every screen of a visit; `adds` names the table that one more is wanted of."""
    screens: list[Screen] = []
    for step in steps:
        filled = rows_filled(step, form)
        if step.each == "once":
            screens.append(Screen(step.table, step, bool(_row(step, step.table, form))))
        elif step.each == "station":
            screens += (
                Screen(f"{step.table}.{each.terminal}", step, each.terminal in filled, area=each.area)
                for each in site.stations
            )
        else:
            rows = min(max(_indexes(form, step.table), default=0) + (step.table == adds) + 1, _MOST_ROWS)
            for index in range(rows):
                prefix = f"{step.table}.{index}"
                grid = grid_of(form, prefix) if step.table == "cups" else None
                screens.append(Screen(prefix, step, index in filled, f"{step.table}-{rows}", grid=grid))
    return screens


def cups_read(form: Form) -> int:
    """Count the cups of every test."""
    return sum(name.startswith("cups.") and ".rows." in name and bool(text.strip()) for name, text in form.items())


def to_mend(form: Form) -> set[str]:
    """Name the stations of which the form tells a fault, or the day of a repair."""
    found = set()
    for name, text in form.items():
        match name.split("."):
            case ["head", _, "station"] if text:
                found.add(text)
            case ["run", terminal, "leak"] | ["recovery", "repaired_on", terminal] if text.strip():
                found.add(terminal)
            case ["run", terminal, "from_controller"] if text == "no":
                found.add(terminal)
            case ["electrical", at, "coil", "or"] if text:
                found.add(form.get(f"electrical.{at}.station", ""))
    return found


def grid_of(form: Form, prefix: str) -> Grid:
    """Read how many cups stood how; 4 rows of 6 are the 24 that a test has at least."""
    rows, across = (_whole(form, f"{prefix}.{name}") for name in ("grid_rows", "grid_across"))
    return Grid(rows or 4, across or 6)


def _whole(form: Form, name: str) -> int:
    text = form.get(name, "")
    return min(int(text), MOST_CUPS) if text.isascii() and text.isdigit() and len(text) < 4 else 0


def document_of(steps: Sequence[Step], site: Site, form: Form) -> str:
    """Write the record that a form holds. What was left empty is left out; an empty row is no row."""
    tables: _Row = {"site": site.name}
    for step in steps:
        if step.each == "once":
            row = _row(step, step.table, form)
            tables |= row if step.table == "visit" else {step.table: row} if row else {}
            continue
        if filled := rows_filled(step, form):
            tables[step.table] = [_row(step, f"{step.table}.{index}", form) for index in filled]
    return visit_text(tables)


def rows_filled(step: Step, form: Form) -> list[int]:
    """Give the rows of a table in which something was filled in, by their numbers on the form."""
    return [index for index in sorted(_indexes(form, step.table)) if _row(step, f"{step.table}.{index}", form)]


def _indexes(form: Form, table: str) -> set[int]:
    """Find the rows of a table, empty ones too."""
    parts = (name.split(".", 2) for name in form if name.startswith(f"{table}."))
    found = {part[1] for part in parts if len(part) == 3 and part[1].isascii() and part[1].isdigit()}
    return {int(each) for each in found if len(each) < 5}


def _row(step: Step, prefix: str, form: Form) -> _Row:
    row: _Row = {}
    for field in step.fields:
        given = [text for name in field.names(prefix) if (text := form.get(name, "").strip())]
        value = _cups(form, prefix) if field.how == "grid" else _value(field, given)
        if value is not None:
            _put(row, field.name.split("."), value)
    return _finished(step, prefix, row)


def _finished(step: Step, prefix: str, row: _Row) -> _Row:
    """Give a row the shape of its table: lists where it has them, the station's own terminal."""
    if not row:
        return row
    for name in LISTS & row.keys():
        inner = row[name]
        row[name] = [*inner.values()] if isinstance(inner, Mapping) else inner
    insects = row.pop("insects", None)
    if isinstance(insects, Mapping):
        row["insects"] = {str(insects.get("kind", "")): insects.get("count", "")}
    if step.each == "station":
        return {"station": int(prefix.rpartition(".")[2]), **row}
    if step.table == "program":
        return {"starts": [], "days": [], "minutes": {}, **row}
    for name in {"stations", "minutes"} & row.keys() if step.table == "cups" else ():
        row[name] = [row[name]]
    return row


def _put(row: _Row, path: list[str], value: Written) -> None:
    for part in path[:-1]:
        inner = row.setdefault(part, {})
        assert isinstance(inner, dict)  # noqa: S101 - no field's path goes through another's
        row = inner
    row[path[-1]] = value


def _value(field: Field, given: list[str]) -> Written | None:
    if not given:
        return None
    if field.how == "yes or no":
        return given[0] == "yes"
    if field.how == "lines":
        return [line.strip() for line in given[0].splitlines() if line.strip()]
    if field.is_list:
        return [each for each in given if each != NOTHING]
    if field.how in ("number", "station"):
        return _number(given[-1], field)
    # A note of the record is one line.
    return " ".join(given[0].split()) if field.how == "paragraph" else given[0]


def _number(text: str, field: Field) -> Written:
    """Take a number with its unit; what is none stays as it was typed and is refused by whoever reads it."""
    if text in field.choices:
        return text
    try:
        plain: Written = float(text) if "." in text else int(text)
    except ValueError:
        return text
    return f"{text} {field.unit}" if field.unit else plain


def _cups(form: Form, prefix: str) -> Written | None:
    """Read the cups row by row; an empty one among others was tipped."""
    grid = grid_of(form, prefix)
    read: list[list[Written]] = []
    for row in range(grid.rows):
        texts = (form.get(f"{prefix}.rows.{row}.{at}", "").strip() for at in range(grid.across))
        read.append([_caught(text) for text in texts])
    return read if any(cup != TIPPED for row in read for cup in row) else None


def _caught(text: str) -> Written:
    try:
        return float(text) if text else TIPPED
    except ValueError:
        return text
