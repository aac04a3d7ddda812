"""Tables of agronomic stations: marks by position, standard time, the hour 2400, US and metric units."""

from __future__ import annotations

import csv
from datetime import date
from io import StringIO
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd
import pytest

from etsched.errors import FeedFailed, FeedRefused
from etsched.feeds.agronomic_station import (
    fetch_agronomic_station,
    parse_agronomic_station,
    read_agronomic_station,
)
from etsched.feeds.ask import FeedAsk, FeedHost
from etsched.frames.weather import Weather
from etsched.model.site import Place
from tests.feeds.answers import FETCHED, PACIFIC, SHARED, answer, ask, text_of

DAYS = ask("2026-07-01", "2026-07-04", place=PACIFIC, station="712")
US, METRIC = "station_daily_us.csv", "station_daily_metric.csv"


def parsed(text: str, asked: FeedAsk = DAYS, **more: Any) -> Weather:
    return parse_agronomic_station(answer(text, "text/csv"), asked, **more)


def changed(name: str, day: int, heading: str, value: str, mark: str | None = None) -> str:
    """Give a file of shared/feeds with one cell, and perhaps its mark, changed; `day` counts rows from 1."""
    rows = list(csv.reader(StringIO(text_of(name))))
    at = rows[0].index(heading)
    rows[day][at] = value
    if mark is not None:
        rows[day][at + 1] = mark
    return "".join(",".join(row) + "\n" for row in rows)


def test_us_units() -> None:
    weather = parsed(text_of(US))
    first = weather.daily.loc["2026-07-01"]
    assert first["tmax_c"] == pytest.approx((96.3 - 32.0) / 1.8)
    assert first["tmin_c"] == pytest.approx((51.7 - 32.0) / 1.8)
    assert first["dewpoint_c"] == pytest.approx((60.9 - 32.0) / 1.8)
    assert first["vapour_pressure_kpa"] == pytest.approx(1.83)
    assert first["solar_mj_m2_d"] == pytest.approx(680.0 * 0.04184)  # the thermochemical calorie's langley
    assert (first["rh_max_pct"], first["rh_min_pct"], first["rh_mean_pct"]) == (99.0, 46.0, 66.0)
    assert weather.daily.loc["2026-07-04", "rain_mm"] == pytest.approx(12.7)
    assert weather.daily["sunshine_h"].isna().all()
    assert not weather.daily["is_forecast"].any()


def test_wind_is_measured_at_2_m_and_not_rescaled() -> None:
    assert parsed(text_of(US)).daily.loc["2026-07-01", "wind_m_s"] == pytest.approx(4.2 * 0.44704, rel=1e-12)
    assert parsed(text_of(METRIC)).daily.loc["2026-07-01", "wind_m_s"] == 1.878


def test_metric_units_tell_the_same_days() -> None:
    metric, us = parsed(text_of(METRIC)).daily, parsed(text_of(US)).daily
    assert metric.loc["2026-07-01", "solar_mj_m2_d"] == pytest.approx(329.30 * 0.0864)
    assert metric.loc["2026-07-02", "tmax_c"] == 37.0
    # To the digits that the metric table has.
    np.testing.assert_allclose(
        metric.drop(columns="is_forecast"), us.drop(columns="is_forecast"), rtol=5e-4, atol=0.005
    )


def test_marks_stand_behind_their_value_and_decide_on_it() -> None:
    weather = parsed(text_of(US))
    third = weather.daily.loc["2026-07-03"]
    assert np.isnan(third[["tmax_c", "solar_mj_m2_d", "rain_mm"]].to_numpy(dtype=float)).all()
    assert third["tmin_c"] == pytest.approx(15.0)
    second = weather.daily.loc["2026-07-02"]
    assert second["solar_mj_m2_d"] == pytest.approx(700.0 * 0.04184)  # marked Y
    assert second["tmin_c"] == pytest.approx(13.0)
    assert "Sol Rad (Ly/day) as marked by the station: 1 × H left out, 1 × Y used" in weather.notes
    assert "Max Air Temp (F) as marked by the station: 1 × M left out" in weather.notes
    assert not any("ETo" in note for note in weather.notes)
    assert "not known on 2026-07-03: tmax_c, solar_mj_m2_d, rain_mm" in weather.notes


@pytest.mark.parametrize(
    ("accepted", "known_days"),
    [(("", "Y"), [1, 2, 4]), (("",), [1, 4]), (("", "Y", "H"), [1, 2, 3, 4]), (("Y",), [2])],
)
def test_a_site_says_which_marks_it_accepts(accepted: tuple[str, ...], known_days: list[int]) -> None:
    solar = parsed(text_of(US), accepted=accepted).daily["solar_mj_m2_d"].dropna()
    assert [stamp.day for stamp in solar.index] == known_days


@pytest.mark.parametrize("mark", ["R", "S", "M", "H", "A", "r", " "])
def test_marks_of_other_letters(mark: str) -> None:
    kept = parsed(changed(US, 4, "Max Air Temp (F)", "100.4", mark)).daily.loc["2026-07-04", "tmax_c"]
    assert np.isnan(kept) if mark.strip() else kept == pytest.approx(38.0)


def test_marks_in_small_letters() -> None:
    daily = parsed(changed(US, 4, "Max Air Temp (F)", "100.4", "y")).daily
    assert daily.loc["2026-07-04", "tmax_c"] == pytest.approx(38.0)


def test_a_table_without_marks_is_taken_as_it_is() -> None:
    rows = list(csv.reader(StringIO(text_of(US))))
    keep = [at for at, heading in enumerate(rows[0]) if heading != "qc"]
    text = "".join(",".join(row[at] for at in keep) + "\n" for row in rows)
    weather = parsed(text)
    assert weather.daily.loc["2026-07-03", "rain_mm"] == pytest.approx(6.35)
    assert not any("marked" in note for note in weather.notes)


def test_dates_are_month_first_and_the_order_of_rows_means_nothing() -> None:
    head, *rows = text_of(US).splitlines()
    pd.testing.assert_frame_equal(parsed("\n".join([head, *reversed(rows)])).daily, parsed(text_of(US)).daily)
    assert parsed(text_of(US)).daily.index[1] == pd.Timestamp(2026, 7, 2)


def test_days_by_standard_time_are_told_where_the_site_changes_its_clock() -> None:
    told = "the station's days run by standard time, so that in summer they begin an hour late by the site's clock"
    assert told in parsed(text_of(US)).notes
    phoenix = Place(33.5, -112.0, 330.0, ZoneInfo("America/Phoenix"))
    assert told not in parsed(text_of(US), ask("2026-07-01", "2026-07-04", place=phoenix)).notes
    winter = text_of(US).replace(",7/", ",1/")
    assert told not in parsed(winter, ask("2026-01-01", "2026-01-04", place=PACIFIC)).notes


def hours(name: str) -> Weather:
    return parsed(text_of(name), ask("2026-07-01", "2026-07-02", place=PACIFIC, station="712"))


def test_hours_are_named_by_their_end_and_by_standard_time() -> None:
    hourly = hours("station_hourly_us.csv").hourly
    assert hourly is not None
    # 0100 PST of July 1 begins at 00:00 −08:00.
    assert hourly.index[0] == pd.Timestamp("2026-07-01 08:00", tz="UTC")
    assert hourly.loc["2026-07-01 08:00+00:00", "temperature_c"] == pytest.approx((55.3 - 32.0) / 1.8)
    # 2400 of July 1 is the next day's 00:00 and ends the hour of 23:00 −08:00.
    assert hourly.loc["2026-07-02 07:00+00:00", "rain_mm"] == pytest.approx(5.08)
    assert hourly["rain_mm"].sum() == pytest.approx(5.08)  # 2400 of July 2 is July 3 by the site's clock
    assert hourly.loc["2026-07-01 08:00+00:00", "wind_m_s"] == pytest.approx(3.1 * 0.44704)


def test_hours_of_sun_in_both_units() -> None:
    us, metric = (hours(f"station_hourly_{form}.csv").hourly for form in ("us", "metric"))
    assert us is not None
    assert metric is not None
    rows = list(csv.DictReader(StringIO(text_of("station_hourly_us.csv"))))
    noon = next(row for row in rows if row["Hour (PST)"] == "1200")
    by_hand = float(noon["Sol Rad (Ly/day)"]) * 0.04184 / 24.0
    assert us.loc["2026-07-01 19:00+00:00", "solar_mj_m2_h"] == pytest.approx(by_hand)
    np.testing.assert_allclose(metric, us, rtol=5e-4, atol=0.005)


def test_only_days_whole_by_the_sites_clock_are_made_of_hours() -> None:
    """By the clock July 1 began an hour before the table, and July 2 is whole."""
    weather = hours("station_hourly_us.csv")
    daily = weather.daily
    assert daily.index.to_list() == [pd.Timestamp(2026, 7, 2)]
    assert daily["rain_mm"].to_list() == pytest.approx([5.08])  # the hour of 2400 PST is 00:00 by the clock
    assert any("not known: 2026-07-01" in note for note in weather.notes)


def test_a_station_in_another_zone_than_the_site() -> None:
    """The heading's clock counts, not the site's."""
    eastern = text_of("station_hourly_us.csv").replace("Hour (PST)", "Hour (EST)")
    hourly = parsed(eastern, ask("2026-07-01", "2026-07-02", place=PACIFIC)).hourly
    assert hourly is not None
    assert hourly.index[0] == pd.Timestamp("2026-07-01 07:00", tz="UTC")  # 03:00 EST, the site's midnight
    assert hourly.loc["2026-07-02 04:00+00:00", "rain_mm"] == pytest.approx(5.08)  # 23:00 to 24:00 EST
    plain = text_of("station_hourly_us.csv").replace("Hour (PST)", "Hour")
    own = parsed(plain, ask("2026-07-01", "2026-07-02", place=PACIFIC)).hourly
    assert own is not None
    assert own.index[0] == pd.Timestamp("2026-07-01 08:00", tz="UTC")


def hourly_table(first: date, days: int) -> str:
    """Write an hourly table of a mild station, by standard time."""
    lines = ["Date,Hour (PST),Air Temp (C),qc,Precip (mm),qc"]
    for day in pd.date_range(first, periods=days):
        for hour in range(1, 25):
            lines.append(f"{day.month}/{day.day}/{day.year},{hour:02d}00,{10 + hour % 12},,1.0,")
    return "\n".join(lines)


@pytest.mark.parametrize(
    ("first", "last", "hours_of_days"),
    [
        ("2026-03-06", "2026-03-09", [24.0, 24.0, 23.0, 24.0]),
        # By the clock October 30 began an hour before the table.
        ("2026-10-30", "2026-11-02", [24.0, 25.0, 24.0]),
    ],
)
def test_days_of_23_and_25_hours(first: str, last: str, hours_of_days: list[float]) -> None:
    table = hourly_table(date.fromisoformat(first), 5)
    daily = parsed(table, ask(first, last, place=PACIFIC, today="2026-12-01")).daily
    assert daily["rain_mm"].to_list() == hours_of_days  # a millimetre an hour


def test_an_hour_without_temperature_costs_its_own_day_alone() -> None:
    text = hourly_table(date(2026, 1, 1), 5).replace("1/3/2026,1200,10,,", "1/3/2026,1200,10,M,")
    weather = parsed(text, ask("2026-01-01", "2026-01-05", place=PACIFIC))
    assert weather.daily["tmin_c"].isna().to_list() == [False, False, True, False, False]
    assert "without all their hours of temperature, and so not known: 2026-01-03" in weather.notes


def test_an_hour_without_rain_is_told() -> None:
    text = hourly_table(date(2026, 1, 1), 3).replace("1/2/2026,1200,10,,1.0,", "1/2/2026,1200,10,,,M")
    weather = parsed(text, ask("2026-01-01", "2026-01-03", place=PACIFIC))
    assert weather.daily["rain_mm"].to_list() == [24.0, 23.0, 24.0]
    assert "rain_mm lacks hours on 2026-01-02: the known hours are counted" in weather.notes


def test_a_table_of_several_stations() -> None:
    head, *rows = text_of(US).splitlines()
    other = [row.replace("712,Alder Flat", "713,Birch Flat").replace(",96.3,", ",90.5,") for row in rows]
    both = "\n".join([head, *other, *rows])
    assert parsed(both).daily.loc["2026-07-01", "tmax_c"] == pytest.approx((96.3 - 32.0) / 1.8)
    second = parsed(both, ask("2026-07-01", "2026-07-04", place=PACIFIC, station="713"))
    assert second.daily.loc["2026-07-01", "tmax_c"] == pytest.approx(32.5)
    with pytest.raises(FeedRefused, match="its table holds 2 stations, and the site names none of them"):
        parsed(both, ask("2026-07-01", "2026-07-04", place=PACIFIC))
    with pytest.raises(FeedRefused, match='its table holds station "713", not 99'):
        parsed(both, ask("2026-07-01", "2026-07-04", place=PACIFIC, station="99"))


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        (changed(US, 2, "Date", "7/1/2026"), "it gives 2026-07-01 twice"),
        (changed(US, 2, "Date", "2026-07-02"), 'on line 3 of its table "2026-07-02" is no date as month/day/year'),
        (changed(US, 2, "Date", "13/7/2026"), '"13/7/2026" is no date as month/day/year'),
        (changed(US, 2, "Date", "7/2/99999999999999999999"), "is no date as month/day/year"),
        (changed(US, 1, "Max Air Temp (F)", "warm"), 'on line 2 of its table "warm" under "Max Air Temp'),
        (text_of(US).replace("Max Air Temp (F)", "Max Air Temp (in)"), "does not measure the same thing"),
        (text_of(US).replace("Max Air Temp (F)", "Max Air Temp (X)"), '"X" is no unit'),
        (text_of(US).replace("Max Air Temp (F)", "High (F)"), "its table has no column Max Air Temp"),
        (text_of(US).replace("Date", "Day"), "its table has no column Date"),
        (text_of(US).replace("(F)", "(C)"), "so that its unit cannot be what it says"),
        ("<html>maintenance</html>", "web page"),
        (changed("station_hourly_us.csv", 1, "Hour (PST)", "2500"), 'on line 2 of its table "2500" is no hour'),
        (changed("station_hourly_us.csv", 1, "Hour (PST)", "0130"), '"0130" is no hour from 0100 to 2400'),
        (changed("station_hourly_us.csv", 2, "Hour (PST)", "0100"), "it gives 2026-07-01 08:00 UTC twice"),
        ("\n".join(text_of("station_hourly_us.csv").splitlines()[:20]), "it knows no day of .* with all its hours"),
    ],
)
def test_refused(text: str, sentence: str) -> None:
    with pytest.raises(FeedRefused, match=sentence):
        parsed(text)


def test_days_that_are_not_in_the_table() -> None:
    with pytest.raises(FeedRefused, match="it knows nothing of 2026-06-01 to 2026-06-03"):
        parsed(text_of(US), ask("2026-06-01", "2026-06-03", place=PACIFIC))
    with pytest.raises(FeedRefused, match="it knows nothing of 2026-06-01 to 2026-06-03"):
        parsed(text_of("station_hourly_us.csv"), ask("2026-06-01", "2026-06-03", place=PACIFIC))


def test_half_a_table_may_be_asked_for_again() -> None:
    with pytest.raises(FeedFailed, match="it sends no whole table, line 5: the row has 5 cells") as caught:
        parsed(text_of(US)[:700])
    assert not isinstance(caught.value, FeedRefused)


def test_from_a_file(tmp_path: Path) -> None:
    weather = read_agronomic_station(SHARED / US, DAYS)
    pd.testing.assert_frame_equal(weather.daily, parsed(text_of(US)).daily)
    assert weather.origin is not None
    assert weather.origin.fetched is not None
    assert weather.origin.fetched.utcoffset() is not None
    missing = tmp_path / "none.csv"
    with pytest.raises(FeedRefused, match=r"none\.csv: the file cannot be read"):
        read_agronomic_station(missing, DAYS)
    missing.write_text("a,b\n1,2\n")
    with pytest.raises(FeedRefused, match=r"none\.csv: its table has no column Date"):
        read_agronomic_station(missing, DAYS)


def test_the_address_is_filled_in(recorder: Any) -> None:
    recorder.body = text_of(US)
    host = FeedHost("https://stations.example/{station}/daily.csv?from={first}&to={last}")
    asked = ask("2026-07-01", "2026-07-04", place=PACIFIC, station="71 2")
    with pytest.raises(FeedRefused, match='"712", not 71 2'):
        fetch_agronomic_station(recorder, host, asked)
    # A day more at either end: the station's days begin at another hour than the site's.
    expected = "https://stations.example/71%202/daily.csv?from=2026-06-30&to=2026-07-05"
    assert recorder.request.url == expected
    raw, weather = fetch_agronomic_station(recorder, host, DAYS, accepted=("",))
    assert np.isnan(weather.daily.loc["2026-07-02", "tmin_c"])
    assert weather.origin is not None
    assert (weather.origin.feed, weather.origin.measured) == ("agronomic station", True)
    assert weather.origin.fetched == FETCHED == raw.fetched


@pytest.mark.parametrize("form", ["daily-us", "daily-metric", "hourly-us", "hourly-metric"])
def test_from_the_loopback_server(server: Any, client: Any, form: str) -> None:
    host = FeedHost(f"{server.base_url}/station/{{station}}/{form}.csv?start={{first}}&end={{last}}")
    asked = ask("2026-06-20", "2026-07-12", place=PACIFIC, today="2026-07-13", station="901")
    _, weather = fetch_agronomic_station(client, host, asked)
    daily = weather.daily
    known = daily["tmax_c"].notna()
    assert (daily["tmax_c"] > daily["tmin_c"])[known & daily["tmin_c"].notna()].all()
    assert daily["solar_mj_m2_d"].median() > 20.0
    assert (weather.hourly is not None) == form.startswith("hourly")


def test_hours_and_days_of_the_loopback_server_tell_the_same_weather(server: Any, client: Any) -> None:
    """A site that keeps the station's clock: the days are then the same ones."""
    place = Place(37.4, -119.9, 600.0, ZoneInfo("Etc/GMT+8"))
    asked = ask("2026-06-20", "2026-07-12", place=place, today="2026-07-13", station="901")
    frames = []
    for form in ("daily-metric", "hourly-metric"):
        host = FeedHost(f"{server.base_url}/station/901/{form}.csv?start={{first}}&end={{last}}")
        frames.append(fetch_agronomic_station(client, host, asked)[1].daily)
    both = frames[0]["solar_mj_m2_d"].notna() & frames[1]["solar_mj_m2_d"].notna()
    assert both.sum() >= 5
    # Watts are whole numbers in both tables.
    np.testing.assert_allclose(frames[0]["solar_mj_m2_d"][both], frames[1]["solar_mj_m2_d"][both], atol=0.1)
    wet = frames[0]["rain_mm"].notna() & frames[1]["rain_mm"].notna()
    np.testing.assert_allclose(frames[0]["rain_mm"][wet], frames[1]["rain_mm"][wet], atol=1.3)


@pytest.mark.parametrize(
    ("fault", "sentence"),
    [("doubled-days", "twice"), ("html", "web page"), ("all-null", "knows nothing of"), ("wrong-units", "unit")],
)
def test_faults_of_the_loopback_server(server: Any, client: Any, fault: str, sentence: str) -> None:
    server.set_fault("station", fault)
    host = FeedHost(f"{server.base_url}/station/901/daily-us.csv")
    with pytest.raises(FeedRefused, match=sentence):
        fetch_agronomic_station(client, host, ask("2026-06-20", "2026-07-12", place=PACIFIC))
    assert server.counts() == {"station": 1}
