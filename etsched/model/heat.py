"""What days of heat do to the table that is in the clock: who passes allowable, what to add, when to go back."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta

from etsched.days import Night
from etsched.model.plan import DayWeather
from etsched.model.site import Site


@dataclass(frozen=True, slots=True)
class HeatSpell:
    """So many days from `first` on that are taken as so much hotter than forecast; 0 is the forecast as it is."""

    hotter_c: float  # a difference
    first: date
    length_d: int

    @property
    def last(self) -> date:
        """Give the last hotter day."""
        return self.first + timedelta(days=self.length_d - 1)


@dataclass(frozen=True, slots=True)
class HeatRun:
    """One station's watering on one night: what the clock gives it, what is to be added, and how that is run."""

    terminal: int
    table_min: float
    kept_min: float  # of the clock's minutes, those whose water does not run off
    extra_min: int
    fits_min: int  # of the addition, what the night holds beside the clock's own minutes
    cycles_count: int  # of the whole run, by programs of what fits of the addition; cut so that nothing runs off
    cycle_min: int
    soak_min: int
    missing_min: int  # that the night cannot hold, of the addition and of the clock's own minutes


@dataclass(frozen=True, slots=True)
class HeatNight:
    """One allowed night: the clock's own minutes first, and what of the additions its window holds beside them."""

    night: Night
    runs: tuple[HeatRun, ...]  # of the stations that water, in order of terminal
    used_min: int  # by the clock's minutes and the additions that fit
    bound_min: int  # what those and all additions take at least

    @property
    def missing_min(self) -> int:
        """Minutes that the night cannot hold."""
        return sum(run.missing_min for run in self.runs)

    @property
    def extra_min(self) -> int:
        """Minutes to add."""
        return sum(run.extra_min for run in self.runs)

    @property
    def fits_min(self) -> int:
        """Minutes to add that the night holds."""
        return sum(run.fits_min for run in self.runs)


@dataclass(frozen=True, slots=True)
class StationHeat:
    """What the days ask of one station. Depths are net: what its drier part gets or lacks.

    `passes_on` is the first day on which the clock's table leaves it past its allowable depletion, `passes_still_on`
    the first one although all additions run; `usual_*` is the same without the hotter days.
    """

    terminal: int
    blocked: str | None
    passes_on: date | None
    excess_mm: float  # the most by which it passes, its use unslowed by drought
    usual_passes_on: date | None
    passes_still_on: date | None
    shallow: bool  # some day it uses more than its roots may give up: no minutes prevent that
    extra_min: int
    usual_extra_min: int
    lacks_mm: float  # by the end of the spell with the table as it is
    under_mm: float  # the same at the percent adjust that comes nearest
    over_mm: float  # what that percent puts down on the spell's nights beyond what the root zone can take


@dataclass(frozen=True, slots=True)
class PercentAdjust:
    """The percent adjust that comes nearest, and the nights, by the day they serve, for which it is meant."""

    now_pct: float
    set_pct: float
    wanted_pct: float  # what would come nearest if the allowed hours were longer; more than set_pct where they are not
    high_pct: float  # the controller goes no further
    step_pct: float
    step_stated: bool  # by the site file; otherwise common practice
    enough: bool  # False where the controller goes no further and more is lacking than put down for nothing
    first: date
    last: date


@dataclass(frozen=True, slots=True)
class HeatAdvice:
    """One thing to do or to leave in heat, and where that comes from."""

    key: str
    words: str
    source: str


@dataclass(frozen=True, slots=True)
class HeatCheck:
    """The table in the clock held against the days to come.

    `table_min` holds the clock's minutes by (terminal, day served); `back_on` is the day for whose night the clock is
    set back to them, None where nothing is to be changed or no such day is in sight.
    """

    site: Site
    first_day: date
    spell: HeatSpell
    table_source: str
    programs: bool  # the clock takes programs: no other minutes on single nights
    table_min: Mapping[tuple[int, date], float]
    days: tuple[DayWeather, ...]  # as checked, hotter days hotter
    usual_days: tuple[DayWeather, ...]
    stations: tuple[StationHeat, ...]  # in order of terminal
    nights: tuple[HeatNight, ...]
    percent: PercentAdjust
    back_on: date | None
    advice: tuple[HeatAdvice, ...]
    notes: tuple[str, ...]
    weather_source: str
    attributions: tuple[str, ...] = ()

    @property
    def changes(self) -> bool:
        """Say whether anything in the clock is to be changed."""
        return any(station.extra_min for station in self.stations) or self.percent.set_pct != self.percent.now_pct

    def keyed_min(self, terminal: int, serves: date) -> float:
        """Give the minutes that are to stand in the clock for a night: with additions before `back_on`, else as found.

        Returns
        -------
        run_min : float
        """
        found = self.table_min.get((terminal, serves), 0.0)
        added = [
            run.extra_min
            for night in self.nights
            for run in night.runs
            if run.terminal == terminal and night.night.serves == serves
        ]
        return found + sum(added)
