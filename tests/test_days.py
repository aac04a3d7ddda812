"""Local days and watering nights where clocks change, against hand arithmetic."""

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from etsched import days

DENVER, SYDNEY, BERLIN = ZoneInfo("America/Denver"), ZoneInfo("Australia/Sydney"), ZoneInfo("Europe/Berlin")


def _hours(day, zone):
    begin, end = days.day_bounds(day, zone)
    return (end - begin) / timedelta(hours=1)


@pytest.mark.parametrize(
    ("zone", "day", "hours"),
    [
        (DENVER, date(2026, 3, 8), 23),
        (DENVER, date(2026, 11, 1), 25),
        (DENVER, date(2026, 7, 1), 24),
        (SYDNEY, date(2026, 10, 4), 23),
        (SYDNEY, date(2026, 4, 5), 25),
        (BERLIN, date(2026, 3, 29), 23),
        (BERLIN, date(2026, 10, 25), 25),
        (ZoneInfo("Australia/Lord_Howe"), date(2026, 10, 4), 23.5),
    ],
)
def test_a_local_day_is_as_long_as_its_clock_says(zone, day, hours):
    assert _hours(day, zone) == hours


@pytest.mark.parametrize(
    ("zone", "opens_on", "minutes"),
    [
        (DENVER, date(2026, 7, 1), 480),
        (DENVER, date(2026, 3, 7), 420),
        (DENVER, date(2026, 10, 31), 540),
        (SYDNEY, date(2026, 10, 3), 420),
        (SYDNEY, date(2026, 4, 4), 540),
    ],
)
def test_a_night_from_ten_to_six_is_an_hour_shorter_or_longer_where_the_clock_changes(zone, opens_on, minutes):
    night = days.night(opens_on, time(22), time(6), zone)
    assert night.length_min == minutes
    assert night.serves == opens_on + timedelta(days=1)


def test_a_window_after_midnight_serves_the_day_it_opens_on():
    night = days.night(date(2026, 7, 1), time(0, 30), time(5), DENVER)
    assert (night.serves, night.length_min) == (date(2026, 7, 1), 270)


def test_a_skipped_opening_is_the_first_instant_after_the_gap():
    night = days.night(date(2026, 3, 8), time(2, 30), time(5), DENVER)
    assert night.opens == datetime(2026, 3, 8, 9, 0, tzinfo=UTC)
    assert night.length_min == 120


def test_a_doubled_time_opens_late_and_closes_early():
    opened = days.night(date(2026, 11, 1), time(1, 30), time(5), DENVER)
    assert opened.opens == datetime(2026, 11, 1, 8, 30, tzinfo=UTC)  # the second 1:30, in standard time
    closed = days.night(date(2026, 10, 31), time(22), time(1, 30), DENVER)
    assert closed.closes == datetime(2026, 11, 1, 7, 30, tzinfo=UTC)  # the first 1:30, in daylight time


_ZONES = st.sampled_from(
    [
        "America/Denver",
        "America/St_Johns",
        "Europe/London",
        "Australia/Lord_Howe",
        "Asia/Tehran",
        "America/Santiago",
        "Pacific/Apia",
    ]
)
_WALL = st.times().map(lambda moment: moment.replace(second=0, microsecond=0))


@given(_ZONES, st.dates(date(2020, 1, 1), date(2037, 12, 31)), _WALL, _WALL)
def test_every_minute_of_a_night_lies_inside_the_hours_on_the_wall(zone_name, opens_on, opens_at, closes_at):
    zone = ZoneInfo(zone_name)
    night = days.night(opens_on, opens_at, closes_at, zone)
    assert night.closes >= night.opens
    for minute in range(0, night.length_min, 7):
        wall = (night.opens + timedelta(minutes=minute)).astimezone(zone).replace(tzinfo=None)
        assert datetime.combine(opens_on, opens_at) <= wall < datetime.combine(night.serves, closes_at)


@pytest.mark.parametrize(
    ("wall", "us", "metric"),
    [
        (time(0, 5), "12:05 am", "00:05"),  # the hour after midnight is twelve
        (time(2, 30), "2:30 am", "02:30"),
        (time(11, 59), "11:59 am", "11:59"),
        (time(12, 0), "12:00 pm", "12:00"),
        (time(22, 42), "10:42 pm", "22:42"),
    ],
)
def test_times_are_written_as_readers_of_the_units_do(wall, us, metric):
    assert (days.time_text(wall, "us"), days.time_text(wall, "metric")) == (us, metric)
