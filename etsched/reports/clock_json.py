"""The programs of a clock as one JSON document, schema `etsched.clock/1`: metric numbers, the reader's words beside."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

from etsched.model.clock_table import ClockProgram, ClockTable, Difference, StationClock
from etsched.reports import encode
from etsched.tables.clock_programs import ProgramColumn, clock_sheet, clock_system
from etsched.units import UnitSystem

SCHEMA = "etsched.clock/1"


def clock_json(table: ClockTable, changes: Sequence[Difference] | None, system: UnitSystem | None = None) -> str:
    """Write the whole table; `changes` is null where nobody said what is keyed in now."""
    read = clock_system(table, system)
    sheet = clock_sheet(table, changes, read)
    columns = zip(table.programs, sheet.programs, strict=True)
    return encode.to_text(
        {
            "schema": SCHEMA,
            "units": read,
            "site": table.site.name,
            "first_day": table.first_day.isoformat(),
            "nights": [night.opens_on.isoformat() for night in table.nights],
            "controller": {
                "programs": table.controller.programs_count,
                "starts": table.controller.starts_count,
                "percent_adjust": 100,
            },
            "programs": [_program(program, column) for program, column in columns],
            "stations": [_station(each) for each in table.stations],
            "changes": None if sheet.changes is None else [asdict(each) for each in sheet.changes],
            "entries": table.entries_count,
            "entries_words": sheet.entries,
            "fullness_fraction": table.fullness_fraction,
            "volume_l": sheet.volume.known.value,
            "volume_unknown": list(sheet.volume.unmetered),
            "over_l": sheet.over_volume.value,
            "notes": [sheet.key_in, *sheet.notes],
            "weather_source": table.weather_source,
            "weather_credits": list(table.attributions),
        }
    )


def _program(program: ClockProgram, column: ProgramColumn) -> dict[str, Any]:
    return {
        "letter": program.letter,
        "days": sorted(program.days),
        "days_words": column.days,
        "nights": [night.isoformat() for night in program.nights],
        "starts": [
            {"at": start.at.isoformat("minutes"), "after_opening_min": start.after_opening_min, "words": words}
            for start, words in zip(program.starts, column.starts, strict=True)
        ],
        "minutes": [
            {"terminal": terminal, "minutes": minutes} for terminal, minutes in sorted(program.minutes_min.items())
        ],
        "length_min": program.length_min,
        "ends_words": column.ends,
    }


def _station(each: StationClock) -> dict[str, Any]:
    return {**asdict(each), "over_mm": each.over_mm}
