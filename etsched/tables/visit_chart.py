"""What each station waters, as seen on the visit, and what does not fit together."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from etsched.planning.runs_seen import same_name
from etsched.tables.figure import plain
from etsched.tables.visit_words import texts

if TYPE_CHECKING:
    from etsched.model.valve_map import ChartRow
    from etsched.planning.visit_outcome import VisitOutcome

# So many wirings are few enough to be counted out to a reader (common practice, no source).
_FEW_COUNT = 10
# What running it once more, and looking, would settle.
_TO_RUN = frozenset({"not tried", "place not seen"})
# How each line of the chart is known, in the words of model.valve_map.STATES said in full.
_STATES = {
    "seen": "seen from the controller",
    "by hand": "by hand only",
    "not on": "does not come on",
    "place not seen": "comes on, place not seen",
    "nothing": "runs, nothing gets wet",
    "not tried": "not run on this visit",
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
    looked: bool  # somebody saw what got wet, from the controller or by hand
    to_run: bool  # running it, and looking, would settle what it waters

    @property
    def waters(self) -> str:
        """What it waters, else the area on file."""
        return self.area or self.filed_as


@dataclass(frozen=True, slots=True)
class VisitChart:
    """What was seen of every station, what contradicts itself, and which terminals are still to be run."""

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
        return f"{self.wirings} wirings still fit everything that was seen." if self.wirings < _FEW_COUNT else ""

    @property
    def still_to_run(self) -> str:
        """The stations of which a run would tell something: `Still to run: 1, 2, 8.`"""
        left = [str(line.terminal) for line in self.lines if line.to_run]
        return f"Still to run: {', '.join(left)}." if left and self.next_try else ""


def visit_chart(outcome: VisitOutcome) -> VisitChart | None:
    """Write the chart; None where no terminal was run."""
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
        looked=row.looked,
        to_run=row.state in _TO_RUN,
    )
