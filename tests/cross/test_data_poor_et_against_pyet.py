"""The formulas for data-poor places on ten thousand random station-days against pyet 1.4.0, each difference named.

pyet divides by λ = 2.501 − 0.002361 T where FAO-56 Eq. 20 takes 0.408 = 1 / 2.45 whatever the temperature; that is
up to 4 %. `LATENT` is the ratio, and stands in every check but those of Turc and Blaney–Criddle, which have no λ.
"""

from __future__ import annotations

import numpy as np
import pytest

from etsched.core import atmosphere, fao24_et, net_radiation, radiation, radiation_et
from etsched.planning.daily_et_steps import net_radiation_of_day

from .random_weather import days
from .test_against_pyet import in_pyet

pandas = pytest.importorskip("pandas")
xarray = pytest.importorskip("xarray", reason="needs the test extra: pip install -e .[test]")
pyet = pytest.importorskip("pyet", reason="needs the test extra: pip install -e .[test]")

WEATHER = days(latitude_deg=60.0)
SHAPE = WEATHER.shape
TMEAN_C = np.asarray((WEATHER.tmin_c + WEATHER.tmax_c) / 2.0)
LATENT = 0.408 * (2.501 - 0.002361 * TMEAN_C)
DRAW = np.random.default_rng(24)
RH_PCT = DRAW.uniform(5.0, 100.0, SHAPE)
SUNSHINE_FRACTION = DRAW.uniform(0.01, 1.0, SHAPE)
THEIRS = in_pyet(WEATHER)
SLOPE = atmosphere.slope_of_saturation_vapour_pressure(TMEAN_C)
PSYCHROMETRIC = atmosphere.psychrometric_constant(atmosphere.pressure_at_elevation(WEATHER.elevation_m))
ABOVE = radiation.extraterrestrial_radiation(WEATHER.latitude_deg, WEATHER.day_of_year)


def laid_out(values: np.ndarray) -> object:
    """Lay an array out as pyet wants it, beside what `in_pyet` gives."""
    return xarray.DataArray(values[:, :, None], dims=("time", "y", "x"), coords={"time": THEIRS["tmean"].time})


def flat(found: object) -> np.ndarray:
    return np.asarray(found.values[:, :, 0])


def test_there_are_enough_days() -> None:
    assert TMEAN_C.size == 10_000
    assert np.abs(LATENT - 1.0).max() < 0.04


def test_priestley_taylor_agrees() -> None:
    net = net_radiation_of_day(WEATHER, net_radiation.net_longwave)
    found = pyet.priestley_taylor(THEIRS["tmean"], rn=laid_out(net), elevation=THEIRS["elevation"], clip_zero=False)
    ours = radiation_et.priestley_taylor(net, 0.0, SLOPE, PSYCHROMETRIC)
    np.testing.assert_allclose(ours / LATENT, flat(found), rtol=1e-12, atol=1e-12)


def test_makkink_agrees() -> None:
    found = pyet.makkink(THEIRS["tmean"], THEIRS["rs"], elevation=THEIRS["elevation"])
    ours = radiation_et.makkink(WEATHER.solar_mj_m2_d, SLOPE, PSYCHROMETRIC)
    np.testing.assert_allclose(ours / LATENT, flat(found), rtol=1e-12)


def test_turc_agrees_above_freezing() -> None:
    """pyet rounds the calories in a megajoule to 23.88 and goes on below 0 °C, where Turc's ET is none."""
    found = flat(pyet.turc(THEIRS["tmean"], THEIRS["rs"], laid_out(RH_PCT)))
    ours = radiation_et.turc(TMEAN_C, WEATHER.solar_mj_m2_d, RH_PCT)
    sun = np.asarray(WEATHER.solar_mj_m2_d)
    rounded = (23.88 * sun + 50.0) / (23.8856 * sun + 50.0)
    warm = TMEAN_C > 0.0
    assert warm.mean() > 0.7
    np.testing.assert_allclose((ours * rounded)[warm], found[warm], rtol=1e-12)
    assert np.abs(rounded - 1.0).max() < 3e-4
    assert (ours[~warm] == 0.0).all()


def test_jensen_haise_agrees() -> None:
    found = pyet.jensen_haise(THEIRS["tmean"], THEIRS["rs"], clip_zero=False)
    ours = radiation_et.jensen_haise(TMEAN_C, WEATHER.solar_mj_m2_d)
    np.testing.assert_allclose(ours / LATENT, flat(found), rtol=1e-12, atol=1e-12)


def test_oudin_agrees() -> None:
    """pyet writes π with nine decimals."""
    found = flat(pyet.oudin(THEIRS["tmean"], THEIRS["lat"]))
    np.testing.assert_allclose(radiation_et.oudin(TMEAN_C, ABOVE) / LATENT, found, rtol=1e-8, atol=1e-12)
    assert (found == 0.0).any()


def test_fao24_radiation_agrees_but_for_the_albedo_and_the_square_of_the_wind() -> None:
    """pyet takes (1 − albedo) Rs, set to 0 here, and in the last term of b the wind where Frevert squares it."""
    wind = np.asarray(WEATHER.wind_m_s)
    found = pyet.fao_24(
        THEIRS["tmean"],
        THEIRS["wind"],
        THEIRS["rs"],
        laid_out(RH_PCT),
        elevation=THEIRS["elevation"],
        albedo=0.0,
        clip_zero=False,
    )
    ours = fao24_et.fao24_radiation(WEATHER.solar_mj_m2_d, RH_PCT, wind, SLOPE, PSYCHROMETRIC)
    evaporable = SLOPE / (SLOPE + PSYCHROMETRIC) * 0.408 * WEATHER.solar_mj_m2_d
    not_squared = ours + 0.0011 * (wind * wind - wind) * evaporable
    np.testing.assert_allclose((not_squared + 0.3) / LATENT - 0.3, flat(found), rtol=1e-11, atol=1e-11)
    # 0.0011 × (9² − 9) × 0.408 × 32 at the most.
    assert 0.5 < np.abs(not_squared - ours).max() < 1.04


def test_fao24_blaney_criddle_agrees_but_for_the_daylight() -> None:
    """pyet takes the hours of sunshine for those of daylight in p, which makes the second term n / N of ours.

    Its year is 2000, with a 29 February.
    """
    daylight = radiation.daylight_hours(WEATHER.latitude_deg, WEATHER.day_of_year)
    of_year = radiation.daylight_hours(WEATHER.latitude_deg, np.arange(1.0, 367.0)[:, None]).sum(axis=0)
    found = flat(
        pyet.blaney_criddle(
            THEIRS["tmean"],
            THEIRS["lat"],
            wind=THEIRS["wind"],
            rhmin=laid_out(RH_PCT),
            n=laid_out(SUNSHINE_FRACTION * daylight),
            nn=laid_out(daylight),
            method=2,
            clip_zero=False,
        )
    )
    share = fao24_et.daylight_share(daylight, of_year)
    wind = np.asarray(WEATHER.wind_m_s)
    ours = fao24_et.fao24_blaney_criddle(TMEAN_C, share, SUNSHINE_FRACTION, RH_PCT, wind)
    offset = 0.0043 * RH_PCT - SUNSHINE_FRACTION - 1.41
    np.testing.assert_allclose(offset + (ours - offset) * SUNSHINE_FRACTION, found, rtol=1e-9, atol=1e-9)
