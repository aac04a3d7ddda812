"""How long a station may run before water runs off, how long it soaks, and into which cycles a run splits."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

_MINUTES_PER_HOUR = 60.0
# A whole number that arithmetic left a hair off its place is still that whole number.
_TOLERANCE_MIN = 1e-9


def longest_cycle(
    rate_mm_h: NDArray[np.float64], intake_mm_h: NDArray[np.float64], surface_storage_mm: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Minutes until the surface storage is full: c = 60 ASA / (PR − IR) where PR > IR, otherwise no limit.

    Parameters
    ----------
    rate_mm_h, intake_mm_h, surface_storage_mm : ndarray (S,)

    Returns
    -------
    cycle_min : ndarray (S,)
        inf where the soil takes the water as fast as it lands.

    Source: arithmetic on the allowable surface accumulation.
    """
    surplus_mm_h = np.asarray(rate_mm_h - intake_mm_h, dtype=np.float64)
    limit = np.full(np.broadcast_shapes(surplus_mm_h.shape, np.shape(surface_storage_mm)), np.inf)
    np.divide(_MINUTES_PER_HOUR * surface_storage_mm, surplus_mm_h, out=limit, where=surplus_mm_h > 0.0)
    return limit


def longest_cycle_horton(
    rate_mm_h: NDArray[np.float64],
    initial_intake_mm_h: NDArray[np.float64],
    final_intake_mm_h: NDArray[np.float64],
    decay_per_h: NDArray[np.float64],
) -> NDArray[np.float64]:
    """Minutes to ponding under Horton intake: t = 60 (f0 − P + fc ln((f0 − fc) / (P − fc))) / (P b).

    Parameters
    ----------
    rate_mm_h, initial_intake_mm_h, final_intake_mm_h : ndarray (S,)
    decay_per_h : ndarray (S,)

    Returns
    -------
    cycle_min : ndarray (S,)
        inf where the rate never exceeds the final intake, 0 where it exceeds the initial one from the start.

    Source: Hung & Krinik (1995).
    """
    rate, initial, final, decay = np.broadcast_arrays(rate_mm_h, initial_intake_mm_h, final_intake_mm_h, decay_per_h)
    limit = np.where(rate > final, 0.0, np.inf)
    between = (rate > final) & (rate < initial)
    p, f0, fc, b = rate[between], initial[between], final[between], decay[between]
    limit[between] = _MINUTES_PER_HOUR * (f0 - p + fc * np.log((f0 - fc) / (p - fc))) / (p * b)
    return limit


def least_soak(
    cycle_min: NDArray[np.float64], rate_mm_h: NDArray[np.float64], intake_mm_h: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Whole minutes in which a soil takes in what a cycle left standing: s ≥ c (PR / IR − 1), at least 0.

    Parameters
    ----------
    cycle_min : ndarray (S,)
        Finite.
    rate_mm_h, intake_mm_h : ndarray (S,)

    Returns
    -------
    soak_min : ndarray (S,)
        inf where water lands on a soil without intake.

    Source: arithmetic: over a night c / (c + s) ≤ IR / PR.
    """
    standing = np.asarray(cycle_min * np.maximum(rate_mm_h - intake_mm_h, 0.0), dtype=np.float64)
    soak = np.where(standing > 0.0, np.inf, 0.0)
    np.divide(standing, intake_mm_h, out=soak, where=np.asarray(intake_mm_h) > 0.0)
    return np.asarray(_whole_up(soak))


def split_run(
    run_min: NDArray[np.float64], longest_min: NDArray[np.float64], least_min: NDArray[np.float64]
) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Split a run into the fewest equal cycles of whole minutes that run off nowhere: n m ≥ run.

    A person keys in "n cycles of m minutes", so the cycles are equal, and every further cycle is a start that an
    ordinary clock may not have. What the rounding adds, less than a minute a cycle, runs and is credited. A useful
    cycle, least ≤ m, is kept to wherever the longest cycle allows one.

    Parameters
    ----------
    run_min : ndarray (S,)
    longest_min : ndarray (S,)
        Longest cycle without runoff; only its whole minutes count. inf: no limit.
    least_min : ndarray (S,)
        Least useful cycle.

    Returns
    -------
    cycles_count : ndarray (S,)
        0 where nothing is to run, and also where not even one minute stays on the ground: a run of more
        than 0 with a count of 0 tells the caller that this station cannot be watered without runoff.
    cycle_min : ndarray (S,)

    Source: arithmetic.
    """
    run, longest, least = np.broadcast_arrays(_whole_up(run_min), _whole_down(longest_min), _whole_up(least_min))
    waters = (run > 0.0) & (longest >= 1.0)
    count = np.where(waters, np.maximum(np.ceil(run / np.where(waters, longest, 1.0)), 1.0), 0.0)
    cycle = np.ceil(run / np.maximum(count, 1.0))
    cycle = np.where(least <= longest, np.maximum(cycle, least), cycle)
    return count.astype(np.int64), np.where(waters, cycle, 0.0).astype(np.int64)


def cycles_that_fit(
    cycle_min: NDArray[np.float64], soak_min: NDArray[np.float64], window_min: NDArray[np.float64]
) -> NDArray[np.int64]:
    """Most cycles of one station, soaks between them, that end within a window: n c + (n − 1) s ≤ window.

    Parameters
    ----------
    cycle_min, soak_min, window_min : ndarray (S,)

    Returns
    -------
    cycles_count : ndarray (S,)
        0 where the cycle is 0 or longer than the window.

    Source: arithmetic.
    """
    cycle, soak, window = np.broadcast_arrays(cycle_min, soak_min, window_min)
    fits = (cycle > 0.0) & (cycle <= window + _TOLERANCE_MIN)
    more = np.zeros(cycle.shape)
    # After the first cycle every further one takes a soak and a cycle; an endless soak leaves room for none.
    np.divide(window - cycle, cycle + soak, out=more, where=fits & np.isfinite(soak))
    return np.where(fits, 1.0 + _whole_down(more), 0.0).astype(np.int64)


def _whole_up(minutes: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.asarray(np.ceil(np.asarray(minutes, dtype=np.float64) - _TOLERANCE_MIN) + 0.0)


def _whole_down(minutes: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.asarray(np.floor(np.asarray(minutes, dtype=np.float64) + _TOLERANCE_MIN))
