"""Which numbers of a plan are guesses, and what other values would do to the week's minutes."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

import numpy as np

from etsched.model.plan import Assumption
from etsched.model.site import Basis
from etsched.planning import choice, start, water
from etsched.planning.facts import MEASURES
from etsched.planning.ground import Ground, Shift, ground, joined, target_depth_mm
from etsched.planning.outlook import WEEK_D, Outlook, span_to_last, watering_night
from etsched.reference import tables

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from etsched.model.plan import WaterState
    from etsched.planning.facts import Fact


def week_assumptions(outlook: Outlook, begin: WaterState) -> tuple[Assumption, ...]:
    """List every guess of the plan; each is also tried at both its bounds, all else unchanged.

    The minutes compared are those wanted before the window is looked at, so that a crowded night hides nothing.
    """
    guessed = [name for name in MEASURES if name != "depletion" and any(fact[name].assumed for fact in outlook.facts)]
    minutes = _tried_minutes(outlook, guessed, begin)
    now = minutes["now"]
    found = [
        _assumption(outlook, at, name, fact[name], (now[at], minutes[name, "low"][at], minutes[name, "high"][at]))
        for name in guessed
        for at, fact in enumerate(outlook.facts)
        if fact[name].assumed
    ]
    found.extend(_starting_water(outlook, minutes))
    if outlook.site.target_depth_mm is None:
        found.append(_target_depth(outlook))
    order = list(MEASURES)
    return tuple(
        sorted(found, key=lambda guess: (guess.terminal or 0, order.index(guess.field) if guess.field in order else -1))
    )


_Tried = dict[object, "NDArray[np.int64]"]  # "now", or a field with "low" or "high" → minutes of the week (S,)


def _tried_minutes(outlook: Outlook, guessed: list[str], begin: WaterState) -> _Tried:
    """Try every guess at both bounds, and the first morning's water full and empty, in one pass of the books."""
    here = outlook.ground
    deficit = water.deficit_from(here, begin)
    # The same dryness in a soil that holds another amount: the share missing is kept, not the millimetres.
    dryness = np.divide(
        deficit, here.layer_available_mm, out=np.zeros_like(deficit), where=here.layer_available_mm > 0.0
    )
    cases: dict[object, tuple[Ground, NDArray[np.float64]]] = {"now": (here, deficit)}
    for name in guessed:
        for side in ("low", "high"):
            shifted = ground(outlook.site, outlook.facts, Shift(name, "low" if side == "low" else "high"))
            cases[name, side] = (shifted, dryness * shifted.layer_available_mm)
    full = start.assumed_deficit(outlook.site, here, outlook.days, outlook.index(outlook.first_day), share=0.0)
    cases["depletion", "low"] = (here, full)
    cases["depletion", "high"] = (here, here.layer_available_mm)
    wanted = wanted_minutes(
        outlook, joined([each for each, _ in cases.values()]), np.vstack([missing for _, missing in cases.values()])
    )
    return dict(zip(cases, wanted.reshape(len(cases), -1), strict=True))


def wanted_minutes(outlook: Outlook, ground_: Ground, deficit_mm: NDArray[np.float64]) -> NDArray[np.int64]:
    """Minutes that every station wants over the week's nights if no window held it back, (S,)."""
    total = np.zeros(len(ground_.terminal), dtype=np.int64)
    for served in range(WEEK_D):
        serves = outlook.first_day + timedelta(days=served)
        index = outlook.index(serves)
        credit = np.zeros(len(total))
        if watering_night(outlook.site, serves) is not None:
            need = choice.need(ground_, outlook.days, span_to_last(outlook, serves), deficit_mm)
            minutes = need.cycles_count * need.cycle_min
            total += minutes
            _, credit = water.credited(ground_, minutes)
        deficit_mm = water.pass_day(ground_, outlook.days, index, deficit_mm, credit)[1].deficit_mm
    return total


def _assumption(
    outlook: Outlook, at: int, name: str, fact: Fact, minutes: tuple[np.int64, np.int64, np.int64]
) -> Assumption:
    now, low, high = (int(number) for number in minutes)
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


def _starting_water(outlook: Outlook, minutes: _Tried) -> list[Assumption]:
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
            minutes_now=int(minutes["now"][at]),
            minutes_low=int(minutes["depletion", "low"][at]),
            minutes_high=int(minutes["depletion", "high"][at]),
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
