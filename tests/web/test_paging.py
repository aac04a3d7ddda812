"""Every long list a page at a time: all of it, in order, nothing twice, at every border."""

from datetime import timedelta

import pytest

from etsched.model.service import KeptVisit
from etsched.model.webhook import OutboxEvent, Webhook
from etsched.stores import calendars, visits, webhooks
from tests.web.conftest import EVENING, TODAY

AT = "/v1/sites/grange/"
FOUND = '{"findings": [], "remarks": []}'


def pages(played, path, most, field):
    """Follow the Link header from the first page on; gives the pages."""
    path, found = f"{path}?most={most}", []
    while path:
        answer = played.ask("GET", path)
        assert answer.status_code == 200, answer.text
        found.append(answer.json()[field])
        path = answer.links["next"]["url"] if "next" in answer.links else None
    return found


def uuid_of(number, of):
    return f"{of:08x}-0000-4000-8000-{number:012x}"


def put_webhooks(played):
    """Five; three of them made at the same instant, of another order than their ids; one more of another property."""
    made = [(uuid_of(9, 1), 0), (uuid_of(5, 1), 60), (uuid_of(2, 1), 60), (uuid_of(7, 1), 60), (uuid_of(1, 1), 90)]
    with played.service.database.writing() as writing:
        for webhook, at_s in made:
            at = EVENING + timedelta(seconds=at_s)
            webhooks.put_webhook(writing, Webhook(webhook, "grange", "https://x.example/", "whsec_", at))
        webhooks.put_webhook(writing, Webhook(uuid_of(3, 1), "other-place", "https://x.example/", "whsec_", EVENING))
    return [uuid_of(number, 1) for number in (9, 2, 5, 7, 1)]


def put_events(played):
    """As many, of two webhooks, one of which has ended; the newest comes first."""
    put_webhooks(played)
    made = [(9, 0, 9), (5, 60, 2), (2, 60, 9), (7, 60, 2), (1, 90, 9)]
    with played.service.database.writing() as writing:
        for number, at_s, of in made:
            at = EVENING + timedelta(seconds=at_s)
            webhooks.put_event(writing, OutboxEvent(uuid_of(number, 2), uuid_of(of, 1), "plan made", "{}", at, 0, None))
        at = EVENING + timedelta(seconds=30)
        webhooks.put_event(writing, OutboxEvent(uuid_of(3, 2), uuid_of(3, 1), "plan made", "{}", at, 0, None))
        webhooks.end_webhook(writing, "grange", uuid_of(2, 1), EVENING)
    return [uuid_of(number, 2) for number in (1, 2, 5, 7, 9)]


def put_calendars(played):
    hashes = {number: f"{number}" * 64 for number in (9, 2, 5, 7, 1)}
    with played.service.database.writing() as writing:
        for number, at_s in ((9, 0), (5, 60), (2, 60), (7, 60), (1, 90)):
            calendars.put_address(writing, "grange", hashes[number], EVENING + timedelta(seconds=at_s))
        calendars.put_address(writing, "other-place", "3" * 64, EVENING)
    return [each[:12] for each in hashes.values()]


def put_visits(played):
    with played.service.database.writing() as writing:
        for days in (3, 1, 5, 2, 4):
            kept = KeptVisit(
                uuid_of(days, 3), "grange", TODAY - timedelta(days=days), "", FOUND, EVENING, "test"
            )
            visits.put_visit(writing, kept)
        visits.put_visit(writing, KeptVisit(uuid_of(6, 3), "other-place", TODAY, "", FOUND, EVENING, "test"))
    return [uuid_of(days, 3) for days in (5, 4, 3, 2, 1)]


LISTS = {
    "webhooks": (put_webhooks, "webhooks", "webhook"),
    "events": (put_events, "events", "event"),
    "calendar": (put_calendars, "calendars", "calendar"),
    "visits": (put_visits, "visits", "visit"),
    "findings": (put_visits, "findings", "visit"),
}


@pytest.mark.parametrize("name", LISTS)
def test_the_pages_are_the_whole_list_in_order(played, name):
    """Of five; a page that is just filled is followed by an empty one."""
    put, field, key = LISTS[name]
    wanted = put(played)
    for most, lengths in ((6, [5]), (5, [5, 0]), (4, [4, 1]), (3, [3, 2]), (2, [2, 2, 1]), (1, [1, 1, 1, 1, 1, 0])):
        found = pages(played, AT + name, most, field)
        assert [len(page) for page in found] == lengths, most
        assert [each[key] for page in found for each in page] == wanted, most
    assert [each[key] for each in played.ask("GET", AT + name).json()[field]] == wanted


@pytest.mark.parametrize("name", ["webhooks", "events", "calendar"])
def test_what_is_not_in_the_list_is_no_place_to_go_on(played, name):
    LISTS[name][0](played)
    foreign = {"webhooks": uuid_of(3, 1), "events": uuid_of(3, 2), "calendar": "3" * 12}[name]
    for after in (foreign, uuid_of(4, 4), "4" * 12):
        answer = played.ask("GET", f"{AT}{name}?after={after}")
        assert (answer.status_code, answer.json()["type"]) == (422, "/problems/invalid")
        assert [fault["pointer"] for fault in answer.json()["errors"]] == ["/query/after"]


@pytest.mark.parametrize("name", ["webhooks", "calendar"])
def test_a_place_that_ended_meanwhile_is_still_a_place(played, name):
    put, field, key = LISTS[name]
    wanted = put(played)
    first = played.ask("GET", f"{AT}{name}?most=2")
    assert played.ask("DELETE", f"{AT}{name}/{first.json()[field][-1][key]}").status_code == 200
    rest = played.ask("GET", first.links["next"]["url"]).json()[field]
    assert [each[key] for each in rest] == wanted[2:4]


@pytest.mark.parametrize("name", LISTS)
@pytest.mark.parametrize("query", ["most=0", "most=201", "most=x", "after=%01", "after=" + "a" * 65])
def test_pages_have_bounds(shared, name, query):
    assert shared.ask("GET", f"{AT}{name}?{query}").status_code == 422
    assert shared.ask("GET", f"{AT}{name}?most=200").status_code == 200
