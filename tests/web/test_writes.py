"""Writes: once however often they come, never over somebody else's, seen at once."""

import threading

import pytest
import sqlalchemy as sa
from sqlalchemy.exc import IntegrityError

from etsched.stores import schema
from etsched.usecases import outbox
from etsched.web import idempotency
from etsched.web.examples import EXAMPLES

RUN = {"report": "night-1", "terminal": 1, "opens_on": "2026-07-12", "minutes": 11}
REPORT = {"runs": [RUN], "nights_whole": ["2026-07-12"]}


def rows(played, table):
    with played.service.database.reading() as reading:
        return reading.exec_driver_sql(f"SELECT count(*) FROM {table}").scalar()  # noqa: S608 - a name of this test


def pointers(answer):
    return [each["pointer"] for each in answer.json()["errors"]]


def test_every_post_but_the_check_wants_an_idempotency_key(shared):
    from tests.web.routes import reached

    for each in reached(shared.client.app):
        if each.method != "POST" or each.path.endswith("/heat-check"):
            continue
        headers = {"authorization": f"Bearer {shared.secrets['all']}"}
        answer = shared.client.post(each.at("grange"), json=each.body, headers=headers)
        assert (answer.status_code, answer.json()["type"]) == (400, "/problems/no-idempotency-key"), each.path


def test_the_same_write_again_is_done_once_and_answered_alike(played):
    same = {"idempotency-key": "k-1"}
    first, again = (
        played.ask("POST", "/v1/sites/grange/applied", json=REPORT, headers=same) for _ in range(2)
    )
    assert (first.status_code, first.json()) == (200, {"new_count": 1})
    assert (again.status_code, again.content) == (first.status_code, first.content)
    assert (rows(played, "applied"), rows(played, "night_reports"), rows(played, "answers_given")) == (1, 1, 1)


def test_the_same_key_with_another_body_is_refused(played):
    same = {"idempotency-key": "k-1"}
    played.ask("POST", "/v1/sites/grange/applied", json=REPORT, headers=same)
    others = {"applied": {"runs": [RUN | {"minutes": 12}]}, "keyed-in": {"since": "2026-07-13", "plan_revision": 1}}
    for path, body in others.items():
        answer = played.ask("POST", f"/v1/sites/grange/{path}", json=body, headers=same)
        assert (answer.status_code, answer.json()["type"]) == (422, "/problems/other-body")
    # Keys of writes belong to who made them.
    other = played.ask("POST", "/v1/sites/grange/applied", key="grange", json=REPORT, headers=same)
    assert other.json() == {"new_count": 0}


def test_a_refused_write_may_come_again_under_its_key(played):
    same = {"idempotency-key": "k-1"}
    wrong = played.ask("POST", "/v1/sites/grange/applied", json={"runs": [RUN | {"terminal": 99}]}, headers=same)
    right = played.ask("POST", "/v1/sites/grange/applied", json=REPORT, headers=same)
    assert (wrong.status_code, right.status_code) == (422, 200)


def test_answer_and_write_stand_or_fall_together(played, monkeypatch):
    def full(*_):
        raise IntegrityError("insert", {}, Exception("pulled"))

    monkeypatch.setattr(idempotency, "put_answer", full)
    answer = played.ask("POST", "/v1/sites/grange/applied", json=REPORT)
    assert (answer.status_code, answer.json()["type"]) == (409, "/problems/conflict")
    assert (rows(played, "applied"), rows(played, "night_reports")) == (0, 0)


def test_the_same_write_at_the_same_moment_is_done_once(played):
    answers, barrier = [], threading.Barrier(6)

    def send():
        barrier.wait()
        answers.append(
            played.ask("POST", "/v1/sites/grange/applied", json=REPORT, headers={"idempotency-key": "k-race"})
        )

    threads = [threading.Thread(target=send) for _ in range(6)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert [(each.status_code, each.json()) for each in answers] == [(200, {"new_count": 1})] * 6
    assert (rows(played, "applied"), rows(played, "answers_given")) == (1, 1)


def test_every_other_write_again_is_done_once_and_answered_alike(played):
    """Visits, tables in the clock, plans, events sent again, and what ends a webhook or a calendar address."""
    visit = EXAMPLES["post", "/v1/sites/{site}/visits"]
    webhook = played.ask("POST", "/v1/sites/grange/webhooks", json={"url": "https://events.example.org/x"}).json()
    calendar = played.ask("POST", "/v1/sites/grange/calendar").json()["calendar"]
    with played.service.database.writing() as writing:
        outbox.announce(writing, played.service.clock.now(), "grange", "plan made", {"plan_revision": 1})
    (event,) = played.ask("GET", "/v1/sites/grange/events").json()["events"]
    writes = (
        ("POST", "visits", visit),
        ("POST", "keyed-in", {"since": "2026-07-13", "plan_revision": 1}),
        ("POST", "plan", None),
        ("POST", f"events/{event['event']}/replay", None),
        ("DELETE", f"webhooks/{webhook['webhook']}", None),
        ("DELETE", f"calendar/{calendar}", None),
    )
    for method, path, body in writes:
        same, at = {"idempotency-key": f"k {path}".replace(" ", "-")}, f"/v1/sites/grange/{path}"
        before = everything(played)
        first = played.ask(method, at, json=body, headers=same)
        after = everything(played)
        assert first.status_code in {200, 201}, (path, first.text)
        assert after["trail"] != before["trail"]
        again = played.ask(method, at, json=body, headers=same)
        assert (again.status_code, again.content) == (first.status_code, first.content), path
        assert everything(played) == after, path
        other = played.ask("POST", "/v1/sites/grange/applied", json=REPORT, headers=same)
        assert (other.status_code, other.json()["type"]) == (422, "/problems/other-body"), path
        assert everything(played) == after, path


def everything(played):
    """Every row of every table."""
    with played.service.database.reading() as reading:
        return {table.name: reading.execute(sa.select(table)).all() for table in schema.metadata.sorted_tables}


def test_secrets_are_shown_once_even_to_the_same_write(played):
    for path, secret, body in (
        ("webhooks", "secret", {"url": "https://events.example.org/x"}),
        ("calendar", "address", None),
    ):
        first, again = (
            played.ask("POST", f"/v1/sites/grange/{path}", json=body, headers={"idempotency-key": path})
            for _ in range(2)
        )
        assert first.json()[secret]
        assert again.json() == first.json() | {secret: None}
        assert len(played.ask("GET", f"/v1/sites/grange/{path}").json().popitem()[1]) == 1


def test_a_known_site_is_changed_only_from_its_last_revision(played):
    read = played.ask("GET", "/v1/sites/grange")
    changed = read.json()["document"].replace("Courtyard", "Cloister")
    put = {"json": {"document": changed}}
    bare = played.ask("PUT", "/v1/sites/grange", **put)
    assert (bare.status_code, pointers(bare)) == (428, ["/header/if-match"])
    other = played.ask("PUT", "/v1/sites/grange", **put, headers={"if-match": '"0"'})
    assert (other.status_code, pointers(other)) == (412, ["/header/if-match"])
    done = played.ask("PUT", "/v1/sites/grange", **put, headers={"if-match": read.headers["etag"]})
    assert (done.status_code, done.json()["revision"]) == (200, 2)
    other = {"document": changed.replace("Cloister", "Cloisters")}
    moved = played.ask("PUT", "/v1/sites/grange", json=other, headers={"if-match": read.headers["etag"]})
    assert (moved.status_code, moved.json()["type"]) == (412, "/problems/revision-moved")
    now = played.ask("GET", "/v1/sites/grange")
    assert (now.headers["etag"], now.json()["document"]) == (done.headers["etag"], changed)


def test_a_new_site_is_made_without_and_a_match_with_nothing_fails(played, root):
    body = {"document": (root / "demo" / "site.toml").read_text("utf-8")}
    matched = played.ask("PUT", "/v1/sites/third", json=body, headers={"if-match": "*"})
    assert (matched.status_code, pointers(matched)) == (412, ["/header/if-match"])
    done = played.ask("PUT", "/v1/sites/third", json=body)
    assert (done.status_code, done.json()["revision"]) == (201, 1)
    assert "third" in [each["site"] for each in played.ask("GET", "/v1/sites").json()["sites"]]


def test_a_visit_is_recorded_read_and_turns_into_findings(played, root):
    body = {"document": (root / "demo" / "visit-1.toml").read_text("utf-8")}
    made = played.ask("POST", "/v1/sites/grange/visits", json=body)
    assert made.status_code == 201
    visit = made.json()["visit"]
    assert played.ask("GET", f"/v1/sites/grange/visits/{visit}").json() == made.json()
    assert played.ask("GET", f"/v1/sites/other-place/visits/{visit}").status_code == 404
    assert played.ask("GET", "/v1/sites/grange/findings").json()["findings"][0]["findings"] == made.json()["findings"]
    other = played.ask("POST", "/v1/sites/grange/visits", json={"document": body["document"] + "\n# more\n"})
    assert (other.status_code, other.json()["type"]) == (422, "/problems/visit-refused")


def test_a_visit_takes_the_place_of_the_one_that_was_read_last(played, root):
    body = {"document": (root / "demo" / "visit-1.toml").read_text("utf-8")}
    other = {"document": body["document"] + "\n# more\n"}
    path = "/v1/sites/grange/visits"
    visit = played.ask("POST", path, json=body).json()["visit"]
    etag = played.ask("GET", f"{path}/{visit}").headers["etag"]
    moved = played.ask("POST", path, json=other, headers={"if-match": '"somewhat-else"'})
    assert (moved.status_code, moved.json()["type"]) == (412, "/problems/revision-moved")
    done = played.ask("POST", path, json=other, headers={"if-match": etag})
    assert (done.status_code, done.json()["visit"], done.json()["document"]) == (201, visit, other["document"])
    assert played.ask("POST", path, json=body, headers={"if-match": etag}).status_code == 412
    assert len(played.ask("GET", path).json()["visits"]) == 1


def test_a_visit_is_withdrawn_once_by_whoever_may_record_one(played, root):
    body = {"document": (root / "demo" / "visit-1.toml").read_text("utf-8")}
    path = f"/v1/sites/grange/visits/{played.ask('POST', '/v1/sites/grange/visits', json=body).json()['visit']}"
    assert played.ask("DELETE", path, key="read").status_code == 403
    assert played.ask("DELETE", path, key="foreign").status_code == 404
    same = {"idempotency-key": "k-back"}
    first, again = (played.ask("DELETE", path, key="record visits", headers=same) for _ in range(2))
    assert (first.status_code, again.status_code, first.content) == (200, 200, again.content)
    assert played.ask("DELETE", path).status_code == 200
    assert played.ask("DELETE", path.replace("grange", "other-place")).status_code == 404
    assert played.ask("DELETE", path[:-1] + "?").status_code == 404
    assert played.ask("GET", "/v1/sites/grange/visits").json() == {"visits": []}
    last = played.ask("GET", "/v1/sites/grange/trail").json()["entries"][-1]
    assert last["did"] == "visit withdrawn"
    assert body["document"] in last["detail"]


def test_a_table_in_the_clock_is_confirmed_by_whoever_stood_there(played):
    body = {"since": "2026-07-13", "plan_revision": 1}
    assert played.ask("POST", "/v1/sites/grange/keyed-in", key="record visits", json=body).status_code == 200
    told = played.ask("GET", "/v1/sites/grange/controller").json()
    assert (told["kind"], told["since"]) == ("keyed in", "2026-07-13")
    unknown = played.ask("POST", "/v1/sites/grange/keyed-in", json=body | {"plan_revision": 9})
    assert (unknown.status_code, pointers(unknown)) == (422, ["/plan_revision"])


def test_pages_follow_one_another_to_the_end(played):
    path, seen = "/v1/sites?most=1", []
    while path:
        page = played.ask("GET", path)
        seen += [each["site"] for each in page.json()["sites"]]
        path = page.links["next"]["url"] if "next" in page.links else None
    assert seen == ["grange", "other-place"]


@pytest.mark.parametrize("query", ["most=0", "most=201", "most=x", "after=%01", "after=" + "a" * 65])
def test_pages_have_bounds(shared, query):
    assert shared.ask("GET", f"/v1/sites?{query}").status_code == 422


def test_the_trail_names_who_did_what(played):
    played.ask("POST", "/v1/sites/grange/applied", json=REPORT)
    last = played.ask("GET", "/v1/sites/grange/trail").json()["entries"][-1]
    key = played.secrets["all"].split("_")[1]
    assert (last["actor"], last["did"]) == (f"key {key}", "applied reported")
