"""A kept week's document read again: the same figures as the plan itself gives, in either unit system."""

import json

import pytest

from etsched.reports.kept_week import nights_for_controller, week_in, why_from
from etsched.reports.week_json import week_json
from etsched.reports.why_json import why_json
from tests.reports.sample_week import priced, sample_week


def document(system):
    return json.loads(week_json(priced(sample_week()), system))


# Sentences and wall-clock texts stay as their first reader reads them.
STAY = {"reason", "start", "end", "cells", "finishes", "starts_local", "label", "notes"}


def figures(value):
    if isinstance(value, dict):
        return {key: figures(each) for key, each in value.items() if key not in STAY}
    return [figures(each) for each in value] if isinstance(value, list) else value


@pytest.mark.parametrize("system", ["us", "metric"])
@pytest.mark.parametrize("kept", ["us", "metric"])
def test_other_units_are_those_that_the_plan_itself_would_give(kept, system):
    assert figures(week_in(document(kept), system)) == figures(document(system))


def test_the_units_do_change_something():
    assert figures(document("us")) != figures(document("metric"))


def test_a_controller_is_told_instants_and_whole_minutes():
    """By hand: the window opens at 22:00 in New York, 02:00 UTC of the next day in July."""
    week = document("us")
    for night, told in zip(week["nights"], nights_for_controller(week, "metric"), strict=True):
        assert told["opens_utc"] == night["opens_utc"]
        assert told["opens_utc"].endswith("T02:00:00Z")
        assert [run["terminal"] for run in told["runs"]] == [run["terminal"] for run in night["runs"] if run["cycles"]]
        for run in told["runs"]:
            assert sum(cycle["minutes"] for cycle in run["cycles"]) == run["minutes"]
            assert run["depth"].endswith(" mm")


def test_a_cycle_begins_so_many_minutes_after_the_window_opens():
    """By hand: a cycle at minute 61 after 02:00 UTC begins at 03:01 UTC, 23:01 in New York."""
    week = document("us")
    run = next(run for night in week["nights"] for run in night["runs"] if run["cycles"])
    run["cycles"][0]["start_min"] = 61
    told = next(run for night in nights_for_controller(week, "us") for run in night["runs"])
    assert told["cycles"][0]["start_utc"][10:] == "T03:01:00Z"
    assert told["cycles"][0]["start_local"][10:] == "T23:01:00-04:00"


@pytest.mark.parametrize("terminal", [1, 4, 7])
def test_the_reasons_are_those_that_why_would_give(terminal):
    why = why_from(document("us"), terminal, None, "us")
    itself = json.loads(why_json(sample_week(), terminal, "us"))
    for night in itself["nights"]:
        night.pop("outcome")  # a sentence that is made of the plan alone
    assert why == itself


def test_one_night_alone_and_a_station_that_is_none():
    week = document("us")
    night = week["nights"][0]["opens_on"]
    assert [each["opens_on"] for each in why_from(week, 7, night, "us")["nights"]] == [night]
    assert why_from(week, 99, None, "us") is None
