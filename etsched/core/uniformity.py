"""How unevenly a station waters, and how much longer it must run for the drier part."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray


def scheduling_multiplier(lower_quarter_fraction: NDArray[np.float64]) -> NDArray[np.float64]:
    """Run-time multiplier 1 / (0.4 + 0.6 DU(lq)).

    Parameters
    ----------
    lower_quarter_fraction : ndarray (S,)

    Returns
    -------
    multiplier_factor : ndarray (S,)

    Source: Irrigation Association practice, from memory, to be verified.
    """
    return np.asarray(1.0 / (0.4 + 0.6 * lower_quarter_fraction))


def lower_half_multiplier(lower_half_fraction: NDArray[np.float64]) -> NDArray[np.float64]:
    """Run-time multiplier 1 / DU(lh).

    Parameters
    ----------
    lower_half_fraction : ndarray (S,)

    Returns
    -------
    multiplier_factor : ndarray (S,)

    Source: von Bernuth & Mecham, "Defining the run time multiplier" (second-hand).
    """
    return np.asarray(1.0 / lower_half_fraction)


def lower_quarter_multiplier(lower_quarter_fraction: NDArray[np.float64]) -> NDArray[np.float64]:
    """Run-time multiplier 1 / DU(lq): the older rule, which overwaters most of the area.

    Parameters
    ----------
    lower_quarter_fraction : ndarray (S,)

    Returns
    -------
    multiplier_factor : ndarray (S,)

    Source: older practice, from memory, to be verified.
    """
    return np.asarray(1.0 / lower_quarter_fraction)


def lower_half_from_lower_quarter(lower_quarter_fraction: NDArray[np.float64]) -> NDArray[np.float64]:
    """Estimate DU(lh) from DU(lq) where only the latter is known: 0.386 + 0.614 DU(lq).

    Parameters
    ----------
    lower_quarter_fraction : ndarray (S,)

    Returns
    -------
    lower_half_fraction : ndarray (S,)

    Source: Irrigation Association practice, from memory, to be verified.
    """
    return np.asarray(0.386 + 0.614 * lower_quarter_fraction)
