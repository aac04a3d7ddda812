"""What every part of a visit's tables needs: days, names of areas, and the words for what was seen."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from etsched.days import day_in_full, day_text
from etsched.reference.causes import sign_words
from etsched.reference.signs import signs
from etsched.tables.assumptions import terminals_text
from etsched.tables.figure import NOT_KNOWN, Figure, figure, plain

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import date

    from etsched.model.site import Site
    from etsched.units import UnitSystem


@dataclass(frozen=True, slots=True)
class Day:
    """A day, None where there is none in sight, beside how people say it."""

    value: date | None

    @property
    def text(self) -> str:
        """Write it without its year: `Mon Jul 13`, or a dash."""
        return NOT_KNOWN if self.value is None else day_text(self.value)

    @property
    def in_full(self) -> str:
        """Write it with its year: `Mon Jul 13, 2026`, or a dash."""
        return NOT_KNOWN if self.value is None else day_in_full(self.value)


def areas_by_terminal(site: Site) -> dict[int, str]:
    """Give the area of every terminal of a site."""
    return {station.terminal: plain(station.area) for station in site.stations}


def seen_text(key: str) -> str:
    """Say a pattern, a colour or a sign in words; nothing where nothing was seen."""
    known = signs("pattern", "colour", "sign").get(key)
    return "" if not key else plain(known.words if known is not None else sign_words(key))


def yes_no(answer: bool | None) -> str:
    """Write what was tried: `yes`, `no`, or a dash where nobody tried."""
    return NOT_KNOWN if answer is None else "yes" if answer else "no"


def stations_text(terminals: Iterable[int]) -> str:
    """Name stations: `Station 4`, `Stations 1–3, 7`."""
    known = tuple(sorted(terminals))
    return f"Station{'s' * (len(known) != 1)} {terminals_text(known)}"


def small_figure(value: float | None, suffix: str, system: UnitSystem) -> Figure:
    """Prepare a number that may be small, such as a leak, with more digits where rounding would leave nothing of it."""
    shown = figure(value, suffix, system)
    vanished = shown.value is not None and shown.value != 0.0 and not float(shown.shown)
    return figure(value, suffix, system, more_digits=2) if vanished else shown


def texts(found: Iterable[str]) -> tuple[str, ...]:
    """Make people's texts fit to be read, and leave the empty ones out."""
    return tuple(text for text in map(plain, found) if text)
