"""What of a heat check's minutes the nights hold, in words and by night."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from etsched.tables.clock import night_text
from etsched.tables.figure import count_of, plain

if TYPE_CHECKING:
    from collections.abc import Sequence

    from etsched.model.heat import HeatCheck, HeatNight, HeatRun

# What nobody walks to a valve for (common practice, no source).
TRIFLE_MIN = 2


@dataclass(frozen=True, slots=True)
class ExtraRow:
    """What one station is to get more on one night."""

    terminal: int
    area: str
    extra_min: int
    fits_min: int
    how: str  # "2 × 13, 30 min apart"
    trifle: bool  # so little that a hand may leave it

    @property
    def minutes(self) -> str:
        """Write the minutes that are to run: `26`, or `24 of 45` where the night holds no more."""
        return f"{self.extra_min}" if self.fits_min == self.extra_min else f"{self.fits_min} of {self.extra_min}"


@dataclass(frozen=True, slots=True)
class HeatNightRow:
    """One night on which something is to be added, or which does not hold the clock's own minutes."""

    label: str
    clock_min: int  # what the clock runs anyhow
    added_min: int
    fits_min: int
    length_min: int
    runs: tuple[ExtraRow, ...]

    @property
    def words(self) -> str:
        """Say what the night holds: `the clock runs 417 of 480 min that are allowed; room for 45 of 365 min extra`."""
        if self.fits_min == self.added_min:
            room = f"room for all {self.added_min} min extra"
        else:
            room = f"room for {self.fits_min or 'none'} of {self.added_min} min extra"
        return f"the clock runs {self.clock_min} of {self.length_min} min that are allowed; {room}"

    @property
    def listed(self) -> tuple[ExtraRow, ...]:
        """Give the runs that are to be made."""
        return tuple(run for run in self.runs if run.fits_min and not run.trifle)

    @property
    def rest(self) -> tuple[str, ...]:
        """Say which runs are not to be made, and why."""
        trifles = [str(run.terminal) for run in self.runs if run.trifle]
        none = [f"{run.terminal} ({run.extra_min} min)" for run in self.runs if not run.fits_min and not run.trifle]
        return (
            *((f"{TRIFLE_MIN} min or less, which may be left out: {_stations(trifles)}",) if trifles else ()),
            *((f"No room for {_stations(none)}",) if none else ()),
        )


def night_rows(found: HeatCheck) -> tuple[HeatNightRow, ...]:
    """Write the nights with additions, station by station."""
    areas = {station.terminal: plain(station.area) for station in found.site.stations}
    return tuple(
        HeatNightRow(
            label=night_text(night.night),
            clock_min=round(sum(found.table_min.get((each, night.night.serves), 0.0) for each in areas)),
            added_min=night.extra_min,
            fits_min=night.fits_min,
            length_min=night.night.length_min,
            runs=tuple(
                ExtraRow(
                    terminal=run.terminal,
                    area=areas[run.terminal],
                    extra_min=run.extra_min,
                    fits_min=run.fits_min,
                    how=_how(found, run),
                    trifle=found.programs and run.extra_min <= TRIFLE_MIN,
                )
                for run in night.runs
                if run.extra_min
            ),
        )
        for night in found.nights
        if night.extra_min
    )


def _stations(names: Sequence[str]) -> str:
    return f"station{'s' if len(names) > 1 else ''} {', '.join(names)}"


def how_note(found: HeatCheck) -> str:
    """Say what the last column of the nights' list means."""
    part = any(0 < run.fits_min < run.extra_min for night in found.nights for run in night.runs)
    whole = " Where part of a run has room, the week's plan may leave it out whole." if part else ""
    if found.programs:
        return (
            "Runs × min: so many runs of so many minutes, so that no water runs off; where they are to be apart, wait "
            f"as long after the clock's own run of the station too. Nobody can measure {TRIFLE_MIN} min or less "
            f"(common practice, no source).{whole}"
        )
    return f"Runs × min: how the clock's own minutes and all extra ones together are then set on that night.{whole}"


def _how(found: HeatCheck, run: HeatRun) -> str:
    if not run.cycles_count:
        return "runs off at once" if run.fits_min or not found.programs else ""
    apart = f", {run.soak_min} min apart" if run.soak_min else ""
    return f"{run.cycles_count} × {run.cycle_min}{apart}"


def fit_sentences(found: HeatCheck) -> list[str]:
    """Say in one account how much is wanted, how much of it fits and how much does not."""
    extra, fits = sums(found)
    if not extra:
        return []
    nights = count_of(sum(night.extra_min > 0 for night in found.nights), "night", "nights")
    already = sum(station.usual_extra_min for station in found.stations if station.blocked is None)
    part = f" ({f'{already:,}' if already else 'none'} of them without the hotter days)" if found.spell.hotter_c else ""
    wanted = f"{extra:,} min of extra runs are wanted, on {nights}{part}"
    if fits == extra:
        return [f"{wanted}; the allowed hours hold them all."]
    beside = "in the allowed hours beside what the clock runs anyhow"
    if not fits:
        return [f"{wanted}; none of them has room {beside}."]
    return [f"{wanted}: {fits:,} have room {beside}, {extra - fits:,} do not.", *_own(found)]


def _own(found: HeatCheck) -> list[str]:
    own = [(night, _own_min(night)) for night in found.nights]
    said = [f"{minutes} min on {night_text(night.night)}" for night, minutes in own if minutes]
    if not said:
        return []
    return [f"Of the clock's own minutes some have no room either, if no run is to run off: {', '.join(said)}."]


def _own_min(night: HeatNight) -> int:
    return night.missing_min - (night.extra_min - night.fits_min)


def trifling(found: HeatCheck) -> bool:
    """Say whether all that is to be added by hand are trifles."""
    return found.programs and all(run.extra_min <= TRIFLE_MIN for night in found.nights for run in night.runs)


def sums(found: HeatCheck) -> tuple[int, int]:
    """Give the minutes to add, and those of them that the nights hold."""
    return sum(night.extra_min for night in found.nights), sum(night.fits_min for night in found.nights)
