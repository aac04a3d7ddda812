"""A chain of feeds as one weather: who is believed, what is taken whole, what a rejection does."""

from dataclasses import replace
from datetime import UTC, date, datetime

import numpy as np
import pandas as pd
import pytest

from etsched.errors import PlanRefused
from etsched.frames.provenance import Origin
from etsched.frames.weather import DAILY_COLUMNS, Weather
from etsched.planning.weather_chain import chained
from etsched.planning.weather_filling import fill_days
from tests.planning.made import site

PLACE = site().place
FIRST = date(2026, 6, 20)


def link(feed, *, days=20, measured=False, first=FIRST, seed=1, **columns):
    """A link with days that vary as weather does; a column may be set, or left out with NaN."""
    rng = np.random.default_rng(seed)
    index = pd.date_range(first, periods=days, freq="D", unit="us", name="day")
    usual = {
        "tmin_c": 15 + rng.normal(0, 1, days),
        "tmax_c": 32 + rng.normal(0, 2, days),
        "dewpoint_c": 8 + rng.normal(0, 1, days),
        "wind_m_s": 2 + rng.random(days),
        "solar_mj_m2_d": 25 + 3 * rng.random(days),
        "rain_mm": np.zeros(days),
    }
    frame = pd.DataFrame({name: np.full(days, np.nan) for name in DAILY_COLUMNS}, index=index)
    for name, value in (usual | columns).items():
        frame[name] = np.asarray(value, dtype=float)
    frame["is_forecast"] = False
    origin = Origin(feed, datetime(2026, 7, 10, tzinfo=UTC), None, measured, f"{feed}'s credit")
    return Weather(frame, None, feed, origin=origin)


def test_the_first_link_is_believed_and_the_next_fills_what_it_lacks():
    station = link("station", measured=True, days=10, wind_m_s=np.nan)
    model = link("model", seed=2)
    whole = chained([station, model], PLACE)
    assert len(whole.daily) == 20
    assert (whole.daily["tmax_c"].iloc[:10] == station.daily["tmax_c"]).all()
    assert (whole.daily["tmax_c"].iloc[10:] == model.daily["tmax_c"].iloc[10:]).all()
    assert (whole.daily["wind_m_s"] == model.daily["wind_m_s"]).all()
    assert whole.remarks[0].sources == (
        "temperature: station",
        "humidity: station",
        "wind: model",
        "sunlight: station",
        "rain: station",
    )
    assert whole.attributions == ("station's credit", "model's credit")


def test_a_group_is_taken_whole_and_never_mixed_from_two_feeds():
    station = link(
        "station",
        measured=True,
        dewpoint_c=np.nan,
        rh_mean_pct=50.0 + np.arange(20),
        tmax_c=[np.nan] * 3 + [32.0 + n % 5 for n in range(17)],
    )
    model = link("model", seed=2, rh_max_pct=80.0 + np.arange(20) % 7)
    whole = chained([station, model], PLACE)
    # The station's relative humidity stands alone; the model's dew point would outrank it if it were let in.
    assert whole.daily["dewpoint_c"].isna().all()
    assert whole.daily["rh_max_pct"].isna().all()
    # Half of a day's temperatures is none: both come from the model.
    assert (whole.daily["tmin_c"].iloc[:3] == model.daily["tmin_c"].iloc[:3]).all()


def test_a_rejected_value_comes_from_the_next_link_and_is_told():
    crossed = [15.0 + n % 3 for n in range(20)]
    crossed[5] = 50.0  # above the day's highest
    station, model = link("station", measured=True, tmin_c=crossed), link("model", seed=2)
    whole = chained([station, model], PLACE)
    assert whole.daily["tmin_c"].iloc[5] == model.daily["tmin_c"].iloc[5]
    assert any("station" in reason and "rejected" in reason for reason in whole.remarks[5].reasons)
    assert whole.remarks[5].sources[0] == "temperature: model"


def test_days_without_temperatures_at_either_end_are_no_days_but_one_inside_is_unfit():
    gauge = link(
        "gauge", measured=True, days=30, first=date(2026, 6, 10), **dict.fromkeys(DAILY_COLUMNS[:10], np.nan)
    )
    holes = [32.0 + n % 4 for n in range(20)]
    holes[8] = np.nan
    whole = chained([gauge, link("model", tmax_c=holes)], PLACE)
    assert whole.daily.index[0].date() == FIRST
    assert len(whole.daily) == 20
    assert whole.remarks[8].grade == "unfit"


def test_a_model_has_no_sensor_that_could_read_low():
    low = {"rain_mm": [5.0, 0.0] * 10, "rh_max_pct": [60.0 + n % 5 for n in range(20)], "dewpoint_c": np.nan}
    station = chained([link("station", measured=True, **low)], PLACE)
    model = chained([link("model", **low)], PLACE)
    assert any("read low" in reason for remark in station.remarks for reason in remark.reasons)
    assert not any("read low" in reason for remark in model.remarks for reason in remark.reasons)


def test_no_link_no_weather():
    with pytest.raises(PlanRefused, match="no link of the chain gave any"):
        chained([], PLACE)
    nothing = link("model", tmin_c=np.nan)
    with pytest.raises(PlanRefused, match="knows the temperatures of any day"):
        chained([nothing], PLACE)


def test_one_link_is_told_without_its_name():
    crossed = [15.0 + n % 3 for n in range(20)]
    crossed[5] = 50.0
    whole = chained([link("file", tmin_c=crossed)], PLACE)
    assert any("rejected" in reason and "file:" not in reason for reason in whole.remarks[5].reasons)


def test_the_feeds_own_reference_et_is_an_alarm_and_no_truth():
    model = link("model")
    ours = fill_days(model.daily, PLACE).eto_mm
    own = ours * 1.05
    own[7] = ours[7] + 2.5
    told = replace(model, extra=pd.DataFrame({"et0_feed_mm": own}, index=model.daily.index))
    plain, warned = chained([model], PLACE), chained([told], PLACE)
    pd.testing.assert_frame_equal(plain.daily, warned.daily)
    assert [n for n, remark in enumerate(warned.remarks) if remark.grade == "weak"] == [7]
    assert any("by the feed itself" in reason for reason in warned.remarks[7].reasons)


def test_a_forecast_may_say_the_same_for_days_running_where_a_sensor_may_not():
    flat = {"tmax_c": 38.0, "rain_mm": [0.0] * 16 + [20.0] + [0.0] * 3}
    with pytest.raises(PlanRefused, match="knows the temperatures of any day"):
        chained([link("station", measured=True, **flat)], PLACE)
    ahead = link("model", **flat)
    ahead.daily["is_forecast"] = True
    forecast = chained([ahead], PLACE)
    assert not any("rejected" in reason for remark in forecast.remarks for reason in remark.reasons)
    assert forecast.daily["rain_mm"].sum() == 20.0
