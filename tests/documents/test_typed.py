from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic_core import PydanticCustomError

from etsched.documents import typed
from etsched.documents.typed import Positive, Typed

MARKERS = {
    name: value.__metadata__[0]
    for name, value in vars(typed).items()
    if hasattr(value, "__metadata__") and isinstance(value.__metadata__[0], Typed)
}


@pytest.mark.parametrize(
    ("name", "written", "canonical"),
    [
        ("RootDepth", "6 in", 152.4),
        ("RootDepth", ' 6" ', 152.4),
        ("RootDepth", "15 cm", 150.0),
        ("PrecipRate", "0.42 in/h", 10.668),
        ("PrecipRate", "0.42 in/hr", 10.668),
        ("PrecipRate", "11 mm/h", 11.0),
        ("Area", "900 sq ft", 900 * 0.3048**2),
        ("Area", "84 m2", 84.0),
        ("Flow", "14 gpm", 14 * 3.785411784),
        ("Flow", "0.5 L/s", 30.0),
        ("Elevation", "1200 ft", 365.76),
        ("Elevation", "-86 m", -86.0),
        ("AvailableWater", "0.17 in/in", 0.17),
        ("AvailableWater", "2.04 in/ft", 0.17),
        ("AvailableWater", "170 mm/m", 0.17),
        ("AvailableWater", "17 %", 0.17),
        ("Uniformity", "72 %", 0.72),
        ("Uniformity", 0.72, 0.72),
        ("Uniformity", 1, 1.0),
        ("Slope", "4 %", 4.0),
        ("FirstRunoff", "11 min", 11.0),
        ("FirstRunoff", "0.5 h", 30.0),
        ("Latitude", 38.2, 38.2),
        ("Latitude", "38.2°", 38.2),
        ("Longitude", "-120.7 deg", -120.7),
        ("CropFactor", "0.8", 0.8),
    ],
)
def test_reads_what_people_write(name, written, canonical):
    assert MARKERS[name].read(written) == pytest.approx(canonical, rel=1e-9)


@pytest.mark.parametrize("name", MARKERS)
def test_every_example_is_read(name):
    marker = MARKERS[name]
    for example in marker.examples:
        marker.read(example)


@pytest.mark.parametrize("name", MARKERS)
def test_the_bounds_are_where_the_schema_says(name):
    marker = MARKERS[name]
    marker.read(marker.high)
    if not isinstance(marker, Positive):
        marker.read(marker.low)
        return
    with pytest.raises(PydanticCustomError, match="zero"):
        marker.read(marker.low)


@pytest.mark.parametrize(
    ("name", "beyond"),
    [
        ("Latitude", "90.1 deg"),
        ("Longitude", "-180.1 deg"),
        ("Elevation", "-431 m"),
        ("Elevation", "8901 m"),
        ("RootDepth", "0.99 in"),
        ("RootDepth", "48.1 in"),
        ("PrecipRate", "6.01 in/h"),
        ("Uniformity", "100.1 %"),
        ("RootDepth", "1e999 in"),
        ("Uniformity", 10**400),
    ],
)
def test_refuses_what_lies_beyond_the_bounds(name, beyond):
    with pytest.raises(PydanticCustomError, match=r"more than|less than|no number"):
        MARKERS[name].read(beyond)


@given(st.sampled_from(sorted(MARKERS)), st.one_of(st.text(), st.integers(), st.floats(), st.booleans(), st.none()))
def test_anything_is_read_within_bounds_or_refused(name, raw):
    marker = MARKERS[name]
    try:
        value = marker.read(raw)
    except PydanticCustomError:
        return
    assert marker.read(marker.high) >= value
