"""The site's own rain gauge: the unit in its heading, days nobody read, and what a gauge cannot have measured."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pandas as pd
import pytest

from etsched.errors import FeedFailed, FeedRefused
from etsched.feeds.ask import FeedAsk, FeedHost
from etsched.feeds.rain_gauge import fetch_rain_gauge, parse_rain_gauge, read_rain_gauge
from etsched.frames.weather import DAILY_COLUMNS, Weather
from tests.feeds.answers import FETCHED, PACIFIC, SHARED, answer, ask, text_of

DAYS = ask("2026-07-01", "2026-07-09")


def parsed(text: str, asked: FeedAsk = DAYS) -> Weather:
    return parse_rain_gauge(answer(text, "text/csv"), asked)


def test_inches_a_trace_and_days_nobody_read() -> None:
    weather = parsed(text_of("rain_gauge.csv"))
    daily = weather.daily
    assert list(daily.columns) == [*DAILY_COLUMNS, "is_forecast"]
    assert daily.index.to_list() == list(pd.date_range("2026-07-01", "2026-07-06"))
    assert daily["rain_mm"].dropna().to_list() == pytest.approx([0.0, 0.0, 6.35, 27.94])
    # An empty cell and a day without a row are unknown, not dry.
    assert daily["rain_mm"].isna().to_list() == [False, False, False, True, True, False]
    assert daily.drop(columns=["rain_mm", "is_forecast"]).isna().all(axis=None)
    assert not daily["is_forecast"].any()
    assert "not known on 2026-07-04 to 2026-07-05: rain_mm" in weather.notes
    assert "nothing is known after 2026-07-06" in weather.notes
    origin = weather.origin
    assert origin is not None
    assert (origin.feed, origin.measured, origin.fetched) == ("rain gauge", True, FETCHED)


@pytest.mark.parametrize(
    ("heading", "cell", "rain_mm"),
    [("rain_mm", "6.4", 6.4), ("rain_in", "0.25", 6.35), ("rain_cm", "1.2", 12.0), ("rain_inch", "1", 25.4)],
)
def test_the_unit_stands_in_the_heading(heading: str, cell: str, rain_mm: float) -> None:
    assert parsed(f"date,{heading}\n2026-07-01,{cell}\n").daily["rain_mm"].to_list() == pytest.approx([rain_mm])


def test_other_columns_and_the_order_mean_nothing() -> None:
    weather = parsed("note,rain_mm,date\nwindy,2,2026-07-02\n,1,2026-07-01\n")
    assert weather.daily["rain_mm"].to_list() == [1.0, 2.0]


def test_rain_of_today_is_measured() -> None:
    daily = parsed("date,rain_mm\n2026-07-10,3\n", ask("2026-07-01", "2026-07-16")).daily
    assert daily["is_forecast"].to_list() == [False]


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("date,rain\n2026-07-01,1\n", 'its headings are "date" and "rain", where date and rain_in or rain_mm should'),
        ("day,rain_mm\n2026-07-01,1\n", "where date and rain_in or rain_mm should stand"),
        ("date,rain_mm,rain_in\n2026-07-01,1,1\n", "where date and rain_in or rain_mm should stand"),
        ("date,rain_kPa\n2026-07-01,1\n", "its heading rain_kPa names no depth"),
        ("date,rain_buckets\n2026-07-01,1\n", "its heading rain_buckets names no depth"),
        ("date,rain_mm\n7/1/2026,1\n", 'on line 2 of its table "7/1/2026" is no date as YYYY-MM-DD'),
        ("date,rain_mm\n2026-07-01,1\n2026-07-01,2\n", "on line 3 of its table 2026-07-01 stands again, after line 2"),
        ("date,rain_mm\n2026-07-11,1\n", "2026-07-11 is still to come, and no gauge has measured it"),
        ("date,rain_mm\n2026-07-01,some\n", 'on line 2 of its table "some" under "rain_mm" is no number'),
        ("date,rain_mm\n2026-07-01,-1\n", "it gives a rain_mm of -1 on 2026-07-01, outside 0 to 800 mm"),
        ("date,rain_in\n2026-07-01,40\n", "it gives a rain_mm of 1016 on 2026-07-01"),
        ("date,rain_mm\n2026-06-01,1\n", "it knows nothing of 2026-07-01 to 2026-07-09"),
        ("date,rain_mm\n2026-07-01,\n", "it knows nothing of 2026-07-01 to 2026-07-09"),
        ("<html>", "web page"),
    ],
)
def test_refused(text: str, sentence: str) -> None:
    with pytest.raises(FeedRefused, match=sentence):
        parsed(text)


def test_one_absurd_day_among_many_is_rejected() -> None:
    rows = "".join(f"2026-07-0{day},{9999 if day == 5 else 1}\n" for day in range(1, 10))
    weather = parsed("date,rain_mm\n" + rows)
    assert weather.daily["rain_mm"].isna().sum() == 1
    assert "rain_mm of 9999 on 2026-07-05 is rejected, outside 0 to 800 mm" in weather.notes


def test_no_table_may_be_asked_for_again() -> None:
    for text in ("", "date,rain_mm\n", "date,rain_mm\n2026-07-01\n"):
        with pytest.raises(FeedFailed, match="it sends no whole table") as caught:
            parsed(text)
        assert not isinstance(caught.value, FeedRefused)


def test_from_a_file(tmp_path: Path) -> None:
    weather = read_rain_gauge(SHARED / "rain_gauge.csv", DAYS)
    pd.testing.assert_frame_equal(weather.daily, parsed(text_of("rain_gauge.csv")).daily)
    for wrong in (tmp_path, tmp_path / "none.csv", Path("a\0b")):
        with pytest.raises(FeedRefused, match="the file cannot be read"):
            read_rain_gauge(wrong, DAYS)


def test_from_the_loopback_server(server: Any, client: Any) -> None:
    host = FeedHost(f"{server.base_url}/gauge/grange.csv?start={{first}}&end={{last}}")
    asked = ask("2026-06-20", "2026-07-16", place=PACIFIC, today="2026-07-13")
    _, weather = fetch_rain_gauge(client, host, asked)
    assert weather.daily.index[0] == pd.Timestamp(2026, 6, 20)
    assert weather.daily["rain_mm"].max() > 0.0


@pytest.mark.parametrize(
    ("fault", "sentence"),
    [("doubled-days", "stands again"), ("html", "web page"), ("all-null", "knows nothing of")],
)
def test_faults_of_the_loopback_server(server: Any, client: Any, fault: str, sentence: str) -> None:
    server.set_fault("gauge", fault)
    host = FeedHost(f"{server.base_url}/gauge/grange.csv")
    with pytest.raises(FeedRefused, match=sentence):
        fetch_rain_gauge(client, host, ask("2026-06-20", "2026-07-12", place=PACIFIC, today="2026-07-13"))
    assert server.counts() == {"gauge": 1}
