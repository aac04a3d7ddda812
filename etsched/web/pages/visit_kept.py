"""A kept record filled into the form again, the way back from `visit_draft`, so that a visit can be corrected."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from etsched.documents.visit_words import TIPPED, Moment
from etsched.documents.words import Day, WallClock
from etsched.reference.signs import spoken
from etsched.web.pages.visit_draft import NOTHING
from etsched.web.pages.visit_steps import DAYS

if TYPE_CHECKING:
    from collections.abc import Iterator

    from etsched.model.site import Site
    from etsched.model.visit import Visit
    from etsched.web.pages.visit_steps import Field, Step

_Typed = tuple[str, str]  # the name of an input and what stands in it


def form_of(steps: Sequence[Step], site: Site, document: str) -> dict[str, str]:
    """Fill a record into the form; what the form has no field for is left out, which `is_same` finds."""
    record = tomllib.loads(document)
    areas = {station.terminal: station.area for station in site.stations}
    return {
        name: text
        for step in steps
        for prefix, row in _rows(step, record)
        for field in step.fields
        for name, text in _typed(field, prefix, row, areas.get(row.get("station", 0), ""))
    }


def is_same(one: Visit, other: Visit) -> bool:
    """Say whether two visits tell the same; the order of signs says nothing, that of a program's stations does."""
    return _in_order(one) == _in_order(other)


def _in_order(visit: Visit) -> tuple[Visit, list[list[int]]]:
    areas = tuple(replace(area, signs=tuple(sorted(area.signs))) for area in visit.areas)
    programs = visit.clock.programs if visit.clock is not None else ()
    return replace(visit, areas=areas, site_name=""), [[*program.minutes_min] for program in programs]


def _rows(step: Step, record: Mapping[str, Any]) -> Iterator[tuple[str, Mapping[str, Any]]]:
    if step.each == "once":
        yield step.table, record if step.table == "visit" else record.get(step.table, {})
        return
    for at, row in enumerate(record.get(step.table, [])):
        for kind, count in row.get("insects", {}).items():
            row["insects"] = {"kind": kind, "count": count}
        yield f"{step.table}.{row['station'] if step.each == 'station' else at}", row


def _typed(field: Field, prefix: str, row: Mapping[str, Any], area: str) -> Iterator[_Typed]:
    """Give what a person typed into the inputs of a question."""
    value, own = _found(row, field.name), f"{prefix}.{field.name}"
    if value is None:
        return
    if field.how == "grid":
        yield from _cups(prefix, value)
    elif field.how == "many":
        said = [_choice(field, each) for each in (DAYS if value == "every day" else value)]
        yield from ((f"{own}.{at}", choice) for at, choice in enumerate(field.choices) if choice in said)
    elif field.how == "wet" and field.is_list:
        # Its own area has a box, another one a field; an empty list is that nothing got wet.
        places = {f"{own}.{0 if each == area else 1}": each for each in value}
        yield from (places or {f"{own}.2": NOTHING}).items()
    elif field.how == "lines":
        yield own, "\n".join(value)
    elif field.is_list:
        yield from ((f"{own}.{at}", _text(field, each)) for at, each in enumerate(value))
    elif field.how == "number" and value in field.choices:
        yield f"{own}.or", str(value)
    else:
        yield own, _text(field, value[0] if isinstance(value, list) and value else value)


def _found(row: object, path: str) -> Any:  # noqa: ANN401 - what stands in TOML
    for part in path.split("."):
        if isinstance(row, list):
            row = row[int(part)] if int(part) < len(row) else None
        else:
            row = row.get(part) if isinstance(row, Mapping) else None
    return row


def _choice(field: Field, value: str) -> str:
    """Give a choice by the name that the form has for it; a file may say it otherwise."""
    if value in field.choices:
        return value
    keys = spoken("pattern", "colour", "sign", "insect")
    return keys.get(" ".join(value.split()).casefold(), value).replace("_", " ")


def _text(field: Field, value: Any) -> str:  # noqa: ANN401 - what stands in TOML
    match field.how:
        case "yes or no":
            return "yes" if value else "no"
        case "date":
            return Day().read(value).isoformat()
        case "time":
            return WallClock().read(value).isoformat("minutes")
        case "moment":
            return Moment().read(value).isoformat().removesuffix(":00")
        case "one":
            return _choice(field, value)
        case _:
            return str(value).removesuffix(f" {field.unit}") if field.unit else str(value)


def _cups(prefix: str, rows: Sequence[Sequence[Any]]) -> Iterator[_Typed]:
    yield f"{prefix}.grid_rows", str(len(rows))
    yield f"{prefix}.grid_across", str(max(map(len, rows), default=0))
    for row, caught in enumerate(rows):
        for at, cup in enumerate(caught):
            yield f"{prefix}.rows.{row}.{at}", "" if cup == TIPPED else str(cup)
