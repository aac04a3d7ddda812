"""Turf that an ordinary week does not fit: who keeps out of the ordinary nights, and how young its roots are."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from etsched.core import root_zone
from etsched.model.site import Basis, TurfMode
from etsched.planning import water
from etsched.planning.facts import Fact
from etsched.planning.outlook import ground_tonight
from etsched.reference import modes as figures

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from numpy.typing import NDArray

    from etsched.days import Night
    from etsched.model.site import Site, Station
    from etsched.planning.ground import Ground
    from etsched.planning.outlook import Outlook
    from etsched.reference.modes import Stage


def stage_on(station: Station, day: date) -> Stage | None:
    """Give the stage of light runs in which a station's new turf is on a day; None where it has none."""
    if station.mode is None or station.mode_since is None:
        return None
    age = (day - station.mode_since).days
    return next((stage for stage in figures.stages(station.mode) if stage.first_d <= age < stage.end_d), None)


def dormant_on(station: Station, day: date) -> bool:
    """Say whether a station's turf is dormant on a day."""
    return station.mode is TurfMode.DORMANT and station.mode_since is not None and station.mode_since <= day


def usual(site: Site, day: date, ground: Ground) -> Ground:
    """Take the stations that an ordinary night leaves out for stations that no water reaches."""
    out = [
        station.terminal
        for station in site.stations
        if dormant_on(station, day) or (site.new_turf is not None and stage_on(station, day) is not None)
    ]
    return replace(ground, works=ground.works & ~np.isin(ground.terminal, out)) if out else ground


def tonight(outlook: Outlook, window: Night, deficit_mm: NDArray[np.float64]) -> tuple[Ground, NDArray[np.bool_]]:
    """Give the ground as an ordinary night sees it, and the stations (S,) that water on every allowed night.

    New turf with runs by day waters at night too once its root zone has passed what it may give up in spite of them;
    without hours by day the night is all it has.
    """
    site, day = outlook.site, window.serves
    ground = ground_tonight(outlook, window)
    new = np.array([stage_on(station, day) is not None for station in site.stations])
    if site.new_turf is None:
        return usual(site, day, ground), new
    _, fraction = water.demand(ground, outlook.days, outlook.index(day))
    allowable = root_zone.readily_available_water(ground.total_available_mm, fraction)
    past = new & (deficit_mm[:, 0] > allowable + water.CLOSES_TO_MM)
    works = usual(site, day, ground).works | (ground.works & past)
    return replace(ground, works=works), np.zeros_like(new)


def reason(outlook: Outlook, window: Night, at: int) -> str:
    """Say why new turf waters on a night; "" for other turf."""
    station = outlook.site.stations[at]
    if stage_on(station, window.serves) is None:
        return ""
    if outlook.site.new_turf is None:
        return f"is {station.mode}, which is kept moist on every night that is allowed"
    return f"is {station.mode} and has passed its allowable depletion in spite of its runs by day"


def with_young_roots(site: Site, day: date, facts: Sequence[dict[str, Fact]]) -> list[dict[str, Fact]]:
    """Give the facts with the root depth of young turf, whose roots cannot be as deep as those that were there.

    A measured depth counts once the light runs are over, for a core before that most likely is of the turf before.
    """
    return [
        {**fact, "root_depth": _young(station, day, fact["root_depth"])}
        for station, fact in zip(site.stations, facts, strict=True)
    ]


def young_until_d(station: Station, day: date) -> int | None:
    """Give the age in days at which a station's turf no longer counts as young; None where it does not on this day."""
    if station.mode not in {TurfMode.NEW_SEED, TurfMode.NEW_SOD} or station.mode_since is None:
        return None
    until = round(figures.young_roots(station.mode)[1].value)
    return until if 0 <= (day - station.mode_since).days < until else None


def _young(station: Station, day: date, known: Fact) -> Fact:
    cored = known.basis is Basis.MEASURED and stage_on(station, day) is None
    if station.mode is None or young_until_d(station, day) is None or cored:
        return known
    depth, _ = figures.young_roots(station.mode)
    if known.value <= depth.value:
        return known
    return replace(
        known,
        value=depth.value,
        basis=Basis.TYPICAL,
        source=depth.source,
        assumed=True,
        low=depth.low,
        high=depth.high,
    )
