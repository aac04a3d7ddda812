"""What to heed where the work of a visit can hurt, grouped, and only where that work comes up."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from etsched.reference.coils import cautions as of_cabinets
from etsched.tables.figure import plain

if TYPE_CHECKING:
    from etsched.planning.visit_outcome import VisitOutcome

# The part of the report in which a group stands.
Place = Literal["seen", "causes", "repairs", "chart", "recovery"]

# Common practice, no source; the words of the record of a visit and of the week's page say the same.
_BOXES = (
    "Valve boxes and controller cabinets shelter venomous spiders, wasps and snakes: look first, clear with a tool, "
    "wear gloves.",
    "Never open a valve bonnet under pressure; shut the water off first.",
    "Leave backflow assemblies to a certified tester, and what local codes reserve to a licensed trade to that trade.",
)
_DIGGING = ("Have buried lines marked before you dig or drive a probe deep.",)


@dataclass(frozen=True, slots=True)
class CautionGroup:
    """Cautions of one kind of work, and the part of the report in which they stand."""

    place: Place
    title: str
    lines: tuple[str, ...]


def visit_cautions(outcome: VisitOutcome, *, recovers: bool) -> tuple[CautionGroup, ...]:
    """Choose the cautions that this visit's work asks for; `recovers` where a recovery plan is shown."""
    return tuple(
        CautionGroup(place, title, tuple(plain(line) for line in lines))
        for place, title, lines in _groups(outcome, recovers=recovers)
        if lines
    )


def _groups(outcome: VisitOutcome, *, recovers: bool) -> Iterator[tuple[Place, str, tuple[str, ...]]]:
    if outcome.coils and outcome.valves is None:
        yield "seen", "At the controller", of_cabinets()
    if outcome.diagnoses or outcome.cores:
        yield "causes", "Before you probe or dig", _DIGGING
    if outcome.repairs:
        yield "repairs", "Before you open a box, a valve or the ground", (*_BOXES, *of_cabinets(), *_DIGGING)
    if outcome.valves is not None:
        yield "chart", "At the controller", outcome.valves.cautions or of_cabinets()
    if recovers:
        yield "recovery", "Water, feed and heat", outcome.recovery.cautions
