import math

import pytest

from etsched.tables.figure import figure, plain, span
from etsched.units import say


@pytest.mark.parametrize(
    ("value", "suffix", "system", "text"),
    [
        (25.4, "mm", "us", "1.00 in"),
        (25.4, "mm", "metric", "25.4 mm"),
        (0.55, "fraction", "us", "55%"),
        (-10.0, "c", "us", "14 °F"),
        (-10.05, "c", "metric", "-10.1 °C"),
        (3785.411784 * 1234, "l", "us", "1,234,000 gal"),  # 1 gal is 3.785411784 L
        (1.2345, "factor", "us", "1.234"),
        (0.0762, "m", "us", "3.00 in"),  # a mowing height, not "0 ft"
        (3.0, "count", "us", "3"),
        (12.5, "h", "us", "12.50 hour"),
    ],
)
def test_reader_text(value, suffix, system, text):
    assert figure(value, suffix, system).text == text


@pytest.mark.parametrize("suffix", ["c", "mm", "mm_d", "mm_h", "m2", "l", "l_min", "m_s", "min", "pct", "fraction"])
@pytest.mark.parametrize("system", ["us", "metric"])
def test_agrees_with_the_units_module(suffix, system):
    for value in (0.0, 0.4, 17.25, 54321.0):
        assert figure(value, suffix, system).text == say(value, suffix, system)


def test_shown_is_a_plain_number():
    gallons = figure(37854.11784, "l", "us")
    assert (gallons.shown, gallons.number, gallons.unit) == ("10000", "10,000", "gal")


def test_more_digits_for_a_working_but_not_for_counts():
    assert figure(9.0, "mm", "us", more_digits=1).text == "0.354 in"
    assert figure(3.0, "count", "us", more_digits=1).text == "3"


@pytest.mark.parametrize("value", [None, math.nan])
def test_unknown_is_a_dash_and_no_number(value):
    unknown = figure(value, "l", "us")
    assert (unknown.value, unknown.shown, unknown.text) == (None, "", "—")


def test_rounding_leaves_no_negative_nothing():
    assert figure(-1e-12, "mm", "us").text == "0.00 in"


def test_span_keeps_both_units_where_they_differ():
    low, high = figure(2.54, "mm_h", "us"), figure(7.62, "mm_h", "us")
    assert span(low, high) == "0.10–0.30 in/h"
    assert span(low, figure(None, "mm_h", "us")) == ""
    assert span(figure(0.0762, "m", "us"), figure(3.048, "m", "us")) == "3.00 in–10 ft"


def test_plain_text_cannot_steer_a_terminal_or_turn_a_line_round():
    assert plain("Front\x1b[2J lawn\r\n\tNorth\u202e gnorw") == "Front [2J lawn North gnorw"
    assert plain("caf\u00e9 \u2013 \udcff strip") == "café – strip"
