"""The invented property of the demo: it must differ where the work differs, and its weather must be physical."""

from __future__ import annotations

import csv
import runpy
from datetime import date, timedelta
from pathlib import Path

import pytest

from etsched.core.radiation import extraterrestrial_radiation
from etsched.documents.earlier_week import read_applied
from etsched.documents.site_file import read_site
from etsched.documents.visit_file import read_visit
from etsched.model.site import Basis, Exposure, Head, TurfGroup

DEMO = Path(__file__).parents[2] / "demo"
SITE = read_site(DEMO / "site.toml")
WEATHER = list(csv.DictReader((DEMO / "weather.csv").read_text("utf-8").splitlines()))
LATER = list(csv.DictReader((DEMO / "weather-later.csv").read_text("utf-8").splitlines()))
FIRST = read_visit(DEMO / "visit-1.toml", SITE, date(2026, 7, 13))
SECOND = read_visit(DEMO / "visit-2.toml", SITE, date(2026, 7, 27))
FOOT_M = 0.3048


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
    assert (DEMO / "weather-later.csv").read_text("utf-8") == written["later_text"]()


def test_the_later_weather_goes_on_from_the_same_days():
    assert LATER[: len(WEATHER)] == WEATHER
    days = [date.fromisoformat(row["date"]) for row in LATER]
    assert days == [date(2026, 6, 25) + timedelta(days=n) for n in range(40)]


def test_the_weather_keeps_the_physics():
    assert len(WEATHER) == 26
    for row in LATER:
        day = {key: float(value) for key, value in row.items() if key != "date"}
        assert day["dewpoint_c"] < day["tmin_c"] < day["tmax_c"]
        day_of_year = date.fromisoformat(row["date"]).timetuple().tm_yday
        above_the_air = float(extraterrestrial_radiation(SITE.place.latitude_deg, day_of_year))
        # FAO-56 Eq. 35 and 37: a quarter gets through an overcast sky; three quarters through a clear one, and
        # 2e-5 of the total more a metre of height.
        clear = 0.75 + 2e-5 * SITE.place.elevation_m
        assert 0.25 * above_the_air < day["solar_mj_m2_d"] <= clear * above_the_air
        assert 1.0 <= day["wind_m_s"] <= 2.5
    assert sum(float(row["rain_mm"]) > 0 for row in LATER) == 1


def test_the_heat_comes_with_the_forecast():
    hottest_f = {row["date"]: float(row["tmax_c"]) * 1.8 + 32 for row in WEATHER}
    assert max(hottest_f, key=hottest_f.__getitem__) == "2026-07-16"
    assert all(99 <= hottest_f[f"2026-07-{day}"] <= 105 for day in range(12, 20))
    assert max(value for day, value in hottest_f.items() if day < "2026-07-12") < 99


def test_the_visits_hold_what_a_technician_meets():
    assert (SECOND.day - FIRST.day).days == 14
    assert {run.station for visit in (FIRST, SECOND) for run in visit.runs} == {s.terminal for s in SITE.stations}
    assert {head.station for head in FIRST.heads} == {6, 7}
    assert [run.station for run in FIRST.runs if run.from_controller is False and run.by_hand] == [13]
    assert len([run for run in FIRST.runs if run.leak]) == len([r for r in FIRST.runs if r.first_runoff_min]) == 1
    assert FIRST.clock.rain_switch == "bypassed"
    assert FIRST.clock.reads.date() != FIRST.day
    assert [len(program.starts) for program in FIRST.clock.programs] == [2, 1, 1]
    assert all(len(test.cups) == 24 and test.cups[0].x_m is not None for test in (*FIRST.cup_tests, *SECOND.cup_tests))
    assert all(core.layers for core in (*FIRST.cores, *SECOND.cores))
    # What the reader of a visit doubts would stand among its notes.
    assert (len(FIRST.notes), len(SECOND.notes)) == (1, 2)


def test_less_lands_in_the_cups_than_passes_the_meter():
    """Rate by the mean of the cups, mL over cm² and minutes, against the meter over the area the station waters."""
    areas = {station.terminal: station.area_m2 for station in SITE.stations}
    for visit in (FIRST, SECOND):
        leak = next(m.volume_l / m.minutes_min for m in visit.meters if m.station is None)
        flow = {m.station: m.volume_l / m.minutes_min - leak for m in visit.meters if m.station}
        for test in visit.cup_tests:
            (terminal,), (minutes,) = test.stations, test.minutes_min
            depth_mm = sum(cup.volume_ml for cup in test.cups) / len(test.cups) / test.throat_cm2 * 10.0
            assert 0.85 < depth_mm / minutes * areas[terminal] / flow[terminal] < 0.95


def test_the_cups_stood_on_the_ground_that_their_station_waters():
    areas = {station.terminal: station.area_m2 for station in SITE.stations}
    for test in (*FIRST.cup_tests, *SECOND.cup_tests):
        wide, deep = (len({getattr(cup, axis) for cup in test.cups}) for axis in ("x_m", "y_m"))
        ground = wide * 14 * FOOT_M * deep * 12.5 * FOOT_M
        assert ground == pytest.approx(areas[test.stations[0]], rel=0.05)


def test_the_meter_of_the_refuted_station_fell_as_its_cores_did():
    first, second = (next(meter.volume_l for meter in visit.meters if meter.station == 11) for visit in (FIRST, SECOND))
    assert second / first == pytest.approx(0.62, abs=0.01)


def test_the_log_holds_every_night_between_the_visits_and_nothing_of_the_dead_station():
    ran = read_applied(DEMO / "ran.csv", SITE)
    assert {serves for _, serves in ran} == {FIRST.day + timedelta(days=n) for n in range(1, 15)}
    assert {terminal for terminal, _ in ran} == {station.terminal for station in SITE.stations} - {13}
    assert all(minutes > 0 for minutes in ran.values())
    nights = {serves: sum(m for (_, day), m in ran.items() if day == serves) for _, serves in ran}
    assert max(nights.values()) <= 8 * 60  # one valve, from ten at night to six
