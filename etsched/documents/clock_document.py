"""The programs that were keyed in, read out of an earlier clock document or of what is kept of one."""

from __future__ import annotations

from datetime import time
from typing import TYPE_CHECKING, Annotated

from pydantic import BaseModel, ConfigDict, Field

from etsched.documents.kept_json import check_name, read_kept
from etsched.model.visit import Program

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

    from etsched.model.site import Site

_MOST_MINUTES = 24 * 60
_MOST = 500  # of programs, of starts, of stations: far more than any clock has


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
    starts: tuple[_Start, ...] = Field(max_length=_MOST)
    minutes: tuple[_Minutes, ...] = Field(max_length=_MOST)


class _Programs(BaseModel):
    model_config = ConfigDict(frozen=True)
    programs: tuple[_Program, ...] = Field(max_length=_MOST)


class _Clock(_Programs):
    site: str


def read_clock_document(path: Path, site: Site) -> tuple[Program, ...]:
    """Read the programs of an earlier table of this site. Raises AppliedRefused."""
    clock = read_kept(path, _Clock, "clock")
    check_name(path, "site", clock.site, site)
    return tuple(map(_program, clock.programs))


def read_programs(text: str) -> tuple[Program, ...]:
    """Read programs that `written_programs` wrote. Raises ValueError."""
    return tuple(map(_program, _Programs.model_validate_json(text).programs))


def written_programs(programs: Iterable[Program]) -> str:
    """Write programs that stand at a percent adjust of 100 as a clock document has them; nothing for none."""
    kept = tuple(
        _Program(
            letter=each.name,
            days=each.days,
            starts=tuple(_Start(at=start) for start in each.starts),
            minutes=tuple(_Minutes(terminal=at, minutes=int(run)) for at, run in each.minutes_min.items()),
        )
        for each in programs
    )
    return _Programs(programs=kept).model_dump_json() if kept else ""


def _program(each: _Program) -> Program:
    return Program(
        each.letter,
        tuple(start.at for start in each.starts),
        each.days,
        {station.terminal: float(station.minutes) for station in each.minutes},
    )
