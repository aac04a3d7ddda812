"""From a file to its TOML tables, or to sentences about why it is none."""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from etsched.documents.refusals import clean, shown
from etsched.errors import InputRefused, Problem, SiteRefused, VisitRefused

_MOST_BYTES = 1_000_000  # a thousand stations with notes take a third of it
_POSITION = re.compile(r"\(at line (\d+), column (\d+)\)")
# `size = 900 sq ft`, `latitude = 37,4`: the value stands bare and is no number, so quotes are missing.
_BARE = re.compile(r"\s*([\w.-]+)\s*=\s*([^\s\"'\[{#][^#]*?)\s*(?:#.*)?")
_DOUBLE_QUOTE = re.compile(r'(?<!\\)"')
_DECIMAL_COMMA = re.compile(r"[+-]?\d+,\d+")
_CURLY = re.compile("[“”„‟‘’]")
# What tomllib says for keys and tables that come twice, in words it has kept since Python 3.11.
_TWICE = ("Cannot overwrite a value", "Cannot declare", "Duplicate inline table key")


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of file: what it is called, how its tables repeat, how deep they nest, and the error that refuses it."""

    noun: str
    repeats: str
    levels: str
    refused: type[InputRefused]


SITE = Kind("site file", "stations are [[station]]", "one level only", SiteRefused)
VISIT = Kind("visit file", "cores are [[core]]", "two levels at most", VisitRefused)


def read_text(path: Path, kind: Kind = SITE) -> str:
    """Read a file as UTF-8 text, with or without the byte-order mark that some editors put in front."""
    try:
        raw = path.read_bytes()
    except FileNotFoundError:
        raise _refuse(kind, path, "there is no such file", "check the name and the folder") from None
    except OSError as error:
        wrong = f"the file cannot be read ({(error.strerror or 'unknown reason').lower()})"
        raise _refuse(kind, path, wrong, "check that it is a file and that you may read it") from None
    except ValueError:  # a name with a null character
        raise _refuse(kind, path, "this is no file name", "check the name") from None
    if len(raw) > _MOST_BYTES:
        remedy = f"name a {kind.noun}, which has less than a million"
        raise _refuse(kind, path, f"the file has {len(raw):,} bytes", remedy)
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        raise _refuse(kind, path, "this is not UTF-8 text", "save the file as UTF-8", line) from None


def parse_toml(text: str, name: str, kind: Kind = SITE) -> dict[str, Any]:
    """Read a TOML text into tables, or refuse it with the line and a sentence."""
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise kind.refused([_problem(text, name, str(error), kind)]) from None
    except RecursionError:
        wrong, remedy = (
            "brackets are nested too deeply",
            f"a {kind.noun} needs lists and tables of {kind.levels}",
        )
    except ValueError:  # Python refuses whole numbers of thousands of digits
        wrong, remedy = "a number has thousands of digits", "write the number you mean"
    raise kind.refused([Problem(name, None, "", wrong, remedy)])


def _refuse(kind: Kind, path: Path, wrong: str, remedy: str, line: int | None = None) -> InputRefused:
    return kind.refused([Problem(str(path), line, "", wrong, remedy)])


def _problem(text: str, name: str, message: str, kind: Kind) -> Problem:
    """Find the line that tomllib means, and words for people who never heard of TOML."""
    position = _POSITION.search(message)
    line = int(position[1]) if position else text.rstrip().count("\n") + 1
    written = text.split("\n")[line - 1].strip("\r")
    wrong, remedy = _explain(message, written, int(position[2]) if position else None, kind)
    return Problem(name, line, "", wrong, remedy)


def _unquoted(key: str, value: str) -> tuple[str, str]:
    if _DECIMAL_COMMA.fullmatch(value):
        return (
            f"the number {clean(value)} holds a comma",
            f"write {clean(key)} = {clean(value).replace(',', '.')}",
        )
    return f"{clean(value)} stands without quotes", f'write {clean(key)} = "{clean(value)}"'


def _explain(message: str, written: str, column: int | None, kind: Kind) -> tuple[str, str]:
    """Guess what a person meant by a line that is no TOML: what is wrong with it, what to do."""
    bare = _BARE.fullmatch(written)
    quoted = shown(written.strip())
    if message.startswith(_TWICE):
        return "the same key or table stands twice", f"keep one ({kind.repeats}, in double brackets)"
    if _CURLY.search(written):
        return f"curly quotation marks stand in {quoted}", "type straight ones, as on a keyboard"
    if len(_DOUBLE_QUOTE.findall(written)) % 2:
        return f"a quotation mark is missing in {quoted}", "close every text with the mark it begins with"
    if bare:
        return _unquoted(bare[1], bare[2])
    if column is None:
        return "the file ends too early", "look for a bracket or a quotation mark that is never closed"
    wrong = f"{quoted} cannot be read from column {column} on"
    return wrong, 'write one key = "value" a line with nothing after it, tables as [place], comments after #'
