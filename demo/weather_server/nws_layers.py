"""The layers of a grid cell: hours rounded coarsely, equal neighbours merged into one interval, rain by six hours."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from typing import Any

from .exchange import World
from .weather import EPOCH_DAY, Hour, Run, Spot, drivers, hour_at

HOURS_COUNT = 7 * 24 + 11
_NULL_HOURS = 3  # without humidity, at the end
_TAIL_HOURS = 4 * 24  # null under the fault null-tail
_KNOT_KM_H = 1.852
_ABSURD_C = 85.0
Piece = tuple[int, int, float | None]  # first hour from the start, hours, value
Hours = Sequence[float | None]
_UNITS = {
    "temperature": "wmoUnit:degC",
    "dewpoint": "wmoUnit:degC",
    "maxTemperature": "wmoUnit:degC",
    "minTemperature": "wmoUnit:degC",
    "relativeHumidity": "wmoUnit:percent",
    "skyCover": "wmoUnit:percent",
    "windSpeed": "wmoUnit:km_h-1",
    "probabilityOfPrecipitation": "wmoUnit:percent",
    "quantitativePrecipitation": "wmoUnit:mm",
}
_WRONG = {"wmoUnit:degC": "wmoUnit:degF", "wmoUnit:km_h-1": "wmoUnit:m_s-1", "wmoUnit:mm": "wmoUnit:in"}


def span_of(hours: int) -> str:
    """Write a duration: PT1H, P1D, P1DT6H."""
    days, rest = divmod(hours, 24)
    return "P" + (f"{days}D" if days else "") + (f"T{rest}H" if rest else "")


def layers(spot: Spot, world: World, start: datetime) -> tuple[dict[str, Any], int]:
    """Give the layers from `start` on and the number of hours they cover."""
    first = int(start.timestamp()) // 3600
    run = Run(world.issued.toordinal())
    hours = [hour_at(spot, run, first + number - world.shift_h) for number in range(HOURS_COUNT)]
    pieces = {name: _merged(values) for name, values in _by_hour(spot, run, hours, first).items()}
    pieces["quantitativePrecipitation"] = _by_six_hours(hours, start)
    for name, begin, length, pick in (("maxTemperature", 7, 13, max), ("minTemperature", 19, 14, min)):
        pieces[name] = [
            (at, length, _fahrenheit(pick(hour.temperature_c for hour in hours[at : at + length])))
            for at in range((begin - start.hour - spot.solar_offset_h) % 24, HOURS_COUNT - length, 24)
        ]
    _spoil(pieces, world.fault)
    units = {name: _WRONG.get(unit, unit) for name, unit in _UNITS.items()} if world.fault == "wrong-units" else _UNITS
    told: dict[str, Any] = {
        name: {"uom": unit, "values": [_value(start, piece) for piece in pieces[name]]} for name, unit in units.items()
    }
    told["windGust"] = {"values": []}  # a layer that nobody filled
    return told, HOURS_COUNT


def _value(start: datetime, piece: Piece) -> dict[str, Any]:
    at, length, value = piece
    return {"validTime": f"{(start + timedelta(hours=at)).isoformat()}/{span_of(length)}", "value": value}


def _fahrenheit(celsius: float) -> float:
    """Round to a whole °F, told in °C."""
    return round((round(celsius * 1.8 + 32) - 32) / 1.8, 4)


def _by_hour(spot: Spot, run: Run, hours: list[Hour], first: int) -> dict[str, Hours]:
    """Round each layer the way that makes equal neighbours; the last hours lack humidity, one night lacks its sky."""
    known = len(hours) - _NULL_HOURS
    night = range(40, 46)
    return {
        "temperature": [_fahrenheit(hour.temperature_c) for hour in hours],
        "dewpoint": [_fahrenheit(hour.dewpoint_c) if at < known else None for at, hour in enumerate(hours)],
        "relativeHumidity": [float(round(hour.rh_pct)) if at < known else None for at, hour in enumerate(hours)],
        "windSpeed": [round(round(hour.wind_10m_m_s * 3.6 / _KNOT_KM_H) * _KNOT_KM_H, 3) for hour in hours],
        "probabilityOfPrecipitation": [float(round(hour.rain_chance_pct)) for hour in hours],
        "skyCover": [None if at in night else _sky(spot, run, first + at) for at in range(len(hours))],
    }


def _sky(spot: Spot, run: Run, utc_hour: int) -> float:
    """Cover in percent, from the day's clearness; own relation."""
    day = EPOCH_DAY + (utc_hour + spot.solar_offset_h) // 24
    return float(round(min(100.0, max(0.0, (0.98 - drivers(spot, run, day).clearness) / 0.6 * 100))))


def _merged(values: Hours) -> list[Piece]:
    pieces: list[Piece] = []
    for at, value in enumerate(values):
        if pieces and pieces[-1][2] == value:
            begin, length, _ = pieces[-1]
            pieces[-1] = (begin, length + 1, value)
        else:
            pieces.append((at, 1, value))
    return pieces


def _by_six_hours(hours: list[Hour], start: datetime) -> list[Piece]:
    """Totals between 00, 06, 12 and 18 UTC; the first and the last interval are cut."""
    shift = start.astimezone(UTC).hour % 6
    edges = [0, *range(6 - shift, len(hours), 6), len(hours)]
    return [
        (begin, end - begin, round(sum(hour.rain_mm for hour in hours[begin:end]), 4)) for begin, end in pairwise(edges)
    ]


def _spoil(pieces: dict[str, list[Piece]], fault: str) -> None:
    """Make the faults that leave the answer's shape whole; those of clock and cell are made where values are."""
    if fault == "unequal-arrays":  # the dew point ends two days before the rest
        pieces["dewpoint"] = [piece for piece in pieces["dewpoint"] if piece[0] + piece[1] <= HOURS_COUNT - 48]
    if fault == "spike":
        middle = len(pieces["temperature"]) // 2
        at, length, _ = pieces["temperature"][middle]
        pieces["temperature"][middle] = (at, length, _ABSURD_C)
    for name, told in pieces.items():
        if fault == "all-null":
            pieces[name] = [(0, HOURS_COUNT, None)]
        if fault == "null-tail":
            begin = HOURS_COUNT - _TAIL_HOURS
            kept = [(at, min(length, begin - at), value) for at, length, value in told if at < begin]
            pieces[name] = [*kept, (begin, _TAIL_HOURS, None)]
        if fault == "doubled-days":
            pieces[name] = [piece for part in (_day(told, 0), _day(told, 1), _day(told, 1)) for piece in part]
            pieces[name] += [piece for piece in told if piece[0] >= 48]


def _day(told: list[Piece], number: int) -> list[Piece]:
    return [piece for piece in told if piece[0] // 24 == number]
