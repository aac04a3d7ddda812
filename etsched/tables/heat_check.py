"""The heat check as its reader reads it: who suffers when, what to key in, what the nights hold, when to go back."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from etsched.days import day_text
from etsched.model.heat import HeatCheck, HeatNight, HeatRun, StationHeat
from etsched.model.site import Station
from etsched.tables.clock import NightClock, night_text
from etsched.tables.figure import NOT_KNOWN, Figure, count_of, figure, plain
from etsched.tables.heat_fit import added_text, fit_sentences, holds_text, what_to_add
from etsched.units import UnitSystem, reader_label, to_reader


@dataclass(frozen=True, slots=True)
class HeatRow:
    """One station: what happens to it with the table as it stands, what to add, what the percent does to it."""

    terminal: int
    area: str
    blocked: bool
    passes: str  # the first day past its allowable depletion, a dash where there is none
    usual_passes: str
    excess: Figure
    helped: str  # "" where the additions keep it within, else the first day on which it still passes
    add: str  # minutes by night: "Mon 13: 12, Tue 14: 8 (3 fit)"
    cycles: str  # of the longest run with an addition: "3 × 7, soak ≥ 30 min"
    extra_min: int
    usual_extra_min: int
    missing_min: int
    under: Figure
    over: Figure


@dataclass(frozen=True, slots=True)
class HeatNightRow:
    """One night with all additions."""

    opens_on: date
    serves: date
    label: str
    window: str
    added_min: int
    used_min: int
    bound_min: int
    length_min: int
    missing_min: int

    @property
    def holds(self) -> str:
        """Say whether the night holds all."""
        return holds_text(self.missing_min)


@dataclass(frozen=True, slots=True)
class HeatTable:
    """The whole check in the reader's units."""

    site: str
    days: str
    spell: str  # what was taken for the weather
    verdict: tuple[str, ...]
    rows: tuple[HeatRow, ...]
    nights: tuple[HeatNightRow, ...]
    to_add: tuple[str, ...]  # what to do with the minutes of the rows
    set_percent: str  # "115%"
    percent: tuple[str, ...]
    back: str
    advice: tuple[tuple[str, str], ...]  # words and source
    notes: tuple[str, ...]
    weather: str
    credits: tuple[str, ...]


def heat_system(found: HeatCheck, system: UnitSystem | None) -> UnitSystem:
    """Give the units to write in: those asked for, else those the site's readers read."""
    if system is not None:
        return system
    return "metric" if found.site.units == "metric" else "us"


def heat_table(found: HeatCheck, system: UnitSystem | None = None) -> HeatTable:
    """Write the check for its reader."""
    read = heat_system(found, system)
    return HeatTable(
        site=plain(found.site.name),
        days=f"{day_text(found.days[0].day)}–{day_text(found.days[-1].day)}, {found.days[-1].day.year}",
        spell=_spell(found, read),
        verdict=tuple(_verdict(found)),
        rows=tuple(
            _row(found, each, station, read) for each, station in zip(found.stations, found.site.stations, strict=True)
        ),
        nights=tuple(_night(found, each, read) for each in found.nights),
        to_add=tuple(what_to_add(found)),
        set_percent=f"{found.percent.set_pct:g}%",
        percent=tuple(_percent(found)),
        back=_back(found),
        advice=tuple((plain(each.words), plain(each.source)) for each in found.advice),
        notes=tuple(plain(note) for note in found.notes),
        weather=plain(found.weather_source),
        credits=tuple(plain(text) for text in found.attributions),
    )


def difference_text(hotter_c: float, system: UnitSystem) -> str:
    """Write a difference of temperatures: `8 °F`."""
    number = to_reader(hotter_c, "c", system) - to_reader(0.0, "c", system)
    return f"{round(number, 1):g} {reader_label('c', system)}"


def _spell(found: HeatCheck, system: UnitSystem) -> str:
    inside = [day for day in found.days if found.spell.first <= day.day <= found.spell.last]
    before = {day.day: day for day in found.usual_days}
    eto = figure(sum(day.eto_mm for day in inside), "mm", system)
    high = figure(max(day.tmax_c for day in inside), "c", system)
    days = f"{day_text(inside[0].day)}–{day_text(inside[-1].day)}" if len(inside) > 1 else day_text(inside[0].day)
    stand_in = [day_text(day.day) for day in inside if day.standing_in]
    forecast = len(stand_in) < len(inside)
    some = f" (for {', '.join(stand_in)} there is no forecast: the mean of the days before stands in)"
    gap = some if stand_in and forecast else ""
    if not found.spell.hotter_c:
        taken = "The forecast as it is" if forecast else "Days that stand in (no forecast)"
        return f"{taken}, {days}{gap}: up to {high.text}, reference ET {eto.text}."
    than = "forecast" if forecast else "days that stand in (no forecast)"
    usual = figure(sum(before[day.day].eto_mm for day in inside), "mm", system)
    return (
        f"{difference_text(found.spell.hotter_c, system)} hotter than {than}, {days}{gap}: up to {high.text}, "
        f"reference ET {eto.text} instead of {usual.text}."
    )


def _verdict(found: HeatCheck) -> list[str]:
    working = [station for station in found.stations if station.blocked is None]
    passing = [station for station in working if station.passes_on]
    if not passing:
        return ["Every station that works stays within its allowable depletion with the table as it stands."]
    names = ", ".join(str(station.terminal) for station in passing)
    usual = sum(station.usual_passes_on is not None for station in working)
    without = f"; {usual} of {len(working)} would without the hotter days" if found.spell.hotter_c else ""
    said = [f"{_passing(len(passing), len(working))} allowable depletion: {names}{without}.{_left_out(found)}"]
    extra, already = (sum(getattr(s, name) for s in working) for name in ("extra_min", "usual_extra_min"))
    if extra:
        nights = count_of(sum(night.extra_min > 0 for night in found.nights), "night", "nights")
        part = f", {already:,} of them even without the hotter days" if found.spell.hotter_c else ""
        said.append(f"{extra:,} min to add, on {nights}{part}.")
    else:
        said.append("No minutes help them.")
    return [*said, *fit_sentences(found)]


def _passing(passing: int, working: int) -> str:
    if working == 1:
        return "The one station that works passes its"
    return f"{passing} of {working} stations {'passes its' if passing == 1 else 'pass their'}"


def _left_out(found: HeatCheck) -> str:
    blocked = [str(station.terminal) for station in found.stations if station.blocked is not None]
    if not blocked:
        return ""
    return f" Not counted: {', '.join(blocked)}, blocked."


def _row(found: HeatCheck, heat: StationHeat, station: Station, system: UnitSystem) -> HeatRow:
    runs = [(night, run) for night in found.nights for run in night.runs if run.terminal == heat.terminal]
    adding = [(night, run) for night, run in runs if run.extra_min]
    longest = max((run for _, run in adding), key=lambda run: run.cycles_count * run.cycle_min, default=None)
    return HeatRow(
        terminal=heat.terminal,
        area=plain(station.area),
        blocked=heat.blocked is not None,
        passes=_day(heat.passes_on),
        usual_passes=_day(heat.usual_passes_on),
        excess=figure(heat.excess_mm, "mm", system),
        helped=_helped(heat, sum(run.missing_min for _, run in runs)),
        add=", ".join(f"{_short(night)}: {added_text(run)}" for night, run in adding),
        cycles="" if longest is None else _cycles(longest),
        extra_min=heat.extra_min,
        usual_extra_min=heat.usual_extra_min,
        missing_min=sum(run.missing_min for _, run in runs),
        under=figure(heat.under_mm, "mm", system),
        over=figure(heat.over_mm, "mm", system),
    )


def _helped(heat: StationHeat, missing_min: int) -> str:
    if heat.passes_on is None:
        return ""
    if heat.blocked is not None:
        return "blocked"
    if heat.passes_still_on is None:
        return "only if all of it ran" if missing_min else "yes"
    return "roots hold too little" if heat.shallow else f"not before {day_text(heat.passes_still_on)}"


def _short(night: HeatNight) -> str:
    return f"{day_text(night.night.opens_on)[:3]} {night.night.opens_on.day}"


def _cycles(run: HeatRun) -> str:
    soak = f", soak ≥ {run.soak_min} min" if run.soak_min else ""
    return f"{run.cycles_count} × {run.cycle_min}{soak}" if run.cycles_count else "runs off at once"


def _day(day: date | None) -> str:
    return NOT_KNOWN if day is None else day_text(day)


def _night(found: HeatCheck, night: HeatNight, system: UnitSystem) -> HeatNightRow:
    return HeatNightRow(
        opens_on=night.night.opens_on,
        serves=night.night.serves,
        label=night_text(night.night),
        window=NightClock(night.night, found.site.place.zone, system).window,
        added_min=night.extra_min,
        used_min=night.used_min,
        bound_min=night.bound_min,
        length_min=night.night.length_min,
        missing_min=night.missing_min,
    )


def _percent(found: HeatCheck) -> list[str]:
    percent = found.percent
    steps = f"steps of {percent.step_pct:g}%{'' if percent.step_stated else ' (common practice, no source)'}"
    if percent.set_pct == percent.now_pct:
        if not percent.enough:
            why = "the controller goes no further, and it is not enough"
        elif any(station.under_mm > 0.0 for station in found.stations):
            why = "a step more puts down more for nothing than it brings where water lacks"
        else:
            why = "nothing lacks that it could bring"
        return [f"Percent adjust stays at {percent.now_pct:g}%: {why}; {steps}."]
    back = day_text(percent.last + timedelta(days=1))
    said = [
        f"Or, instead of minutes by station: percent adjust {percent.set_pct:g}% (now {percent.now_pct:g}%) for the "
        f"nights that serve {day_text(percent.first)} to {day_text(percent.last)}, and back to {percent.now_pct:g}% "
        f"for the one that serves {back}; {steps}. What it leaves short and what it puts down for nothing stand in the "
        "table, as net depth over these days."
    ]
    if not percent.enough:
        said.append(f"That is as far as the controller goes ({percent.high_pct:g}%), and it is not enough.")
    return said


def _back(found: HeatCheck) -> str:
    if not found.changes:
        return "Nothing is to be changed, so there is nothing to go back from."
    if found.back_on is None:
        return (
            f"No day to go back can be named yet: minutes are lacking right up to {day_text(found.days[-1].day)}, the "
            "last day looked at. Check or plan again by then, and until then do not go back to the table as it was."
        )
    return f"Go back to the table as it was for the night that serves {day_text(found.back_on)}."


def minutes_in_clock(found: HeatCheck) -> tuple[tuple[str, ...], tuple[tuple[str, ...], ...]]:
    """Write the table that is in the clock: the heads, and a row a station with its minutes by night's day served."""
    served = sorted({serves for _, serves in found.table_min})
    heads = ("Station", "Area", *(day_text(serves) for serves in served))
    rows = tuple(
        (str(each.terminal), plain(each.area), *(_minutes(found, each.terminal, serves) for serves in served))
        for each in found.site.stations
    )
    return heads, rows


def _minutes(found: HeatCheck, terminal: int, serves: date) -> str:
    minutes = found.table_min.get((terminal, serves), 0.0)
    return f"{minutes:g}" if minutes else "·"
