"""Looking ahead: where a coming night cannot hold everybody, some water earlier, while there is room."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING

import numpy as np

from etsched.core.night import bound
from etsched.planning import choice, modes, water
from etsched.planning.night_asked import chains_of, limits_of
from etsched.planning.outlook import WEEK_D, ground_tonight, span_to_last, watering_night

if TYPE_CHECKING:
    from datetime import date

    from numpy.typing import NDArray

    from etsched.days import Night
    from etsched.planning.outlook import Outlook


@dataclass(slots=True)
class _Coming:
    """One night as it would come if no window held anybody back."""

    window: Night
    need: choice.Need
    waters: NDArray[np.bool_]


def early_tonight(outlook: Outlook, serves: date, deficit_mm: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Name the stations (S,) to water tonight although they could wait, because a coming night is too short for all.

    From the last night of the week back, what a night cannot hold moves to the night before it, the driest first;
    what reaches tonight waters tonight. A night counts as too short where even the bound of its order exceeds it.
    """
    nights = _as_they_come(outlook, serves, deficit_mm)
    if not nights or nights[0].window.serves != serves:
        return np.zeros(len(deficit_mm), dtype=np.bool_)
    own = nights[0].waters.copy()
    for before, after in zip(nights[-2::-1], nights[:0:-1], strict=True):
        _spill(outlook, before, after)
    return nights[0].waters & ~own


def _as_they_come(outlook: Outlook, serves: date, deficit_mm: NDArray[np.float64]) -> list[_Coming]:
    nights: list[_Coming] = []
    deficit = deficit_mm
    last = outlook.first_day + timedelta(days=WEEK_D)
    for later in range(WEEK_D):
        day = serves + timedelta(days=later)
        index = outlook.index(day)
        credit = np.zeros(len(deficit))
        window = watering_night(outlook.site, day)
        if window is not None and day < last:
            here = modes.usual(outlook.site, day, ground_tonight(outlook, window))
            need = choice.need(here, outlook.days, span_to_last(outlook, day), deficit)
            nights.append(_Coming(window, need, need.cycles_count > 0))
            _, credit = water.credited(outlook.ground, need.cycles_count * need.cycle_min)
        deficit = water.pass_day(outlook.ground, outlook.days, index, deficit, credit)[1].deficit_mm
    return nights


def _spill(outlook: Outlook, before: _Coming, after: _Coming) -> None:
    """Move stations to the night before until the later one holds the rest, as far as the earlier one has room."""
    here = outlook.ground
    enough = choice.least_depth(here, before.need.allowable_mm)
    may = after.waters & ~before.waters & here.works & (before.need.depletion_mm >= enough)
    driest = np.lexsort((here.terminal, -before.need.depletion_mm / here.total_available_mm))
    for at in driest[may[driest]].tolist():
        if _holds(outlook, after):
            return
        before.waters[at] = True
        if _holds(outlook, before, after):
            after.waters[at] = False
        else:
            before.waters[at] = False


def _holds(outlook: Outlook, night: _Coming, other: _Coming | None = None) -> bool:
    """Say whether the bound of a night's order lies within its window.

    A station that the night itself does not ask for is counted with what the `other` night asks for it.
    """
    need = night.need
    count, cycle, soak = need.cycles_count, need.cycle_min, need.soak_min
    if other is not None:
        own = count > 0
        count = np.where(own, count, other.need.cycles_count)
        cycle, soak = np.where(own, cycle, other.need.cycle_min), np.where(own, soak, other.need.soak_min)
    asked = chains_of(outlook, np.where(night.waters, count, 0), cycle, soak, need.rank_count)
    limits = limits_of(outlook, night.window)
    return bound(asked, limits) <= limits.window_min
