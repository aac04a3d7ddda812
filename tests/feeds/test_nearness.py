"""How far an answering cell may lie from the site; a degree of a meridian is 111.2 km."""

from __future__ import annotations

import math
from zoneinfo import ZoneInfo

import pytest

from etsched.errors import FeedRefused
from etsched.feeds.nearness import check_near, distance_km
from etsched.model.site import Place


def place(latitude_deg: float, longitude_deg: float) -> Place:
    return Place(latitude_deg, longitude_deg, 0.0, ZoneInfo("UTC"))


@pytest.mark.parametrize(
    ("here", "there", "km"),
    [
        ((60.0, 10.0), (61.0, 10.0), 111.2),
        ((60.0, 10.0), (60.0, 11.0), 55.6),  # half of it, as cos 60° is
        ((0.0, 179.9), (0.0, -179.9), 22.24),  # over the date line
        ((0.0, 0.0), (3.0, 4.0), 556.0),
    ],
)
def test_distances(here: tuple[float, float], there: tuple[float, float], km: float) -> None:
    assert distance_km(place(*here), *there) == pytest.approx(km, rel=1e-3)


def test_a_cell_is_near_and_the_next_but_one_is_not() -> None:
    check_near(place(39.5, -105.0), 39.75, -104.7)
    with pytest.raises(FeedRefused, match="it answers for a spot 111 km away"):
        check_near(place(39.5, -105.0), 40.5, -105.0)
    with pytest.raises(FeedRefused):
        check_near(place(39.5, -105.0), math.nan, -105.0)
    check_near(place(39.5, -105.0), 40.5, -105.0, farthest_km=200.0)
