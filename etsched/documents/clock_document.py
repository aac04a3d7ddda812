"""The programs that were keyed in last, read out of an earlier clock document."""

from __future__ import annotations

from datetime import time
from typing import TYPE_CHECKING, Annotated

from pydantic import BaseModel, ConfigDict, Field

from etsched.documents.kept_json import check_name, read_kept
from etsched.model.visit import Program

if TYPE_CHECKING:
    from pathlib import Path

    from etsched.model.site import Site

_MOST_MINUTES = 24 * 60


class _Start(BaseModel):
    model_config = ConfigDict(frozen=True)
    at: time


class _Minutes(BaseModel):
    model_config = ConfigDict(frozen=True)
    terminal: int = Field(ge=1)
    minutes: int = Field(ge=1, le=_MOST_MINUTES)


class _Program(BaseModel):
    model_config = ConfigDict(frozen=True)
    letter: str = Field(min_length=1, max_length=40)
    days: frozenset[Annotated[int, Field(ge=0, le=6)]]
    starts: tuple[_Start, ...]
    minutes: tuple[_Minutes, ...]


class _Clock(BaseModel):
    model_config = ConfigDict(frozen=True)
    site: str
    programs: tuple[_Program, ...]


def read_clock_document(path: Path, site: Site) -> tuple[Program, ...]:
    """Read the programs of an earlier table of this site. Raises AppliedRefused."""
    clock = read_kept(path, _Clock, "clock")
    check_name(path, "site", clock.site, site)
    return tuple(
        Program(
            each.letter,
            tuple(start.at for start in each.starts),
            each.days,
            {station.terminal: float(station.minutes) for station in each.minutes},
        )
        for each in clock.programs
    )
