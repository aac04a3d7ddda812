"""A visit in two or three sentences, and who says so of all that its report rests on."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING

from etsched.tables.figure import count_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from etsched.tables.visit_causes import AreaCauses
    from etsched.tables.visit_clock import VisitClock
    from etsched.tables.visit_mends import MendRow
    from etsched.tables.visit_recovery import VisitRecovery
    from etsched.tables.visit_seen import VisitSeen


@dataclass(frozen=True, slots=True)
class SourcesRow:
    """What one part of the report goes by."""

    part: str
    sources: tuple[str, ...]


def in_short(
    clock: VisitClock | None, causes: Sequence[AreaCauses], mends: Sequence[MendRow], recovery: VisitRecovery | None
) -> tuple[str, ...]:
    """Say the whole visit in a few sentences."""
    return (*_why(causes), *_gives(clock), *_ahead(mends, recovery))


def _why(causes: Sequence[AreaCauses]) -> Iterator[str]:
    likely = Counter(row.name for area in causes for row in area.likely)
    if likely:
        areas = count_of(len(causes), "area was looked at", "areas were looked at")
        yield f"{areas}; likely causes: {', '.join(f'{name} ({count})' for name, count in likely.most_common())}."


def _gives(clock: VisitClock | None) -> Iterator[str]:
    known = [row.of_use.value for row in clock.rows if row.of_use.value is not None] if clock else []
    if known:
        short = sum(share < 100.0 for share in known)
        yield f"As it was found, the clock gives {short} of {len(known)} stations less water than their turf uses."


def _ahead(mends: Sequence[MendRow], recovery: VisitRecovery | None) -> Iterator[str]:
    settings = sum(row.setting for row in mends)
    counted = ((len(mends) - settings, "repair", "repairs"), (settings, "setting", "settings"))
    first = " and ".join(count_of(*each) for each in counted if each[0])
    if first:
        yield f"{first} first."
    if recovery and recovery.green:
        yield recovery.green


def visit_sources(
    seen: VisitSeen, causes: Sequence[AreaCauses], recovery: VisitRecovery | None
) -> tuple[SourcesRow, ...]:
    """Collect who says so, each once a part; parts that rest on nothing else are left out."""
    rows = (row for area in causes for row in area.causes)
    evidence = (line.source for row in rows for line in (*row.speaks_for, *row.speaks_against))
    parts: tuple[tuple[str, Iterable[str]], ...] = (
        ("Signs and causes", evidence),
        ("Readings at the terminals", (row.source for row in seen.coils)),
        ("Feeding", recovery.feed_sources if recovery else ()),
        ("Seed and sod", (source for row in recovery.covers for source in row.sources) if recovery else ()),
    )
    told = (SourcesRow(part, tuple(dict.fromkeys(filter(None, sources)))) for part, sources in parts)
    return tuple(row for row in told if row.sources)
