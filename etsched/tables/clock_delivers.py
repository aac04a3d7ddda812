"""What the clock delivers today, a row a station, in the reader's units: the first thing a customer is shown."""

from __future__ import annotations

from dataclasses import dataclass

from etsched.model.clock_delivers import ClockDelivers, StationDelivers
from etsched.model.site import Site, Station
from etsched.tables.figure import Figure, figure, plain
from etsched.units import UnitSystem


@dataclass(frozen=True, slots=True)
class ClockDeliversRow:
    """One station's week as the clock stands."""

    terminal: int
    plan_number: str
    area: str
    runs: int
    minutes: Figure
    depth: Figure  # lands
    use: Figure  # what its turf uses
    of_use: Figure  # of what it uses, the part that lands and stays
    wetted: Figure  # depth of dried-out soil that one night's runs bring to field capacity
    runoff: Figure
    volume: Figure
    remarks: tuple[str, ...]

    @property
    def sentence(self) -> str:
        """The row in words: `Station 3 (Court) gets 0.42 in of water a week, 38% of the 1.10 in its turf uses.`"""
        name = f"Station {self.terminal} ({self.area})"
        if not self.depth.value:
            return f"{name} gets no water from the clock; its turf uses {self.use.text} a week."
        if self.of_use.value is None:
            return f"{name} gets {self.depth.text} of water a week; its turf uses nothing."
        stays = f", of which {self.runoff.text} runs off: what stays is" if self.runoff.value else ","
        share = f"{self.of_use.text} of the {self.use.text} its turf uses"
        return f"{name} gets {self.depth.text} of water a week{stays} {share}."

    @property
    def remark(self) -> str:
        """All that is to say beside the figures."""
        return "; ".join(self.remarks)


def clock_delivers_table(found: ClockDelivers, site: Site, system: UnitSystem) -> tuple[ClockDeliversRow, ...]:
    """Write every station, in order of terminal; none where nobody read the clock's programs."""
    if not found.stations:
        return ()
    return tuple(_row(each, station, system) for each, station in zip(found.stations, site.stations, strict=True))


def _row(found: StationDelivers, station: Station, system: UnitSystem) -> ClockDeliversRow:
    def depth(value_mm: float) -> Figure:
        return figure(value_mm, "mm", system)

    return ClockDeliversRow(
        terminal=found.terminal,
        plan_number=plain(station.plan_number or ""),
        area=plain(station.area),
        runs=found.runs_count,
        minutes=figure(found.minutes_min, "min", system),
        depth=depth(found.depth_mm),
        use=depth(found.use_mm),
        of_use=figure(found.of_use_pct, "pct", system),
        wetted=depth(found.wetted_mm),
        runoff=depth(found.runoff_mm),
        volume=figure(found.volume_l, "l", system),
        remarks=tuple(plain(remark) for remark in found.remarks),
    )
