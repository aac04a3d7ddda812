"""Keys: a scope on every route, properties out of reach that cannot be told from none, limits on tries."""

from datetime import timedelta

import pytest
from starlette.routing import Route
from starlette.testclient import TestClient

from etsched.model.access import Scope
from etsched.stores.database import Database
from etsched.usecases.access import revoke_key
from etsched.web.access import PUBLIC
from etsched.web.app import make_app
from etsched.web.limits import Limits
from etsched.web.pages.security import PageRoute
from tests.web.conftest import key_of
from tests.web.routes import reached


def test_no_route_is_without_a_scope_save_the_public_list(shared):
    app = shared.client.app
    walked = reached(app)
    # The pages have a walk of their own, in test_pages.py.
    others = [route for route in app.routes if isinstance(route, Route) and not isinstance(route, PageRoute)]
    assert len(walked) == len(others) - 3  # /openapi.json, the files of the pages' look, their worker
    without = {each.path for each in walked if not each.scopes}
    assert without | {"/openapi.json"} == PUBLIC
    assert {len(each.scopes) for each in walked if each.scopes} == {1}


def test_the_walk_would_find_a_route_without_a_scope(shared):
    app = make_app(shared.service)

    @app.get("/v1/left-open")
    def left_open():
        return {}

    assert "/v1/left-open" in {each.path for each in reached(app) if not each.scopes} - PUBLIC


def test_every_route_wants_a_key_and_its_own_scope(shared):
    """The matrix of scopes and routes, read off the router."""
    wrong = []
    for each in reached(shared.client.app):
        if not each.scopes:
            continue
        statuses = {
            key: shared.ask(each.method, each.at("grange"), key=key, json=each.body).status_code
            for key in ("", *(scope.value for scope in Scope))
        }
        for key, status in statuses.items():
            allowed = key == each.scopes[0].value
            expected = 401 if not key else None if allowed else 403
            if (expected is None and status in {401, 403}) or (expected is not None and status != expected):
                wrong.append((each.method, each.path, key, status))
    assert wrong == []


def test_a_foreign_property_cannot_be_told_from_none(shared):
    """The matrix of foreign properties and routes: status and body are those of a name that nobody gave."""
    of_sites = [each for each in reached(shared.client.app) if "{site}" in each.path]
    assert len(of_sites) > 20
    for each in of_sites:
        answers = [
            shared.ask(each.method, each.at(site), key="foreign", json=each.body) for site in ("grange", "no-such")
        ]
        assert {answer.status_code for answer in answers} == {404}, each
        assert answers[0].content == answers[1].content
        assert set(answers[0].headers) == set(answers[1].headers)


def test_a_bound_key_lists_its_own_properties_only(shared):
    listed = shared.ask("GET", "/v1/sites", key="foreign").json()["sites"]
    assert [each["site"] for each in listed] == ["other-place"]


def test_a_revoked_key_and_one_that_ran_out_are_not_let_in(played):
    soon = played.service.clock.now() + timedelta(hours=1)
    played.secrets["short"] = key_of(played.service, frozenset({Scope.READ}), None, soon)
    played.secrets["gone"] = key_of(played.service, frozenset({Scope.READ}), None, None)
    asked = [played.ask("GET", "/v1/sites", key=key).status_code for key in ("short", "gone")]
    assert asked == [200, 200]
    played.service.clock.at = soon
    revoke_key(played.service.database, soon, played.secrets["gone"].split("_")[1])
    refused = [played.ask("GET", "/v1/sites", key=key) for key in ("short", "gone")]
    unknown = played.client.get("/v1/sites", headers={"authorization": "Bearer ets_000000000000_x"})
    assert [each.status_code for each in (*refused, unknown)] == [401, 401, 401]
    assert {each.content for each in refused} == {unknown.content}
    assert unknown.headers["www-authenticate"] == "Bearer"


@pytest.mark.parametrize("header", ["", "Bearer", "Bearer ", "Basic eDp5", "Bearer \xe9", "bearer " + "x" * 5000])
def test_no_key_in_any_form_is_401(shared, header):
    answer = shared.client.get("/v1/sites", headers={"authorization": header.encode("latin-1")})
    assert (answer.status_code, answer.json()["type"]) == (401, "/problems/not-let-in")


def test_wrong_keys_are_limited_by_address_and_by_time(shared):
    limits = Limits(failed_tries_a_minute=3)
    client = TestClient(make_app(shared.service, limits))
    bad = {"authorization": "Bearer ets_000000000000_x"}
    assert [client.get("/v1/sites", headers=bad).status_code for _ in range(4)] == [401, 401, 401, 429]
    good = {"authorization": f"Bearer {shared.secrets['all']}"}
    refused = client.get("/v1/sites", headers=good)
    assert (refused.status_code, refused.headers["retry-after"]) == (429, "60")
    shared.service.clock.at += timedelta(seconds=60)
    assert client.get("/v1/sites", headers=good).status_code == 200


def test_a_key_that_asks_too_often_waits(shared):
    client = TestClient(make_app(shared.service, Limits(requests_a_minute=6)))
    good = {"authorization": f"Bearer {shared.secrets['all']}"}
    statuses = [client.get("/v1/sites/grange/tonight", headers=good).status_code for _ in range(7)]
    assert statuses == [200] * 6 + [429]
    # Six a minute fill one again in ten seconds; the test itself takes part of them.
    assert 5 <= int(client.get("/v1/sites", headers=good).headers["retry-after"]) <= 10
    other = {"authorization": f"Bearer {shared.secrets['read']}"}
    assert client.get("/v1/sites", headers=other).status_code == 200


def test_secrets_are_not_in_the_database_nor_in_the_logs(shared, caplog):
    with caplog.at_level("DEBUG"):
        made = shared.ask("POST", "/v1/sites/grange/calendar").json()
        hook = shared.ask("POST", "/v1/sites/grange/webhooks", json={"url": "https://events.example.org/x"}).json()
    database: Database = shared.service.database
    with database.reading() as reading:
        bodies = reading.exec_driver_sql("SELECT body FROM answers_given").scalars().all()
        tables = reading.exec_driver_sql("SELECT token_hash FROM calendar_addresses").scalars().all()
    token = made["address"].removeprefix("/calendar/").removesuffix(".ics")
    assert len(token) == 43
    held = "\n".join([*bodies, *tables, caplog.text])
    assert len(bodies) >= 2
    assert token not in held
    assert hook["secret"] not in held
    assert shared.secrets["all"] not in held
