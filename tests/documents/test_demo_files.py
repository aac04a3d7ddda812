"""The invented property of the demo: it must differ where the work differs, and its weather must be physical."""

from __future__ import annotations

import csv
import runpy
from datetime import date
from pathlib import Path

import pytest

from etsched.core.radiation import extraterrestrial_radiation
from etsched.documents.site_file import read_site
from etsched.model.site import Basis, Exposure, Head, TurfGroup

DEMO = Path(__file__).parents[2] / "demo"
SITE = read_site(DEMO / "site.toml")
WEATHER = list(csv.DictReader((DEMO / "weather.csv").read_text("utf-8").splitlines()))


def test_the_stations_differ():
    assert len(SITE.stations) >= 12
    assert {station.head for station in SITE.stations} == set(Head)
    assert {station.turf for station in SITE.stations} == set(TurfGroup)
    assert {station.exposure for station in SITE.stations} == set(Exposure)
    assert {"clay", "clay loam", "sandy loam"} <= {station.soil for station in SITE.stations}
    bases = {station.precip_rate.basis if station.precip_rate else None for station in SITE.stations}
    assert bases == {Basis.MEASURED, Basis.FROM_FLOW, Basis.TYPICAL, None}
    assert [station.terminal for station in SITE.stations if station.blocked] == [13]
    assert [station.terminal for station in SITE.stations if station.first_runoff] == [7]


def test_cup_tests_gave_rate_uniformity_and_wettest_quarter_together():
    for station in SITE.stations:
        measured = station.precip_rate is not None and station.precip_rate.basis is Basis.MEASURED
        assert (station.uniformity is not None) is measured
        assert (station.wettest_quarter_rate is not None) is measured


def test_rates_from_flow_are_96_25_times_flow_over_area():
    for station in SITE.stations:
        if station.precip_rate is not None and station.precip_rate.basis is Basis.FROM_FLOW:
            gpm, feet = station.flow.value / 3.785411784, station.area_m2 / 0.3048**2
            assert station.precip_rate.value / 25.4 == pytest.approx(96.25 * gpm / feet, abs=0.005)


def test_the_weather_is_what_its_script_writes():
    written = runpy.run_path(str(DEMO / "make_weather.py"), run_name="script")
    assert (DEMO / "weather.csv").read_text("utf-8") == written["text"]()


def test_the_weather_keeps_the_physics():
    assert len(WEATHER) == 26
    for row in WEATHER:
        day = {key: float(value) for key, value in row.items() if key != "date"}
        assert day["dewpoint_c"] < day["tmin_c"] < day["tmax_c"]
        day_of_year = date.fromisoformat(row["date"]).timetuple().tm_yday
        above_the_air = float(extraterrestrial_radiation(SITE.place.latitude_deg, day_of_year))
        # FAO-56 Eq. 35 and 37: a quarter gets through an overcast sky; three quarters through a clear one, and
        # 2e-5 of the total more a metre of height.
        clear = 0.75 + 2e-5 * SITE.place.elevation_m
        assert 0.25 * above_the_air < day["solar_mj_m2_d"] <= clear * above_the_air
        assert 1.0 <= day["wind_m_s"] <= 2.5
    assert sum(float(row["rain_mm"]) > 0 for row in WEATHER) == 1


def test_the_heat_comes_with_the_forecast():
    hottest_f = {row["date"]: float(row["tmax_c"]) * 1.8 + 32 for row in WEATHER}
    assert max(hottest_f, key=hottest_f.__getitem__) == "2026-07-16"
    assert all(99 <= hottest_f[f"2026-07-{day}"] <= 105 for day in range(12, 20))
    assert max(value for day, value in hottest_f.items() if day < "2026-07-12") < 99
