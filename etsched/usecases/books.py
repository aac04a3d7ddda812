"""The water books of a property, reckoned from what is kept: its last balance, what ran since, visits, weather."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import timedelta
from typing import TYPE_CHECKING

import numpy as np

from etsched.documents.visit_file import parse_visit
from etsched.errors import NotKept, RevisionMoved, VisitRefused
from etsched.frames.weather_text import weather_from_text
from etsched.model.plan import WaterState
from etsched.model.service import Supposing
from etsched.planning import start, water
from etsched.planning.visit_evaluation import after_visits
from etsched.planning.weather_days import days_from_weather
from etsched.planning.week import Earlier, check_reach, first_deficit, outlook_of
from etsched.stores import sites, trail, visits
from etsched.stores import water as kept_water
from etsched.usecases.controller import state_in
from etsched.usecases.properties import site_in, site_of
from etsched.usecases.what_ran import what_ran

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date, datetime

    from numpy.typing import NDArray
    from sqlalchemy import Connection

    from etsched.frames.weather import Weather
    from etsched.model.service import ControllerState
    from etsched.model.site import Site
    from etsched.model.visit import Visit
    from etsched.planning.outlook import Outlook
    from etsched.planning.weather_days import Days
    from etsched.usecases.service import Service

    Ran = Mapping[tuple[int, date], int]


@dataclass(frozen=True, slots=True, eq=False)
class Books:
    """All that a property's water is reckoned from, as of one moment; `entry` is the last of its trail then."""

    key: str
    entry: int
    site: Site  # as filed
    weather: Weather
    fetched: datetime
    days: Days
    visits: tuple[Visit, ...]
    balances: Mapping[Supposing, WaterState | None]
    ran: Mapping[Supposing, Ran]
    state: ControllerState
    remarks: tuple[str, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Morning:
    """A morning's water by layer under one supposition, with the site as visits found it and what led there."""

    site: Site
    earlier: Earlier
    outlook: Outlook
    deficit_mm: NDArray[np.float64]

    @property
    def state(self) -> WaterState:
        """The water as it is kept."""
        return water.state_of(self.outlook.ground, self.outlook.first_day, self.deficit_mm)


def read_books(service: Service, key: str, first_day: date) -> Books:
    """Read what leads up to a morning, in one transaction. Raises NotKept, SiteRefused, PlanRefused."""
    now = service.clock.now()
    with service.database.reading() as reading:
        site = site_of(site_in(reading, key))
        entry = trail.last_entry(reading, key)
        found = kept_water.latest_weather(reading, key)
        if found is None:
            raise NotKept(f"no weather of {key} is kept yet; see what became of its weather job")
        weather = weather_from_text(found[1])
        days = days_from_weather(weather, site)
        until = first_day - timedelta(days=1)
        kept = {each: kept_water.latest_balance(reading, key, each, until) for each in Supposing}
        balances = {each: balance.water if balance else None for each, balance in kept.items()}
        begins = min((state.morning for state in balances.values() if state is not None), default=days.first)
        ran = what_ran(reading, key, site, max(begins, days.first), until, now)
        state = state_in(reading, key, site, now)
        records = visits.visits_of(reading, key)
    read, remarks = read_visits(site, [(each.day, each.document) for each in records if each.day < first_day])
    return Books(key, entry, site, weather, found[0], days, read, balances, ran, state, remarks)


def read_visits(site: Site, records: list[tuple[date, str]]) -> tuple[tuple[Visit, ...], tuple[str, ...]]:
    """Read the records again; one that a later site file has overtaken is left out and said."""
    read: list[Visit] = []
    remarks: list[str] = []
    for day, document in records:
        try:
            read.append(parse_visit(document, f"the visit of {day}", site, day))
        except VisitRefused as error:
            remarks.append(f"The visit of {day} no longer fits the site file and is left out: {error.problems[0]}")
    return tuple(read), tuple(remarks)


def morning_of(books: Books, supposing: Supposing, first_day: date, since: WaterState | None = None) -> Morning:
    """Reckon the water of a morning, from `since` where it is given, else from the last balance kept.

    Without either the ground is taken as `planning.start` takes ground that nobody read. Raises PlanRefused.
    """
    base = since or books.balances[supposing]
    if base is not None and base.morning < books.days.first:
        base = None  # too long ago for the weather that is kept
    site, earlier = after_visits(books.site, books.visits, Earlier(base, dict(books.ran[supposing])))
    readings = tuple(each for each in earlier.readings if each.water.morning >= books.days.first)
    earlier = replace(earlier, water=_fitted(books, site, earlier.water), readings=readings)
    check_reach(books.days, first_day, earlier)
    outlook = outlook_of(site, books.days, first_day, earlier)
    return Morning(site, earlier, outlook, first_deficit(outlook, earlier))


def _fitted(books: Books, site: Site, base: WaterState | None) -> WaterState | None:
    """Begin stations that the last balance does not know like ground that nobody read; leave out those that went."""
    terminals = [station.terminal for station in site.stations]
    if base is None or set(terminals) == set(base.deficit_mm):
        return base
    outlook = outlook_of(site, books.days, base.morning)
    unread = start.unread_deficit(site, outlook.ground, books.days, outlook.index(base.morning))
    whole = water.state_of(outlook.ground, base.morning, unread)
    return WaterState(
        base.morning,
        {terminal: base.deficit_mm.get(terminal, whole.deficit_mm[terminal]) for terminal in terminals},
        {terminal: base.thickness_mm.get(terminal, whole.thickness_mm[terminal]) for terminal in terminals},
    )


def drier(one_mm: NDArray[np.float64], other_mm: NDArray[np.float64]) -> NDArray[np.float64]:
    """Give, station by station, the drier of two deficits by layer (S, L)."""
    return np.where(is_drier(one_mm, other_mm)[:, None], other_mm, one_mm)


def is_drier(one_mm: NDArray[np.float64], other_mm: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Say of each station whether the other deficit by layer (S, L) is drier: by the roots, then by all layers."""
    roots = other_mm[:, 0] - one_mm[:, 0]
    other: NDArray[np.bool_] = (roots > 0.0) | ((roots == 0.0) & (other_mm.sum(axis=1) > one_mm.sum(axis=1)))
    return other


def still(books: Books, writing: Connection) -> None:
    """Keep others away from the property, and insist that nothing changed since the books were read.

    Raises RevisionMoved.
    """
    sites.hold(writing, books.key)
    if trail.last_entry(writing, books.key) != books.entry:
        raise RevisionMoved(f"{books.key} changed while it was reckoned; nothing of this try is kept, it is done again")
