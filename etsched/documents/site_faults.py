"""From what pydantic found in a site file to sentences: where it stands, what is wrong, what to do."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from etsched.documents.refusals import clean, closest, shown, written_out
from etsched.documents.site_model import (
    BanIn,
    ControllerIn,
    FeedIn,
    KnownValue,
    NewTurfIn,
    PlaceIn,
    RestrictionIn,
    SiteIn,
    StationIn,
    Strict,
    WaterIn,
    WateringIn,
)

if TYPE_CHECKING:
    from pydantic_core import ErrorDetails

    from etsched.documents.lines import Path

_TABLES: dict[str, type[Strict]] = {
    "place": PlaceIn,
    "watering": WateringIn,
    "station": StationIn,
    "weather": FeedIn,
    "ban": BanIn,
    "restriction": RestrictionIn,
    "new_turf": NewTurfIn,
    "controller": ControllerIn,
    "water": WaterIn,
}
# Where a misplaced key may belong; words such as `first` and `file` belong to several of the other tables.
_MODELS: dict[str, type[Strict]] = {
    "": SiteIn,
    "place": PlaceIn,
    "watering": WateringIn,
    "water": WaterIn,
    "station": StationIn,
}
_LISTS = {"station", "weather", "ban", "restriction"}
_HEADERS = {name: f"[[{name}]]" if name in _LISTS else f"[{name}]" for name in _TABLES}


def field_name(path: Path, document: Mapping[str, Any]) -> str:
    """Name an entry as people look for it: `station 7 soil`, by terminal where the file has one."""
    if path[:1] != ("station",) or len(path) == 1:
        return " ".join(clean(part) for part in path if isinstance(part, str))
    stations, index = document["station"], path[1]
    terminal = stations[index].get("terminal") if isinstance(stations[index], dict) else None
    known = isinstance(terminal, int) and 0 < terminal < 10_000 and not isinstance(terminal, bool)
    station = f"station {terminal}" if known else f"station table {int(index) + 1}"
    return " ".join([station, *(clean(str(part)) for part in path[2:] if part != "value")])


def sentence(fault: ErrorDetails) -> tuple[str, str]:
    """Give what is wrong and what to do about one thing pydantic found."""
    path, raw = fault["loc"], fault["input"]
    match fault["type"]:
        case "refused":
            words = fault["ctx"]["wrong"], fault["ctx"]["remedy"]
        case "missing":
            words = "has no value" if path[-1] == "value" else "is missing", _add(path)
        case "extra_forbidden":
            words = "is no key that belongs here", _rename(path)
        case "too_short":
            words = "there is no station", "add a [[station]] table for every valve"
        case "list_type" if path == ("notes",):
            words = f"{shown(raw)} is no list", 'write sentences in brackets, such as ["Gate code 12"]'
        case "list_type" if isinstance(raw, dict):
            words = (
                "is one table in single brackets",
                f"write {_HEADERS[str(path[0])]}, in double brackets, for "
                + ("every valve" if path[0] == "station" else "each of them"),
            )
        case _:  # a value where a table belongs
            words = "is not written as a table", f"write {_HEADERS[str(path[0])]} with its keys below it"
    return words


def _add(path: Path) -> str:
    """Say how a missing entry would look."""
    key = str(path[-1])
    if path[0] in _TABLES and len(path) == 1:
        return f"add {_HEADERS[key]} with {written_out(_required(_TABLES[key]), 'and')}"
    if len(path) > 3:
        return f'add {key}, as in {{ value = "…", known = "…" }}'
    example = (_keys(path)[key].examples or ["…"])[0]
    return f"add a line such as {key} = {json.dumps(example)}"


def _rename(path: Path) -> str:
    """Say what an unknown key was probably meant to be, or where it belongs."""
    key, here = str(path[-1]), _keys(path)
    for table, model in _MODELS.items():
        if key in model.model_fields and model.model_fields is not here:
            return f"move it to {_HEADERS[table]}" if table else "move it to the top, above every table"
    match = closest(key, here)
    return f'perhaps you meant "{match}"' if match else f"take it out, or use {written_out([*here])}"


def _keys(path: Path) -> dict[str, Any]:
    """Give the keys that belong beside the one at the end of a path."""
    if len(path) == 1:
        return SiteIn.model_fields
    model = _TABLES[str(path[0])]
    return KnownValue.model_fields if model is StationIn and len(path) > 3 else model.model_fields


def _required(model: type[Strict]) -> list[str]:
    return [key for key, field in model.model_fields.items() if field.is_required()]
