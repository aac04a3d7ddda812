"""The reasons that a stored week's document holds: every choice answered from what was planned then."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from pydantic import BaseModel, ConfigDict

from etsched.documents.kept_json import read_kept
from etsched.errors import PlanRefused

if TYPE_CHECKING:
    from pathlib import Path


class _Kept(BaseModel):
    model_config = ConfigDict(frozen=True)


class KeptStep(_Kept):
    """One step of a run's working as its reader read it."""

    name: str
    reader: str
    formula: str
    source: str


class KeptCycle(_Kept):
    """One run of the valve by the wall clock."""

    start: str
    end: str
    length_min: int


class KeptRun(_Kept):
    """A station's run, why it was chosen, and how its minutes came about."""

    terminal: int
    minutes: int
    cycles: tuple[KeptCycle, ...]
    reason: str
    working: tuple[KeptStep, ...]


class KeptShortfall(_Kept):
    """Minutes that a night could not hold."""

    terminal: int
    missing_min: int
    reason: str


class KeptNight(_Kept):
    """A night with its order and how near that comes to the least possible."""

    opens_on: date
    length_min: int
    used_min: int
    bound_min: int
    runs: tuple[KeptRun, ...]
    shortfalls: tuple[KeptShortfall, ...]


class KeptRest(_Kept):
    """A night on which a station does not water, and why."""

    terminal: int
    opens_on: date
    kind: str
    reason: str


class _KeptStation(_Kept):
    terminal: int
    area: str


class _KeptSite(_Kept):
    name: str


class KeptWeek(_Kept):
    """What a week's document tells of the reasons behind it."""

    site: _KeptSite
    stations: tuple[_KeptStation, ...]
    nights: tuple[KeptNight, ...]
    rests: tuple[KeptRest, ...]

    def area(self, terminal: int) -> str:
        """Give the area that a station waters. Raises PlanRefused where the document knows no such station."""
        for station in self.stations:
            if station.terminal == terminal:
                return station.area
        known = ", ".join(str(station.terminal) for station in self.stations)
        raise PlanRefused(f"there is no station at terminal {terminal}; this document has {known}")

    def days(self) -> list[date]:
        """List the days on which the week's nights begin, those without a window too."""
        return sorted({rest.opens_on for rest in self.rests} | {night.opens_on for night in self.nights})


def read_reasons(path: Path) -> KeptWeek:
    """Read the reasons out of a document that `week --json` wrote. Raises AppliedRefused."""
    return read_kept(path, KeptWeek, "week")
