"""Where in a TOML text a key stands.

`tomllib` gives values without positions, and no library we know of keeps them, so the text is walked a second
time. The walk knows only what it must to find keys: table headers, keys in front of `=`, and how strings,
comments and brackets are skipped. It never raises, so a broken text still yields the lines above the break.
"""

from __future__ import annotations

import re
from functools import lru_cache

Path = tuple[str | int, ...]

_PART = r"""(?:[A-Za-z0-9_-]+|"(?:\\.|[^"\\\n])*"|'[^'\n]*')"""
_KEY = rf"{_PART}(?:[ \t]*\.[ \t]*{_PART})*"
_HEADER = re.compile(rf"(\[\[?)[ \t]*({_KEY})[ \t]*\]")
_ASSIGNMENT = re.compile(rf"({_KEY})[ \t]*=")
_PARTS = re.compile(_PART)
_BLANK = re.compile(r"[ \t\r\n]*")
# One piece of a value: a whole string (three quotes first), a comment, text without marks, or a single mark.
_PIECE = re.compile(
    r'"""(?:\\.|[^\\])*?"{3,5}'
    r"|'''.*?'{3,5}"
    r'|"(?:\\.|[^"\\\n])*"'
    r"|'[^'\n]*'"
    r"|#[^\n]*"
    r"|[^\"'#\[\]{}\n]+"
    r"|.",
    re.DOTALL,
)


def line_of(text: str, path: Path) -> int | None:
    """Find the 1-based line on which a key of a TOML text stands.

    Parameters
    ----------
    text : str
        The whole text.
    path : tuple of str and int
        Such as `("station", 2, "soil")`; a number counts the `[[station]]` tables from 0.

    Returns
    -------
    int or None
        The line of the key, or of the nearest table or key around it that stands in the text.
    """
    lines = _lines(text)
    for length in range(len(path), 0, -1):
        line = lines.get(path[:length])
        if line is not None:
            return line
    return None


@lru_cache(maxsize=4)
def _lines(text: str) -> dict[Path, int]:
    """Give the line of every table and key that is not inside an inline table."""
    found: dict[Path, int] = {}
    counts: dict[Path, int] = {}
    table: Path = ()
    line, line_counted_to = 1, 0
    position = _skip_blank(text, 0)
    while position < len(text):
        line += text.count("\n", line_counted_to, position)
        line_counted_to = position
        if header := _HEADER.match(text, position):
            table = _table(header[1], _names(header[2]), counts)
            _note(found, table, line)
        elif key := _ASSIGNMENT.match(text, position):
            _note(found, _inside(table, _names(key[1]), counts), line)
            position = key.end()
        # A header is skipped like a value: its brackets close on the same line.
        position = _skip_blank(text, _end_of_statement(text, position))
    return found


def _note(found: dict[Path, int], path: Path, line: int) -> None:
    """Keep the first line of a path, and of each path around it."""
    for length in range(1, len(path) + 1):
        found.setdefault(path[:length], line)


def _table(bracket: str, names: tuple[str, ...], counts: dict[Path, int]) -> Path:
    """Give the path of a header, counting it when it opens one more table of an array."""
    if bracket == "[":
        return _inside((), names, counts)
    array = (*_inside((), names[:-1], counts), names[-1])
    counts[array] = counts.get(array, -1) + 1
    return (*array, counts[array])


def _inside(table: Path, names: tuple[str, ...], counts: dict[Path, int]) -> Path:
    """Give the path of dotted names below a table; a name of an array means its latest table."""
    for name in names:
        table = (*table, name)
        if table in counts:
            table = (*table, counts[table])
    return table


def _names(key: str) -> tuple[str, ...]:
    return tuple(part.strip("\"'") for part in _PARTS.findall(key))


def _skip_blank(text: str, position: int) -> int:
    blank = _BLANK.match(text, position)
    return blank.end() if blank else position


def _end_of_statement(text: str, position: int) -> int:
    """Give the position of the line end that closes a statement: the first one outside every bracket."""
    depth = 0
    while piece := _PIECE.match(text, position):
        if piece[0] == "\n" and depth <= 0:
            return position
        depth += (piece[0] in "[{") - (piece[0] in "]}")
        position = piece.end()
    return position
