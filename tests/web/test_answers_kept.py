"""ETags and answers from memory: the same bytes for as long as they are true, and not a moment longer."""

from datetime import timedelta

import pytest
from starlette.testclient import TestClient

from etsched.model.access import Scope
from etsched.stores.database import Database
from etsched.usecases.access import revoke_key
from etsched.usecases.daily import plan_now
from etsched.usecases.service import Service
from etsched.web.app import make_app
from etsched.web.cache import Moment, Remembered
from tests.web.conftest import WIDE, key_of

PATHS = ["/v1/sites/grange/tonight", "/v1/sites/grange/week?units=metric", "/v1/sites/grange", "/v1/sites"]


@pytest.fixture
def seconds(monkeypatch):
    """The clock that the memory of answers goes by."""
    now = [1000.0]
    monkeypatch.setattr(Moment, "clock_s", staticmethod(lambda: now[0]))
    return now


def from_memory(played):
    lines = played.ask("GET", "/metrics").text.splitlines()
    return float(next(line for line in lines if line.startswith("etsched_answers_from_memory_total")).split()[1])


@pytest.mark.parametrize("path", PATHS)
def test_the_same_bytes_are_304(shared, path):
    for _ in range(2):  # the second time some come from memory
        full = shared.ask("GET", path)
        etag = full.headers["etag"]
        assert etag.startswith('"')
        for sent in (etag, f'"other", {etag}', "*", f"W/{etag}"):
            same = shared.ask("GET", path, headers={"if-none-match": sent})
            assert (same.status_code, same.content, same.headers["etag"]) == (304, b"", etag)
        other = shared.ask("GET", path, headers={"if-none-match": '"other"'})
        assert (other.status_code, other.content) == (200, full.content)


def test_what_was_asked_before_comes_from_memory(played, seconds):
    played.ask("GET", PATHS[0])
    before = from_memory(played)
    first, second = (played.ask("GET", PATHS[0]) for _ in range(2))
    assert from_memory(played) == before + 2
    assert first.content == second.content
    assert first.headers["x-request-id"] != second.headers["x-request-id"]
    assert dict(first.headers) | {"x-request-id": ""} == dict(second.headers) | {"x-request-id": ""}


def test_answers_are_kept_by_key_and_by_units(played, seconds):
    assert played.ask("GET", PATHS[0]).status_code == 200
    assert played.ask("GET", PATHS[0], key="foreign").status_code == 404
    assert played.ask("GET", PATHS[0], key="record visits").status_code == 403
    assert played.ask("GET", PATHS[0], key="").status_code == 401
    assert played.ask("GET", PATHS[0] + "?units=metric").json()["units"] == "metric"
    assert played.ask("GET", PATHS[0]).json()["units"] == "us"


def changed(played):
    """Change the property so that its next plan differs."""
    read = played.ask("GET", "/v1/sites/grange")
    document = read.json()["document"].replace("Courtyard", "Cloister")
    headers = {"if-match": read.headers["etag"]}
    assert played.ask("PUT", "/v1/sites/grange", json={"document": document}, headers=headers).status_code == 200


def test_own_writes_are_seen_at_once(played, seconds):
    assert played.ask("GET", PATHS[0]).json()["plan_revision"] == 1
    changed(played)
    assert played.ask("POST", "/v1/sites/grange/plan").json()["plan_revision"] == 2
    assert played.ask("GET", PATHS[0]).json()["plan_revision"] == 2
    # A job of the same process writes past the app.
    played.service.clock.at += timedelta(days=1)
    plan_now(played.service, "grange", "a job")
    assert played.ask("GET", PATHS[0]).json()["plan_revision"] == 3


def test_what_another_instance_changes_is_seen_within_a_second(played, seconds):
    """Another instance is another connection to the same database, with an app of its own."""
    database = Database(played.service.database.url.render_as_string(hide_password=False))
    theirs = Service(database, played.service.clock, played.service.weather_of, played.service.settings)
    other = TestClient(make_app(theirs, WIDE))
    headers = {"authorization": f"Bearer {played.secrets['all']}"}
    assert other.get(PATHS[0], headers=headers).json()["plan_revision"] == 1
    changed(played)
    played.ask("POST", "/v1/sites/grange/plan")
    seconds[0] += 0.999
    assert other.get(PATHS[0], headers=headers).json()["plan_revision"] == 1  # so the memory is at work
    seconds[0] += 0.001
    assert other.get(PATHS[0], headers=headers).json()["plan_revision"] == 2
    database.close()


def test_a_key_that_another_instance_revokes_is_out_within_a_second(played, seconds):
    now = played.service.clock.now()
    played.secrets["gone"] = key_of(played.service, frozenset({Scope.READ}), None, None)
    assert played.ask("GET", PATHS[0], key="gone").status_code == 200
    database = Database(played.service.database.url.render_as_string(hide_password=False))
    revoke_key(database, now, played.secrets["gone"].split("_")[1])
    database.close()
    seconds[0] += 0.5
    assert played.ask("GET", PATHS[0], key="gone").status_code == 200
    seconds[0] += 0.5
    assert played.ask("GET", PATHS[0], key="gone").status_code == 401


def test_a_key_that_runs_out_is_out_within_a_second(played, seconds):
    soon = played.service.clock.now() + timedelta(seconds=1)
    played.secrets["short"] = key_of(played.service, frozenset({Scope.READ}), None, soon)
    assert played.ask("GET", PATHS[0], key="short").status_code == 200
    played.service.clock.at, seconds[0] = soon, seconds[0] + 1.0
    assert played.ask("GET", PATHS[0], key="short").status_code == 401


def test_the_memory_has_a_bound():
    """By hand: of 30 bytes each, three fit into 100."""
    answers = Remembered(100, 1.0)
    for number in range(50):
        answers.put(number, b"x" * 30, Moment(0, 0.0), 30)
    assert [number for number in range(50) if answers.get(number, Moment(0, 0.5))] == [47, 48, 49]
    answers.put("large", b"x" * 101, Moment(0, 0.0), 101)
    assert answers.get("large", Moment(0, 0.5)) is None
