"""The table that is in the clock as minutes by night, and how many of them stay on the ground.

Whatever the table comes from, it repeats every week until somebody changes it. A night is named by the day it serves:
water that runs from noon on serves the next day, unless the allowed hours themselves lie on one day and end later.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from etsched.core import cycle_soak
from etsched.days import day_text
from etsched.errors import PlanRefused
from etsched.model.visit import ClockFound
from etsched.planning.clock_passes import DAY_MIN, passes, runs_at_all
from etsched.planning.outlook import WEEK_D

if TYPE_CHECKING:
    from datetime import date

    from numpy.typing import NDArray

    from etsched.days import Night
    from etsched.model.site import WateringRules
    from etsched.model.visit import Program
    from etsched.planning.ground import Ground

NOON_MIN = 720
# A soil that takes water faster than it lands drains what stands on it with the first minute of a pause.
_AT_ONCE_FACTOR = 1.0e9


@dataclass(frozen=True, slots=True)
class WeekMinutes:
    """A week's table as planned: minutes by (terminal, day served), and what it is called."""

    minutes_min: Mapping[tuple[int, date], float]
    source: str


class Minutes(NamedTuple):
    """Minutes of a week by night and station (7, S): that run, and of these the ones whose water stays."""

    run_min: NDArray[np.float64]
    kept_min: NDArray[np.float64]


class Hours(NamedTuple):
    """Minutes of programs on the nights of a week (7,): inside the allowed hours, and outside of them."""

    inside_min: NDArray[np.float64]
    outside_min: NDArray[np.float64]


class _Round(NamedTuple):
    """Valves that open on one night (K,), each at most once: their places among the stations, when, how long."""

    night: int
    at: NDArray[np.int64]
    opens_min: NDArray[np.float64]
    length_min: NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class HeldTable:
    """A table ready to be scaled by percent adjust; `now_pct` is what its minutes stand at."""

    held: ClockFound | WeekMinutes
    ground: Ground
    rules: WateringRules
    first_day: date

    @property
    def source(self) -> str:
        """Name where the table comes from."""
        return self.held.source

    @property
    def programs(self) -> bool:
        """Say whether it is of programs, which have the same minutes on each of their nights."""
        return not isinstance(self.held, WeekMinutes)

    @property
    def now_pct(self) -> float:
        """Give the percent that all running programs stand at; 100 where they differ or it is a week's table."""
        stands = self._stands_at()
        return stands.pop() if len(stands) == 1 else 100.0

    @property
    def mixed(self) -> bool:
        """Say whether programs stand at different percents."""
        return len(self._stands_at()) > 1

    @property
    def unknown(self) -> tuple[int, ...]:
        """Give the terminals that the table waters and the site does not have."""
        keyed = (
            {terminal for terminal, _ in self.held.minutes_min}
            if isinstance(self.held, WeekMinutes)
            else terminals_of(self.held.programs)
        )
        return tuple(sorted(keyed - set(self.ground.terminal.tolist())))

    def minutes(self, factor: float = 1.0) -> Minutes:
        """Lay out the week that begins with the night serving `first_day`, every minute scaled by `factor`."""
        rounds = self._clock(factor) if not isinstance(self.held, WeekMinutes) else self._week(self.held, factor)
        return _kept(rounds, self.ground)

    def hours(self, windows: Sequence[Night | None], factor: float = 1.0) -> Hours:
        """Lay the valves that programs open beside the windows of the week's nights (7,)."""
        if isinstance(self.held, WeekMinutes):
            raise TypeError("a week's table has no hours of its own")
        runs = passes(self._scaled(self.held, factor), self.first_day, self.rules.valve_delay_min)
        opens = np.concatenate([each.opens_min for each in runs])
        closes = opens + np.concatenate([each.length_min for each in runs])
        begin, end = (wall.hour * 60 + wall.minute for wall in (self.rules.opens_at, self.rules.closes_at))
        length = (end - begin - 1) % DAY_MIN + 1
        inside = np.zeros(WEEK_D)
        for night, window in enumerate(windows[:WEEK_D]):
            if window is not None:
                starts = (window.opens_on - self.first_day).days * DAY_MIN + begin
                overlap = np.minimum(closes, starts + length) - np.maximum(opens, starts)
                inside[night] = np.maximum(overlap, 0.0).sum()
        place = _night(opens, self.rules)
        mine = (place >= 0) & (place < WEEK_D)
        run = np.bincount(place[mine], weights=(closes - opens)[mine], minlength=WEEK_D)
        return Hours(inside, np.maximum(run - inside, 0.0))

    @staticmethod
    def _scaled(held: ClockFound, factor: float) -> ClockFound:
        programs = (replace(each, percent_adjust_pct=each.percent_adjust_pct * factor) for each in held.programs)
        return replace(held, programs=tuple(programs))

    def _stands_at(self) -> set[float]:
        if isinstance(self.held, WeekMinutes):
            return set()
        return {program.percent_adjust_pct for program in self.held.programs if runs_at_all(program)}

    def _clock(self, factor: float) -> Iterator[_Round]:
        if isinstance(self.held, WeekMinutes):  # pragma: no cover - asked for by `minutes` only
            return
        for each in passes(self._scaled(self.held, factor), self.first_day):
            known = np.isin(each.terminal, self.ground.terminal)
            at, opens, length = each.terminal[known], each.opens_min[known], each.length_min[known]
            night = _night(opens, self.rules)
            # A run that goes on past noon belongs to two nights.
            for which in np.unique(night).tolist():
                mine = night == which
                yield _Round(which, np.searchsorted(self.ground.terminal, at[mine]), opens[mine], length[mine])

    def _week(self, held: WeekMinutes, factor: float) -> Iterator[_Round]:
        """Run each night's minutes in the cycles that a plan would cut them into, as long and as far apart."""
        minutes = np.zeros((WEEK_D, len(self.ground.terminal)))
        place = {int(terminal): at for at, terminal in enumerate(self.ground.terminal)}
        for (terminal, serves), said_min in held.minutes_min.items():
            if terminal in place:
                minutes[(serves - self.first_day).days % WEEK_D, place[terminal]] += said_min
        ground = self.ground
        for night, run_min in enumerate(minutes):
            count, cycle = cycle_soak.split_run(run_min, ground.longest_cycle_min, ground.least_cycle_min)
            count = np.where(run_min > 0.0, np.maximum(count, 1), 0)
            soak = cycle_soak.least_soak(cycle.astype(np.float64), ground.wet_rate_mm_h, ground.intake_mm_h)
            length = factor * run_min / np.maximum(count, 1)
            for turn in range(int(count.max(initial=0))):
                at = np.flatnonzero(count > turn)
                yield _Round(night, at, (night * DAY_MIN + turn * (length + soak))[at], length[at])


def minutes_of_night(programs: Sequence[Program], rules: WateringRules, serves: date) -> dict[int, int]:
    """Give the minutes by terminal that programs run in the night serving a day; the rest of a minute is left out."""
    minutes: dict[int, float] = defaultdict(float)
    for each in passes(ClockFound(tuple(programs)), serves, rules.valve_delay_min):
        mine = _night(each.opens_min, rules) == 0
        for terminal, run_min in zip(each.terminal[mine].tolist(), each.length_min[mine].tolist(), strict=True):
            minutes[terminal] += run_min
    return {terminal: int(run_min + 1e-6) for terminal, run_min in sorted(minutes.items())}


def terminals_of(programs: Iterable[Program]) -> set[int]:
    """Give the terminals that programs give minutes to."""
    return {terminal for each in programs for terminal, run_min in each.minutes_min.items() if run_min}


def unknown_note(unknown: Sequence[int]) -> str:
    """Say that a clock waters terminals that the site does not have, and what to do."""
    names = ", ".join(str(terminal) for terminal in unknown)
    one = len(unknown) == 1
    return (
        f"The clock gives minutes to terminal{'' if one else 's'} {names}, which the site file does not have, so "
        f"{'it is' if one else 'they are'} left out here: add {'it' if one else 'them'} to the site file, or take "
        f"{'its' if one else 'their'} minutes out of the clock."
    )


def held_table(held: ClockFound | WeekMinutes, ground: Ground, rules: WateringRules, first_day: date) -> HeldTable:
    """Set a table beside the ground it waters. Raises PlanRefused where it waters nothing."""
    table = HeldTable(held, ground, rules, first_day)
    if not table.minutes().run_min.any():
        raise PlanRefused(
            f"{table.source} waters no station of the site in the week from {day_text(first_day)} on, so there is no "
            "table to check; plan a week"
        )
    return table


def _cut_min(rules: WateringRules) -> int:
    """Minute of the day from which water serves the next day."""
    opens, closes = (wall.hour * 60 + wall.minute for wall in (rules.opens_at, rules.closes_at))
    return max(NOON_MIN, closes) if closes > opens else min(NOON_MIN, opens)


def _night(opens_min: NDArray[np.float64], rules: WateringRules) -> NDArray[np.int64]:
    """Number the nights in which valves open; 0 serves the day whose midnight the minutes count from."""
    return np.asarray(np.floor((opens_min - _cut_min(rules)) / DAY_MIN).astype(np.int64) + 1)


def _kept(rounds: Iterator[_Round], ground: Ground) -> Minutes:
    """Follow what stands on the ground from opening to opening, as the clock found is judged.

    Water stands as minutes of running; what comes when the ground can hold no more runs off as far as the mean rate
    exceeds the intake.
    """
    stations = len(ground.terminal)
    surplus = ground.wet_rate_mm_h - ground.intake_mm_h
    soaks = np.full(stations, _AT_ONCE_FACTOR)
    np.divide(ground.intake_mm_h, surplus, out=soaks, where=surplus > 0.0)
    lost = np.maximum(ground.landing_rate_mm_h - ground.intake_mm_h, 0.0) / ground.landing_rate_mm_h
    standing, closed = np.zeros(stations), np.full(stations, -1.0e9)
    run, kept = np.zeros((WEEK_D, stations)), np.zeros((WEEK_D, stations))
    for night, at, opens, length in rounds:
        left = np.maximum(standing[at] - (opens - closed[at]) * soaks[at], 0.0)
        standing[at] = np.minimum(left + length, ground.longest_cycle_min[at])
        closed[at] = opens + length
        if 0 <= night < WEEK_D:
            beyond = left + length - standing[at]
            run[night, at] += length
            kept[night, at] += length - beyond * lost[at]
    return Minutes(run, kept)
