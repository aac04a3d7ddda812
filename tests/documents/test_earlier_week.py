"""Last week's document: taken by the property it was made for, and by no other."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from etsched.documents.earlier_week import read_week_document
from etsched.documents.site_file import read_site
from etsched.errors import AppliedRefused

SITE = read_site(Path(__file__).parents[2] / "demo" / "site.toml")
TERMINALS = [station.terminal for station in SITE.stations]
DOCUMENT = {
    "schema": "etsched.week/1",
    "site": {"name": SITE.name},
    "water": {
        "morning": "2026-07-14",
        "deficit_mm": {str(terminal): [3.0, 0.0, 0.0] for terminal in TERMINALS},
        "thickness_mm": {str(terminal): [150.0, 25.0, 25.0] for terminal in TERMINALS},
    },
    "applied": [{"terminal": TERMINALS[0], "serves": "2026-07-15", "minutes": 12}],
}


def read(tmp_path, document=DOCUMENT, site=SITE):
    path = tmp_path / "week.json"
    path.write_text(json.dumps(document), encoding="utf-8")
    return read_week_document(path, site)


def refused(tmp_path, document=DOCUMENT, site=SITE):
    with pytest.raises(AppliedRefused) as found:
        read(tmp_path, document, site)
    (problem,) = found.value.problems
    return problem


def test_the_document_of_the_same_property_is_taken(tmp_path):
    state, applied = read(tmp_path)
    assert state.morning == date(2026, 7, 14)
    assert applied == {(TERMINALS[0], date(2026, 7, 15)): 12}


def test_the_document_of_another_property_with_the_same_terminals_is_refused(tmp_path):
    problem = refused(tmp_path, DOCUMENT | {"site": {"name": "Cobble Ferry Green"}})
    assert problem.field == "site.name"
    assert problem.wrong == f'it is of "Cobble Ferry Green", and the site file is of "{SITE.name}"'
    assert problem.remedy == "give the document of this site, or begin anew without it"


def test_capitals_and_spaces_make_no_other_property(tmp_path):
    state, _ = read(tmp_path, site=replace(SITE, name=f" {SITE.name.upper()}  "))
    assert state.morning == date(2026, 7, 14)


def test_a_document_that_does_not_say_whose_it_is_is_refused(tmp_path):
    nameless = {key: value for key, value in DOCUMENT.items() if key != "site"}
    problem = refused(tmp_path, nameless)
    assert (problem.field, problem.wrong) == ("site", "it is missing")


def test_a_name_cannot_disturb_a_terminal(tmp_path):
    assert str(refused(tmp_path, DOCUMENT | {"site": {"name": "a\x1b[2J"}})).isprintable()
