"""GHCN-Daily: values as text, flags, days read together, mornings, and tenths that must not pass as degrees."""

from __future__ import annotations

import json
import math
from collections.abc import Callable
from typing import Any

import pandas as pd
import pytest

from etsched.errors import FeedFailed, FeedRefused
from etsched.feeds.ask import FeedAsk, FeedHost
from etsched.feeds.ghcn_daily import fetch_ghcn_daily, parse_ghcn_daily
from etsched.frames.weather import Weather
from tests.feeds.answers import FETCHED, PACIFIC, answer, ask, text_of
from tests.feeds.junk import outcomes

STATION = "USC00999901"
DAYS = ask("2026-07-01", "2026-07-09", station=STATION)
FLAGS = ",,7,0700"


def parsed(change: Callable[[Any], object] | None = None, asked: FeedAsk = DAYS) -> Weather:
    """Parse the answer of shared/feeds after changing it in place."""
    told = json.loads(text_of("ghcn_daily.json"))
    if change is not None:
        change(told)
    return parse_ghcn_daily(answer(json.dumps(told)), asked)


def row(day: str, **elements: tuple[str, str]) -> dict[str, str]:
    made = {"DATE": day, "STATION": STATION}
    for name, (value, flags) in elements.items():
        made |= {name: value, f"{name}_ATTRIBUTES": flags}
    return made


def one_day(**elements: tuple[str, str]) -> Weather:
    return parse_ghcn_daily(answer(json.dumps([row("2026-07-01", **elements)])), DAYS)


def test_text_becomes_numbers_and_days_without_a_row_stay_unknown() -> None:
    weather = parsed()
    daily = weather.daily
    assert daily.index.to_list() == list(pd.date_range("2026-07-01", "2026-07-08"))
    assert daily["tmax_c"].to_list()[:6] == [29.4, 30.6, 31.1, 27.8, 26.1, 30.0]
    assert daily.loc["2026-07-07"].drop("is_forecast").isna().all()
    assert daily[["solar_mj_m2_d", "rh_mean_pct", "dewpoint_c"]].isna().all(axis=None)
    assert weather.hourly is None
    origin = weather.origin
    assert origin is not None
    assert (origin.feed, origin.measured, origin.fetched) == ("ghcn daily", True, FETCHED)


def test_wind_of_an_anemometer_at_10_m() -> None:
    # FAO-56 Annex 2, Table 2.9: the factor from 10 m to 2 m is 0.748.
    weather = parsed()
    assert weather.daily.loc["2026-07-01", "wind_m_s"] == pytest.approx(3.1 * 0.748, abs=0.0005 * 3.1)
    assert "wind is taken as measured at 10 m and brought to 2 m" in weather.notes


def test_a_value_that_failed_the_archives_check_is_left_out() -> None:
    weather = parsed()
    assert math.isnan(weather.daily.loc["2026-07-03", "tmin_c"])
    assert weather.daily.loc["2026-07-03", "tmax_c"] == 31.1
    assert "left out, as the archive's own checks reject them: TMIN of 2026-07-03 (I)" in weather.notes


@pytest.mark.parametrize("flag", list("DGIKLMNORSTWXZ"))
def test_any_quality_flag_is_a_failed_check(flag: str) -> None:
    weather = one_day(TMAX=("29.4", f",{flag},7,0700"), TMIN=("12.8", FLAGS))
    assert math.isnan(weather.daily["tmax_c"].iloc[0])


@pytest.mark.parametrize("flag", list("BDHKLOPTW"))
def test_a_measurement_flag_is_none(flag: str) -> None:
    assert one_day(TMAX=("29.4", f"{flag},,7,0700"), PRCP=("0.0", FLAGS)).daily["rain_mm"].iloc[0] == 0.0
    if flag != "T":
        assert one_day(TMAX=("29.4", f"{flag},,7,0700")).daily["tmax_c"].iloc[0] == 29.4


def test_a_trace_is_no_rain_whatever_stands_beside_it() -> None:
    assert parsed().daily.loc["2026-07-02", "rain_mm"] == 0.0
    assert one_day(PRCP=("0.1", "T,,7,0700")).daily["rain_mm"].iloc[0] == 0.0


def test_rain_read_in_one_is_no_days_rain() -> None:
    weather = parsed()
    # The 5th has a presumed zero of its own, which the reading of the 6th overrules.
    assert weather.daily["rain_mm"].isna().to_list() == [False, False, False, True, True, True, True, False]
    assert weather.daily.loc["2026-07-08", "rain_mm"] == 1.0
    told = "23.1 mm of rain of 2026-07-04 to 2026-07-06 were read in one: no day's rain is known from it"
    assert told in weather.notes


def test_rain_read_in_one_without_the_number_of_days() -> None:
    weather = one_day(TMAX=("29.4", FLAGS), PRCP=("0.0", FLAGS), MDPR=("9.0", FLAGS))
    assert math.isnan(weather.daily["rain_mm"].iloc[0])


@pytest.mark.parametrize(
    ("hour", "is_told"), [("0700", True), ("1159", True), ("2400", False), ("1700", False), ("", False)]
)
def test_a_station_day_that_ends_in_the_morning_is_told(hour: str, is_told: bool) -> None:
    weather = one_day(TMAX=("29.4", f",,7,{hour}"), TMIN=("12.8", ",,7,0700"))
    told = [note for note in weather.notes if "may belong to the day before" in note]
    assert bool(told) is is_told
    if hour == "0700":
        assert told == [
            "the station's day ends at 07:00: its highest temperature and its rain may belong to the day before"
        ]


def test_a_temperature_in_tenths_is_refused() -> None:
    with pytest.raises(FeedRefused, match=r"it gives a tmax_c of 294 on 2026-07-01, outside -60 to 60 degC"):
        one_day(TMAX=("294", FLAGS), TMIN=("12.8", FLAGS))


def test_tenths_that_could_be_degrees_are_refused_by_their_missing_decimal() -> None:
    """A winter in tenths lies within what is possible: -12 to 45 would be a spread nobody notices."""
    days = [row(f"2026-07-0{n}", TMAX=(str(40 + n), FLAGS), TMIN=(str(-12 + n), FLAGS)) for n in (1, 2, 3)]
    with pytest.raises(FeedRefused, match="it gives temperatures such as -11 without a decimal, which are tenths"):
        parse_ghcn_daily(answer(json.dumps(days)), DAYS)


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        (lambda told: told.clear(), f"it has nothing of station {STATION} for 2026-07-01 to 2026-07-09"),
        (lambda told: told.append(told[0]), "it gives 2026-07-01 twice"),
        (lambda told: told[0].update(DATE="2026-07-11"), "it gives 2026-07-11, which is still to come"),
        (lambda told: told[0].update(DATE="July 1"), '"July 1" is no day'),
        (lambda told: told[0].pop("DATE"), "is no day"),
        (lambda told: told[0].update(STATION="USC00000001"), f'"USC00000001", not for {STATION}'),
        (lambda told: told[0].update(TMAX=29.4), "it gives 29.4 as TMAX of 2026-07-01, which is no number in text"),
        (lambda told: told[0].update(TMAX="warm"), 'it gives "warm" as TMAX of 2026-07-01'),
        (lambda told: told[0].update(TMAX="1e3"), 'it gives "1e3" as TMAX of 2026-07-01'),
        (
            lambda told: told[0].pop("TMAX_ATTRIBUTES"),
            "it gives TMAX of 2026-07-01 without the flags of the archive's checks",
        ),
        (lambda told: told.append("day"), "a day is not where it should be"),
    ],
)
def test_refused(change: Callable[[Any], object], sentence: str) -> None:
    with pytest.raises(FeedRefused, match=sentence):
        parsed(change)


def test_an_object_a_page_and_half_an_answer() -> None:
    with pytest.raises(FeedRefused, match="it is no list of days"):
        parse_ghcn_daily(answer('{"errorMessage": "Bad Request"}'), DAYS)
    with pytest.raises(FeedRefused, match="web page"):
        parse_ghcn_daily(answer("<html>"), DAYS)
    with pytest.raises(FeedFailed, match="only the beginning") as caught:
        parse_ghcn_daily(answer(text_of("ghcn_daily.json")[:300]), DAYS)
    assert not isinstance(caught.value, FeedRefused)


def test_a_kept_answer_serves_a_later_question() -> None:
    later = ask("2026-07-03", "2026-07-16", today="2026-07-12", station=STATION)
    weather = parsed(asked=later)
    assert weather.daily.index[0] == pd.Timestamp(2026, 7, 3)
    assert "nothing is known after 2026-07-08" in weather.notes


def test_nothing_is_asked_of_the_future(recorder: Any) -> None:
    recorder.body = text_of("ghcn_daily.json")
    ahead = ask("2026-07-01", "2026-07-25", station=STATION)
    fetch_ghcn_daily(recorder, FeedHost("https://archive.example"), ahead)
    assert recorder.request.params["endDate"] == "2026-07-10"


def test_what_is_asked(recorder: Any) -> None:
    recorder.body = text_of("ghcn_daily.json")
    fetch_ghcn_daily(recorder, FeedHost("https://archive.example"), DAYS)
    assert recorder.request.url == "https://archive.example/access/services/data/v1"
    sent = recorder.request.params
    assert (sent["dataset"], sent["units"], sent["format"]) == ("daily-summaries", "metric", "json")
    assert (sent["stations"], sent["includeAttributes"]) == (STATION, "true")
    assert (sent["startDate"], sent["endDate"]) == ("2026-07-01", "2026-07-09")
    assert {"TMAX", "TMIN", "PRCP", "AWND", "MDPR", "DAPR"} == set(sent["dataTypes"].split(","))


def test_a_site_without_a_station_is_told_so(recorder: Any) -> None:
    with pytest.raises(FeedRefused, match="GHCN-Daily has stations only, and the site names none"):
        fetch_ghcn_daily(recorder, FeedHost("https://archive.example"), ask("2026-07-01", "2026-07-09"))


@pytest.mark.parametrize("station", ["USW00099901", "USC00999902"])
def test_from_the_loopback_server(server: Any, client: Any, station: str) -> None:
    asked = ask("2026-06-20", "2026-07-12", place=PACIFIC, today="2026-07-13", station=station)
    _, weather = fetch_ghcn_daily(client, FeedHost(f"{server.base_url}/ghcn"), asked)
    daily = weather.daily
    assert len(daily) >= 20
    assert (daily["tmax_c"] > daily["tmin_c"])[daily["tmax_c"].notna()].all()
    is_observer = station.startswith("USC")
    assert daily["wind_m_s"].notna().any() != is_observer
    assert any("day ends at 07:00" in note for note in weather.notes) == is_observer
    # The first weekend of July is read on the Monday after it.
    assert daily.loc["2026-07-04":"2026-07-06", "rain_mm"].isna().all() == is_observer


@pytest.mark.parametrize(
    ("fault", "sentence"),
    [("wrong-units", "tenths"), ("doubled-days", "twice"), ("html", "web page"), ("all-null", "knows nothing of")],
)
def test_faults_of_the_loopback_server(server: Any, client: Any, fault: str, sentence: str) -> None:
    server.set_fault("ghcn", fault)
    asked = ask("2026-06-20", "2026-07-12", place=PACIFIC, station="USW00099901")
    with pytest.raises(FeedRefused, match=sentence):
        fetch_ghcn_daily(client, FeedHost(f"{server.base_url}/ghcn"), asked)
    assert server.counts() == {"ghcn": 1}


def test_junk_in_any_place_is_refused_or_not_known() -> None:
    counts = outcomes(json.loads(text_of("ghcn_daily.json")), lambda raw: parse_ghcn_daily(raw, DAYS))
    assert counts["refused"] > 200
    assert counts["accepted"] > 20  # a key that is missing, and text that could stand there
