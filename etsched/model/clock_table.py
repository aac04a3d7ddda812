"""The week set for an ordinary clock: its programs, what they bring each station, and what to change in the clock."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, time, timedelta

from etsched.days import Night
from etsched.model.site import Controller, Site


@dataclass(frozen=True, slots=True)
class ProgramStart:
    """One start time: what is keyed in, and how many minutes after the window opens that is."""

    at: time
    after_opening_min: int


@dataclass(frozen=True, slots=True)
class ClockProgram:
    """One program to key in. It runs its stations in order of terminal, from each start, on its days.

    `days` are the weekdays to key in, Monday = 0: those on which its starts fall, so that a program that starts past
    midnight bears the day after the window's opening. `nights` are the dates its windows open on.
    """

    letter: str
    days: frozenset[int]
    starts: tuple[ProgramStart, ...]
    minutes_min: Mapping[int, int]
    nights: tuple[date, ...]
    length_min: int  # one pass through its stations, from the first opening to the last closing

    @property
    def past_midnight(self) -> bool:
        """Whether its days are those after the evenings on which its nights open."""
        return self.days != frozenset(night.weekday() for night in self.nights)


@dataclass(frozen=True, slots=True)
class StationClock:
    """What the programs bring one station in the week, beside what the plan wanted for it; depths are of the week."""

    terminal: int
    letters: tuple[str, ...]  # of the programs that run it
    nights_count: int
    cycles_count: int  # on the night that has most
    cycle_min: int
    week_min: int
    least_soak_min: int
    soak_min: int | None  # the shortest pause that really comes between two of its cycles
    wanted_mm: float  # net, what the plan's minutes would be credited, those too that its nights could not hold
    applied_mm: float
    credited_mm: float
    past_mm: float  # mm past the allowable depletion, added up over the days at dusk
    plan_past_mm: float  # the same as the plan has it
    over_l: float | None  # water beyond what the plan uses, less than 0 where it is less; None: flow not known
    volume_l: float | None
    missing_min: int  # of a station that is left out, or whose minutes were cut so that all fit
    reason: str  # why it is left out or cut

    @property
    def over_mm(self) -> float:
        """Net depth put down beyond what was wanted; less than 0 where some is lacking."""
        return self.credited_mm - self.wanted_mm


@dataclass(frozen=True, slots=True)
class ClockTable:
    """The programs for one week, and what rounding and grouping cost."""

    site: Site
    controller: Controller
    first_day: date
    nights: tuple[Night, ...]
    programs: tuple[ClockProgram, ...]
    stations: tuple[StationClock, ...]  # by terminal, every station of the site
    fullness_fraction: float  # share of each station's minutes that the nights hold; 1 where all fit
    changing: tuple[date, ...]  # evenings that open a night in which the clocks change
    weather_source: str
    attributions: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()

    @property
    def first_evening(self) -> date:
        """The date on which the first window of the week opens, whether or not water may run in it."""
        rules = self.site.rules
        return self.first_day - timedelta(days=int(rules.closes_at <= rules.opens_at))

    @property
    def unused(self) -> tuple[str, ...]:
        """The letters of the clock's programs that the table does not use; none where its programs have other names."""
        letters = [chr(ord("A") + at) for at in range(min(self.controller.programs_count, 26))]
        used = {each.letter for each in self.programs}
        return tuple(each for each in letters if each not in used) if used <= set(letters) else ()

    @property
    def entries_count(self) -> int:
        """How many things are to be keyed in: a day, a start or a station's minutes are one each."""
        return sum(len(each.days) + len(each.starts) + len(each.minutes_min) for each in self.programs)


@dataclass(frozen=True, slots=True)
class DaysChange:
    """The days of a program."""

    letter: str
    before: frozenset[int]
    after: frozenset[int]


@dataclass(frozen=True, slots=True)
class StartChange:
    """One start of a program; None where it is new, or is to be taken out."""

    letter: str
    place_count: int  # 1 is its first start
    before: time | None
    after: time | None


@dataclass(frozen=True, slots=True)
class MinutesChange:
    """One station's minutes in a program; None where it is new there, or is to be taken out."""

    letter: str
    terminal: int
    before_min: float | None
    after_min: int | None


@dataclass(frozen=True, slots=True)
class PercentChange:
    """The percent adjust of a program, which the table takes to stand at 100."""

    letter: str
    before_pct: float
    after_pct: float


Difference = DaysChange | StartChange | MinutesChange | PercentChange
