"""Tonight, the week, the reasons, the check: what a controller and a reader are told of the plan that is kept."""

from datetime import UTC, datetime, timedelta

import pytest

from etsched.stores import plans


def test_tonight_says_which_plan_it_is_and_how_long_it_is_good(shared):
    """By hand: the window of 13 July opens at 22:00 and closes at 06:00 in California, 05:00 and 13:00 UTC."""
    told = shared.ask("GET", "/v1/sites/grange/tonight").json()
    assert (told["schema"], told["plan_revision"], told["units"]) == ("etsched.tonight/1", 1, "us")
    assert told["expired"] is False
    assert told["valid_until"] == "2026-07-14T13:00:00Z"
    # Seven nights from 13 July on: the last one opens on 19 July and closes on the 20th.
    after = told["after_valid_until"]
    assert (after["do"], after["until"]) == ("keep_last", "2026-07-20T13:00:00Z")
    night = told["night"]
    assert (night["opens_on"], night["serves"]) == ("2026-07-13", "2026-07-14")
    assert (night["opens_utc"], night["closes_utc"]) == ("2026-07-14T05:00:00Z", "2026-07-14T13:00:00Z")
    assert night["opens_local"] == "2026-07-13T22:00:00-07:00"
    assert 13 not in {run["terminal"] for run in night["runs"]}  # blocked in the site file
    for run in night["runs"]:
        for cycle in run["cycles"]:
            begins = datetime.fromisoformat(cycle["start_utc"])
            assert datetime.fromisoformat(cycle["start_local"]) == begins
            assert datetime.fromisoformat(night["opens_utc"]) <= begins
            assert begins + timedelta(minutes=cycle["minutes"]) <= datetime.fromisoformat(night["closes_utc"])


@pytest.mark.parametrize(
    ("now", "opens_on", "expired"),
    [
        (datetime(2026, 7, 14, 12, 59, 59, tzinfo=UTC), "2026-07-13", False),  # the window closes at 13:00
        (datetime(2026, 7, 14, 13, 0, tzinfo=UTC), "2026-07-14", True),
        (datetime(2026, 7, 20, 12, 0, tzinfo=UTC), "2026-07-19", True),
        (datetime(2026, 7, 20, 13, 0, tzinfo=UTC), None, True),
    ],
)
def test_the_night_that_is_on_or_comes_next(played, now, opens_on, expired):
    played.service.clock.at = now
    told = played.ask("GET", "/v1/sites/grange/tonight").json()
    assert (told["night"] and told["night"]["opens_on"], told["expired"]) == (opens_on, expired)


def test_units_change_the_readers_figures_and_no_number(shared):
    us, metric = (
        shared.ask("GET", f"/v1/sites/grange/tonight?units={units}").json()["night"]["runs"][0]
        for units in ("us", "metric")
    )
    assert us["applied_mm"] == metric["applied_mm"]
    # By hand, from the canonical number: an inch has 25.4 mm.
    assert us["depth"] == f"{us['applied_mm'] / 25.4:.2f} in"
    assert metric["depth"] == f"{us['applied_mm']:.1f} mm"
    assert shared.ask("GET", "/v1/sites/grange/tonight?units=roods").status_code == 422


def test_the_week_is_the_document_that_is_kept(shared):
    told = shared.ask("GET", "/v1/sites/grange/week")
    with shared.service.database.reading() as reading:
        kept = plans.latest_plan(reading, "grange")
    assert kept.document.strip() in told.text
    assert told.json()["week"]["schema"] == "etsched.week/1"
    assert shared.ask("GET", "/v1/sites/grange/week?units=metric").json()["week"]["units"] == "metric"


def test_why_answers_for_a_station_and_a_night(shared):
    told = shared.ask("GET", "/v1/sites/grange/why/7?night=2026-07-13").json()
    assert [each["opens_on"] for each in told["why"]["nights"]] == ["2026-07-13"]
    assert told["why"]["terminal"] == 7
    assert shared.ask("GET", "/v1/sites/grange/why/77").status_code == 404


def test_without_a_plan_a_problem_of_its_own_says_so(shared):
    asks = [("GET", "tonight", None), ("GET", "week", None), ("GET", "why/1", None), ("POST", "heat-check", {})]
    for method, what, body in asks:
        answers = {
            site: shared.ask(method, f"/v1/sites/{site}/{what}", json=body) for site in ("other-place", "no-such")
        }
        told = {site: (answer.status_code, answer.json()["type"]) for site, answer in answers.items()}
        assert told == {"other-place": (404, "/problems/no-plan-yet"), "no-such": (404, "/problems/not-found")}, what
        assert "has been made yet" in answers["other-place"].json()["detail"]
    # A station that a plan does not have is nothing under its address, plan or not.
    assert shared.ask("GET", "/v1/sites/grange/why/77").json()["type"] == "/problems/not-found"


def test_planning_again_from_the_same_keeps_the_revision(shared):
    assert shared.ask("POST", "/v1/sites/grange/plan").json()["plan_revision"] == 1


def test_no_plan_is_made_while_the_window_is_open(played):
    played.service.clock.at = datetime(2026, 7, 14, 6, 0, tzinfo=UTC)
    answer = played.ask("POST", "/v1/sites/grange/plan")
    assert (answer.status_code, answer.json()["type"]) == (409, "/problems/no-plan")


def test_hotter_days_are_held_against_the_table_that_is_kept(shared):
    mild, hot = (
        shared.ask("POST", "/v1/sites/grange/heat-check", json=body).json() for body in ({}, {"hotter_c": 8.0})
    )
    assert hot["schema"] == "etsched.heat/1"
    assert sum(day["eto_mm"] for day in hot["days"]) > sum(day["eto_mm"] for day in mild["days"])
    assert hot["table_source"].startswith("plan 1")
    answer = shared.ask("POST", "/v1/sites/grange/heat-check", json={"days": 3})
    assert answer.json()["errors"][0]["pointer"] == "/hotter_c"


@pytest.mark.parametrize(
    ("wrong", "pointer"),
    [
        ({"first": "2026-07-13"}, "/first"),  # today: the first night's water serves tomorrow
        ({"first": "2031-01-01"}, "/first"),
        ({"hotter_c": 29.0}, "/hotter_c"),
    ],
)
def test_hotter_days_that_cannot_be_meant_are_pointed_at(shared, wrong, pointer):
    answer = shared.ask("POST", "/v1/sites/grange/heat-check", json={"hotter_c": 8.0} | wrong)
    told = answer.json()
    assert (answer.status_code, told["type"]) == (409, "/problems/no-plan")
    assert [each["pointer"] for each in told["errors"]] == [pointer]


def test_weather_balance_and_controller_are_told(shared):
    assert shared.ask("GET", "/v1/sites/grange/weather").json()["fetched"] == "2026-07-14T00:00:00Z"
    assert shared.ask("GET", "/v1/sites/other-place/weather").json()["weather"] is None
    told = shared.ask("GET", "/v1/sites/grange/balance").json()
    assert (told["reported"], told["controller"]["kind"]) == (None, "nobody said")
