"""What is handed over about the time before a plan: last week's document, and a list of what really ran."""

from __future__ import annotations

import csv
from datetime import date, timedelta
from io import StringIO
from typing import TYPE_CHECKING

from pydantic import BaseModel, ConfigDict, Field

from etsched.documents.kept_json import check_name, read_kept
from etsched.errors import AppliedRefused, Problem
from etsched.model.plan import WaterState

if TYPE_CHECKING:
    from pathlib import Path

    from etsched.model.site import Site

_MOST_MINUTES = 24 * 60


class _Water(BaseModel):
    model_config = ConfigDict(frozen=True, allow_inf_nan=False)
    morning: date
    deficit_mm: dict[int, tuple[float, ...]]
    thickness_mm: dict[int, tuple[float, ...]]


class _Applied(BaseModel):
    model_config = ConfigDict(frozen=True)
    terminal: int
    serves: date
    minutes: int = Field(ge=0, le=2 * _MOST_MINUTES)


class _Site(BaseModel):
    model_config = ConfigDict(frozen=True)
    name: str


class _Week(BaseModel):
    model_config = ConfigDict(frozen=True)
    water: _Water
    applied: tuple[_Applied, ...]
    site: _Site


def read_week_document(path: Path, site: Site) -> tuple[WaterState, dict[tuple[int, date], int]]:
    """Read the water and the runs out of an earlier week's JSON document.

    Returns the water on that week's first morning, and its minutes by (terminal, day served). Raises AppliedRefused.
    """
    week = read_kept(path, _Week, "week")
    check_name(path, "site.name", week.site.name, site)
    _check_stations(path, site, week)
    state = WaterState(week.water.morning, week.water.deficit_mm, week.water.thickness_mm)
    return state, {(run.terminal, run.serves): run.minutes for run in week.applied}


def _check_stations(path: Path, site: Site, week: _Week) -> None:
    wanted = {station.terminal for station in site.stations}
    for field, held in (
        ("water.deficit_mm", week.water.deficit_mm),
        ("water.thickness_mm", week.water.thickness_mm),
    ):
        if set(held) != wanted:
            odd = sorted(wanted ^ set(held))
            raise _refused(
                path,
                None,
                field,
                f"its stations are not the site's (station {odd[0]} stands on one side only)",
                "give the document of this site, or begin anew without it",
            )
    strangers = sorted({run.terminal for run in week.applied} - wanted)
    if strangers:
        raise _refused(
            path,
            None,
            "applied",
            f"station {strangers[0]} ran, which the site does not have",
            "give the document of this site, or begin anew without it",
        )
    lengths = {len(row) for rows in (week.water.deficit_mm, week.water.thickness_mm) for row in rows.values()}
    if lengths != {3} or _impossible(week.water):
        raise _refused(
            path,
            None,
            "water",
            "it does not hold three layers of water a station",
            "give the document as week --json wrote it",
        )


def _impossible(water: _Water) -> bool:
    """Say whether a layer lacks less than nothing or more than its own depth of soil could hold."""
    return any(
        not 0.0 <= missing <= thickness
        for terminal, row in water.deficit_mm.items()
        for missing, thickness in zip(row, water.thickness_mm[terminal], strict=False)
    )


def read_applied(path: Path, site: Site) -> dict[tuple[int, date], int]:
    """Read what ran from a CSV with the columns night, station, minutes; the night is the date it began on.

    Returns minutes by (terminal, day served). Raises AppliedRefused with every bad line.
    """
    try:
        text = path.read_text(encoding="utf-8-sig")
    except OSError as error:
        raise _refused(
            path, None, "", f"the file cannot be read ({error.strerror})", "name a file that exists"
        ) from None
    except UnicodeDecodeError:
        raise _refused(path, None, "", "this is no UTF-8 text", "save it as CSV in UTF-8") from None
    rows = csv.reader(StringIO(text))
    header = [cell.strip().lower() for cell in next(rows, [])]
    if header != ["night", "station", "minutes"]:
        raise _refused(path, 1, "header", "it is not night,station,minutes", "name the three columns so, in this order")
    applied: dict[tuple[int, date], int] = {}
    problems: list[Problem] = []
    for row in rows:
        if row:
            _take_row(path, site, rows.line_num, row, applied, problems)
    if problems:
        raise AppliedRefused(problems)
    return applied


def _take_row(
    path: Path,
    site: Site,
    line: int,
    row: list[str],
    applied: dict[tuple[int, date], int],
    problems: list[Problem],
) -> None:
    def refuse(field: str, wrong: str, remedy: str) -> None:
        problems.append(Problem(str(path), line, field, wrong, remedy))

    if len(row) != 3:
        refuse("", f"it holds {len(row)} cells, not 3", "give night, station and minutes")
        return
    night, station, minutes = (cell.strip() for cell in row)
    try:
        began = date.fromisoformat(night)
    except ValueError:
        refuse("night", f'"{night}" is no date', "write it as 2026-07-13")
        return
    if not station.isdecimal() or int(station) not in {known.terminal for known in site.stations}:
        refuse("station", f'"{station}" is no terminal of this site', "use the terminal numbers of the site file")
        return
    if not minutes.isdecimal() or int(minutes) > _MOST_MINUTES:
        refuse("minutes", f'"{minutes}" is no number of minutes of a day', "give whole minutes, 0 to 1440")
        return
    serves = began + timedelta(days=int(site.rules.closes_at <= site.rules.opens_at))
    key = (int(station), serves)
    if key in applied:
        refuse("night", f"station {station} stands twice on {night}", "add its minutes up in one line")
    applied[key] = int(minutes)


def _refused(path: Path, line: int | None, field: str, wrong: str, remedy: str) -> AppliedRefused:
    return AppliedRefused([Problem(str(path), line, field, wrong, remedy)])
