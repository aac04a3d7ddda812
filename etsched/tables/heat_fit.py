"""What of a heat check's minutes the nights hold, in words and by night."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from etsched.tables.clock import night_text
from etsched.tables.figure import count_of, plain

if TYPE_CHECKING:
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
        """Say what the night holds: `the clock runs 417 min, the allowed hours are 480 min; of 80 min extra 60 …`."""
        runs = f"the clock runs {self.clock_min} min, the allowed hours are {self.length_min} min"
        if self.fits_min == self.added_min:
            return f"{runs}; all {self.added_min} min extra have room"
        return f"{runs}; of {self.added_min} min extra {self.fits_min or 'none'} have room"


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
                ExtraRow(run.terminal, areas[run.terminal], run.extra_min, run.fits_min, _how(found, run))
                for run in night.runs
                if run.extra_min
            ),
        )
        for night in found.nights
        if night.extra_min
    )


def how_note(found: HeatCheck) -> str:
    """Say what the last column of the nights' list means."""
    if found.programs:
        return (
            "Runs: so many runs of so many minutes, so that no water runs off; where they are to be apart, wait as "
            f"long after the clock's own run of the station too. {TRIFLE_MIN} min or less may be left out: nobody can "
            "measure so little (common practice, no source)."
        )
    return "Runs: how the clock's own minutes and the extra ones together are then set on that night."


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
