"""Every operation with made requests, fitting and not: no failure, no answer that the document does not tell of."""

import pytest
import schemathesis
from hypothesis import HealthCheck, Phase, given, settings
from schemathesis import GenerationMode
from schemathesis.checks import load_all_checks, not_a_server_error
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    missing_required_header,
    response_headers_conformance,
    response_schema_conformance,
    status_code_conformance,
    unsupported_method,
)

from etsched.stores import migrate
from etsched.stores.database import Database
from etsched.web.app import openapi_document
from tests.web.conftest import play

# The few made requests of a plain run; the campaign makes many.
FEW = settings(
    max_examples=10,
    derandomize=True,
    deadline=None,
    phases=[Phase.explicit, Phase.generate],
    suppress_health_check=list(HealthCheck),
)
MANY = settings(FEW, max_examples=400, derandomize=False)


# Left out of what there is: positive_data_acceptance, that whatever fits the document is taken (a site file is a text
# to it); negative_data_rejection, that whatever does not fit is refused (a parameter that nobody asks for is passed
# over, and the key and the property that a spoilt request lacks are put into it here); ignored_auth, that made keys are
# refused, and object_level_authorization, that of two keys one does not see what the other made (every request here
# carries the same good one; tests/web/test_access.py asks without one and with foreign ones); allow_header_conformance,
# which looks at answers to OPTIONS alone, and nothing here answers those (tests/web/test_problems.py looks at Allow
# where a method is refused); ensure_resource_availability and use_after_free, that what was made is there and what was
# ended is not (they look at chains of requests alone; tests/web/test_walk.py walks those).
LEFT_OUT = {
    "positive_data_acceptance",
    "negative_data_rejection",
    "ignored_auth",
    "object_level_authorization",
    "allow_header_conformance",
    "ensure_resource_availability",
    "use_after_free",
}
CHECKS = (
    not_a_server_error,
    status_code_conformance,
    content_type_conformance,
    response_headers_conformance,
    response_schema_conformance,
    missing_required_header,
    unsupported_method,
)


@pytest.fixture(scope="module")
def asked(tmp_path_factory, root):
    database = Database(f"sqlite:///{tmp_path_factory.mktemp('made') / 'etsched.db'}")
    migrate.upgrade(database)
    yield play(database, root)
    database.close()


@pytest.fixture(scope="module")
def described(asked):
    return schemathesis.openapi.from_asgi("/openapi.json", asked.client.app)


@pytest.fixture(scope="module")
def how(request):
    return MANY if request.config.getoption("--campaign") else FEW


def operations():
    """Every operation with requests that fit, and with spoilt ones where there is anything to spoil."""
    for path, methods in sorted(openapi_document()["paths"].items()):
        for method, operation in methods.items():
            yield path, method, GenerationMode.POSITIVE
            if operation.keys() & {"parameters", "requestBody", "security"}:
                yield path, method, GenerationMode.NEGATIVE


def hold(case, headers):
    """Ask, mostly about the property that is there, and hold the answer against the document."""
    if "site" in (case.path_parameters or {}) and len(case.path_parameters["site"]) % 4:
        case.path_parameters["site"] = "grange"
    case.call_and_validate(headers=headers, checks=CHECKS)


def test_every_check_that_there_is_is_made_or_left_out_by_name():
    load_all_checks()
    assert {check.__name__ for check in CHECKS} | LEFT_OUT == set(schemathesis.checks.CHECKS.get_all_names())


@pytest.mark.parametrize(("path", "method", "mode"), list(operations()))
def test_every_operation_answers_as_told(described, asked, path, method, mode, how):
    operation = described[path][method.upper()]
    headers = {"authorization": f"Bearer {asked.secrets['all']}"}

    @how
    @given(case=operation.as_strategy(generation_mode=mode))
    def ask(case):
        hold(case, headers)

    ask()
