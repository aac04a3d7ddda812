"""How far the program's night ends beyond the proven earliest end, and whether a station was cut short in vain."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import time
from types import SimpleNamespace

import numpy as np

from etsched.core.night import Packing, bound, pack
from etsched.model.site import WateringRules
from etsched.planning.night_asked import chains_of, limits_of, without_last_delay

from .night_family import MadeNight
from .night_solver import MOST_WORK, Proof, earliest_end


@dataclass(frozen=True, slots=True)
class Held:
    """A night as the program packed it, against what is proven of it."""

    night: MadeNight
    packed: Packing
    bound_min: int
    proof: Proof

    @property
    def gap_pct(self) -> float | None:
        """By how much it ends later than the earliest end; None where that is not proven."""
        best = self.proof.best_min
        return None if best is None else 100.0 * (self.packed.used_min / best - 1.0)


def held(nights: Iterable[MadeNight], most_work: float = MOST_WORK) -> list[Held]:
    """Pack every night and prove it."""
    return [_held(night, most_work) for night in nights]


def _held(night: MadeNight, most_work: float) -> Held:
    """Ask for the night as planning does, which lays the delay into its chains and limits, and prove it as it is."""
    chains, limits = night.chains, night.limits
    rules = WateringRules(
        time(22), time(6), frozenset(), limits.max_valves_count, limits.max_flow_l_min, night.delay_min
    )
    outlook = SimpleNamespace(site=SimpleNamespace(rules=rules), ground=chains)
    asked = chains_of(outlook, chains.cycles_count, chains.cycle_min, chains.soak_min, chains.rank_count)
    may = limits_of(outlook, SimpleNamespace(length_min=limits.window_min))
    packed = pack(asked, may)
    used, least = (without_last_delay(rules, end) for end in (packed.used_min, packed.bound_min))
    proof = earliest_end(chains, limits, most_work, night.delay_min)
    bound_min = without_last_delay(rules, bound(asked, may))
    return Held(night, replace(packed, used_min=used, bound_min=least), bound_min, proof)


def proven_gaps_pct(nights: Iterable[Held]) -> list[float]:
    """Give the gaps of those nights whose earliest end is proven."""
    return [night.gap_pct for night in nights if night.gap_pct is not None]


def whole_after_all(night: MadeNight, packed: Packing, most_work: float = MOST_WORK) -> Proof:
    """Prove the night of the stations before the first that was cut short, by rank, with that one whole as well."""
    chains = night.chains
    ranked = np.lexsort((chains.terminal, chains.rank_count))
    cut = next(place for place, at in enumerate(ranked) if packed.dropped_count[at])
    served = np.isin(chains.terminal, chains.terminal[ranked[: cut + 1]])
    return earliest_end(replace(chains, cycles_count=np.where(served, chains.cycles_count, 0)), night.limits, most_work)
