"""Hotter days: what is raised, what is kept, and what a formula of one's own makes of it."""

from datetime import date, timedelta
from math import exp, sqrt

import numpy as np
import pytest

from etsched.errors import PlanRefused
from etsched.model.heat import HeatSpell
from etsched.planning.hotter_days import check_spell, two_weathers
from etsched.planning.weather_days import days_from_weather

from .made import site, weather

FIRST = date(2026, 7, 14)  # day 24 of the weather made for tests
SPELL = HeatSpell(5.0, FIRST, 3)
LAST = date(2026, 7, 19)


def saturation_kpa(temperature_c):
    """Eq. 11, written anew."""
    return 0.6108 * exp(17.27 * temperature_c / (temperature_c + 237.3))


def both(made, spell=SPELL, last=LAST):
    return two_weathers(made, site(), spell, last)


def test_the_spells_days_are_those_of_a_weather_that_was_so_hot():
    found = both(weather())
    raised = days_from_weather(weather(tmin_c=21.0, tmax_c=40.0), site())
    usual = days_from_weather(weather(), site())
    assert found.hot.eto_mm[24:27] == pytest.approx(raised.eto_mm[24:27])
    assert found.hot.rh_min_pct[24:27] == pytest.approx(raised.rh_min_pct[24:27])
    outside = np.r_[0:24, 27:30]
    assert found.hot.eto_mm[outside].tolist() == usual.eto_mm[outside].tolist()
    assert np.all(found.hot.eto_mm[24:27] > usual.eto_mm[24:27] + 0.3)
    hot, before = found.hot.records[24], found.usual.records[24]
    assert (hot.tmin_c - before.tmin_c, hot.tmax_c - before.tmax_c) == (5.0, 5.0)
    assert hot.eto_mm == pytest.approx(found.hot.eto_mm[24])


def test_relative_humidity_gives_way_and_the_dew_point_stays():
    no_dew = {"dewpoint_c": np.nan}
    # Eq. 17: the vapour pressure that both extremes of relative humidity stand for at the temperatures forecast.
    kept_kpa = (saturation_kpa(16.0) * 0.80 + saturation_kpa(35.0) * 0.25) / 2.0
    found = both(weather(rh_min_pct=25.0, rh_max_pct=80.0, **no_dew))
    raised = weather(tmin_c=21.0, tmax_c=40.0, vapour_pressure_kpa=kept_kpa, **no_dew)
    assert found.hot.eto_mm[24] == pytest.approx(days_from_weather(raised, site()).eto_mm[24])
    assert found.hot.rh_min_pct[24] == pytest.approx(100.0 * kept_kpa / saturation_kpa(40.0))


def test_a_filled_dew_point_does_not_rise_with_the_night():
    found = both(weather(dewpoint_c=np.nan))
    raised = weather(tmin_c=21.0, tmax_c=40.0, vapour_pressure_kpa=saturation_kpa(16.0), dewpoint_c=np.nan)
    assert found.hot.eto_mm[24] == pytest.approx(days_from_weather(raised, site()).eto_mm[24])
    assert found.hot.records[24].filled == found.usual.records[24].filled


def test_with_temperatures_alone_it_stays_hargreaves():
    only = {"dewpoint_c": np.nan, "wind_m_s": np.nan, "solar_mj_m2_d": np.nan}
    found = both(weather(**only))
    # Eq. 52: 0.0023 (T + 17.8) √TD Ra, so 5 °C more multiply it by (T + 22.8) / (T + 17.8), here with T = 25.5.
    assert found.hot.eto_mm[24] / found.usual.eto_mm[24] == pytest.approx(48.3 / 43.3)
    assert sqrt(19.0) * 0.0023 * 43.3 * 15.0 < found.usual.eto_mm[24] < sqrt(19.0) * 0.0023 * 43.3 * 18.0


def test_days_past_the_forecast_rise_by_the_mean_of_its_last_seven():
    made = weather(days=24, tmax_c=[35.0] * 17 + [30.0, 31.0, 32.0, 33.0, 34.0, 35.0, 36.0])
    found = both(made)
    raised = days_from_weather(weather(days=24, tmin_c=21.0, tmax_c=[40.0] * 17 + [35.0 + n for n in range(7)]), site())
    assert found.hot.records[24].standing_in
    assert found.hot.eto_mm[24] == pytest.approx(raised.eto_mm[-7:].mean())
    assert found.hot.eto_mm[27] == found.usual.eto_mm[27] == pytest.approx(found.usual.eto_mm[17:24].mean())


def test_no_heat_is_the_forecast_itself():
    found = both(weather(), HeatSpell(0.0, FIRST, 3))
    assert found.hot is found.usual


@pytest.mark.parametrize(
    ("spell", "words"),
    [
        (HeatSpell(80 / 1.8, FIRST, 5), r"\+44.4 °C \(\+80 °F\) is no heat"),
        (HeatSpell(-1.0, FIRST, 5), "for cooler days plan a week"),
        (HeatSpell(float("nan"), FIRST, 5), "is no heat"),
        (HeatSpell(4.0, FIRST, -2), "-2 hotter days cannot be checked"),
        (HeatSpell(4.0, FIRST, 15), "15 hotter days"),
        (HeatSpell(4.0, FIRST - timedelta(days=1), 5), "the hotter days begin on 2026-07-13"),
        (HeatSpell(4.0, FIRST + timedelta(days=15), 5), "let them begin between 2026-07-14"),
    ],
)
def test_a_spell_that_cannot_be_meant_is_refused(spell, words):
    with pytest.raises(PlanRefused, match=words):
        check_spell(spell, FIRST)
