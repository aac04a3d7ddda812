"""Refusals: problem documents that keep their types, point at the place, and tell no secrets of the inside."""

import json
from contextlib import nullcontext
from dataclasses import replace

import pytest
from starlette.testclient import TestClient

from etsched import errors
from etsched.stores.database import Database
from etsched.web import problems
from etsched.web.app import make_app
from etsched.web.limits import Limits
from tests.stores.faulty import held, impatient, read_only, rows


def all_errors(kind=errors.EtschedError):
    return [each for below in kind.__subclasses__() for each in (below, *all_errors(below))]


def test_the_types_stay_as_they_are():
    """Written out by hand: programs tell problems apart by these."""
    assert {kind.name: kind.status for kind in problems.KINDS} == {
        "bad-request": 400,
        "no-idempotency-key": 400,
        "not-let-in": 401,
        "not-allowed": 403,
        "not-found": 404,
        "no-plan-yet": 404,
        "no-such-method": 405,
        "conflict": 409,
        "no-plan": 409,
        "revision-moved": 412,
        "too-large": 413,
        "invalid": 422,
        "site-refused": 422,
        "visit-refused": 422,
        "input-refused": 422,
        "other-body": 422,
        "no-revision": 428,
        "too-many": 429,
        "broken": 500,
        "unavailable": 503,
    }


@pytest.mark.parametrize("kind", all_errors(), ids=lambda kind: kind.__name__)
def test_every_error_of_the_program_has_its_problem(kind):
    problem = errors.Problem("a.toml", 3, "station.1", "it is wrong", "mend it")
    error = kind([problem]) if issubclass(kind, errors.InputRefused) else kind("it is wrong")
    answer = problems.of_error(error)
    document = json.loads(answer.body)
    assert answer.media_type == "application/problem+json"
    assert document["status"] == answer.status_code
    # The books that do not close are the one failure of the program itself.
    assert (answer.status_code == 500) is (kind is errors.BalanceBroken)
    assert set(document) == {"type", "title", "status", "detail", "errors"}


def test_a_refused_site_names_every_line(shared):
    document = 'name = "X"\nunits = "furlongs"\n'
    answer = shared.ask("PUT", "/v1/sites/new-one", json={"document": document})
    told = answer.json()
    assert (answer.status_code, told["type"]) == (422, "/problems/site-refused")
    assert {each["pointer"] for each in told["errors"]} == {"/document"}
    assert any(each["detail"].startswith("line 2, units") for each in told["errors"])
    assert shared.ask("GET", "/v1/sites/new-one").status_code == 404


RUN = {"report": "r", "terminal": 1, "opens_on": "2026-07-12", "minutes": 5}


@pytest.mark.parametrize(
    ("body", "pointer"),
    [
        ({"runs": [RUN | {"minutes": "5"}]}, "/runs/0/minutes"),
        ({"runs": [RUN | {"minutes": -1}]}, "/runs/0/minutes"),
        ({"runs": [RUN | {"minutes": 10**400}]}, "/runs/0/minutes"),
        ({"runs": [RUN, RUN | {"terminal": True}]}, "/runs/1/terminal"),
        ({"runs": [RUN | {"terminal": 99}]}, "/runs/0/terminal"),
        ({"runs": [RUN | {"opens_on": 20000}]}, "/runs/0/opens_on"),
        ({"runs": [RUN | {"opens_on": "2026-02-30"}]}, "/runs/0/opens_on"),
        ({"runs": [RUN | {"opens_on": "2031-01-01"}]}, "/runs/0/opens_on"),
        ({"runs": [RUN | {"how": "magic"}]}, "/runs/0/how"),
        ({"runs": [RUN | {"began": "2026-07-12T22:00:00"}]}, "/runs/0/began"),
        ({"runs": [RUN | {"unit": "s"}]}, "/runs/0/unit"),
        ({"runs": [RUN | {"report": "a\u0000b"}]}, "/runs/0/report"),
        ({"runs": [RUN] * 1001}, "/runs"),
        ({"nights_whole": ["2026-07-13x"]}, "/nights_whole/0"),
        ([], ""),
        ("text", ""),
    ],
)
def test_a_wrong_report_points_at_the_place_and_keeps_nothing(shared, body, pointer):
    answer = shared.ask("POST", "/v1/sites/grange/applied", json=body)
    told = answer.json()
    assert (answer.status_code, answer.headers["content-type"]) == (422, "application/problem+json")
    assert pointer in {each["pointer"] for each in told["errors"]}
    with shared.service.database.reading() as reading:
        assert reading.exec_driver_sql("SELECT count(*) FROM applied").scalar() == 0


@pytest.mark.parametrize(
    ("content", "status"),
    [
        (b"{", 422),
        (b"\xe9\x80", 400),
        (b"[" * 100_000, 400),
        (b'{"runs": NaN}', 422),
        (b'{"runs": [{"minutes": ' + b"9" * 5000 + b"}]}", 400),
        (b'{"runs": [{"report": "\\ud800", "terminal": 1, "opens_on": "2026-07-12", "minutes": 1}]}', 422),
    ],
)
def test_what_is_hardly_json_is_a_problem_not_a_failure(shared, content, status):
    sent = {"content-type": "application/json"}
    answer = shared.ask("POST", "/v1/sites/grange/applied", content=content, headers=sent)
    assert (answer.status_code, answer.headers["content-type"]) == (status, "application/problem+json")


@pytest.mark.parametrize("chunked", [False, True])
def test_a_body_that_is_too_large_is_refused(shared, chunked):
    client = TestClient(make_app(shared.service, Limits(body_bytes=1000)))
    headers = {"authorization": f"Bearer {shared.secrets['all']}", "idempotency-key": "large"}
    body = b'{"document": "' + b"x" * 2000 + b'"}'
    content = iter([body[:500], body[500:]]) if chunked else body
    sent = headers | {"content-type": "application/json"}
    answer = client.put("/v1/sites/large", content=content, headers=sent)
    assert (answer.status_code, answer.json()["type"]) == (413, "/problems/too-large")
    assert answer.json()["errors"] == [{"pointer": "", "detail": "it may have 1000 bytes at most"}]


def test_every_answer_carries_a_request_id(shared):
    given = shared.ask("GET", "/health", headers={"x-request-id": "night-17.a"})
    assert given.headers["x-request-id"] == "night-17.a"
    for insane in ("a b", "x" * 65, "<script>", ""):
        made = shared.ask("GET", "/nowhere", headers={"x-request-id": insane}).headers["x-request-id"]
        assert made != insane
        assert 0 < len(made) <= 64


def test_a_failure_shows_no_inside(shared, monkeypatch, caplog):
    def broken(*_):
        raise RuntimeError("secret inside")

    monkeypatch.setattr("etsched.web.plans.controller_state", broken)
    answer = shared.ask("GET", "/v1/sites/grange/controller")
    told = answer.json()
    assert (answer.status_code, told["type"]) == (500, "/problems/broken")
    assert answer.headers["x-request-id"] in told["detail"]
    assert "secret inside" not in answer.text
    assert "secret inside" in caplog.text


def test_a_database_that_cannot_be_read_is_503_with_a_time(shared, monkeypatch):
    def locked(*_):
        raise errors.StoreRefused("the database x: another program is writing to it")

    monkeypatch.setattr("etsched.web.plans.get_site", locked)
    answer = shared.ask("GET", "/v1/sites/grange/controller")
    assert (answer.status_code, answer.headers["retry-after"]) == (503, "30")


def put_visit(client, key, root):
    """A write through everything that a write goes through."""
    headers = {"authorization": f"Bearer {key}", "idempotency-key": "one"}
    body = {"document": (root / "demo" / "visit-1.toml").read_text("utf-8")}
    return client.post("/v1/sites/grange/visits", json=body, headers=headers)


@pytest.mark.parametrize(
    ("url_of", "sentence"),
    [(impatient, "another program is writing to it; try again"), (read_only, "it may not be written; give this user")],
)
def test_a_write_that_the_database_refuses_is_503_and_done_later(played, root, caplog, url_of, sentence):
    before = rows(played.service.database)
    with Database(url_of(played.service.database)) as refusing:
        client = TestClient(make_app(replace(played.service, database=refusing)), raise_server_exceptions=False)
        with held(played.service.database) if url_of is impatient else nullcontext():
            answer = put_visit(client, played.secrets["all"], root)
            read = client.get("/v1/sites/grange", headers={"authorization": f"Bearer {played.secrets['all']}"})
    assert (answer.status_code, answer.headers["content-type"]) == (503, "application/problem+json")
    assert (answer.json()["type"], answer.headers["retry-after"]) == ("/problems/unavailable", "30")
    assert sentence in answer.json()["detail"]
    assert sentence in caplog.text  # whoever runs it reads of it too
    assert read.status_code == 200
    assert rows(played.service.database) == before
    assert put_visit(played.client, played.secrets["all"], root).status_code == 201


def test_a_wrong_method_names_the_right_ones(shared):
    answer = shared.ask("PATCH", "/v1/sites/grange")
    assert (answer.status_code, answer.json()["type"]) == (405, "/problems/no-such-method")
    assert answer.headers["allow"] == "GET, PUT"
