"""What to change in a clock: the programs that are keyed in now against those of a table."""

from __future__ import annotations

from dataclasses import replace
from itertools import permutations, zip_longest
from typing import TYPE_CHECKING

from etsched.model.clock_table import (
    ClockTable,
    DaysChange,
    Difference,
    MinutesChange,
    PercentChange,
    StartChange,
)
from etsched.planning.program_figures import as_found

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from etsched.model.visit import Program

_FULL_PCT = 100.0
# Beyond so many programs the letters stay as they are: trying every order of them would take too long.
_MOST_TRIED = 5


def differences(now: Sequence[Program], table: ClockTable) -> tuple[Difference, ...]:
    """List what to change in the clock, program by program; programs the table does not use lose their starts."""
    wanted = {each.letter: as_found(each) for each in table.programs}
    held = {_key(each): each for each in now}
    found: list[Difference] = []
    for letter in sorted({*wanted, *held}):
        found += _of_program(letter, held.get(letter), wanted.get(letter))
    return tuple(found)


def relettered(now: Sequence[Program], table: ClockTable) -> ClockTable:
    """Name the programs of the table so that least is to be changed; the names are those that the clock has."""
    names = list(dict.fromkeys([_key(each) for each in now] + _letters(table.controller.programs_count)))
    names = names[: max(table.controller.programs_count, len(now))]
    old = [each.letter for each in table.programs]
    if not len(old) <= len(names) <= _MOST_TRIED:
        return table
    tries = (_renamed(table, dict(zip(old, new, strict=True))) for new in permutations(names, len(old)))
    return min(tries, key=lambda each: len(differences(now, each)))


def _letters(count: int) -> list[str]:
    return [chr(ord("A") + at) for at in range(min(count, 26))]


def _renamed(table: ClockTable, names: dict[str, str]) -> ClockTable:
    programs = [replace(each, letter=names[each.letter]) for each in table.programs]
    stations = [replace(each, letters=tuple(sorted(names[old] for old in each.letters))) for each in table.stations]
    return replace(
        table, programs=tuple(sorted(programs, key=lambda each: each.letter)), stations=tuple(stations)
    )


def _key(program: Program) -> str:
    return program.name.strip().upper()


def _of_program(letter: str, before: Program | None, after: Program | None) -> Iterator[Difference]:
    days, starts, minutes = (set(), (), {}) if before is None else (before.days, before.starts, before.minutes_min)
    if after is None:
        # Without a start nothing runs, so its days and minutes may stay.
        for place, start in enumerate(starts, 1):
            yield StartChange(letter, place, start, None)
        return
    if days != after.days:
        yield DaysChange(letter, frozenset(days), after.days)
    if before is not None and before.percent_adjust_pct != _FULL_PCT:
        yield PercentChange(letter, before.percent_adjust_pct, _FULL_PCT)
    stay = set(starts) & set(after.starts)
    old = [(place, start) for place, start in enumerate(starts, 1) if start not in stay]
    new = [start for start in after.starts if start not in stay]
    for at, (had, start) in enumerate(zip_longest(old, new)):
        place = had[0] if had else len(starts) + at - len(old) + 1
        yield StartChange(letter, place, had[1] if had else None, start)
    for terminal in sorted({*minutes, *after.minutes_min}):
        had_min, wanted_min = minutes.get(terminal) or None, after.minutes_min.get(terminal)
        if had_min != wanted_min:
            yield MinutesChange(letter, terminal, had_min, None if wanted_min is None else int(wanted_min))
