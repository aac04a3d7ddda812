"""One visit as JSON, schema `etsched.visit/1`: every figure's canonical number and unit beside its reader's text."""

from __future__ import annotations

from dataclasses import fields, is_dataclass
from datetime import date
from typing import TYPE_CHECKING, Any

from etsched.reports import encode
from etsched.tables.figure import Figure
from etsched.tables.visit import VisitTable, visit_table
from etsched.tables.visit_words import Day

if TYPE_CHECKING:
    from etsched.planning.visit_outcome import VisitOutcome
    from etsched.units import UnitSystem

SCHEMA = "etsched.visit/1"


def visit_json(outcome: VisitOutcome, system: UnitSystem | None = None) -> str:
    """Write the visit with the fields of its tables.

    A figure is `value` in the canonical unit that `unit` names (null where it is not known) beside `reader`, the text
    that page and terminal show; a day is `day` beside `reader`. A part that nobody looked at is null or empty.
    """
    table = visit_table(outcome, system)
    document = {each.name: _plain(getattr(table, each.name)) for each in fields(VisitTable)}
    units = document.pop("system")
    return encode.to_text({"schema": SCHEMA, "units": units, **document})


def _plain(value: Any) -> Any:  # noqa: ANN401 - JSON is untyped by nature
    match value:
        case Figure():
            return {"value": value.value, "unit": value.suffix, "reader": value.text}
        case Day():
            return {"day": _plain(value.value), "reader": value.text}
        case date():
            return value.isoformat()
        case list() | tuple():
            return [_plain(each) for each in value]
        case _ if is_dataclass(value):
            return {each.name: _plain(getattr(value, each.name)) for each in fields(value)}
        case _:
            return value
