"""What one answer names, such as a visit or a calendar, is asked for, changed and ended by the next, in any order.

A model of our own walks over the property that is there: it says beforehand what every answer must be. Bodies begin as
the examples of the document, and every answer is held against the document.
"""

import json
from datetime import UTC, date, datetime, timedelta
from tempfile import TemporaryDirectory

from hypothesis import HealthCheck, Phase, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, precondition, rule, run_state_machine_as_test

from etsched.stores import migrate
from etsched.stores.database import Database
from etsched.usecases.webhooks import MOST_OF_A_SITE
from etsched.web.app import openapi_document
from etsched.web.examples import EXAMPLES
from tests.web.conftest import play
from tests.web.routes import reached
from tests.web.test_openapi import check

FEW = settings(
    max_examples=9,
    stateful_step_count=50,
    derandomize=True,
    deadline=None,
    phases=[Phase.generate],
    suppress_health_check=list(HealthCheck),
)
MANY = settings(FEW, max_examples=100, stateful_step_count=60, derandomize=False)

SITE = "/v1/sites/{site}"
NOON = datetime(2026, 7, 14, 19, 0, tzinfo=UTC)  # in California, when the night that the examples tell of is over
LAST_NIGHT = date(2026, 7, 13)
UNKNOWN = "0" * 8
SMALL = st.integers(0, 9)


def writes():
    """Every operation of the document that writes."""
    paths = openapi_document()["paths"]
    return {(method, path) for path, operations in paths.items() for method in operations if method != "get"}


class Walk(RuleBasedStateMachine):
    """A walk over the property of a new service."""

    root = done = None  # the test sets them, and reads which writes were taken over all walks

    def __init__(self):
        super().__init__()
        self.folder = TemporaryDirectory()
        self.database = Database(f"sqlite:///{self.folder.name}/etsched.db")
        migrate.upgrade(self.database)
        self.asked = play(self.database, self.root)
        self.asked.service.clock.at = NOON
        self.document = openapi_document()
        self.sites = {"grange": self.read(SITE)["document"]}
        self.revision, self.plan, self.plans_asked = 1, 1, 0
        self.webhooks, self.calendars, self.visits = {}, {}, {}
        self.ended, self.events_count = [], 0
        self.reports, self.last_told, self.keyed_in, self.silences = set(), None, False, set()

    def teardown(self):
        self.asked.client.close()
        self.database.close()
        self.folder.cleanup()

    def ask(self, method, path, status, site="grange", body=None, headers=None, **parts):
        at = path.format(site=site, **parts)
        answer = self.asked.ask(method.upper(), at, json=body, headers=headers or {})
        assert answer.status_code == status, (method, at, body, answer.text)
        check(self.document, self.document["paths"][path][method], answer)
        if method != "get" and status < 300:
            self.done.add((method, path))
        return answer

    def read(self, path, **parts):
        return self.ask("get", path, 200, **parts).json()

    @rule(number=SMALL)
    def change_the_site(self, number):
        etag = self.ask("get", SITE, 200).headers["etag"]
        changed = f"{self.sites['grange'].partition('# change')[0]}# change {self.revision}, {number}\n"
        done = self.ask("put", SITE, 200, body={"document": changed}, headers={"if-match": etag})
        self.sites["grange"], self.revision = changed, self.revision + 1
        assert done.json()["revision"] == self.revision
        assert self.read(SITE)["document"] == changed
        self.ask("put", SITE, 200, body={"document": changed}, headers={"if-match": etag})
        self.ask("put", SITE, 412, body={"document": changed + "# again\n"}, headers={"if-match": etag})

    @rule(number=SMALL)
    def put_another_site(self, number):
        key, body = f"new-{number}", EXAMPLES["put", SITE]
        if key in self.sites:
            self.ask("put", SITE, 200, site=key, body=body)
            self.ask("put", SITE, 428, site=key, body={"document": body["document"] + "# other\n"})
        else:
            self.ask("put", SITE, 201, site=key, body=body)
            self.sites[key] = body["document"]
        assert self.read(SITE, site=key)["document"] == self.sites[key]

    @rule(number=SMALL)
    def make_a_webhook(self, number):
        body = {"url": f"{EXAMPLES['post', f'{SITE}/webhooks']['url']}/{number}"}
        if len(self.webhooks) == MOST_OF_A_SITE:
            self.ask("post", f"{SITE}/webhooks", 422, body=body)
        else:
            made = self.ask("post", f"{SITE}/webhooks", 201, body=body).json()
            assert made["secret"]
            self.webhooks[made["webhook"]] = body["url"]
        self.webhooks_are_as_kept()

    @precondition(lambda self: self.webhooks)
    @rule(chance=st.data())
    def end_a_webhook(self, chance):
        webhook = chance.draw(st.sampled_from(sorted(self.webhooks.values())))
        webhook = next(each for each, url in self.webhooks.items() if url == webhook)
        del self.webhooks[webhook]
        self.ask("delete", f"{SITE}/webhooks/{{webhook}}", 404, site="other-place", webhook=webhook)
        self.ask("delete", f"{SITE}/webhooks/{{webhook}}", 200, webhook=webhook)
        self.ask("delete", f"{SITE}/webhooks/{{webhook}}", 200, webhook=webhook)
        self.webhooks_are_as_kept()

    def webhooks_are_as_kept(self):
        listed = self.read(f"{SITE}/webhooks")["webhooks"]
        assert {each["webhook"]: each["url"] for each in listed} == self.webhooks

    @rule()
    def make_a_calendar(self):
        made = self.ask("post", f"{SITE}/calendar", 201).json()
        self.calendars[made["calendar"]] = made["address"]
        self.calendars_are_as_kept()

    @precondition(lambda self: self.calendars)
    @rule(at=SMALL)
    def end_a_calendar(self, at):
        calendar = list(self.calendars)[at % len(self.calendars)]
        self.ended.append(self.calendars.pop(calendar))
        self.ask("delete", f"{SITE}/calendar/{{calendar}}", 200, calendar=calendar)
        self.ask("delete", f"{SITE}/calendar/{{calendar}}", 200, calendar=calendar)
        self.calendars_are_as_kept()

    def calendars_are_as_kept(self):
        assert {each["calendar"] for each in self.read(f"{SITE}/calendar")["calendars"]} == set(self.calendars)
        assert {self.asked.client.get(each).status_code for each in self.calendars.values()} <= {200}
        assert {self.asked.client.get(each).status_code for each in self.ended} <= {404}

    @rule(ago_d=SMALL)
    def record_a_visit(self, ago_d):
        example = EXAMPLES["post", f"{SITE}/visits"]["document"]
        day = (LAST_NIGHT - timedelta(days=ago_d)).isoformat()
        document = f"{example.replace('2026-07-12', day)}# visit {len(self.visits)}\n"
        if day in self.visits:
            self.ask("post", f"{SITE}/visits", 422, body={"document": document})
        else:
            made = self.ask("post", f"{SITE}/visits", 201, body={"document": document}).json()
            assert (made["day"], made["document"]) == (day, document)
            self.visits[day] = made

    @precondition(lambda self: self.visits)
    @rule(at=SMALL)
    def read_visits(self, at):
        visit = list(self.visits.values())[at % len(self.visits)]
        assert self.read(f"{SITE}/visits/{{visit}}", visit=visit["visit"]) == visit
        self.ask("get", f"{SITE}/visits/{{visit}}", 404, site="other-place", visit=visit["visit"])
        assert [each["day"] for each in self.read(f"{SITE}/visits")["visits"]] == sorted(self.visits)
        assert [each["day"] for each in self.read(f"{SITE}/findings")["findings"]] == sorted(self.visits)

    @precondition(lambda self: self.visits)
    @rule(at=SMALL)
    def withdraw_a_visit(self, at):
        visit = self.visits.pop(list(self.visits)[at % len(self.visits)])["visit"]
        self.ask("delete", f"{SITE}/visits/{{visit}}", 404, site="other-place", visit=visit)
        self.ask("delete", f"{SITE}/visits/{{visit}}", 200, visit=visit)
        self.ask("delete", f"{SITE}/visits/{{visit}}", 200, visit=visit)
        self.ask("get", f"{SITE}/visits/{{visit}}", 404, visit=visit)

    @rule(numbers=st.lists(SMALL, min_size=1, max_size=3), ago_d=st.integers(0, 3), minutes=st.integers(0, 60))
    def report_runs(self, numbers, ago_d, minutes):
        opens_on = (LAST_NIGHT - timedelta(days=ago_d)).isoformat()
        (run,) = EXAMPLES["post", f"{SITE}/applied"]["runs"]
        runs = [run | {"report": f"run-{each}", "opens_on": opens_on, "minutes": float(minutes)} for each in numbers]
        done = self.ask("post", f"{SITE}/applied", 200, body={"runs": runs, "nights_whole": [opens_on]}).json()
        told = {each["report"] for each in runs}
        assert done == {"new_count": len(told - self.reports)}
        self.reports |= told
        self.last_told = max(opens_on, self.last_told or opens_on)
        self.the_controller_is_as_told()

    @rule()
    def key_a_table_in(self):
        body = EXAMPLES["post", f"{SITE}/keyed-in"]
        assert self.ask("post", f"{SITE}/keyed-in", 200, body=body).json() == body
        self.ask("post", f"{SITE}/keyed-in", 422, body=body | {"plan_revision": 99})
        self.keyed_in = True
        self.the_controller_is_as_told()

    def the_controller_is_as_told(self):
        told = self.read(f"{SITE}/controller")
        assert (told["kind"], told["since"]) == self.how_it_is_known()

    def how_it_is_known(self):
        """Say it by the rules: a table counts until a later night is told, and whoever told must tell each night."""
        last_night = LAST_NIGHT.isoformat()
        if self.keyed_in and self.last_told != last_night:
            return "keyed in", last_night
        if self.last_told is None:
            return "nobody said", None
        if self.last_told == last_night:
            return "reporting", None
        return "silent", (date.fromisoformat(self.last_told) + timedelta(days=1)).isoformat()

    # A plan takes a second, and its events are wanted.
    @precondition(lambda self: self.webhooks and self.plans_asked < 2)
    @rule()
    def plan_anew(self):
        self.plans_asked += 1
        made = self.ask("post", f"{SITE}/plan", 200).json()
        assert made["plan_revision"] in {self.plan, self.plan + 1}
        if made["plan_revision"] > self.plan:
            self.plan += 1
            self.events_count += len(self.webhooks)
        kind, since = self.how_it_is_known()
        if kind == "silent" and since not in self.silences:
            self.silences.add(since)
            self.events_count += len(self.webhooks)
        assert self.read(f"{SITE}/week")["plan_revision"] == self.plan
        assert self.read(f"{SITE}/tonight")["plan_revision"] == self.plan

    @rule(hotter_c=st.floats(0.5, 10.0), length_d=st.integers(1, 7))
    def ask_what_heat_does(self, hotter_c, length_d):
        self.ask("post", f"{SITE}/heat-check", 200, body={"hotter_c": hotter_c, "days": length_d})

    @precondition(lambda self: self.events_count)
    @rule(at=SMALL)
    def send_an_event_again(self, at):
        self.ask("post", f"{SITE}/events/{{event}}/replay", 404, event=UNKNOWN)
        found = self.read(f"{SITE}/events")["events"]
        assert len(found) == self.events_count
        open_ones = sorted(each["event"] for each in found if each["webhook"] in self.webhooks)
        if open_ones:
            event = open_ones[at % len(open_ones)]
            self.ask("post", f"{SITE}/events/{{event}}/replay", 200, event=event)
        closed = (each["event"] for each in found if each["webhook"] not in self.webhooks)
        for event in closed:
            self.ask("post", f"{SITE}/events/{{event}}/replay", 404, event=event)

    @rule(at=st.integers(0, 30))
    def read_anything(self, at):
        readings = [each for each in reached(self.asked.client.app) if self.is_reading(each)]
        each = readings[at % len(readings)]
        assert json.loads(self.ask("get", each.path, 200, terminal=7).content)

    def is_reading(self, each):
        wanted = {"{visit}", "{token}"} & {part.partition(".")[0] for part in each.path.split("/")}
        return each.method == "GET" and each.path in self.document["paths"] and each.path != "/metrics" and not wanted


def test_walks_make_change_and_end_what_there_is(request, root, monkeypatch):
    monkeypatch.setattr(Walk, "root", root)
    monkeypatch.setattr(Walk, "done", set())
    run_state_machine_as_test(Walk, settings=MANY if request.config.getoption("--campaign") else FEW)
    assert Walk.done == writes()
