"""How far the program's night ends beyond the proven earliest end, and whether a station was cut short in vain."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np

from etsched.core.night import Packing, bound, pack

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
    return [
        Held(
            night,
            pack(night.chains, night.limits),
            bound(night.chains, night.limits),
            earliest_end(night.chains, night.limits, most_work),
        )
        for night in nights
    ]


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
