"""A week's document read back gives the plan it was written from, so that every report of it is the same."""

import json
from dataclasses import replace
from datetime import date, timedelta

import pytest

from etsched.charts.root_zone import root_zone
from etsched.errors import PlanRefused
from etsched.model.plan import BooksBefore, Remedy
from etsched.model.site import WaterPrice
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


def test_the_price_is_the_one_that_the_plan_was_made_with(demo):
    later = replace(demo.site, water_price=WaterPrice(9.0, "EUR", "9 EUR/m³"))
    again = plan_from(json.loads(week_json(demo)), later)
    assert again.site.water_price == demo.site.water_price
    assert week_page(again) == week_page(demo)


def test_a_document_from_before_prices_has_no_cost(demo):
    week = json.loads(week_json(demo))
    del week["water_price"], week["savings"]
    assert plan_from(week, demo.site).site.water_price is None


def test_a_document_of_an_earlier_version_is_read_without_what_it_lacks(demo):
    """It counts no evenings, and does not say from which day on its weather is a forecast."""
    week = json.loads(week_json(replace(demo, remedies=(Remedy("open 2 valves at once", 10, 1.0, 2, 3),))))
    assert (week["forecast_from"], week["remedies"][0]["dry_evenings_count"]) == ("2026-07-13", 3)
    del week["forecast_from"], week["remedies"][0]["dry_stations_count"], week["remedies"][0]["dry_evenings_count"]
    told = plan_from(week, demo.site)
    assert "forecast Tue Jul 14–Mon Jul 20" in week_page(told)
    assert "open 2 valves at once: <b>10 min</b> left out</li>" in week_page(told)


def test_the_water_picture_of_the_plan_read_back_is_the_same(demo):
    """With days before it and a range ahead, which the demo's files alone do not give."""
    shift = timedelta(days=7)
    before = BooksBefore(
        tuple(replace(day, day=day.day - shift) for day in demo.days),
        tuple(replace(line, day=line.day - shift) for line in demo.books),
    )
    wider = tuple(replace(each, low_mm=0.5 * each.low_mm, high_mm=2.0 * each.high_mm) for each in demo.depletion_ranges)
    told = replace(demo, before=before, depletion_ranges=wider)
    again = plan_from(json.loads(week_json(told)), demo.site)
    assert (again.before, again.depletion_ranges) == (before, wider)
    assert root_zone(again, 5) == root_zone(told, 5) != root_zone(demo, 5)


def test_a_document_of_a_station_that_is_gone_is_refused(demo):
    week = json.loads(week_json(demo))
    week["stations"].append({**week["stations"][0], "terminal": 99})
    with pytest.raises(PlanRefused, match="station 99"):
        plan_from(week, demo.site)
