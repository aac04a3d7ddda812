"""The numbers behind the order of the repairs."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from etsched.tables.figure import Figure, figure, plain
from etsched.tables.visit_words import areas_by_terminal, texts
from etsched.tables.volume import NO_CUPS, cost_of

if TYPE_CHECKING:
    from etsched.model.finding import Repair
    from etsched.model.site import WaterPrice
    from etsched.planning.visit_outcome import VisitOutcome
    from etsched.units import UnitSystem


@dataclass(frozen=True, slots=True)
class RepairRow:
    """One station's repairs and what they change in the plan's week."""

    rank: int
    terminal: int
    area: str
    what: tuple[str, ...]
    uniformity_found: Figure  # not known where no water arrives
    uniformity_repaired: Figure
    minutes_found: Figure
    minutes_repaired: Figure
    saved: Figure  # below 0 where a dead station begins to take water; not known until cups are set
    saved_cost: Figure | None  # None where no price is stated
    measured: bool
    driest_quarter: Figure
    reckoning: str

    @property
    def evenness(self) -> str:
        """DU(lq) as found, and as a repaired station waters, which is assumed: nobody has measured it."""
        if self.uniformity_found.value is None:
            return f"no water → {self.uniformity_repaired.text} assumed"
        found = self.uniformity_found.text if self.measured else f"{self.uniformity_found.text} assumed"
        return f"{found} → {self.uniformity_repaired.text} assumed"

    @property
    def minutes(self) -> str:
        """The week's minutes as found and repaired."""
        return f"{self.minutes_found.number} → {self.minutes_repaired.text}"

    @property
    def water(self) -> str:
        """What the repair does to the water of a week, and to its cost."""
        if self.saved.value is None:
            return "not known: no flow" if self.measured else NO_CUPS
        if not float(self.saved.shown):
            return "the same"
        both = (self.saved, self.saved_cost) if self.saved_cost else (self.saved,)
        told = ", ".join(each.text.removeprefix("-") for each in both)
        return f"{told} less" if self.saved.value > 0.0 else f"{told} more"


def visit_repairs(outcome: VisitOutcome, system: UnitSystem) -> tuple[RepairRow, ...]:
    """Write the repairs, the one worth most at the front."""
    areas = areas_by_terminal(outcome.found)
    return tuple(
        _row(rank, repair, areas.get(repair.terminal, ""), outcome.found.water_price, system)
        for rank, repair in enumerate(outcome.repairs, 1)
    )


def _row(rank: int, repair: Repair, area: str, price: WaterPrice | None, system: UnitSystem) -> RepairRow:
    return RepairRow(
        rank=rank,
        terminal=repair.terminal,
        area=area,
        what=texts(repair.what),
        uniformity_found=figure(repair.found_fraction, "fraction", system),
        uniformity_repaired=figure(repair.repaired_fraction, "fraction", system),
        minutes_found=figure(repair.minutes_found_min, "min", system),
        minutes_repaired=figure(repair.minutes_repaired_min, "min", system),
        saved=figure(repair.volume_saved_l, "l", system),
        saved_cost=cost_of(repair.volume_saved_l, price),
        measured=repair.measured,
        driest_quarter=figure(repair.driest_quarter_mm, "mm", system),
        reckoning=plain(repair.reckoning),
    )
