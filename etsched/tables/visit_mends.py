"""What is to be mended, in one list, the repair worth most first: stations, meter, wiring, clock."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from etsched.tables.figure import plain
from etsched.tables.visit_words import Day, texts

if TYPE_CHECKING:
    from etsched.planning.visit_outcome import VisitOutcome


@dataclass(frozen=True, slots=True)
class MendRow:
    """One thing to mend; `on` is when it will be done, by the record."""

    rank: int
    terminals: tuple[int, ...]
    where: str
    what: tuple[str, ...]
    on: Day
    setting: bool  # something to key in or to write down, and no repair

    @property
    def sentence(self) -> str:
        """What to do, a plain sentence each."""
        return " ".join(f"{line[:1].upper()}{line[1:]}." for line in self.what)


def visit_mends(outcome: VisitOutcome) -> tuple[MendRow, ...]:
    """Write all that is to be mended."""
    return tuple(
        MendRow(rank, each.terminals, plain(each.where), texts(each.what), Day(each.on), each.setting)
        for rank, each in enumerate(outcome.mends, 1)
    )
