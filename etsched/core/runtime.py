"""From the depth a root zone lacks to minutes of a valve, and back from minutes to the depth the books credit."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

# 231 in³ a gallon over 144 in² a square foot, times 60 minutes: in/h from gpm and square feet. In metric a litre on a
# square metre is a millimetre, so the constant is 60.
_MINUTES_PER_HOUR = 60.0


def rate_from_flow(flow_l_min: NDArray[np.float64], area_m2: NDArray[np.float64]) -> NDArray[np.float64]:
    """Gross precipitation rate from a metered flow over an area: PR = 60 Q / A (96.25 gpm / ft² in US units).

    Parameters
    ----------
    flow_l_min, area_m2 : ndarray (S,)

    Returns
    -------
    precip_rate_mm_h : ndarray (S,)

    Source: arithmetic.
    """
    return np.asarray(_MINUTES_PER_HOUR * flow_l_min / area_m2)


def gross_depth(
    net_depth_mm: NDArray[np.float64], multiplier_factor: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Depth that must land on average so that the drier part gets the net depth: gross = net × multiplier.

    Parameters
    ----------
    net_depth_mm, multiplier_factor : ndarray (S,)

    Returns
    -------
    gross_depth_mm : ndarray (S,)

    Source: definition of the run-time multiplier.
    """
    return np.asarray(net_depth_mm * multiplier_factor)


def landing_rate(
    precip_rate_mm_h: NDArray[np.float64], efficiency_fraction: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Rate that lands: a rate from flow or a typical one loses drift and overspray; a cup rate loses nothing more.

    Parameters
    ----------
    precip_rate_mm_h : ndarray (S,)
    efficiency_fraction : ndarray (S,)
        1 where the rate was measured with cups.

    Returns
    -------
    landing_rate_mm_h : ndarray (S,)

    Source: definition of application efficiency.
    """
    return np.asarray(precip_rate_mm_h * efficiency_fraction)


def run_minutes(
    gross_depth_mm: NDArray[np.float64], landing_rate_mm_h: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Minutes that put down a depth: t = 60 × gross / rate, not rounded.

    Parameters
    ----------
    gross_depth_mm, landing_rate_mm_h : ndarray (S,)

    Returns
    -------
    run_min : ndarray (S,)

    Source: arithmetic.
    """
    return np.asarray(_MINUTES_PER_HOUR * gross_depth_mm / landing_rate_mm_h)


def applied_depth(
    run_min: NDArray[np.float64], landing_rate_mm_h: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Mean depth that lands in so many minutes.

    Parameters
    ----------
    run_min, landing_rate_mm_h : ndarray (S,)

    Returns
    -------
    applied_mm : ndarray (S,)

    Source: arithmetic.
    """
    return np.asarray(run_min * landing_rate_mm_h / _MINUTES_PER_HOUR)


def credited_depth(
    applied_mm: NDArray[np.float64], multiplier_factor: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Depth the balance credits: applied ÷ multiplier, what the drier part got, never the gross.

    Parameters
    ----------
    applied_mm, multiplier_factor : ndarray (S,)

    Returns
    -------
    credited_mm : ndarray (S,)

    Source: definition of the run-time multiplier.
    """
    return np.asarray(applied_mm / multiplier_factor)
