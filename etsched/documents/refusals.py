"""The words in which a file is refused: what is wrong, what was written, what was probably meant."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from difflib import get_close_matches

from pydantic_core import PydanticCustomError

_LONGEST_SHOWN = 60


def refuse(wrong: str, remedy: str) -> PydanticCustomError:
    """Give the error by which a validator tells what is wrong and what to do about it."""
    return PydanticCustomError("refused", "{wrong}; {remedy}", {"wrong": wrong, "remedy": remedy})


def clean(text: str) -> str:
    """Shorten a text and take out characters that could disturb a terminal."""
    printable = "".join(each if each.isprintable() else "?" for each in text[: _LONGEST_SHOWN + 1])
    return printable if len(printable) <= _LONGEST_SHOWN else printable[:_LONGEST_SHOWN] + "…"


def shown(raw: object) -> str:
    """Quote what a person wrote, as the file has it."""
    if isinstance(raw, str):
        return f'"{clean(raw)}"'
    if isinstance(raw, bool):
        return str(raw).lower()
    if isinstance(raw, list | dict):
        return "a list" if isinstance(raw, list) else "a table"
    try:
        return clean(str(raw))
    except ValueError:  # Python refuses to write out whole numbers of thousands of digits
        return "a number of thousands of digits"


def closest(word: str, known: Iterable[str]) -> str | None:
    """Give the known word that a misspelt one most likely means, if one is close enough."""
    by_case = {each.casefold(): each for each in known}
    found = get_close_matches(word.casefold(), by_case, n=1, cutoff=0.75)
    return by_case[found[0]] if found else None


def written_out(words: Sequence[str], link: str = "or") -> str:
    """Write several words in a row: `"a", "b" or "c"`."""
    *most, last = [f'"{word}"' for word in words]
    return f"{', '.join(most)} {link} {last}" if most else last
