"""The grid cell a place lies in: what is fetched for one site serves all others of the same cell."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from etsched.model.site import Place

# Steps of latitude and longitude in degrees. Open-Meteo mixes models of 0.02° to 0.25° and is asked at 0.1°, about
# 10 km; NASA POWER's weather stands on the grid of MERRA-2.
_STEPS_DEG = {
    "open-meteo forecast": (0.1, 0.1),
    "open-meteo archive": (0.1, 0.1),
    "open-meteo ensemble": (0.1, 0.1),
    "nasa power": (0.5, 0.625),
}
_MOST_DECIMALS = 4  # the US NWS redirects what is written more exactly, and 0.0001° is 11 m


def cell_of(feed: str, place: Place) -> tuple[float, float]:
    """Give latitude and longitude of the middle of the feed's cell a place lies in, or of the place itself.

    Parameters
    ----------
    feed : str
        As `Origin.feed` has it.
    place : Place

    Returns
    -------
    latitude_deg, longitude_deg : float
        Equal for all places of a cell.
    """
    step_latitude, step_longitude = _STEPS_DEG.get(feed, (0.0, 0.0))
    return _middle(place.latitude_deg, step_latitude), _middle(place.longitude_deg, step_longitude)


def degrees_text(angle_deg: float) -> str:
    """Write a latitude or longitude as feeds take it: at most four decimals, and no zeros at the end."""
    return f"{angle_deg:.{_MOST_DECIMALS}f}".rstrip("0").rstrip(".")


def _middle(angle_deg: float, step_deg: float) -> float:
    found = round(angle_deg / step_deg) * step_deg if step_deg else angle_deg
    return round(found, _MOST_DECIMALS) + 0.0  # adding 0.0 makes -0.0 the same cell as 0.0
