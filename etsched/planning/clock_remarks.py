"""Sentences about a clock as it was found: what is set wrongly, what runs twice, what never runs."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from etsched.days import day_text, time_text
from etsched.planning.clock_passes import DAY_MIN, WEEK_MIN, runs_at_all, stations_of

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import datetime

    from etsched.model.clock_delivers import ClockDelivers, StationDelivers
    from etsched.model.site import Site, Station
    from etsched.model.visit import ClockFound, Program
    from etsched.planning.ground import Ground

# A clock's own face shows minutes, and nobody compares closer than this (common practice, no source).
NOTABLE_MIN = 5.0
_LEAST_MIN = 0.5  # less than half a minute of a week is rounding


def of_clock(clock: ClockFound, site: Site, result: ClockDelivers) -> tuple[str, ...]:
    """Collect what is to say about the clock as a whole, the gravest first."""
    return (
        *_time(clock, site.units),
        *_unread(clock),
        *(sentence for program in clock.programs for sentence in _program(program, site.units)),
        *_pushed_back(result, site.units),
        *_too_long(clock),
        *_unknown_terminals(clock, site),
        *_rain_switch(clock.rain_switch),
    )


def clock_repairs(clock: ClockFound | None) -> Iterator[str]:
    """Say what a clock wants that no setting gives it."""
    if clock is not None and clock.rain_switch == "none":
        yield "fit a rain switch: there is none, and the clock waters in the rain"


def clock_settings(clock: ClockFound | None, units: str) -> Iterator[str]:
    """Say what is to be set at a clock, the gravest first: what only wants to be known is left out."""
    if clock is None:
        return
    if (ahead := _ahead_min(clock)) is not None:
        yield f"set its date and time: it is {_span(abs(ahead))} {'ahead' if ahead > 0 else 'behind'}"
    if clock.rain_switch == "bypassed":
        yield "take the rain switch off bypass"
    for program in clock.programs:
        if runs_at_all(program) and len(program.starts) > 1:
            further = [time_text(start, units) for start in sorted(program.starts)[1:]]
            which, them = ("second start", "it") if len(further) == 1 else ("further starts", "them")
            yield (
                f"program {program.name} starts at {_starts(program, units)} and runs all its stations each time: take "
                f"out the {which}, {_listed(further)}, unless somebody wants {them}"
            )
        if program.percent_adjust_pct != 100.0:
            yield (
                f"set program {program.name} back from {program.percent_adjust_pct:g}% to 100%, or new minutes will "
                "not run as they are keyed in"
            )


def of_station(clock: ClockFound, station: Station, found: StationDelivers, ground: Ground) -> tuple[str, ...]:
    """Collect what is to say about one station."""
    return tuple(_station(clock, station, found, ground))


def _station(clock: ClockFound, station: Station, found: StationDelivers, ground: Ground) -> Iterator[str]:
    if not found.runs_count:
        yield _never(clock, station.terminal)
        return
    if station.blocked is not None:
        yield f"no water arrives, whatever the clock does: {station.blocked}"
    yield from _often(clock, station.terminal)
    if found.beyond_min > _LEAST_MIN:
        at = ground.terminal.tolist().index(station.terminal)
        yield (
            f"water runs off: {found.beyond_min:.0f} min of the week come after the "
            f"{ground.longest_cycle_min[at]:.0f} min that the ground takes at once"
            + ("" if found.runoff_mm > 0.0 else "; how much runs off is not known, for at the mean rate none would")
        )
    if found.daytime_min > _LEAST_MIN:
        yield f"waters in daytime: {found.daytime_min:.0f} min of the week"
    if found.forbidden_min > _LEAST_MIN:
        yield f"waters outside the allowed hours or days: {found.forbidden_min:.0f} min of the week"


def _never(clock: ClockFound, terminal: int) -> str:
    idle = [program.name for program in clock.programs if program.minutes_min.get(terminal, 0.0) > 0.0]
    if idle:
        return f"never runs: it has minutes in {_programs(idle)}, which never start{'s' * (len(idle) == 1)}"
    return "never runs: it has no minutes in any program"


def _often(clock: ClockFound, terminal: int) -> Iterator[str]:
    programs = [p for p in clock.programs if runs_at_all(p) and terminal in stations_of(p)[0]]
    if len(programs) > 1:
        yield f"is in {_programs([p.name for p in programs])}: it runs once for each"
    for program in programs:
        if len(program.starts) > 1:
            yield f"runs {_times(len(program.starts))} a day of program {program.name}, once for each start time"


def _time(clock: ClockFound, units: str) -> Iterator[str]:
    if clock.reads is None or clock.really is None:
        missing = "read" if clock.reads is None else "compared with the true time"
        taken = "; its programs are taken to run when they say" if clock.programs else ""
        yield f"The clock's date and time were not {missing}{taken}."
        return
    ahead = _ahead_min(clock)
    if ahead is None:
        return
    side = "ahead of" if ahead > 0 else "behind"
    days = " and start on wrong days" if clock.reads.weekday() != clock.really.weekday() else ""
    yield (
        f"The clock reads {_moment(clock.reads, units)} when it is {_moment(clock.really, units)}: it is "
        f"{_span(abs(ahead))} {side} the true time, so its programs run at other hours{days}. Set it first."
    )


def _ahead_min(clock: ClockFound) -> float | None:
    """Give how far the clock is ahead of the true time, None where that is not known or not worth a word."""
    if clock.reads is None or clock.really is None:
        return None
    ahead = (clock.reads - clock.really) / timedelta(minutes=1)
    return ahead if abs(ahead) >= NOTABLE_MIN else None


def _unread(clock: ClockFound) -> Iterator[str]:
    if not clock.programs:
        yield "The clock's programs were not read, so nothing is known of the water that it gives."


def _program(program: Program, units: str) -> Iterator[str]:
    minutes = stations_of(program)[1]
    lacks = [
        word for word, there in (("start time", program.starts), ("day", program.days), ("minutes", minutes.sum()))
        if not there
    ]  # fmt: skip
    if lacks:
        yield f"Program {program.name} never runs: it has no {' and no '.join(lacks)}."
        return
    if len(program.starts) > 1:
        yield (
            f"Program {program.name} has {len(program.starts)} start times ({_starts(program, units)}), and each runs "
            f"all its stations: on its days they run {_times(len(program.starts))}. Where nobody meant that, a start "
            "was forgotten."
        )
    if program.percent_adjust_pct != 100.0:
        yield f"Program {program.name} is set to {program.percent_adjust_pct:g}% of its minutes."


def _pushed_back(result: ClockDelivers, units: str) -> Iterator[str]:
    ahead = timedelta(minutes=result.ahead_min)
    sentences: dict[str, None] = {}
    for start in result.starts:
        if start.waited_for:
            set_for, begins = (time_text((each + ahead).time(), units) for each in (start.set_for, start.begins))
            other = start.waited_for != start.program
            sentences[
                f"Program {start.program}: the {set_for} start comes before "
                f"{'program ' + start.waited_for if other else 'the last run'} has finished and begins at {begins}"
                + (", unless this clock runs two programs at once." if other else ", without a soak between.")
            ] = None
    yield from sentences


def _too_long(clock: ClockFound) -> Iterator[str]:
    asked = sum(float(stations_of(p)[1].sum()) * len(p.starts) * len(p.days) for p in clock.programs if runs_at_all(p))
    if asked > WEEK_MIN:
        yield f"The programs ask for {asked / 60.0:.0f} hours a week, which has 168: what does not fit never runs."


def _unknown_terminals(clock: ClockFound, site: Site) -> Iterator[str]:
    known = {station.terminal for station in site.stations}
    stray = sorted({int(t) for program in clock.programs for t in stations_of(program)[0]} - known)
    if stray:
        many = len(stray) > 1
        are = "terminals that the site file lacks" if many else "a terminal that the site file lacks"
        waters = "they water" if many else "it waters"
        yield f"The clock has minutes for {_listed([str(t) for t in stray])}, {are}: nobody knows what {waters}."


def _rain_switch(state: str) -> Iterator[str]:
    if state == "bypassed":
        yield "The rain switch is bypassed: the clock waters in the rain."
    elif state == "none":
        yield "There is no rain switch: the clock waters in the rain."


def _starts(program: Program, units: str) -> str:
    return _listed([time_text(start, units) for start in sorted(program.starts)])


def _programs(names: list[str]) -> str:
    return f"program{'s' * (len(names) > 1)} {_listed(names)}"


def _listed(words: list[str]) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"


def _times(count: int) -> str:
    return {1: "once", 2: "twice"}.get(count, f"{count} times")


def _span(minutes: float) -> str:
    days, rest = divmod(round(minutes), DAY_MIN)
    parts = ((days, "day"), (rest // 60, "hour"), (rest % 60, "minute"))
    return _listed([f"{number:,} {word}{'s' * (number > 1)}" for number, word in parts if number])


def _moment(moment: datetime, units: str) -> str:
    return f"{day_text(moment.date())} {moment.year}, {time_text(moment.time(), units)}"
