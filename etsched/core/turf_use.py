"""What a turf uses: from reference ET to the turf's own evapotranspiration."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray


def landscape_factor(
    crop_factor: NDArray[np.float64], area_factor: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Landscape coefficient KL = species × density × microclimate.

    Parameters
    ----------
    crop_factor : ndarray (D, S) or (S,)
        Kc of the species group in the month of the day.
    area_factor : ndarray (S,)
        Density × microclimate.

    Returns
    -------
    landscape_factor : ndarray, shape of the inputs broadcast

    Source: WUCOLS landscape coefficient method.
    """
    return np.asarray(crop_factor * area_factor)


def climate_adjusted_crop_factor(
    table_factor: NDArray[np.float64],
    wind_m_s: NDArray[np.float64],
    rh_min_pct: NDArray[np.float64],
    height_m: NDArray[np.float64],
) -> NDArray[np.float64]:
    """Move a tabled Kc or Kcb to the site's wind, dryness and height of turf, Eq. 62 and Eq. 70.

    The table stands for 2 m/s of wind at 2 m and 45 % least humidity; the equation is published for winds of
    1–6 m/s and humidities of 20–80 %, and inputs are held to those bounds. Under its published least height of
    0.1 m the correction fades with the height, as its power law says.

    Parameters
    ----------
    table_factor, wind_m_s, rh_min_pct, height_m : ndarray, broadcastable

    Returns
    -------
    crop_factor : ndarray

    Source: FAO-56 (Allen et al. 1998) Eq. 62 p.121 and Eq. 70 p.136.
    """
    wind = np.clip(wind_m_s, 1.0, 6.0)
    humidity = np.clip(rh_min_pct, 20.0, 80.0)
    return np.asarray(
        table_factor + (0.04 * (wind - 2.0) - 0.004 * (humidity - 45.0)) * (height_m / 3.0) ** 0.3
    )


def turf_evapotranspiration(
    eto_mm: NDArray[np.float64], landscape_factor: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Turf water use without stress, ETc = KL × ETo (Eq. 56 with the landscape coefficient for Kc).

    Parameters
    ----------
    eto_mm : ndarray (D, 1)
    landscape_factor : ndarray (D, S)

    Returns
    -------
    etc_mm : ndarray (D, S)

    Source: FAO-56 (Allen et al. 1998) Eq. 56 p.90.
    """
    return np.asarray(eto_mm * landscape_factor)
