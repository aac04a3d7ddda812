"""Ten thousand random station-days against pyet 1.4.0; every difference is named and bounded."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from etsched.core import atmosphere, net_radiation, radiation, reference_et
from etsched.planning.daily_et import DailyDrivers, fao56_daily_from_weather
from etsched.planning.daily_et_steps import (
    air_of_day,
    asce_daily_short_from_weather,
    asce_daily_tall_from_weather,
    net_radiation_of_day,
)

from .random_weather import DAYS_COUNT, FIRST_DAY, days

pandas = pytest.importorskip("pandas")
xarray = pytest.importorskip("xarray", reason="needs the test extra: pip install -e .[test]")
pyet = pytest.importorskip("pyet", reason="needs the test extra: pip install -e .[test]")


def in_pyet(weather: DailyDrivers) -> dict[str, object]:
    """Lay the days out as pyet wants them: time, y and x."""
    time = pandas.date_range(FIRST_DAY, periods=DAYS_COUNT)

    def series(values: np.ndarray) -> object:
        return xarray.DataArray(values[:, :, None], dims=("time", "y", "x"), coords={"time": time})

    def place(values: np.ndarray) -> object:
        return xarray.DataArray(values[:, None], dims=("y", "x"))

    return {
        "tmean": series((weather.tmin_c + weather.tmax_c) / 2.0),
        "wind": series(weather.wind_m_s),
        "rs": series(weather.solar_mj_m2_d),
        "tmax": series(weather.tmax_c),
        "tmin": series(weather.tmin_c),
        "ea": series(weather.vapour_pressure_kpa),
        "elevation": place(weather.elevation_m),
        "lat": place(np.deg2rad(weather.latitude_deg)),
    }


def test_fao56_days_agree() -> None:
    """pyet writes π with nine decimals; nothing else differs, neither by latitude nor in the polar seasons."""
    weather = days()
    theirs = pyet.pm_fao56(**in_pyet(weather)).values[:, :, 0]
    ours = fao56_daily_from_weather(weather)
    assert ours.size == 10_000
    np.testing.assert_allclose(ours, theirs, rtol=0.0, atol=1e-8)


@pytest.mark.parametrize(
    ("surface", "core", "composition", "bound_mm"),
    [
        ("os", reference_et.asce_daily_short, asce_daily_short_from_weather, 0.002),
        ("rs", reference_et.asce_daily_tall, asce_daily_tall_from_weather, 0.002),
    ],
)
def test_asce_days_agree_but_for_two_rounded_constants(
    surface: str, core: Callable[..., np.ndarray], composition: Callable[..., np.ndarray], bound_mm: float
) -> None:
    """pyet's ASCE keeps FAO-56's σ (4.903e-9) and Δ (4098 × 0.6108), where the standard has 4.901e-9 and 2503."""
    weather = days()
    theirs = pyet.pm_asce(**in_pyet(weather), etype=surface).values[:, :, 0]
    net = net_radiation_of_day(weather, net_radiation.net_longwave)
    air = air_of_day(weather, atmosphere.slope_of_saturation_vapour_pressure)
    with_their_constants = np.maximum(core(net, 0.0, air), 0.0)
    np.testing.assert_allclose(with_their_constants, theirs, rtol=0.0, atol=1e-8)
    difference = np.abs(composition(weather) - theirs)
    assert 1e-5 < difference.max() < bound_mm


def test_hargreaves_days_agree_but_for_the_latent_heat() -> None:
    """pyet divides by λ = 2.501 − 0.002361 T where FAO-56 takes 0.408 = 1 / 2.45 whatever the temperature."""
    weather = days()
    theirs = in_pyet(weather)
    found = pyet.hargreaves(theirs["tmean"], theirs["tmax"], theirs["tmin"], lat=theirs["lat"]).values[:, :, 0]
    above = radiation.extraterrestrial_radiation(weather.latitude_deg, weather.day_of_year)
    ours = reference_et.hargreaves(weather.tmin_c, weather.tmax_c, above)
    mean_c = (weather.tmin_c + weather.tmax_c) / 2.0
    latent = 0.408 * (2.501 - 0.002361 * mean_c)
    np.testing.assert_allclose(np.maximum(ours / latent, 0.0), found, rtol=1e-8, atol=1e-12)
    assert np.abs(latent - 1.0).max() < 0.04
