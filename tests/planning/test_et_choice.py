"""Which formula a day gets by what it has and what the site asks for, and what each formula makes of a row."""

from __future__ import annotations

from dataclasses import replace
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd
import pytest

from etsched.core import atmosphere, fao24_et, radiation, radiation_et, reference_et
from etsched.errors import PlanRefused
from etsched.frames.weather import DAILY_COLUMNS
from etsched.model.site import Place
from etsched.planning.et_choice import DayHas, choose_formula, et_by_choice, what_days_have
from etsched.planning.et_formulas import FORMULAS, formula_et, formula_named
from etsched.planning.known_days import known_days
from etsched.planning.weather_filling import fill_days

PLACE = Place(45.72, 4.85, 200.0, ZoneInfo("Europe/Paris"))
NOTHING = DayHas(humidity=False, wind=False, radiation=False)
ALL = DayHas(humidity=True, wind=True, radiation=True)
FULL = {"tmin_c": 14.8, "tmax_c": 26.6, "rh_mean_pct": 65.0, "wind_m_s": 2.4, "solar_mj_m2_d": 22.0}


def days(*rows: dict[str, float]) -> pd.DataFrame:
    index = pd.date_range("2026-07-15", periods=len(rows), name="day")
    return pd.DataFrame(rows, index=index, columns=list(DAILY_COLUMNS), dtype=float).assign(is_forecast=False)


def without(*names: str) -> dict[str, float]:
    return {name: value for name, value in FULL.items() if name not in names}


@pytest.mark.parametrize(
    ("has", "name"),
    [
        (ALL, "fao56"),
        (replace(ALL, humidity=False), "fao56"),
        (replace(ALL, wind=False), "fao56"),
        (replace(ALL, radiation=False), "fao56"),
        (replace(NOTHING, humidity=True), "fao56"),
        (replace(NOTHING, wind=True), "fao56"),
        (replace(NOTHING, radiation=True), "fao56"),
        (NOTHING, "hargreaves"),
    ],
)
def test_gaps_are_filled_unless_all_three_are_missing(has: DayHas, name: str) -> None:
    assert choose_formula(has).name == name


@pytest.mark.parametrize(
    ("wanted", "has", "name"),
    [
        ("priestley-taylor", replace(ALL, wind=False), "priestley-taylor"),
        ("priestley-taylor", replace(ALL, humidity=False), "fao56"),
        ("makkink", replace(NOTHING, radiation=True), "makkink"),
        ("makkink", NOTHING, "hargreaves"),
        ("turc", replace(ALL, wind=False), "turc"),
        ("turc", replace(ALL, radiation=False), "fao56"),
        ("jensen-haise", replace(NOTHING, radiation=True), "jensen-haise"),
        ("fao24-radiation", ALL, "fao24-radiation"),
        ("fao24-blaney-criddle", replace(ALL, wind=False), "fao56"),
        ("oudin", NOTHING, "oudin"),
        ("hargreaves", ALL, "hargreaves"),
        ("fao56", NOTHING, "hargreaves"),
    ],
)
def test_a_formula_asked_for_is_used_where_the_day_has_its_data(wanted: str, has: DayHas, name: str) -> None:
    assert choose_formula(has, wanted).name == name


def test_an_unknown_name_is_refused_with_those_there_are() -> None:
    with pytest.raises(PlanRefused, match='"penman" is no formula of reference ET; write one of fao56, hargreaves, '):
        choose_formula(ALL, "penman")
    with pytest.raises(PlanRefused, match="Turc"):
        formula_et("Turc", days(FULL), PLACE)


@pytest.mark.parametrize(
    ("row", "has"),
    [
        (FULL, ALL),
        (without("rh_mean_pct", "wind_m_s", "solar_mj_m2_d"), NOTHING),
        (without("solar_mj_m2_d") | {"sunshine_h": 9.0}, ALL),
        (without("rh_mean_pct") | {"rh_min_pct": 40.0}, replace(ALL, humidity=False)),
        (without("rh_mean_pct") | {"rh_max_pct": 90.0}, ALL),
        (without("rh_mean_pct") | {"dewpoint_c": 13.0}, ALL),
        (without("rh_mean_pct") | {"vapour_pressure_kpa": 1.5}, ALL),
        (without("wind_m_s"), replace(ALL, wind=False)),
    ],
)
def test_what_a_row_has(row: dict[str, float], has: DayHas) -> None:
    assert what_days_have(days(row, FULL), PLACE) == (has, ALL)


def test_every_day_says_which_formula_gave_its_et() -> None:
    daily = days(FULL, without("rh_mean_pct", "wind_m_s", "solar_mj_m2_d"), without("wind_m_s"))
    filled = fill_days(daily, PLACE).drivers
    found = et_by_choice(daily, PLACE, filled, "turc")
    assert [formula.name for formula in found.formulas] == ["turc", "hargreaves", "turc"]
    above = radiation.extraterrestrial_radiation(PLACE.latitude_deg, 197.0)
    assert found.eto_mm[1] == pytest.approx(reference_et.hargreaves(14.8, 26.6, above))
    assert found.eto_mm[[0, 2]] == pytest.approx([float(radiation_et.turc(20.7, 22.0, 65.0))] * 2)
    left = et_by_choice(daily, PLACE, filled)
    assert [formula.name for formula in left.formulas] == ["fao56", "hargreaves", "fao56"]
    assert left.eto_mm[0] == pytest.approx(formula_et("fao56", daily, PLACE)[0])
    assert np.isfinite(left.eto_mm).all()


@pytest.mark.parametrize("name", FORMULAS)
def test_a_formula_gives_nothing_where_one_of_its_needs_is_missing(name: str) -> None:
    formula = formula_named(name)
    rows = [FULL]
    column_of = {"humidity": "rh_mean_pct", "radiation": "solar_mj_m2_d", "wind": "wind_m_s"}
    rows += [without(column) for column in column_of.values()]
    found = formula_et(name, days(*rows), PLACE)
    assert np.isfinite(found[0])
    assert np.isnan(found[1:]).tolist() == [need in formula.needs for need in column_of]
    crossed = FULL | {"tmin_c": 27.0}
    assert np.isnan(formula_et(name, days(without("tmin_c"), crossed), PLACE)).all()
    assert set(formula.needs) >= {"temperature"}
    assert formula.columns[0] == (("tmin_c", "tmax_c"),)


@pytest.mark.parametrize("name", FORMULAS)
def test_no_formula_gives_less_than_none(name: str) -> None:
    cold = {"tmin_c": -30.0, "tmax_c": -22.0, "rh_mean_pct": 99.0, "wind_m_s": 0.5, "solar_mj_m2_d": 0.5}
    assert formula_et(name, days(cold), PLACE)[0] >= 0.0


@pytest.mark.parametrize("name", FORMULAS)
def test_a_summer_day_is_of_the_same_order_by_all(name: str) -> None:
    """FAO-56 Example 20 prints 4.6 mm by Eq. 6 and 5.0 mm by Hargreaves for such a day; a wrong unit would show."""
    assert 3.0 < formula_et(name, days(FULL), PLACE)[0] < 7.5


def test_the_two_of_fao24_take_daytime_wind_and_the_daylight_of_the_place() -> None:
    slope = atmosphere.slope_of_saturation_vapour_pressure(20.7)
    psychrometric = atmosphere.psychrometric_constant(atmosphere.pressure_at_elevation(200.0))
    by_day = 2.4 * 4.0 / 3.0
    expected = fao24_et.fao24_radiation(22.0, 65.0, by_day, slope, psychrometric)
    assert formula_et("fao24-radiation", days(FULL), PLACE)[0] == pytest.approx(expected)
    row = FULL | {"rh_min_pct": 40.0, "sunshine_h": 7.6}
    daylight = radiation.daylight_hours(45.72, np.arange(1.0, 366.0))
    share = 100.0 * daylight[195] / daylight.sum()
    expected = fao24_et.fao24_blaney_criddle(20.7, share, 7.6 / daylight[195], 40.0, by_day)
    assert formula_et("fao24-blaney-criddle", days(row), PLACE)[0] == pytest.approx(expected)


def test_humidity_and_sunshine_in_other_forms() -> None:
    known = known_days(
        days(
            FULL,
            without("rh_mean_pct") | {"rh_min_pct": 40.0, "rh_max_pct": 90.0},
            without("rh_mean_pct") | {"vapour_pressure_kpa": 1.5},
            without("rh_mean_pct") | {"vapour_pressure_kpa": 3.4},
            without("solar_mj_m2_d") | {"sunshine_h": 24.0},
        ),
        PLACE,
    )
    saturation = (0.6108 * np.exp(17.27 * 14.8 / 252.1) + 0.6108 * np.exp(17.27 * 26.6 / 263.9)) / 2.0
    assert known.rh_mean_pct[:4] == pytest.approx([65.0, 65.0, 100.0 * 1.5 / saturation, 100.0])
    at_warmest = 0.6108 * np.exp(17.27 * 26.6 / 263.9)
    assert known.rh_min_pct[1:4] == pytest.approx([40.0, 100.0 * 1.5 / at_warmest, 100.0 * 3.4 / at_warmest])
    assert known.relative_sunshine_fraction[4] == 1.0
    assert known.solar_mj_m2_d[4] == pytest.approx(0.75 * known.extraterrestrial_mj_m2_d[4])


def test_the_polar_night_has_no_sun_and_no_trouble() -> None:
    north = replace(PLACE, latitude_deg=80.0)
    row = FULL | {"solar_mj_m2_d": 0.0, "sunshine_h": 0.0}
    dark = days(row).set_index(pd.DatetimeIndex(["2026-12-21"], name="day"))
    for name in FORMULAS:
        assert np.isfinite(formula_et(name, dark, north)).all()
    assert formula_et("oudin", dark, north)[0] == 0.0
