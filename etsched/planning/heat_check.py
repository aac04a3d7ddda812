"""The heat check: the table that is in the clock held against the days to come, as forecast or so much hotter.

It patches a table that stands; it plans none. Additions are the least that keep every root zone within its allowable
depletion, so with no heat above the forecast it asks for just what the books ask for, and where the table suffices for
nothing. After the spell the clock goes back to the table as it was.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np

from etsched.core import runtime
from etsched.errors import PlanRefused
from etsched.model.heat import HeatCheck, HeatNight, HeatSpell, StationHeat
from etsched.planning import heat_words
from etsched.planning.heat_nights import Nights, whole_minutes
from etsched.planning.heat_percent import Scaled, nearest_percent
from etsched.planning.heat_table import HeldTable, Minutes, WeekMinutes, held_table
from etsched.planning.heat_water import Followed, demand_of, follow
from etsched.planning.hotter_days import check_spell, two_weathers
from etsched.planning.outlook import WEEK_D, Outlook, watering_night
from etsched.planning.water import CLOSES_TO_MM
from etsched.planning.week import MOST_STANDING_IN_D, Earlier, first_deficit, outlook_of

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from etsched.days import Night
    from etsched.frames.weather import Weather
    from etsched.model.site import Site
    from etsched.model.visit import ClockFound
    from etsched.planning.heat_percent import Balance
    from etsched.planning.heat_water import Demand

# Days looked at after a spell, to see the clock go back (common practice, no source).
AFTER_D = 2


@dataclass(frozen=True, slots=True)
class HeatCase:
    """What is to be checked: a property, its weather, the table in its clock; `spell` None is the forecast as it is."""

    site: Site
    weather: Weather
    first_day: date  # that the first night, tonight's, serves
    held: ClockFound | WeekMinutes
    spell: HeatSpell | None = None
    earlier: Earlier = field(default_factory=Earlier)


@dataclass(frozen=True, slots=True)
class _Ready:
    """The case as arrays over days and stations; `days_count` days are shown, a week more is looked at."""

    case: HeatCase
    spell: HeatSpell
    outlook: Outlook  # without the hotter days
    hot: Outlook
    days_count: int
    table: HeldTable
    windows: tuple[Night | None, ...]
    depletion_mm: NDArray[np.float64]
    usual_asks: Demand
    hot_asks: Demand

    @property
    def dates(self) -> tuple[date, ...]:
        """Give every day looked at."""
        return tuple(self.case.first_day + timedelta(days=day) for day in range(len(self.windows)))

    @property
    def spell_days(self) -> slice:
        """Give the places of the spell among the days."""
        begin = (self.spell.first - self.case.first_day).days
        return slice(begin, begin + self.spell.length_d)

    def minutes(self, factor: float = 1.0) -> Minutes:
        """Repeat the table over all days (N, S), the nights of the spell scaled."""
        place = np.arange(len(self.windows)) % WEEK_D
        plain = self.table.minutes()
        run, kept = plain.run_min[place], plain.kept_min[place]
        if factor != 1.0:
            scaled, cut = self.table.minutes(factor), self.spell_days
            run[cut], kept[cut] = scaled.run_min[place[cut]], scaled.kept_min[place[cut]]
        return Minutes(run, kept)

    def credit(self, factor: float = 1.0) -> NDArray[np.float64]:
        """Net depth by day that the table brings (N, S), nothing where a fault blocks the station."""
        ground = self.outlook.ground
        applied = runtime.applied_depth(self.minutes(factor).kept_min, ground.landing_rate_mm_h)
        return runtime.credited_depth(np.where(ground.works, applied, 0.0), ground.multiplier_factor)

    def day(self, days: NDArray[np.bool_]) -> date | None:
        """Name the first of the days shown that is marked."""
        marked = np.flatnonzero(days[: self.days_count])
        return self.dates[int(marked[0])] if marked.size else None


def heat_check(case: HeatCase) -> HeatCheck:
    """Hold the table in the clock against the days to come.

    Raises PlanRefused where the spell cannot be meant, the table waters nothing, or the weather does not reach.
    """
    ready = _ready(case)
    credit = ready.credit()
    usual, hot, usual_met, met = (
        follow(asks, ready.depletion_mm, credit, adds=adds)
        for adds in (False, True)
        for asks in (ready.usual_asks, ready.hot_asks)
    )
    extra, usual_extra = (_extra(ready, followed) for followed in (met, usual_met))
    urgency = hot.reached_mm - ready.hot_asks.allowable_mm
    held = Nights(case.site, ready.outlook.ground, ready.windows[: ready.days_count], ready.table)
    nights = held.found(ready.minutes(), extra, urgency)
    scaled = Scaled(
        ready.hot_asks,
        ready.usual_asks,
        ready.depletion_mm,
        ready.credit,
        ready.spell_days,
        lambda factor: held.holds(factor, ready.spell_days),
    )
    percent, balance = nearest_percent(scaled, ready.spell, case.site.controller, ready.table.now_pct)
    stations = _stations(ready, (usual, hot, met), (extra, usual_extra), (scaled.balance(1.0), balance))
    found = HeatCheck(
        site=case.site,
        first_day=case.first_day,
        spell=ready.spell,
        table_source=ready.table.source,
        programs=held.by_hand,
        table_min=_table_min(ready),
        days=ready.hot.days.between(case.first_day, ready.days_count).records,
        usual_days=ready.outlook.days.between(case.first_day, ready.days_count).records,
        stations=stations,
        nights=nights,
        percent=percent,
        back_on=_back_on(ready, nights, changes=percent.set_pct != percent.now_pct),
        advice=(),
        notes=(),
        weather_source=case.weather.source,
        attributions=case.weather.attributions,
    )
    notes = heat_words.notes(found, ready.outlook, ready.table)
    return replace(found, advice=heat_words.advice(found), notes=(*notes, *case.weather.notes))


def _ready(case: HeatCase) -> _Ready:
    spell = check_spell(case.spell or HeatSpell(0.0, case.first_day, WEEK_D), case.first_day)
    past = (spell.last - case.first_day).days + 1
    days_count = WEEK_D if case.spell is None else max(WEEK_D, past + AFTER_D)
    looked_at = days_count + WEEK_D
    weathers = two_weathers(case.weather, case.site, spell, case.first_day + timedelta(days=looked_at))
    _check_reach(case, weathers.usual.first)
    outlook = outlook_of(case.site, weathers.usual, case.first_day, case.earlier)
    windows = tuple(watering_night(case.site, case.first_day + timedelta(days=day)) for day in range(looked_at))
    may_water = _may_water(case.site, windows)
    hot = replace(outlook, days=weathers.hot)
    begin = outlook.index(case.first_day)
    return _Ready(
        case=case,
        spell=spell,
        outlook=outlook,
        hot=hot,
        days_count=days_count,
        table=held_table(case.held, outlook.ground, case.site.rules, case.first_day),
        windows=windows,
        # The first morning's water is no matter of the days to come: it is that of the forecast as it is.
        depletion_mm=first_deficit(outlook, case.earlier)[:, 0],
        usual_asks=demand_of(outlook.ground, outlook.days, begin, may_water),
        hot_asks=demand_of(hot.ground, hot.days, begin, may_water),
    )


def _check_reach(case: HeatCase, first: date) -> None:
    last = first + timedelta(days=len(case.weather.daily) - 1)
    if case.first_day <= first or case.first_day > last + timedelta(days=1 + MOST_STANDING_IN_D):
        raise PlanRefused(
            f"the weather runs from {first} to {last}, which does not lead up to {case.first_day}, the first day to "
            "check; give weather up to the day before, best with a forecast"
        )
    known = case.earlier.water
    if known is not None and not first <= known.morning <= case.first_day:
        raise PlanRefused(
            f"the earlier water is that of the morning of {known.morning}, but the weather begins on {first} and the "
            f"check on {case.first_day}; give weather from {known.morning} on"
        )


def _may_water(site: Site, windows: tuple[Night | None, ...]) -> NDArray[np.bool_]:
    """Say on which nights each station may water (N, S): a window opens and no ban stands on the day it opens on."""
    return np.array(
        [
            [
                window is not None
                and not any(
                    ban.first <= window.opens_on <= ban.last
                    and (not ban.terminals or station.terminal in ban.terminals)
                    for ban in site.bans
                )
                for station in site.stations
            ]
            for window in windows
        ]
    )


def _extra(ready: _Ready, met: Followed) -> NDArray[np.int64]:
    """Whole minutes to add by night (N, S)."""
    ground = ready.outlook.ground
    gross = runtime.gross_depth(met.added_mm, ground.multiplier_factor)
    return whole_minutes(runtime.run_minutes(gross, ground.landing_rate_mm_h))


def _stations(
    ready: _Ready,
    followed: tuple[Followed, Followed, Followed],
    extra_min: tuple[NDArray[np.int64], NDArray[np.int64]],
    balances: tuple[Balance, Balance],
) -> tuple[StationHeat, ...]:
    """Put together what each station is told; followed are the usual days, the hot ones, and the hot ones met."""
    usual, hot, met = followed
    allowable, usual_allowable = ready.hot_asks.allowable_mm, ready.usual_asks.allowable_mm
    over_usual = usual.reached_mm > usual_allowable + CLOSES_TO_MM
    over_hot = hot.reached_mm > allowable + CLOSES_TO_MM
    over_met = met.reached_mm > allowable + CLOSES_TO_MM
    shown = slice(0, ready.days_count)
    excess = np.maximum(hot.reached_mm - allowable, 0.0)[shown].max(axis=0)
    shallow = np.any(ready.hot_asks.etc_mm[shown] > allowable[shown], axis=0)
    total, usual_total = (each[shown].sum(axis=0) for each in extra_min)
    now, nearest = balances
    return tuple(
        StationHeat(
            terminal=station.terminal,
            blocked=station.blocked,
            passes_on=ready.day(over_hot[:, at]),
            excess_mm=float(excess[at]),
            usual_passes_on=ready.day(over_usual[:, at]),
            passes_still_on=ready.day(over_met[:, at]),
            shallow=bool(shallow[at]),
            extra_min=int(total[at]),
            usual_extra_min=int(usual_total[at]),
            lacks_mm=float(now.under_mm[at]),
            under_mm=float(nearest.under_mm[at]),
            over_mm=float(nearest.over_mm[at]),
        )
        for at, station in enumerate(ready.case.site.stations)
    )


def _table_min(ready: _Ready) -> dict[tuple[int, date], float]:
    minutes = ready.minutes().run_min
    return {
        (int(terminal), ready.dates[day]): float(minutes[day, at])
        for day in range(ready.days_count)
        for at, terminal in enumerate(ready.outlook.ground.terminal)
        if minutes[day, at] > 0.0
    }


def _back_on(ready: _Ready, nights: tuple[HeatNight, ...], *, changes: bool) -> date | None:
    """Find the day after the spell and the last addition; None where nothing changes or additions never end."""
    adding = [night.night.serves for night in nights if night.extra_min]
    if not adding and not changes:
        return None
    ends = [*adding, ready.spell.last] if ready.spell.hotter_c or not adding else adding
    back = max(ends) + timedelta(days=1)
    return back if back < ready.case.first_day + timedelta(days=ready.days_count) else None
