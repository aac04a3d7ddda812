"""Checks of whole chains: from weather to reference ET (FAO-56 chapter 4, the ASCE standard, Ref-ET)."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from etsched.core import atmosphere as air
from etsched.core import net_radiation as net
from etsched.core import radiation as sun
from etsched.core import reference_et as et
from etsched.core import sun_position as position
from etsched.planning import hourly_et

from .registry import Given, entry


def _day(given: Given) -> dict[str, Any]:
    """Carry a day through every step of FAO-56 Eq. 6, Rso by Eq. 37; the day's `given` has all drivers."""
    tmin, tmax, vapour = given["tmin_c"], given["tmax_c"], given["vapour_pressure_kpa"]
    pressure = air.pressure_at_elevation(given["elevation_m"])
    above = sun.extraterrestrial_radiation(given["latitude_deg"], given["day_of_year"])
    clear = sun.clear_sky_simple(above, given["elevation_m"])
    outward = net.net_longwave(tmin, tmax, vapour, net.relative_shortwave(given["solar_mj_m2_d"], clear))
    kept = net.net_shortwave(given["solar_mj_m2_d"]) - outward
    over = et.Air(
        temperature_c=air.mean_temperature(tmin, tmax),
        wind_m_s=given["wind_m_s"],
        saturation_kpa=air.mean_saturation_vapour_pressure(tmin, tmax),
        vapour_pressure_kpa=vapour,
        slope_kpa_per_c=air.slope_of_saturation_vapour_pressure(air.mean_temperature(tmin, tmax)),
        psychrometric_kpa_per_c=air.psychrometric_constant(pressure),
    )
    heat = given.get("soil_heat_mj_m2_d", 0.0)
    return {
        "pressure_kpa": pressure,
        "slope_kpa_per_c": over.slope_kpa_per_c,
        "psychrometric_kpa_per_c": over.psychrometric_kpa_per_c,
        "at_tmax_kpa": air.saturation_vapour_pressure(tmax),
        "at_tmin_kpa": air.saturation_vapour_pressure(tmin),
        "saturation_kpa": over.saturation_kpa,
        "vapour_pressure_kpa": vapour,
        "deficit_kpa": over.saturation_kpa - vapour,
        "extraterrestrial_mj_m2_d": above,
        "solar_mj_m2_d": given["solar_mj_m2_d"],
        "clear_sky_mj_m2_d": clear,
        "net_shortwave_mj_m2_d": net.net_shortwave(given["solar_mj_m2_d"]),
        "emitted_at_tmax_mj_m2_d": net.black_body_radiation(tmax),
        "emitted_at_tmin_mj_m2_d": net.black_body_radiation(tmin),
        "net_longwave_mj_m2_d": outward,
        "net_radiation_mj_m2_d": kept,
        "net_radiation_mm_d": net.water_equivalent(kept),
        "radiation_part_mm_d": et.fao56_daily(kept, heat, _saturated(over)),
        "drying_part_mm_d": et.fao56_daily(0.0, 0.0, over),
        "eto_mm_d": et.fao56_daily(kept, heat, over),
    }


def _saturated(over: et.Air) -> et.Air:
    """Give the same air without its dryness: what is left of the reference ET is the radiation's part."""
    return replace(over, vapour_pressure_kpa=over.saturation_kpa)


def _only(results: dict[str, Any], *without: str) -> dict[str, Any]:
    return {name: value for name, value in results.items() if name not in without}


@entry("fao56.ex17")
def _bangkok(given: Given) -> dict[str, Any]:
    latitude, day = given["latitude_deg"], given["day_of_year"]
    daylight = sun.daylight_hours(latitude, day)
    solar = sun.solar_from_sunshine(given["sunshine_h"], daylight, sun.extraterrestrial_radiation(latitude, day))
    heat = net.soil_heat_monthly_from_previous(given["previous_month_c"], given["this_month_c"])
    results = _day(given | {"solar_mj_m2_d": solar, "soil_heat_mj_m2_d": heat})
    results |= {"daylight_h": daylight, "soil_heat_mj_m2_d": heat}
    emitted = ("emitted_at_tmax_mj_m2_d", "emitted_at_tmin_mj_m2_d")
    return _only(results, "vapour_pressure_kpa", "net_radiation_mm_d", *emitted)


@entry("fao56.ex18")
def _uccle(given: Given) -> dict[str, Any]:
    latitude, day = given["latitude_deg"], given["day_of_year"]
    wind = air.wind_at_2m(given["wind_at_10m_km_h"] / 3.6, 10.0)
    vapour = air.vapour_pressure_from_rh_extremes(
        given["tmin_c"], given["tmax_c"], given["rh_min_pct"], given["rh_max_pct"]
    )
    daylight = sun.daylight_hours(latitude, day)
    solar = sun.solar_from_sunshine(given["sunshine_h"], daylight, sun.extraterrestrial_radiation(latitude, day))
    results = _day(given | {"wind_m_s": wind, "vapour_pressure_kpa": vapour, "solar_mj_m2_d": solar})
    return results | {"wind_at_2m_m_s": wind, "daylight_h": daylight}


@entry("fao56.ex20")
def _lyon(given: Given) -> dict[str, Any]:
    tmin, tmax = given["tmin_c"], given["tmax_c"]
    above = sun.extraterrestrial_radiation(given["latitude_deg"], given["day_of_year"])
    known = given | {
        "vapour_pressure_kpa": air.vapour_pressure_from_dewpoint(tmin),
        "solar_mj_m2_d": sun.solar_from_temperature_range(tmin, tmax, above, given["adjustment_factor"]),
    }
    results = _only(_day(known), "pressure_kpa", "at_tmax_kpa", "at_tmin_kpa", "net_radiation_mm_d")
    return results | {
        "eto_at_wind_1_mm_d": _day(known | {"wind_m_s": 1.0})["eto_mm_d"],
        "eto_at_wind_3_mm_d": _day(known | {"wind_m_s": 3.0})["eto_mm_d"],
        "hargreaves_mm_d": et.hargreaves(tmin, tmax, above),
    }


@entry("fao56.fig18_cabinda")
def _cabinda(given: Given) -> dict[str, Any]:
    latitude, day = given["latitude_deg"], given["day_of_year"]
    tmin, tmax = given["tmin_c"], given["tmax_c"]
    daylight = sun.daylight_hours(latitude, day)
    solar = sun.solar_from_sunshine(given["sunshine_h"], daylight, sun.extraterrestrial_radiation(latitude, day))
    results = _day(
        given
        | {
            "wind_m_s": given["wind_km_d"] / 86.4,
            "vapour_pressure_kpa": air.vapour_pressure_from_rh_mean(tmin, tmax, given["rh_mean_pct"]),
            "solar_mj_m2_d": solar,
        }
    )
    return {"solar_mj_m2_d": solar, "eto_mm_d": results["eto_mm_d"]}


def _hour(given: Given) -> dict[str, Any]:
    """Carry an hour through every step of FAO-56 Eq. 53, Rso by Eq. 37."""
    temperature, day = given["temperature_c"], given["day_of_year"]
    utc = given["clock_h"] + given["clock_west_deg"] / 15.0
    angle = position.solar_hour_angle(day, utc, -given["longitude_west_deg"])
    above = sun.hourly_extraterrestrial_radiation(given["latitude_deg"], day, angle)
    clear = sun.clear_sky_simple(above, given["elevation_m"])
    cloudiness = given.get("night_fraction", net.relative_shortwave(given["solar_mj_m2_h"], clear))
    vapour = air.vapour_pressure_from_rh(temperature, given["rh_pct"])
    outward = net.hourly_net_longwave(temperature, vapour, cloudiness)
    kept = net.net_shortwave(given["solar_mj_m2_h"]) - outward
    heat = net.soil_heat_hourly(kept)
    over = et.Air(
        temperature_c=temperature,
        wind_m_s=given["wind_m_s"],
        saturation_kpa=air.saturation_vapour_pressure(temperature),
        vapour_pressure_kpa=vapour,
        slope_kpa_per_c=air.slope_of_saturation_vapour_pressure(temperature),
        psychrometric_kpa_per_c=air.psychrometric_constant(air.pressure_at_elevation(given["elevation_m"])),
    )
    return {
        "distance_factor": sun.inverse_relative_distance(day),
        "declination_rad": sun.solar_declination(day),
        "season_rad": 2.0 * np.pi * (day - 81.0) / 364.0,
        "correction_h": position.seasonal_correction(day),
        "hour_angle_rad": angle,
        "start_rad": angle - np.pi / 24.0,
        "end_rad": angle + np.pi / 24.0,
        "extraterrestrial_mj_m2_h": above,
        "clear_sky_mj_m2_h": clear,
        "net_shortwave_mj_m2_h": net.net_shortwave(given["solar_mj_m2_h"]),
        "slope_kpa_per_c": over.slope_kpa_per_c,
        "psychrometric_kpa_per_c": over.psychrometric_kpa_per_c,
        "saturation_kpa": over.saturation_kpa,
        "vapour_pressure_kpa": vapour,
        "emitted_mj_m2_h": net.black_body_radiation(temperature) / 24.0,
        "relative_shortwave_fraction": cloudiness,
        "net_longwave_mj_m2_h": outward,
        "net_radiation_mj_m2_h": kept,
        "soil_heat_mj_m2_h": heat,
        "radiation_part_mm_h": et.fao56_hourly(kept, heat, _saturated(over)),
        "drying_part_mm_h": et.fao56_hourly(0.0, 0.0, over),
        "eto_mm_h": et.fao56_hourly(kept, heat, over),
    }


@entry("fao56.ex19.h02_03")
def _senegal_by_night(given: Given) -> dict[str, Any]:
    sun_steps = ("distance_factor", "declination_rad", "season_rad", "correction_h", "start_rad", "end_rad")
    day_steps = ("clear_sky_mj_m2_h", "net_shortwave_mj_m2_h", "relative_shortwave_fraction")
    return _only(_hour(given), *sun_steps, *day_steps)


@entry("fao56.ex19.h14_15")
def _senegal_by_day(given: Given) -> dict[str, Any]:
    return _only(_hour(given), "psychrometric_kpa_per_c")


@entry("asce.constants")
def _asce_constants(_: Given) -> dict[str, Any]:
    cloudiness = net.relative_shortwave(np.array([0.0, 2.0]), 1.0)
    # One kelvin of warmth under a sky that sends back all but 0.34 lays σ bare.
    one_kelvin_c = -net.KELVIN_OF_ZERO + 1.0
    return {
        "daily_short": _constants(et.asce_daily_short, 1.0),
        "daily_tall": _constants(et.asce_daily_tall, 1.0),
        "hourly_short_by_day": _constants(et.asce_hourly_short, 1.0),
        "hourly_tall_by_day": _constants(et.asce_hourly_tall, 1.0),
        "hourly_short_by_night": _constants(et.asce_hourly_short, -1.0),
        "hourly_tall_by_night": _constants(et.asce_hourly_tall, -1.0),
        "soil_heat_by_day": [net.soil_heat_hourly(1.0), net.soil_heat_hourly_tall(1.0)],
        "soil_heat_by_night": [-net.soil_heat_hourly(-1.0), -net.soil_heat_hourly_tall(-1.0)],
        "solar_constant_mj_m2_h": sun.SOLAR_CONSTANT_MJ_M2_H,
        "stefan_boltzmann_day_e9": 1e9 * net.net_longwave_asce(one_kelvin_c, one_kelvin_c, 0.0, 1.0) / 0.34,
        "stefan_boltzmann_hour_e10": 1e10 * net.hourly_net_longwave_asce(one_kelvin_c, 0.0, 1.0) / 0.34,
        "slope_constant": air.slope_of_saturation_vapour_pressure_asce(0.0) * 237.3**2,
        "least_cloudiness_fraction": net.CLOUD_SLOPE * cloudiness[0] - net.CLOUD_OFFSET,
        "greatest_cloudiness_fraction": net.CLOUD_SLOPE * cloudiness[1] - net.CLOUD_OFFSET,
        "least_relative_shortwave_fraction": cloudiness[0],
        "greatest_relative_shortwave_fraction": cloudiness[1],
        "low_sun_rad": hourly_et.LOW_SUN_RAD,
    }


def _constants(equation: Any, net_radiation: float) -> list[float]:
    """Draw Cn and Cd out of an equation: with Δ and Rn − G at 0 and all else at 1 it is Cn u / (1 + Cd u)."""
    one, two = (
        float(equation(net_radiation, net_radiation, et.Air(1.0 - 273.0, wind, 1.0, 0.0, 0.0, 1.0)))
        for wind in (1.0, 2.0)
    )
    denominator = (2.0 * one - two) / (2.0 * two - 2.0 * one)
    return [one * (1.0 + denominator), denominator]


@entry("refet.fallon.daily")
def _fallon(given: Given) -> dict[str, Any]:
    asce, refet = _FallonDay(given), _FallonDay(given)
    # Ref-ET takes its own pressure, declination and solar constant: they are inputs to everything after them.
    refet.pressure = 101.3 * ((293.0 - 0.0065 * given["elevation_m"]) / 293.0) ** (9.8 / (0.0065 * 286.9))
    refet.above = _refet_extraterrestrial(given["latitude_deg"], given["day_of_year"])
    refet.slope = air.slope_of_saturation_vapour_pressure(asce.mean)
    full = refet.net_radiation(refet.clear_full())
    return {
        "vapour_pressure_kpa": asce.vapour,
        "saturation_kpa": air.mean_saturation_vapour_pressure(asce.tmin, asce.tmax),
        "wind_at_2m_m_s": asce.wind,
        "extraterrestrial_asce_mj_m2_d": asce.above,
        "clear_sky_full_refet_mj_m2_d": refet.clear_full(),
        "clear_sky_simple_refet_mj_m2_d": refet.clear_simple(),
        "net_longwave_refet_mj_m2_d": net.net_shortwave(refet.solar) - full,
        "net_radiation_refet_mj_m2_d": full,
        "eto_refet_mm_d": et.asce_daily_short(full, 0.0, refet.air()),
        "etr_refet_mm_d": et.asce_daily_tall(full, 0.0, refet.air()),
        "eto_simple_asce_mm_d": et.asce_daily_short(asce.net_radiation(asce.clear_simple()), 0.0, asce.air()),
        "etr_simple_asce_mm_d": et.asce_daily_tall(asce.net_radiation(asce.clear_simple()), 0.0, asce.air()),
        "eto_full_asce_mm_d": et.asce_daily_short(asce.net_radiation(asce.clear_full()), 0.0, asce.air()),
        "etr_full_asce_mm_d": et.asce_daily_tall(asce.net_radiation(asce.clear_full()), 0.0, asce.air()),
        "eto_refet_v4_mm_d": et.asce_daily_short(full, 0.0, refet.air()),
        "etr_refet_v4_mm_d": et.asce_daily_tall(full, 0.0, refet.air()),
    }


def _refet_extraterrestrial(latitude_deg: float, day_of_year: float) -> float:
    latitude = np.deg2rad(latitude_deg)
    declination = np.deg2rad(23.45) * np.sin(2.0 * np.pi * (day_of_year + 284) / 365)
    sunset = np.arccos(-np.tan(latitude) * np.tan(declination))
    height = sunset * np.sin(latitude) * np.sin(declination)
    height += np.cos(latitude) * np.cos(declination) * np.sin(sunset)
    return float(24.0 / np.pi * 1367 * 0.0036 * sun.inverse_relative_distance(day_of_year) * height)


class _FallonDay:
    """The day at Fallon in metric units, with what its steps need."""

    def __init__(self, given: Given) -> None:
        self.tmin, self.tmax, dewpoint = ((given[name] - 32.0) / 1.8 for name in ("tmin_f", "tmax_f", "dewpoint_f"))
        self.given = given
        self.mean = air.mean_temperature(self.tmin, self.tmax)
        self.vapour = air.vapour_pressure_from_dewpoint(dewpoint)
        self.wind = air.wind_at_2m(given["wind_mph"] * 0.44704, given["wind_height_m"])
        self.solar = given["solar_langley"] * given["mj_m2_per_langley"]
        self.pressure: Any = air.pressure_at_elevation(given["elevation_m"])
        self.above: Any = sun.extraterrestrial_radiation(given["latitude_deg"], given["day_of_year"])
        self.slope = air.slope_of_saturation_vapour_pressure_asce(self.mean)

    def clear_simple(self) -> Any:
        return sun.clear_sky_simple(self.above, self.given["elevation_m"])

    def clear_full(self) -> Any:
        elevation = position.mean_sun_elevation(self.given["latitude_deg"], self.given["day_of_year"])
        return sun.clear_sky_full(self.above, elevation, self.vapour, self.pressure)

    def net_radiation(self, clear: Any) -> Any:
        cloudiness = net.relative_shortwave(self.solar, clear)
        return net.net_shortwave(self.solar) - net.net_longwave_asce(self.tmin, self.tmax, self.vapour, cloudiness)

    def air(self) -> et.Air:
        return et.Air(
            temperature_c=self.mean,
            wind_m_s=self.wind,
            saturation_kpa=air.mean_saturation_vapour_pressure(self.tmin, self.tmax),
            vapour_pressure_kpa=self.vapour,
            slope_kpa_per_c=self.slope,
            psychrometric_kpa_per_c=air.psychrometric_constant(self.pressure),
        )
