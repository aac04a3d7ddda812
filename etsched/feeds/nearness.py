"""Whether an answer is for the spot that was asked for."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from etsched.errors import FeedRefused

if TYPE_CHECKING:
    from etsched.model.site import Place

_KM_PER_DEG = 111.2  # along a meridian; the earth's mean radius × π / 180
# Half the diagonal of the coarsest grid that is asked, 0.5° by 0.625°, is 45 km; beyond it the spot is another.
_FARTHEST_KM = 60.0


def distance_km(place: Place, latitude_deg: float, longitude_deg: float) -> float:
    """Give the distance from a site to a spot, on the flat map that serves for hundreds of kilometres."""
    east_deg = (longitude_deg - place.longitude_deg + 180.0) % 360.0 - 180.0
    middle = math.radians((latitude_deg + place.latitude_deg) / 2.0)
    return _KM_PER_DEG * math.hypot(latitude_deg - place.latitude_deg, east_deg * math.cos(middle))


def check_near(place: Place, latitude_deg: float, longitude_deg: float, farthest_km: float = _FARTHEST_KM) -> None:
    """Raise FeedRefused where a spot is too far from the site to stand for it."""
    # Written so that a coordinate that is no number at all is refused, too.
    if not (away := distance_km(place, latitude_deg, longitude_deg)) <= farthest_km:
        raise FeedRefused(f"it answers for a spot {away:.0f} km away")
