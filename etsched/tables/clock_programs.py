"""The programs of an ordinary clock as they are keyed in, what they cost each station, and what to change."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import time, timedelta

from etsched.days import day_text, time_text
from etsched.model.clock_table import (
    ClockProgram,
    ClockTable,
    DaysChange,
    Difference,
    MinutesChange,
    PercentChange,
    StartChange,
    StationClock,
)
from etsched.model.site import Station
from etsched.tables.clock import NightClock, weekdays_text
from etsched.tables.figure import NOT_KNOWN, Figure, count_of, figure, plain
from etsched.tables.volume import Volume, cost_of
from etsched.units import UnitSystem


@dataclass(frozen=True, slots=True)
class ProgramColumn:
    """One program to key in."""

    letter: str
    days: str
    starts: tuple[str, ...]
    length_min: int  # of one pass
    ends: str  # when its last pass closes the last valve


@dataclass(frozen=True, slots=True)
class ClockRow:
    """One station: its minutes in each program, and what the week brings it beside what was wanted."""

    terminal: int
    plan_number: str
    area: str
    cells: tuple[int, ...]  # minutes in each program, 0: not in it
    nights: int
    cycles: str  # of a night: "4 × 12"
    soak: str  # that really comes, and the least: "73 (≥ 57)"
    week_min: int
    missing_min: int
    wanted: Figure
    credited: Figure
    applied: Figure
    over: Figure  # net depth, less than 0 where some is lacking
    past: Figure  # mm-days past the allowable depletion beyond the plan's
    volume: Figure
    over_volume: Figure
    blocked: str
    reason: str

    @property
    def state(self) -> str:
        """Say in a word why a station has no minutes: blocked, left out, or nothing to do; nothing where it runs."""
        if any(self.cells):
            return ""
        return "blocked" if self.blocked else "left out" if self.reason else "rests"


@dataclass(frozen=True, slots=True)
class ChangeRow:
    """One thing to change in the clock."""

    program: str
    what: str


@dataclass(frozen=True, slots=True)
class ClockSheetTable:
    """The whole sheet in the reader's units."""

    site: str
    week: str
    window: str
    programs: tuple[ProgramColumn, ...]
    rows: tuple[ClockRow, ...]
    changes: tuple[ChangeRow, ...] | None  # None: nobody said what is keyed in now
    entries: str
    controller: str
    short: tuple[ClockRow, ...]  # lack minutes for a reason
    volume: Volume
    over_volume: Figure
    most_over: str
    fullness: str  # a sentence where all take less
    key_in: str  # by when
    notes: tuple[str, ...]
    weather: str
    credits: tuple[str, ...]


def clock_system(table: ClockTable, system: UnitSystem | None) -> UnitSystem:
    """Give the units to write in: those asked for, else those the site's readers read."""
    if system is not None:
        return system
    return "metric" if table.site.units == "metric" else "us"


def clock_sheet(
    table: ClockTable, changes: Sequence[Difference] | None, system: UnitSystem | None = None
) -> ClockSheetTable:
    """Write the table, and what to change in the clock, for its reader."""
    read = clock_system(table, system)
    stations = {station.terminal: station for station in table.site.stations}
    rows = tuple(_row(table, each, stations[each.terminal], read) for each in table.stations)
    opens = [night.opens_on for night in table.nights]
    return ClockSheetTable(
        site=plain(table.site.name),
        week=f"{day_text(opens[0])}–{day_text(opens[-1])}, {opens[-1].year}" if opens else "no night",
        window=NightClock(table.nights[0], table.site.place.zone, read).window if opens else NOT_KNOWN,
        programs=tuple(_program(each, read) for each in table.programs),
        rows=rows,
        changes=None if changes is None else tuple(change_row(each, read) for each in changes),
        entries=_entries(table),
        controller=_controller(table),
        short=tuple(row for row in rows if row.reason),
        volume=_volume(table, read),
        over_volume=figure(sum(each.over_l or 0.0 for each in table.stations), "l", read),
        most_over=_most_over(rows),
        fullness=_fullness(table),
        key_in=_key_in(table, read),
        notes=tuple(plain(note) for note in (*_notes(table, read), *table.notes)),
        weather=plain(table.weather_source),
        credits=tuple(plain(text) for text in table.attributions),
    )


def signed(number: Figure) -> str:
    """Write what is over or under with its sign: `+0.12`, `-0.04`, a dot where it rounds to nothing."""
    if number.value is None:
        return NOT_KNOWN
    if not float(number.shown):
        return "·"
    return f"+{number.number}" if number.value > 0.0 else number.number


def change_row(change: Difference, system: UnitSystem) -> ChangeRow:
    """Write one change as a person makes it."""
    match change:
        case DaysChange(letter, before, after):
            return ChangeRow(letter, f"days: {weekdays_text(before)} → {weekdays_text(after)}")
        case PercentChange(letter, before_pct, after_pct):
            return ChangeRow(letter, f"percent adjust: {before_pct:g}% → {after_pct:g}%")
        case StartChange(letter, place, begins, starts):
            return ChangeRow(letter, _start_words(place, begins, starts, system))
        case MinutesChange(letter, terminal, before_min, after_min):
            return ChangeRow(letter, _minutes_words(terminal, before_min, after_min))


def _start_words(place: int, before: time | None, after: time | None, system: UnitSystem) -> str:
    if after is None:
        return f"start {place}: take out" + ("" if before is None else f" ({time_text(before, system)})")
    if before is None:
        return f"start {place}: put in {time_text(after, system)}"
    return f"start {place}: {time_text(before, system)} → {time_text(after, system)}"


def _minutes_words(terminal: int, before_min: float | None, after_min: int | None) -> str:
    if after_min is None:
        return f"station {terminal}: take out" + ("" if before_min is None else f" ({before_min:g} min)")
    if before_min is None:
        return f"station {terminal}: put in {after_min} min"
    return f"station {terminal}: {before_min:g} → {after_min} min"


def _program(program: ClockProgram, system: UnitSystem) -> ProgramColumn:
    last = program.starts[-1].at
    ends = (last.hour * 60 + last.minute + program.length_min) % (24 * 60)
    return ProgramColumn(
        letter=program.letter,
        days=weekdays_text(program.days),
        starts=tuple(time_text(start.at, system) for start in program.starts),
        length_min=program.length_min,
        ends=time_text(time(*divmod(ends, 60)), system),
    )


def _row(table: ClockTable, each: StationClock, station: Station, system: UnitSystem) -> ClockRow:
    soak = "" if each.soak_min is None else f"{each.soak_min} (≥ {each.least_soak_min})"
    return ClockRow(
        terminal=each.terminal,
        plan_number=plain(station.plan_number or ""),
        area=plain(station.area),
        cells=tuple(program.minutes_min.get(each.terminal, 0) for program in table.programs),
        nights=each.nights_count,
        cycles=_cycles(each),
        soak=soak,
        week_min=each.week_min,
        missing_min=each.missing_min,
        wanted=figure(each.wanted_mm, "mm", system),
        credited=figure(each.credited_mm, "mm", system),
        applied=figure(each.applied_mm, "mm", system),
        over=figure(each.over_mm, "mm", system),
        past=figure(each.past_mm - each.plan_past_mm, "mm", system),
        volume=figure(each.volume_l, "l", system),
        over_volume=figure(each.over_l, "l", system),
        blocked="" if station.blocked is None else plain(station.blocked) or "no reason given",
        reason=plain(each.reason),
    )


def _cycles(each: StationClock) -> str:
    """Write the cycles of a night; `up to` where some nights have fewer."""
    if not each.cycles_count:
        return ""
    said = f"{each.cycles_count} × {each.cycle_min}"
    return said if each.week_min == each.nights_count * each.cycles_count * each.cycle_min else f"up to {said}"


def _entries(table: ClockTable) -> str:
    days, starts, minutes = (
        sum(len(part) for part in parts)
        for parts in zip(*((each.days, each.starts, each.minutes_min) for each in table.programs), strict=True)
    ) if table.programs else (0, 0, 0)
    return (
        f"{count_of(table.entries_count, 'entry', 'entries')} to key in: {days} weekdays, {starts} starts, "
        f"{minutes} run times"
    )


def _controller(table: ClockTable) -> str:
    have = table.controller
    return (
        f"{len(table.programs)} of the clock's {have.programs_count}, each with at most "
        f"{count_of(have.starts_count, 'start', 'starts')}"
    )


def _key_in(table: ClockTable, system: UnitSystem) -> str:
    opens_at = time_text(table.site.rules.opens_at, system)
    again = day_text(table.first_evening + timedelta(days=7))
    return (
        f"Key this in before {opens_at} on {day_text(table.first_evening)}; later, only the starts that are past are "
        f"missed that night. The clock repeats it every week, so key in the next paper before {opens_at} on {again}."
    )


def _notes(table: ClockTable, system: UnitSystem) -> Iterator[str]:
    """Say what else to set and to take out, and which morning the days of a start past midnight mean."""
    if table.programs:
        letters = ", ".join(each.letter for each in table.programs)
        yield f"Set percent adjust to 100% in {letters}."
    if table.unused:
        one = len(table.unused) == 1
        yield (
            f"Program{'' if one else 's'} {', '.join(table.unused)} {'is' if one else 'are'} not used: take every "
            f"start time out of {'it' if one else 'them'}, or {'it runs' if one else 'they run'} too. Days and minutes "
            "may stay."
        )
    for program in table.programs:
        if program.past_midnight:
            at, day = time_text(program.starts[0].at, system), min(program.days)
            yield (
                f"Program {program.letter} starts after midnight; key in its days as printed. "
                f"{weekdays_text({day})} is early on {weekdays_text({day})}, at {at}, at the end of the night that "
                f"begins on {weekdays_text({(day - 1) % 7})}."
            )
    for opens_on in table.changing:
        yield (
            f"The clocks change in the night that opens on {day_text(opens_on)}: the starts hold for a clock whose "
            "time is set by hand on the day after it, so switch off what would set it in the night."
        )


def _volume(table: ClockTable, system: UnitSystem) -> Volume:
    running = [each for each in table.stations if each.week_min]
    known = [each.volume_l for each in running if each.volume_l is not None]
    unmetered = tuple(each.terminal for each in running if each.volume_l is None)
    total = sum(known) if known or not running else None
    return Volume(figure(total, "l", system), unmetered, cost_of(total, table.site.water_price))


def _most_over(rows: Iterable[ClockRow]) -> str:
    """Name the stations that get most too much and most too little, where that shows."""
    told = [row for row in rows if row.over.value is not None and float(row.over.shown)]
    most = max(told, key=lambda row: row.over.value or 0.0, default=None)
    least = min(told, key=lambda row: row.over.value or 0.0, default=None)
    parts = []
    if most is not None and (most.over.value or 0.0) > 0.0:
        parts.append(f"most too much: station {most.terminal}, {most.over.text}")
    if least is not None and (least.over.value or 0.0) < 0.0:
        parts.append(f"most too little: station {least.terminal}, {least.over.text.removeprefix('-')}")
    return "; ".join(parts) or "every station gets what the plan wants, as far as its unit shows"


def _fullness(table: ClockTable) -> str:
    if table.fullness_fraction >= 1.0:
        return ""
    share = 100.0 * table.fullness_fraction
    return f"The nights do not hold all that is wanted, so every station takes {share:g}% of its minutes, rounded down."
