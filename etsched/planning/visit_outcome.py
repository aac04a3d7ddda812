"""What a visit comes to: everything that its report shows, each part where its own planning step made it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from etsched.model.clock_delivers import ClockDelivers
    from etsched.model.finding import Mend, Repair, VisitFindings
    from etsched.model.plan import WeekPlan
    from etsched.model.recovery import Recovery
    from etsched.model.site import Site
    from etsched.model.valve_map import ValveMap
    from etsched.model.visit import CupTest, ElectricalReading, Visit
    from etsched.planning.causes import Diagnosis
    from etsched.planning.core_results import CoreResult
    from etsched.planning.cup_results import CupResult
    from etsched.planning.return_visit import StationProof
    from etsched.reference.coils import CoilReading


@dataclass(frozen=True, slots=True)
class CupsRead:
    """One cup test beside what it says, or why it says nothing."""

    test: CupTest
    result: CupResult | None
    refused: str = ""


@dataclass(frozen=True, slots=True)
class CoilRead:
    """One electrical reading beside what it says."""

    reading: ElectricalReading
    says: CoilReading


@dataclass(frozen=True, slots=True)
class Proof:
    """What a return visit proves of the visit before it."""

    since: Visit
    stations: tuple[StationProof, ...]
    statement: str  # for the customer


@dataclass(frozen=True, slots=True)
class VisitOutcome:
    """One visit judged. What nobody looked at is None or empty."""

    filed: Site  # the property as its file describes it
    found: Site  # the same with what the visit established in it, its terminals as they are wired
    visit: Visit
    clock: ClockDelivers | None  # what the programs found deliver to the property as found
    valves: ValveMap | None
    coils: tuple[CoilRead, ...]
    cups: tuple[CupsRead, ...]
    cores: tuple[CoreResult, ...]
    diagnoses: tuple[Diagnosis, ...]  # one for each area that was looked at
    findings: VisitFindings
    repairs: tuple[Repair, ...]  # in order of worth
    mends: tuple[Mend, ...]  # the same and all else that is to be mended
    plan: WeekPlan  # the week with the findings in it
    recovery: Recovery
    proof: Proof | None
