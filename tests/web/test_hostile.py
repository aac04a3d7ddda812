"""Names that mean mischief go in as text and come out as text, by every route that shows them."""

import json

import pytest

from tests.web.routes import reached

HOSTILE = [
    "<script>alert(1)</script>",
    '=HYPERLINK("http://x.example","y")',
    "\r\nSet-Cookie: evil=1\r\n\r\n",
    "a\tb\x1b[31mred",
    "\u202edrawkcab",
    "%s%n{0}${x}",
    "'; DROP TABLE sites; --",
    "\ud7ff\ufffd😀",
]


def named(root, text):
    """The demo's site file with a hostile property name and a hostile area."""
    written = json.dumps(text)  # a basic TOML string has the same escapes
    document = (root / "demo" / "site.toml").read_text("utf-8")
    document = document.replace('"Thistledown Grange, Cobble Ferry"', written)
    return document.replace('"Courtyard"', written)


@pytest.fixture(scope="module")
def hostile(shared, root):
    """A property for every name that the site file takes; what it refuses never gets in."""
    taken = {}
    for number, text in enumerate(HOSTILE):
        answer = shared.ask("PUT", f"/v1/sites/hostile-{number}", json={"document": named(root, text)})
        assert answer.status_code in {201, 422}, answer.text
        if answer.status_code == 201:
            assert shared.ask("POST", f"/v1/sites/hostile-{number}/plan").status_code == 200
            taken[f"hostile-{number}"] = text
    assert len(taken) >= 5
    return taken


def test_every_reading_stays_json_with_its_own_headers(shared, hostile):
    for each in reached(shared.client.app):
        if each.method != "GET" or "{site}" not in each.path:
            continue
        plain = set(shared.ask("GET", each.at("grange")).headers)
        for site in hostile:
            answer = shared.ask("GET", each.at(site))
            assert answer.headers["content-type"] in {"application/json", "application/problem+json"}
            assert answer.headers["x-content-type-options"] == "nosniff"
            assert set(answer.headers) == plain
            json.loads(answer.content)


def test_a_name_comes_out_as_it_went_in(shared, hostile):
    for site, text in hostile.items():
        assert shared.ask("GET", f"/v1/sites/{site}").json()["name"] == text.strip()


def test_the_calendar_holds_no_more_events_for_it(shared, hostile):
    def events(site):
        address = shared.ask("POST", f"/v1/sites/{site}/calendar").json()["address"]
        return shared.client.get(address).content.count(b"BEGIN:VEVENT")

    assert {events(site) for site in hostile} == {events("grange")}


@pytest.mark.parametrize(
    "path", ["/v1/sites/%00", "/v1/sites/..%2f..%2fetc", "/v1/sites/a%0d%0ab", "/calendar/%ff.ics"]
)
def test_hostile_addresses_are_problems(shared, path):
    answer = shared.ask("GET", path)
    assert answer.status_code in {404, 422}
    assert answer.headers["content-type"] == "application/problem+json"


@pytest.mark.parametrize("key", ["a\r\nb: c", "é", "x" * 129, ""])
def test_hostile_idempotency_keys_are_refused(shared, key):
    sent = {"idempotency-key": key.encode("latin-1")}
    answer = shared.ask("POST", "/v1/sites/grange/applied", json={}, headers=sent)
    assert (answer.status_code, answer.json()["type"]) == (422, "/problems/invalid")
