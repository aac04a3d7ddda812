"""The percent adjust that comes nearest to what hot days ask of all stations together."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from etsched.model.heat import PercentAdjust
from etsched.planning.heat_water import Demand, follow
from etsched.reference import heat

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from etsched.model.heat import HeatSpell
    from etsched.model.site import Controller

    # Net depth by day and station (N, S) that the table brings with the minutes of the spell's nights scaled.
    Credit = Callable[[float], NDArray[np.float64]]

_TOLERANCE_MM2 = 1e-9


@dataclass(frozen=True, slots=True)
class Balance:
    """What one setting lacks at the end of the spell and puts down for nothing on its nights, net mm (S,)."""

    under_mm: NDArray[np.float64]
    over_mm: NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Reach:
    """What the highest setting brings on the spell's nights, and lacks even without the hotter days, net mm (S,)."""

    brings_mm: NDArray[np.float64]
    lacks_mm: NDArray[np.float64]

    def within(self, under_mm: NDArray[np.float64], brings_mm: NDArray[np.float64]) -> NDArray[np.float64]:
        """Of what a setting lacks and brings, give the lack that a higher one could cure (S,).

        Not what is missing at the highest setting even without the heat, as where the table has no minutes on the
        night that needs them; and no more than the highest setting brings above this one.
        """
        return np.asarray(np.clip(under_mm - self.lacks_mm, 0.0, np.maximum(self.brings_mm - brings_mm, 0.0)))


@dataclass(frozen=True, slots=True)
class Scaled:
    """The table with its percent as a dial: what the days ask, how dry it is, what each factor brings, which days."""

    demand: Demand
    usual_demand: Demand  # without the hotter days
    depletion_mm: NDArray[np.float64]
    credit: Credit
    spell_days: slice  # places of the spell among the days
    holds: Callable[[float], bool]  # whether the allowed hours of the spell's nights hold the clock at a factor

    def balance(self, factor: float) -> Balance:
        """Weigh one setting. A blocked station is left out: no percent reaches it."""
        plain = follow(self.demand, self.depletion_mm, self.credit(factor), adds=False).surplus_mm
        works = self.demand.may_water.any(axis=0)
        return Balance(self._lack(self.demand, factor), plain[self.spell_days].sum(axis=0) * works)

    def reach(self, most_factor: float) -> Reach:
        """Look at what no percent of up to `most_factor` can bring."""
        return Reach(self.credit(most_factor)[self.spell_days].sum(axis=0), self._lack(self.usual_demand, most_factor))

    def _lack(self, demand: Demand, factor: float) -> NDArray[np.float64]:
        """Add up what is to be added from the last allowed night that the spell's first day can still use (S,)."""
        may = demand.may_water
        places = np.arange(len(may))[:, None]
        until = np.where(may & (places <= self.spell_days.start), places, 0).max(axis=0)
        added = follow(demand, self.depletion_mm, self.credit(factor), adds=True).added_mm
        return np.asarray(np.where(places >= until, added, 0.0)[: self.spell_days.stop].sum(axis=0))


def nearest_percent(
    scaled: Scaled, spell: HeatSpell, controller: Controller | None, now_pct: float
) -> tuple[PercentAdjust, Balance]:
    """Find the lowest setting, never below the one now, at which the surplus outweighs the lack within reach.

    Both are squared and summed over the stations, so that one station left dry weighs more than many a little wet. At
    that setting the greater of the two sums is as small as the steps allow, to the wet side: a step too wet costs
    water, a step too dry turf. Heat lets the lack grow and the surplus shrink at every setting, so it never lowers the
    result. If even the highest setting lacks more, that one is given and said not to be enough. No setting is given
    that outgrows the allowed hours: then it is the highest that does not, whatever the heat.
    """
    low = 0.0 if controller is None else controller.percent_adjust_low_pct
    high = heat.percent_adjust("most").value if controller is None else controller.percent_adjust_high_pct
    step = heat.percent_adjust("step").value if controller is None else controller.percent_adjust_step_pct
    steps = low + step * np.arange(int(np.floor((high - low) / step + 1e-9)) + 1)
    settings = [now_pct, *steps[steps > now_pct].tolist()]
    reach = scaled.reach(settings[-1] / now_pct)

    def weigh(place: int) -> tuple[Balance, bool]:
        factor = settings[place] / now_pct
        balance = scaled.balance(factor)
        lack = reach.within(balance.under_mm, scaled.credit(factor)[scaled.spell_days].sum(axis=0))
        return balance, float((lack**2).sum()) <= float((balance.over_mm**2).sum()) + _TOLERANCE_MM2

    first, last = 0, len(settings) - 1
    while first < last:
        middle = (first + last) // 2
        first, last = (first, middle) if weigh(middle)[1] else (middle + 1, last)
    wanted = first
    if wanted > 0:
        first = min(wanted, _highest(settings, lambda setting: scaled.holds(setting / now_pct)))
    found = weigh(first)[0]
    short = float((found.under_mm**2).sum()) > float((found.over_mm**2).sum()) + _TOLERANCE_MM2
    enough = first == wanted < len(settings) - 1 or not short
    percent = PercentAdjust(
        now_pct=now_pct,
        set_pct=settings[first],
        wanted_pct=settings[wanted],
        high_pct=high,
        step_pct=step,
        step_stated=controller is not None,
        enough=enough,
        first=spell.first,
        last=spell.last,
    )
    return percent, found


def _highest(settings: list[float], holds: Callable[[float], bool]) -> int:
    """Give the place of the highest setting that holds, the first where none above it does."""
    first, last = 0, len(settings) - 1
    while first < last:
        middle = (first + last + 1) // 2
        first, last = (middle, last) if holds(settings[middle]) else (first, middle - 1)
    return first
