"""Figures of recovery as their sources print them."""

from __future__ import annotations

from datetime import date

import pytest

from etsched.reference import recovery

POUND_A_THOUSAND_G_M2 = 453.59237 / 92.90304


@pytest.mark.parametrize(
    ("key", "pounds", "mark"),
    [("nitrogen", 0.75, "practice"), ("ceiling_quick", 0.5, "read"), ("ceiling_slow", 1.0, "read")],
)
def test_nitrogen_in_pounds_a_thousand_square_feet(key, pounds, mark):
    found = recovery.feed(key)
    assert found.value == pytest.approx(pounds * POUND_A_THOUSAND_G_M2)
    assert found.mark == mark


def test_depths_and_times():
    assert (recovery.feed("moist_depth").low, recovery.feed("moist_depth").high) == pytest.approx((101.6, 152.4))
    assert recovery.feed("water_in").value == pytest.approx(6.35)
    assert recovery.feed("slow_from").value == 0.30
    assert recovery.look_again("after").value == 14
    assert (recovery.look_again("back").low, recovery.look_again("back").high) == (28, 35)
    assert (recovery.look_again("dormant").low, recovery.look_again("dormant").high) == (21, 28)


def test_renovation_begins_at_30_to_50_percent_dead():
    assert recovery.cover("overseed_below").value == 100 - 30
    assert recovery.cover("resod_below").value == 100 - 50


def test_hot_months_and_seasons():
    months, source = recovery.hot_months()
    assert months == {6, 7, 8}
    assert "Virginia" in source
    best, second = recovery.sowing_seasons("cool-season", 2026)
    assert (best.first, best.last) == (date(2026, 8, 15), date(2026, 9, 15))
    assert second.source.endswith("(from memory, to be verified)")
