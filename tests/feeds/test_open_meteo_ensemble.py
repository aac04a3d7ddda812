"""Open-Meteo's ensemble: every member kept, each day whole or unknown, and what is no ensemble refused."""

from __future__ import annotations

import json
from collections.abc import Callable
from datetime import date
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd
import pytest

from demo.weather_server import WeatherServer, faults_of
from demo.weather_server.faults import gzip_bomb
from etsched.errors import FeedFailed, FeedRefused, PlanRefused
from etsched.feeds.ask import FeedAsk, FeedHost
from etsched.feeds.open_meteo import fetch_open_meteo_forecast
from etsched.feeds.open_meteo_ensemble import fetch_open_meteo_ensemble, parse_open_meteo_ensemble
from etsched.frames.ensemble import Ensemble, ensemble_of_hours
from etsched.http_client import ClientLimits, HttpClient
from etsched.model.site import Place

from .answers import FETCHED, answer, ask
from .conftest import Recorder
from .junk import outcomes

UTC_PLACE = Place(39.5, -105.0, 1600.0, ZoneInfo("UTC"))
TWO_DAYS = ask("2026-07-09", "2026-07-10", place=UTC_PLACE)
FIRST_S = 1783555200  # 2026-07-09 00:00 UTC
UNITS = {
    "temperature_2m": "°C",
    "dew_point_2m": "°C",
    "wind_speed_10m": "m/s",
    "shortwave_radiation": "W/m²",
    "precipitation": "mm",
}
MEMBERS = ("", "_member01", "_member02")
ARRAYS = ("tmin_c", "tmax_c", "dewpoint_c", "wind_m_s", "solar_mj_m2_d", "rain_mm")


def answered() -> dict[str, Any]:
    """Write two days and the stamp behind them: member m is m degrees warmer and has m times the sun and rain."""
    hourly: dict[str, Any] = {"time": [FIRST_S + 3600 * hour for hour in range(49)]}
    units = {"time": "unixtime"}
    for name, unit in UNITS.items():
        for number, member in enumerate(MEMBERS):
            base = {"temperature_2m": 20.0, "dew_point_2m": 10.0}.get(name)
            values = [number * 1.0 if base is None else base + number] * 49
            hourly[name + member], units[name + member] = values, unit
    place = {"latitude": 39.5, "longitude": -105.1, "elevation": 1600.0, "utc_offset_seconds": 0}
    return place | {"hourly_units": units, "hourly": hourly}


def parsed(told: dict[str, Any] | None = None, asked: FeedAsk = TWO_DAYS) -> Ensemble:
    return parse_open_meteo_ensemble(answer(json.dumps(told or answered())), asked)


def test_members_stay_apart() -> None:
    told = answered()
    told["hourly"]["temperature_2m_member02"][30] = 35.5
    told["hourly"]["precipitation_member01"][24] = 7.0  # stamped with the midnight that ends the first day
    found = parsed(told)
    assert found.members_count == 3
    assert list(found.days) == [pd.Timestamp(2026, 7, 9), pd.Timestamp(2026, 7, 10)]
    assert found.tmin_c.tolist() == [[20, 20], [21, 21], [22, 22]]
    assert found.tmax_c.tolist() == [[20, 20], [21, 21], [22, 35.5]]
    assert found.dewpoint_c.tolist() == [[10, 10], [11, 11], [12, 12]]
    assert found.rain_mm.tolist() == [[0, 0], [23 + 7, 24], [48, 48]]
    # 1 W/m² for a day is 0.0864 MJ/m²; FAO-56 Annex 2, Table 2.9: wind at 10 m times 0.748 is that at 2 m.
    np.testing.assert_allclose(found.solar_mj_m2_d, [[0, 0], [0.0864] * 2, [0.1728] * 2], atol=1e-12)
    np.testing.assert_allclose(found.wind_m_s, [[0, 0], [0.748] * 2, [1.496] * 2], atol=0.001)
    assert found.notes == ()


def test_where_it_comes_from() -> None:
    origin = parsed().origin
    assert origin is not None
    assert (origin.feed, origin.fetched, origin.measured) == ("open-meteo ensemble", FETCHED, False)
    assert origin.attribution == "Weather data by Open-Meteo.com (CC BY 4.0)"
    told = answered()
    told["elevation"] = 2200
    assert parsed(told).notes == ("the air told of is that at 2200 m above the sea, while the site lies at 1600 m",)


def test_a_member_that_lacks_an_hour_does_not_know_that_day() -> None:
    told = answered()
    told["hourly"]["temperature_2m_member01"][30] = None
    told["hourly"]["precipitation_member02"][3] = None
    told["hourly"]["dew_point_2m"] = None
    found = parsed(told)
    assert np.isnan(found.tmin_c).tolist() == [[False, False], [False, True], [False, False]]
    assert np.isnan(found.rain_mm).tolist() == [[False, False], [False, False], [True, False]]
    assert np.isnan(found.dewpoint_c).tolist() == [[True, True], [False, False], [False, False]]
    assert not np.isnan(found.wind_m_s).any()


def test_what_cannot_be_is_rejected_and_told() -> None:
    told = answered()
    told["hourly"]["temperature_2m_member01"][30] = 85.0
    found = parsed(told)
    assert np.isnan(found.tmax_c).tolist() == [[False, False], [False, True], [False, False]]
    assert found.notes == ("temperature_c is rejected in 1 hours of a member, outside -60 to 60",)


def test_the_days_run_as_far_as_any_member() -> None:
    told = answered()
    for member in MEMBERS:
        told["hourly"][f"temperature_2m{member}"][26:] = [None] * 23
    assert len(parsed(told, ask("2026-07-09", "2026-07-10", place=UTC_PLACE, today="2026-07-09")).days) == 1
    with pytest.raises(FeedRefused, match="a stale forecast, which ends on 2026-07-09, and today is 2026-07-10"):
        parsed(told)
    for member in MEMBERS:
        told["hourly"][f"temperature_2m{member}"] = None
    with pytest.raises(FeedRefused, match="it knows no day of 2026-07-09 to 2026-07-10 with all its hours"):
        parsed(told)
    with pytest.raises(FeedRefused, match="it knows no day of 2026-08-01 to 2026-08-02"):
        parsed(asked=ask("2026-08-01", "2026-08-02"))


REFUSED: list[tuple[Callable[[Any], object], str]] = [
    (lambda told: told["hourly_units"].update(wind_speed_10m_member02="km/h"), 'wind_speed_10m_member02 in "km/h"'),
    (lambda told: told["hourly_units"].pop("precipitation_member01"), "there is no precipitation_member01"),
    (lambda told: told["hourly"].pop("precipitation_member01"), "its variables have different members"),
    (lambda told: told["hourly"]["precipitation_member01"].pop(), "holds 48 values for 49 hours"),
    (lambda told: told.update(latitude=42.2), "it answers for a spot 300 km away"),
    (lambda told: [told["hourly"].pop(name + MEMBERS[n]) for name in UNITS for n in (1, 2)], "no members beside"),
    (lambda told: [told["hourly"].pop("precipitation" + member) for member in MEMBERS], "no hourly.precipitation"),
]


@pytest.mark.parametrize(("change", "reason"), REFUSED)
def test_what_is_no_ensemble_is_refused(change: Callable[[Any], object], reason: str) -> None:
    told = answered()
    change(told)
    with pytest.raises(FeedRefused) as caught:
        parsed(told)
    assert reason in str(caught.value)


def test_junk_in_any_place_is_refused_or_not_known() -> None:
    counts = outcomes(answered(), lambda raw: parse_open_meteo_ensemble(raw, TWO_DAYS))
    assert counts["refused"] > 500
    assert counts["accepted"] > 50


def test_what_is_asked(recorder: Recorder) -> None:
    recorder.body = json.dumps(answered())
    host = FeedHost("https://feed.example", api_key="k3y")
    fetch_open_meteo_ensemble(recorder, host, TWO_DAYS, model="ecmwf_ifs025_ensemble")  # type: ignore[arg-type]
    request = recorder.request
    assert request is not None
    assert request.url == "https://feed.example/v1/ensemble"
    assert request.params["models"] == "ecmwf_ifs025_ensemble"
    assert request.params["hourly"] == ",".join(UNITS)
    assert request.params["wind_speed_unit"] == "ms"
    assert request.params["start_date"] == "2026-07-10"  # it has no past: yesterday in UTC is the earliest day
    assert request.secret_params == {"apikey": "k3y"}


def test_days_of_23_and_25_hours() -> None:
    """On 8 March and 1 November 2026 Denver's clocks change; every hour has 1 mm of rain."""
    zone = ZoneInfo("America/Denver")
    for first, length in (("2026-03-08 07:00", 23), ("2026-11-01 06:00", 25)):
        hours = pd.date_range(first, periods=length + 24, freq="h", tz="UTC")
        ones = pd.DataFrame(1.0, index=hours, columns=["control", "1"])
        names = ("temperature_c", "dewpoint_c", "wind_m_s", "solar_mj_m2_h", "rain_mm")
        found = ensemble_of_hours(dict.fromkeys(names, ones), zone, None)
        assert found.rain_mm.tolist() == [[length, 24], [length, 24]]
    with pytest.raises(PlanRefused):
        ensemble_of_hours(dict.fromkeys(names, ones.iloc[:20]), zone, None)


def test_the_control_tells_what_the_forecast_tells(server: WeatherServer, client: HttpClient) -> None:
    """The server makes the control of its first model and the forecast of one world; members lie further off."""
    asked = ask("2026-07-13", "2026-07-26", today="2026-07-13")
    host = FeedHost(f"{server.base_url}/open-meteo-ensemble")
    _, found = fetch_open_meteo_ensemble(client, host, asked, model="dwd_icon_seamless_eps")
    _, weather = fetch_open_meteo_forecast(client, FeedHost(f"{server.base_url}/open-meteo-forecast"), asked)
    assert found.members_count == 40
    assert [day.date() for day in found.days] == [date(2026, 7, day) for day in range(13, 27)]
    for name in ARRAYS:
        control = getattr(found, name)[0]
        np.testing.assert_allclose(control, weather.daily[name], rtol=1e-9, atol=1e-9)
    spread = found.tmax_c.std(axis=0)
    assert spread[-3:].mean() > 2 * spread[:3].mean() > 0.0


SENTENCES = {
    "hang": "stops answering",
    "slow-drip": "no whole answer came within",
    "html": "answers with a web page",
    "gzip-bomb": "sends more than",
    "broken-json": "no JSON",
    "429-retry-after": "answers 429",
    "429": "Minutely API request limit exceeded",
    "5xx": "The service is overloaded",
    "redirect": "redirects to another host",
    "wrong-units": 'in "°F", not in °C',
    "unequal-arrays": "has another form than promised",
    "all-null": "knows no day",
    "doubled-days": "gives hours twice or in disorder",
    "far-cell": "answers for a spot",
    "reset": "",
    "truncated": "sends less than it announces",
}
PASSED = {"5xx-once", "5xx-thrice", "null-tail", "spike", "shifted-hours", "stale"}


@pytest.mark.parametrize("fault", faults_of("open-meteo-ensemble"))
def test_every_fault_ends_in_members_or_in_a_sentence(server: WeatherServer, fault: str) -> None:
    asked = ask("2026-07-13", "2026-07-22", today="2026-07-13")
    host = FeedHost(f"{server.base_url}/open-meteo-ensemble")
    limits = ClientLimits(deadline_s=2.5, read_s=0.5, backoff_s=0.0, interval_s=0.0)
    gzip_bomb()  # making it takes longer than a read may
    server.set_fault("open-meteo-ensemble", fault)
    with HttpClient(limits) as client:
        if fault in PASSED:
            assert fetch_open_meteo_ensemble(client, host, asked)[1].members_count == 31
        else:
            with pytest.raises(FeedFailed) as caught:
                fetch_open_meteo_ensemble(client, host, asked)
            assert SENTENCES[fault] in str(caught.value)
    assert 1 <= len(server.requests) <= 4
