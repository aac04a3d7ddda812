"""The heat check as its reader reads it: who suffers when, what to key in, what the nights hold, when to go back."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from etsched.days import day_text
from etsched.model.heat import HeatCheck, StationHeat
from etsched.model.site import Station
from etsched.planning.outlook import WEEK_D
from etsched.tables.figure import NOT_KNOWN, Figure, figure, plain
from etsched.tables.heat_fit import HeatNightRow, fit_sentences, how_note, night_rows
from etsched.tables.heat_steps import percent_words, steps, until
from etsched.tables.weather import WeatherRow, weather_rows
from etsched.units import UnitSystem, reader_label, to_reader

TOO_DRY = "Too dry: past the allowable depletion, the part of its water that turf may use up before it suffers."


@dataclass(frozen=True, slots=True)
class HeatRow:
    """One station that gets too dry, or that is to be given more so that it does not."""

    terminal: int
    area: str
    dry: str  # the first day past its allowable depletion with the table as it stands
    usual: str  # the same without the heat, where it differs
    excess: Figure  # the most by which it gets too dry
    helped: str  # whether the additions keep it within
    extra_min: int
    missing_min: int

    @property
    def by(self) -> str:
        """Write by how much it gets too dry."""
        if not self.excess.value:
            return "·"
        return self.excess.text if float(self.excess.shown) else "hardly"


@dataclass(frozen=True, slots=True)
class HeatDay:
    """One day of the weather that was taken."""

    row: WeatherRow
    kind: str  # "forecast", or "supposed, 6 °F hotter"


@dataclass(frozen=True, slots=True)
class HeatTable:
    """The whole check in the reader's units."""

    site: str
    heading: str  # what was checked: "As forecast now", "If it gets 6 °F hotter"
    days: str
    spell: str  # what was taken for the weather
    verdict: tuple[str, ...]
    rows: tuple[HeatRow, ...]
    fine: str  # who needs nothing
    nights: tuple[HeatNightRow, ...]
    how: str  # what the last column of the nights says
    steps: tuple[str, ...]  # what to do, the first thing first
    percent: tuple[str, ...]
    back: str
    weather_days: tuple[HeatDay, ...]
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
        heading=_heading(found, read),
        days=f"{day_text(found.days[0].day)}–{day_text(found.days[-1].day)}, {found.days[-1].day.year}",
        spell=_spell(found, read),
        verdict=tuple(_verdict(found)),
        rows=tuple(
            _row(found, each, station, read)
            for each, station in zip(found.stations, found.site.stations, strict=True)
            if _concerned(each)
        ),
        fine=_fine(found),
        nights=night_rows(found),
        how=how_note(found),
        steps=steps(found, read),
        percent=percent_words(found, read),
        back=until(found),
        weather_days=_weather_days(found, read),
        advice=tuple((plain(each.words), plain(each.source)) for each in found.advice),
        notes=tuple(plain(note) for note in found.notes),
        weather=plain(found.weather_source),
        credits=tuple(plain(text) for text in found.attributions),
    )


def difference_text(hotter_c: float, system: UnitSystem) -> str:
    """Write a difference of temperatures: `8 °F`."""
    number = to_reader(hotter_c, "c", system) - to_reader(0.0, "c", system)
    return f"{round(number, 1):g} {reader_label('c', system)}"


def _heading(found: HeatCheck, system: UnitSystem) -> str:
    spell = found.spell
    if not spell.hotter_c:
        return f"As forecast now: {day_text(spell.first)}–{day_text(spell.last)}"
    days = day_text(spell.first) if spell.length_d == 1 else f"{day_text(spell.first)}–{day_text(spell.last)}"
    return f"If it gets {difference_text(spell.hotter_c, system)} hotter: {days}"


def _weather_days(found: HeatCheck, system: UnitSystem) -> tuple[HeatDay, ...]:
    spell = found.spell
    supposed = f"supposed, {difference_text(spell.hotter_c, system)} hotter"
    return tuple(
        HeatDay(row, supposed if spell.hotter_c and spell.first <= row.date <= spell.last else row.kind)
        for row in weather_rows(found.days, system)
    )


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
        said = "No station that works gets too dry with the clock as it stands."
        return [f"{said}{_left_out(found)}", *fit_sentences(found)]
    names = ", ".join(str(station.terminal) for station in passing)
    usual = sum(station.usual_passes_on is not None for station in working)
    without = f"; without the hotter days {_usual(usual, len(passing))}" if found.spell.hotter_c else ""
    said = f"{_passing(len(passing), len(working))} too dry with the clock as it stands: {names}{without}."
    return [f"{said}{_left_out(found)}", *fit_sentences(found)]


def _usual(usual: int, passing: int) -> str:
    if usual == passing:
        return "too"
    return f"{usual} of them" if usual else "none"


def _passing(passing: int, working: int) -> str:
    if working == 1:
        return "The one station that works gets"
    return f"{passing} of {working} stations {'gets' if passing == 1 else 'get'}"


def _left_out(found: HeatCheck) -> str:
    blocked = [str(station.terminal) for station in found.stations if station.blocked is not None]
    if not blocked:
        return ""
    return f" Not counted, because no water comes out of {'it' if len(blocked) == 1 else 'them'}: {', '.join(blocked)}."


def _concerned(heat: StationHeat) -> bool:
    return heat.passes_on is not None or heat.extra_min > 0


def _fine(found: HeatCheck) -> str:
    names = [str(each.terminal) for each in found.stations if not _concerned(each)]
    if not names:
        return ""
    return f"Moist enough on all these days: station{'s' if len(names) > 1 else ''} {', '.join(names)}."


def _row(found: HeatCheck, heat: StationHeat, station: Station, system: UnitSystem) -> HeatRow:
    missing = sum(run.missing_min for night in found.nights for run in night.runs if run.terminal == heat.terminal)
    return HeatRow(
        terminal=heat.terminal,
        area=plain(station.area),
        dry=NOT_KNOWN if heat.passes_on is None else day_text(heat.passes_on),
        usual=_without(found, heat),
        excess=figure(heat.excess_mm, "mm", system),
        helped=_helped(heat, missing),
        extra_min=heat.extra_min,
        missing_min=missing,
    )


def _without(found: HeatCheck, heat: StationHeat) -> str:
    usual = heat.usual_passes_on
    if not found.spell.hotter_c or usual == heat.passes_on:
        return ""
    return f"without the heat {'never' if usual is None else day_text(usual)}"


def _helped(heat: StationHeat, missing_min: int) -> str:
    if heat.passes_on is None:
        return "yes"
    if heat.blocked is not None:
        return "no: blocked"
    if heat.passes_still_on is None:
        return "yes, if all of them had room" if missing_min else "yes"
    return "in part: roots too short for such days" if heat.shallow else f"not on {day_text(heat.passes_still_on)}"


def minutes_in_clock(found: HeatCheck) -> tuple[tuple[str, ...], tuple[tuple[str, ...], ...]]:
    """Write a week of what is in the clock: the heads, and a row a station with its minutes by night."""
    served = [day.day for day in found.days[:WEEK_D] if any(serves == day.day for _, serves in found.table_min)]
    before = timedelta(days=int(found.site.rules.closes_at <= found.site.rules.opens_at))
    heads = ("Station", "Area", *(day_text(serves - before) for serves in served))
    rows = tuple(
        (str(each.terminal), plain(each.area), *(_minutes(found, each.terminal, serves) for serves in served))
        for each in found.site.stations
    )
    return heads, rows


def _minutes(found: HeatCheck, terminal: int, serves: date) -> str:
    minutes = found.table_min.get((terminal, serves), 0.0)
    return f"{minutes:g}" if minutes else "·"
