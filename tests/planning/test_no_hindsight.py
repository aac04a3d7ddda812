"""The replay lets nothing of the weather to come through to the planner but what the forecast model says of it."""

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pandas as pd
import pytest

from tests.bench import _forecast, _replay, _seasons
from tests.planning.made_season import FIRST, RAIN, made_season

SEED = 11


def heard_through(season, issue):
    """What the planner says of each night, letter by letter."""
    heard = []
    site = _seasons.lawns(season)
    _replay.live(season, site, _replay.planner(heard), _forecast.teller(season.daily, issue))
    return heard


def with_other_weather_from(season, day):
    """The same season up to the day before, then every day as hot and dry as can be."""
    daily = season.daily.copy()
    later = daily.index >= pd.Timestamp(day)
    daily.loc[later, ["tmax_c", "rain_mm", "solar_mj_m2_d", "vapour_pressure_kpa"]] = [41.0, 0.0, 30.0, 0.8]
    return replace(season, daily=daily)


def test_another_later_truth_leaves_every_night_before_it_as_it_was():
    season = made_season(days=12)
    turns = FIRST + timedelta(days=6)
    other = with_other_weather_from(season, turns)
    # What was forecast was said before the weather turned out otherwise, so both hear the same words.
    issue = _forecast.issuer(season.daily, RAIN, SEED)
    before, after = heard_through(season, issue), heard_through(other, issue)
    # The night that serves the turning day is decided the evening before it.
    assert before[:7] == after[:7]
    assert before[7:] != after[7:]


def test_weather_beyond_the_forecast_changes_no_word_and_no_night():
    season = made_season(days=8)
    # The last evening is that before the last day; its forecast reaches seven days further.
    other = with_other_weather_from(season, season.last + timedelta(days=_forecast.AHEAD_D))
    assert not season.daily.equals(other.daily)
    one, two = (heard_through(each, _forecast.issuer(each.daily, RAIN, SEED)) for each in (season, other))
    assert one == two


def test_what_is_told_is_measured_up_to_today_and_ends_a_week_ahead():
    season = made_season()
    told = _forecast.teller(season.daily, _forecast.issuer(season.daily, RAIN, SEED))(FIRST)
    today = pd.Timestamp(FIRST - timedelta(days=1))
    measured = told.daily.loc[:today]
    assert not measured["is_forecast"].any()
    assert measured.drop(columns="is_forecast").equals(season.daily.loc[measured.index].drop(columns="is_forecast"))
    ahead = told.daily.loc[today + pd.Timedelta(days=1) :]
    assert ahead["is_forecast"].all()
    assert len(ahead) == _forecast.AHEAD_D
    # No value of a day ahead is the real one, except that both may be without rain.
    real = season.daily.loc[ahead.index]
    for name in ("tmin_c", "tmax_c", "solar_mj_m2_d", "vapour_pressure_kpa", "wind_m_s"):
        assert (ahead[name] != real[name]).all()
    assert ((ahead["rain_mm"] != real["rain_mm"]) | (real["rain_mm"] == 0.0)).all()


def test_a_hundred_years_of_forecasts_come_true_as_often_as_they_say_and_err_more_further_ahead():
    rng = np.random.default_rng(5)
    days = 36_500  # a forecast is drawn every 80 days
    season = made_season()
    rain = np.where(rng.random(days) < RAIN.wet_share, 1.0 + rng.exponential(8.0, days), 0.0)
    real = pd.DataFrame(
        {name: np.full(days, season.daily[name].iloc[0]) for name in season.daily.columns},
        index=pd.date_range("1900-01-01", periods=days, unit="us", name="day"),
    ).assign(rain_mm=rain, tmax_c=25.0)
    told = [_forecast.forecast(real, day.date(), RAIN, SEED) for day in real.index[: -_forecast.AHEAD_D : 80]]
    chance = np.array([each[1]["rain_probability_pct"].to_numpy() for each in told])
    amount = np.array([each[0]["rain_mm"].to_numpy() for each in told])
    wet = np.array([real["rain_mm"].reindex(each[0].index).to_numpy() >= _forecast.WET_MM for each in told])
    for low in range(0, 100, 20):
        among = (chance >= low) & (chance < low + 20)
        if among.sum() > 200:
            assert 100.0 * wet[among].mean() == pytest.approx(chance[among].mean(), abs=7.0)
    missed = [(wet & (amount == 0.0))[:, lead].mean() for lead in (0, 6)]
    false = [(~wet & (amount > 0.0))[:, lead].mean() for lead in (0, 6)]
    assert 0.0 < missed[0] < missed[1]
    assert min(false) > 0.0
    off = [np.std([each[0]["tmax_c"].iloc[lead] - 25.0 for each in told]) for lead in (0, 6)]
    assert off == pytest.approx([1.0, 2.8], rel=0.12)


def test_the_same_seed_says_the_same_and_another_one_something_else():
    season = made_season()
    evening = FIRST - timedelta(days=1)
    one, same, other = (_forecast.forecast(season.daily, evening, RAIN, seed)[0] for seed in (1, 1, 2))
    assert one.equals(same)
    assert not one.equals(other)
