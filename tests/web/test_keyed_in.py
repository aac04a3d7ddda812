"""The word that a table is in the clock, given on a page: kept like the interface keeps it, and told what it does."""

import html
import re
from datetime import UTC, datetime, timedelta

import pytest
from starlette.testclient import TestClient

from etsched.model.access import Role
from etsched.model.service import KeyedIn
from etsched.stores import plans
from etsched.usecases.reports_in import report_applied
from tests.web.conftest import EVENING, PASSWORD, TODAY, put_person

PAGE = "/sites/grange/keyed-in"


class Person:
    """Somebody who is signed in, with a browser that runs no script."""

    def __init__(self, played, name="tom", role=Role.TECHNICIAN):
        put_person(played.service.database, name, role, frozenset({"grange"}))
        self.client = TestClient(played.client.app, base_url="http://localhost", follow_redirects=False)
        self.name = name
        self.sign_in()

    def sign_in(self):
        self.client.post("/sign-in", data={"name": self.name, "password": PASSWORD, "to": "/"})

    def form(self, path="/sites/grange"):
        """Read the form as it stands on a page: where it goes to and what its fields hold."""
        page = self.client.get(path).text
        (form,) = re.findall(r'<form method="post" action="([^"]*/keyed-in)"[^>]*>(.*?)</form>', page, re.DOTALL)
        fields = dict(re.findall(r'name="([a-z_]+)"[^>]*? value="([^"]*)"', form[1]))
        return form[0], fields


@pytest.fixture
def tom(played):
    return Person(played)


def last_word(played):
    with played.service.database.reading() as reading:
        return plans.keyed_in_on(reading, "grange", TODAY + timedelta(days=30))


@pytest.mark.parametrize(("name", "role"), [("mia", Role.MANAGER), ("tom", Role.TECHNICIAN)])
def test_one_press_says_that_the_shown_table_is_in_the_clock_since_tonight(played, name, role):
    person = Person(played, name, role)
    where, fields = person.form()
    assert (where, fields["since"], fields["revision"]) == (PAGE, TODAY.isoformat(), "1")
    answers = [person.client.post(where, data=fields) for _ in range(2)]
    assert [(answer.status_code, answer.headers["location"]) for answer in answers] == [(303, PAGE)] * 2
    assert last_word(played) == KeyedIn(TODAY, 1, EVENING, f"user {name}")
    told = html.unescape(person.client.get(PAGE).text)
    assert "The table of plan 1 is in the clock since the night of Mon Jul 13: that is the last word" in told
    assert "the water books credit it" in told
    assert "counts with the minutes that the table has for its weekday" in told
    assert f"user {name} says" in html.unescape(person.client.get("/sites/grange").text)
    assert played.ask("GET", "/v1/sites/grange/controller").json()["kind"] == "keyed in"


def test_before_any_word_the_page_says_what_the_books_go_by(tom):
    told = tom.client.get(PAGE).text
    assert "Nobody has said yet that a table is in the clock." in told
    assert "the plan goes by what is drier: nothing ran" in told
    assert tom.form(PAGE)[0] == PAGE


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
    assert "the books go by what it tells and not by the table" in told
    assert "counts with the minutes" not in told
