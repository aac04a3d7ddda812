"""What repairs would save of this week's water, station by station, and for which stations nobody can say."""

from __future__ import annotations

from dataclasses import dataclass

from etsched.model.plan import Saving, WeekPlan
from etsched.tables.assumptions import terminals_text
from etsched.tables.figure import Figure, figure, plain, reader_system
from etsched.tables.volume import Volume, cost_of
from etsched.units import UnitSystem

SAVINGS_TITLE = "What would be saved this week if the stations watered evenly"
SAVINGS_WORDS = (
    "Each station as its cups found it, against a good one of its kind (DU(lq) from the table of heads): the same net "
    "depth with fewer minutes. Of this week's minutes as planned; other weeks differ."
)


@dataclass(frozen=True, slots=True)
class SavingRow:
    """One station that waters less evenly than a good one of its kind."""

    terminal: int
    area: str
    found: Figure
    even: Figure
    saved: Volume

    @property
    def evenness(self) -> str:
        """DU(lq) as found, and as a good station waters."""
        return f"{self.found.text} → {self.even.text}"


@dataclass(frozen=True, slots=True)
class SavingsTable:
    """The rows, the one worth most first, their sum, and the stations of which nothing is known."""

    rows: tuple[SavingRow, ...]
    total: Volume
    without_cups: tuple[int, ...]
    even: tuple[int, ...]  # cups found them as even as a good one of their kind

    @property
    def unknown(self) -> str:
        """What is not known, in words; nothing where cups were set everywhere."""
        if not self.without_cups:
            return ""
        named = f"{_stations(self.without_cups)} {'waters' if len(self.without_cups) == 1 else 'water'}"
        return f"Not known until a catch-cup test tells how evenly {named}."

    @property
    def nothing_to_save(self) -> str:
        """Whom cups found even, in words; nothing where there is none."""
        if not self.even:
            return ""
        many = len(self.even) > 1
        return (
            f"Cups found that {_stations(self.even)} {'water' if many else 'waters'} as evenly as a good one of "
            f"{'their' if many else 'its'} kind: nothing to save there."
        )


def savings_table(plan: WeekPlan, system: UnitSystem | None = None) -> SavingsTable | None:
    """Write the savings; None where every station that waters was found even."""
    read = reader_system(plan, system)
    measured = [each for each in plan.savings if each.found_fraction is not None]
    measured.sort(key=lambda each: (-(each.saved_l or 0.0), each.terminal))
    without = tuple(each.terminal for each in plan.savings if each.found_fraction is None)
    if not plan.savings:
        return None
    # Every station that waters has its saving unless cups found it even.
    watering = {run.terminal for night in plan.nights for run in night.runs if run.cycles}
    return SavingsTable(
        rows=tuple(_row(plan, each, read) for each in measured),
        total=_volume(plan, measured, read),
        without_cups=without,
        even=tuple(sorted(watering - {each.terminal for each in plan.savings})),
    )


def _stations(terminals: tuple[int, ...]) -> str:
    return f"station{'s' if len(terminals) > 1 else ''} {terminals_text(terminals)}"


def _row(plan: WeekPlan, each: Saving, system: UnitSystem) -> SavingRow:
    station = next(station for station in plan.site.stations if station.terminal == each.terminal)
    return SavingRow(
        terminal=each.terminal,
        area=plain(station.area),
        found=figure(each.found_fraction, "fraction", system),
        even=figure(each.even_fraction, "fraction", system),
        saved=_volume(plan, [each], system),
    )


def _volume(plan: WeekPlan, savings: list[Saving], system: UnitSystem) -> Volume:
    known = [each.saved_l for each in savings if each.saved_l is not None]
    unmetered = tuple(each.terminal for each in savings if each.saved_l is None)
    total = sum(known) if known or not savings else None
    return Volume(figure(total, "l", system), unmetered, cost_of(total, plan.site.water_price))
