"""The word that a door paper or a table is in the clock, given on a page: kept, told what it does, and taken back."""

import html
import json
import re
from datetime import UTC, datetime, timedelta

import pytest
from starlette.testclient import TestClient

from etsched.model.access import Role
from etsched.stores import plans, trail
from etsched.usecases.daily import plan_now
from etsched.usecases.properties import put_site
from etsched.usecases.record_visit import record_visit
from etsched.usecases.reports_in import confirm_keyed_in, report_applied
from tests.browser.conftest import without_clock
from tests.web.conftest import EVENING, PASSWORD, TODAY, put_person

PAGE = "/sites/grange/keyed-in"


class Person:
    """Somebody who is signed in, with a browser that runs no script."""

    def __init__(self, played, name="tom", role=Role.TECHNICIAN, sites=("grange",)):
        put_person(played.service.database, name, role, frozenset(sites))
        self.client = TestClient(played.client.app, base_url="http://localhost", follow_redirects=False)
        self.name = name
        self.sign_in()

    def sign_in(self):
        self.client.post("/sign-in", data={"name": self.name, "password": PASSWORD, "to": "/"})

    def form(self, path="/sites/grange/door"):
        """Read the form as it stands on a page: where it goes to and what its fields hold."""
        page = self.client.get(path).text
        (form,) = re.findall(r'<form method="post" action="([^"]*/keyed-in)"[^>]*>(.*?)</form>', page, re.DOTALL)
        fields = re.findall(r'name="([a-z_]+)"[^>]*? value="([^"]*)"', form[1])
        return form[0], {name: html.unescape(value) for name, value in fields}


@pytest.fixture
def tom(played):
    return Person(played)


def last_word(played):
    with played.service.database.reading() as reading:
        return plans.keyed_in_on(reading, "grange", TODAY + timedelta(days=30))


@pytest.mark.parametrize(("name", "role"), [("mia", Role.MANAGER), ("tom", Role.TECHNICIAN)])
def test_one_press_says_that_the_door_paper_is_in_the_clock_since_tonight(played, name, role):
    person = Person(played, name, role)
    where, fields = person.form()
    assert (where, fields["since"], fields["revision"]) == (PAGE, TODAY.isoformat(), "1")
    answers = [person.client.post(where, data=fields) for _ in range(2)]
    assert [(answer.status_code, answer.headers["location"]) for answer in answers] == [(303, PAGE)] * 2
    kept, paper = last_word(played), person.client.get("/sites/grange/door.json").json()
    assert (kept.since, kept.plan_revision, kept.at, kept.actor) == (TODAY, 1, EVENING, f"user {name}")
    assert [(each.name, each.days, each.minutes_min) for each in kept.programs] == [
        (each["letter"], set(each["days"]), {one["terminal"]: one["minutes"] for one in each["minutes"]})
        for each in paper["programs"]
    ]
    told = html.unescape(person.client.get(PAGE).text)
    assert f"The door paper of plan 1 is in the clock since the night of Mon Jul 13, {name} said." in told
    assert "and its water is counted" in told
    assert "counts with the minutes that the clock runs on its weekday" in told
    assert f"{name} says" in html.unescape(person.client.get("/sites/grange").text)
    assert played.ask("GET", "/v1/sites/grange/controller").json()["kind"] == "keyed in"


def test_the_paper_that_is_in_the_clock_has_nothing_to_change(played, tom):
    assert tom.client.get("/sites/grange/door.json").json()["changes"] is None
    where, fields = tom.form()
    tom.client.post(where, data=fields)
    assert tom.client.get("/sites/grange/door.json").json()["changes"] == []
    page = tom.client.get("/sites/grange/door").text
    assert "Nothing: the clock holds this table already." in page
    assert "What the clock holds</h2>" in page
    assert "All of it is in the clock" not in page
    assert "What the clock runs is on the" in tom.client.get("/sites/grange").text
    programs = json.loads(fields["programs"])["programs"]
    programs[0]["minutes"][0]["minutes"] += 2
    tom.client.post(where, data=fields | {"programs": json.dumps({"programs": programs})})
    (change,) = tom.client.get("/sites/grange/door.json").json()["changes"]
    terminal, minutes = programs[0]["minutes"][0].values()
    assert change == {"program": programs[0]["letter"], "what": f"station {terminal}: {minutes} → {minutes - 2} min"}


def test_the_weeks_table_in_the_clock_is_not_the_door_paper(played, tom):
    """The interface may say it of the table by station; the paper is then still to be keyed in."""
    confirm_keyed_in(played.service, "grange", TODAY, 1, "a program")
    page = tom.client.get("/sites/grange/door").text
    assert "All of it is in the clock" in page
    assert "This is in the clock" not in page


def test_what_a_visit_found_in_the_clock_is_what_is_to_be_changed(played, tom, root):
    """The visit of July 13 found programs A, B and C; nobody said anything since, so the paper begins from them."""
    found = (root / "demo" / "visit-1.toml").read_text("utf-8")
    played.service.clock.at += timedelta(minutes=1)
    record_visit(played.service, "grange", found, "user tom")
    page = html.unescape(tom.client.get("/sites/grange/door").text)
    assert "What to change is told from the clock as the visit of Mon Jul 13, 2026 found it." in page
    assert "was recorded after this paper was made, and what it found enters the next one" in page
    changes = tom.client.get("/sites/grange/door.json").json()["changes"]
    assert any(each["program"] == "A" and "4:00 am" in each["what"] for each in changes)  # a start that was found
    assert "All of it is in the clock" in page
    where, fields = tom.form()
    tom.client.post(where, data=fields | {"since": TODAY.isoformat()})
    assert tom.client.get("/sites/grange/door.json").json()["changes"] == []


def test_the_heat_check_takes_the_programs_that_are_in_the_clock(played, tom):
    where, fields = tom.form()
    tom.client.post(where, data=fields)
    assert "the door paper of plan 1, in the clock since Mon Jul 13" in tom.client.get("/sites/grange/heat").text


def test_without_a_clock_the_weeks_own_table_is_keyed_in(played, root):
    document = (root / "demo" / "site.toml").read_text("utf-8")
    put_site(played.service, "other-place", without_clock(document), "test")
    plan_now(played.service, "other-place", "test")
    tom = Person(played, sites={"other-place"})
    where, fields = tom.form("/sites/other-place")
    assert "programs" not in fields
    assert tom.client.post(where, data=fields).status_code == 303
    with played.service.database.reading() as reading:
        assert plans.keyed_in_on(reading, "other-place", TODAY).programs == ()
    told = html.unescape(tom.client.get("/sites/other-place/keyed-in").text)
    assert "The table of plan 1 is in the clock since the night of Mon Jul 13, tom said." in told


def test_what_was_said_by_mistake_is_taken_back_once(played, tom):
    where, fields = tom.form()
    tom.client.post(where, data=fields)
    back = {"form_token": fields["form_token"], "since": TODAY.isoformat()}
    answers = [tom.client.post(f"{PAGE}/back", data=back) for _ in range(2)]
    assert [(answer.status_code, answer.headers["location"]) for answer in answers] == [(303, PAGE)] * 2
    assert last_word(played) is None
    assert "Nobody has said yet what is in the clock." in tom.client.get(PAGE).text
    with played.service.database.reading() as reading:
        did = [entry.did for entry in trail.entries(reading)]
    assert did.count("table not in the clock") == 1
    assert tom.client.post(f"{PAGE}/back", data=back | {"since": "yesterday"}).status_code == 400


@pytest.mark.parametrize(
    ("programs", "status", "words"),
    [
        ("{", 400, "open the door paper anew"),
        ('{"programs": [{"letter": "A"}]}', 400, "open the door paper anew"),
        ('{"programs": [{"letter": "A", "days": [7], "starts": [], "minutes": []}]}', 400, "open the door paper anew"),
        (
            '{"programs": [{"letter": "A", "days": [0], "starts": [{"at": "22:00"}], '
            '"minutes": [{"terminal": 99, "minutes": 5}]}]}',
            422,
            "The site has no station 99; give the programs of this site",
        ),
    ],
)
def test_programs_that_cannot_be_of_this_clock_are_refused(played, tom, programs, status, words):
    where, fields = tom.form()
    answer = tom.client.post(where, data=fields | {"programs": programs})
    assert answer.status_code == status
    assert words in answer.text
    assert last_word(played) is None


def test_before_any_word_the_page_says_what_is_counted(tom):
    told = tom.client.get(PAGE).text
    assert "Nobody has said yet what is in the clock." in told
    assert "the plan reckons that nothing ran" in told
    assert 'href="/sites/grange/door"' in told


@pytest.mark.parametrize(
    ("since", "words"),
    [
        ("2026-07-14", "lies ahead"),
        ("2026-07-12", "Plan 1 was made after 2026-07-12"),
        ("2024-07-12", "more than a year ago"),
        ("", "It is no date"),
        ("tomorrow", "It is no date"),
        ('"><script>', "It is no date"),
        ("2026-02-30", "It is no date"),
    ],
)
def test_a_date_that_cannot_be_is_refused_beside_its_field(played, tom, since, words):
    where, fields = tom.form()
    answer = tom.client.post(where, data=fields | {"since": since})
    assert answer.status_code == 422
    assert words in answer.text
    assert 'aria-invalid="true"' in answer.text
    assert "<script>" not in answer.text
    assert last_word(played) is None


@pytest.mark.parametrize(("revision", "status"), [("2", 422), ("x", 400), ("9" * 30, 400), ("-1", 400), ("²", 400)])
def test_a_table_of_no_plan_is_refused(played, tom, revision, status):
    where, fields = tom.form()
    assert tom.client.post(where, data=fields | {"revision": revision}).status_code == status
    assert last_word(played) is None


def test_without_the_sessions_token_or_from_elsewhere_nothing_is_kept(played, tom):
    where, fields = tom.form()
    assert tom.client.post(where, data=fields | {"form_token": "0" * 96}).status_code == 403
    assert tom.client.post(where, data=fields, headers={"origin": "https://elsewhere.example"}).status_code == 403
    assert last_word(played) is None


def test_where_a_controller_has_told_since_the_page_says_that_it_rules(played, tom):
    where, fields = tom.form()
    tom.client.post(where, data=fields)
    played.service.clock.at = datetime(2026, 7, 14, 19, tzinfo=UTC)  # noon of the next day
    report_applied(played.service, "grange", [], [TODAY], "a controller")
    tom.sign_in()  # the session of the evening before is over
    told = tom.client.get(PAGE).text
    assert "so what it tells is counted" in told
    assert "counts with the minutes" not in told
