"""Every number a station's plan rests on, with how it is known: what the site file says, else the reference tables."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from etsched.core import runtime
from etsched.model.site import Basis, Exposure, Known, Site, Station
from etsched.reference import tables

if TYPE_CHECKING:
    from etsched.reference.figure import Figure


@dataclass(frozen=True, slots=True)
class Fact:
    """One number of one station: how it is known, from where, and its plausible bounds where it is a guess."""

    value: float
    suffix: str
    basis: Basis
    source: str
    assumed: bool
    low: float
    high: float

    @property
    def uncertain(self) -> bool:
        """Whether it may well be another number: a guess, or a measurement with a range."""
        return self.low < self.value or self.value < self.high


# What would turn a guess into knowledge, by field. The order is the order in which a reader meets them.
MEASURES = {
    "precip_rate": "a catch-cup test, or the water meter over the watered area",
    "uniformity": "a catch-cup test with at least 24 cups",
    "application_efficiency": "a catch-cup test beside the meter reading",
    "root_depth": "a soil core: how deep the white roots go",
    "available_water": "a soil texture test, by feel or in a laboratory",
    "depletion_fraction": "nothing on site; it is published for the species",
    "depletion": "three soil cores, read by feel",
    "crop_factor": "nothing on site; it is published for the species",
    "density": "a look at how much of the ground is covered",
    "microclimate": "a look at the shade and the paving through a day",
    "slope": "a level and a tape",
    "intake": "a timed look at when water starts to run off",
    "surface_storage": "a timed look at when water starts to run off",
    "least_cycle": "a look at how long the heads take to rise and turn once",
}


def _said(known: Known | None, suffix: str) -> Fact | None:
    if known is None:
        return None
    source = known.note or f"site file, {known.basis}"
    low = known.value if known.low is None else known.low
    high = known.value if known.high is None else known.high
    return Fact(known.value, suffix, known.basis, source, known.basis is Basis.TYPICAL, low, high)


def _taken(figure: Figure, suffix: str) -> Fact:
    return Fact(figure.value, suffix, Basis.TYPICAL, figure.source, True, figure.low, figure.high)


def _precip_rate(station: Station) -> Fact:
    said = _said(station.precip_rate, "mm_h")
    if said is not None and said.assumed:
        usual = tables.precip_rate(station.head)
        return replace(said, low=min(usual.low, said.value), high=max(usual.high, said.value))
    if said is not None:
        return said
    if station.flow is not None and station.area_m2 is not None:
        rate = float(runtime.rate_from_flow(np.asarray(station.flow.value), np.asarray(station.area_m2)))
        return Fact(rate, "mm_h", Basis.FROM_FLOW, "flow over area: 60 × L/min ÷ m²", False, rate, rate)
    return _taken(tables.precip_rate(station.head), "mm_h")


def _application_efficiency(station: Station) -> Fact:
    """Cups catch what lands, so a cup rate loses nothing more; any other rate does."""
    rate = _precip_rate(station)
    if rate.basis is Basis.MEASURED:
        return Fact(1.0, "fraction", Basis.MEASURED, "the rate was caught in cups", False, 1.0, 1.0)
    return _said(station.application_efficiency, "fraction") or _taken(
        tables.application_efficiency(station.head), "fraction"
    )


def _slope(station: Station) -> Fact:
    if station.slope_pct is None:
        return _taken(tables.slope(), "pct")
    return Fact(station.slope_pct, "pct", Basis.STATED, "site file", False, station.slope_pct, station.slope_pct)


def _microclimate(station: Station) -> Fact:
    said = _said(station.microclimate, "factor")
    if said is not None:
        return said
    taken = _taken(tables.microclimate(station.exposure), "factor")
    # Open ground is the case the method is defined for, so 1 is then a description and no guess.
    return taken if station.exposure is not Exposure.OPEN else _certain(taken)


def _certain(fact: Fact) -> Fact:
    return Fact(fact.value, fact.suffix, Basis.STATED, fact.source, False, fact.value, fact.value)


def station_facts(site: Site, station: Station, month: int) -> dict[str, Fact]:
    """Collect the facts of one station, keyed by the names of `MEASURES`, with the crop factor of a month."""
    slope = _slope(station)
    crop = tables.crop_factors(site.crop_set, station.turf)[month - 1]
    makers: Mapping[str, Callable[[], Fact]] = {
        "precip_rate": lambda: _precip_rate(station),
        "uniformity": lambda: (
            _said(station.uniformity, "fraction") or _taken(tables.uniformity(station.head), "fraction")
        ),
        "application_efficiency": lambda: _application_efficiency(station),
        "root_depth": lambda: _said(station.root_depth, "mm") or _taken(tables.root_depth(), "mm"),
        "available_water": lambda: (
            _said(station.available_water, "fraction") or _taken(tables.available_water(station.soil), "fraction")
        ),
        "depletion_fraction": lambda: (
            _said(station.allowable_depletion, "fraction")
            or _taken(tables.depletion_fraction(station.turf), "fraction")
        ),
        "crop_factor": lambda: _said(station.crop_factor, "factor") or _taken(crop, "factor"),
        "density": lambda: _said(station.density, "factor") or _taken(tables.density(), "factor"),
        "microclimate": lambda: _microclimate(station),
        "slope": lambda: slope,
        "intake": lambda: _said(station.intake, "mm_h") or _taken(tables.intake(station.soil), "mm_h"),
        "surface_storage": lambda: (
            _said(station.surface_storage, "mm") or _taken(tables.surface_storage(station.soil, slope.value), "mm")
        ),
        "least_cycle": lambda: _said(station.least_cycle, "min") or _taken(tables.least_cycle(station.head), "min"),
    }
    return {name: make() for name, make in makers.items()}
