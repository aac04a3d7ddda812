"""What is told about a record and not refused: readings that may be slips, names that the site file lacks."""

from __future__ import annotations

from collections.abc import Iterator
from statistics import median

from etsched.documents import visit_cups
from etsched.documents.refusals import closest
from etsched.documents.visit_model import CupsIn, VisitIn
from etsched.documents.visit_words import CUP_UNITS
from etsched.model.site import Site
from etsched.planning.runs_seen import same_name
from etsched.units import to_canonical

# So many times the middle cup is more than heads do to a lawn (common practice, no source).
_OUTLIER = 4.0
_DAY_MIN = 1440.0


def remarks(visit: VisitIn, site: Site) -> Iterator[str]:
    """Give the sentences that travel with the visit."""
    for number, test in enumerate(visit.cups, 1):
        yield from (f"Cup test {number}: {sentence}" for sentence in _cups(test))
    for program in visit.program:
        total = sum(program.minutes.values())
        if total > _DAY_MIN:
            yield f"Program {program.name} adds up to {total:g} minutes, more than a day."
    yield from _strange_areas(visit, site)


def _cups(test: CupsIn) -> Iterator[str]:
    caught = visit_cups.readings(test)
    read = [value for value in caught if value is not None]
    middle = median(read)
    full = None
    if test.capacity is not None and CUP_UNITS[test.unit] == "ml":
        full = test.capacity / to_canonical(1.0, test.unit, "ml")
    for number, value in enumerate(caught, 1):
        if value is None:
            yield f"cup {number} was tipped and is left out."
        elif value == 0.0:
            yield f"cup {number} caught nothing; it counts, as a dry place."
        elif full is not None and value >= 0.999 * full:
            yield f"cup {number} was full and may have run over; more may have fallen there."
        elif middle > 0.0 and value > _OUTLIER * middle:
            yield (
                f"cup {number} caught {value:g} {test.unit}, {value / middle:.0f} times the middle cup; it counts, "
                "but look for a leak beside it or a slip of the point."
            )


def _strange_areas(visit: VisitIn, site: Site) -> Iterator[str]:
    """Name areas that no station waters: a new patch, or a slip in a name."""
    filed = [station.area for station in site.stations]
    named = [area.name for area in visit.area]
    named += [test.area for test in visit.cups if test.area is not None]
    named += [core.area for core in visit.core if core.area is not None]
    named += [area for run in visit.run for area in run.wet or ()]
    for name in dict.fromkeys(named):
        if not any(same_name(name, area) for area in filed):
            match = closest(name, filed)
            perhaps = f'; perhaps "{match}" is meant' if match else ""
            yield f'The site file has no area "{name}"{perhaps}.'
