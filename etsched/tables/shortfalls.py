"""Minutes a station needs and no night could hold: said aloud, never dropped."""

from __future__ import annotations

from dataclasses import dataclass

from etsched.model.plan import WeekPlan
from etsched.planning.thirst import dry_count
from etsched.tables.clock import night_text
from etsched.tables.figure import Figure, count_of, figure, plain, reader_system
from etsched.units import UnitSystem

SHORTFALLS_TITLE = "What does not fit the night it is due"
SHORTFALLS_WORDS = "What one night leaves out is asked for again the next; what misses that night too counts twice."
REMEDIES_TITLE = "What would make it fit, what helps most first"


@dataclass(frozen=True, slots=True)
class ShortfallRow:
    """What one night could not hold for one station."""

    night: str
    terminal: int
    area: str
    missing_min: int
    reason: str


@dataclass(frozen=True, slots=True)
class RemedyRow:
    """One thing that would let the nights hold more, beside what would still be lacking."""

    words: str
    missing: Figure
    dry: str  # who would still be too dry, and how often; nothing where the plan's document does not say


def remedy_table(plan: WeekPlan, system: UnitSystem | None = None) -> tuple[RemedyRow, ...]:
    """Write what would make the week fit, the remedy worth most first."""
    read = reader_system(plan, system)
    return tuple(
        RemedyRow(
            words=plain(each.words),
            missing=figure(float(each.missing_min), "min", read),
            dry=_dry(each.dry_stations_count, each.dry_evenings_count),
        )
        for each in plan.remedies
    )


def remedies_words(plan: WeekPlan) -> str:
    """Say how to use a remedy, by what they are ordered, and how the week stands without any."""
    missing = sum(short.missing_min for night in plan.nights for short in night.shortfalls)
    return (
        "Each was tried by itself on the whole week. To use one, do on the ground what it asks, and have whoever keeps "
        "the site file change it there: the week is then planned anew. Open more valves at once only where someone has "
        "checked that supply and controller hold them. First comes what leaves the fewest evenings too dry, then the "
        f"fewest minutes left out. As planned now: {missing:,} min left out; "
        f"{_dry(*dry_count(plan.site, plan.first_day, plan.books))}."
    )


def _dry(stations: int | None, evenings: int | None) -> str:
    if stations is None or evenings is None:
        return ""
    if not stations:
        return "nobody too dry on any evening"
    if stations == 1:
        return f"1 station too dry, on {count_of(evenings, 'evening', 'evenings')}"
    return f"{stations} stations too dry, {evenings} dry evenings all together"


def bound_text(plan: WeekPlan, system: UnitSystem | None = None) -> str:
    """Say how near the week comes to what no plan on its nights could better; nothing where nobody asked."""
    if plan.bound is None:
        return ""
    read, bound = reader_system(plan, system), plan.bound
    past, least_past, credited, least = (
        figure(value, "mm", read)
        for value in (bound.past_mm, bound.least_past_mm, bound.credited_mm, bound.least_credited_mm)
    )
    dry = (
        f"Turf drier than it should be: {past.text} this week, which is how far each working station ends each day "
        f"past its allowable depletion, stations and days added up. No plan on these nights could bring that below "
        f"{least_past.text}."
        if float(past.shown)
        else "No working station ends a day drier than its allowable depletion."
    )
    return (
        f"{dry} The week puts {credited.text} of water into the root zones, all stations added up; {least.text} would "
        "leave them just as moist at its end."
    )


def shortfall_table(plan: WeekPlan) -> tuple[ShortfallRow, ...]:
    """Write every shortfall by night and terminal."""
    areas = {station.terminal: plain(station.area) for station in plan.site.stations}
    return tuple(
        ShortfallRow(
            night=night_text(night.night),
            terminal=short.terminal,
            area=areas[short.terminal],
            missing_min=short.missing_min,
            reason=plain(short.reason),
        )
        for night in plan.nights
        for short in sorted(night.shortfalls, key=lambda short: short.terminal)
    )
