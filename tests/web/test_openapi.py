"""The OpenAPI document: the one in the repository is the app's own, and what it shows is what the app does.

To write it anew after a change of a route:

    python -c "from tests.web.test_openapi import write; write()"
"""

import json
from datetime import UTC, datetime
from pathlib import Path

import jsonschema_rs
import pytest

from etsched.web.app import openapi_document
from etsched.web.examples import EXAMPLES
from etsched.web.shapes import _EVERYWHERE
from tests.web.routes import reached

WRITTEN = Path(__file__).parents[2] / "config" / "openapi.json"


def write():
    text = json.dumps(openapi_document(), indent=1, ensure_ascii=False, sort_keys=True)
    WRITTEN.write_text(text + "\n", encoding="utf-8")


def check(document, operation, answer):
    """Insist that an answer is one that the document tells of."""
    told = operation["responses"][str(answer.status_code)]
    media = answer.headers["content-type"].partition(";")[0]
    schema = told["content"][media]["schema"]
    if media.endswith("json"):
        whole = {**schema, "components": document["components"]}
        jsonschema_rs.Draft202012Validator(whole).validate(answer.json())


def test_the_written_document_is_the_apps_own(shared):
    assert json.loads(WRITTEN.read_text("utf-8")) == openapi_document()
    assert shared.client.get("/openapi.json").json() == openapi_document()


def test_every_route_is_in_the_document_with_its_problems_and_its_key(shared):
    document = openapi_document()
    for each in reached(shared.client.app):
        operation = document["paths"][each.path][each.method.lower()]
        if each.scopes:
            assert operation["security"] == [{"HTTPBearer": []}]
            assert {str(status) for status in _EVERYWHERE} <= set(operation["responses"]), each
        else:
            assert "security" not in operation


def test_every_body_has_an_example():
    document = openapi_document()
    wanted = {
        (method, path)
        for path, operations in document["paths"].items()
        for method, operation in operations.items()
        if "requestBody" in operation
    }
    assert wanted == set(EXAMPLES)


@pytest.mark.parametrize(("method", "path"), sorted(EXAMPLES))
def test_the_examples_are_taken_and_answered_as_told(played, method, path):
    """A report tells of a night that is over, so it comes the next day at noon in California."""
    if path.endswith("/applied"):
        played.service.clock.at = datetime(2026, 7, 14, 19, 0, tzinfo=UTC)
    document = openapi_document()
    operation = document["paths"][path][method]
    example = operation["requestBody"]["content"]["application/json"]["example"]
    site = "new-one" if method == "put" else "grange"
    answer = played.ask(method.upper(), path.format(site=site), json=example)
    assert answer.status_code in {200, 201}, answer.text
    check(document, operation, answer)


def test_every_reading_is_answered_as_told(played, root):
    document = openapi_document()
    visit = {"document": (root / "demo" / "visit-1.toml").read_text("utf-8")}
    made = {"visit": played.ask("POST", "/v1/sites/grange/visits", json=visit).json()["visit"]}
    played.ask("POST", "/v1/sites/grange/webhooks", json=EXAMPLES["post", "/v1/sites/{site}/webhooks"])
    played.ask("POST", "/v1/sites/grange/calendar")
    for each in reached(played.client.app):
        if each.method != "GET" or "{token}" in each.path:
            continue
        answer = played.ask("GET", each.path.format(site="grange", terminal=7, **made))
        assert answer.status_code == 200, (each, answer.text)
        check(document, document["paths"][each.path]["get"], answer)


def test_the_check_would_notice(shared):
    document = openapi_document()
    answer = shared.ask("GET", "/v1/sites/grange")
    with pytest.raises(jsonschema_rs.ValidationError):
        check(document, document["paths"]["/v1/sites/{site}/tonight"]["get"], answer)
