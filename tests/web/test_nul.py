"""The character NUL, which PostgreSQL keeps in no text: refused wherever it stands, on either database."""

import copy
import re
from itertools import count

import pytest
from starlette.testclient import TestClient

from etsched.model.access import Role
from etsched.usecases.access import make_user
from etsched.web.pages import PAGES
from tests.web.routes import PARTS, reached

PASSWORD = "a few words in a row"  # noqa: S105 - of an invented person
GOOD = {"site": "grange", **PARTS}


def spoilt(path):
    """Give an address once for each of its parts, with NUL in that part."""
    for name in re.findall(r"\{(\w+)\}", path):
        for bad in ("%00", f"{GOOD[name]}%00", "a%00b"):
            yield path.format(**GOOD | {name: bad})


def is_refused(answer):
    return answer.status_code == 404 and answer.headers["content-type"] == "application/problem+json"


@pytest.fixture
def signed_in(played):
    make_user(played.service.database, played.service.clock.now(), "ada", PASSWORD, Role.ADMIN, None)
    client = TestClient(played.client.app, base_url="http://localhost", raise_server_exceptions=False)
    assert client.post("/sign-in", data={"name": "ada", "password": PASSWORD, "to": "/"}).status_code == 200
    return client


def test_in_an_address(played, signed_in):
    addresses = [(each.method, path) for each in reached(played.client.app) for path in spoilt(each.path)]
    assert len(addresses) > 40
    for method, path in addresses:
        answer = played.ask(method, path, json={})
        assert is_refused(answer), (method, path, answer.status_code)
        assert answer.json()["status"] == answer.status_code
    for page in PAGES:
        for path in spoilt(page.path):
            answer = signed_in.request(page.method, path)
            assert is_refused(answer), (page.method, path, answer.status_code)


def test_in_a_query(played, signed_in):
    asked = played.client.app.openapi()["paths"]
    named = [
        (method.upper(), path.format(**GOOD), parameter["name"])
        for path, methods in asked.items()
        for method, operation in methods.items()
        for parameter in operation.get("parameters", ())
        if parameter["in"] == "query"
    ]
    assert len(named) >= 5
    for method, path, name in named:
        for query in (f"{name}=a%00b", f"{name}%00=1"):
            answer = played.ask(method, f"{path}?{query}", json={})
            assert is_refused(answer), (method, path, query, answer.status_code)
    for page in PAGES:
        answer = signed_in.request(page.method, page.path.format(**GOOD) + "?to=%00&start=%00")
        assert is_refused(answer), (page.method, page.path, answer.status_code)


def leaves(body, at=()):
    """Give the way to every text in a body."""
    if isinstance(body, str):
        yield at
    elif isinstance(body, dict | list):
        for step, part in body.items() if isinstance(body, dict) else enumerate(body):
            yield from leaves(part, (*at, step))


def test_in_a_body(played, signed_in):
    tried = count()
    for each in reached(played.client.app):
        for at in leaves(each.body):
            body = copy.deepcopy(each.body)
            inside = body
            for step in at[:-1]:
                inside = inside[step]
            inside[at[-1]] += "\0"
            answer = played.ask(each.method, each.at("grange"), json=body)
            assert answer.status_code < 500, (each.method, each.path, at, answer.text)
            next(tried)
    assert next(tried) >= 5
    for page in PAGES:
        if page.method == "POST":
            sent = {"name": "a\0b", "password": "a\0b", "to": "/\0", "record": "\0", "start": "\0"}
            answer = signed_in.post(page.path.format(**GOOD), data=sent)
            assert answer.status_code < 500, (page.path, answer.text)


def test_in_a_header(played):
    for name in ("authorization", "idempotency-key", "if-match", "if-none-match", "x-request-id", "cookie"):
        headers = {name: b"Bearer ets_0\x000"}
        answer = played.client.post("/v1/sites/grange/applied", headers=headers, json={})
        assert answer.status_code < 500, name
