"""Sentences that a heat check owes its reader, and the advice that goes with hot days."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from etsched.days import day_text
from etsched.model.heat import HeatAdvice
from etsched.model.site import TurfGroup
from etsched.planning.heat_table import unknown_note
from etsched.planning.start import ASSUMED
from etsched.reference import heat, recovery

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from etsched.model.heat import HeatCheck
    from etsched.planning.heat_table import HeldTable
    from etsched.planning.outlook import Outlook
    from etsched.reference.heat import When


def notes(found: HeatCheck, outlook: Outlook, table: HeldTable) -> tuple[str, ...]:
    """Collect what stands behind the figures, in the order in which a manager would ask."""
    return (
        *_blocked(found),
        *_shallow(found),
        *_table(found, table),
        *_percent(table),
        *_start(outlook),
        *_weather(found),
    )


def advice(found: HeatCheck) -> tuple[HeatAdvice, ...]:
    """Choose the advice that this check calls for."""
    cases = _cases(found)
    return tuple(HeatAdvice(each.key, each.words, each.source) for each in heat.advice() if each.when in cases)


def is_hot(found: HeatCheck) -> bool:
    """Say whether the spell's days are hot for turf: by the bound beyond which cool-season turf slows."""
    highs = [day.tmax_c for day in found.days if found.spell.first <= day.day <= found.spell.last]
    return bool(float(np.mean(highs)) >= recovery.feed("heat").value)


def _cases(found: HeatCheck) -> set[When]:
    cases: set[When] = {"always"}
    working = [station for station in found.stations if station.blocked is None]
    if is_hot(found):
        cases.add("hot")
        if any(station.turf is TurfGroup.COOL for station in found.site.stations):
            cases.add("hot cool-season")
    if any(station.passes_on for station in working):
        cases.add("passes")
    if any(station.shallow for station in working):
        cases.add("shallow")
    if any(night.missing_min for night in found.nights):
        cases.add("missing")
    return cases


def _names(terminals: Sequence[int]) -> str:
    return f"Station{'s' if len(terminals) > 1 else ''} {', '.join(str(terminal) for terminal in terminals)}"


def _blocked(found: HeatCheck) -> Iterator[str]:
    for station in found.stations:
        if station.blocked is not None:
            yield (
                f"Station {station.terminal} is blocked ({station.blocked}): no minutes and no percent reach its turf; "
                "in heat water it by hand until it is mended."
            )


def _shallow(found: HeatCheck) -> Iterator[str]:
    shallow = [s.terminal for s in found.stations if s.shallow and s.blocked is None]
    if shallow:
        yield (
            f"Short roots ({_names(shallow).lower()}): on the hottest day the turf uses more water than its roots can "
            "hold ready for it, so it gets too dry in the afternoon even when it was full at dawn. More minutes do not "
            "change that."
        )


def _table(found: HeatCheck, table: HeldTable) -> Iterator[str]:
    yield f"The table held against the days is {table.source}; it is taken to run again every week as it stands."
    if table.unknown:
        yield unknown_note(table.unknown)
    plain = table.minutes()
    lost = (plain.run_min - plain.kept_min).sum(axis=0)
    for at in np.flatnonzero(lost >= 0.5).tolist():
        yield (
            f"Station {table.ground.terminal[at]}: {lost[at]:.0f} of its {plain.run_min[:, at].sum():.0f} min a week "
            "run off, because it runs too long at once; they are not counted, and its run is cut into cycles here."
        )


def _percent(table: HeldTable) -> Iterator[str]:
    if table.mixed:
        yield (
            "The programs stand at different percents, so the percent here counts their minutes as they now run as "
            "100: multiply each program's own percent by it."
        )


def _start(outlook: Outlook) -> Iterator[str]:
    unread = [
        station.terminal
        for station, source in zip(outlook.site.stations, outlook.start_sources, strict=True)
        if source == ASSUMED
    ]
    if unread:
        names = "Every station" if len(unread) == len(outlook.site.stations) else _names(unread)
        begin = "begin" if names.startswith("Stations") else "begins"
        yield (
            f"{names} {begin} just due for water, or as wet as the rain left it, because nobody has read the soil or "
            "handed over last week's document. Who gets too dry on the first days hangs on that."
        )


def _weather(found: HeatCheck) -> Iterator[str]:
    if found.spell.hotter_c:
        yield (
            "The hotter days are supposed, not forecast: low and high are raised and the dew point is kept, so the air "
            "is drier; rain stays."
        )
    standing_in = [day_text(day.day) for day in found.days if day.standing_in]
    if standing_in:
        yield (
            f"No forecast for {', '.join(standing_in)}: these days take the mean ETo of the last seven days, and no "
            "rain."
        )
    wet = [day_text(day.day)[:3] for day in found.days if day.forecast and day.rain_mm > 0.0]
    if wet:
        yield f"Rain forecast for {', '.join(wet)} is counted on. If it does not fall, check again the morning after."
