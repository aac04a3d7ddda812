"""What is wrong with a record, said to whoever filled in the form: by the labels of its fields, not as of a file."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from etsched.tables.figure import plain
from etsched.web.pages.visit_draft import LISTS, rows_filled

if TYPE_CHECKING:
    from collections.abc import Sequence

    from etsched.errors import Problem
    from etsched.web.pages.visit_draft import Form
    from etsched.web.pages.visit_steps import Field, Step

# A remedy with one of these speaks to whoever writes a file.
_OF_FILES = re.compile(r'[\[{]| = |\blist\b|brackets|quotes|such as "|the top\b')
_EXAMPLE = re.compile(r'write "?-?[0-9]')  # of a number with its unit, which the form adds
_OF_FORMS = {
    "date": "pick the day",
    "time": "pick the time",
    "moment": "pick day and time",
    "one": "choose one of those that are offered",
    "many": "tick what holds",
    "yes or no": "choose one",
    "wet": "choose an area",
    "station": "choose a station",
    "grid": "read the cups again",
}


def sentence(steps: Sequence[Step], form: Form, problem: Problem) -> str:
    """Say where on the form something is to be mended, what is wrong and what to do."""
    step, row, rest = _place(steps, problem.field.split())
    field = None if step is None else _field(step, rest)
    where = [] if step is None or step.each == "once" else [f"{step.one} {_number(step, form, row)}"]
    where += [field.label] if field is not None else []
    named = f"{plain(', '.join(where) or problem.field)}: " if where or problem.field else ""
    wrong = problem.wrong.replace(" with a unit", "")  # the form adds it
    return f"{named}{plain(wrong)}; {plain(_remedy(problem.remedy, field))}."


def _remedy(remedy: str, field: Field | None) -> str:
    of_number = field is not None and field.how == "number" and _EXAMPLE.match(remedy)
    if not of_number and not _OF_FILES.search(remedy):
        return remedy
    if field is None:
        return "fill in on that screen what is missing"
    if field.how == "number":
        return f"write the number alone ({field.unit})" if field.unit else "write a number"
    return _OF_FORMS.get(field.how, "fill it in")


def _place(steps: Sequence[Step], words: list[str]) -> tuple[Step | None, int, list[str]]:
    """Find the step, which of its rows, and what of it: `core 2 layers 1 feel` is of the second core."""
    tables = {step.table: step for step in steps}
    step = tables.get(words[0]) if words else None
    if step is None:
        return (tables["visit"], 0, words) if words and _field(tables["visit"], words) else (None, 0, words)
    if step.each != "once" and len(words) > 1 and words[1].isdigit():
        return step, int(words[1]) - 1, words[2:]
    return step, 0, words[1:]


def _field(step: Step, words: Sequence[str]) -> Field | None:
    """Find the field by its name, or that of which it is a part; places in lists are counted from 1 by people."""
    if words and words[0] in LISTS:
        words = [str(int(word) - 1) if word.isascii() and word.isdigit() else word for word in words]
    for end in range(len(words), 0, -1):
        name = ".".join(words[:end])
        found = [each for each in step.fields if each.name == name or each.name.startswith(f"{name}.")]
        if found:
            return found[0]
    return None


def _number(step: Step, form: Form, row: int) -> int:
    """Number a row as its screen does; rows that were left empty are none of the record's."""
    filled = rows_filled(step, form)
    at = filled[row] if row < len(filled) else row
    return at if step.each == "station" else at + 1
