"""The week: seven nights decided in order, each packed into its window, the books carried from day to day."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np

from etsched.core.night import Packing, pack, pack_whole
from etsched.days import day_text
from etsched.errors import PlanRefused
from etsched.model.plan import Cycle, NightPlan, Rest, Run, Shortfall, StationDay, WaterState, WeekPlan
from etsched.planning import assumptions, choice, dormant, modes, notes, start, water
from etsched.planning.ahead import early_tonight
from etsched.planning.books_before import books_before
from etsched.planning.depletion_range import depletion_ranges
from etsched.planning.ground import facts_by_station, ground
from etsched.planning.holds import with_weather_holds
from etsched.planning.light_runs import by_day, light_days
from etsched.planning.minutes_range import week_ranges
from etsched.planning.mode_notes import mode_notes
from etsched.planning.night_asked import chains_of, limits_of, without_last_delay
from etsched.planning.outlook import (
    WEEK_D,
    Outlook,
    is_windy,
    next_chance,
    opening_day,
    span_to_last,
    watering_night,
)
from etsched.planning.restrictions import restricted
from etsched.planning.rests import rests_of, with_ends
from etsched.planning.so_far import as_allowed, so_far
from etsched.planning.thirst import past_allowable_mm
from etsched.planning.tried import tried_minutes
from etsched.planning.weather_days import Days, days_from_weather, extend
from etsched.planning.week_bound import week_bound
from etsched.planning.working import StationNight, working

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from etsched.days import Night
    from etsched.frames.weather import Weather
    from etsched.model.site import Site
    from etsched.planning.books_before import Beginning


@dataclass(frozen=True, slots=True)
class Earlier:
    """What is known of the time before the plan: the water on some morning, the minutes that ran, soil that was read.

    `readings`, in order of day, hold the stations whose cores were read; they outrank the books.
    """

    water: WaterState | None = None
    applied_min: Mapping[tuple[int, date], int] = field(default_factory=dict)
    readings: tuple[start.Reading, ...] = ()

    @property
    def readings_that_count(self) -> tuple[start.Reading, ...]:
        """Leave out what was read before the earlier books began: it is in them."""
        since = self.water
        return tuple(each for each in self.readings if since is None or each.water.morning >= since.morning)

    @property
    def beginnings(self) -> Iterator[Beginning]:
        """Give each water that books can be carried on from, and what ran since; what comes later outranks."""
        if self.water is not None:
            yield self.water, self.applied_min
        for reading in self.readings_that_count:
            yield reading.water, start.ran_since(reading, self.applied_min)


# Days without weather that the mean of the last ones may bridge before a week begins (common practice, no source).
MOST_STANDING_IN_D = 7


def plan_week(site: Site, weather: Weather, first_day: date, earlier: Earlier | None = None) -> WeekPlan:
    """Plan the seven nights that serve `first_day` and the six days after it.

    Raises PlanRefused when the weather does not reach the first day, or begins after the earlier water.
    """
    days = days_from_weather(weather, site)
    check_reach(days, first_day, earlier)
    known = earlier or Earlier()
    outlook = outlook_of(site, days, first_day, known)
    plan = plan_nights(outlook, first_deficit(outlook, known), weather.source)
    tried = tried_minutes(outlook, plan.start)
    return replace(
        plan,
        assumptions=assumptions.week_assumptions(outlook, tried),
        ranges=week_ranges(outlook, tried),
        bound=week_bound(outlook, plan),
        before=books_before(outlook, known.beginnings),
        depletion_ranges=depletion_ranges(outlook, plan),
        notes=(
            *notes.week_notes(plan, outlook),
            *mode_notes(plan, outlook),
            *plan.notes,
            *_unknown_since(known, first_day),
            *weather.notes,
        ),
        attributions=weather.attributions,
    )


def first_deficit(outlook: Outlook, known: Earlier) -> NDArray[np.float64]:
    """Deficit by layer on the first morning: from earlier books, from soil that was read since, else unread."""
    here, days, first_day = outlook.ground, outlook.days, outlook.first_day
    if known.water is None:
        deficit = start.unread_deficit(outlook.site, here, days, outlook.index(first_day))
    else:
        deficit = start.carry_on(here, days, known.water, first_day, known.applied_min)
    for reading in known.readings_that_count:
        deficit = start.reset_by(here, days, reading, first_day, deficit, known.applied_min)
    return deficit


def _unknown_since(known: Earlier, first_day: date) -> Iterator[str]:
    """Say that nobody told what ran since the soil was read; the night after the reading is the plan's own first."""
    if known.water is not None or not known.readings:
        return
    read = known.readings[-1].water.morning
    if first_day - read > timedelta(days=1):
        yield (
            f"The soil was read on {day_text(read)} and nobody said what ran since, so the books take it that nothing "
            "did: hand over the week's document or a list of what ran."
        )


def outlook_of(site: Site, days: Days, first_day: date, known: Earlier | None = None) -> Outlook:
    """Set a site beside its weather; days past the weather's end take the mean of its last seven."""
    facts = modes.with_young_roots(site, first_day, facts_by_station(site, first_day.month))
    # The last night of the week looks ahead to the next allowed one, at most a week later.
    reach = extend(days, first_day + timedelta(days=2 * WEEK_D))
    known = known or Earlier()
    sources = start.sources(site, known.readings, carried=known.water is not None)
    site = with_weather_holds(site, reach, first_day)
    outlook = Outlook(
        site, facts, ground(site, facts), reach, first_day, sources, watered_min=dict(known.applied_min)
    )
    return replace(outlook, light=light_days(outlook))


def plan_nights(outlook: Outlook, deficit: NDArray[np.float64], weather_source: str) -> WeekPlan:
    """Decide the seven nights from the water on the first morning (S, L), within the restrictions of the place.

    Assumptions are left out, and so are all notes but those that the restrictions owe.
    """
    return restricted(outlook, lambda each, most_mm: _unrestricted(each, deficit, weather_source, most_mm))


def _unrestricted(
    outlook: Outlook, deficit: NDArray[np.float64], weather_source: str, most_past_mm: float
) -> WeekPlan | None:
    """Decide the nights one after another; give up once the evenings together are further past what is allowable."""
    first_day = outlook.first_day
    begin = water.state_of(outlook.ground, first_day, deficit)
    nights: list[NightPlan] = []
    books: list[StationDay] = []
    rests: list[Rest] = []
    for served in range(WEEK_D):
        serves = first_day + timedelta(days=served)
        window = watering_night(outlook.site, serves)
        night, credit = None, np.zeros(len(deficit))
        if window is not None:
            night, credit = _night(so_far(outlook, nights), window, deficit)
            nights.append(night)
        rests += rests_of(outlook, serves, deficit, night)
        light = by_day(outlook, serves)
        asked, day = water.pass_day(outlook.ground, outlook.days, outlook.index(serves), deficit, credit, light)
        books += water.book_lines(outlook.ground, serves, deficit, asked, day)
        deficit = day.deficit_mm
        if most_past_mm < np.inf and past_allowable_mm(outlook.site, first_day, books) > most_past_mm:
            return None
    observed = max(
        (day.day for day in outlook.days.records if not day.forecast and not day.standing_in), default=None
    )
    return WeekPlan(
        site=outlook.site,
        first_day=first_day,
        days=outlook.days.between(first_day, WEEK_D).records,
        nights=tuple(nights),
        books=tuple(books),
        start=begin,
        end=water.state_of(outlook.ground, first_day + timedelta(days=WEEK_D), deficit),
        assumptions=(),
        notes=(),
        weather_source=weather_source,
        light=outlook.light,
        watered=dormant.watered_before(outlook),
        observed_through=observed,
        forecast_from=min(
            (day.day for day in outlook.days.records if day.forecast and (observed is None or day.day > observed)),
            default=None,
        ),
        rests=with_ends(rests, nights),
    )


def check_reach(days: Days, first_day: date, earlier: Earlier | None) -> None:
    """Raise PlanRefused unless the weather leads from the earlier water up to a week's first day."""
    last = days.records[-1].day
    if first_day <= days.first or first_day > last + timedelta(days=1 + MOST_STANDING_IN_D):
        raise PlanRefused(
            f"the weather runs from {days.first} to {last}, which does not lead up to a week that begins on "
            f"{first_day}; give weather up to the day before, or plan another week"
        )
    if earlier is None:
        return
    water_known = [reading.water for reading in earlier.readings]
    for known in (*water_known, *((earlier.water,) if earlier.water else ())):
        if not days.first <= known.morning <= first_day:
            raise PlanRefused(
                f"the earlier water is that of the morning of {known.morning}, but the weather begins on "
                f"{days.first} and the week on {first_day}; give weather from {known.morning} on"
            )


# On a night too short for full waterings all take less, in these steps, before anybody is left out.
_FULLNESS_FRACTIONS = tuple(step / 8 for step in range(8, -1, -1))


def _packed(outlook: Outlook, window: Night, deficit: NDArray[np.float64]) -> tuple[choice.Need, Packing]:
    """Fill everybody as far as the night holds; where it does not even hold what keeps all going, leave some out."""
    span = span_to_last(outlook, window.serves)
    ground, every_night = modes.tonight(outlook, window, deficit)
    early = early_tonight(outlook, window.serves, deficit) | every_night
    limits = limits_of(outlook, window)
    for fullness in _FULLNESS_FRACTIONS:
        need = as_allowed(outlook, window, choice.need(ground, outlook.days, span, deficit, early, fullness))
        asked = chains_of(outlook, need.cycles_count, need.cycle_min, need.soak_min, need.rank_count)
        packed = pack_whole(asked, limits)
        if packed is not None:
            return need, packed
    return need, pack(asked, limits)


def _night(outlook: Outlook, window: Night, deficit: NDArray[np.float64]) -> tuple[NightPlan, NDArray[np.float64]]:
    need, packed = _packed(outlook, window, deficit)
    minutes = np.array([len(starts) for starts in packed.starts_min], dtype=np.int64) * need.cycle_min
    applied, credit = water.credited(outlook.ground, minutes)
    runs = tuple(
        _run(outlook, window, need, packed, at, (int(minutes[at]), float(applied[at]), float(credit[at])))
        for at in np.flatnonzero(minutes).tolist()
    )
    short = tuple(_shortfalls(outlook, window, need, packed))
    used, least = (without_last_delay(outlook.site.rules, end) for end in (packed.used_min, packed.bound_min))
    return NightPlan(window, runs, used, least, short), credit


def _run(
    outlook: Outlook, window: Night, need: choice.Need, packed: Packing, at: int, ran: tuple[int, float, float]
) -> Run:
    minutes, applied, credit = ran
    etc, fraction = water.demand(outlook.ground, outlook.days, outlook.index(window.serves))
    chance = next_chance(outlook.site, window.serves)
    opens_on = opening_day(outlook.site.rules, chance)
    case = StationNight(
        site=outlook.site,
        station=outlook.site.stations[at],
        facts=outlook.facts[at],
        ground=outlook.ground,
        need=need,
        at=at,
        eto_mm=float(outlook.days.eto_mm[outlook.index(window.serves)]),
        crop_factor=float(water.crop_factor(outlook.ground, outlook.days, outlook.index(window.serves))[at]),
        etc_mm=float(etc[at]),
        fraction=float(fraction[at]),
        depletion_source=outlook.start_sources[at] if window.serves == outlook.first_day else "water books",
        nights_until_chance=(chance - window.serves).days,
        minutes=minutes,
        applied_mm=applied,
        credited_mm=credit,
    )
    flow = float(outlook.ground.flow_l_min[at])
    return Run(
        terminal=int(outlook.ground.terminal[at]),
        cycles=tuple(Cycle(begin, int(need.cycle_min[at])) for begin in packed.starts_min[at]),
        soak_min=int(need.soak_min[at]),
        wanted_min=int(need.cycles_count[at] * need.cycle_min[at]),
        depletion_mm=float(need.depletion_mm[at]),
        allowable_mm=float(need.allowable_mm[at]),
        net_mm=float(need.net_mm[at]),
        gross_mm=float(need.gross_mm[at]),
        applied_mm=applied,
        credited_mm=credit,
        flow_l=None if np.isnan(flow) else flow * minutes,
        reason=(
            dormant.reason(outlook, window, at)
            or modes.reason(outlook, window, at)
            or _reason(need, at, day_text(opens_on), all_run=not packed.dropped_count.any())
            + _in_wind(outlook, window)
        ),
        working=working(case),
    )


def _reason(need: choice.Need, at: int, chance: str, *, all_run: bool) -> str:
    if need.must[at]:
        said = f"would get too dry before the night of {chance}"
    else:
        said = f"waters early, because a coming night cannot hold everybody; it could wait past the night of {chance}"
    if need.cut_mm[at] >= choice.SHOWN_MM:
        if all_run:
            return f"{said}; the night is too short for full waterings: it takes less and leaves time for the others"
        return f"{said}; the night is too short for all, so it takes just what gets it to the next night"
    return f"{said}; room is left for rain that may come" if need.room_mm[at] >= choice.SHOWN_MM else said


def _in_wind(outlook: Outlook, window: Night) -> str:
    windy = is_windy(outlook.site, window.opens_on)
    return "; wind will carry some of the spray away, and its roots cannot wait for a calm night" if windy else ""


def _shortfalls(outlook: Outlook, window: Night, need: choice.Need, packed: Packing) -> list[Shortfall]:
    found = []
    for at in np.flatnonzero(need.wanted).tolist():
        terminal = int(outlook.ground.terminal[at])
        dropped = int(packed.dropped_count[at])
        if need.cycles_count[at] == 0:
            missing = int(np.ceil(need.exact_min[at]))
            reason = "water runs off within its first minute: no whole-minute cycle is short enough"
            found.append(Shortfall(terminal, missing, reason))
        elif dropped:
            reason = f"{_cycles_text(dropped, need, at)} no place in the {window.length_min} min of the window"
            found.append(Shortfall(terminal, dropped * int(need.cycle_min[at]), reason))
    return found


def _cycles_text(dropped: int, need: choice.Need, at: int) -> str:
    count, cycle, soak = (int(each[at]) for each in (need.cycles_count, need.cycle_min, need.soak_min))
    if count == 1:
        return f"its one cycle of {cycle} min finds"
    pause = f" with {soak} min of soak" if soak else ""
    return f"{dropped} of {count} cycles of {cycle} min{pause} {'finds' if dropped == 1 else 'find'}"
