"""How turf is brought back: water first, by hand where none arrives, then feed, seed or sod, each with its date."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date


@dataclass(frozen=True, slots=True)
class Fertiliser:
    """The product at hand by its label: percent of nitrogen, and the share of it that is slow-release."""

    nitrogen_pct: float
    slow_fraction: float | None = None  # None: nobody read the label, so it counts as quick


@dataclass(frozen=True, slots=True)
class FeedBan:
    """A ban on feeding as the place states it, first and last day included."""

    first: date
    last: date
    reason: str


@dataclass(frozen=True, slots=True)
class RecoveryAsk:
    """What is known beside the site and the visit. Nothing in it is needed."""

    target_depth_mm: float | None = None
    ready: Mapping[int, date] = field(default_factory=dict)  # terminal → day from which its repair is done
    repellent: frozenset[int] = frozenset()  # terminals whose soil sheds water
    fertiliser: Fertiliser | None = None
    bans: tuple[FeedBan, ...] = ()
    feeds_in_heat: bool = False  # cool-season turf in heat is fed only where this is said


@dataclass(frozen=True, slots=True)
class RewetNight:
    """What one station gets in one night, and what its soil then lacks, layer by layer from the top."""

    serves: date
    cycles_count: int
    cycle_min: int
    soak_min: int
    dropped_count: int  # cycles that the window did not hold
    net_mm: float  # missing down to the target depth at dusk
    applied_mm: float
    credited_mm: float
    morning_mm: tuple[float, ...]
    evening_mm: tuple[float, ...]
    taken_mm: float  # ET of the day that follows


@dataclass(frozen=True, slots=True)
class Rewet:
    """How one station gets from what its soil lacks to wet down to the target depth."""

    terminal: int
    area: str
    path: str  # "plain", "repellent", or "by hand" where no water arrives
    target_depth_mm: float
    begins: date | None
    thickness_mm: tuple[float, ...]
    missing_mm: tuple[float, ...]  # by layer, when it begins
    taken_mm: float  # what the days on the way took, less the rain that went in
    nights: tuple[RewetNight, ...]  # those too on which a full window left it waiting
    reached: date | None  # first day that begins wet down to the target
    moist: date | None  # first day that begins wet deep enough to feed, and stays so night by night
    steps: tuple[str, ...]
    sentence: str


@dataclass(frozen=True, slots=True)
class HandWatering:
    """What a station gets by hand until it is repaired; the water books do not count it."""

    terminal: int
    area: str
    first_mm: float  # once: what the root zone lacks
    daily_mm: float  # then: what the turf uses
    first_l: float | None
    daily_l: float | None
    first_turns: tuple[int, int] | None  # how many turns of how many minutes; None where none stays on the ground
    daily_turns: tuple[int, int] | None
    rate_mm_h: float
    rate_assumed: bool
    until: date | None
    sentence: str


@dataclass(frozen=True, slots=True)
class Feed:
    """Nitrogen for one station's area; 0 where none is to be given, with the reason in the sentence."""

    terminal: int
    area: str
    day: date | None
    nitrogen_g_m2: float
    ceiling_g_m2: float
    product_kg: float | None  # for the whole area, where the area and the product are known
    product_g_m2: float | None
    water_in_mm: float
    sentence: str
    sources: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class CoverAdvice:
    """What to do with an area by its living cover, and when."""

    area: str
    living_cover_pct: float
    action: str  # "leave", "patch", "overseed" or "resod"
    sow_from: date | None
    sow_to: date | None
    sentence: str
    sources: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Recovery:
    """The recovery plan of a visit, in the order in which it is done."""

    first_day: date
    target_depth_mm: float
    repairs: tuple[str, ...]
    by_hand: tuple[HandWatering, ...]
    rewets: tuple[Rewet, ...]
    feeds: tuple[Feed, ...]
    covers: tuple[CoverAdvice, ...]
    look_again: date
    back_from: date | None
    back_to: date | None
    cautions: tuple[str, ...]
