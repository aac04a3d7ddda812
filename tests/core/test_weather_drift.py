"""A sensor that moves away from its neighbour, and a clock that moves away from the sun."""

from __future__ import annotations

import numpy as np
import pytest

from etsched.core import radiation, sun_position
from etsched.core import weather_drift as drift

DAYS = np.arange(200)
THEIRS = 15.0 + 8.0 * np.sin(DAYS / 30.0)


def noise(seed: int, size: float) -> np.ndarray:
    return np.random.default_rng(seed).normal(0.0, size, len(DAYS))


def test_a_constant_difference_is_no_drift() -> None:
    assert not drift.temperature_drifts(THEIRS + 5.0 + noise(1, 1.5), THEIRS).any()
    assert not drift.solar_drifts(THEIRS * 1.3 * (1.0 + noise(2, 0.1)), THEIRS).any()
    assert not drift.wind_drifts(THEIRS * 0.6 * (1.0 + noise(3, 0.2)), THEIRS).any()


def test_a_step_of_the_sensor_is_seen_when_the_month_has_moved_enough() -> None:
    ours = THEIRS.copy()
    ours[120:] += 3.0
    found = np.flatnonzero(drift.temperature_drifts(ours, THEIRS))
    # 3 × n / 30 > 2 needs 21 days: day 140 is the 21st. The months before take the new level in, too: on day
    # 149 + m they hold m days of it out of 60, and 3 − 3 m / 60 > 2 ends at m = 20.
    assert found.tolist() == list(range(140, 169))
    falling = np.flatnonzero(drift.temperature_drifts(THEIRS - (ours - THEIRS), THEIRS))
    assert falling.tolist() == found.tolist()


def test_a_small_step_is_not_seen() -> None:
    ours = THEIRS.copy()
    ours[120:] += 1.9
    assert not drift.temperature_drifts(ours, THEIRS).any()


@pytest.mark.parametrize(
    ("check", "least", "most"), [(drift.solar_drifts, 0.875, 0.885), (drift.wind_drifts, 0.645, 0.655)]
)
def test_a_scale_that_falls_is_seen_beyond_its_bound(check, least: float, most: float) -> None:
    level = np.full(200, 20.0)
    for scale, seen in ((least, True), (most, False), (2.0 - least, True), (2.0 - most, False)):
        ours = np.where(DAYS >= 100, level * scale, level) * 1.7
        assert check(ours, level).any() is np.bool_(seen)


def test_too_little_known_says_nothing() -> None:
    ours = THEIRS.copy()
    ours[120:] += 5.0
    ours[:95] = np.nan  # of the 60 days before the last 30 less than 30 are known until day 154
    assert np.flatnonzero(drift.temperature_drifts(ours, THEIRS))[0] == 154
    assert not drift.temperature_drifts(ours[:60], THEIRS[:60]).any()
    assert not drift.temperature_drifts(ours[:10], THEIRS[:10]).any()
    assert not drift.solar_drifts(THEIRS, np.full(200, np.nan)).any()
    assert not drift.wind_drifts(THEIRS, np.zeros(200)).any()


def test_missing_days_do_not_pull_the_mean() -> None:
    ours = THEIRS + np.where(DAYS >= 120, 2.02, 0.0)
    ours[DAYS % 3 == 0] = np.nan  # two thirds of both months are known
    found = np.flatnonzero(drift.temperature_drifts(ours, THEIRS))
    assert found.tolist() == [149, 150]  # when the new level fills the last month and none of those before
    ours[DAYS >= 120] -= 0.04
    assert not drift.temperature_drifts(ours, THEIRS).any()


def test_stations_side_by_side_are_judged_each_by_itself() -> None:
    theirs = np.column_stack([THEIRS, THEIRS, THEIRS])
    ours = theirs + np.column_stack([noise(1, 1.0), noise(2, 1.0), noise(3, 1.0)])
    ours[100:, 1] += 6.0
    together = drift.temperature_drifts(ours, theirs)
    apart = [drift.temperature_drifts(ours[:, each], theirs[:, each]) for each in range(3)]
    np.testing.assert_array_equal(together, np.column_stack(apart))
    assert together.any(axis=0).tolist() == [False, True, False]


@pytest.mark.parametrize(("late_h", "seen"), [(0.0, False), (0.5, False), (1.0, True), (-1.0, True), (-7.0, True)])
def test_the_sun_shines_at_its_hour(late_h: float, seen: bool) -> None:
    day = np.arange(100, 160)[:, None]
    hour = np.arange(24) + 0.5

    def sun(utc_h: np.ndarray) -> np.ndarray:
        angle = sun_position.solar_hour_angle(day, utc_h, 15.0)
        return radiation.hourly_extraterrestrial_radiation(45.0, day, angle)

    clouds = np.random.default_rng(4).uniform(0.2, 0.8, (60, 24))
    found = drift.sun_at_wrong_hour(sun(hour - late_h) * clouds, sun(hour))
    assert found.any() == seen
    assert found[14:].all() == seen
    dark = drift.sun_at_wrong_hour(np.zeros((60, 24)), sun(hour))
    assert not dark.any()
