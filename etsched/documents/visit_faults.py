"""From what pydantic found in a visit file to sentences: where it stands, what is wrong, what to do."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

from etsched.documents import visit_model, visit_recovery
from etsched.documents.refusals import clean, closest, shown, written_out
from etsched.documents.site_model import Strict

if TYPE_CHECKING:
    from pydantic_core import ErrorDetails

    from etsched.documents.lines import Path

_SINGLE: dict[str, type[Strict]] = {
    "salts": visit_model.SaltsIn,
    "clock": visit_model.ClockIn,
    "recovery": visit_recovery.RecoveryIn,
    "recovery.fertiliser": visit_recovery.FertiliserIn,
}
REPEATED: dict[str, type[Strict]] = {
    "program": visit_model.ProgramIn,
    "area": visit_model.AreaIn,
    "run": visit_model.RunIn,
    "head": visit_model.HeadIn,
    "electrical": visit_model.ElectricalIn,
    "cups": visit_model.CupsIn,
    "core": visit_model.CoreIn,
    "meter": visit_model.MeterIn,
    "recovery.feed_ban": visit_recovery.FeedBanIn,
}
_HEADERS = {key: f"[{key}]" for key in _SINGLE} | {key: f"[[{key}]]" for key in REPEATED}


def field_name(path: Path) -> str:
    """Name an entry as people count: `core 2 layers 1 feel`."""
    return " ".join(str(part + 1) if isinstance(part, int) else clean(part) for part in path if part != "[key]")


def sentence(fault: ErrorDetails) -> tuple[str, str]:
    """Give what is wrong and what to do about one thing pydantic found."""
    path, raw = fault["loc"], fault["input"]
    match fault["type"]:
        case "refused":
            words = fault["ctx"]["wrong"], fault["ctx"]["remedy"]
        case "missing":
            words = "is missing", f"add a line such as {_line(path)}"
        case "extra_forbidden":
            words = "is no key that belongs here", _rename(path)
        case "list_type" if _dotted(path) in REPEATED:
            wrong = "is one table in single brackets" if isinstance(raw, dict) else "is not written as a table"
            words = wrong, f"write {_HEADERS[_dotted(path)]}, in double brackets, for each"
        case "list_type":
            words = f"{shown(raw)} is no list", f"write it in square brackets{_such_as(path)}"
        case "dict_type":
            words = f"{shown(raw)} is no table", f"write it in curly brackets{_such_as(path)}"
        case _:  # a value where a table belongs
            header = _HEADERS.get(_dotted(path), "each as { bottom = …, feel = … }")
            words = "is not written as a table", f"write {header} with its keys"
    return words


def _line(path: Path) -> str:
    """Write out how an entry looks, from its first example."""
    key = str(path[-1])
    example = (_model(path).model_fields[key].examples or ["…"])[0]
    return f"{key} = {_toml(example)}"


def _such_as(path: Path) -> str:
    """Show an example where the key at the end of a path has one."""
    field = _model(path).model_fields.get(str(path[-1]))
    return f", such as {_line(path)}" if field is not None and field.examples else ""


def _toml(example: object) -> str:
    if isinstance(example, dict):
        inside = ", ".join(f"{key} = {_toml(value)}" for key, value in example.items())
        return f"{{ {inside} }}"
    return json.dumps(example)


def _rename(path: Path) -> str:
    """Say what an unknown key was probably meant to be, or where it belongs."""
    key, here = str(path[-1]), _model(path)
    if key in visit_model.VisitIn.model_fields and here is not visit_model.VisitIn:
        return f"write {_HEADERS[key]} above it" if key in _HEADERS else "move it to the top, above every table"
    match = closest(key, here.model_fields)
    if match:
        return f'perhaps you meant "{match}"'
    if here is visit_model.CoreIn and key in visit_model.LayerIn.model_fields:
        return "write it inside layers, with the bottom of its layer"
    deeper = [header for name, header in _HEADERS.items() if name.endswith(f".{key}")]
    if deeper:
        return f"write {deeper[0]}"
    at_home = [header for name, header in _HEADERS.items() if key in (_SINGLE | REPEATED)[name].model_fields]
    if at_home:
        return f"move it to {at_home[0]}"
    return f"take it out, or use {written_out([*here.model_fields])}"


def _model(path: Path) -> type[Strict]:
    """Give the model of the table in which the last key of a path stands."""
    above = _dotted(path[:-1])
    if above == "core.layers":
        return visit_model.LayerIn
    tables = _SINGLE | REPEATED
    return tables.get(above) or tables.get(above.partition(".")[0], visit_model.VisitIn)


def _dotted(path: Path) -> str:
    """Give a path as the headers of tables write it: names only."""
    return ".".join(part for part in path if isinstance(part, str))
