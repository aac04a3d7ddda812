"""Plan values as plain JSON: canonical numbers in full, the same bytes for the same plan."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping
from dataclasses import fields
from datetime import UTC, datetime
from typing import Any

from etsched.model.plan import Run, StationDay, WaterState
from etsched.tables.figure import figure, plain
from etsched.tables.nights import Start
from etsched.tables.volume import Volume
from etsched.units import UnitSystem

Json = dict[str, Any]


def to_text(document: Mapping[str, Any]) -> str:
    """Write a document with sorted keys; what is not a finite number becomes null."""
    return json.dumps(_finite(document), sort_keys=True, ensure_ascii=False, allow_nan=False) + "\n"


def _finite(value: Any) -> Any:  # noqa: ANN401 - JSON is untyped by nature
    if isinstance(value, Mapping):
        return {str(key): _finite(each) for key, each in value.items()}
    if isinstance(value, list | tuple):
        return [_finite(each) for each in value]
    if isinstance(value, float) and not math.isfinite(value):
        return None
    return plain(value) if isinstance(value, str) else value


def utc(moment: datetime) -> str:
    """Write a UTC instant: `2026-07-14T02:00:00Z`."""
    return moment.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


def water(state: WaterState) -> Json:
    """Write the water by layer, roots first, keyed by terminal."""
    return {
        "morning": state.morning.isoformat(),
        "deficit_mm": {str(terminal): list(layers) for terminal, layers in state.deficit_mm.items()},
        "thickness_mm": {str(terminal): list(layers) for terminal, layers in state.thickness_mm.items()},
    }


def run(planned: Run, starts: list[Start], system: UnitSystem) -> Json:
    """Write a run with its cycles on the wall clock, its reason and its working."""
    return {
        "terminal": planned.terminal,
        "minutes": planned.length_min,
        "wanted_min": planned.wanted_min,
        "least_soak_min": planned.soak_min,
        "cycles": [
            {
                "start_min": start.start_min,
                "length_min": start.minutes,
                "start": start.start,
                "end": start.end,
            }
            for start in starts
        ],
        "depletion_mm": planned.depletion_mm,
        "allowable_mm": planned.allowable_mm,
        "net_mm": planned.net_mm,
        "gross_mm": planned.gross_mm,
        "applied_mm": planned.applied_mm,
        "credited_mm": planned.credited_mm,
        "flow_l": planned.flow_l,
        "reason": planned.reason,
        "working": working(planned, system),
    }


def working(planned: Run, system: UnitSystem) -> list[Json]:
    """Write the steps of a run: canonical value and unit suffix, and the value as its reader reads it."""
    return [
        {
            "name": step.name,
            "formula": step.formula,
            "value": step.value,
            "unit": step.suffix,
            "reader": figure(step.value, step.suffix, system, more_digits=1).text,
            "source": step.source,
        }
        for step in planned.working
    ]


def cost(volume: Volume) -> Json:
    """Write what a volume costs: the amount, and what its reader reads; both null where no price is stated."""
    return {
        "cost_money": None if volume.cost is None else volume.cost.value,
        "cost": volume.cost_text or None,
    }


def books(line: StationDay) -> Json:
    """Write one line of the water books."""
    values = {each.name: getattr(line, each.name) for each in fields(line)}
    return {**values, "day": line.day.isoformat()}
