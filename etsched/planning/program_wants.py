"""What the stations want of an ordinary clock, read from the week's plan, and what a set of minutes does to them."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import timedelta
from typing import TYPE_CHECKING

import numpy as np

from etsched.core import root_zone
from etsched.planning import water
from etsched.planning.ground import taken
from etsched.planning.outlook import WEEK_D, ground_tonight

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from etsched.days import Night
    from etsched.model.plan import WeekPlan
    from etsched.planning.ground import Ground
    from etsched.planning.outlook import Outlook

    Array = NDArray[np.float64]
    Counts = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Wants:
    """The stations that want water this week (K,), and the seven nights, None where no window opens."""

    outlook: Outlook
    nights: tuple[Night | None, ...]
    ground: Ground  # of these stations only
    deficit_mm: Array  # (K, L) on the first morning
    week_min: Counts  # that the plan wants, those too that its nights could not hold
    wanted_mm: Array  # what the books credit for them
    own_nights: tuple[frozenset[int], ...]  # on which the plan waters each
    open_for: NDArray[np.bool_]  # (7, K): the window opens, and no ban keeps the station dry

    def kept(self, keep: NDArray[np.bool_]) -> Wants:
        """Leave the others out."""
        at = np.flatnonzero(keep)
        return replace(
            self,
            ground=taken(self.ground, at),
            deficit_mm=self.deficit_mm[at],
            week_min=self.week_min[at],
            wanted_mm=self.wanted_mm[at],
            own_nights=tuple(self.own_nights[each] for each in at.tolist()),
            open_for=self.open_for[:, at],
        )


def wants_of(outlook: Outlook, plan: WeekPlan) -> Wants:
    """Read the plan: the stations that water or would, how long, on which nights."""
    place = {int(terminal): at for at, terminal in enumerate(outlook.ground.terminal)}
    by_day = {night.night.serves: night for night in plan.nights}
    minutes = np.zeros(len(place), dtype=np.int64)
    missing = np.zeros(len(place), dtype=np.int64)
    own: list[set[int]] = [set() for _ in place]
    for served in range(WEEK_D):
        night = by_day.get(plan.first_day + timedelta(days=served))
        for run in night.runs if night else ():
            minutes[place[run.terminal]] += run.length_min
            missing[place[run.terminal]] = 0
            own[place[run.terminal]].add(served)
        for short in night.shortfalls if night else ():
            # What one night lacks is wanted again on the next, so only what the last one lacks is still missing.
            missing[place[short.terminal]] = short.missing_min
            own[place[short.terminal]].add(served)
    nights = tuple(
        None if (found := by_day.get(plan.first_day + timedelta(days=served))) is None else found.night
        for served in range(WEEK_D)
    )
    open_for = np.array(
        [
            np.zeros(len(place), dtype=np.bool_) if night is None else ground_tonight(outlook, night).works
            for night in nights
        ]
    )
    week = minutes + missing
    deficit = water.deficit_from(outlook.ground, plan.start)
    _, wanted = water.credited(outlook.ground, week)
    everybody = Wants(outlook, nights, outlook.ground, deficit, week, wanted, tuple(map(frozenset, own)), open_for)
    return everybody.kept(_takes(outlook) & (week > 0))


def _takes(outlook: Outlook) -> NDArray[np.bool_]:
    """Say which stations the supply can feed at all, (S,); a flow nobody knows is taken to be within it."""
    most = outlook.site.rules.max_flow_l_min
    flow = outlook.ground.flow_l_min
    enough = np.ones(len(flow), dtype=np.bool_) if most is None else ~(flow > most * (1.0 + 1e-9))
    return outlook.ground.works & enough


def followed(outlook: Outlook, ground: Ground, deficit_mm: Array, minutes: Counts) -> tuple[Array, Array]:
    """Carry stations through the week with minutes by night (7, S): mm past the allowable at dusk, mm credited."""
    past, total = np.zeros(minutes.shape[1]), np.zeros(minutes.shape[1])
    for served, run in enumerate(minutes):
        _, credit = water.credited(ground, run)
        asked, day = water.pass_day(
            ground, outlook.days, outlook.index(outlook.first_day) + served, deficit_mm, credit
        )
        deficit_mm = day.deficit_mm
        allowable = root_zone.readily_available_water(ground.total_available_mm, asked.depletion_fraction)
        past += np.maximum(deficit_mm[:, 0] - allowable, 0.0)
        total += credit
    return past, total
