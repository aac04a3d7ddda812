"""A week's document read back gives the plan it was written from, so that every report of it is the same."""

import json
from datetime import date

import pytest

from etsched.errors import PlanRefused
from etsched.reports.kept_plan import plan_from
from etsched.reports.week_csv import week_csv
from etsched.reports.week_json import week_json
from etsched.reports.week_page import week_page
from etsched.usecases.inputs import read_inputs
from etsched.usecases.week import Before, week_from_inputs

REPORTS = (week_json, week_csv, week_page)


class _Monday:
    def today(self, zone):
        return date(2026, 7, 13)


@pytest.fixture(scope="module")
def demo(root):
    return week_from_inputs(
        read_inputs(root / "demo" / "site.toml", root / "demo" / "weather.csv", None, _Monday()), Before()
    )


@pytest.mark.parametrize("report", REPORTS)
def test_every_report_of_the_plan_read_back_is_the_same(demo, report):
    again = plan_from(json.loads(week_json(demo)), demo.site)
    assert report(again) == report(demo)


def test_a_document_of_a_station_that_is_gone_is_refused(demo):
    week = json.loads(week_json(demo))
    week["stations"].append({**week["stations"][0], "terminal": 99})
    with pytest.raises(PlanRefused, match="station 99"):
        plan_from(week, demo.site)
