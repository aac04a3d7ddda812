"""Why a station does not water: one reason for every station and every night of the week that it passes over."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np

from etsched.days import WEEKDAYS_IN_FULL, day_text
from etsched.model.plan import Rest, RestKind, Shortfall
from etsched.planning import choice
from etsched.planning.modes import dormant_on, stage_on
from etsched.planning.outlook import bans_on, is_windy, opening_day, span_to_last

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from etsched.model.plan import NightPlan
    from etsched.model.site import Station
    from etsched.planning.outlook import Outlook

# A soil that lacks no more than this, down to the target depth, is full.
_FULL_MM = 0.05


@dataclass(frozen=True, slots=True)
class _Dusk:
    """What is known of all stations on one evening, (S,)."""

    depletion_mm: NDArray[np.float64]
    peak_mm: NDArray[np.float64]
    allowable_mm: NDArray[np.float64]
    full: NDArray[np.bool_]
    rain_mm: float  # that soaked in on the day before the night


def rests_of(outlook: Outlook, serves: date, deficit_mm: NDArray[np.float64], night: NightPlan | None) -> list[Rest]:
    """Give the reason of every station that does not water on the night that serves a day.

    `night` is the night as planned, None where none opens; `deficit_mm` (S, L) is the water before it.
    """
    peak, allowable = choice.peak_before(
        outlook.ground, outlook.days, span_to_last(outlook, serves), deficit_mm[:, 0]
    )
    before = outlook.index(serves) - 1
    dusk = _Dusk(
        deficit_mm[:, 0],
        peak,
        allowable,
        np.all(deficit_mm <= _FULL_MM, axis=1),
        float(outlook.days.pulse_mm[before].sum()) if before >= 0 else 0.0,
    )
    runs = {run.terminal for run in night.runs if run.cycles} if night else set()
    closed = _closed(outlook, serves) if night is None else None
    short = {each.terminal: each for each in night.shortfalls} if night else {}
    calm = not is_windy(outlook.site, opening_day(outlook.site.rules, serves))
    found = []
    for at, station in enumerate(outlook.site.stations):
        if station.terminal in runs:
            continue
        kind, reason = (
            _blocked(station)
            or closed
            or _own(outlook, serves, station, short.get(station.terminal))
            or _dry_enough(dusk, at, serves, calm)
        )
        found.append(
            Rest(
                station.terminal,
                opening_day(outlook.site.rules, serves),
                serves,
                kind,
                reason,
                float(dusk.depletion_mm[at]),
                float(peak[at]),
                float(allowable[at]),
            )
        )
    return found


def with_ends(rests: Sequence[Rest], nights: Sequence[NightPlan]) -> tuple[Rest, ...]:
    """Tell every rest the day that the station's next run serves, where the week still has one."""
    waters: dict[int, list[date]] = {}
    for night in nights:
        for run in night.runs:
            if run.cycles:
                waters.setdefault(run.terminal, []).append(night.night.serves)
    return tuple(
        replace(rest, until=next((day for day in waters.get(rest.terminal, ()) if day > rest.serves), None))
        for rest in rests
    )


def _blocked(station: Station) -> tuple[RestKind, str] | None:
    return None if station.blocked is None else (RestKind.BLOCKED, station.blocked)


def _closed(outlook: Outlook, serves: date) -> tuple[RestKind, str]:
    opens_on = opening_day(outlook.site.rules, serves)
    for ban in bans_on(outlook.site, opens_on):
        if not ban.terminals:
            return RestKind(ban.kind.value), f"{ban.reason}, up to the night of {day_text(ban.last)}"
    return RestKind.DAY, f"{WEEKDAYS_IN_FULL[opens_on.weekday()]} is no water day"


def _own(
    outlook: Outlook, serves: date, station: Station, short: Shortfall | None
) -> tuple[RestKind, str] | None:
    for ban in bans_on(outlook.site, opening_day(outlook.site.rules, serves)):
        if station.terminal in ban.terminals:
            return RestKind(ban.kind.value), f"{ban.reason}, up to the night of {day_text(ban.last)}"
    if short is not None:
        return RestKind.SHORT, short.reason
    if dormant_on(station, serves):
        return RestKind.DORMANT, "is dormant: one run now and then keeps its crowns alive"
    if outlook.site.new_turf is not None and stage_on(station, serves) is not None:
        return RestKind.LIGHT, f"is {station.mode}, kept moist by its runs by day"
    return None


def _dry_enough(dusk: _Dusk, at: int, serves: date, calm: bool) -> tuple[RestKind, str]:
    if dusk.peak_mm[at] > dusk.allowable_mm[at] and dusk.depletion_mm[at] > 0.0:
        return RestKind.RESTRICTION, "the cut of a restriction leaves it no water"
    if dusk.full[at]:
        return RestKind.FULL, "the soil is full down to the target depth and would let more pass"
    if dusk.peak_mm[at] + dusk.rain_mm > dusk.allowable_mm[at] and dusk.rain_mm > 0.0:
        day = day_text(serves - timedelta(days=1))
        return RestKind.RAIN, f"the rain of {day} carries it to the next chance; without it, it would water"
    if not calm:
        return RestKind.WIND, "wind would carry the spray away, and its root zone can wait"
    return RestKind.ENOUGH, "its root zone can wait for the next chance"
