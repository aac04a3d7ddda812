"""The visit file: what a technician saw and measured, typed on a phone in TOML."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from itertools import pairwise
from typing import TYPE_CHECKING, Any, TypeVar

from pydantic import ValidationError

from etsched.documents import visit_checks, visit_recovery
from etsched.documents.lines import line_of
from etsched.documents.site_checks import Trouble
from etsched.documents.site_model import Strict
from etsched.documents.toml_text import VISIT, parse_toml, read_text
from etsched.documents.visit_faults import field_name, sentence
from etsched.documents.visit_model import CoreIn, CupsIn, VisitIn
from etsched.documents.visit_remarks import remarks
from etsched.errors import Problem, VisitRefused
from etsched.model.visit import ClockFound, Visit
from etsched.units import UnitSystem

if TYPE_CHECKING:
    from datetime import date
    from pathlib import Path

    from etsched.model.site import Site

M = TypeVar("M", bound=Strict)


def read_visit(path: Path, site: Site, today: date) -> Visit:
    """Read the record of a visit.

    Parameters
    ----------
    path : Path
        A TOML file in UTF-8.
    site : Site
        The property that was visited.
    today : date
        The last day on which a visit can have been.

    Returns
    -------
    Visit
        Every number in its canonical unit; what was doubtful but not refused stands last among its notes.

    Raises
    ------
    VisitRefused
        With every problem of the file, in the order of its lines.
    """
    return parse_visit(read_text(path, VISIT), str(path), site, today)


def read_visits(paths: Sequence[Path], site: Site, today: date) -> tuple[Visit, ...]:
    """Read the records of several visits, in order of day.

    Raises VisitRefused with the problems of all files, or where two records are of one day.
    """
    read: list[tuple[Visit, Path]] = []
    problems: list[Problem] = []
    for path in paths:
        try:
            read.append((read_visit(path, site, today), path))
        except VisitRefused as error:
            problems += error.problems
    read.sort(key=lambda pair: pair[0].day)
    problems += (_same_day(*one, *other) for one, other in pairwise(read) if one[0].day == other[0].day)
    if problems:
        raise VisitRefused(problems)
    return tuple(visit for visit, _ in read)


def _same_day(_: Visit, first: Path, visit: Visit, path: Path) -> Problem:
    if first.resolve() == path.resolve():
        return Problem(str(path), None, "", "the file is named twice", "name each record once")
    wrong = f"it is of {visit.day}, and so is {first}"
    return Problem(str(path), None, "date", wrong, "put them into one file")


def parse_visit(text: str, name: str, site: Site, today: date) -> Visit:
    """Read the text of a visit file; `name` is what problems call it. Raises as `read_visit` does."""
    document = parse_toml(text.removeprefix("\ufeff"), name, VISIT)
    troubles: list[Trouble] = []
    visit = None
    try:
        visit = VisitIn.model_validate(document)
    except ValidationError as error:
        troubles += [(fault["loc"], *sentence(fault)) for fault in error.errors(include_url=False)]
    troubles += _contradictions(document, site, today)
    if troubles or visit is None:
        raise VisitRefused(_problems(troubles, text, name))
    return _as_visit(visit, site)


def _contradictions(document: Mapping[str, Any], site: Site, today: date) -> Iterator[Trouble]:
    """Look at every part of the file that can be read, also where others cannot: all is told at once."""
    units: UnitSystem = "metric" if site.units == "metric" else "us"
    day = visit_recovery.read_day(document.get("date"))
    yield from visit_checks.belongs_to(site, document, today, day)
    yield from visit_checks.terminals_exist(site, document)
    yield from visit_checks.programs_once(document)
    yield from visit_checks.insects_once(document)
    for index, test in _readable(CupsIn, document.get("cups")):
        yield from visit_checks.cups_agree(index, test)
    for index, core in _readable(CoreIn, document.get("core")):
        yield from visit_checks.core_agrees(index, core, units)
    yield from visit_recovery.dates_agree(document, day)


def _readable(model: type[M], tables: object) -> Iterator[tuple[int, M]]:
    for index, table in enumerate(tables if isinstance(tables, list) else []):
        try:
            yield index, model.model_validate(table)
        except ValidationError:
            continue


def _problems(troubles: list[Trouble], text: str, name: str) -> list[Problem]:
    found = [Problem(name, line_of(text, path), field_name(path), wrong, remedy) for path, wrong, remedy in troubles]
    return sorted(found, key=lambda problem: (problem.line or 0, problem.field, problem.wrong))


def _as_visit(visit: VisitIn, site: Site) -> Visit:
    record = Visit(
        day=visit.date,
        technician=visit.technician or "",
        site_name=visit.site or "",
        clock=_clock(visit),
        photos=tuple(visit.photos),
        notes=(*visit.notes, *remarks(visit, site)),
        salts=visit.salts.as_salts() if visit.salts else None,
    )
    return replace(
        record,
        areas=tuple(each.as_area() for each in visit.area),
        runs=tuple(each.as_run() for each in visit.run),
        heads=tuple(each.as_head() for each in visit.head),
        electrical=tuple(each.as_reading() for each in visit.electrical),
        cup_tests=tuple(each.as_test() for each in visit.cups),
        cores=tuple(each.as_core() for each in visit.core),
        meters=tuple(each.as_reading() for each in visit.meter),
        recovery=visit.recovery.as_ask() if visit.recovery else record.recovery,
    )


def _clock(visit: VisitIn) -> ClockFound | None:
    """Put the clock together; programs alone are a clock too."""
    if visit.clock is None and not visit.program:
        return None
    programs = tuple(program.as_program() for program in visit.program)
    if visit.clock is None:
        return ClockFound(programs)
    really = None if visit.clock.really is None else datetime.combine(visit.date, visit.clock.really)
    return ClockFound(programs, visit.clock.rain_switch or "", visit.clock.shows, really)
