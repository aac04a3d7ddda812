"""What of a visit enters the plan, and which stations the plan leaves out."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from etsched.tables.figure import Figure, plain
from etsched.tables.visit_words import areas_by_terminal, small_figure, texts

if TYPE_CHECKING:
    from etsched.model.finding import Finding
    from etsched.planning.visit_outcome import VisitOutcome
    from etsched.units import UnitSystem

# What a finding does to the plan, in words.
_EFFECTS = {
    "blocks": "no minutes",
    "frees": "minutes again",
    "moves": "another terminal",
    "sets": "a measured number",
    "discounts": "lands unevenly",
    "warns": "to know",
}


@dataclass(frozen=True, slots=True)
class FindingRow:
    """One finding; `terminal` None concerns the property."""

    terminal: int | None
    area: str
    effect: str
    field: str
    value: Figure
    sentence: str


@dataclass(frozen=True, slots=True)
class LeftOutRow:
    """A station that gets no minutes."""

    terminal: int
    area: str
    reason: str


@dataclass(frozen=True, slots=True)
class VisitFindingsTable:
    """The findings in order of station, who is left out, and what could not be used."""

    rows: tuple[FindingRow, ...]
    left_out: tuple[LeftOutRow, ...]
    remarks: tuple[str, ...]

    @property
    def anything(self) -> bool:
        """Whether there is anything to show."""
        return bool(self.rows or self.left_out or self.remarks)


def visit_findings(outcome: VisitOutcome, system: UnitSystem) -> VisitFindingsTable:
    """Write the findings, and the stations of the property as found that get no water."""
    areas = areas_by_terminal(outcome.found)
    return VisitFindingsTable(
        rows=tuple(_row(each, areas, system) for each in outcome.findings.findings),
        left_out=tuple(
            LeftOutRow(station.terminal, plain(station.area), plain(station.blocked) or "no reason given")
            for station in outcome.found.stations
            if station.blocked is not None
        ),
        remarks=texts(remark for remark in outcome.findings.remarks if remark not in _said(outcome)),
    )


def _said(outcome: VisitOutcome) -> set[str]:
    """Collect what stands beside the cups and the cores already."""
    cups = {remark for read in outcome.cups if read.result is not None for remark in read.result.remarks}
    return cups | {said for core in outcome.cores for said in (core.sentence, *core.remarks)}


def _row(found: Finding, areas: dict[int, str], system: UnitSystem) -> FindingRow:
    known = found.known if found.suffix else None
    return FindingRow(
        terminal=found.terminal,
        area="" if found.terminal is None else areas.get(found.terminal, ""),
        effect=_EFFECTS[found.effect.value],
        field=plain(found.field.replace("_", " ")),
        value=small_figure(None if known is None else known.value, found.suffix, system),
        sentence=plain(found.sentence),
    )
