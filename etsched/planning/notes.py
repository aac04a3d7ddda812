"""Sentences that a plan owes its reader: what is wrong on the ground, what was guessed, what will not hold."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

import numpy as np

from etsched.days import day_text
from etsched.model.plan import RestKind
from etsched.planning import water
from etsched.planning.ground import REPAIR_BELOW_FRACTION
from etsched.planning.modes import dormant_on

if TYPE_CHECKING:
    from collections.abc import Iterator

    from etsched.model.plan import WeekPlan
    from etsched.planning.outlook import Outlook


def week_notes(plan: WeekPlan, outlook: Outlook) -> tuple[str, ...]:
    """Collect the sentences in the order in which a manager would want to hear them."""
    return (
        *_no_night(plan),
        *_blocked(plan),
        *_uneven(outlook),
        *_short_cycles(outlook),
        *_past_allowable(plan),
        *_shallow(outlook),
        *_bridged(plan, outlook),
        *_weather(plan),
        *_forecast_rain(plan),
        *plan.site.notes,
    )


def _names(terminals: list[int]) -> str:
    return f"Station{'s' if len(terminals) > 1 else ''} {', '.join(str(terminal) for terminal in terminals)}"


def _no_night(plan: WeekPlan) -> Iterator[str]:
    if plan.nights:
        return
    why = sorted({rest.reason for rest in plan.rests if rest.kind is not RestKind.BLOCKED})
    yield (
        f"No valve may open on any night of this week ({'; '.join(why)}): the table is empty, and the turf lives on "
        "rain alone. Ask whoever set the rule what may be watered by hand."
    )


def _blocked(plan: WeekPlan) -> Iterator[str]:
    for station in plan.site.stations:
        if station.blocked is not None:
            yield (
                f"Station {station.terminal} ({station.area}) gets no minutes: {station.blocked}. Minutes do not mend "
                "it; water it by hand until it is repaired."
            )


def _uneven(outlook: Outlook) -> Iterator[str]:
    low = [
        station.terminal
        for station, fact in zip(outlook.site.stations, outlook.facts, strict=True)
        if station.blocked is None and fact["uniformity"].value < REPAIR_BELOW_FRACTION
    ]
    if low:
        yield (
            f"{_names(low)}: the driest quarter gets less than {REPAIR_BELOW_FRACTION:.0%} of the mean. Repair the "
            "heads first; longer runs flood the rest before they save the dry spots. Until then the minutes are those "
            f"of {REPAIR_BELOW_FRACTION:.0%}, and the driest spots are drier than the water books say."
        )


def _short_cycles(outlook: Outlook) -> Iterator[str]:
    ground = outlook.ground
    tight = ground.works & (np.floor(ground.longest_cycle_min + 1e-9) < ground.least_cycle_min)
    if np.any(tight):
        yield (
            f"{_names(ground.terminal[tight].tolist())}: water runs off sooner than the least useful cycle. Nozzles "
            "with a lower precipitation rate would let it soak in."
        )


def _past_allowable(plan: WeekPlan) -> Iterator[str]:
    past: dict[int, list[str]] = {}
    # Whoever is blocked has been told of already; dormant turf is meant to be dry.
    blocked = {
        station.terminal
        for station in plan.site.stations
        if station.blocked is not None or dormant_on(station, plan.first_day)
    }
    for line in plan.books:
        if line.end_mm > line.allowable_mm + water.CLOSES_TO_MM and line.terminal not in blocked:
            past.setdefault(line.terminal, []).append(day_text(line.day)[:3])
    by_days: dict[str, list[int]] = {}
    for terminal, days in past.items():
        by_days.setdefault(", ".join(days), []).append(terminal)
    for evenings, terminals in by_days.items():
        yield f"{_names(terminals)}: too dry by the evening of {evenings}."


def _shallow(outlook: Outlook) -> Iterator[str]:
    index = outlook.index(outlook.first_day)
    shallow: set[int] = set()
    for later in range(index, index + 7):
        etc, fraction = water.demand(outlook.ground, outlook.days, later)
        holds = outlook.ground.total_available_mm * fraction
        shallow.update(outlook.ground.terminal[outlook.ground.works & (holds < etc)].tolist())
    if shallow:
        yield (
            f"{_names(sorted(shallow))}: on the hottest day the turf uses more than its roots may give up, so it "
            "suffers in the afternoon even when it was full at dawn. Deeper roots or shade help; more minutes do not."
        )


def _bridged(plan: WeekPlan, outlook: Outlook) -> Iterator[str]:
    last = max(day.day for day in outlook.days.records if not day.standing_in)
    if last < plan.first_day - timedelta(days=1):
        yield (
            f"The weather ends on {day_text(last)}: until the week begins the days take the mean ETo of the last seven "
            "and no rain."
        )


def _weather(plan: WeekPlan) -> Iterator[str]:
    standing_in = [day_text(day.day) for day in plan.days if day.standing_in]
    if standing_in:
        yield (
            f"No usable weather for {', '.join(standing_in)}: these days take the mean ETo of the last seven days, and "
            "no rain but what is known."
        )
    for day in plan.days:
        refused = [reason for reason in day.reasons if "rejected" in reason]
        if refused:
            yield f"{day_text(day.day)}: {'; '.join(refused)}."
    filled: dict[str, int] = {}
    for day in plan.days:
        for text in day.filled:
            filled[text] = filled.get(text, 0) + 1
    for text, count in filled.items():
        yield f"On {count} of {len(plan.days)} days: {text}."


def _forecast_rain(plan: WeekPlan) -> Iterator[str]:
    wet = [day_text(day.day) for day in plan.days if day.forecast and day.rain_mm > 0.0]
    if wet:
        yield (
            f"The plan counts on the rain forecast for {', '.join(wet)}. If it does not fall, plan again the morning "
            "after."
        )
