"""What to do after a heat check, the first thing first, and until when."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

from etsched.days import day_text
from etsched.tables.clock import days_text
from etsched.tables.figure import figure
from etsched.tables.heat_fit import TRIFLE_MIN, sums, trifling

if TYPE_CHECKING:
    from collections.abc import Iterable

    from etsched.model.heat import HeatCheck, StationHeat
    from etsched.tables.figure import Figure
    from etsched.units import UnitSystem

_ONE_DAY = timedelta(days=1)


def steps(found: HeatCheck, system: UnitSystem) -> tuple[str, ...]:
    """Say what to do, the first thing first.

    Where a clock takes no minutes by single nights, a turn of its dial is far less work than runs by hand, so it comes
    first if it brings anything. Otherwise the minutes by night come first, which give each station its own.
    """
    if not found.changes:
        if not any(each.passes_on for each in found.stations):
            return ("Leave the clock as it is.",)
        return ("Leave the clock as it is: no extra minutes help those that get too dry.",)
    percent = found.percent
    if percent.set_pct == percent.now_pct:
        if trifling(found):
            return (
                f"Leave the clock as it is: no station wants more than {TRIFLE_MIN} min on a night, less than anybody "
                "can measure.",
            )
        return (*_minutes(found, "First"), *_percent_stays(found))
    if found.programs:
        return (*percent_words(found, system, "First"), *_minutes(found, "Or, in place of the percent"))
    return (*_minutes(found, "First"), *percent_words(found, system, "Or, in place of the extra runs"))


def percent_words(found: HeatCheck, system: UnitSystem, lead: str = "") -> tuple[str, ...]:
    """Say which percent adjust comes nearest, from when to when, and what it leaves; or why it stays."""
    percent = found.percent
    if percent.set_pct == percent.now_pct:
        return _percent_stays(found)
    of_all = " of all programs" if found.programs else ""
    steps_of = "" if percent.step_stated else f" (in steps of {percent.step_pct:g}%: common practice, no source)"
    begins, ends = _evening(percent.first), _evening(percent.last + _ONE_DAY)
    said = (
        f"set percent adjust{of_all} to {percent.set_pct:g}% (now {percent.now_pct:g}%) from {begins} on, and back to "
        f"{percent.now_pct:g}% on {ends}{steps_of}."
    )
    said = f"{lead}: {said}" if lead else said[0].upper() + said[1:]
    return (said, *_before(found), *_falls_short(found), *_leaves(found, system))


def _before(found: HeatCheck) -> tuple[str, ...]:
    """Say that a dial that is turned later does nothing for the nights before."""
    nights = [night.night for night in found.nights if night.fits_min]
    early = [night.opens_on for night in nights if night.serves < found.percent.first]
    if not early:
        return ()
    which = f"night{'s' * (len(early) > 1)} of {days_text(early)}"
    return (f"What the list below has for the {which} is wanted in either case.",)


def _falls_short(found: HeatCheck) -> tuple[str, ...]:
    percent = found.percent
    if percent.set_pct < percent.wanted_pct:
        return (
            "Do not set more: it would come nearer to what the days ask, but run past the allowed hours.",
        )
    if not percent.enough:
        return (f"That is as far as the controller goes ({percent.high_pct:g}%), and it is not enough.",)
    return ()


def _leaves(found: HeatCheck, system: UnitSystem) -> tuple[str, ...]:
    """Say who still lacks water at the percent and what is put down for nothing, where a reader would see either."""
    shown = {
        name: {each.terminal: value for each in found.stations if float((value := _depth(each, name, system)).shown)}
        for name in ("under_mm", "over_mm")
    }
    said = []
    if under := shown["under_mm"]:
        most = max(under.values(), key=lambda each: float(each.shown))
        said.append(f"too little for {_names(found, under)}, by {most.text} at most")
    if over := shown["over_mm"]:
        most = max(over.values(), key=lambda each: float(each.shown))
        said.append(f"more than the roots can take for {_names(found, over)}, by {most.text} at most")
    return (f"That is {'; and '.join(said)}, over these nights.",) if said else ()


def _depth(station: StationHeat, name: str, system: UnitSystem) -> Figure:
    return figure(getattr(station, name), "mm", system)


def _names(found: HeatCheck, terminals: Iterable[int]) -> str:
    names = [str(terminal) for terminal in terminals]
    if 1 < len(names) == sum(station.blocked is None for station in found.stations):
        return "every station"
    return f"station{'s' if len(names) > 1 else ''} {', '.join(names)}"


def _percent_stays(found: HeatCheck) -> tuple[str, ...]:
    percent = found.percent
    if percent.set_pct < percent.wanted_pct:
        why = "one step more would run past the allowed hours"
    elif not percent.enough:
        why = "the controller goes no further, and it is not enough"
    elif any(station.under_mm > 0.0 for station in found.stations):
        why = (
            "more would mostly be wasted, because it adds water for every station on all its nights, also where there "
            "is enough"
        )
    else:
        why = "no station lacks what it could bring"
    return (f"Leave percent adjust at {percent.now_pct:g}%: {why}.",)


def _minutes(found: HeatCheck, lead: str) -> tuple[str, ...]:
    extra, fits = sums(found)
    if not extra:
        return ()
    rest = (
        "For what has no room the allowed hours must be longer; where they cannot be, water what matters most fully "
        "and let the rest go brown (dormant).",
    ) * (fits < extra)
    if not fits:
        return ("The nights are full: nothing can be added.", *rest)
    what = f"{fits:,} min that have room" if rest else f"{extra:,} min"
    if not found.programs:
        return (f"{lead}: add the {what} to the table, on the nights of the list below.", *rest)
    return (
        f"{lead}: run the {what} as extra runs by hand, station by station, on the nights of the list below.",
        "The minutes of a program are the same on all its nights, so do not change them. A program that the door "
        "paper leaves unused can do such a run instead of a hand: key in that one weekday, a start when nothing else "
        "runs, and the minutes, and take them out the morning after.",
        *rest,
    )


def until(found: HeatCheck) -> str:
    """Say until when, in one answer for minutes and percent."""
    percent = found.percent
    turned = percent.set_pct != percent.now_pct
    extra, fits = sums(found)
    if not turned and (not extra or trifling(found)):
        return "Nothing is to be changed in the clock, so there is nothing to set back."
    said = []
    if turned:
        evening = _evening(percent.last + _ONE_DAY)
        said.append(f"Percent adjust, if you set it, goes back to {percent.now_pct:g}% on {evening}.")
    if fits and found.programs:
        last = max(night.night.opens_on for night in found.nights if night.fits_min)
        said.append(f"The extra runs by hand end with the night of {day_text(last)}; they leave nothing to set back.")
    elif fits and found.back_on is not None:
        said.append(f"The table as it was is set again on {_evening(found.back_on)}.")
    if extra and found.back_on is None:
        said.append(
            f"Water is still lacking on {day_text(found.days[-1].day)}, the last day looked at, so check or plan again "
            "before then."
        )
    return " ".join(said) or "Nothing can be added, so there is nothing to set back."


def _evening(serves: date) -> str:
    """Name a night by the evening before the day it serves: then the dial is turned, before its window opens."""
    return f"{day_text(serves - _ONE_DAY)} in the evening"
