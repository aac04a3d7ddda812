"""The table of causes: which sign speaks for or against which, what a reading means, and which tests there are."""

from __future__ import annotations

import operator
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Literal, cast

from etsched.reference.figure import Table, origin, table
from etsched.reference.signs import signs

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator, Mapping

Weight = Literal["strong", "some", "fits", "against", "excludes"]
Acts = Literal["water", "care", "feeding", "chemistry"]

_COMPARES = {"under": operator.lt, "up_to": operator.le, "over": operator.gt, "at_least": operator.ge}


@dataclass(frozen=True, slots=True)
class Evidence:
    """A sign and how much it says about a cause, with the source of that weight."""

    sign: str
    words: str
    weight: Weight
    source: str


@dataclass(frozen=True, slots=True)
class CauseEntry:
    """One cause as the table has it; every sign that bears on it, with its weight."""

    key: str
    name: str
    looks: str  # "dry" or "wet"; "" where the ground does not tell
    acts: Acts  # the kind of work that mends it
    advice: str
    evidence: Mapping[str, Evidence]


@dataclass(frozen=True, slots=True)
class Trial:
    """One test: what to do, and the signs that each outcome leaves."""

    key: str
    words: str
    outcomes: tuple[frozenset[str], ...]
    settled: frozenset[str]  # further signs that leave nothing to test

    def left(self, signs: Collection[str]) -> bool:
        """Say whether it may still tell something beside these signs."""
        return not any(told & set(signs) for told in (*self.outcomes, self.settled))


@cache
def cause_entries() -> tuple[CauseEntry, ...]:
    """Give every cause, those of water first."""
    data = table("causes.toml")
    return tuple(
        CauseEntry(
            key,
            entry["name"],
            entry.get("looks", ""),
            cast("Acts", entry["acts"]),
            entry["advice"],
            {line["sign"]: _evidence(line) for line in entry["evidence"]},
        )
        for key, entry in data["cause"].items()
    )


@cache
def trials() -> tuple[Trial, ...]:
    """Give every test, the cheap ones first."""
    return tuple(
        Trial(
            entry["key"],
            entry["words"],
            tuple(frozenset(signs) for signs in entry["outcomes"]),
            frozenset(entry.get("settled", ())),
        )
        for entry in table("causes.toml")["test"]
    )


def signs_of_readings(readings: Mapping[str, float]) -> frozenset[str]:
    """Give the signs that readings leave, by name of the reading; an unknown name leaves none."""
    return frozenset(
        entry["sign"]
        for entry in table("causes.toml")["reading"]
        if entry["name"] in readings and all(_holds(entry, readings[entry["name"]]))
    )


def sign_words(sign: str) -> str:
    """Say a sign in words: those of what may be seen, else those of readings; one without any is said by its key."""
    seen = signs("pattern", "colour", "sign").get(sign)
    words = seen.words if seen is not None else table("causes.toml")["words"].get(sign)
    return str(words) if words is not None else sign.replace("_", " ")


def _holds(entry: Table, value: float) -> Iterator[bool]:
    return (bool(compare(value, entry[word])) for word, compare in _COMPARES.items() if word in entry)


def _evidence(entry: Table) -> Evidence:
    source = table("causes.toml")["sources"][entry["source"]]
    sign = entry["sign"]
    return Evidence(sign, sign_words(sign), cast("Weight", entry["weight"]), origin(source, entry["mark"])[0])
