"""What the words on the pages mean, in plain sentences."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from etsched.reference.figure import table


@dataclass(frozen=True, slots=True)
class Word:
    """A term, how else it is written, and what it means."""

    name: str
    also: tuple[str, ...]
    says: str

    @property
    def anchor(self) -> str:
        """Its name as the part of an address: `allowable-depletion-mad`."""
        letters = (each if each.isalnum() else " " for each in self.name.lower())
        return "-".join("".join(letters).split())


@dataclass(frozen=True, slots=True)
class WordGroup:
    """Words of one matter."""

    title: str
    words: tuple[Word, ...]


@cache
def word_groups() -> tuple[WordGroup, ...]:
    """Give every word, in the order in which a reader meets them."""
    return tuple(
        WordGroup(
            group["title"],
            tuple(Word(word["name"], tuple(word.get("also", ())), word["says"]) for word in group["word"]),
        )
        for group in table("words.toml")["group"]
    )
