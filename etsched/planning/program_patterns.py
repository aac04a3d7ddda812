"""The ways in which a program may water: on which nights, in how many cycles, and what each costs each station."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from etsched.core import cycle_soak
from etsched.planning.ground import taken
from etsched.planning.outlook import WEEK_D
from etsched.planning.program_wants import followed

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from etsched.planning.program_wants import Array, Counts, Wants

# A mm past the allowable depletion costs turf, a mm too much or too little only water or a sooner watering, so the
# first weighs as much as ten of the second (common practice, no source).
_PAST_FACTOR = 10.0
# Few and deep waterings are better than many shallow ones, so each night more than the plan's own is counted as so
# much water in vain (common practice, no source for the figure).
_NIGHT_MM = 0.5
# Nights of the plan's own that are tried beside the regular ones, the most frequent first.
_OWN_NIGHTS_COUNT = 12
# Minutes that are tried, as shares of those that spread the plan's week evenly over the pattern's cycles.
_SHARES = (0.7, 0.8, 0.9, 1.0, 1.1, 1.25, 1.5)


class Pattern(NamedTuple):
    """On which of the seven nights, and in how many cycles, all stations of a program water."""

    nights: tuple[int, ...]
    cycles_count: int


@dataclass(frozen=True, slots=True)
class Priced:
    """What every pattern costs every station at best (K, P), inf where it cannot, and the minutes of a cycle then."""

    patterns: tuple[Pattern, ...]
    cost_mm: Array
    cycle_min: Counts


def patterns_of(wants: Wants, starts_count: int) -> tuple[Pattern, ...]:
    """List the plan's own nights and the regular ones, each with every number of cycles the clock has starts for."""
    opened = tuple(served for served in range(WEEK_D) if wants.nights[served] is not None)
    regular = [opened[first::every] for every in (1, 2, 3) for first in range(every)]
    own = Counter(tuple(sorted(nights)) for nights in wants.own_nights)
    often = sorted(own, key=lambda nights: (-own[nights], nights))[:_OWN_NIGHTS_COUNT]
    sets = dict.fromkeys(nights for nights in (*regular, *often) if nights)
    return tuple(Pattern(nights, count) for nights in sets for count in range(1, starts_count + 1))


def priced(wants: Wants, patterns: tuple[Pattern, ...]) -> Priced:
    """Try whole minutes for every station in every pattern, and keep what costs it least."""
    tried = _tried(wants, patterns)
    stations, many, each = tried.shape
    on, cycles = _laid_out(patterns)
    minutes = on.T[:, None, :, None] * (cycles[None, :, None] * tried)[None]
    at = np.repeat(np.arange(stations), many * each)
    cost = _cost(wants, at, minutes.reshape(WEEK_D, -1)).reshape(tried.shape)
    cost = cost + _NIGHT_MM * _more_nights(wants, np.tile(on.sum(axis=1)[:, None], stations)).T[:, :, None]
    barred = np.asarray((on[:, :, None] & ~wants.open_for[None]).any(axis=1)).T  # (K, P)
    cost = np.where(barred[:, :, None] | (tried < 1), np.inf, cost)
    best = np.argmin(cost, axis=2)[:, :, None]
    return Priced(
        patterns, np.take_along_axis(cost, best, axis=2)[:, :, 0], np.take_along_axis(tried, best, axis=2)[:, :, 0]
    )


def costs_at(wants: Wants, patterns: Sequence[Pattern], runs: NDArray[np.bool_], cycle_min: Counts) -> Array:
    """What so many minutes a cycle cost each station (K,), run by the programs (U, K) that water in these patterns."""
    nightly = nightly_min(patterns, runs, cycle_min)
    cost = _cost(wants, np.arange(len(cycle_min)), nightly) + _NIGHT_MM * _more_nights(wants, (nightly > 0).sum(axis=0))
    return np.where(((nightly > 0) & ~wants.open_for).any(axis=0), np.inf, cost)


def nightly_min(patterns: Sequence[Pattern], runs: NDArray[np.bool_], cycle_min: Counts) -> Counts:
    """Minutes by night (7, K) of the stations that the programs run."""
    on, cycles = _laid_out(patterns)
    return np.asarray((on * cycles[:, None]).T @ (runs * cycle_min))


def least_cycle(wants: Wants) -> Counts:
    """Least minutes of a useful cycle that does not run off, (K,)."""
    least = np.minimum(np.ceil(wants.ground.least_cycle_min), np.floor(wants.ground.longest_cycle_min + 1e-9))
    return least.astype(np.int64)


def soak_after(wants: Wants, cycle_min: Counts) -> Counts:
    """Least minutes of soak after so long a cycle, (K,)."""
    soak = cycle_soak.least_soak(cycle_min.astype(np.float64), wants.ground.wet_rate_mm_h, wants.ground.intake_mm_h)
    return soak.astype(np.int64)


def most_cycle(wants: Wants, cycles: Counts) -> Array:
    """Most minutes of a cycle without runoff and within the station's own cap, (K, P) for so many cycles a night."""
    longest = np.floor(wants.ground.longest_cycle_min + 1e-9)[:, None]
    return np.minimum(longest, np.floor(wants.ground.most_min[:, None] / cycles))


def _more_nights(wants: Wants, nights: Counts) -> Counts:
    """Nights beyond those on which the plan waters a station, (..., K)."""
    return np.asarray(np.maximum(nights - np.array([len(own) for own in wants.own_nights]), 0))


def _laid_out(patterns: Sequence[Pattern]) -> tuple[NDArray[np.bool_], Counts]:
    """Give the nights (P, 7) and the cycles (P,) of the patterns."""
    on = np.array([[served in pattern.nights for served in range(WEEK_D)] for pattern in patterns])
    return on, np.array([pattern.cycles_count for pattern in patterns], dtype=np.int64)


def _tried(wants: Wants, patterns: tuple[Pattern, ...]) -> Counts:
    """Minutes of a cycle to try, (K, P, T): no runoff, the station's own cap, and a useful cycle where it can be."""
    on, cycles = _laid_out(patterns)
    even = wants.week_min[:, None] / (on.sum(axis=1) * cycles)
    shares = [np.floor(even * share + 1e-9) for share in _SHARES]
    tried = np.stack([*shares, np.ceil(even - 1e-9)], axis=2)
    tried = np.minimum(np.maximum(tried, least_cycle(wants)[:, None, None]), most_cycle(wants, cycles)[:, :, None])
    return np.asarray(tried, dtype=np.int64)


def _cost(wants: Wants, at: Counts, minutes: Counts) -> Array:
    """Cost of each column of minutes (7, R), tried with the stations at these places."""
    past, credit = followed(wants.outlook, taken(wants.ground, at), wants.deficit_mm[at], minutes)
    return np.asarray(_PAST_FACTOR * past + np.abs(credit - wants.wanted_mm[at]))
