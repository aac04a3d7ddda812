"""A visit file to start from: every line it may hold, as comments, with the stations of the property."""

from __future__ import annotations

import json
import textwrap
from importlib import resources
from string import Template
from typing import TYPE_CHECKING

from etsched.documents.refusals import written_out
from etsched.documents.visit_words import CUP_UNITS
from etsched.reference.faults import head_faults
from etsched.reference.feel import feel_classes
from etsched.reference.signs import Kind, signs

if TYPE_CHECKING:
    from collections.abc import Iterable

    from etsched.model.site import Site

_WIDTH = 118


def starter_visit(site: Site) -> str:
    """Give the text of a visit file of a property in which nothing has been recorded yet.

    Parameters
    ----------
    site : Site
        The property; its stations are listed, the first of them stands in the examples.

    Returns
    -------
    str
        TOML of which every line is a comment.
    """
    template = resources.files("etsched.documents").joinpath("starter_visit.toml").read_text("utf-8")
    first = site.stations[0]
    text = Template(template).substitute(
        site=site.name,
        site_name=_quoted(site.name),
        stations="\n".join(f"#   {station.terminal}: {station.area}" for station in site.stations),
        terminal=first.terminal,
        area=_quoted(first.area),
        patterns=_names("pattern"),
        colours=_names("colour"),
        signs=_names("sign"),
        faults=", ".join(head_faults()),
        cup_units=written_out([*CUP_UNITS]),
        feels="\n".join(f"#   {each.key}: {each.words}" for each in feel_classes()),
    )
    return "\n".join(_folded(text.splitlines())) + "\n"


def _quoted(text: str) -> str:
    return json.dumps(text, ensure_ascii=False)


def _names(kind: Kind) -> str:
    return ", ".join(each.name for each in signs(kind).values())


def _folded(lines: Iterable[str]) -> Iterable[str]:
    """Fold lists of words that are too long for a line; lines to be used stay whole."""
    for line in lines:
        if len(line) > _WIDTH and " = " not in line:
            yield from textwrap.wrap(line, _WIDTH, subsequent_indent="#   ")
        else:
            yield line
