"""How much of a day's rain the root zone may count on. What it cannot hold then passes the roots in the books."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

_INCH_MM = 25.4
# The event rule's corners, as its table prints them in inches: nothing of the first 0.1 in; all of the rest up to an
# inch; two thirds of the second inch; nothing beyond two inches.
_EVENT_RAIN_IN = (0.0, 0.1, 1.0, 2.0)
_EVENT_EFFECTIVE_IN = (0.0, 0.0, 0.9, 0.9 + 2.0 / 3.0)
_SHARE_OF_RAIN = 0.8


def effective_rain_event(rain_mm: NDArray[np.float64]) -> NDArray[np.float64]:
    """Effective rain of a day taken as one event.

    Parameters
    ----------
    rain_mm : ndarray, any shape

    Returns
    -------
    effective_rain_mm : ndarray, same shape

    Source: Texas A&M AgriLife effective-rainfall rule (read).
    """
    corners = np.asarray(_EVENT_RAIN_IN) * _INCH_MM
    return np.interp(rain_mm, corners, np.asarray(_EVENT_EFFECTIVE_IN) * _INCH_MM)


def effective_rain_share(rain_mm: NDArray[np.float64]) -> NDArray[np.float64]:
    """Effective rain as a fixed share of what fell.

    Parameters
    ----------
    rain_mm : ndarray, any shape

    Returns
    -------
    effective_rain_mm : ndarray, same shape

    Source: 80 % of gross, from memory, to be verified.
    """
    return np.asarray(_SHARE_OF_RAIN * np.asarray(rain_mm))


def effective_rain_all(rain_mm: NDArray[np.float64]) -> NDArray[np.float64]:
    """Effective rain where all of it counts: a gauge under the turf, or a test.

    Parameters
    ----------
    rain_mm : ndarray, any shape

    Returns
    -------
    effective_rain_mm : ndarray, same shape

    Source: none needed, the identity.
    """
    return np.asarray(rain_mm, dtype=np.float64)
