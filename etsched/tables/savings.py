"""What repairs would save of this week's water, station by station, and for which stations nobody can say."""

from __future__ import annotations

from dataclasses import dataclass

from etsched.model.plan import Saving, WeekPlan
from etsched.tables.figure import Figure, count_of, figure, plain, reader_system
from etsched.tables.volume import NO_CUPS, Volume, cost_of
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

    @property
    def unknown(self) -> str:
        """What is not known, in words; nothing where cups were set everywhere."""
        if not self.without_cups:
            return ""
        named = ", ".join(str(terminal) for terminal in self.without_cups)
        stations = count_of(len(self.without_cups), "station", "stations")
        return f"{NO_CUPS[0].upper()}{NO_CUPS[1:]}, for {stations}: {named}."


def savings_table(plan: WeekPlan, system: UnitSystem | None = None) -> SavingsTable | None:
    """Write the savings; None where every station that waters was found even."""
    read = reader_system(plan, system)
    measured = [each for each in plan.savings if each.found_fraction is not None]
    measured.sort(key=lambda each: (-(each.saved_l or 0.0), each.terminal))
    without = tuple(each.terminal for each in plan.savings if each.found_fraction is None)
    if not plan.savings:
        return None
    return SavingsTable(tuple(_row(plan, each, read) for each in measured), _volume(plan, measured, read), without)


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
