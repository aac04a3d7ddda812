"""The week held against the one before: every figure of the page worked out anew from the two kept plans."""

import html
import json
import math
import re
from dataclasses import replace
from datetime import timedelta

import pytest
from starlette.testclient import TestClient

from etsched.model.access import Role
from etsched.stores import migrate, plans
from etsched.stores.database import Database
from etsched.usecases.access import make_user
from etsched.usecases.daily import plan_now
from etsched.usecases.properties import put_site
from etsched.web.app import make_app
from tests.web.conftest import EVENING, WIDE, planned, served

PASSWORD = "a few words in a row"  # noqa: S105 - of an invented person
BLOCKED = 'blocked = "valve never comes on from the controller; it waters when opened by hand"\n'
MM_PER_IN, L_PER_GAL = 25.4, 3.785411784  # both exact by definition


@pytest.fixture(scope="module")
def two_weeks(tmp_path_factory, root):
    """The demo's plan and one of a week before it, when station 13 was not blocked yet; and the page."""
    document = (root / "demo" / "site.toml").read_text("utf-8")
    assert document.count(BLOCKED) == 1
    with Database(f"sqlite:///{tmp_path_factory.mktemp('changes') / 'etsched.db'}") as database:
        migrate.upgrade(database)
        service = served(database, root)
        put_site(service, "grange", document.replace(BLOCKED, ""), "test")
        service.clock.at = EVENING - timedelta(days=7)
        before = plan_now(service, "grange", "test")
        service.clock.at = EVENING
        put_site(service, "grange", document, "test")
        now = replace(planned(root)[0], revision=2)
        with database.writing() as writing:
            plans.put_plan(writing, now)
        make_user(database, EVENING, "mia", PASSWORD, Role.MANAGER, frozenset({"grange"}))
        client = TestClient(make_app(service, WIDE), base_url="http://localhost")
        client.post("/sign-in", data={"name": "mia", "password": PASSWORD, "to": "/"})
        page = client.get("/sites/grange/changes")
        assert page.status_code == 200
        yield json.loads(before.document), json.loads(now.document), html.unescape(page.text)


def minutes_of(week):
    """Minutes by terminal, cycle by cycle."""
    spent = {row["terminal"]: 0 for row in week["stations"]}
    for night in week["nights"]:
        for run in night["runs"]:
            spent[run["terminal"]] += sum(cycle["length_min"] for cycle in run["cycles"])
    return spent


def signed(number):
    return "0" if number == 0 else f"{'+' if number > 0 else '−'}{abs(number)}"


def cells(row):
    return [re.sub("<[^>]+>", "", cell).strip() for cell in re.findall(r"<t[dh][^>]*>(.*?)</t[dh]>", row)]


def rows_below(page, caption):
    table = page[page.index(caption) :].partition("<tbody>")[2].partition("</table>")[0]
    return [cells(row) for row in re.findall(r"<tr>(.*?)</tr>", table)]


def test_every_station_shows_both_weeks_and_what_changed(two_weeks):
    before, now, page = two_weeks
    was, is_now = minutes_of(before), minutes_of(now)
    shown = {int(row[0]): tuple(row[2:5]) for row in rows_below(page, "Minutes of the week by station")}
    assert shown == {each: (str(was[each]), str(is_now[each]), signed(is_now[each] - was[each])) for each in was}
    assert {text[0] for *_, text in shown.values()} >= {"+", "−"}, "the two weeks are too alike to tell a sign by"


def test_a_station_that_was_blocked_since_says_so(two_weeks):
    words = {row[0]: row[5] for row in rows_below(two_weeks[2], "Minutes of the week by station")}
    assert words["13"].startswith("blocked: valve never comes on from the controller")
    assert {text for terminal, text in words.items() if terminal != "13"} == {""}


def test_the_whole_property_is_summed(two_weeks):
    before, now, page = two_weeks

    def figures(week):
        runs = [run for night in week["nights"] for run in night["runs"]]
        eto, rain = (math.fsum(day[name] for day in week["weather"]) / MM_PER_IN for name in ("eto_mm", "rain_mm"))
        litres = math.fsum(run["flow_l"] for run in runs)
        minutes = sum(minutes_of(week).values())
        return f"{eto:.2f} in", f"{rain:.2f} in", f"{minutes:,}", f"{litres / L_PER_GAL:,.0f} gal"

    names = ("Reference ET", "Rain", "Watering minutes", "Water")
    expected = [list(row) for row in zip(names, figures(before), figures(now), strict=True)]
    assert rows_below(page, "The whole property") == expected
    assert expected[0][1] != expected[0][2]
