"""All that people read of one visit, in the reader's units: page, JSON and terminal are set from this."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from etsched.tables.figure import plain, reader_system
from etsched.tables.visit_causes import RULE, AreaCauses, held_back, visit_causes
from etsched.tables.visit_cautions import CautionGroup, visit_cautions
from etsched.tables.visit_chart import VisitChart, visit_chart
from etsched.tables.visit_clock import VisitClock, visit_clock
from etsched.tables.visit_cores import VisitCores, visit_cores
from etsched.tables.visit_cups import CupRow, visit_cups
from etsched.tables.visit_findings import VisitFindingsTable, visit_findings
from etsched.tables.visit_mends import MendRow, visit_mends
from etsched.tables.visit_proof import VisitProof, visit_proof
from etsched.tables.visit_recovery import VisitRecovery, visit_recovery
from etsched.tables.visit_repairs import RepairRow, visit_repairs
from etsched.tables.visit_seen import VisitSeen, visit_seen
from etsched.tables.visit_short import SourcesRow, in_short, visit_sources
from etsched.tables.visit_words import Day, texts
from etsched.units import UnitSystem

if TYPE_CHECKING:
    from etsched.planning.visit_outcome import VisitOutcome


@dataclass(frozen=True, slots=True)
class VisitTable:
    """One visit. A part is None or empty where nobody looked."""

    site: str
    day: Day
    short: tuple[str, ...]  # the whole visit in a few sentences
    technician: str
    weather: str  # whose weather the week is planned with
    credits: tuple[str, ...]  # words that must stand with it
    system: UnitSystem
    clock: VisitClock | None
    seen: VisitSeen
    cups: tuple[CupRow, ...]
    cores: VisitCores | None
    causes: tuple[AreaCauses, ...]
    held: tuple[str, ...]  # what is not to be done, and why, each once
    mends: tuple[MendRow, ...]
    repairs: tuple[RepairRow, ...]
    chart: VisitChart | None
    recovery: VisitRecovery | None
    findings: VisitFindingsTable
    proof: VisitProof | None
    cautions: tuple[CautionGroup, ...]
    sources: tuple[SourcesRow, ...]

    @property
    def rule(self) -> str:
        """By which rule a cause is called likely."""
        return RULE

    @property
    def bare(self) -> bool:
        """Whether nothing but the day was written down."""
        parts = (self.clock, self.cups, self.cores, self.causes, self.mends, self.chart, self.recovery, self.proof)
        return not (any(parts) or self.seen.anything or self.findings.anything)


def visit_table(outcome: VisitOutcome, system: UnitSystem | None = None) -> VisitTable:
    """Write a visit as it is read."""
    read = reader_system(outcome.plan, system)
    clock, seen, causes = visit_clock(outcome, read), visit_seen(outcome, read), visit_causes(outcome)
    mends, recovery = visit_mends(outcome), visit_recovery(outcome, read)
    return VisitTable(
        site=plain(outcome.filed.name),
        day=Day(outcome.visit.day),
        short=in_short(clock, causes, mends, recovery),
        technician=plain(outcome.visit.technician),
        weather=plain(outcome.plan.weather_source),
        credits=texts(text.removesuffix(".") for text in outcome.plan.attributions),
        system=read,
        clock=clock,
        seen=seen,
        cups=visit_cups(outcome, read),
        cores=visit_cores(outcome, read),
        causes=causes,
        held=held_back(causes),
        mends=mends,
        repairs=visit_repairs(outcome, read),
        chart=visit_chart(outcome),
        recovery=recovery,
        findings=visit_findings(outcome, read),
        proof=visit_proof(outcome, read),
        cautions=visit_cautions(outcome, recovers=recovery is not None),
        sources=visit_sources(seen, causes, recovery),
    )
