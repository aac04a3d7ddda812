"""What is known about tests with catch cups: how sure so many cups are, and what an audit asks for."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from etsched.reference.figure import Table, origin, table

_INTERVALS = "cup_intervals.toml"
_RULES = "cup_rules.toml"
MPH_M_S = 0.44704


@dataclass(frozen=True, slots=True)
class Pivots:
    """How many spreads the ground may lie below and above what so many cups found, and how often that holds.

    `usual` is the mean over fields that set nothing, `hardest` the least of all fields that were tried.
    """

    less_factor: float
    more_factor: float
    usual_fraction: float
    hardest_fraction: float


@dataclass(frozen=True, slots=True)
class Rule:
    """One rule of an audit, in its canonical unit, with its source."""

    value: float
    source: str


def least_for_rate() -> int:
    """Give how many cups tell a rate."""
    return int(table(_INTERVALS)["rate"]["count"][0])


def least_for_uniformity() -> int:
    """Give how many cups tell a uniformity; fewer stray too far, whatever is done with them."""
    return int(table(_INTERVALS)["uniformity"]["count"][0])


def rate_pivots(count: int) -> Pivots:
    """Give the pivots of a rate; beyond the last tabulated number of cups as there, where they cover no less."""
    return _pivots("rate", count)


def uniformity_pivots(count: int) -> Pivots:
    """Give the pivots of DU(lq), as for a rate."""
    return _pivots("uniformity", count)


def uniformity_correction(count: int) -> float:
    """Give by how much so many cups understate the driest quarter's shortfall, as a factor.

    Beyond the last tabulated number of cups the bias falls off with their number.
    """
    return 1.0 + (_between("uniformity", "correction_factor", count) - 1.0) * tried_with(count) / count


def tried_with(count: int) -> int:
    """Give with how many cups the ranges of so many were tried: beyond the table with its last number."""
    return min(count, int(table(_INTERVALS)["uniformity"]["count"][-1]))


def missed_corner(count: int) -> float:
    """Give how often the interval of DU(lq) holds where an eighth of the ground is dry and cups may miss it."""
    return _between("uniformity", "missed_fraction", count)


@cache
def rule(name: str) -> Rule:
    """Give a rule of an audit by its name in the data file."""
    entry: Table = table(_RULES)["rule"][name]
    (unit, value), *_ = ((key.removeprefix("value_"), each) for key, each in entry.items() if key.startswith("value_"))
    return Rule(float(value) * (MPH_M_S if unit == "mph" else 1.0), _origin(entry))


@cache
def run_minutes(head: str) -> tuple[float, float] | None:
    """Give how long a kind of head should run for a test; None where there is no rule."""
    entry = table(_RULES)["minutes"].get(head)
    return None if entry is None else (entry["low_min"], entry["high_min"])


def _pivots(what: str, count: int) -> Pivots:
    names = ("less_factor", "more_factor", "usual_fraction", "hardest_fraction")
    return Pivots(*(_between(what, name, count) for name in names))


def _between(what: str, name: str, count: int) -> float:
    columns = table(_INTERVALS)[what]
    if count < columns["count"][0]:
        raise ValueError(f"{count} cups tell no {what}")
    return float(columns[name][min(count, columns["count"][-1]) - columns["count"][0]])


def _origin(entry: Table) -> str:
    return origin(table(_RULES)["sources"][entry["source"]], entry["mark"])[0]
