"""Checks of catch cups and the run-time rules that rest on them (extension services, published field)."""

from __future__ import annotations

from typing import Any

from etsched.core import catch_cups, runtime, uniformity

from .registry import Given, entry

INCH_MM = 25.4
FOOT2_M2 = 0.3048**2
GALLON_L = 3.785411784


@entry("uc_davis.lower_quarter")
def _lower_quarter(given: Given) -> dict[str, Any]:
    return {"lower_quarter_fraction": catch_cups.lower_quarter_uniformity(given["depth_mm"])}


@entry("audit.cups_24")
def _cups(given: Given) -> dict[str, Any]:
    volume = given["volume_ml"]
    depth = catch_cups.depth_from_volume(volume, given["throat_in2"] * 2.54**2)
    quarter = catch_cups.lower_quarter_uniformity(depth)
    return {
        "mean_ml": volume.mean(),
        "lower_quarter_ml": quarter * volume.mean(),
        "lower_quarter_fraction": quarter,
        "lower_half_fraction": catch_cups.lower_half_uniformity(depth),
        "christiansen_fraction": catch_cups.christiansen_uniformity(depth),
        "rate_in_h": catch_cups.rate_from_depths(depth, given["minutes_min"]) / INCH_MM,
    }


@entry("von_bernuth_mecham.field")
def _field(given: Given) -> dict[str, Any]:
    return {
        "scheduling_factor": uniformity.scheduling_multiplier(given["lower_quarter_fraction"]),
        "lower_half_factor": uniformity.lower_half_multiplier(given["lower_half_fraction"]),
        "lower_quarter_factor": uniformity.lower_quarter_multiplier(given["lower_quarter_fraction"]),
    }


@entry("flow_formula.strip")
def _strip(given: Given) -> dict[str, Any]:
    area = given["length_ft"] * given["width_ft"] * FOOT2_M2
    return {"rate_in_h": runtime.rate_from_flow(given["flow_gpm"] * GALLON_L, area) / INCH_MM}
