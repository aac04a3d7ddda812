"""Each check on readings made to offend it, and on ones that only just do not."""

from __future__ import annotations

import numpy as np
import pytest

from etsched.core import weather_checks as checks

NAN = np.nan


def days(*values: float) -> np.ndarray:
    return np.array(values, dtype=np.float64)


def where(mask: np.ndarray) -> list[int]:
    assert mask.dtype == bool
    return np.flatnonzero(mask).tolist()


def swinging(count: int, middle: float = 15.0) -> np.ndarray:
    """Temperatures that change by 2 from day to day."""
    return middle + (np.arange(count) % 2) * 2.0


def test_crossed_extremes_and_equal_ones() -> None:
    assert where(checks.temperatures_crossed(days(5, 9, 7, NAN, 3), days(6, 8, 7, 1, NAN))) == [1]
    assert where(checks.humidity_crossed(days(50, 90, 100), days(90, 50, 100))) == [1]


def test_a_spike_returns_and_a_step_does_not() -> None:
    # The place changes by 2 a day: 7 times that is 14.
    spike, step = swinging(30), swinging(30)
    spike[10] += 14.5
    step[10:] += 14.5
    assert where(checks.temperature_spikes(spike)) == []  # 12.5 and 14.5 away from its neighbours
    spike[10] += 4.0
    assert where(checks.temperature_spikes(spike)) == [10]
    assert where(checks.temperature_spikes(-spike)) == [10]
    assert where(checks.temperature_steps(spike)) == [10, 11]
    assert where(checks.temperature_spikes(step)) == []
    assert where(checks.temperature_steps(step)) == []  # 12.5
    step[10:] += 4.0
    assert where(checks.temperature_steps(step)) == [10]


def test_a_place_of_even_weather_still_has_fronts_of_12_degrees() -> None:
    even = 20.0 + (np.arange(30) % 2) * 0.5
    even[10:] += 12.0
    assert where(checks.temperature_steps(even)) == []  # 11.5
    even[10:] += 1.0
    assert where(checks.temperature_steps(even)) == [10]


def test_the_median_change_lies_between_the_two_middle_ones() -> None:
    # Changes of 1 and of 3 by turns, nine of them with the step and the gap: the middle of the known is 3, then 2.
    readings = np.cumsum([0.0, 1.0, 3.0, -1.0, -3.0, 1.0, 3.0, -1.0, -3.0])
    assert where(checks.temperature_steps(np.append(readings, readings[-1] + 20.9))) == []  # median 3 of nine: 21
    assert where(checks.temperature_steps(np.append(readings, readings[-1] + 21.1))) == [9]
    even = np.append(readings[:-1], readings[-2] + 13.9)  # four of 1, three of 3 and the step: median 2
    assert where(checks.temperature_steps(even)) == []
    even[-1] += 0.2
    assert where(checks.temperature_steps(even)) == [8]
    assert where(checks.temperature_steps(np.append([NAN, NAN], even))) == [10]


def test_a_missing_day_hides_a_step_and_raises_no_alarm() -> None:
    readings = swinging(30)
    readings[10:] += 30.0
    readings[10] = NAN
    assert where(checks.temperature_steps(readings)) == []
    assert where(checks.temperature_spikes(np.full(8, NAN))) == []
    assert where(checks.temperature_steps(days(3.0))) == []


@pytest.mark.parametrize(
    ("check", "least", "value"),
    [
        (checks.temperature_stuck, 6, 4.0),
        (checks.humidity_stuck, 10, 40.0),
        (checks.vapour_stuck, 5, 1.2),
        (checks.wind_stuck, 4, 2.5),
        (checks.solar_stuck, 3, 21.0),
    ],
)
def test_the_whole_of_a_run_is_stuck_and_a_shorter_one_is_not(check, least: int, value: float) -> None:
    short = days(value + 1, *[value] * (least - 1), value + 1)
    assert where(check(short)) == []
    long = days(value + 1, *[value] * least, value + 1)
    assert where(check(long)) == list(range(1, least + 1))
    assert where(check(long[1:])) == list(range(least))
    assert where(check(long[:-1])) == list(range(1, least + 1))
    broken = days(*[value] * (least - 1), NAN, value, value + 1)
    assert where(check(broken)) == []
    side_by_side = np.column_stack([np.append(short, value), long])
    assert check(side_by_side)[:, 0].sum() == 0
    assert check(side_by_side)[:, 1].sum() == least


def test_fog_polar_night_and_a_calm_that_cannot_be() -> None:
    assert where(checks.humidity_stuck(np.full(20, 100.0))) == []
    assert where(checks.solar_stuck(np.zeros(20))) == []
    assert where(checks.humidity_stuck(np.full(20, 95.0))) == []
    assert where(checks.humidity_stuck(np.full(20, 94.9))) == list(range(20))
    assert where(checks.wind_stuck(days(0.0, 0.1, 1.0))) == [0]


def test_a_day_delivered_twice_repeats_in_all_it_knows() -> None:
    low, high = days(3.1, 3.1, 4.0, 4.0), days(9.9, 9.9, 12.0, 12.0)
    vapour, wind = days(0.8, 0.8, 0.9, 0.9), days(2.1, 2.1, 1.4, 1.4)
    assert where(checks.day_repeated(low, high, vapour, wind, days(7.7, 7.7, 6.0, 6.1))) == [1]
    assert where(checks.day_repeated(low, high, vapour, wind, np.full(4, NAN))) == [1, 3]
    # Three readings may agree by chance.
    assert where(checks.day_repeated(low, high, vapour, np.full(4, NAN), np.full(4, NAN))) == []


def test_humidity_below_deserts_and_below_what_can_be() -> None:
    assert where(checks.humidity_floor(days(4.9, 5.0, NAN))) == [0]
    assert where(checks.humidity_dead(days(0.0, 0.9, 1.0, NAN))) == [0, 1]


def test_air_after_rain_comes_near_saturation() -> None:
    rain = np.zeros(100)
    rain[[10, 20, 30, 95]] = 5.0
    low = np.full(100, 84.0)
    # After the third wet day it is known; the first leaves the 60 days on day 70.
    assert where(checks.humidity_ceiling_low(low, rain)) == list(range(30, 70))
    once_wet = low.copy()
    once_wet[20] = 91.0
    assert where(checks.humidity_ceiling_low(once_wet, rain)) == []
    assert where(checks.humidity_ceiling_low(low, np.full(100, NAN))) == []
    dry_air = np.where(rain > 0.0, 97.0, 45.0)
    assert where(checks.humidity_ceiling_low(dry_air, rain)) == []


def test_dew_point_and_vapour_above_what_the_air_is() -> None:
    assert where(checks.dewpoint_above_lowest(days(12.9, 13.1, NAN), days(5.0, 5.0, 5.0))) == [1]
    assert where(checks.vapour_above_saturation(days(2.09, 2.11, NAN), days(2.0, 2.0, 2.0))) == [1]


def test_radiation_above_any_sky() -> None:
    # Ra 40, Rso 30: 34 at most. In the dark of winter Ra 2, Rso 1.5: 2.5.
    assert where(checks.solar_above_sky(days(33.9, 34.1), days(40, 40), days(30, 30))) == [1]
    assert where(checks.solar_above_sky(days(2.4, 2.6), days(2, 2), days(1.5, 1.5))) == [1]


def test_a_scale_that_is_off_shows_on_the_third_clearest_day() -> None:
    clear = np.full(60, 25.0)
    sun = np.full(60, 18.0)
    sun[[5, 12]] = 30.0  # two days prove nothing
    assert where(checks.solar_scale_high(sun, clear)) == []
    sun[20] = 27.1  # 1.084 of a clear sky
    assert where(checks.solar_scale_high(sun, clear)) == list(range(20, 35))
    sun[20] = 26.9  # 1.076
    assert where(checks.solar_scale_high(sun, clear)) == []


def test_a_dull_season_is_told_from_a_dirty_sensor_by_its_clearest_days() -> None:
    clear = np.full(90, 25.0)
    dirty = np.full(90, 14.9)  # 0.596 of a clear sky
    assert where(checks.solar_scale_low(dirty, clear)) == list(range(27, 90))  # not before 28 days are known
    dull = np.full(90, 5.0)
    dull[::20] = 15.1
    assert where(checks.solar_scale_low(dull, clear))[0] == 27  # two clear days so far, on 0 and 20
    assert where(checks.solar_scale_low(dull, clear)) == list(range(27, 40))
    assert where(checks.solar_scale_low(dirty / 5.0, clear / 5.0)) == []  # a winter sun tells nothing


def test_sunshine_and_hours_against_the_length_of_the_day() -> None:
    assert where(checks.sunshine_above_daylight(days(12.9, 13.1, NAN), days(12, 12, 12))) == [1]
    assert where(checks.hours_missing(days(24, 23, 23, 24), days(24, 24, 23, 25))) == [1, 3]
    assert where(checks.hours_doubled(days(24, 25, 25), days(24, 24, 25))) == [1]


def test_stations_side_by_side_are_judged_each_by_itself() -> None:
    draw = np.random.default_rng(3)
    low = 10.0 + draw.normal(0.0, 3.0, (120, 5))
    low[40, 1] += 40.0
    low[60:70, 2] = 7.0
    low[80:, 3] = NAN
    sun = draw.uniform(5.0, 30.0, (120, 5))
    rain = draw.uniform(0.0, 10.0, (120, 5))
    clear = np.full((120, 5), 26.0)
    for check, arguments in (
        (checks.temperature_steps, (low,)),
        (checks.temperature_spikes, (low,)),
        (checks.temperature_stuck, (low,)),
        (checks.solar_scale_high, (sun, clear)),
        (checks.solar_scale_low, (sun * 0.5, clear)),
        (checks.humidity_ceiling_low, (low + 75.0, rain)),
        (checks.day_repeated, (low, low, low, low, low)),
    ):
        together = check(*arguments)
        apart = [check(*(each[:, station] for each in arguments)) for station in range(5)]
        np.testing.assert_array_equal(together, np.column_stack(apart))
    assert checks.temperature_spikes(low)[40, 1]
    assert checks.temperature_stuck(low)[60:70, 2].all()
