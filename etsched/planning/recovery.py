"""The recovery plan: repair, rewet, bridge by hand, feed when moist, seed or sod by living cover, look again."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np

from etsched.core import cycle_soak
from etsched.days import day_text
from etsched.model.recovery import CoverAdvice, HandWatering, Recovery
from etsched.planning import water
from etsched.planning.feeding import feed_of
from etsched.planning.ground import facts_by_station, ground, target_depth_mm
from etsched.planning.outlook import WEEK_D
from etsched.planning.rewet import rewet
from etsched.planning.weather_days import extend
from etsched.reference import recovery as figures

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from etsched.model.plan import WaterState
    from etsched.model.recovery import RecoveryAsk
    from etsched.model.site import Station
    from etsched.model.visit import AreaSeen
    from etsched.planning.outlook import Outlook

_CAUTIONS = (
    "Local bans and blackout dates for fertiliser come before any date here; keep it off paving and away from water.",
    "The label of a fertiliser or wetting agent is the law. This plan names no pesticide and gives no rate for one.",
    "Work early in the day, drink, and go in pairs when it is hot.",
    "Watering restrictions of the place override every plan, hand-watering included.",
)


def recovery(
    outlook: Outlook,
    start: WaterState,
    areas: Sequence[AreaSeen],
    repairs: Sequence[str],
    ask: RecoveryAsk,
) -> Recovery:
    """Plan how a property comes back from the water on its first morning.

    `outlook` is that of the site with the visit's findings in it; `repairs` are its repairs in order, which come first.
    """
    outlook = to_depth(outlook, ask.target_depth_mm)
    deficit = water.deficit_from(outlook.ground, start)
    rewets = rewet(outlook, deficit, ask)
    stations = outlook.site.stations
    wet = [told.reached for told in rewets if told.reached is not None]
    back = figures.look_again("back")
    return Recovery(
        first_day=outlook.first_day,
        target_depth_mm=target_depth_mm(outlook.site),
        repairs=tuple(repairs),
        by_hand=tuple(_by_hand(outlook, deficit[:, 0].tolist(), ask)),
        rewets=rewets,
        feeds=tuple(feed_of(outlook, station, told, ask) for station, told in zip(stations, rewets, strict=True)),
        covers=tuple(
            cover_advice(outlook, area.name, area.living_cover_pct)
            for area in areas
            if area.living_cover_pct is not None
        ),
        look_again=outlook.first_day + timedelta(days=round(figures.look_again("after").value)),
        back_from=max(wet) + timedelta(days=round(back.low)) if wet else None,
        back_to=max(wet) + timedelta(days=round(back.high)) if wet else None,
        cautions=_CAUTIONS,
    )


def to_depth(outlook: Outlook, target_mm: float | None) -> Outlook:
    """Let the books of an outlook follow the water down to another depth; roots that go deeper still are followed."""
    if target_mm is None or target_mm == target_depth_mm(outlook.site):
        return outlook
    site = replace(outlook.site, target_depth_mm=target_mm)
    facts = facts_by_station(site, outlook.first_day.month)
    return replace(outlook, site=site, facts=facts, ground=ground(site, facts))


def _by_hand(outlook: Outlook, lacks_mm: Sequence[float], ask: RecoveryAsk) -> Iterator[HandWatering]:
    days = extend(outlook.days, outlook.first_day + timedelta(days=WEEK_D))
    first = outlook.index(outlook.first_day)
    use = np.mean([water.demand(outlook.ground, days, first + later)[0] for later in range(WEEK_D)], axis=0)
    for at, station in enumerate(outlook.site.stations):
        until = ask.ready.get(station.terminal)
        if outlook.ground.works[at] or (until is not None and until <= outlook.first_day):
            continue
        area, rate = station.area_m2, float(outlook.ground.landing_rate_mm_h[at])
        daily = float(use[at])
        yield HandWatering(
            station.terminal,
            station.area,
            lacks_mm[at],
            daily,
            None if area is None else lacks_mm[at] * area,  # a millimetre on a square metre is a litre
            None if area is None else daily * area,
            _turns(outlook, at, lacks_mm[at]),
            _turns(outlook, at, daily),
            rate,
            outlook.facts[at]["precip_rate"].assumed,
            until,
            f"{station.area}: water by hand {_until(until)}: {station.blocked or 'no water arrives'}. First what its "
            "roots lack, then each day what the turf uses; with a hose in passes, with pauses so that none runs off.",
        )


def _turns(outlook: Outlook, at: int, depth_mm: float) -> tuple[int, int] | None:
    """Split the minutes for a depth into the fewest turns that do not run off; None where even a minute would."""
    ground = outlook.ground
    minutes = np.asarray(depth_mm / ground.landing_rate_mm_h[at] * 60.0)
    count, turn = cycle_soak.split_run(minutes, ground.longest_cycle_min[at], ground.least_cycle_min[at])
    return (int(count), int(turn)) if count else None


def _until(day: date | None) -> str:
    return "until it is repaired" if day is None else f"until it is repaired on {day_text(day)}"


def cover_advice(outlook: Outlook, area: str, cover_pct: float) -> CoverAdvice:
    """Say what an area's living cover asks for once its water is right, and in which season."""
    action, words, key = _action(cover_pct)
    watering = next((s for s in outlook.site.stations if s.area == area), None)
    sources = [figures.cover(key).source]
    sowing = None
    if action != "leave" and watering is not None:
        sowing = best_sowing(outlook, watering)
        sources.append(sowing.source)
        words += f" The season for {watering.turf} turf: {day_text(sowing.first)} to {day_text(sowing.last)}."
    return CoverAdvice(
        area,
        cover_pct,
        action,
        None if sowing is None else sowing.first,
        None if sowing is None else sowing.last,
        f"{area}: {cover_pct:.0f} % living cover: {words}",
        tuple(sources),
    )


def _action(cover_pct: float) -> tuple[str, str, str]:
    if cover_pct >= figures.cover("leave_from").value:
        return "leave", "leave it; right water brings it back.", "leave_from"
    if cover_pct >= figures.cover("overseed_below").value:
        return "patch", "patch the bare spots once the water is right.", "overseed_below"
    if cover_pct >= figures.cover("resod_below").value:
        return "overseed", "overseed once the water is right.", "overseed_below"
    return "resod", "renovate: new sod or seed once the water is right.", "resod_below"


def best_sowing(outlook: Outlook, station: Station) -> figures.Season:
    """Give the best season of sowing that has not ended on the plan's first day."""
    northern = outlook.site.place.latitude_deg >= 0.0
    for year in range(outlook.first_day.year - 1, outlook.first_day.year + 2):
        season = figures.sowing_seasons(station.turf, year)[0]
        first, last = (day if northern else _half_a_year_on(day) for day in (season.first, season.last))
        if last >= outlook.first_day:
            return figures.Season(max(first, outlook.first_day), last, season.source)
    raise AssertionError("a season comes every year")  # pragma: no cover


def _half_a_year_on(day: date) -> date:
    return date(day.year + (day.month > 6), (day.month + 5) % 12 + 1, min(day.day, 28))
