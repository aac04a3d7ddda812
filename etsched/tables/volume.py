"""How much water a set of runs takes, and honestly how much of it is known."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from etsched.model.light_runs import LightRun
from etsched.model.plan import Run
from etsched.tables.figure import Figure, count_of, figure
from etsched.units import UnitSystem


@dataclass(frozen=True, slots=True)
class Volume:
    """The water of the runs whose flow is known, and the terminals whose flow nobody knows."""

    known: Figure
    unmetered: tuple[int, ...]

    @property
    def text(self) -> str:
        """The volume in words: `412 gal`, or a floor where some flow is not known."""
        if self.known.value is None:
            return "not known"
        if not self.unmetered:
            return self.known.text
        stations = count_of(len(self.unmetered), "station", "stations")
        return f"at least {self.known.text} (flow of {stations} not known)"


def volume(runs: Iterable[Run | LightRun], system: UnitSystem) -> Volume:
    """Add up the water of runs that open a valve."""
    watering = [run for run in runs if run.length_min]
    flows = [run.flow_l for run in watering if run.flow_l is not None]
    unmetered = sorted({run.terminal for run in watering if run.flow_l is None})
    total = sum(flows) if flows or not watering else None
    return Volume(figure(total, "l", system), tuple(unmetered))
