"""The matrix of roles and pages: who may open and send what, and a page offers nothing that it would refuse."""

import pytest

from etsched.model.access import SCOPES_OF, Role, Scope
from etsched.usecases import access
from etsched.web.pages import PAGES
from tests.web.conftest import put_person
from tests.web.test_pages import form_token, let_in, without_token

PEOPLE = {Role.MANAGER: "mia", Role.TECHNICIAN: "tom", Role.ADMIN: "ada"}
# Written out by hand: what wants more than reading. Whoever may record a visit stands at the clock and keys in.
OF_VISITORS = {
    ("GET", "/sites/{site}/visit"),
    ("POST", "/sites/{site}/visit"),
    ("GET", "/sites/{site}/visits/{visit}/correct"),
    ("GET", "/sites/{site}/visits/{visit}/withdraw"),
    ("POST", "/sites/{site}/visits/{visit}/withdraw"),
    ("POST", "/sites/{site}/keyed-in"),
    ("POST", "/sites/{site}/keyed-in/back"),
}
CLOSED = [page for page in PAGES if page.scope is not None]


@pytest.fixture(scope="module")
def people(shared):
    one = frozenset({"grange"})
    for role, name in PEOPLE.items():
        put_person(shared.service.database, name, role, None if role is Role.ADMIN else one)
    put_person(shared.service.database, "ida", Role.MANAGER, frozenset({"other-place"}))
    return shared


def statuses(client, site="grange"):
    """Ask every page, the signing out last, as it ends the session."""
    token, found = form_token(client), {}
    for page in sorted(CLOSED, key=lambda each: each.path == "/sign-out"):
        data = {"form_token": token} if page.method == "POST" else None
        path = page.path.format(site=site, terminal="1", visit="1")
        found[page.method, page.path] = client.request(page.method, path, data=data).status_code
    return found


def test_what_wants_more_than_reading_is_known_by_name():
    assert {(page.method, page.path): page.scope for page in CLOSED if page.scope is not Scope.READ} == dict.fromkeys(
        OF_VISITORS, Scope.VISIT
    )


@pytest.mark.parametrize("role", Role)
def test_every_role_may_open_and_send_what_its_scopes_say(people, role):
    found = statuses(let_in(people, PEOPLE[role]))
    allowed = {(page.method, page.path) for page in CLOSED if page.scope in SCOPES_OF[role]}
    assert {name for name, status in found.items() if status != 403} == allowed
    assert allowed == set(found)  # all three record visits


def test_a_role_that_may_only_read_is_refused_and_offered_nothing(people, monkeypatch):
    """There is no such role; the matrix would notice one."""
    monkeypatch.setattr(access, "SCOPES_OF", {Role.TECHNICIAN: frozenset({Scope.READ})})
    client = let_in(people, "tom")
    page = client.get("/sites/grange").text + client.get("/sites/grange/door").text
    assert 'action="/sites/grange/keyed-in"' not in page
    assert 'href="/sites/grange/visit"' not in page
    assert {name for name, status in statuses(client).items() if status == 403} == OF_VISITORS


@pytest.mark.parametrize("name", ["mia", "tom", "ida"])
def test_a_foreign_property_is_like_none_on_every_page(people, name):
    foreign = "grange" if name == "ida" else "other-place"
    client = let_in(people, name)
    token = form_token(client)
    for page in (page for page in PAGES if "{site}" in page.path):
        data = {"form_token": token, "since": "2026-07-13", "revision": "1"} if page.method == "POST" else None
        answers = [
            client.request(page.method, page.path.format(site=site, terminal="1", visit="1"), data=data)
            for site in (foreign, "no-such")
        ]
        assert [answer.status_code for answer in answers] == [404, 404], page.path
        assert without_token(answers[0]) == without_token(answers[1]), page.path
        assert set(answers[0].headers) == set(answers[1].headers), page.path
