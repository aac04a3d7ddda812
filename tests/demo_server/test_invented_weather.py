"""The invented weather keeps the laws of physics, is one for all feeds, and is the same whenever it is asked for."""

from __future__ import annotations

import math
import os
import subprocess
import sys
from datetime import date, datetime, timedelta
from itertools import pairwise
from pathlib import Path
from statistics import mean

import pytest

from demo.weather_server import start_weather_server
from demo.weather_server.et0 import et0_mm_h
from demo.weather_server.sun import above_the_air_mj_m2_h, daylight_h
from demo.weather_server.weather import TRUTH, Hour, Run, drivers, hour_at, spot_at, utc_hour_of

from .conftest import TODAY, Client

HOUR = timedelta(hours=1)
PLACES = [(37.4, -119.9), (39.7, -105.0), (-34.5, 150.2), (51.9, 5.6), (1.3, 103.8), (64.1, -21.9)]


def above_the_air_mj_m2_d(latitude_deg: float, day: date) -> float:
    """FAO-56 Eq. 21, the whole day at once."""
    angle = 2 * math.pi * day.timetuple().tm_yday / 365
    tilt, latitude = 0.409 * math.sin(angle - 1.39), math.radians(latitude_deg)
    sunset = math.acos(max(-1.0, min(1.0, -math.tan(latitude) * math.tan(tilt))))
    height = sunset * math.sin(latitude) * math.sin(tilt) + math.cos(latitude) * math.cos(tilt) * math.sin(sunset)
    return 24 * 60 / math.pi * 0.0820 * (1 + 0.033 * math.cos(angle)) * height


def a_day(place: tuple[float, float], day: date, run: Run = TRUTH) -> list[Hour]:
    spot = spot_at(1, *place)
    start = utc_hour_of(day, spot.solar_offset_h)
    return [hour_at(spot, run, start + hour) for hour in range(24)]


def a_year(place: tuple[float, float]) -> list[tuple[date, list[Hour]]]:
    days = [date(2026, 1, 1) + timedelta(days=number) for number in range(365)]
    return [(day, a_day(place, day)) for day in days]


def test_the_sun_above_the_air_is_as_published() -> None:
    # FAO-56 Example 8: 3 September at 20° S, Ra = 32.2 MJ m-2 d-1; Example 9: N = 11.7 h.
    hours = [above_the_air_mj_m2_h(-20.0, 0.0, 246, hour) for hour in range(24)]
    assert sum(hours) == pytest.approx(32.2, abs=0.05)
    assert daylight_h(-20.0, 246) == pytest.approx(11.7, abs=0.05)
    # FAO-56 Example 19: 1 October at 16° 13' N, 16° 15' W, between 14:00 and 15:00 of its clock: 3.543 MJ m-2 h-1.
    assert above_the_air_mj_m2_h(16.22, -16.25, 274, 15.0) == pytest.approx(3.543, abs=0.05)


def test_hourly_et0_is_as_published() -> None:
    # FAO-56 Example 19: 38 °C, 52 %, 3.3 m/s at 2 m, 2.450 of 2.658 MJ/m²; ETo 0.63 mm/h by day, 0.00 by night.
    vapour = 0.52 * 0.6108 * math.exp(17.27 * 38 / (38 + 237.3))
    dewpoint = 237.3 * math.log(vapour / 0.6108) / (17.27 - math.log(vapour / 0.6108))
    day = Hour(38.0, dewpoint, 3.3 / 0.748, 2.658, 2.450, 0.0, 0.0)
    assert et0_mm_h(day, day, 8.0) == pytest.approx(0.63, abs=0.005)
    night = Hour(28.0, 26.2, 1.9 / 0.748, 0.0, 0.0, 0.0, 0.0)
    assert et0_mm_h(night, night, 8.0) == pytest.approx(0.0, abs=0.01)


def test_a_night_counts_half_its_net_radiation_and_the_wind_as_by_day() -> None:
    # By hand at sea level: 20 °C, dew point 9.27 °C (es 2.338, ea 1.169 kPa), 4 m/s at 2 m, Δ 0.1447, γ 0.0674.
    # Rn = -1.509 (0.34 - 0.14 √1.169) (1.35 0.7 - 0.35) = -0.169, G half of it;
    # ET0 = (0.408 0.1447 -0.0847 + 0.0674 37/293 4 1.169) / (0.1447 + 0.0674 (1 + 0.34 4)) = 0.0348 / 0.3038.
    night = Hour(20.0, 9.27, 4.0 / 0.748, 0.0, 0.0, 0.0, 0.0)
    assert et0_mm_h(night, night, 0.0) == pytest.approx(0.1145, abs=0.0015)


@pytest.mark.parametrize("place", PLACES)
def test_no_more_sun_than_a_clear_sky_gives(place: tuple[float, float]) -> None:
    for day, hours in a_year(place):
        assert all(0 <= hour.solar_mj_m2 <= hour.clear_sky_mj_m2 for hour in hours)
        # 0.75 of what comes from above is a clear sky at sea level (Eq. 37); the sum of hours strays a little.
        most = 0.75 * above_the_air_mj_m2_d(place[0], day)
        assert sum(hour.solar_mj_m2 for hour in hours) <= most * 1.005 + 0.05
        assert sum(hour.clear_sky_mj_m2 for hour in hours) == pytest.approx(most, rel=0.02, abs=0.1)


@pytest.mark.parametrize("place", PLACES)
def test_air_is_never_beyond_saturation_and_has_a_warm_afternoon(place: tuple[float, float]) -> None:
    for _, hours in a_year(place):
        assert all(hour.dewpoint_c < hour.temperature_c for hour in hours)
        assert all(5 < hour.rh_pct <= 100 for hour in hours)
        assert all(-45 < hour.temperature_c < 50 for hour in hours)
        assert all(0.2 < hour.wind_10m_m_s < 25 for hour in hours)
        warm = max(range(24), key=lambda at: hours[at].temperature_c)
        assert 12 <= warm <= 17


def test_rain_takes_the_sun() -> None:
    year = a_year((37.4, -119.9))
    wet = [hours for _, hours in year if any(hour.rain_mm for hour in hours)]
    dry = [hours for _, hours in year if not any(hour.rain_mm for hour in hours)]
    assert 30 < len(wet) < 150

    def clearness(hours: list[Hour]) -> float:
        return sum(hour.solar_mj_m2 for hour in hours) / sum(hour.clear_sky_mj_m2 for hour in hours)

    assert max(map(clearness, wet)) < min(map(clearness, dry))
    for hours in wet:
        lit = [hour for hour in hours if hour.clear_sky_mj_m2 > 0]
        rainy = [hour.solar_mj_m2 / hour.clear_sky_mj_m2 for hour in lit if hour.rain_mm]
        other = [hour.solar_mj_m2 / hour.clear_sky_mj_m2 for hour in lit if not hour.rain_mm]
        assert not rainy or max(rainy) < min(other)


def test_summer_is_in_july_in_the_north_and_in_january_in_the_south() -> None:
    def warmth(place: tuple[float, float], month: int) -> float:
        return mean(hour.temperature_c for day in range(1, 29) for hour in a_day(place, date(2026, month, day)))

    assert warmth((39.7, -105.0), 7) > warmth((39.7, -105.0), 1) + 10
    assert warmth((-34.5, 150.2), 1) > warmth((-34.5, 150.2), 7) + 10


def test_neighbours_have_nearly_the_same_weather_and_far_places_another() -> None:
    days = [date(2026, 6, 1) + timedelta(days=number) for number in range(90)]

    def apart(one: tuple[float, float], other: tuple[float, float]) -> float:
        here, there = ([max(h.temperature_c for h in a_day(place, day)) for day in days] for place in (one, other))
        return mean(abs(one - two) for one, two in zip(here, there, strict=True))

    assert 0 < apart((37.4, -119.9), (37.5, -119.8)) < 0.8
    assert 0 < apart((39.95, -120.1), (40.05, -119.9)) < 0.8  # where the map's draws change
    assert apart((37.4, -119.9), (37.4, -89.9)) > 2


def test_forecasts_come_nearer_to_the_truth() -> None:
    days = [date(2026, 4, 1) + timedelta(days=number) for number in range(180)]

    def error_c(lead: int) -> float:
        found = []
        for day in days:
            run = Run(day.toordinal() - lead)
            told, true = a_day((37.4, -119.9), day, run), a_day((37.4, -119.9), day)
            found.append(abs(mean(h.temperature_c for h in told) - mean(h.temperature_c for h in true)))
        return mean(found)

    errors = [error_c(lead) for lead in (1, 3, 7, 14)]
    assert errors == sorted(errors)
    assert 0.05 < errors[0] < 1 < errors[3] < 6
    # On its own day a forecast errs only where the evening already turns to tomorrow, told a day ahead.
    assert error_c(0) < errors[0] / 4


def test_a_forecast_keeps_physics_and_probability_goes_with_rain() -> None:
    wet: list[float] = []
    dry: list[float] = []
    for number in range(300):
        day = date(2026, 1, 1) + timedelta(days=number)
        found = drivers(spot_at(1, 37.4, -119.9), Run(day.toordinal() - 4), day.toordinal())
        (wet if found.rain_mm else dry).append(found.rain_chance_pct)
        assert found.dewpoint_c < found.mean_c - found.swing_c
        assert 0 < found.clearness <= 0.98
    assert min(wet) >= 50 >= max(dry)
    assert min(dry) >= 0
    assert max(wet) <= 100


# what the feeds tell of it


def test_humidity_goes_with_the_dew_point(client: Client) -> None:
    hourly = client.forecast(hourly="temperature_2m,dew_point_2m,relative_humidity_2m", past_days="60").json["hourly"]
    for air, dew, told in zip(*list(hourly.values())[1:], strict=True):
        rh = 100 * math.exp(17.27 * dew / (dew + 237.3) - 17.27 * air / (air + 237.3))
        assert told == pytest.approx(rh, abs=1.2)


def test_every_feed_tells_the_same_weather(client: Client) -> None:
    asked = "temperature_2m,shortwave_radiation,precipitation,wind_speed_10m"
    dates = {"start_date": "2026-06-20", "end_date": "2026-07-06", "timeformat": "unixtime"}
    hourly = client.archive(hourly=asked, wind_speed_unit="ms", **dates).json["hourly"]
    at = {stamp: number for number, stamp in enumerate(hourly["time"])}
    power = client.power(start="20260621", end="20260704", parameters="T2M_MAX,ALLSKY_SFC_SW_DWN,WS10M").json
    table = power["properties"]["parameter"]
    airport = {row["DATE"]: row for row in client.ghcn().json}
    files = (client.get(f"/station/901/daily-{form}.csv").rows for form in ("us", "metric"))
    us, metric = ({row[3]: dict(zip(rows[0], row, strict=True)) for row in rows[1:]} for rows in files)
    gauge = dict(client.get("/gauge/grange.csv").rows[1:])
    rained = 0.0
    for number in range(14):
        day = date(2026, 6, 21) + timedelta(days=number)
        first = at[utc_hour_of(day, -8) * 3600]  # the solar clock of longitude 119.9° west is eight hours behind
        air = hourly["temperature_2m"][first : first + 24]
        past = slice(first + 1, first + 25)
        sun, rain = sum(hourly["shortwave_radiation"][past]) * 0.0036, sum(hourly["precipitation"][past])
        wind = mean(hourly["wind_speed_10m"][first : first + 24])
        rained += rain
        key, slashes = f"{day:%Y%m%d}", f"{day.month}/{day.day}/{day.year}"
        assert table["T2M_MAX"][key] == pytest.approx(max(air), abs=0.06)
        assert table["WS10M"][key] == pytest.approx(wind, abs=0.06)
        assert table["ALLSKY_SFC_SW_DWN"][key] == pytest.approx(sun, abs=0.02)
        if airport[str(day)]["TMAX_ATTRIBUTES"].split(",")[1] == "":
            assert float(airport[str(day)]["TMAX"]) == pytest.approx(max(air), abs=0.11)
        assert float(airport[str(day)]["PRCP"]) == pytest.approx(rain, abs=0.12)
        assert float(gauge[str(day)]) * 25.4 == pytest.approx(rain, abs=0.2)
        measured = us[slashes]["Max Air Temp (F)"]
        assert measured == "" or float(measured) == pytest.approx(max(air) * 1.8 + 32, abs=0.2)
        measured = metric[slashes]["Avg Wind Speed (m/s)"]
        assert measured == "" or float(measured) == pytest.approx(0.748 * wind, abs=0.3)  # FAO-56 Eq. 47
    assert rained > 5


def test_the_sun_is_told_for_the_hour_just_past(client: Client) -> None:
    dates = {"start_date": "2026-06-20", "end_date": "2026-07-05", "timezone": "America/Los_Angeles"}
    found = client.archive(hourly="shortwave_radiation", daily="sunrise,sunset", **dates).json
    for number, (rise, fall) in enumerate(zip(found["daily"]["sunrise"], found["daily"]["sunset"], strict=True)):
        hours = slice(24 * number, 24 * number + 24)
        for stamp, sun in zip(
            found["hourly"]["time"][hours], found["hourly"]["shortwave_radiation"][hours], strict=True
        ):
            end = datetime.fromisoformat(stamp)
            lit = min(end, datetime.fromisoformat(fall)) - max(end - HOUR, datetime.fromisoformat(rise))
            if abs(lit) > timedelta(minutes=15):  # less of it may be rounded away
                assert (sun > 0) == (lit > timedelta(0))


def test_past_days_of_a_forecast_are_the_archives(client: Client) -> None:
    dates = {"start_date": "2026-06-01", "end_date": "2026-07-08"}
    asked = {"hourly": "temperature_2m,precipitation,shortwave_radiation", **dates}
    assert client.forecast(**asked).json["hourly"] == client.archive(**asked).json["hourly"]


def test_a_forecast_is_revised_as_the_day_moves(client: Client) -> None:
    asked = {"hourly": "temperature_2m", "start_date": "2026-07-18", "end_date": "2026-07-18"}
    issues = []
    for number in range(7):
        client.server.set_today(TODAY + timedelta(days=number))
        issues.append(client.forecast(**asked).json["hourly"]["temperature_2m"])
    assert all(one != two for one, two in pairwise(issues[:6]))
    truth = issues[-1]
    errors = [mean(abs(one - two) for one, two in zip(issue, truth, strict=True)) for issue in issues]
    assert errors[0] > errors[4] > errors[6]


_SHOW = """
import sys, urllib.request
from datetime import date
from demo.weather_server import start_weather_server
with start_weather_server(date(2026, 7, 13)) as server:
    sys.stdout.buffer.write(urllib.request.urlopen(server.base_url + "%s").read())
"""


def test_the_weather_is_the_same_on_every_run(root: Path) -> None:
    path = "/open-meteo-forecast/v1/forecast?latitude=37.4&longitude=-119.9&past_days=9&hourly=temperature_2m"
    with start_weather_server(TODAY) as server:
        here = Client(server).get(path).body
    for hash_seed in ("1", "2"):
        told = subprocess.run(
            [sys.executable, "-c", _SHOW % path],
            cwd=root, capture_output=True, check=True, env={**os.environ, "PYTHONHASHSEED": hash_seed},
        ).stdout  # fmt: skip
        assert told == here


def test_another_seed_is_another_weather() -> None:
    bodies = []
    for seed in (1, 1, 2):
        with start_weather_server(TODAY, seed=seed) as server:
            bodies.append(Client(server).forecast(hourly="temperature_2m").body)
    assert bodies[0] == bodies[1] != bodies[2]
