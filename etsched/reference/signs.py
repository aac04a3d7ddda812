"""What failing turf shows: patterns, colours, signs and insects, with the words people say for them."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Literal

from etsched.reference.figure import origin, table

Kind = Literal["pattern", "colour", "sign", "insect"]


@dataclass(frozen=True, slots=True)
class Sign:
    """One thing to see: its key, its short name, what people say for it, and what is meant."""

    key: str
    name: str
    say: tuple[str, ...]
    words: str
    source: str


@cache
def signs(*kinds: Kind) -> dict[str, Sign]:
    """Give what may be seen, of one or more kinds, by key."""
    data = table("signs.toml")
    return {
        key: Sign(
            key,
            key.replace("_", " "),
            tuple(entry.get("say", ())),
            entry["words"],
            origin(data["sources"][entry["source"]], entry["mark"])[0],
        )
        for kind in kinds
        for key, entry in data[kind].items()
    }


@cache
def sign_groups() -> dict[str, tuple[str, ...]]:
    """Give the signs that a form asks to tick, by the words over each group of them."""
    return {group["words"]: tuple(group["signs"]) for group in table("signs.toml")["group"]}


@cache
def spoken(*kinds: Kind) -> dict[str, str]:
    """Give the key for every word or phrase of some kinds; the short names come first."""
    found = signs(*kinds)
    names = {each.name: key for key, each in found.items()}
    return names | {phrase: key for key, each in found.items() for phrase in each.say}
