"""Which numbers of a plan are guesses, and what other values would do to the week's minutes."""

from __future__ import annotations

from typing import TYPE_CHECKING

from etsched.model.plan import Assumption
from etsched.model.site import Basis
from etsched.planning import start
from etsched.planning.facts import MEASURES
from etsched.planning.ground import target_depth_mm
from etsched.planning.tried import bounds_of
from etsched.reference import tables

if TYPE_CHECKING:
    from etsched.planning.facts import Fact
    from etsched.planning.outlook import Outlook
    from etsched.planning.tried import Tried


def week_assumptions(outlook: Outlook, tried: Tried) -> tuple[Assumption, ...]:
    """List every guess of the plan with what it does to the week's minutes at both its bounds."""
    found = [
        _assumption(outlook, at, name, fact[name], bounds_of(tried, name, at))
        for name in MEASURES
        if name != "depletion"
        for at, fact in enumerate(outlook.facts)
        if fact[name].assumed
    ]
    found.extend(_starting_water(outlook, tried))
    if outlook.site.target_depth_mm is None:
        found.append(_target_depth(outlook))
    order = list(MEASURES)
    return tuple(
        sorted(found, key=lambda guess: (guess.terminal or 0, order.index(guess.field) if guess.field in order else -1))
    )


def _assumption(
    outlook: Outlook, at: int, name: str, fact: Fact, minutes: tuple[int, int, int]
) -> Assumption:
    now, low, high = minutes
    return Assumption(
        terminal=int(outlook.ground.terminal[at]),
        field=name,
        suffix=fact.suffix,
        value=fact.value,
        basis=fact.basis,
        source=fact.source,
        low=fact.low,
        high=fact.high,
        minutes_now=now,
        minutes_low=low,
        minutes_high=high,
        measure=MEASURES[name],
    )


def _starting_water(outlook: Outlook, tried: Tried) -> list[Assumption]:
    """The first morning's depletion where nobody read a core: at its allowable depletion, between full and empty."""
    index = outlook.index(outlook.first_day)
    taken = start.unread_deficit(outlook.site, outlook.ground, outlook.days, index)
    total = outlook.ground.total_available_mm
    return [
        Assumption(
            terminal=station.terminal,
            field="depletion",
            suffix="mm",
            value=float(taken[at, 0]),
            basis=Basis.TYPICAL,
            source=start.ASSUMED,
            low=0.0,
            high=float(total[at]),
            minutes_now=int(tried["now"][at]),
            minutes_low=int(tried["depletion", "low"][at]),
            minutes_high=int(tried["depletion", "high"][at]),
            measure=MEASURES["depletion"],
        )
        for at, station in enumerate(outlook.site.stations)
        if outlook.start_sources[at] == start.ASSUMED
    ]


def _target_depth(outlook: Outlook) -> Assumption:
    figure = tables.target_depth()
    return Assumption(
        terminal=None,
        field="target_depth",
        suffix="mm",
        value=target_depth_mm(outlook.site),
        basis=Basis.TYPICAL,
        source=figure.source,
        low=figure.low,
        high=figure.high,
        measure="nothing: it is a choice of how deep the books follow the water",
    )
