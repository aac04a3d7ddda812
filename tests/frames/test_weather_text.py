"""Weather written and read again plans the same week, number for number."""

from datetime import UTC, date, datetime

import numpy as np
import pandas as pd
import pytest

from etsched.documents.site_file import parse_site
from etsched.frames.provenance import Origin
from etsched.frames.weather import HOURLY_COLUMNS, DayRemark, Weather
from etsched.frames.weather_text import weather_from_text, weather_text
from etsched.planning.week import plan_week
from etsched.reports.week_json import week_json
from tests.usecases.made import site_text, weather_on

TODAY = date(2026, 7, 13)


def whole():
    made = weather_on(TODAY)
    hours = pd.date_range("2026-07-12T06:00Z", periods=24, freq="h", name="hour_start")
    hourly = pd.DataFrame(float("nan"), index=hours, columns=list(HOURLY_COLUMNS))
    hourly["rain_mm"] = np.where(np.arange(24) == 9, 1.0 / 3.0, 0.0)
    daily = made.daily.copy()
    daily.loc["2026-07-12", "rain_mm"] = 1.0 / 3.0
    ends = {"eto_low_mm": [5.1], "eto_high_mm": [7.3], "rain_low_mm": [0.0], "rain_high_mm": [2.2]}
    spread = pd.DataFrame(ends, index=daily.index[-1:])
    origin = Origin("nws grid", datetime(2026, 7, 13, 1, tzinfo=UTC), None, False, "who made it", revision=3)
    remarks = (DayRemark("sound", ("a reason",), ("a source",)),) * len(daily)
    return Weather(daily, hourly, "made", ("a note",), origin, None, remarks, ("who made it",), spread)


def test_everything_comes_back():
    before = whole()
    after = weather_from_text(weather_text(before))
    for name in ("daily", "hourly", "spread"):
        pd.testing.assert_frame_equal(getattr(after, name), getattr(before, name), check_freq=False, check_exact=True)
    assert after.extra is None
    for name in ("source", "notes", "origin", "remarks", "attributions"):
        assert getattr(after, name) == getattr(before, name)


@pytest.mark.parametrize("weather", [whole(), weather_on(TODAY)], ids=["hours", "days"])
def test_the_same_week_is_planned_by_it(weather):
    site = parse_site(site_text(), "site")
    again = weather_from_text(weather_text(weather))
    one, other = (week_json(plan_week(site, each, date(2026, 7, 14))) for each in (weather, again))
    assert one == other


def test_the_text_is_the_same_each_time():
    assert weather_text(whole()) == weather_text(whole())
