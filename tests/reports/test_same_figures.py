"""One source: the figures of the table, the CSV, the JSON and the page are the same."""

import csv
import io
import json
from collections import Counter
from dataclasses import replace

import pytest

from etsched.cli.screen import show_week
from etsched.reports.kept_plan import plan_from
from etsched.reports.week_csv import week_csv
from etsched.reports.week_json import week_json
from etsched.reports.week_page import week_page
from etsched.tables.week import week_table
from tests.reports.sample_week import priced, sample_week
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
    assert "Watering minutes 160" in Page(week_page(plan)).text


# By hand, at 2 EUR a cubic metre: 40 min at 40 L/min, 56 min at 20 L/min.
COSTS = {1: "3.20", 7: "2.24"}


@pytest.mark.parametrize("kept", [False, True])
def test_costs_on_page_csv_json_and_terminal(kept, capsys):
    plan = priced(sample_week("metric"))
    if kept:
        plan = plan_from(json.loads(week_json(plan)), sample_week().site)
    lines = {int(row["terminal"]): row for row in csv.DictReader(io.StringIO(week_csv(plan)))}
    document = json.loads(week_json(plan))
    stations = {each["terminal"]: each for each in document["stations"]}
    page = Page(week_page(plan)).text
    show_week(plan, None)
    screen = capsys.readouterr().out
    for terminal, cost in COSTS.items():
        area = stations[terminal]["area"]
        assert lines[terminal]["week_cost_EUR"] == cost
        assert stations[terminal]["cost"] == f"{cost} EUR"
        assert f"{terminal} {area} {stations[terminal]['volume']} {cost} EUR" in page
        assert any(area in line and line.rstrip().endswith(f" {cost}") for line in screen.splitlines())
    assert document["totals"]["cost_money"] == pytest.approx(5.44)
    assert document["totals"]["cost"] == "at least 5.44 EUR"
    assert "at least 2,720 L (flow of 1 station not known) at least 5.44 EUR" in page
    assert "at least 2,720 L (flow of 1 station not known), at least 5.44 EUR" in screen
    price = "Cost at 2 EUR per m³, as the site file says; whoever keeps that file changes it."
    assert all(price in text for text in (page, screen))


def test_savings_on_page_json_and_terminal(capsys):
    plan = priced(sample_week("metric"))
    page = Page(week_page(plan)).text
    show_week(plan, None)
    screen = " ".join(capsys.readouterr().out.split())
    saving = json.loads(week_json(plan))["savings"]
    assert (saving[0]["saved"], saving[0]["cost"]) == ("300 L", "0.60 EUR")
    assert (saving[1]["saved"], saving[1]["cost"]) == ("not known until a cup test", None)
    for text in (page, screen):
        assert "1 Front lawn 42% → 55% 300 L 0.60 EUR" in text
        assert "Not known until a catch-cup test tells how evenly stations 4, 7 water." in text


def test_stations_that_cups_found_even_are_named(capsys):
    """Of 1, 4 and 7, which water, only 4 has a saving to find out: cups found the others even."""
    plan = priced(sample_week())
    plan = replace(plan, savings=plan.savings[1:2])
    show_week(plan, None)
    said = "Cups found that stations 1, 7 water as evenly as a good one of their kind: nothing to save there."
    assert said in Page(week_page(plan)).text
    assert said in " ".join(capsys.readouterr().out.split())


def test_without_a_price_no_cost_is_shown_and_each_says_how_to_state_one(capsys):
    plan = sample_week()
    document = json.loads(week_json(plan))
    assert document["water_price"] is None
    assert {each["cost"] for each in (*document["stations"], document["totals"])} == {None}
    assert "cost" not in week_csv(plan).splitlines()[0]
    page = Page(week_page(plan)).text
    show_week(plan, None)
    for text in (page, " ".join(capsys.readouterr().out.split())):
        assert 'price = "4.10 USD/kgal"' in text
        assert text.lower().count("cost") == 2  # in that sentence alone
