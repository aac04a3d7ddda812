"""Filling: the stated order, the published examples, and ranges that hold on years that did not set them."""

from __future__ import annotations

import tomllib
from datetime import date
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd
import pytest

from etsched.core import reference_et
from etsched.frames.weather import DAILY_COLUMNS
from etsched.model.site import Place
from etsched.planning.daily_et import fao56_daily_from_weather
from etsched.planning.weather_filling import Climate, fill_days
from tests.cross import measure_filling_spread as spread
from tests.cross.station_years import PCSE_NEEDED, PVLIB_NEEDED, ROOT, pcse_files, pvlib_files

DATA_FILE = ROOT / "etsched" / "reference" / "filling_spread.toml"
LYON = Place(45.7167, 4.85, 200.0, ZoneInfo("Europe/Paris"))
HUMIDITY = ("dewpoint_c", "vapour_pressure_kpa", "rh_min_pct", "rh_max_pct", "rh_mean_pct")
DEW, DRY_DEW = (
    "dew point taken as the lowest temperature (FAO-56 Eq. 48)",
    "dew point taken 2 °C below the lowest temperature, in a dry climate (FAO-56 ch. 3)",
)
HOURS = "radiation from the hours of sunshine (FAO-56 Eq. 35)"
RANGE = "radiation estimated from the temperature range (FAO-56 Eq. 50)"
WIND = "wind taken as 2 m/s (FAO-56 ch. 3)"
ALONE = "ETo from the temperatures alone by Hargreaves (FAO-56 Eq. 52)"
RAIN = "rain not measured, taken as none"


def july(count: int = 1, **columns: object) -> pd.DataFrame:
    """Days from 15 July on with nothing but the temperatures of FAO-56 Example 20 and what is given."""
    index = pd.date_range("2026-07-15", periods=count, name="day")
    frame = pd.DataFrame(np.nan, index=index, columns=list(DAILY_COLUMNS))
    given = {"tmin_c": 14.8, "tmax_c": 26.6, "rain_mm": 0.0} | columns
    return frame.assign(**given, is_forecast=False)


def test_example_20_of_fao56_with_temperatures_alone() -> None:
    filled = fill_days(july(), LYON)
    assert filled.drivers.vapour_pressure_kpa[0] == pytest.approx(1.68, abs=0.005)
    assert filled.drivers.solar_mj_m2_d[0] == pytest.approx(22.29, abs=0.02)
    assert filled.drivers.wind_m_s[0] == 2.0
    assert fao56_daily_from_weather(filled.drivers)[0] == pytest.approx(4.56, abs=0.01)
    assert filled.eto_mm[0] == pytest.approx(5.0, abs=0.05)  # the example's Hargreaves
    assert filled.gaps.by_hargreaves.all()
    assert filled.marks == ((DEW, RANGE, WIND, ALONE),)


def test_one_known_quantity_is_enough_for_penman_monteith() -> None:
    frame = july(4)
    frame.loc[frame.index[0], "wind_m_s"] = 2.0
    frame.loc[frame.index[1], "solar_mj_m2_d"] = 22.29
    frame.loc[frame.index[2], "vapour_pressure_kpa"] = 1.684
    frame.loc[frame.index[3], ["sunshine_h", "rain_mm"]] = [8.0, np.nan]
    filled = fill_days(frame, LYON)
    # Each gives what the rule would have filled, so that all come out as Example 20; days move Ra by less than 1 %.
    np.testing.assert_allclose(filled.eto_mm[:3], 4.56, atol=0.05)
    assert not filled.gaps.by_hargreaves.any()
    assert filled.marks == ((DEW, RANGE), (DEW, WIND), (RANGE, WIND), (DEW, HOURS, WIND, RAIN))


def test_hours_of_sunshine_come_before_the_range_and_after_radiation() -> None:
    frame = july(3, dewpoint_c=14.0, wind_m_s=2.0, sunshine_h=[7.0, 7.0, 15.9])
    frame.loc[frame.index[1], "solar_mj_m2_d"] = 11.0
    filled = fill_days(frame, LYON)
    # δ = 0.3746 and ωs = arccos(−1.0253 × 0.3932) = 1.9858 on 15 July, so N = 15.17; Eq. 35 with the example's Ra:
    # (0.25 + 0.50 × 7 / 15.17) × 40.55 = 19.49.
    assert filled.drivers.solar_mj_m2_d[0] == pytest.approx(19.49, abs=0.01)
    assert filled.drivers.solar_mj_m2_d[1] == 11.0
    # More sunshine than daylight, as counting may give, is a whole day of it: 0.75 × 40.4.
    assert filled.drivers.solar_mj_m2_d[2] == pytest.approx(0.75 * 40.4, abs=0.15)
    assert filled.marks == ((HOURS,), (), (HOURS,))


@pytest.mark.parametrize(
    ("known", "vapour_kpa"),
    [
        ({"vapour_pressure_kpa": 1.3, "dewpoint_c": 5.0, "rh_max_pct": 82.0}, 1.3),
        ({"dewpoint_c": 17.0, "rh_max_pct": 82.0}, 1.938),  # FAO-56 Table 2.4: e°(17) = 1.94
        ({"rh_min_pct": 54.0, "rh_max_pct": 82.0, "rh_mean_pct": 10.0}, 1.70),  # FAO-56 Example 5
        ({"rh_max_pct": 82.0, "rh_mean_pct": 10.0}, 1.69),
        ({"rh_mean_pct": 68.0}, 1.78),
    ],
)
def test_humidity_is_taken_in_the_stated_order(known: dict[str, float], vapour_kpa: float) -> None:
    # FAO-56 Example 5: e°(18) = 2.064 and e°(25) = 3.168, so 2.064 × 0.82 by RHmax alone, 2.616 × 0.68 by the mean.
    filled = fill_days(july(tmin_c=18.0, tmax_c=25.0, wind_m_s=2.0, **known), LYON)
    assert filled.drivers.vapour_pressure_kpa[0] == pytest.approx(vapour_kpa, abs=0.01)
    assert filled.marks == ((RANGE,),)


def test_climates_shift_the_rules_as_stated() -> None:
    frame = july(wind_m_s=3.0)
    dry, coast, inland = (fill_days(frame, LYON, each) for each in (Climate.DRY, Climate.COAST, Climate.INLAND))
    # e°(12.8) = 0.6108 exp(17.27 × 12.8 / 250.1) = 1.478.
    assert dry.drivers.vapour_pressure_kpa[0] == pytest.approx(1.478, abs=0.001)
    assert dry.marks == ((DRY_DEW, RANGE),)
    assert inland.drivers.vapour_pressure_kpa[0] == pytest.approx(1.684, abs=0.001)
    assert coast.drivers.solar_mj_m2_d[0] / inland.drivers.solar_mj_m2_d[0] == pytest.approx(0.19 / 0.16)


@pytest.mark.parametrize(("low", "high"), [(np.nan, 26.6), (14.8, np.nan), (27.0, 26.0)])
def test_a_day_without_temperatures_is_unknown_and_its_neighbours_are_not(low: float, high: float) -> None:
    frame = july(3, tmin_c=[14.8, low, 14.8], tmax_c=[26.6, high, 26.6])
    filled = fill_days(frame, LYON)
    for each in (filled.eto_mm, filled.eto_low_mm, filled.eto_high_mm):
        assert np.isnan(each).tolist() == [False, True, False]
    assert filled.gaps.temperature.tolist() == [False, True, False]
    assert filled.marks[1] == ()


def test_a_complete_day_has_no_range_and_a_poorer_one_has() -> None:
    whole = july(wind_m_s=2.0, dewpoint_c=12.0, solar_mj_m2_d=24.0)
    filled = fill_days(whole, LYON)
    assert filled.eto_low_mm[0] == filled.eto_mm[0] == filled.eto_high_mm[0] == fao56_daily_from_weather(filled.drivers)
    for climate in Climate:
        for blank in (("wind_m_s",), HUMIDITY, ("solar_mj_m2_d",), (*HUMIDITY, "wind_m_s", "solar_mj_m2_d")):
            poorer = fill_days(whole.assign(**dict.fromkeys(blank, np.nan)), LYON, climate)
            assert poorer.eto_low_mm[0] <= poorer.eto_mm[0] <= poorer.eto_high_mm[0]
            assert poorer.eto_high_mm[0] - poorer.eto_low_mm[0] > 0.1


def test_the_range_is_that_of_the_data_file() -> None:
    data = tomllib.loads(DATA_FILE.read_text("utf-8"))
    frame = july(2, dewpoint_c=14.0, solar_mj_m2_d=[24.0, 3.0], tmin_c=[14.8, 15.0], tmax_c=[26.6, 15.6])
    filled = fill_days(frame, LYON, Climate.INLAND)
    full, small = data["humid inland"]["wind"]["full_day_factors"], data["humid inland"]["wind"]["small_day_factors"]
    assert filled.eto_mm[0] > data["full_day_mm"] > data["least_mm"] > filled.eto_mm[1]
    assert filled.eto_low_mm[0] == pytest.approx(filled.eto_mm[0] * full[0])
    assert filled.eto_high_mm[0] == pytest.approx(filled.eto_mm[0] * full[1])
    # Below 1 mm the width is that of 1 mm, and ETo is not negative.
    assert filled.eto_high_mm[1] == pytest.approx(filled.eto_mm[1] + (small[1] - 1.0))
    assert filled.eto_low_mm[1] == pytest.approx(max(filled.eto_mm[1] - (1.0 - small[0]), 0.0))


def test_where_the_climate_is_not_stated_the_range_is_as_wide_as_the_widest() -> None:
    frame = july(wind_m_s=2.0, solar_mj_m2_d=24.0)
    any_climate = fill_days(frame, LYON)
    data = tomllib.loads(DATA_FILE.read_text("utf-8"))
    ends = [data[climate]["humidity"]["full_day_factors"] for climate in spread.STATED]
    assert any_climate.eto_low_mm[0] / any_climate.eto_mm[0] == pytest.approx(min(low for low, _ in ends))
    assert any_climate.eto_high_mm[0] / any_climate.eto_mm[0] == pytest.approx(max(high for _, high in ends))


def test_a_filling_that_is_never_too_high_opens_the_range_upwards_only() -> None:
    filled = fill_days(july(wind_m_s=2.0, dewpoint_c=14.0), LYON, Climate.DRY)
    data = tomllib.loads(DATA_FILE.read_text("utf-8"))
    assert data["dry"]["sun"]["full_day_factors"][0] == 1.0
    assert filled.eto_low_mm[0] == filled.eto_mm[0] < filled.eto_high_mm[0]


def test_two_fillings_that_know_nothing_of_each_other_add_as_squares() -> None:
    data = tomllib.loads(DATA_FILE.read_text("utf-8"))
    filled = fill_days(july(dewpoint_c=14.0, sunshine_h=8.0), LYON, Climate.DRY)
    wind, sun = data["dry"]["wind"]["full_day_factors"], data["any climate"]["sunshine"]["full_day_factors"]
    above = np.hypot(wind[1] - 1.0, sun[1] - 1.0)
    assert filled.eto_high_mm[0] / filled.eto_mm[0] == pytest.approx(1.0 + above)
    assert filled.marks == ((HOURS, WIND),)


def test_hargreaves_never_falls_below_nothing() -> None:
    frozen = fill_days(july(tmin_c=-40.0, tmax_c=-25.0), LYON)
    assert reference_et.hargreaves(-40.0, -25.0, 40.0) < 0.0
    assert frozen.eto_mm[0] == frozen.eto_low_mm[0] == 0.0


needs_years = pytest.mark.skipif(
    pcse_files() is None or pvlib_files() is None, reason=PVLIB_NEEDED if pcse_files() else PCSE_NEEDED
)


@needs_years
def test_the_data_file_holds_what_blanking_real_years_gives() -> None:
    kept = tomllib.loads(DATA_FILE.read_text("utf-8"))
    fresh = tomllib.loads(spread.data_file())
    entries = [(climate, what) for climate in kept if isinstance(kept[climate], dict) for what in kept[climate]]
    assert len(entries) == 22
    for climate, what in entries:
        for name, value in fresh[climate][what].items():
            # The last digit may turn with another numpy.
            assert kept[climate][what][name] == pytest.approx(value, abs=0.0101), (climate, what, name)
    assert {key: value for key, value in kept.items() if not isinstance(value, dict)} == {
        key: value for key, value in fresh.items() if not isinstance(value, dict)
    }


@needs_years
@pytest.mark.parametrize("climate", spread.STATED)
@pytest.mark.parametrize("what", spread.WHATS)
def test_the_range_holds_four_days_of_five_on_years_that_did_not_set_it(what: str, climate: Climate) -> None:
    shares = {}
    for year, sets in spread.split_years():
        if sets or year.climate is not climate:
            continue
        days = spread.complete_days(year)
        true = fill_days(days, year.place, climate).eto_mm
        blank = days.assign(**dict.fromkeys(spread.blanked_columns(what), np.nan))
        filled = fill_days(blank, year.place, climate)
        held = (filled.eto_low_mm - 1e-9 <= true) & (true <= filled.eto_high_mm + 1e-9)
        shares[year.name, days.index[0].year] = held.mean()
    assert len(shares) >= 2
    assert min(shares.values()) >= 0.80, shares


@needs_years
def test_the_range_of_sunshine_holds_four_days_of_five_where_it_was_not_set() -> None:
    (greensboro,) = [year for year, sets in spread.split_years() if year.name == "723170TYA.CSV" and not sets]
    days = spread.complete_days(greensboro)
    days = days[days["sunshine_h"].notna()]
    true = fill_days(days, greensboro.place).eto_mm
    filled = fill_days(days.assign(solar_mj_m2_d=np.nan), greensboro.place, greensboro.climate)
    assert filled.gaps.sun_hours.all()
    assert len(days) > 350
    assert np.mean((filled.eto_low_mm <= true) & (true <= filled.eto_high_mm)) >= 0.80


def test_days_stand_in_the_frames_order() -> None:
    filled = fill_days(july(5), LYON)
    assert filled.drivers.day_of_year[0] == date(2026, 7, 15).timetuple().tm_yday == 196
    assert filled.drivers.day_of_year.tolist() == [196, 197, 198, 199, 200]
