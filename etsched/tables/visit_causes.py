"""Why an area fails: what is supported, what is open, what is ruled out, by which signs, and what to do next."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from etsched.tables.figure import plain
from etsched.tables.visit_words import seen_text, texts

if TYPE_CHECKING:
    from etsched.planning.causes import Cause, Diagnosis, State
    from etsched.planning.visit_outcome import VisitOutcome
    from etsched.reference.causes import Evidence

# How much a sign says, as words that follow it.
_WEIGHTS = {
    "strong": "speaks strongly for it",
    "some": "speaks for it",
    "fits": "fits it, and fits others",
    "against": "speaks against it",
    "excludes": "rules it out",
}


@dataclass(frozen=True, slots=True)
class EvidenceRow:
    """One sign, how much it says about the cause, and who says so."""

    sign: str
    weight: str
    source: str

    @property
    def text(self) -> str:
        """The sign with its weight in one line."""
        return f"{self.sign} ({self.weight})"


@dataclass(frozen=True, slots=True)
class CauseRow:
    """One cause with its verdict."""

    name: str
    state: State
    speaks_for: tuple[EvidenceRow, ...]
    speaks_against: tuple[EvidenceRow, ...]
    next_test: str
    advice: str

    @property
    def weighed(self) -> bool:
        """Whether any sign says anything about it."""
        return bool(self.speaks_for or self.speaks_against)


@dataclass(frozen=True, slots=True)
class AreaCauses:
    """One area: what was seen there, every cause, and what follows."""

    area: str
    signs: tuple[str, ...]
    causes: tuple[CauseRow, ...]
    next_test: str
    advice: tuple[str, ...]
    held: str  # what is not advised, and why

    @property
    def supported(self) -> str:
        """The supported causes by name, in one line."""
        return ", ".join(row.name for row in self.causes if row.state == "supported")

    @property
    def weighed(self) -> tuple[CauseRow, ...]:
        """The causes of which any sign says anything, supported ones first."""
        return tuple(row for row in self.causes if row.weighed)

    @property
    def silent(self) -> str:
        """The open causes of which no sign says anything, by name."""
        return ", ".join(row.name for row in self.causes if not row.weighed)


def visit_causes(outcome: VisitOutcome) -> tuple[AreaCauses, ...]:
    """Write the diagnosis of every area that was looked at."""
    return tuple(_area(each) for each in outcome.diagnoses)


def _area(found: Diagnosis) -> AreaCauses:
    return AreaCauses(
        area=plain(found.area),
        signs=tuple(seen_text(sign) for sign in found.signs),
        causes=tuple(_cause(cause) for cause in found.causes),
        next_test=plain(found.next_test),
        advice=texts(line for line in found.advice if line != found.held),
        held=plain(found.held),
    )


def _cause(cause: Cause) -> CauseRow:
    return CauseRow(
        name=plain(cause.name),
        state=cause.state,
        speaks_for=tuple(_evidence(line) for line in cause.evidence_for),
        speaks_against=tuple(_evidence(line) for line in cause.evidence_against),
        next_test=plain(cause.next_test),
        advice=plain(cause.advice),
    )


def _evidence(line: Evidence) -> EvidenceRow:
    return EvidenceRow(plain(line.words), _WEIGHTS[line.weight], plain(line.source))
