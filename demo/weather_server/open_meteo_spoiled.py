"""Answers of the Open-Meteo hosts with a fault in the data: well-formed, and wrong."""

from __future__ import annotations

from typing import Any

Answer = dict[str, Any]
_WRONG_UNIT = {"°C": "°F", "°F": "°C", "km/h": "mp/h", "m/s": "km/h", "mm": "inch", "W/m²": "MJ/m²", "MJ/m²": "kWh/m²"}
_ABSURD = 85.0


def spoil(found: Answer, fault: str) -> Answer:
    """Give the answer with the fault of that name; faults of the clock and the cell are made where values are."""
    change = {
        "wrong-units": _wrong_units,
        "unequal-arrays": _unequal,
        "all-null": _all_null,
        "spike": _spike,
        "doubled-days": _doubled,
    }.get(fault)
    if change is not None:
        for kind in ("hourly", "daily"):
            if kind in found:
                change(found[f"{kind}_units"], found[kind], 24 if kind == "hourly" else 1)
    return found


def _wrong_units(units: dict[str, str], _block: Answer, _day: int) -> None:
    for name, unit in units.items():
        units[name] = _WRONG_UNIT.get(unit, unit)


def _unequal(_units: dict[str, str], block: Answer, _day: int) -> None:
    last = list(block)[-1]
    block[last] = block[last][:-1]


def _all_null(_units: dict[str, str], block: Answer, _day: int) -> None:
    for name in block:
        if name != "time":
            block[name] = [None] * len(block[name])


def _spike(units: dict[str, str], block: Answer, day: int) -> None:
    """Put one absurd number into the middle of the first series that is a temperature, or else of the first."""
    names = [name for name in block if name != "time"]
    hot = next((name for name in names if units[name] in {"°C", "°F"}), names[0])
    block[hot][len(block[hot]) // 2 + (day > 1) * 7] = _ABSURD if units[hot] == "°C" else 10 * _ABSURD


def _doubled(_units: dict[str, str], block: Answer, day: int) -> None:
    """Tell the second day twice, or the first where there is no other."""
    start = day if len(block["time"]) >= 2 * day else 0
    for name, values in block.items():
        block[name] = values[: start + day] + values[start : start + day] + values[start + day :]
