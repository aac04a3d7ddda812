"""One source: the figures of the table, the CSV, the JSON and the page are the same."""

import csv
import io
import json
from collections import Counter

import pytest

from etsched.reports.week_csv import week_csv
from etsched.reports.week_json import week_json
from etsched.reports.week_page import week_page
from etsched.tables.week import week_table
from tests.reports.sample_week import sample_week
from tests.reports.test_week_page import Page


@pytest.mark.parametrize("system", ["us", "metric"])
def test_station_weeks(system):
    plan = sample_week()
    lines = {row["terminal"]: row for row in csv.DictReader(io.StringIO(week_csv(plan, system)))}
    stations = {each["terminal"]: each for each in json.loads(week_json(plan, system))["stations"]}
    page = Page(week_page(plan, system)).text
    depth = "week_depth_mm" if system == "metric" else "week_depth_in"
    for row in week_table(plan, system).rows:
        line, station = lines[str(row.terminal)], stations[row.terminal]
        assert int(line["week_minutes"]) == station["minutes"] == row.minutes
        assert f"{line[depth]} {row.depth.unit}" == station["depth"] == row.depth.text
        assert f"{row.minutes} {row.could_be} {row.depth.text}".replace("  ", " ") in page


@pytest.mark.parametrize("system", ["us", "metric"])
def test_every_start_of_the_week(system):
    plan = sample_week()
    lines = csv.DictReader(io.StringIO(week_csv(plan, system)))
    in_csv = Counter(start for row in lines if row["starts_local"] for start in row["starts_local"].split("; "))
    nights = json.loads(week_json(plan, system))["nights"]
    in_json = Counter(c["start"] for night in nights for run in night["runs"] for c in run["cycles"])
    assert in_csv == in_json
    assert in_csv.total() == 12
    page = Page(week_page(plan, system)).text
    assert all(start in page for start in in_csv)


def test_minutes_add_up_everywhere():
    plan = sample_week()
    lines = list(csv.DictReader(io.StringIO(week_csv(plan))))
    document = json.loads(week_json(plan))
    assert sum(int(row["minutes"]) for row in lines) == document["totals"]["minutes"] == 160
    assert sum(night["minutes"] for night in document["nights"]) == 160
    assert "Valve minutes 160" in Page(week_page(plan)).text
