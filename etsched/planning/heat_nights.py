"""What of the additions the nights hold beside the clock's own minutes, and whether they hold a percent adjust."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from etsched.core import cycle_soak
from etsched.core.night import Chains, Limits, Packing, bound, pack, pack_whole
from etsched.model.heat import HeatNight, HeatRun
from etsched.planning.outlook import WEEK_D

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from etsched.days import Night
    from etsched.model.site import Site
    from etsched.planning.ground import Ground
    from etsched.planning.heat_table import HeldTable, Minutes

_TOLERANCE_MIN = 1e-9


def whole_minutes(exact_min: NDArray[np.float64]) -> NDArray[np.int64]:
    """Round additions (N, S) to whole minutes so that up to every night there are enough and not one too many."""
    so_far = np.ceil(np.cumsum(exact_min, axis=0) - _TOLERANCE_MIN)
    return np.asarray(np.diff(so_far, axis=0, prepend=0.0).astype(np.int64))


@dataclass(frozen=True, slots=True)
class Nights:
    """The allowed nights of a property and the table that runs in them; `windows` are the nights by day served (N,).

    A clock of programs opens its valves whatever is added, so additions have the minutes that it leaves of the window,
    one at a time by hand. A week's table is arranged anew together with them, its own minutes before any addition.
    """

    site: Site
    ground: Ground
    windows: Sequence[Night | None]
    table: HeldTable

    @property
    def by_hand(self) -> bool:
        """Say whether additions are runs of their own, because the clock takes programs."""
        return self.table.programs or self.site.controller is not None

    def holds(self, factor: float, places: slice) -> bool:
        """Say whether the allowed hours of some nights hold the table at a factor.

        Programs must run no longer outside of them than they do now; of a week's table every night must be arranged.
        """
        if self.table.programs:
            cut = np.unique(np.arange(len(self.windows))[places] % WEEK_D)
            now, then = (self.table.hours(self.windows, each).outside_min[cut] for each in (1.0, factor))
            return bool(np.all(then <= now + _TOLERANCE_MIN))
        minutes = self.table.minutes(factor).run_min
        nights = list(enumerate(self.windows))[places]
        return all(self._arranged(minutes[day % WEEK_D], window) for day, window in nights if window is not None)

    def found(
        self, minutes: Minutes, extra_min: NDArray[np.int64], urgency_mm: NDArray[np.float64]
    ) -> tuple[HeatNight, ...]:
        """Look at every allowed night; all have at least as many rows as there are windows (N, S).

        Where a night is too short for all additions, a station with a higher priority is served first, then the one
        that would pass its allowable depletion by most.
        """
        inside = self.table.hours(self.windows).inside_min if self.table.programs else None
        return tuple(
            self._night(day, window, minutes, extra_min[day], urgency_mm[day], inside)
            for day, window in enumerate(self.windows)
            if window is not None
        )

    def _night(
        self,
        day: int,
        window: Night,
        minutes: Minutes,
        extra_min: NDArray[np.int64],
        urgency_mm: NDArray[np.float64],
        inside_min: NDArray[np.float64] | None,
    ) -> HeatNight:
        works = self.ground.works
        busy = 0 if inside_min is None else _up(inside_min[day % WEEK_D], window.length_min)
        kept = np.where(works, minutes.kept_min[day], 0.0)
        own = kept if inside_min is None else np.zeros(len(works))
        limits = self._limits(window)
        if inside_min is not None:
            limits = replace(limits, window_min=window.length_min - busy, max_valves_count=1)
        rank = self._rank(urgency_mm)
        extra = np.where(works, extra_min, 0)
        most = self._most_min
        may = np.clip(np.floor(most - kept + _TOLERANCE_MIN), 0.0, extra)
        whole = self._chains(np.minimum(own, most) + may, rank)
        fits, packed, placed = self._fitting(np.minimum(own, most), may, whole, limits)
        own_missing = np.maximum(np.ceil(own - placed - _TOLERANCE_MIN), 0.0)
        shown = self._chains(fits.astype(np.float64), rank) if self.by_hand else whole
        runs = tuple(
            HeatRun(
                terminal=int(self.ground.terminal[at]),
                table_min=float(minutes.run_min[day, at]),
                kept_min=float(minutes.kept_min[day, at]),
                extra_min=int(extra[at]),
                fits_min=int(fits[at]),
                cycles_count=int(shown.cycles_count[at]),
                cycle_min=int(shown.cycle_min[at]),
                soak_min=int(shown.soak_min[at]) if shown.cycles_count[at] > 1 else 0,
                missing_min=int(own_missing[at] + extra[at] - fits[at]),
            )
            for at in np.flatnonzero(kept + extra > 0.0).tolist()
        )
        return HeatNight(window, runs, busy + packed.used_min, busy + bound(whole, limits))

    def _fitting(
        self, own_min: NDArray[np.float64], may_min: NDArray[np.float64], whole: Chains, limits: Limits
    ) -> tuple[NDArray[np.int64], Packing, NDArray[np.int64]]:
        """Give what fits of the additions (S,), the night so arranged, and what of the table's own has a place (S,)."""
        too_much = whole.flow_l_min > (limits.max_flow_l_min or np.inf)
        extra_min = np.where((whole.cycles_count > 0) & ~too_much, may_min, 0.0).astype(np.int64)
        alone = self._chains(own_min, whole.rank_count)
        packed = pack(alone, limits)
        placed = np.asarray((alone.cycles_count - packed.dropped_count) * alone.cycle_min)
        fits: NDArray[np.int64] = np.zeros_like(extra_min)
        if not packed.dropped_count.any():
            order = np.argsort(whole.rank_count, kind="stable")
            order = order[extra_min[order] > 0]
            # As many of the first by rank as have room together, then of each one what is left of it.
            for places in (order, *order[:, None]):
                found = self._most_of(places, extra_min - fits, own_min + fits, whole.rank_count, limits)
                if found is not None:
                    more, packed = found
                    fits = fits + more
        return fits, packed, placed

    def _most_of(
        self,
        places: NDArray[np.int64],
        rest_min: NDArray[np.int64],
        run_min: NDArray[np.float64],
        rank: NDArray[np.int64],
        limits: Limits,
    ) -> tuple[NDArray[np.int64], Packing] | None:
        """Find the most of the rest, the first places first, that has room beside what runs, by halving (S,)."""
        rest = rest_min[places]
        before = np.cumsum(rest) - rest
        found = None
        room = limits.window_min * limits.max_valves_count - np.ceil(run_min.sum() - _TOLERANCE_MIN)
        least, most = 0, max(min(int(rest.sum()), int(room)), 0)
        tried = most
        while least < most:
            more = np.zeros_like(rest_min)
            more[places] = np.clip(tried - before, 0, rest)
            arranged = pack_whole(self._chains(run_min + more, rank), limits)
            if arranged is None:
                most = tried - 1
            else:
                least, found = tried, (more, arranged)
            tried = (least + most + 1) // 2
        return found

    def _arranged(self, run_min: NDArray[np.float64], window: Night) -> bool:
        asked = np.where(self.ground.works, run_min, 0.0)
        limits = self._limits(window)
        if asked.sum() > limits.window_min * limits.max_valves_count or np.any(asked > self._most_min):
            return False
        return pack_whole(self._chains(asked, np.arange(len(asked))), limits) is not None

    def _limits(self, window: Night) -> Limits:
        rules = self.site.rules
        return Limits(window.length_min, rules.max_valves_count, rules.max_flow_l_min)

    @property
    def _most_min(self) -> NDArray[np.float64]:
        return np.array([np.inf if each.most_min is None else float(each.most_min) for each in self.site.stations])

    def _rank(self, urgency_mm: NDArray[np.float64]) -> NDArray[np.int64]:
        priority = np.array([station.priority_count or 1 for station in self.site.stations])
        rank = np.empty(len(urgency_mm), dtype=np.int64)
        rank[np.lexsort((self.ground.terminal, -urgency_mm, priority))] = np.arange(len(urgency_mm))
        return rank

    def _chains(self, run_min: NDArray[np.float64], rank: NDArray[np.int64]) -> Chains:
        """Cut whole runs into cycles that do not run off; an addition by hand may be as short as it is."""
        ground, most_flow = self.ground, self.site.rules.max_flow_l_min
        least = np.where(self.by_hand, np.minimum(ground.least_cycle_min, run_min), ground.least_cycle_min)
        count, cycle = cycle_soak.split_run(run_min, ground.longest_cycle_min, least)
        soak = cycle_soak.least_soak(cycle.astype(np.float64), ground.wet_rate_mm_h, ground.intake_mm_h)
        # A station whose flow nobody knows takes the whole supply, so that it runs alone.
        flow = np.where(np.isnan(ground.flow_l_min), most_flow or 0.0, ground.flow_l_min)
        return Chains(ground.terminal, count, cycle, soak.astype(np.int64), flow, rank)


def _up(minutes: float, most_min: int) -> int:
    return min(int(np.ceil(minutes - _TOLERANCE_MIN)), most_min)
