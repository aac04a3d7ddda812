"""What a visit establishes about a station, and what repairs are worth."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from etsched.model.site import Known


class Effect(StrEnum):
    """What a finding does to the plan."""

    BLOCKS = "blocks"  # no water arrives: the station gets no minutes
    FREES = "frees"  # water arrives again: what blocked the station is mended
    MOVES = "moves"  # the area hangs on another terminal than was filed
    SETS = "sets"  # a measured number takes the place of a stated or assumed one
    DISCOUNTS = "discounts"  # the water lands unevenly
    WARNS = "warns"


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing a visit established; `terminal` None concerns the property.

    What a station gets by it stands in `known`, whose note names the visit.
    """

    terminal: int | None  # as it is wired
    field: str  # of the station, where the effect is `sets`; else a key of the fault
    effect: Effect
    sentence: str
    known: Known | None = None
    suffix: str = ""
    reason: str = ""  # why no water arrives, where the effect is `blocks`
    many: bool = False  # whether it is of several heads


@dataclass(frozen=True, slots=True)
class Repair:
    """One station's repairs with what they are worth in the plan's week, and how that was reckoned."""

    terminal: int
    what: tuple[str, ...]  # what to do, in order
    found_fraction: float | None  # DU(lq) as found; None where no water arrives
    repaired_fraction: float  # DU(lq) taken for the repaired station
    minutes_found_min: int  # the week's minutes as it is
    minutes_repaired_min: int
    volume_saved_l: float | None  # in the week; below 0 where a dead station begins to take water
    measured: bool  # whether cups told how uneven it is; without them nothing is known of what a repair saves
    driest_quarter_mm: float  # depth the driest quarter gains in the week
    reckoning: str


@dataclass(frozen=True, slots=True)
class Mend:
    """One thing to mend: at which stations, else where, what to do, and when it will be done by the record."""

    terminals: tuple[int, ...]
    where: str
    what: tuple[str, ...]
    on: date | None = None
    setting: bool = False  # keyed in or written down anew; nothing is broken


@dataclass(frozen=True, slots=True)
class VisitFindings:
    """All that one visit established, in order of station."""

    day: date
    technician: str
    findings: tuple[Finding, ...]
    remarks: tuple[str, ...]  # what breaks a rule of good measuring, or could not be used
