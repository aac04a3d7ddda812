"""A property that is theirs and has no plan yet has pages that say so; whose it is not, finds nothing."""

import html

import pytest

from etsched.model.access import Role
from etsched.web.pages import PAGES
from tests.web.conftest import put_person
from tests.web.test_pages import let_in, without_token

# What is looked at without any plan: the form and the heat check, which says itself that there is no table.
OWN_WORDS = {"/sites/{site}/visit", "/sites/{site}/heat"}
OF_PLANS = [page.path for page in PAGES if page.method == "GET" and "{site}" in page.path
            and page.path not in OWN_WORDS and "{visit}" not in page.path]  # fmt: skip


@pytest.fixture(scope="module")
def people(shared):
    put_person(shared.service.database, "ida", Role.MANAGER, frozenset({"other-place"}))
    put_person(shared.service.database, "mia", Role.MANAGER, frozenset({"grange"}))
    return shared


@pytest.mark.parametrize("path", OF_PLANS)
def test_every_page_of_a_plan_says_that_none_is_made_yet(people, path):
    answer = let_in(people, "ida").get(path.format(site="other-place", terminal="1"))
    # A page says so; a file is not there.
    assert answer.status_code == (404 if "." in path else 200)
    assert answer.headers["content-type"] == "text/html; charset=utf-8"
    told = html.unescape(answer.text)
    assert "Other Place" in told.split("<h1>")[1]
    assert "No plan has been made yet." in told
    assert "The first plan is due now" in told  # the clock stands at 5 pm, when plans are made
    assert "Weather: none of it is kept yet." in told
    assert "etsched site plan other-place" in told


@pytest.mark.parametrize("path", OF_PLANS)
def test_to_others_it_is_not_there(people, path):
    client = let_in(people, "mia")
    answers = [client.get(path.format(site=site, terminal="1")) for site in ("other-place", "no-such")]
    assert [answer.status_code for answer in answers] == [404, 404]
    assert without_token(answers[0]) == without_token(answers[1])


def test_the_list_leads_to_the_page(people):
    client = let_in(people, "ida")
    assert 'href="/sites/other-place"' in client.get("/").text
    assert client.get("/sites/other-place").status_code == 200
    assert client.get("/sites/other-place/visit").status_code == 200
    assert "no plan of Other Place, Cobble Ferry has been made yet" in client.get("/sites/other-place/heat").text
