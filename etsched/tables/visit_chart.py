"""Which valve waters what: the corrected station chart for the controller door, and what does not fit together."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from etsched.planning.runs_seen import same_name
from etsched.tables.figure import plain
from etsched.tables.visit_words import texts

if TYPE_CHECKING:
    from etsched.model.valve_map import ChartRow
    from etsched.planning.visit_outcome import VisitOutcome

# How each line of the chart is known, in the words of model.valve_map.STATES said in full.
_STATES = {
    "seen": "seen from the controller",
    "by hand": "by hand only",
    "not on": "does not come on",
    "place not seen": "comes on, place not seen",
    "nothing": "runs, nothing gets wet",
    "not tried": "not tried",
}


@dataclass(frozen=True, slots=True)
class ChartLine:
    """One line of the chart."""

    terminal: int
    plan_number: str
    area: str
    known: str
    certain: bool
    filed_as: str  # "" where the site file says the same
    note: str


@dataclass(frozen=True, slots=True)
class VisitChart:
    """The chart, what contradicts itself, and which terminal to run next."""

    lines: tuple[ChartLine, ...]
    contradictions: tuple[str, ...]
    wirings: int  # that fit all that was seen
    next_try: str
    cautions: tuple[str, ...]

    @property
    def left(self) -> str:
        """How much of the wiring is still open."""
        if not self.wirings:
            return "No wiring fits everything that was seen: something was seen or written down wrongly."
        if self.wirings == 1:
            return "Only one wiring fits everything that was seen."
        return f"{self.wirings:,} wirings still fit everything that was seen."


def visit_chart(outcome: VisitOutcome) -> VisitChart | None:
    """Write the chart; None where no terminal was run or read."""
    found = outcome.valves
    if found is None:
        return None
    return VisitChart(
        lines=tuple(_line(row) for row in found.chart),
        contradictions=texts(each.sentence for each in found.contradictions),
        wirings=found.wirings_count,
        next_try="" if found.next_try is None else plain(found.next_try.sentence),
        cautions=texts(found.cautions),
    )


def _line(row: ChartRow) -> ChartLine:
    return ChartLine(
        terminal=row.terminal,
        plan_number=plain(row.plan_number),
        area=plain(row.area),
        known=_STATES.get(row.state, plain(row.state)),
        certain=row.certain,
        filed_as="" if same_name(row.area, row.filed_as) else plain(row.filed_as),
        note=plain(row.note),
    )
