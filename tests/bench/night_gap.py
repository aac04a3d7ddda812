"""How far the night's order ends beyond the proven earliest end, on the whole made-up family.

Only nights whose earliest end the solver proves within its count of work are in the gaps; how many those are is
printed. Of the nights that are too short it is counted how many have a first station that did not get all it asked for
and that is proven not to fit whole.
"""

from __future__ import annotations

import sys
from pathlib import Path
from statistics import mean

sys.path.insert(0, str(Path(__file__).parents[2]))

from etsched.core.night import pack
from tests.cross.night_family import (
    MadeNight,
    flow_limited,
    flow_limited_delayed,
    one_valve,
    one_valve_delayed,
    too_short,
)


def _print_gaps(name: str, nights: list[MadeNight]) -> None:
    from tests.cross.night_gaps import held, proven_gaps_pct

    known = held(nights)
    for night in known:
        if night.packed.used_min < night.proof.least_min:
            raise SystemExit(f"{night.night.name}: ends before what is proven to be the earliest end")
        if night.proof.found_min is not None and night.packed.bound_min > night.proof.found_min:
            raise SystemExit(f"{night.night.name}: the bound lies above an order that was found")
    gaps = proven_gaps_pct(known)
    print(f"figure {name}_nights_count {len(known)} count")
    print(f"figure {name}_proved_count {len(gaps)} count")
    print(f"figure {name}_gap_mean_pct {mean(gaps):.3f} pct")
    print(f"figure {name}_gap_worst_pct {max(gaps):.2f} pct")


def _print_cuts(nights: list[MadeNight]) -> None:
    from tests.cross.night_gaps import whole_after_all

    proofs = [whole_after_all(night, pack(night.chains, night.limits)) for night in nights]
    ends = [(proof.best_min, night.limits.window_min) for proof, night in zip(proofs, nights, strict=True)]
    known = [(best, window) for best, window in ends if best is not None]
    print(f"figure night_too_short_proved_count {len(known)} count")
    print(f"figure night_cut_rightly_count {sum(best > window for best, window in known)} count")


def main() -> None:
    try:
        import ortools.sat.python.cp_model  # noqa: F401
    except ImportError:
        print("skipped night_gap: needs the test extra, pip install -e .[test]")
        return
    _print_gaps("night", one_valve())
    _print_gaps("flow", flow_limited())
    _print_gaps("delay", one_valve_delayed())
    _print_gaps("delay_flow", flow_limited_delayed())
    _print_cuts(too_short())


if __name__ == "__main__":
    main()
