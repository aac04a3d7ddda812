"""Every write with every field of its example spoilt: refused with a pointer to the place, and nothing is kept."""

import copy
import re
from datetime import UTC, datetime

import jsonschema_rs
import pytest
import sqlalchemy as sa

from etsched.stores import migrate, schema
from etsched.stores.database import Database
from etsched.web.app import openapi_document
from etsched.web.examples import EXAMPLES
from tests.web.conftest import play
from tests.web.routes import reached

NOON = datetime(2026, 7, 14, 19, 0, tzinfo=UTC)  # in California, when the night that the examples tell of is over
TOO_LONG = "x" * 1_000_001
UNKNOWN = "no_such_field"
WRONG = {
    str: (7, True, [], {}, "", TOO_LONG),
    float: ("11", "11 in", True, [], {}, -1, 1e12),
    int: ("1", "1 in", True, [], {}, 1.5, -1, 10**12),
    list: ("x", 7, {}),
}
NO_DATES = ("2026-02-30", "13/07/2026", "2026-07-13 or so")
NO_BODIES = (b"", b"{", b"[]", b"null", b'"x"', b"\xff")
# In a document: a quantity of another kind beside the number that was right.
OTHER_UNIT = re.compile(r'(?<=\d )(ft|in|m|mm)(?=")')


@pytest.fixture(scope="module")
def asked(tmp_path_factory, root):
    database = Database(f"sqlite:///{tmp_path_factory.mktemp('spoilt') / 'etsched.db'}")
    migrate.upgrade(database)
    played = play(database, root)
    played.service.clock.at = NOON
    yield played
    database.close()


def kept(played):
    """Give every row of every table."""
    with played.service.database.reading() as reading:
        return [reading.execute(sa.select(table)).all() for table in schema.metadata.sorted_tables]


def places(value, path=()):
    """Walk over every place of a body, the body itself first."""
    yield path, value
    steps = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for step, inner in steps:
        yield from places(inner, (*path, step))


def changed(body, path, value):
    """Give a body with another value at a place; without the place where the value is Ellipsis."""
    body = copy.deepcopy(body)
    at = body
    for step in path[:-1]:
        at = at[step]
    if value is ...:
        del at[path[-1]]
    else:
        at[path[-1]] = value
    return body


def spoilings(body, is_right):
    """Give place and spoilt body; what is missing or null counts where the document says that it may not be."""
    for path, value in places(body):
        if isinstance(value, dict):
            yield (*path, UNKNOWN), changed(body, (*path, UNKNOWN), 1)
        if not path:
            continue
        bad = [*WRONG.get(type(value), ())]
        if isinstance(value, list):
            bad.append(value * 1001)
        if isinstance(value, str) and re.match(r"\d{4}-\d\d-\d\d", value) and path[-1] != "report":
            bad += NO_DATES
        yield from ((path, changed(body, path, each)) for each in bad)
        for each in (None, ...):
            without = changed(body, path, each)
            if not is_right(without):
                yield path, without


def test_every_spoilt_field_is_pointed_at_and_nothing_is_kept(asked):
    document = openapi_document()
    before, spoilt_count = kept(asked), 0
    for (method, path), example in EXAMPLES.items():
        content = document["paths"][path][method]["requestBody"]["content"]["application/json"]["schema"]
        right = jsonschema_rs.Draft202012Validator({**content, "components": document["components"]})
        for place, body in spoilings(example, right.is_valid):
            answer = ask(asked, method, path, json=body)
            said = (method, path, place, str(body)[:200], answer.text)
            assert (answer.status_code, answer.json()["type"]) == (422, "/problems/invalid"), said
            pointers = [each["pointer"] for each in answer.json()["errors"]]
            assert "/" + "/".join(map(str, place)) in pointers, said
            assert kept(asked) == before, said
            spoilt_count += 1
    assert spoilt_count > 100


def spoilt_lines(document):
    """Give the name of a field and the document with its line spoilt: another type, another unit, unknown, too long."""
    lines = document.splitlines()
    for number, line in enumerate(lines):
        name, equals, value = line.partition(" = ")
        if not equals:
            continue
        bad = [f"{name} = 7" if value.startswith('"') else f'{name} = "x"', f"{name} = {{ x = 1 }}"]
        bad += [f'{name} = "{"x" * 50_000}"']
        if OTHER_UNIT.search(line):
            bad.append(OTHER_UNIT.sub("gal", line))
        for each in bad:
            yield name, "\n".join([*lines[:number], each, *lines[number + 1 :]])
    yield UNKNOWN, f"{UNKNOWN} = 1\n{document}"


@pytest.mark.parametrize(("method", "path"), [each for each in EXAMPLES if "document" in EXAMPLES[each]])
def test_every_spoilt_line_of_a_document_is_named_and_nothing_is_kept(asked, method, path):
    before = kept(asked)
    for name, document in spoilt_lines(EXAMPLES[method, path]["document"]):
        answer = ask(asked, method, path, json={"document": document})
        said = (name, document[:400], answer.text[:800])
        assert answer.status_code == 422, said
        faults = answer.json()["errors"]
        assert {each["pointer"] for each in faults} == {"/document"}, said
        assert any(name in each["detail"] for each in faults), said
        assert kept(asked) == before, said


def test_every_write_elsewhere_or_unreadable_is_refused_and_nothing_is_kept(asked):
    before = kept(asked)
    writes = [each for each in reached(asked.client.app) if each.method != "GET" and each.path.startswith("/v1/")]
    for each in writes:
        wrong = [asked.ask(each.method, each.at("A_B"), json=each.body)]
        if each.method != "PUT":
            wrong.append(asked.ask(each.method, each.at("no-such"), json=each.body))
        if each.method == "POST" and not each.path.endswith("/heat-check"):
            keys = ({"idempotency-key": key.encode("latin-1")} for key in ("é", "x" * 129, "a b"))
            refused = [asked.ask("POST", each.at("grange"), json=each.body, headers=key) for key in keys]
            assert {answer.json()["errors"][0]["pointer"] for answer in refused} == {"/header/idempotency-key"}
            wrong += refused
        if each.body is not None:
            site = "new-one" if each.method == "PUT" else "grange"
            json = {"content-type": "application/json"}
            refused = [asked.ask(each.method, each.at(site), content=body, headers=json) for body in NO_BODIES]
            assert all(answer.json()["errors"] or answer.status_code == 400 for answer in refused), each.path
            wrong += refused
        for part in {"{visit}", "{webhook}", "{event}", "{calendar}"} & set(each.path.split("/")):
            at = each.path.format(site="grange", **{part[1:-1]: "not.an.id"})
            refused = asked.ask(each.method, at)
            assert refused.json()["errors"][0]["pointer"] == f"/path/{part[1:-1]}"
            wrong += [refused, asked.ask(each.method, each.at("grange"))]
        for answer in wrong:
            assert answer.status_code in {400, 404, 422}, (each, answer.text)
            assert answer.headers["content-type"] == "application/problem+json"
        assert kept(asked) == before, each


def test_a_wrong_revision_is_refused_and_nothing_is_kept(asked):
    before = kept(asked)
    keyed_in = {"since": "2026-07-13", "plan_revision": 99}
    assert ask(asked, "post", "/v1/sites/{site}/keyed-in", json=keyed_in).status_code == 422
    document = asked.ask("GET", "/v1/sites/grange").json()["document"]
    for headers, status in (({}, 428), ({"if-match": '"1"'}, 412), ({"if-match": "x"}, 412)):
        answer = asked.ask("PUT", "/v1/sites/grange", json={"document": document + "\n# changed\n"}, headers=headers)
        assert (answer.status_code, answer.headers["content-type"]) == (status, "application/problem+json")
    assert kept(asked) == before


@pytest.mark.parametrize(("method", "path"), list(EXAMPLES))
def test_what_was_spoilt_is_taken_whole(asked, method, path):
    assert ask(asked, method, path, json=EXAMPLES[method, path]).status_code in {200, 201}


def ask(played, method, path, **more):
    site = "new-one" if method == "put" else "grange"
    return played.ask(method.upper(), path.format(site=site), **more)
