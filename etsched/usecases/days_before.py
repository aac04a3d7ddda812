"""The week before a plan as the books that are kept have it, so that a station's picture shows how it got here."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from etsched.model.plan import BooksBefore, WaterState
from etsched.model.service import Supposing
from etsched.planning import start
from etsched.planning.books_before import books_before
from etsched.planning.outlook import WEEK_D
from etsched.stores import water
from etsched.usecases.what_ran import what_ran

if TYPE_CHECKING:
    from collections.abc import Mapping

    from etsched.planning.books_before import Beginning
    from etsched.usecases.books import Books, Morning
    from etsched.usecases.service import Service

    Stations = Mapping[Supposing, frozenset[int]]


def days_before(service: Service, books: Books, morning: Morning, stations: Stations) -> BooksBefore:
    """Write the books of the week before a morning, each station's under the supposition that the plan takes it by.

    Every day begins from the balance that is kept of its morning, so that the lines are those the books really went
    by; days before the first that is kept are not told.
    """
    first_day = morning.outlook.first_day
    since, until = max(first_day - timedelta(days=WEEK_D), books.days.first), first_day - timedelta(days=1)
    with service.database.reading() as reading:
        ran = what_ran(reading, books.key, books.site, since, until, service.clock.now())
        kept = [
            (each, balance.water)
            for each in Supposing
            for balance in water.balances_between(reading, books.key, each, since, until)
        ]
    beginnings: list[Beginning] = [(_of(state, stations[each]), ran[each]) for each, state in kept]
    for each in Supposing:
        for read in morning.earlier.readings:
            beginnings.append((_of(read.water, stations[each]), start.ran_since(read, ran[each])))
    # What was read on a morning outranks the balance of it, and both what came before.
    in_order = sorted(beginnings, key=lambda beginning: beginning[0].morning)
    return books_before(morning.outlook, [each for each in in_order if each[0].deficit_mm])


def _of(state: WaterState, terminals: frozenset[int]) -> WaterState:
    """Leave the water of some stations."""
    deficit, thickness = (
        {terminal: layers for terminal, layers in of_layers.items() if terminal in terminals}
        for of_layers in (state.deficit_mm, state.thickness_mm)
    )
    return WaterState(state.morning, deficit, thickness)
