"""The calendar: the runs as they are planned, under ids that stay, by addresses that can be revoked."""

import json
from dataclasses import replace
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from icalendar import Calendar

from etsched.stores import plans
from etsched.usecases.calendar import calendar_text
from etsched.usecases.properties import get_site


def read(played):
    address = played.ask("POST", "/v1/sites/grange/calendar").json()["address"]
    answer = played.client.get(address)
    assert answer.headers["content-type"] == "text/calendar; charset=utf-8"
    return Calendar.from_ical(answer.content)


def test_every_run_is_an_event_in_the_sites_zone(shared):
    events = {str(event["uid"]): event for event in read(shared).walk("VEVENT")}
    nights = shared.ask("GET", "/v1/sites/grange/week").json()["week"]["nights"]
    runs = [(night, run) for night in nights for run in night["runs"] if run["cycles"]]
    assert len(events) == len(runs) > 20
    for night, run in runs:
        event = events[f"{night['opens_on']}-{run['terminal']}@grange.etsched.invalid"]
        opens = datetime.fromisoformat(night["opens_utc"])
        first, last = run["cycles"][0], run["cycles"][-1]
        assert event["dtstart"].dt == opens + timedelta(minutes=first["start_min"])
        assert event["dtend"].dt == opens + timedelta(minutes=last["start_min"] + last["length_min"])
        # The property reads US units, so an hour of its evening is pm.
        wall = event["dtstart"].dt
        half = "pm" if wall.hour >= 12 else "am"
        assert f": {wall.hour % 12 or 12}:{wall.minute:02d} {half} for " in event["description"]
        assert event["dtstart"].params["TZID"] == "America/Los_Angeles"
        assert event["dtstart"].dt.utcoffset() == opens.astimezone(ZoneInfo("America/Los_Angeles")).utcoffset()


def test_the_calendar_describes_its_own_zone(shared):
    calendar = read(shared)
    assert {str(zone["tzid"]) for zone in calendar.walk("VTIMEZONE")} == {"America/Los_Angeles"}


def test_ids_stay_when_a_newer_plan_moves_a_run(played):
    before = {str(event["uid"]) for event in read(played).walk("VEVENT")}
    site = played.ask("GET", "/v1/sites/grange")
    document = site.json()["document"].replace('opens = "22:00"', 'opens = "21:00"')
    played.ask("PUT", "/v1/sites/grange", json={"document": document}, headers={"if-match": site.headers["etag"]})
    played.ask("POST", "/v1/sites/grange/plan")
    events = list(read(played).walk("VEVENT"))
    assert {int(event["sequence"]) for event in events} == {2}
    assert len(before & {str(event["uid"]) for event in events}) > len(before) / 2


def test_a_revoked_address_shows_nothing(played):
    made = played.ask("POST", "/v1/sites/grange/calendar").json()
    kept = played.ask("POST", "/v1/sites/grange/calendar").json()
    assert played.ask("DELETE", f"/v1/sites/other-place/calendar/{made['calendar']}").status_code == 404
    assert played.client.get(made["address"]).status_code == 200
    assert played.ask("DELETE", f"/v1/sites/grange/calendar/{made['calendar']}").status_code == 200
    assert played.client.get(made["address"]).status_code == 404
    assert played.client.get(kept["address"]).status_code == 200
    assert played.ask("DELETE", f"/v1/sites/other-place/calendar/{made['calendar']}").status_code == 404
    assert [each["calendar"] for each in played.ask("GET", "/v1/sites/grange/calendar").json()["calendars"]] == [
        kept["calendar"]
    ]


def test_a_calendar_that_is_unchanged_is_304(shared):
    address = shared.ask("POST", "/v1/sites/grange/calendar").json()["address"]
    etag = shared.client.get(address).headers["etag"]
    assert shared.client.get(address, headers={"if-none-match": etag}).status_code == 304


def test_a_property_without_a_plan_has_an_empty_calendar(shared):
    address = shared.ask("POST", "/v1/sites/other-place/calendar").json()["address"]
    assert list(Calendar.from_ical(shared.client.get(address).content).walk("VEVENT")) == []


@pytest.mark.parametrize(
    "name", ["x\r\nBEGIN:VEVENT\r\nUID:evil", "a;b,c\\n", "</script>", "\u202eabc", "ß" * 80, '"quoted":']
)
def test_hostile_names_stay_text(shared, name):
    kept = get_site(shared.service, "grange")
    with shared.service.database.reading() as reading:
        plan = plans.latest_plan(reading, "grange")
    week = json.loads(plan.document)
    week["stations"][0]["area"] = name
    text = calendar_text(replace(kept, name=name), replace(plan, document=json.dumps(week)))
    events = [len(Calendar.from_ical(each).walk("VEVENT")) for each in (text, calendar_text(kept, plan))]
    assert events[0] == events[1]
    assert all(len(line) <= 75 for line in text.split(b"\r\n"))
    assert b"\r\nUID:evil" not in text
