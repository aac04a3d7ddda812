from datetime import date, time
from zoneinfo import ZoneInfo

import pytest

from etsched.days import night
from etsched.tables.clock import NightClock, days_text, night_text

EAST = ZoneInfo("America/New_York")


def clock(opens_on, system="us", opens_at=time(22), closes_at=time(6)):
    return NightClock(night(opens_on, opens_at, closes_at, EAST), EAST, system)


@pytest.mark.parametrize(
    ("minute", "us", "metric"),
    [
        (0, "10:00 pm", "22:00"),
        (119, "11:59 pm", "23:59"),
        (120, "12:00 am", "00:00"),
        (195, "1:15 am", "01:15"),
    ],
)
def test_wall_time(minute, us, metric):
    assert clock(date(2026, 7, 13)).text(minute) == us
    assert clock(date(2026, 7, 13), "metric").text(minute) == metric


def test_noon_is_pm():
    assert clock(date(2026, 7, 13), opens_at=time(12), closes_at=time(13)).text(5) == "12:05 pm"


def test_night_of_25_hours_says_which_of_the_two_hours_it_means():
    autumn = clock(date(2026, 10, 31))  # clocks go back at 2:00 on November 1
    assert autumn.window == "10:00 pm EDT–6:00 am EST"
    assert autumn.night.length_min == 540
    assert autumn.text(210) == "1:30 am EDT"
    assert autumn.text(270) == "1:30 am EST"


def test_night_of_23_hours_skips_an_hour_of_the_wall():
    spring = clock(date(2026, 3, 7))  # clocks go forward at 2:00 on March 8
    assert spring.night.length_min == 420
    assert spring.text(239) == "1:59 am EST"
    assert spring.text(240) == "3:00 am EDT"


def test_day_of_change_without_a_change_in_the_window_needs_no_zone():
    assert clock(date(2026, 11, 1)).text(0) == "10:00 pm"


def test_night_and_days_in_words():
    assert night_text(night(date(2026, 7, 31), time(22), time(6), EAST)) == "Fri Jul 31 into Sat Aug 1"
    assert night_text(night(date(2026, 7, 31), time(1), time(6), EAST)) == "Fri Jul 31"
    days = [date(2026, 7, 13), date(2026, 7, 14), date(2026, 7, 15), date(2026, 7, 17)]
    assert days_text(days) == "Mon Jul 13–Wed Jul 15, Fri Jul 17"
    assert days_text([]) == ""
