"""The visit as JSON: canonical numbers beside what its reader reads."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest

from etsched.reports.visit_json import SCHEMA, visit_json
from tests.reports.sample_visit import empty_outcome, first_outcome, hostile_outcome, return_outcome


def document(outcome, system=None):
    return json.loads(visit_json(outcome, system))


def test_names_its_schema_property_day_and_units():
    told = document(first_outcome())
    assert told["schema"] == SCHEMA == "etsched.visit/1"
    assert (told["site"], told["technician"], told["units"]) == ("Thistledown Grange", "R. Vale", "us")
    assert told["day"] == {"day": "2026-07-14", "reader": "Tue Jul 14"}


def test_same_bytes_for_the_same_visit():
    assert visit_json(first_outcome()) == visit_json(first_outcome())


def test_a_figure_is_canonical_whatever_its_reader_reads():
    us, metric = document(first_outcome(), "us"), document(first_outcome(), "metric")
    for at in range(5):
        one, other = us["clock"]["rows"][at]["depth"], metric["clock"]["rows"][at]["depth"]
        assert (one["value"], one["unit"]) == (other["value"], other["unit"])
    # 16 min at 40 mm/h.
    assert us["clock"]["rows"][4]["depth"]["value"] == pytest.approx(32 / 3)
    assert (us["clock"]["rows"][4]["depth"]["reader"], metric["clock"]["rows"][4]["depth"]["reader"]) == (
        "0.42 in",
        "10.7 mm",
    )


def test_what_is_not_known_is_null():
    told = document(first_outcome())
    assert told["cups"][1]["rate"] == {"value": None, "unit": "mm_h", "reader": "—"}
    assert told["recovery"]["rewets"][3]["reached"] == {"day": None, "reader": "—"}
    assert told["proof"] is None


def test_an_open_line_is_no_number_that_json_cannot_hold():
    assert document(first_outcome())["seen"]["coils"][0]["coil"] == "open"
    assert "Infinity" not in visit_json(first_outcome())


def test_parts_that_nobody_looked_at_are_null_or_empty():
    told = document(empty_outcome())
    assert [told[part] for part in ("clock", "cores", "chart", "recovery", "proof")] == [None] * 5
    assert [told[part] for part in ("cups", "causes", "repairs", "cautions")] == [[]] * 4


def test_the_proof_is_in_it():
    told = document(return_outcome())["proof"]
    assert told["since"]["day"] == "2026-07-14"
    assert [core["verdict"] for core in told["cores"]] == ["drier than predicted"] * 3


def test_hostile_text_is_text():
    text = '"}</script>\u202e\x07'
    told = document(hostile_outcome(text))
    assert told["site"] == '"}</script>'


def test_whose_weather_it_is_stands_in_it():
    outcome = first_outcome()
    credited = replace(outcome, plan=replace(outcome.plan, attributions=("Sky data by the Cobble Ferry observers.",)))
    assert document(credited)["credits"] == ["Sky data by the Cobble Ferry observers"]
