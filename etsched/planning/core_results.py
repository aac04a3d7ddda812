"""What the soil cores of a visit say about each station: its roots, the water it lacks, green turf against brown."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from etsched.core import soil, soil_cores
from etsched.planning.ground import LAYERS_COUNT, target_depth_mm
from etsched.reference.faults import head_faults

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping, Sequence

    from numpy.typing import NDArray

    from etsched.model.site import Site, Station
    from etsched.model.visit import Core, CupTest, Visit
    from etsched.planning.ground import Ground

    # Class of the feel table → least and most share of the available water that is still there.
    FeelShares = Mapping[str, tuple[float, float]]
    # Soil texture and class → least and most water short of field capacity that the feel table prints, mm a foot.
    FeelInches = Callable[[str, str], tuple[float, float] | None]

# Cores that must agree before the books of a whole station are set anew (common practice, no source).
LEAST_CORES_COUNT = 3
# A hand is never surer than one class of the feel table: "at field capacity", a point, must not outweigh the rest.
NARROWEST_CLASS_FRACTION = 0.25
# A place whose nearest cup caught less than this share of the mean lies in a patch with a fault, as for DU(lq) under
# about 0.4–0.5 (common practice, no source).
FAULTY_BELOW_FACTOR = 0.5


@dataclass(frozen=True, slots=True)
class CoverageFaults:
    """Where water is known not to land as it should: areas as a whole, and stations some of whose heads are at fault.

    Of a faulty station its brown cores tell of the heads and not of the station.
    """

    areas: frozenset[str] = frozenset()
    stations: frozenset[int] = frozenset()


@dataclass(frozen=True, slots=True)
class CoreResult:
    """What the cores of one station establish, layers as in the books with the roots that were found."""

    terminal: int
    cores_count: int
    used_count: int  # cores outside faulty patches whose feel was read
    rooted_count: int  # cores outside faulty patches whose roots were measured
    root_depth_mm: float | None  # median of those
    moist_mm: float | None  # median of the cores outside faulty patches
    green_moist_mm: float | None
    brown_moist_mm: float | None
    thickness_mm: tuple[float, ...]
    deficit_mm: tuple[float, ...] | None
    deficit_low_mm: tuple[float, ...] | None  # the same at the wet and the dry end of the classes
    deficit_high_mm: tuple[float, ...] | None
    reason: str  # why there is no deficit; "" where there is one
    sentence: str
    local: tuple[str, ...] = field(default=())  # findings about a place, never about the station
    remarks: tuple[str, ...] = field(default=())


def coverage_faults(visit: Visit) -> CoverageFaults:
    """Give the stations of whose heads some were seen to throw badly; areas are for a diagnosis to name."""
    known = head_faults()
    at_fault = {h.station for h in visit.heads if h.fault in known and known[h.fault].effect != "warns"}
    return CoverageFaults(stations=frozenset(at_fault))


def core_results(
    site: Site, visit: Visit, ground: Ground, feel: FeelShares, faults: CoverageFaults
) -> tuple[CoreResult, ...]:
    """Judge the cores of every station that has any, in order of terminal.

    A deficit is measured only by the weighted median of three cores or more outside patches with a coverage fault; a
    dry core inside one is a local finding, never a reason to run the whole station longer.
    """
    available = ground.total_available_mm / ground.thickness_mm[:, 0]
    return tuple(
        _station(site, station, visit, (float(available[at]), float(ground.thickness_mm[at, 0])), feel, faults)
        for at, station in enumerate(site.stations)
        if cores_of(site, visit, station)
    )


def cores_of(site: Site, visit: Visit, station: Station) -> tuple[Core, ...]:
    """Give the cores of a station: those that name it, and those that name only an area that it waters."""
    return tuple(
        core
        for core in visit.cores
        if core.station == station.terminal or (core.station is None and core.area and core.area == station.area)
    )


def stray_cores(site: Site, visit: Visit) -> tuple[str, ...]:
    """Name the cores that tell of no station, because neither their station nor their area is of the site."""
    placed = {id(core) for station in site.stations for core in cores_of(site, visit, station)}
    return tuple(
        f"Core {number} ({core.area or 'no area named'}) tells of no station: name the terminal that waters it."
        for number, core in enumerate(visit.cores, 1)
        if id(core) not in placed
    )


def inches_remarks(site: Site, visit: Visit, ground: Ground, feel: FeelShares, inches: FeelInches) -> tuple[str, ...]:
    """Hold each class that was read against the inches printed for its soil: a check only, they set nothing."""
    available = ground.total_available_mm / ground.thickness_mm[:, 0]
    return tuple(
        f'Station {station.terminal}: "{name}" in {station.soil} is outside the inches that the feel table prints; the '
        "deficit is taken from the station's own available water, which a texture test would settle."
        for at, station in enumerate(site.stations)
        for name in sorted({layer.feel for core in cores_of(site, visit, station) for layer in core.layers})
        if not _as_printed(feel[name], float(available[at]), inches(station.soil, name))
    )


def _as_printed(shares: tuple[float, float], available: float, printed: tuple[float, float] | None) -> bool:
    if printed is None:
        return True
    foot = np.array([soil_cores.MM_PER_FOOT])
    deficit, _ = soil_cores.class_deficit(np.array(shares[:1]), np.array(shares[1:]), available * foot)
    return bool(soil_cores.inches_check(deficit, foot, np.array(printed[:1]), np.array(printed[1:]))[0])


def place_factor(core: Core, tests: Sequence[CupTest], station: int) -> float | None:
    """Give what lands where a core was taken against the mean, by the nearest cup of its station; None: not known."""
    if core.x_m is None or core.y_m is None:
        return None
    factors = []
    for test in tests:
        cups = [cup for cup in test.cups if cup.x_m is not None and cup.y_m is not None]
        caught = np.array([cup.depth_mm if cup.depth_mm is not None else cup.volume_ml for cup in cups], dtype=float)
        if station not in test.stations or not cups or np.isnan(caught).any() or caught.mean() <= 0.0:
            continue
        places = np.array([(cup.x_m, cup.y_m) for cup in cups], dtype=float)
        factors.append(soil_cores.nearest_cup((core.x_m, core.y_m), places, caught))
    return min(factors, key=lambda found: found[1])[0] if factors else None


def readings_of(core: Core, feel: FeelShares) -> soil_cores.Readings:
    """Turn the layers of a core into shares of available water, wetter end of the class last."""
    shares = np.array([feel[layer.feel] for layer in core.layers], dtype=float).reshape(-1, 2)
    return soil_cores.Readings(
        np.array([layer.top_mm for layer in core.layers], dtype=float),
        np.array([layer.bottom_mm for layer in core.layers], dtype=float),
        shares[:, 0],
        shares[:, 1],
    )


def _station(
    site: Site,
    station: Station,
    visit: Visit,
    holds: tuple[float, float],
    feel: FeelShares,
    faults: CoverageFaults,
) -> CoreResult:
    cores = cores_of(site, visit, station)
    sound = [core for core in cores if not _in_faulty_patch(core, station, visit, faults)]
    available, roots_before = holds
    # Roots of no depth are dead turf, which no schedule serves.
    rooted = [depth for depth in _above_stone(sound, "roots_mm") if depth > 0.0]
    roots = _median(rooted)
    thickness = soil.layers_below_roots(
        np.array([roots if roots is not None else roots_before]), target_depth_mm(site), LAYERS_COUNT
    )[0]
    read = [core for core in sound if core.layers]
    measured, reason, remarks = _deficit(read, thickness, available * thickness, feel)
    low, middle, high = measured if measured is not None else (None, None, None)
    green, brown = (_median(_above_stone([c for c in cores if c.colour == hue], "moist_mm")) for hue in _COLOURS)
    return CoreResult(
        station.terminal,
        len(cores),
        len(read),
        len(rooted),
        roots,
        _median(_above_stone(sound, "moist_mm")),
        green,
        brown,
        tuple(thickness.tolist()),
        middle,
        low,
        high,
        reason,
        _sentence(station, len(read), measured, available * thickness, reason),
        tuple(_local(station, [core for core in cores if core not in sound])),
        (*remarks, *_contrast(station, green, brown), *_stones(station, cores)),
    )


_COLOURS = ("green", "brown")


def _in_faulty_patch(core: Core, station: Station, visit: Visit, faults: CoverageFaults) -> bool:
    if core.area in faults.areas or (core.colour == "brown" and station.terminal in faults.stations):
        return True
    factor = place_factor(core, visit.cup_tests, station.terminal)
    return factor is not None and factor < FAULTY_BELOW_FACTOR


def _above_stone(cores: Sequence[Core], name: str) -> list[float]:
    """Depths that the probe found by itself; one that ended on a stone is only a least depth."""
    found = [(getattr(core, name), core.stone_mm) for core in cores]
    return [depth for depth, stone in found if depth is not None and (stone is None or depth < stone)]


def _median(values: Sequence[float]) -> float | None:
    return float(np.median(values)) if values else None


_Measured = tuple[tuple[float, ...], tuple[float, ...], tuple[float, ...]]


def _deficit(
    cores: Sequence[Core], thickness: NDArray[np.float64], available: NDArray[np.float64], feel: FeelShares
) -> tuple[_Measured | None, str, tuple[str, ...]]:
    """Give the deficit by layer at the wet end, the middle and the dry end of the classes, or why there is none."""
    if len(cores) < LEAST_CORES_COUNT:
        count = f"{len(cores) or 'no'} core{'' if len(cores) == 1 else 's'}"
        was = "was" if len(cores) == 1 else "were"
        reason = f"{count} outside faulty patches {was} read by feel, and it takes {LEAST_CORES_COUNT}"
        return None, reason, ()
    shares = np.array([soil_cores.shares_by_layer(readings_of(core, feel), thickness) for core in cores])
    low, middle, high = shares[:, 0], shares[:, 1], shares[:, 2]
    told = (~np.isnan(low)).sum(axis=0) >= LEAST_CORES_COUNT
    if not told[0]:
        return None, f"fewer than {LEAST_CORES_COUNT} cores were read through most of the root zone", ()
    ends = tuple(_by_layer(shares, low, high, told, available) for shares in (high, middle, low))
    deepest = not told[thickness > 0.0].all()
    remark = "Below the deepest layer read, the soil is taken to be as dry as that layer: nobody looked."
    return (ends[0], ends[1], ends[2]), "", (remark,) if deepest else ()


def _by_layer(
    shares: NDArray[np.float64],
    low: NDArray[np.float64],
    high: NDArray[np.float64],
    told: NDArray[np.bool_],
    available: NDArray[np.float64],
) -> tuple[float, ...]:
    """Median over cores (N, L) of the share missing, layer by layer; an unread layer is as dry as the one above it."""
    missing: list[float] = []
    for layer in range(shares.shape[1]):
        known = ~np.isnan(low[:, layer])
        width = np.maximum(high[known, layer] - low[known, layer], NARROWEST_CLASS_FRACTION)
        missing.append(
            soil_cores.weighted_median(1.0 - shares[known, layer], 1.0 / width) if told[layer] else missing[-1]
        )
    return tuple((np.array(missing) * available).tolist())


def _sentence(
    station: Station, count: int, measured: _Measured | None, available: NDArray[np.float64], reason: str
) -> str:
    if measured is None:
        return f"Station {station.terminal}: what its soil lacks is still reckoned from the weather: {reason}."
    low, middle, high = (layers[0] / available[0] for layers in measured)
    by = "one core" if count == 1 else f"the median of {count} cores"
    return (
        f"Station {station.terminal}: by {by} its root zone lacks {middle:.0%} of the water it can hold "
        f"({low:.0%} to {high:.0%} by the width of the classes); the water books start from there."
    )


def _local(station: Station, cores: Sequence[Core]) -> Iterator[str]:
    for core in cores:
        which = f"{core.colour} core" if core.colour else "core"
        yield (
            f"Station {station.terminal}: the {which} in {core.area or station.area} lies where water does not land as "
            "it should. It tells of that place: mend the coverage; the station does not run longer for it."
        )


def _contrast(station: Station, green: float | None, brown: float | None) -> Iterator[str]:
    """Compare green with brown: a difference of a tenth or less is none (common practice, no source)."""
    if green is None or brown is None:
        return
    if brown < 0.9 * green:
        yield f"Station {station.terminal}: brown cores are moist less deep than green ones, which speaks for water."
    elif brown <= 1.1 * green:
        yield f"Station {station.terminal}: brown cores are as moist as green ones, which speaks against dryness alone."
    else:
        yield f"Station {station.terminal}: brown cores are moist deeper than green ones, which speaks against dryness."


def _stones(station: Station, cores: Sequence[Core]) -> Iterator[str]:
    count = sum(core.stone_mm is not None for core in cores)
    if count:
        where = "the one core" if len(cores) == 1 else f"{count} of {len(cores)} cores"
        yield (
            f"Station {station.terminal}: the probe stopped short in {where}; a depth that ends where it stopped is "
            "not counted."
        )
