"""Water in the root zone and the layers below it: FAO-56 chapter 8, one station a row, one layer a column.

The state is the deficit: mm missing from field capacity, shape (S, L), the root zone first. Its first column is the
root-zone depletion Dr of FAO-56. Order of a day: the night's irrigation enters before the day's ET; rain falls at its
hour, where hours are known, and otherwise after ET. What passes the roots fills the layers below; only what they
cannot hold leaves the books as drainage. Water does not rise from the layers below.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

P_LOW_FRACTION, P_HIGH_FRACTION = 0.1, 0.8


def total_available_water(
    available_water_fraction: NDArray[np.float64], root_depth_mm: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Total available water of a depth of soil, TAW (Eq. 82).

    Parameters
    ----------
    available_water_fraction, root_depth_mm : ndarray (S,)

    Returns
    -------
    total_available_mm : ndarray (S,)

    Source: FAO-56 (Allen et al. 1998) Eq. 82 p.162.
    """
    return np.asarray(available_water_fraction * root_depth_mm)


def readily_available_water(
    total_available_mm: NDArray[np.float64], depletion_fraction: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Allowable depletion RAW = p TAW (Eq. 83).

    Parameters
    ----------
    total_available_mm, depletion_fraction : ndarray (S,)

    Returns
    -------
    readily_available_mm : ndarray (S,)

    Source: FAO-56 (Allen et al. 1998) Eq. 83 p.162.
    """
    return np.asarray(total_available_mm * depletion_fraction)


def adjusted_depletion_fraction(
    table_fraction: NDArray[np.float64], etc_mm: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Depletion fraction moved by the day's demand: p = p(table) + 0.04 (5 − ETc), held to 0.1–0.8.

    Parameters
    ----------
    table_fraction : ndarray (S,)
    etc_mm : ndarray (S,)
        Turf use of the day, mm a day.

    Returns
    -------
    depletion_fraction : ndarray (S,)

    Source: FAO-56 (Allen et al. 1998) p.162 and Table 22 note 2.
    """
    return np.clip(table_fraction + 0.04 * (5.0 - etc_mm), P_LOW_FRACTION, P_HIGH_FRACTION)


def stress_coefficient(
    depletion_mm: NDArray[np.float64],
    total_available_mm: NDArray[np.float64],
    depletion_fraction: NDArray[np.float64],
) -> NDArray[np.float64]:
    """Stress coefficient Ks = (TAW − Dr) / ((1 − p) TAW), 1 while Dr ≤ RAW and 0 at TAW (Eq. 84).

    Parameters
    ----------
    depletion_mm, total_available_mm, depletion_fraction : ndarray (S,)

    Returns
    -------
    stress_fraction : ndarray (S,)

    Source: FAO-56 (Allen et al. 1998) Eq. 84 p.169.
    """
    left = (total_available_mm - depletion_mm) / ((1.0 - depletion_fraction) * total_available_mm)
    return np.clip(left, 0.0, 1.0)


def wet_from_above(
    deficit_mm: NDArray[np.float64], water_mm: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Let water in at the top: each layer fills to field capacity before the next gets any (Eq. 88, layer by layer).

    Parameters
    ----------
    deficit_mm : ndarray (S, L)
    water_mm : ndarray (S,)

    Returns
    -------
    deficit_mm : ndarray (S, L)
        After the water.
    passed_mm : ndarray (S,)
        What went below the first layer.
    drained_mm : ndarray (S,)
        What left the deepest layer.

    Source: FAO-56 (Allen et al. 1998) Eq. 88 p.171.
    """
    reach = np.cumsum(deficit_mm, axis=1)
    taken = np.clip(water_mm[:, None] - (reach - deficit_mm), 0.0, deficit_mm)
    passed = np.maximum(water_mm - deficit_mm[:, 0], 0.0)
    drained = np.maximum(water_mm - reach[:, -1], 0.0)
    return deficit_mm - taken, passed, drained


@dataclass(frozen=True, slots=True)
class DayDemand:
    """What a day asks of every station: use without stress, allowable fraction, water and when the rain fell.

    `rain_mm` holds the effective rain in pulses (S, P) and `et_before_fraction` (P,) the share of the day's ET that
    had gone before each; one pulse at 1.0 is rain after ET.
    """

    etc_mm: NDArray[np.float64]  # (S,)
    depletion_fraction: NDArray[np.float64]  # (S,)
    irrigation_mm: NDArray[np.float64]  # (S,)
    rain_mm: NDArray[np.float64]  # (S, P)
    et_before_fraction: NDArray[np.float64]  # (P,)


@dataclass(frozen=True, slots=True)
class DayWater:
    """What a day did: deficit at its end (S, L); ET taken, water passed below the roots and drained, all (S,)."""

    deficit_mm: NDArray[np.float64]
    et_mm: NDArray[np.float64]
    passed_mm: NDArray[np.float64]
    drained_mm: NDArray[np.float64]


def day_step(
    deficit_mm: NDArray[np.float64], total_available_mm: NDArray[np.float64], day: DayDemand
) -> DayWater:
    """Carry the water of every station through one day (Eq. 85, in the order the module states).

    Ks comes from the depletion at the start of the day, after the night's irrigation, as in FAO-56's own daily
    examples; rain within the day starts a new part with a Ks of its own. ET stops at an empty root zone.

    Parameters
    ----------
    deficit_mm : ndarray (S, L)
    total_available_mm : ndarray (S,)
        Of the root zone.
    day : DayDemand

    Returns
    -------
    DayWater

    Source: FAO-56 (Allen et al. 1998) ch. 8, Eq. 85 p.170.
    """
    state, passed, drained = wet_from_above(deficit_mm, day.irrigation_mm)
    taken = np.zeros_like(day.etc_mm)
    share_gone = 0.0
    for pulse in np.flatnonzero(day.rain_mm.any(axis=0)):
        share = float(day.et_before_fraction[pulse])
        state, drawn = _draw(state, total_available_mm, day, share - share_gone)
        state, more, gone = wet_from_above(state, day.rain_mm[:, pulse])
        taken, passed, drained, share_gone = taken + drawn, passed + more, drained + gone, share
    state, drawn = _draw(state, total_available_mm, day, 1.0 - share_gone)
    return DayWater(state, taken + drawn, passed, drained)


def _draw(
    deficit_mm: NDArray[np.float64], total_available_mm: NDArray[np.float64], day: DayDemand, share: float
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Take a share of the day's ET out of the root zone, slowed by Ks and no more than is there."""
    depletion = deficit_mm[:, 0]
    stress = stress_coefficient(depletion, total_available_mm, day.depletion_fraction)
    drawn = np.minimum(share * stress * day.etc_mm, np.maximum(total_available_mm - depletion, 0.0))
    after = deficit_mm.copy()
    after[:, 0] += drawn
    return after, drawn


def balance_error(before_mm: NDArray[np.float64], day: DayDemand, water: DayWater) -> NDArray[np.float64]:
    """What the books of a day fail to explain: Δ deficit − (ET + drainage − irrigation − rain); 0 when they close.

    Parameters
    ----------
    before_mm : ndarray (S, L)
    day : DayDemand
    water : DayWater

    Returns
    -------
    error_mm : ndarray (S,)

    Source: conservation of mass.
    """
    change = water.deficit_mm.sum(axis=1) - before_mm.sum(axis=1)
    return np.asarray(change - (water.et_mm + water.drained_mm - day.irrigation_mm - day.rain_mm.sum(axis=1)))


def move_layers(
    deficit_mm: NDArray[np.float64],
    old_thickness_mm: NDArray[np.float64],
    new_thickness_mm: NDArray[np.float64],
) -> NDArray[np.float64]:
    """Re-cut the soil when roots grow or die back: each new layer takes its share of every old layer it overlaps.

    Deficit is moved as a density over depth, so that none is made or lost where both cuts reach equally deep; soil
    below the old books enters at field capacity.

    Parameters
    ----------
    deficit_mm : ndarray (S, L)
    old_thickness_mm, new_thickness_mm : ndarray (S, L)

    Returns
    -------
    deficit_mm : ndarray (S, L)

    Source: conservation of mass.
    """
    old_bottom = np.cumsum(old_thickness_mm, axis=1)
    new_bottom = np.cumsum(new_thickness_mm, axis=1)
    top = np.maximum((new_bottom - new_thickness_mm)[:, :, None], (old_bottom - old_thickness_mm)[:, None, :])
    bottom = np.minimum(new_bottom[:, :, None], old_bottom[:, None, :])
    overlap = np.maximum(bottom - top, 0.0)
    density = np.divide(
        deficit_mm, old_thickness_mm, out=np.zeros_like(deficit_mm), where=old_thickness_mm > 0.0
    )
    return np.asarray((overlap * density[:, None, :]).sum(axis=2))
