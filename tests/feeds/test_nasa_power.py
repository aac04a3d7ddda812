"""NASA POWER: units, fill values by quantity, the solar clock, and answers that are not what was asked for."""

from __future__ import annotations

import json
import math
from collections.abc import Callable
from datetime import date
from typing import Any

import numpy as np
import pandas as pd
import pytest

from etsched.errors import FeedFailed, FeedRefused
from etsched.feeds.ask import FeedAsk, FeedHost
from etsched.feeds.nasa_power import fetch_nasa_power, parse_nasa_power
from etsched.frames.weather import DAILY_COLUMNS, Weather, check_daily
from tests.feeds.answers import FETCHED, answer, ask, text_of
from tests.feeds.junk import outcomes

DAYS = ask("2026-07-01", "2026-07-09")


def parsed(change: Callable[[Any], object] | None = None, asked: FeedAsk = DAYS) -> Weather:
    """Parse the answer of shared/feeds after changing it in place."""
    told = json.loads(text_of("nasa_power_daily.json"))
    if change is not None:
        change(told)
    return parse_nasa_power(answer(json.dumps(told)), asked)


def values(told: Any, name: str) -> dict[str, float]:
    found = told["properties"]["parameter"][name]
    assert isinstance(found, dict)
    return found


def test_days_as_they_were_written() -> None:
    weather = parsed()
    daily = check_daily(weather.daily)
    assert list(daily.columns) == [*DAILY_COLUMNS, "is_forecast"]
    first = daily.loc["2026-07-01"]
    assert first["tmin_c"] == 12.41
    assert first["tmax_c"] == 28.73
    assert first["rh_mean_pct"] == 41.2
    assert first["dewpoint_c"] == 5.94
    assert first["wind_m_s"] == 2.31  # WS2M: at 2 m already
    assert first["solar_mj_m2_d"] == 28.94
    assert daily["rain_mm"].to_list() == [0.0, 0.0, 0.13, 4.71, 6.02, 0.0, 0.0]
    assert not daily["is_forecast"].any()
    assert weather.hourly is None


def test_each_quantity_ends_where_it_is_no_longer_known() -> None:
    weather = parsed()
    assert weather.daily.index[-1] == pd.Timestamp(2026, 7, 7)
    assert weather.daily["solar_mj_m2_d"].last_valid_index() == pd.Timestamp(2026, 7, 4)
    assert "not known on 2026-07-05 to 2026-07-07: solar_mj_m2_d" in weather.notes
    assert "nothing is known after 2026-07-07" in weather.notes


@pytest.mark.parametrize(("fill", "stated"), [(-99.0, -999.0), (-999.0, -99.0), (-8888.0, -8888.0)])
def test_whatever_fill_value_is_stated_and_the_two_usual_ones_are_missing(fill: float, stated: float) -> None:
    def change(told: Any) -> None:
        told["header"]["fill_value"] = stated
        for name in told["properties"]["parameter"]:
            by_day = values(told, name)
            told["properties"]["parameter"][name] = {day: fill if v == -999.0 else v for day, v in by_day.items()}

    pd.testing.assert_frame_equal(parsed(change).daily, parsed().daily)


def test_a_fill_value_inside_costs_one_value() -> None:
    daily = parsed(lambda told: values(told, "T2M_MAX").update({"20260703": -999.0})).daily
    assert math.isnan(daily.loc["2026-07-03", "tmax_c"])
    assert daily.loc["2026-07-03", "tmin_c"] == 14.2
    assert daily["tmax_c"].notna().sum() == 6


def test_where_it_comes_from_and_by_which_clock() -> None:
    weather = parsed()
    origin = weather.origin
    assert origin is not None
    assert (origin.feed, origin.measured, origin.issued, origin.fetched) == ("nasa power", False, None, FETCHED)
    assert (origin.latitude_deg, origin.longitude_deg, origin.elevation_m) == (39.5, -105.0, 1752.3)
    assert origin.attribution.startswith("These data were obtained from the NASA Langley Research Center POWER Project")
    assert any("local solar time" in note for note in weather.notes)


def test_only_the_days_asked_for() -> None:
    weather = parsed(asked=ask("2026-07-02", "2026-07-03"))
    daily = weather.daily
    assert not any("known" in note for note in weather.notes)
    assert daily.index.to_list() == [pd.Timestamp(2026, 7, 2), pd.Timestamp(2026, 7, 3)]
    with pytest.raises(FeedRefused, match="it knows nothing of 2026-07-08 to 2026-07-09"):
        parsed(asked=ask("2026-07-08", "2026-07-09"))


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        (
            lambda told: told["parameters"]["ALLSKY_SFC_SW_DWN"].update(units="kW-hr/m^2/day"),
            'it gives ALLSKY_SFC_SW_DWN in "kW-hr/m^2/day", not in MJ/m^2/day',
        ),
        (lambda told: told["parameters"]["T2M_MIN"].update(units="K"), 'it gives T2M_MIN in "K", not in C'),
        (lambda told: told["parameters"].pop("WS2M"), "there is no parameters.WS2M"),
        (lambda told: told["header"].update(time_standard="UTC"), 'it gives days by "UTC", not by LST'),
        (lambda told: told["header"].pop("fill_value"), "there is no header.fill_value"),
        (lambda told: told["geometry"].update(coordinates=[-105.0, 42.2, 900.0]), "for a spot 300 km away"),
        (lambda told: told["geometry"].update(coordinates=[-105.0]), "geometry.coordinates is no spot"),
        (lambda told: values(told, "RH2M").pop("20260702"), "it gives other days for RH2M than for T2M_MIN"),
        (lambda told: values(told, "RH2M").update({"20260702": None}), "RH2M is no number"),
        (lambda told: told["properties"].update(parameter=[]), "there is no|is not where it should be"),
        (lambda told: told.pop("properties"), "there is no properties"),
    ],
)
def test_refused(change: Callable[[Any], object], sentence: str) -> None:
    with pytest.raises(FeedRefused, match=sentence.replace("^", r"\^")):
        parsed(change)


def test_a_day_that_is_none() -> None:
    def change(told: Any) -> None:
        for name in told["properties"]["parameter"]:
            values(told, name)["20260230"] = 1.0

    with pytest.raises(FeedRefused, match='"20260230" is no day'):
        parsed(change)


def test_the_sun_in_another_unit_than_its_label() -> None:
    """Kilowatt hours would pass unseen; watts do not, nor does a quarter of them."""

    def in_watts(told: Any) -> None:
        by_day = values(told, "ALLSKY_SFC_SW_DWN")
        by_day.update({day: value / 0.0864 for day, value in by_day.items() if value != -999.0})

    with pytest.raises(FeedRefused, match=r"it gives a solar_mj_m2_d of 334\.\d+ on 2026-07-01, outside 0 to 60"):
        parsed(in_watts)


def test_one_absurd_value_is_rejected_and_told() -> None:
    weather = parsed(lambda told: values(told, "T2M_MAX").update({"20260703": 85.0}))
    assert np.isnan(weather.daily.loc["2026-07-03", "tmax_c"])
    assert "tmax_c of 85 on 2026-07-03 is rejected, outside -60 to 60 degC" in weather.notes


def test_a_page_and_half_an_answer() -> None:
    with pytest.raises(FeedRefused, match="it answers with a web page"):
        parse_nasa_power(answer("\n<!DOCTYPE html><html>"), DAYS)
    for cut in (text_of("nasa_power_daily.json")[:900], "", "[NaN]", "[" * 100_000):
        with pytest.raises(FeedFailed, match="no JSON") as caught:
            parse_nasa_power(answer(cut), DAYS)
        assert not isinstance(caught.value, FeedRefused)  # asking again may mend it
    with pytest.raises(FeedRefused, match="form"):
        parse_nasa_power(answer("[]"), DAYS)
    endless = text_of("nasa_power_daily.json").replace("1752.3", "1e999")
    with pytest.raises(FeedRefused, match=r"geometry\.coordinates is no number"):
        parse_nasa_power(answer(endless), DAYS)


def test_what_is_asked(recorder: Any) -> None:
    recorder.body = text_of("nasa_power_daily.json")
    asked = ask("2026-07-01", "2026-07-16")
    raw, weather = fetch_nasa_power(recorder, FeedHost("https://power.example/"), asked)
    assert recorder.request.url == "https://power.example/api/temporal/daily/point"
    sent = recorder.request.params
    assert sent["community"] == "AG"
    assert sent["time-standard"] == "LST"
    assert (sent["start"], sent["end"]) == ("20260701", "20260709")  # no further than yesterday
    # The middle of the half-degree cell, so that one answer serves all sites in it.
    assert (sent["latitude"], sent["longitude"]) == ("39.5", "-105")
    assert len(sent["parameters"].split(",")) == 7
    assert weather.daily.loc["2026-07-01", "tmin_c"] == 12.41
    assert raw is recorder.raw


def test_nothing_is_asked_of_the_future(recorder: Any) -> None:
    with pytest.raises(FeedRefused, match="NASA POWER has no forecast, and 2026-07-10 to 2026-07-16 is still to come"):
        fetch_nasa_power(recorder, FeedHost("https://power.example"), ask("2026-07-10", "2026-07-16"))
    assert recorder.request is None


def test_from_the_loopback_server(server: Any, client: Any) -> None:
    asked = ask("2026-06-20", "2026-07-16", today="2026-07-13")
    _, weather = fetch_nasa_power(client, FeedHost(f"{server.base_url}/power"), asked)
    daily = check_daily(weather.daily)
    assert daily.index[0].date() == date(2026, 6, 20)
    assert daily["solar_mj_m2_d"].last_valid_index() < daily.index[-1]


@pytest.mark.parametrize(
    ("fault", "sentence"),
    [("wrong-units", "not in"), ("far-cell", "km away"), ("html", "web page"), ("all-null", "knows nothing of")],
)
def test_faults_of_the_loopback_server(server: Any, client: Any, fault: str, sentence: str) -> None:
    server.set_fault("power", fault)
    with pytest.raises(FeedRefused, match=sentence):
        fetch_nasa_power(client, FeedHost(f"{server.base_url}/power"), ask("2026-06-20", "2026-07-12"))
    assert server.counts() == {"power": 1}  # asking again would not mend it


def test_junk_in_any_place_is_refused_or_not_known() -> None:
    counts = outcomes(json.loads(text_of("nasa_power_daily.json")), lambda raw: parse_nasa_power(raw, DAYS))
    assert counts["refused"] > 800
    assert counts["accepted"] > 50  # what is not looked at, and -1 where that can be
