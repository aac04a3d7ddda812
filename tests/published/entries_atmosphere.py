"""Checks of single steps: air, sun and radiation (FAO-56 chapter 3 and its annex)."""

from __future__ import annotations

from typing import Any

import numpy as np

from etsched.core import atmosphere as air
from etsched.core import net_radiation as net
from etsched.core import radiation as sun

from .registry import Given, entry


@entry("fao56.ex02")
def _pressure(given: Given) -> dict[str, Any]:
    pressure = air.pressure_at_elevation(given["elevation_m"])
    return {"pressure_kpa": pressure, "psychrometric_kpa_per_c": air.psychrometric_constant(pressure)}


@entry("fao56.ex03")
def _saturation(given: Given) -> dict[str, Any]:
    tmin, tmax = given["tmin_c"], given["tmax_c"]
    return {
        "at_tmax_kpa": air.saturation_vapour_pressure(tmax),
        "at_tmin_kpa": air.saturation_vapour_pressure(tmin),
        "mean_kpa": air.mean_saturation_vapour_pressure(tmin, tmax),
        "at_mean_kpa": air.saturation_vapour_pressure(air.mean_temperature(tmin, tmax)),
    }


@entry("fao56.ex04")
def _psychrometer(given: Given) -> dict[str, Any]:
    pressure = air.pressure_at_elevation(given["elevation_m"])
    constant = air.psychrometer_constant(pressure, given["psychrometer_per_c"])
    return {
        "pressure_kpa": pressure,
        "at_wet_bulb_kpa": air.saturation_vapour_pressure(given["wet_bulb_c"]),
        "vapour_pressure_kpa": air.vapour_pressure_from_wet_bulb(given["dry_bulb_c"], given["wet_bulb_c"], constant),
    }


@entry("fao56.ex05_06")
def _relative_humidity(given: Given) -> dict[str, Any]:
    tmin, tmax, low, high = (given[name] for name in ("tmin_c", "tmax_c", "rh_min_pct", "rh_max_pct"))
    from_extremes = air.vapour_pressure_from_rh_extremes(tmin, tmax, low, high)
    return {
        "at_tmin_kpa": air.saturation_vapour_pressure(tmin),
        "at_tmax_kpa": air.saturation_vapour_pressure(tmax),
        "from_extremes_kpa": from_extremes,
        "from_mean_kpa": air.vapour_pressure_from_rh_mean(tmin, tmax, (low + high) / 2.0),
        "deficit_kpa": air.mean_saturation_vapour_pressure(tmin, tmax) - from_extremes,
    }


@entry("fao56.ex07")
def _radians(given: Given) -> dict[str, Any]:
    return {"latitude_rad": np.deg2rad(given["latitude_deg"])}


@entry("fao56.ex08_09")
def _extraterrestrial(given: Given) -> dict[str, Any]:
    latitude, day = given["latitude_deg"], given["day_of_year"]
    above = sun.extraterrestrial_radiation(latitude, day)
    return {
        "distance_factor": sun.inverse_relative_distance(day),
        "declination_rad": sun.solar_declination(day),
        "sunset_rad": sun.sunset_hour_angle(latitude, day),
        "extraterrestrial_mj_m2_d": above,
        "extraterrestrial_mm_d": net.water_equivalent(above),
        "daylight_h": sun.daylight_hours(latitude, day),
    }


@entry("fao56.ex10_12")
def _net_radiation_from_sunshine(given: Given) -> dict[str, Any]:
    latitude, day = given["latitude_deg"], given["day_of_year"]
    above, daylight = sun.extraterrestrial_radiation(latitude, day), sun.daylight_hours(latitude, day)
    solar = sun.solar_from_sunshine(given["sunshine_h"], daylight, above)
    return {
        "extraterrestrial_mj_m2_d": above,
        "daylight_h": daylight,
        "solar_mj_m2_d": solar,
        "solar_mm_d": net.water_equivalent(solar),
        "emitted_at_tmax_mj_m2_d": net.black_body_radiation(given["tmax_c"]),
        "emitted_at_tmin_mj_m2_d": net.black_body_radiation(given["tmin_c"]),
        **_balance_of_radiation(given, solar, sun.clear_sky_from_angstrom(above)),
    }


@entry("fao56.ex16")
def _net_radiation_from_temperature(given: Given) -> dict[str, Any]:
    above = sun.extraterrestrial_radiation(given["latitude_deg"], given["day_of_year"])
    solar = sun.solar_from_temperature_range(given["tmin_c"], given["tmax_c"], above, given["adjustment_factor"])
    return {
        "extraterrestrial_mj_m2_d": above,
        "solar_mj_m2_d": solar,
        **_balance_of_radiation(given, solar, sun.clear_sky_from_angstrom(above)),
    }


def _balance_of_radiation(given: Given, solar: Any, clear: Any) -> dict[str, Any]:
    cloudiness = net.relative_shortwave(solar, clear)
    outward = net.net_longwave(given["tmin_c"], given["tmax_c"], given["vapour_pressure_kpa"], cloudiness)
    kept = net.net_shortwave(solar) - outward
    return {
        "clear_sky_mj_m2_d": clear,
        "net_longwave_mj_m2_d": outward,
        "net_shortwave_mj_m2_d": net.net_shortwave(solar),
        "net_radiation_mj_m2_d": kept,
        "net_radiation_mm_d": net.water_equivalent(kept),
    }


@entry("fao56.ex13")
def _soil_heat(given: Given) -> dict[str, Any]:
    heat = net.soil_heat_monthly(given["previous_month_c"], given["next_month_c"])
    return {"soil_heat_mj_m2_d": heat, "soil_heat_mm_d": net.water_equivalent(heat)}


@entry("fao56.ex14")
def _wind(given: Given) -> dict[str, Any]:
    return {
        "conversion_factor": air.wind_at_2m(1.0, given["height_m"]),
        "wind_at_2m_m_s": air.wind_at_2m(given["wind_m_s"], given["height_m"]),
    }


@entry("fao56.ex15")
def _solar_from_temperature(given: Given) -> dict[str, Any]:
    above = sun.extraterrestrial_radiation(given["latitude_deg"], given["day_of_year"])
    solar = sun.solar_from_temperature_range(given["tmin_c"], given["tmax_c"], above, given["adjustment_factor"])
    return {
        "extraterrestrial_mj_m2_d": above,
        "solar_mj_m2_d": solar,
        "solar_mm_d": net.water_equivalent(solar),
    }


@entry("fao56.table2_1")
def _pressure_table(given: Given) -> dict[str, Any]:
    return {"pressure_kpa": air.pressure_at_elevation(given["elevation_m"])}


@entry("fao56.table2_2")
def _psychrometric_table(given: Given) -> dict[str, Any]:
    pressure = air.pressure_at_elevation(given["elevation_m"])
    return {"psychrometric_kpa_per_c": air.psychrometric_constant(pressure)}


@entry("fao56.table2_3_4_8")
def _temperature_tables(given: Given) -> dict[str, Any]:
    temperature = given["temperature_c"]
    return {
        "saturation_kpa": air.saturation_vapour_pressure(temperature),
        "slope_kpa_per_c": air.slope_of_saturation_vapour_pressure(temperature),
        "emitted_mj_m2_d": net.black_body_radiation(temperature),
    }


@entry("fao56.table2_9")
def _wind_table(given: Given) -> dict[str, Any]:
    return {"conversion_factor": air.wind_at_2m(1.0, given["height_m"])}


@entry("fao56.table2_6")
def _extraterrestrial_table(given: Given) -> dict[str, Any]:
    latitude = given["latitude_deg"][:, None]
    return {"extraterrestrial_mj_m2_d": sun.extraterrestrial_radiation(latitude, given["day_of_year"])}


@entry("fao56.table2_7")
def _daylight_table(given: Given) -> dict[str, Any]:
    return {"daylight_h": sun.daylight_hours(given["latitude_deg"][:, None], given["day_of_year"])}
