"""Typed values and figures for readers, against definitions: 1 in = 25.4 mm, 1 gal = 231 in³."""

from contextlib import suppress

import pytest
from hypothesis import given
from hypothesis import strategies as st

from etsched import units
from etsched.errors import QuantityRefused
from etsched.quantities import QUANTITIES


@pytest.mark.parametrize(
    ("text", "suffix", "value"),
    [
        ("6 in", "mm", 152.4),
        ("6in", "mm", 152.4),
        ('6"', "mm", 152.4),
        ("0.42 in/h", "mm_h", 10.668),
        ("0.42 in/hr", "mm_h", 10.668),
        ("72 °F", "c", 200 / 9),
        ("1 gpm", "l_min", 3.785411784),
        ("900 sq ft", "m2", 83.6127360),
        ("40 %", "fraction", 0.4),
        ("0.8", "fraction", 0.8),
        ("1.2 in/ft", "fraction", 0.1),
        ("1 W/m2", "mj_m2_h", 0.0036),
        ("1 Ly/day", "mj_m2_d", 0.04184),
        ("1 MJ/m2/h", "mj_m2_h", 1.0),
        ("1 kWh/m2/day", "mj_m2_d", 3.6),
        ("100 J/cm2/day", "mj_m2_d", 1.0),
        ("10 mph", "m_s", 4.4704),
        ("1013 mbar", "kpa", 101.3),
    ],
)
def test_typed_values_become_canonical(text, suffix, value):
    assert units.parse(text, suffix) == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "suffix", "sentence"),
    [
        ("6", "mm", '"6" has no unit'),
        ("6 parsnips", "mm", '"parsnips" is no unit this program knows'),
        ("6 kg", "mm", '"kg" does not measure the same thing as "mm"'),
        ("six in", "mm", '"six in" is not a number with a unit'),
        ("6 m^9^9^9", "mm", '"m^9^9^9" is no unit this program knows'),
        ("6 m**4**4**4", "mm", '"m**4**4**4" is no unit this program knows'),
        ("6 m^2^3^4", "mm", '"m^2^3^4" is no unit this program knows'),
        ("", "mm", '"" is not a number with a unit'),
        ("6 __import__('os')", "mm", "\"__import__('os')\" is no unit this program knows"),
    ],
)
def test_other_text_gets_a_sentence(text, suffix, sentence):
    with pytest.raises(QuantityRefused) as refused:
        units.parse(text, suffix)
    assert str(refused.value) == sentence


@pytest.mark.parametrize(
    ("value", "suffix", "us", "metric"),
    [
        (10.668, "mm_h", "0.42 in/h", "10.7 mm/h"),
        (37.7777777, "c", "100 °F", "37.8 °C"),
        (0.55, "fraction", "55%", "55%"),
        (3785.411784, "l", "1,000 gal", "3,785 L"),
        # A pound is 453.59237 g and 1000 square feet are 92.90304 m².
        (453.59237 / 92.90304, "g_m2", "1.00 lb/1000 sq ft", "4.9 g/m²"),
        (4.5359237, "kg", "10.0 lb", "4.5 kg"),
        (275.790291, "water_kpa", "40 psi", "276 kPa"),  # 40 × 6.894757 kPa
        (34.2, "ohm", "34 Ω", "34 Ω"),
        (26.0, "v", "26.0 V", "26.0 V"),
        (1.1, "ds_m", "1.1 dS/m", "1.1 dS/m"),
    ],
)
def test_readers_get_their_own_units(value, suffix, us, metric):
    assert units.say(value, suffix, "us") == us
    assert units.say(value, suffix, "metric") == metric


@given(st.floats(-50, 60))
def test_a_temperature_survives_there_and_back(value):
    fahrenheit = units.to_reader(value, "c", "us")
    assert units.parse(f"{fahrenheit!r} °F", "c") == pytest.approx(value, abs=1e-9)


@given(st.text(max_size=30))
def test_no_text_gets_past_the_sentence(text):
    with suppress(QuantityRefused):
        units.parse(text, "mm")


# Units that only old radiation records use are left to the whole list.
_RARE = {"langley/day"}


def _units_in_use():
    readers = {unit for pair in units._READERS.values() for unit, _, _ in pair}
    return sorted((readers | {each.unit for each in QUANTITIES.values()} | set(units._SPELLINGS.values())) - _RARE)


@pytest.mark.parametrize("unit", _units_in_use())
def test_the_everyday_units_are_those_of_the_whole_list(unit):
    everyday, whole = units._everyday(), units._whole()
    base = str(whole.Unit(unit).dimensionality)
    assert str(everyday.Unit(unit).dimensionality) == base
    for value in (1.0, 7.5):
        ours = everyday.Quantity(value, everyday.Unit(unit)).to_base_units().magnitude
        theirs = whole.Quantity(value, whole.Unit(unit)).to_base_units()
        scale = 1000.0 ** theirs.dimensionality.get("[mass]", 0)  # the whole list counts mass in kilograms
        assert ours == pytest.approx(theirs.magnitude * scale, rel=1e-12)
