"""Checks of turf, soil and the root zone (FAO-56 chapters 6–8, extension services, ordinances)."""

from __future__ import annotations

from typing import Any

import numpy as np

from etsched.core import dual_coefficient as dual
from etsched.core import radiation, rainfall, root_zone, soil, turf_use, water_budget
from etsched.reference import tables

from .registry import Given, entry

INCH_MM = 25.4
FOOT2_M2 = 0.3048**2
GALLON_L = 3.785411784


@entry("fao56.table12_17_22_turf")
def _turf(given: Given) -> dict[str, Any]:
    climate = [np.array(given[name]) for name in ("wind_m_s", "rh_min_pct", "height_m")]
    tabled = ("cool_factor", "warm_factor", "cool_basal_factor", "warm_basal_factor")
    cool, warm = (tables.crop_factors("flat", group) for group in ("cool-season", "warm-season"))
    return {
        **{name: turf_use.climate_adjusted_crop_factor(given[name], *climate) for name in tabled},
        # July for mid-season, October for the end of it.
        "cool_factor_shipped": [cool[6].value, cool[9].value],
        "warm_factor_shipped": [warm[6].value, warm[9].value],
        "cool_depletion_fraction_shipped": tables.depletion_fraction("cool-season").value,
        "warm_depletion_fraction_shipped": tables.depletion_fraction("warm-season").value,
        "less_when_careful_factor_shipped": cool[6].value - cool[6].low,
    }


@entry("fao56.table19")
def _soils(given: Given) -> dict[str, Any]:
    full, dry = given["field_capacity_fraction"], given["wilting_point_fraction"]
    shipped = [tables.available_water(texture) for texture in given["texture"]]
    return {
        "available_water_fraction_shipped": [[figure.low, figure.high] for figure in shipped],
        "middle_of_available_water_fraction": soil.available_water_from_limits(full.mean(axis=1), dry.mean(axis=1)),
        "evaporable_mm": dual.total_evaporable_water(full, dry),
    }


@entry("fao56.table20_21")
def _wetted_and_covered(given: Given) -> dict[str, Any]:
    return {
        "exposed_when_bare_fraction": dual.exposed_wetted_fraction(0.0, given["wetted_fraction"]),
        "exposed_when_all_wet_fraction": dual.exposed_wetted_fraction(given["cover_fraction"], 1.0),
    }


@entry("fao56.p_adjust")
def _depletion_fraction(given: Given) -> dict[str, Any]:
    moved = root_zone.adjusted_depletion_fraction(given["table_fraction"], given["etc_mm"])
    return {"depletion_fraction": moved}


@entry("fao56.ex29_30")
def _stages(given: Given) -> dict[str, Any]:
    climate = [np.array(given[name]) for name in ("wind_m_s", "rh_min_pct", "height_m")]
    middle = given["rounded_middle_factor"]
    initial, growing, full, late = given["stages_d"]
    before_late = initial + growing + full
    return {
        "middle_factor": turf_use.climate_adjusted_crop_factor(np.array(given["table_factor"]), *climate),
        "day_37_factor": dual.stage_factor(37, initial, growing, given["initial_factor"], middle),
        "day_90_factor": dual.stage_factor(90, before_late, late, middle, given["end_factor"]),
    }


@entry("fao56.ex31")
def _drying_surface(given: Given) -> dict[str, Any]:
    total, ready = given["evaporable_mm"], given["readily_evaporable_mm"]
    basal, greatest = given["basal_factor"], given["greatest_factor"]
    exposed, eto = given["exposed_fraction"], given["eto_mm"]
    depletion: Any = 0.0
    days = []
    for _ in range(given["days"]):
        reduction = dual.evaporation_reduction(depletion, total, ready)
        factor = dual.evaporation_factor(reduction, exposed, basal, greatest)
        depletion = dual.surface_depletion(depletion, 0.0, factor * eto, exposed)
        days.append((reduction, factor, factor * eto, depletion, (basal + factor) * eto))
    names = ("reduction_fraction", "evaporation_factor", "evaporation_mm", "depletion_mm", "etc_mm")
    return dict(zip(names, np.array(days).T, strict=True))


@entry("fao56.ex32_34")
def _exposed_soil(given: Given) -> dict[str, Any]:
    basal = given["basal_factor"]
    climate = dual.Climate(given["wind_m_s"], given["rh_min_pct"], given["height_m"])
    greatest = dual.greatest_factor(basal, climate)
    cover = dual.cover_fraction(basal, given["least_factor"], greatest, given["height_m"])
    wetted = given["wetted_fraction"].copy()
    wetted[2] = dual.wetted_fraction_under_drip(cover, wetted[2])
    exposed = dual.exposed_wetted_fraction(cover, wetted)
    evaporation = dual.evaporation_factor(1.0, exposed, basal, greatest)
    return {
        "greatest_factor": greatest,
        "cover_fraction": cover,
        "exposed_fraction": exposed,
        "evaporation_factor": evaporation,
        "crop_factor": basal + evaporation,
    }


@entry("fao56.ex36")
def _available_water(given: Given) -> dict[str, Any]:
    depth, fraction = given["root_depth_mm"][:, None], given["depletion_fraction"][:, None]
    total = root_zone.total_available_water(given["available_water_fraction"], depth)
    return {
        "total_available_mm": total,
        "readily_available_mm": root_zone.readily_available_water(total, fraction),
    }


@entry("fao56.ex37")
def _drying_root_zone(given: Given) -> dict[str, Any]:
    water = soil.available_water_from_limits(given["field_capacity_fraction"], given["wilting_point_fraction"])
    total = root_zone.total_available_water(water, np.array([float(given["root_depth_mm"])]))
    fraction = np.array([given["depletion_fraction"]])
    demand = _demand(given["eto_mm"] * given["crop_factor"], fraction)
    state = np.array([[given["depletion_mm"]]])
    days = []
    for _ in range(given["days"]):
        stress = root_zone.stress_coefficient(state[:, 0], total, fraction)
        day = root_zone.day_step(state, total, demand)
        state = day.deficit_mm
        days.append((stress[0], day.et_mm[0], state[0, 0]))
    results = dict(zip(("stress_fraction", "etc_mm", "end_mm"), np.array(days).T, strict=True))
    return results | {
        "total_available_mm": float(total[0]),
        "readily_available_mm": float(root_zone.readily_available_water(total, fraction)[0]),
    }


def _demand(
    etc_mm: float, fraction: Any, irrigation_mm: float = 0.0, rain_mm: float = 0.0, et_before: float = 1.0
) -> root_zone.DayDemand:
    return root_zone.DayDemand(
        etc_mm=np.array([etc_mm]),
        depletion_fraction=fraction,
        irrigation_mm=np.array([irrigation_mm]),
        rain_mm=np.array([[rain_mm]]),
        et_before_fraction=np.array([et_before]),
    )


@entry("fao56.ex38")
def _ten_days(given: Given) -> dict[str, Any]:
    water = soil.available_water_from_limits(given["field_capacity_fraction"], given["wilting_point_fraction"])
    total = root_zone.total_available_water(water, given["root_depth_mm"].astype(float))
    fraction = np.array([given["depletion_fraction"]])
    state = np.array([[given["depletion_mm"]]])
    days = []
    for n, irrigation in enumerate(given["irrigation_mm"]):
        # Here rain, too, enters before the day's ET, as in the example.
        water_in = state[0, 0] if irrigation == "refill" else float(irrigation)
        rain = float(given["rain_mm"][n])
        etc = given["eto_mm"][n] * given["crop_factor"][n]
        start, _, _ = root_zone.wet_from_above(state, np.array([water_in + rain]))
        day = root_zone.day_step(state, total[n : n + 1], _demand(etc, fraction, water_in, rain, et_before=0.0))
        state = day.deficit_mm
        days.append((start[0, 0], day.et_mm[0], day.passed_mm[0], state[0, 0]))
    names = ("start_mm", "etc_mm", "percolation_mm", "end_mm")
    results = dict(zip(names, np.array(days).T, strict=True))
    return results | {"readily_available_mm": root_zone.readily_available_water(total, fraction)}


@entry("uc.turf_kc_monthly")
def _monthly_factors(_: Given) -> dict[str, Any]:
    cool, warm = (tables.crop_factors("monthly", group) for group in ("cool-season", "warm-season"))
    return {
        "cool_factor_shipped": [figure.value for figure in cool],
        "warm_factor_shipped": [figure.value for figure in warm],
    }


@entry("uc_ipm.zone2_cool_1in_per_h")
def _shape_of_the_year(given: Given) -> dict[str, Any]:
    sun = radiation.extraterrestrial_radiation(given["latitude_deg"], given["day_of_year"])
    use = sun * [figure.value for figure in tables.crop_factors("monthly", "cool-season")]
    return {
        "most_month": np.argmax(use) + 1,
        "least_month": np.argmin(use) + 1,
        "correlation_fraction": np.corrcoef(use, given["minutes_a_week"])[0, 1],
    }


@entry("ndsu.ae792_checkbook")
def _checkbook(given: Given) -> dict[str, Any]:
    """Keep the sheet's books in the root zone: half the water may go without stress, so that ET is the sheet's."""
    total = np.array([given["available_water_in"] * INCH_MM])
    fraction = np.array([given["half_in"] / given["available_water_in"]])
    state = np.array([[given["deficit_in"] * INCH_MM]])
    deficits = []
    for use, rain, irrigation in zip(given["use_in"], given["rain_in"], given["irrigation_in"], strict=True):
        demand = _demand(use * INCH_MM, fraction, irrigation * INCH_MM, rain * INCH_MM)
        state = root_zone.day_step(state, total, demand).deficit_mm
        deficits.append(state[0, 0] / INCH_MM)
    return {"deficit_in": deficits}


@entry("tamu.effective_rain")
def _effective_rain(given: Given) -> dict[str, Any]:
    return {"effective_in": rainfall.effective_rain_event(given["rain_in"] * INCH_MM) / INCH_MM}


@entry("ca_ordinance.mawa")
def _water_budget(given: Given) -> dict[str, Any]:
    eto_mm = given["eto_in"] * INCH_MM
    special_m2 = given["special_ft2"] * FOOT2_M2
    allowance = water_budget.water_allowance(
        eto_mm, given["landscape_ft2"] * FOOT2_M2, special_m2, given["adjustment_fraction"]
    )
    use = water_budget.estimated_use(
        eto_mm,
        given["plant_factor"],
        given["hydrozone_ft2"] * FOOT2_M2,
        given["efficiency_fraction"],
        special_m2,
    )
    return {"allowance_gal": allowance / GALLON_L, "use_gal": use / GALLON_L}
