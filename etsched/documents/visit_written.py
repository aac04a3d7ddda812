"""The record of a visit written as the TOML that `visit_file` reads, from tables of plain values."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence

Written = str | int | float | bool | Sequence["Written"] | Mapping[str, "Written"]


def visit_text(tables: Mapping[str, Written]) -> str:
    """Write a record: single values first, then one table after the other, repeated ones in double brackets."""
    singles = {key: value for key, value in tables.items() if not _is_table(value)}
    parts = [_lines(singles)]
    for key, value in tables.items():
        if isinstance(value, Mapping):
            parts.append(f"[{key}]\n{_lines(value)}")
        elif _is_table(value) and isinstance(value, Sequence):
            parts += [f"[[{key}]]\n{_lines(row)}" for row in value if isinstance(row, Mapping)]
    return "\n".join(parts)


def _is_table(value: Written) -> bool:
    if isinstance(value, Mapping):
        return True
    return isinstance(value, Sequence) and not isinstance(value, str) and any(isinstance(x, Mapping) for x in value)


def _lines(table: Mapping[str, Written]) -> str:
    return "".join(f"{_quoted(key)} = {_inline(value)}\n" for key, value in table.items())


def _inline(value: Written) -> str:
    if isinstance(value, Mapping):
        return "{ " + ", ".join(f"{_quoted(key)} = {_inline(each)}" for key, each in value.items()) + " }"
    if isinstance(value, str):
        return _quoted(value)
    if isinstance(value, bool | int | float):
        return json.dumps(value)
    return "[" + ", ".join(_inline(each) for each in value) + "]"


def _quoted(text: str) -> str:
    """Quote as JSON does; the one control character that JSON lets stand and TOML does not is written out."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")
