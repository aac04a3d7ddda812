"""Each host answers the way its documentation and source say: paths, parameters, shapes, units, refusals."""

from __future__ import annotations

import re
import socket
import subprocess
import sys
import threading
import time
from datetime import UTC, date, datetime, timedelta
from itertools import pairwise
from pathlib import Path
from statistics import mean
from typing import Any
from urllib.parse import urlsplit
from urllib.request import urlopen

import pytest

from demo.weather_server import NAMES, WeatherServer, start_weather_server

from .conftest import TODAY, Client

Json = dict[str, Any]


# Open-Meteo


def test_the_three_hosts_are_shaped_as_their_writer_writes(client: Client) -> None:
    found = client.forecast(hourly="temperature_2m,precipitation", daily="shortwave_radiation_sum", timezone="GMT").json
    assert list(found) == [
        "latitude", "longitude", "generationtime_ms", "utc_offset_seconds", "timezone", "timezone_abbreviation",
        "elevation", "hourly_units", "hourly", "daily_units", "daily",
    ]  # fmt: skip
    assert found["hourly_units"] == {"time": "iso8601", "temperature_2m": "°C", "precipitation": "mm"}
    assert found["daily_units"] == {"time": "iso8601", "shortwave_radiation_sum": "MJ/m²"}
    assert found["hourly"]["time"][:2] == ["2026-07-13T00:00", "2026-07-13T01:00"]
    assert found["daily"]["time"] == [f"2026-07-{day}" for day in range(13, 20)]  # 7 days if none are named
    assert {len(series) for series in found["hourly"].values()} == {7 * 24}


def test_units_are_kmh_unless_others_are_asked_for(client: Client) -> None:
    asked = "temperature_2m,wind_speed_10m,precipitation"
    usual = client.forecast(hourly=asked, past_days="30").json
    other = client.forecast(
        hourly=asked, past_days="30", wind_speed_unit="ms", temperature_unit="fahrenheit", precipitation_unit="inch"
    ).json
    assert usual["hourly_units"]["wind_speed_10m"] == "km/h"
    assert list(other["hourly_units"].values()) == ["iso8601", "°F", "m/s", "inch"]
    assert max(usual["hourly"]["precipitation"]) > 0
    for name, factor, offset, step in (
        ("temperature_2m", 1.8, 32.0, 0.05 * 1.8 + 0.051),
        ("wind_speed_10m", 1 / 3.6, 0.0, 0.05 / 3.6 + 0.051),
        ("precipitation", 1 / 25.4, 0.0, 0.005 / 25.4 + 0.00051),
    ):
        for one, two in zip(usual["hourly"][name], other["hourly"][name], strict=True):
            assert two == pytest.approx(one * factor + offset, abs=step)


def test_the_cell_is_not_where_was_asked_and_the_elevation_is_ours_if_told(client: Client) -> None:
    for ask in (client.forecast, client.archive):
        dates = {"start_date": "2026-07-01", "end_date": "2026-07-01"}
        found = ask(**dates).json
        assert (found["latitude"], found["longitude"]) != (37.4, -119.9)
        assert abs(found["latitude"] - 37.4) < 0.26
        assert abs(found["longitude"] + 119.9) < 0.26
        assert ask(elevation="1234", **dates).json["elevation"] == 1234
        assert "elevation" not in ask(elevation="nan", **dates).json


def test_several_places_give_an_array_and_one_a_bare_object(client: Client) -> None:
    many = client.forecast(latitude="37.4,38.0", longitude="-119.9,-120.5", hourly="temperature_2m").json
    assert isinstance(many, list)
    assert [place.get("location_id") for place in many] == [None, 1]
    assert many[0] == client.forecast(hourly="temperature_2m").json
    assert many[0]["hourly"] != many[1]["hourly"]


def test_unix_times_and_clock_times_tell_the_same_instants(client: Client) -> None:
    zone = {"hourly": "temperature_2m", "daily": "temperature_2m_max", "timezone": "America/Los_Angeles"}
    clock, unix = client.forecast(**zone).json, client.forecast(timeformat="unixtime", **zone).json
    assert clock["hourly"]["temperature_2m"] == unix["hourly"]["temperature_2m"]
    assert unix["daily_units"]["time"] == "unixtime"
    midnight = datetime(2026, 7, 13, 7, tzinfo=UTC).timestamp()  # by Pacific summer time
    assert unix["hourly"]["time"][0] == unix["daily"]["time"][0] == midnight
    assert clock["hourly"]["time"][0] == "2026-07-13T00:00"
    # A day's stamp becomes the date of its clock only with the distance from UTC added.
    local = datetime.fromtimestamp(unix["daily"]["time"][0] + unix["utc_offset_seconds"], UTC)
    assert local.isoformat() == "2026-07-13T00:00:00+00:00"


@pytest.mark.parametrize(
    ("today", "offset_s", "name"),
    [(date(2026, 7, 13), -25200, "GMT-7"), (date(2026, 12, 13), -28800, "GMT-8")],
)
def test_one_distance_from_utc_holds_for_all_days(client: Client, today: date, offset_s: int, name: str) -> None:
    client.server.set_today(today)
    winter = {"start_date": "2026-01-10", "end_date": "2026-01-11", "timeformat": "unixtime"}
    found = client.archive(hourly="temperature_2m", timezone="America/Los_Angeles", **winter).json
    assert (found["utc_offset_seconds"], found["timezone_abbreviation"]) == (offset_s, name)
    # Asked for in summer, a winter's day begins at 23:00 of the day before, by its own clock (UTC-8).
    begins = datetime(2026, 1, 10, tzinfo=UTC) - timedelta(seconds=offset_s)
    assert found["hourly"]["time"][0] == begins.timestamp()


def test_half_hour_zones_keep_their_midnight(client: Client) -> None:
    found = client.forecast(hourly="temperature_2m", timezone="Asia/Kolkata", timeformat="unixtime").json
    assert found["timezone_abbreviation"] == "GMT+5:30"
    assert found["hourly"]["time"][0] == datetime(2026, 7, 12, 18, 30, tzinfo=UTC).timestamp()


def test_the_newest_five_days_of_the_archive_are_null(client: Client) -> None:
    dates = {"start_date": "2026-07-01", "end_date": "2026-07-13"}
    found = client.archive(hourly="temperature_2m", daily="temperature_2m_max,sunrise", **dates).json
    known = [value is not None for value in found["hourly"]["temperature_2m"]]
    assert known == [True] * 8 * 24 + [False] * 5 * 24
    assert [value is not None for value in found["daily"]["temperature_2m_max"]] == [True] * 8 + [False] * 5
    assert None not in found["daily"]["sunrise"]


def test_days_are_sums_and_extremes_of_their_own_24_stamps(client: Client) -> None:
    dates = {"start_date": "2026-06-20", "end_date": "2026-07-05", "timezone": "America/Los_Angeles"}
    found = client.archive(
        hourly="temperature_2m,shortwave_radiation,precipitation,et0_fao_evapotranspiration,wind_speed_10m",
        daily="temperature_2m_max,temperature_2m_min,shortwave_radiation_sum,precipitation_sum,precipitation_hours,"
        "et0_fao_evapotranspiration,wind_speed_10m_mean",
        **dates,
    ).json
    hourly, daily = found["hourly"], found["daily"]
    assert max(daily["precipitation_sum"]) > 1
    for number in range(16):
        hours = {name: series[24 * number : 24 * number + 24] for name, series in hourly.items()}
        assert daily["temperature_2m_max"][number] == max(hours["temperature_2m"])
        assert daily["temperature_2m_min"][number] == min(hours["temperature_2m"])
        sun = sum(hours["shortwave_radiation"]) * 0.0036
        assert daily["shortwave_radiation_sum"][number] == pytest.approx(sun, abs=0.01)
        assert daily["precipitation_sum"][number] == pytest.approx(sum(hours["precipitation"]), abs=0.13)
        assert daily["precipitation_hours"][number] == sum(rain >= 0.1 for rain in hours["precipitation"])
        drunk = sum(hours["et0_fao_evapotranspiration"])
        assert daily["et0_fao_evapotranspiration"][number] == pytest.approx(drunk, abs=0.13)
        assert daily["wind_speed_10m_mean"][number] == pytest.approx(mean(hours["wind_speed_10m"]), abs=0.1)


def test_sunrise_and_daylight_fit_published_times(client: Client) -> None:
    # Equinox at longitude 0: the sun is up for about 12 h, and noon is near 12:07 UTC (equation of time, -7 min).
    dates = {"start_date": "2026-03-20", "end_date": "2026-03-20"}
    found = client.archive(latitude="40", longitude="0", daily="sunrise,sunset,daylight_duration", **dates).json[
        "daily"
    ]
    assert found["daylight_duration"][0] == pytest.approx(12 * 3600, abs=600)
    rise, fall = (datetime.fromisoformat(found[name][0]) for name in ("sunrise", "sunset"))
    assert abs(rise + (fall - rise) / 2 - datetime(2026, 3, 20, 12, 7)) < timedelta(minutes=3)  # noqa: DTZ001


@pytest.mark.parametrize(("model", "members"), [("ncep_gefs025", 30), ("ecmwf_ifs025_ensemble", 50)])
def test_an_ensemble_tells_its_control_by_the_bare_name(client: Client, model: str, members: int) -> None:
    found = client.ensemble(hourly="temperature_2m", models=model, forecast_days="8").json
    names = ["time", "temperature_2m", *(f"temperature_2m_member{number:02d}" for number in range(1, members + 1))]
    assert list(found["hourly"]) == list(found["hourly_units"]) == names
    spread = [max(values) - min(values) for values in zip(*(found["hourly"][name] for name in names[1:]), strict=True)]
    assert max(spread[:21]) == 0  # until noon here, 20:00 UTC, the day is known
    assert mean(spread[-48:]) > mean(spread[24:72]) > 0.1


def test_several_models_add_their_name(client: Client) -> None:
    dates = {"start_date": "2026-07-01", "end_date": "2026-07-01"}
    found = client.archive(hourly="temperature_2m", models="era5,era5_land", **dates).json
    assert list(found["hourly"]) == ["time", "temperature_2m_era5", "temperature_2m_era5_land"]


_DATES = {"start_date": "2026-07-01", "end_date": "2026-07-02"}
_REFUSALS = [
    ("forecast", {"latitude": "95"}, "Latitude must be in range of -90 to 90°. Given: 95.0."),
    ("archive", {}, "Both 'start_date' and 'end_date' must be set in the url"),
    ("forecast", {"start_date": "2026-07-01"}, "Both 'start_date' and 'end_date' must be set in the url"),
    (
        "forecast",
        {"past_days": "3", **_DATES},
        "Parameter 'past_days' is mutually exclusive with 'start_date' and 'end_date'",
    ),
    ("forecast", {"timezone": "Mars/Olympus"}, "Invalid timezone"),
]


@pytest.mark.parametrize(("host", "query", "reason"), _REFUSALS)
def test_refusals_are_in_the_hosts_own_words(client: Client, host: str, query: dict[str, str], reason: str) -> None:
    found = getattr(client, host)(**query)
    assert found.status == 400
    assert found.json == {"error": True, "reason": reason}


def test_the_range_of_days_is_told_as_the_host_tells_it(client: Client) -> None:
    client.server.set_today(date(2026, 11, 24))
    reason = "Parameter 'start_date' is out of allowed range from 2026-08-23 to 2026-12-10"
    found = client.forecast(start_date="2026-08-22", end_date="2026-08-23")
    assert (found.status, found.json["reason"]) == (400, reason)
    assert client.forecast(start_date="2026-08-23", end_date="2026-12-09", hourly="temperature_2m").status == 200
    assert client.forecast(start_date="2026-08-23", end_date="2026-12-10").status == 400


@pytest.mark.parametrize(
    ("host", "query"),
    [
        ("forecast", {"hourly": "temperature_3m"}),
        ("forecast", {"daily": "temperature_2m"}),
        ("forecast", {"latitude": "1,2"}),
        ("forecast", {"latitude": "north"}),
        ("forecast", {"latitude": "nan"}),
        ("forecast", {"elevation": "1e9"}),
        ("forecast", {"forecast_days": "17"}),
        ("forecast", {"past_days": "93"}),
        ("forecast", {"past_days": "-1"}),
        ("forecast", {"wind_speed_unit": "m/s"}),
        ("forecast", {"forcast_days": "7"}),
        ("archive", {"start_date": "1939-12-31", "end_date": "1940-01-02"}),
        ("archive", {"start_date": "2026-07-02", "end_date": "2026-07-01"}),
        ("archive", {"start_date": "July", "end_date": "2026-07-01"}),
        ("archive", {"models": "gfs", **_DATES}),
        ("ensemble", {"hourly": "temperature_2m"}),
    ],
)
def test_wrong_parameters_are_refused(client: Client, host: str, query: dict[str, str]) -> None:
    found = getattr(client, host)(**query)
    assert found.status == 400
    assert found.json["error"] is True
    assert found.json["reason"]


def test_a_key_on_the_free_host_leads_to_the_customers_host(client: Client) -> None:
    found = client.forecast(hourly="temperature_2m", apikey="secret")
    assert found.status in {301, 302, 303, 307, 308}
    assert found.headers["Location"].startswith("http://localhost:")
    with urlopen(found.headers["Location"], timeout=5) as answer:  # noqa: S310 - loopback
        assert answer.status == 200
    paid = "/customer-open-meteo-forecast/v1/forecast"
    place = {"latitude": "37.4", "longitude": "-119.9", "hourly": "temperature_2m"}
    assert client.get(paid, **place, apikey="secret").json == client.forecast(hourly="temperature_2m").json
    assert client.get(paid, **place).status == 400


def test_calls_are_weighed_and_limits_told(client: Client) -> None:
    nine = (
        "temperature_2m,relative_humidity_2m,dew_point_2m,wind_speed_10m,shortwave_radiation,precipitation,"
        "et0_fao_evapotranspiration,vapour_pressure_deficit,surface_pressure"
    )
    client.forecast(hourly=nine, past_days="16", forecast_days="7")
    assert client.server.allowance.spent == pytest.approx(1.5, abs=0.05)  # as its documentation reckons
    client.forecast(latitude="95")
    assert client.server.allowance.spent == pytest.approx(2.5, abs=0.05)  # a failed request counts one
    sentences = {
        "minutely": "Minutely API request limit exceeded. Please try again in one minute.",
        "daily": "Daily API request limit exceeded. Please try again tomorrow.",
        "concurrent": "Too many concurrent requests",
    }
    for span, sentence in sentences.items():
        usual, client.server.allowance.limits[span] = client.server.allowance.limits[span], 0
        found = client.forecast(hourly="temperature_2m")
        assert (found.status, found.json) == (429, {"error": True, "reason": sentence})
        assert "Retry-After" not in found.headers
        client.server.allowance.limits[span] = usual
    client.server.forget()
    assert client.forecast(hourly="temperature_2m").status == 200
    assert client.server.allowance.spent == 1


# NASA POWER


def test_power_tells_days_with_tails_of_their_own(client: Client) -> None:
    found = client.power().json
    assert found["type"] == "Feature"
    assert found["geometry"]["coordinates"][:2] == [-119.9, 37.4]
    assert (found["header"]["fill_value"], found["header"]["time_standard"]) == (-999.0, "LST")
    assert {name: of["units"] for name, of in found["parameters"].items()} == {
        "T2M_MAX": "C", "T2M_MIN": "C", "ALLSKY_SFC_SW_DWN": "MJ/m^2/day", "PRECTOTCORR": "mm/day",
    }  # fmt: skip
    table = found["properties"]["parameter"]
    assert list(table["T2M_MAX"]) == [f"202607{day:02d}" for day in range(1, 13)]
    assert [value != -999.0 for value in table["T2M_MAX"].values()] == [True] * 9 + [False] * 3
    assert [value != -999.0 for value in table["ALLSKY_SFC_SW_DWN"].values()] == [True] * 5 + [False] * 7


def test_power_gives_energy_people_kilowatt_hours(client: Client) -> None:
    metric, energy = client.power().json, client.power(community="RE").json
    assert energy["parameters"]["ALLSKY_SFC_SW_DWN"]["units"].startswith("kW")
    one, two = (found["properties"]["parameter"]["ALLSKY_SFC_SW_DWN"]["20260702"] for found in (metric, energy))
    assert two == pytest.approx(one / 3.6, abs=0.01)


@pytest.mark.parametrize(
    "query",
    [
        {"parameters": ",".join(["T2M"] * 21)},
        {"parameters": "T3M"},
        {"parameters": ""},
        {"community": ""},
        {"community": "XX"},
        {"latitude": "91"},
        {"start": "2026-07-01"},
        {"start": "20260713", "end": "20260701"},
        {"start": "19810101"},
        {"time-standard": "PST"},
    ],
)
def test_power_refuses_with_422_and_a_message(client: Client, query: dict[str, str]) -> None:
    found = client.power(**query)
    assert found.status == 422
    assert found.json["message"]


def test_power_takes_20_parameters(client: Client) -> None:
    assert client.power(parameters=",".join(["T2M"] * 20)).status == 200


# NWS


_SPAN = re.compile(r"P(?:(\d+)D)?(?:T(\d+)H)?")


def unmerged(layer: Json) -> dict[datetime, float | None]:
    """Give the value of every hour."""
    found: dict[datetime, float | None] = {}
    for piece in layer["values"]:
        start, _, span = piece["validTime"].partition("/")
        match = _SPAN.fullmatch(span)
        assert match is not None
        for hour in range(24 * int(match[1] or 0) + int(match[2] or 0)):
            at = datetime.fromisoformat(start) + timedelta(hours=hour)
            assert at not in found
            found[at] = piece["value"]
    return found


def test_a_point_leads_to_its_cell(client: Client) -> None:
    found = client.get("/nws/points/37.4,-119.9")
    assert found.headers["Content-Type"] == "application/geo+json"
    told = found.json["properties"]
    assert told["timeZone"] == "America/Los_Angeles"
    cell = f"{client.server.base_url}/nws/gridpoints/{told['gridId']}/{told['gridX']},{told['gridY']}"
    assert told["forecastGridData"] == cell


def test_a_cell_tells_a_week_in_merged_intervals(client: Client) -> None:
    told = client.get(client.cell()).json["properties"]
    assert datetime.fromisoformat(told["updateTime"]) == datetime(2026, 7, 13, 12, tzinfo=UTC)
    assert told["elevation"]["unitCode"] == "wmoUnit:m"
    units = {name: layer["uom"] for name, layer in told.items() if isinstance(layer, dict) and "uom" in layer}
    assert units["temperature"] == units["dewpoint"] == "wmoUnit:degC"
    assert units["windSpeed"] == "wmoUnit:km_h-1"
    assert units["quantitativePrecipitation"] == "wmoUnit:mm"
    assert units["relativeHumidity"] == units["skyCover"] == "wmoUnit:percent"
    assert not [name for name in told if "solar" in name.lower() or "radiation" in name.lower()]
    hours = unmerged(told["temperature"])
    assert 7 * 24 <= len(hours) < 8 * 24
    for name in ("temperature", "skyCover", "probabilityOfPrecipitation"):
        values = [piece["value"] for piece in told[name]["values"]]
        assert all(one != two for one, two in pairwise(values))  # equal neighbours are merged
    spans = [piece["validTime"].partition("/")[2] for piece in told["skyCover"]["values"]]
    assert any(span.startswith("P1D") for span in spans)
    assert any(re.fullmatch(r"PT\d+H", span) for span in spans)
    assert None in unmerged(told["dewpoint"]).values()
    assert None in unmerged(told["skyCover"]).values()


def test_a_cell_tells_the_weather_of_the_other_feeds_in_whole_degrees_f(client: Client) -> None:
    told = unmerged(client.get(client.cell()).json["properties"]["temperature"])
    hourly = client.forecast(hourly="temperature_2m", timeformat="unixtime", forecast_days="9").json["hourly"]
    other = dict(zip(hourly["time"], hourly["temperature_2m"], strict=True))
    for at, value in told.items():
        assert value is not None
        assert value == pytest.approx(other[at.timestamp()], abs=0.5 / 1.8 + 0.06)
        assert value * 1.8 == pytest.approx(round(value * 1.8), abs=0.001)


def test_spans_are_written_as_the_service_writes_them() -> None:
    from demo.weather_server.nws_layers import span_of

    assert [span_of(hours) for hours in (1, 13, 24, 30)] == ["PT1H", "PT13H", "P1D", "P1DT6H"]


def test_rain_is_told_as_totals_of_six_hours(client: Client) -> None:
    client.server.set_today(date(2026, 6, 22))  # rain follows in the next days
    rain = client.get(client.cell()).json["properties"]["quantitativePrecipitation"]["values"]
    assert {piece["validTime"].partition("/")[2] for piece in rain[1:-1]} == {"PT6H"}
    assert {datetime.fromisoformat(piece["validTime"][:25]).hour for piece in rain[1:]} == {0, 6, 12, 18}
    asked = {"hourly": "precipitation", "timeformat": "unixtime", "past_days": "0", "forecast_days": "9"}
    other = client.forecast(**asked).json["hourly"]
    ends_at = dict(zip(other["time"], other["precipitation"], strict=True))
    assert sum(piece["value"] for piece in rain) > 2
    for piece in rain[1:-1]:
        start = int(datetime.fromisoformat(piece["validTime"][:25]).timestamp())
        six = sum(ends_at[start + 3600 * hour] for hour in range(1, 7))
        assert piece["value"] == pytest.approx(six, abs=0.035)


@pytest.mark.parametrize("agent", [{}, {"User-Agent": "python"}])
def test_nws_wants_to_know_whom_to_call(client: Client, agent: dict[str, str]) -> None:
    found = client.get("/nws/points/37.4,-119.9", agent)
    assert found.status == 403
    assert found.json["status"] == 403


def test_nws_refuses_parameters_it_does_not_know(client: Client) -> None:
    found = client.get("/nws/points/37.4,-119.9", now="1")
    assert found.status == 400
    assert found.headers["Content-Type"] == "application/problem+json"
    assert set(found.json) >= {"type", "title", "status", "detail", "instance", "correlationId"}


def test_nws_sends_an_overexact_point_on(client: Client) -> None:
    found = client.get("/nws/points/37.40004,-119.90001")
    assert (found.status, found.headers["Location"]) == (301, "/nws/points/37.4,-119.9")
    assert client.get("/nws/points/37.4001,-119.9001").status == 200


@pytest.mark.parametrize(("path", "kind"), [("/nws/points/51.5,-0.1", "InvalidPoint"), ("/nws/gridpoints/XXX/1,1", "")])
def test_nws_has_nothing_for_other_places(client: Client, path: str, kind: str) -> None:
    found = client.get(path)
    assert found.status == 404
    assert kind in found.json["type"]


def test_nws_answers_304_until_the_forecast_is_renewed(client: Client) -> None:
    path = client.cell()
    first = client.get(path)
    assert first.headers["Last-Modified"] == "Mon, 13 Jul 2026 12:00:00 GMT"
    assert "max-age" in first.headers["Cache-Control"]
    known = {**dict(first.headers), "User-Agent": "a@b.example", "If-Modified-Since": first.headers["Last-Modified"]}
    known = {name: known[name] for name in ("User-Agent", "If-Modified-Since")}
    again = client.get(path, known)
    assert (again.status, again.body) == (304, b"")
    client.server.set_today(TODAY + timedelta(days=1))
    assert client.get(path, known).status == 200
    assert client.get(path, known | {"If-Modified-Since": "yesterday"}).status == 200
    assert [seen.status for seen in client.server.requests][-3:] == [304, 200, 200]


# GHCN-Daily


def test_ghcn_tells_text_and_leaves_out_what_is_missing(client: Client) -> None:
    rows = client.ghcn(startDate="2026-01-01").json
    assert [row["DATE"] for row in rows] == [
        str(date(2026, 1, 1) + timedelta(days=number)) for number in range(len(rows))
    ]
    assert all(isinstance(value, str) for row in rows for value in row.values())
    assert {row["STATION"] for row in rows} == {"USW00099901"}
    assert 0 < sum("AWND" not in row for row in rows) < len(rows) / 4
    marks = [row["PRCP_ATTRIBUTES"].split(",") for row in rows]
    assert {len(mark) for mark in marks} == {4}
    assert {mark[3] for mark in marks} == {"2400"}
    traces = [row["PRCP"] for row, mark in zip(rows, marks, strict=True) if mark[0] == "T"]
    assert traces
    assert set(traces) == {"0.0"}
    failed = [row for row in rows if row["TMAX_ATTRIBUTES"].split(",")[1]]
    assert 0 < len(failed) < len(rows) / 10


def test_ghcn_without_metric_tells_tenths(client: Client) -> None:
    for metric, tenths in zip(client.ghcn().json, client.ghcn(units="").json, strict=True):
        for name in ("TMAX", "TMIN", "PRCP"):
            assert float(tenths[name]) == pytest.approx(10 * float(metric[name]))
        assert float(tenths["TMAX"]) == int(tenths["TMAX"])


def test_ghcn_tells_only_what_was_asked_for(client: Client) -> None:
    row = client.ghcn(dataTypes="TMIN", includeAttributes="").json[0]
    assert list(row) == ["DATE", "STATION", "TMIN"]


def test_an_observer_who_rests_gathers_rain_of_days(client: Client) -> None:
    rows = client.ghcn(stations="USC00999902", startDate="2026-01-01").json
    mondays = [number for number, row in enumerate(rows) if "MDPR" in row]
    assert mondays
    for number in mondays:
        assert rows[number]["DAPR"] == "3"
        assert date.fromisoformat(rows[number]["DATE"]).weekday() == 0
        assert not any("PRCP" in rows[at] for at in (number - 2, number - 1, number))
    assert max(float(rows[number]["MDPR"]) for number in mondays) > 0
    assert rows[0]["TMAX_ATTRIBUTES"].endswith(",0700")


def test_ghcn_has_an_empty_array_where_it_has_nothing(client: Client) -> None:
    assert client.ghcn(stations="USW00000000").json == []
    assert client.ghcn(startDate="2026-08-01", endDate="2026-08-09").json == []


@pytest.mark.parametrize("query", [{"dataset": "x"}, {"stations": ""}, {"startDate": ""}, {"endDate": "2026-05-01"}])
def test_ghcn_refuses(client: Client, query: dict[str, str]) -> None:
    assert client.ghcn(**query).status == 400


# station and gauge


def test_the_daily_us_heading_is_the_stations_own(client: Client) -> None:
    found = client.get("/station/901/daily-us.csv")
    assert found.headers["Content-Type"].startswith("text/csv")
    assert found.body.decode().splitlines()[0] == (
        "Stn Id,Stn Name,CIMIS Region,Date,Jul,ETo (in),qc,Precip (in),qc,Sol Rad (Ly/day),qc,Avg Vap Pres (mBars),qc,"
        "Max Air Temp (F),qc,Min Air Temp (F),qc,Avg Air Temp (F),qc,Max Rel Hum (%),qc,Min Rel Hum (%),qc,"
        "Avg Rel Hum (%),qc,Dew Point (F),qc,Avg Wind Speed (mph),qc,Wind Run (miles),qc,Avg Soil Temp (F),qc"
    )
    assert {len(row) for row in found.rows} == {33}
    assert found.rows[1][3:5] == ["5/29/2026", "149"]
    assert found.rows[-1][3] == "7/12/2026"


def test_hours_run_from_0100_to_2400(client: Client) -> None:
    rows = client.get("/station/901/hourly-metric.csv", start="2026-07-01", end="2026-07-02").rows
    assert rows[0][:6] == ["Stn Id", "Stn Name", "CIMIS Region", "Date", "Hour (PST)", "Jul"]
    assert {"Sol Rad (W/sq.m)", "Air Temp (C)", "Vapor Pressure (kPa)", "Wind Speed (m/s)"} <= set(rows[0])
    assert [row[4] for row in rows[1:25]] == [f"{hour:02d}00" for hour in range(1, 25)]
    assert [row[3] for row in rows[1:]] == ["7/1/2026"] * 24 + ["7/2/2026"] * 24


def test_us_and_metric_files_tell_the_same(client: Client) -> None:
    us, metric = (client.get(f"/station/901/daily-{form}.csv").rows for form in ("us", "metric"))
    at = {name: (us[0].index(name), metric[0].index(other)) for name, other in (
        ("Max Air Temp (F)", "Max Air Temp (C)"), ("Sol Rad (Ly/day)", "Sol Rad (W/sq.m)"),
        ("Avg Wind Speed (mph)", "Avg Wind Speed (m/s)"), ("Precip (in)", "Precip (mm)"),
    )}  # fmt: skip
    for one, two in zip(us[1:], metric[1:], strict=True):
        pairs = {name: (one[a], two[b]) for name, (a, b) in at.items() if one[a]}
        for name, factor, offset, step in (
            ("Max Air Temp (F)", 1.8, 32.0, 0.15),
            ("Sol Rad (Ly/day)", 0.0864 / 0.04184, 0.0, 1.6),
            ("Avg Wind Speed (mph)", 1 / 0.44704, 0.0, 0.17),
            ("Precip (in)", 1 / 25.4, 0.0, 0.008),
        ):
            if name in pairs:
                assert float(pairs[name][0]) == pytest.approx(float(pairs[name][1]) * factor + offset, abs=step)


def test_marks_stand_after_their_value(client: Client) -> None:
    rows = client.get("/station/901/hourly-us.csv").rows
    marks = [(row[at - 1], row[at]) for row in rows[1:] for at in range(7, len(row), 2)]
    assert {mark for _, mark in marks} == {"", "Y", "H", "R", "M"}
    assert all((value == "") == (mark == "M") for value, mark in marks)
    assert sum(mark == "" for _, mark in marks) > 0.95 * len(marks)


def test_the_gauge_tells_inches_to_yesterday(client: Client) -> None:
    rows = client.get("/gauge/grange.csv").rows
    assert rows[0] == ["date", "rain_in"]
    assert (rows[1][0], rows[-1][0], len(rows)) == ("2026-05-29", "2026-07-12", 46)
    assert max(float(rain) for _, rain in rows[1:]) > 0.05


@pytest.mark.parametrize(
    "path", ["/station/902/daily-us.csv", "/station/901/weekly.csv", "/gauge/shed.csv", "/elsewhere"]
)
def test_what_is_not_there_is_404(client: Client, path: str) -> None:
    assert client.get(path).status == 404


# the server


def test_requests_are_logged_and_counted(client: Client) -> None:
    client.forecast(hourly="temperature_2m", past_days="1")
    client.power(latitude="91")
    client.power()
    assert client.server.counts() == {"open-meteo-forecast": 1, "power": 2}
    first, second, _ = client.server.requests
    assert (first.feed, first.path, first.status) == ("open-meteo-forecast", "/v1/forecast", 200)
    assert first.query["past_days"] == "1"
    assert first.headers["user-agent"].startswith("etsched tests")
    assert second.status == 422
    client.server.forget()
    assert client.server.counts() == {}


def test_a_body_is_packed_for_those_who_take_it(client: Client) -> None:
    import gzip

    path = "/gauge/grange.csv?start=2026-01-01"
    plain = client.get(path)
    packed = client.get(path, {"Accept-Encoding": "gzip, deflate"})
    assert packed.headers["Content-Encoding"] == "gzip"
    assert gzip.decompress(packed.body) == plain.body


def test_only_loopback_is_served(server: WeatherServer) -> None:
    assert server.base_url.startswith("http://127.0.0.1:")


def test_the_server_can_be_managed_from_outside(client: Client) -> None:
    assert client.get("/admin/fault/power/429").status == 200
    assert client.power().status == 429
    assert client.get("/admin/clear").status == 200
    assert client.power().status == 200
    assert client.get("/admin/counts").json == {"power": 2}
    assert client.get("/admin/fault/power/rain").status == 400
    assert client.get("/admin/today/2026-07-14").status == 200
    assert client.get("/gauge/grange.csv").rows[-1][0] == "2026-07-13"


def test_it_ends_at_once_whatever_hangs() -> None:
    with start_weather_server(TODAY) as server:
        for name in NAMES:
            server.set_fault(name, "hang")
        client = Client(server)
        asking = [threading.Thread(target=_give_up, args=(client, name)) for name in NAMES]
        for thread in asking:
            thread.start()
        while len(server.requests) < len(NAMES):
            time.sleep(0.01)
        idle = socket.create_connection((urlsplit(server.base_url).hostname, urlsplit(server.base_url).port), 5)
        idle.sendall(b"GET /admin/counts HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n")
        assert idle.recv(12) == b"HTTP/1.1 200"
        ended = time.monotonic()
    assert time.monotonic() - ended < 0.4
    idle.close()
    for thread in asking:
        thread.join(2)
        assert not thread.is_alive()


def _give_up(client: Client, name: str) -> None:
    import contextlib
    import http.client

    with contextlib.suppress(OSError, http.client.HTTPException):
        client.get(f"/{name}/x")


def test_it_runs_from_a_shell_until_told_to_end(root: Path) -> None:
    command = [sys.executable, "-m", "demo.weather_server", "--today", "2026-07-13"]
    with subprocess.Popen(command, cwd=root, stdout=subprocess.PIPE, text=True) as running:
        try:
            assert running.stdout is not None
            base = running.stdout.readline().strip()
            with urlopen(f"{base}/gauge/grange.csv", timeout=5) as answer:  # noqa: S310 - loopback
                assert answer.readline() == b"date,rain_in\n"
        finally:
            running.terminate()
            assert running.wait(5) == 0
