"""What to take where nobody measured: soils, heads and turf, each figure with its bounds and its source.

Keys are the words of the site file, such as `"sandy loam"`, `"multi-stream"` or `"by paving"`; a word that no
table knows raises KeyError.
"""

from __future__ import annotations

from bisect import bisect_left
from functools import cache

from etsched.reference.figure import Figure, Table, figure, origin, table


@cache
def soil_textures() -> tuple[str, ...]:
    """Give the names of all soil textures, from coarse to fine."""
    return tuple(_soils()["texture"])


@cache
def available_water(texture: str) -> Figure:
    """Give the water a soil holds for plants, as fraction of its volume (mm of water per mm of soil)."""
    return _soil_figure(_soils()["texture"][texture]["available_water"])


@cache
def intake(texture: str) -> Figure:
    """Give the steady rate at which a soil takes water in, mm/h."""
    owner = _owner(texture, "intake")
    return _by_analogy(_soil_figure(_soils()["texture"][owner]["intake"], "intake"), texture, owner)


def surface_storage(texture: str, slope_pct: float) -> Figure:
    """Give the depth that may stand on the ground before it runs off a slope, mm."""
    return _surface_storage(texture, bisect_left(_soils()["slope_classes"]["up_to_pct"], slope_pct))


@cache
def _surface_storage(texture: str, slope_class: int) -> Figure:
    owner = _owner(texture, "surface_storage")
    entry = _soils()["texture"][owner]["surface_storage"][slope_class]
    return _by_analogy(_soil_figure(entry, "surface_storage"), texture, owner)


@cache
def slope() -> Figure:
    """Give the slope taken where nobody said one, percent."""
    return _soil_figure(_soils()["slope"])


@cache
def precip_rate(head: str) -> Figure:
    """Give the typical rate at which a kind of head waters, mm/h, drift and overspray not yet taken off."""
    return _head_figure(head, "precip_rate")


@cache
def uniformity(head: str) -> Figure:
    """Give the typical lower-quarter distribution uniformity of a kind of head, a fraction."""
    return _head_figure(head, "uniformity")


@cache
def application_efficiency(head: str) -> Figure:
    """Give the share of what leaves the nozzles that lands; never for a rate measured with cups."""
    return _head_figure(head, "application_efficiency")


@cache
def least_cycle(head: str) -> Figure:
    """Give the shortest useful run of a kind of head, minutes."""
    return _head_figure(head, "least_cycle")


@cache
def microclimate(exposure: str) -> Figure:
    """Give the factor by which an exposure changes the water use of turf."""
    return _turf_figure("microclimate", exposure)


@cache
def density() -> Figure:
    """Give the factor of a full stand of turf."""
    return _turf_figure("general", "density")


@cache
def root_depth() -> Figure:
    """Give the depth of roots to schedule on where no core was taken, mm."""
    return _turf_figure("general", "root_depth")


@cache
def target_depth() -> Figure:
    """Give the depth to keep moist, below the roots too, mm."""
    return _turf_figure("general", "target_depth")


@cache
def depletion_fraction(turf: str) -> Figure:
    """Give the share of available water a turf group may use up before it suffers, at 5 mm/day."""
    return _turf_figure("depletion_fraction", turf)


@cache
def crop_sets() -> tuple[str, ...]:
    """Give the names of the sets of crop factors."""
    return tuple(_turf()["crop_set"])


@cache
def crop_factors(crop_set: str, turf: str) -> tuple[Figure, ...]:
    """Give the twelve monthly crop factors of a turf group on grass reference ET, January first."""
    entry = _turf()["crop_set"][crop_set][turf]
    less, more = entry["less_factor"], entry["more_factor"]
    source, mark = origin(_turf()["sources"][entry["source"]], entry["mark"])
    return tuple(Figure(kc, kc - less, kc + more, source, mark) for kc in entry["monthly_factor"])


def _soils() -> Table:
    return table("soils.toml")


def _turf() -> Table:
    return table("turf.toml")


def _soil_figure(entry: Table, spread: str = "") -> Figure:
    return figure(entry, _soils()["sources"], _soils()["spread"].get(spread))


def _owner(texture: str, what: str) -> str:
    """Give the texture whose figure serves: the nearest one in texture where no source prints it."""
    soil = _soils()["texture"][texture]
    return texture if what in soil else str(soil["like"])


def _by_analogy(taken: Figure, texture: str, owner: str) -> Figure:
    if owner == texture:
        return taken
    source = f"as for {owner}, by analogy (from memory, to be verified)"
    return Figure(taken.value, taken.low, taken.high, source, "memory")


def _head_figure(head: str, what: str) -> Figure:
    heads = table("heads.toml")
    return figure(heads["head"][head][what], heads["sources"])


def _turf_figure(group: str, key: str) -> Figure:
    return figure(_turf()[group][key], _turf()["sources"])
