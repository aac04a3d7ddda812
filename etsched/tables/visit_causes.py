"""Why an area fails: what is likely, what is possible, what is ruled out, by which signs, and what to do next."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from etsched.tables.figure import plain
from etsched.tables.visit_words import seen_text, texts

if TYPE_CHECKING:
    from collections.abc import Sequence

    from etsched.planning.causes import Cause, Diagnosis, State
    from etsched.planning.visit_outcome import VisitOutcome
    from etsched.reference.causes import Evidence

# Verdicts and weights of planning.causes as people read them; a cause that is open with nothing for it is unlikely.
_VERDICTS: dict[State, str] = {"supported": "likely", "open": "possible", "ruled out": "ruled out"}
_UNLIKELY = "unlikely"
_WEIGHTS = {
    "strong": "strong sign",
    "some": "sign",
    "fits": "weak sign",
    "against": "sign against it",
    "excludes": "rules it out",
}
# The rule of planning.causes in plain words.
RULE = (
    "Likely: a strong sign or two signs, and none against it. Weak signs fit several causes alike and make none of "
    "them likely. Unlikely: nothing for it, and a sign against it."
)


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
    looks: str  # "dry", "wet" or ""
    state: State
    speaks_for: tuple[EvidenceRow, ...]
    speaks_against: tuple[EvidenceRow, ...]
    next_test: str
    advice: str

    @property
    def verdict(self) -> str:
        """The state as people read it."""
        against_alone = self.state == "open" and self.speaks_against and not self.speaks_for
        return _UNLIKELY if against_alone else _VERDICTS[self.state]

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
    def likely(self) -> tuple[CauseRow, ...]:
        """The causes that the signs support."""
        return tuple(row for row in self.causes if row.state == "supported")

    @property
    def possible(self) -> tuple[CauseRow, ...]:
        """The causes for which some sign speaks, and not enough of them."""
        return tuple(row for row in self.causes if row.state == "open" and row.speaks_for)

    @property
    def verdict(self) -> str:
        """How it looks and why: `Dry. Likely causes: uneven coverage; too little run time.`"""
        if not self.likely:
            return "No cause is likely yet."
        looks = "".join(f"{each.capitalize()}. " for each in dict.fromkeys(row.looks for row in self.likely) if each)
        return f"{looks}Likely cause{'s' * (len(self.likely) > 1)}: {'; '.join(row.name for row in self.likely)}."

    @property
    def weighed(self) -> tuple[CauseRow, ...]:
        """The causes of which any sign says anything, likely ones first."""
        return tuple(row for row in self.causes if row.weighed)

    @property
    def silent(self) -> str:
        """The causes of which no sign says anything, by name."""
        return ", ".join(row.name for row in self.causes if not row.weighed)


def visit_causes(outcome: VisitOutcome) -> tuple[AreaCauses, ...]:
    """Write the diagnosis of every area that was looked at."""
    return tuple(_area(each) for each in outcome.diagnoses)


def held_back(areas: Sequence[AreaCauses]) -> tuple[str, ...]:
    """Say once what is not to be done, with its areas where it does not hold for all of them."""
    reasons: dict[str, list[str]] = {}
    for area in areas:
        reasons.setdefault(area.held, []).append(area.area)
    everywhere = len(reasons) == 1
    return tuple(why if everywhere else f"{'; '.join(names)}: {why}" for why, names in reasons.items() if why)


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
        looks=cause.looks,
        state=cause.state,
        speaks_for=tuple(_evidence(line) for line in cause.evidence_for),
        speaks_against=tuple(_evidence(line) for line in cause.evidence_against),
        next_test=plain(cause.next_test),
        advice=plain(cause.advice),
    )


def _evidence(line: Evidence) -> EvidenceRow:
    return EvidenceRow(plain(line.words), _WEIGHTS[line.weight], plain(line.source))
