"""A whole service on a new database: one invented property with a plan, a clock that stands, keys of every kind."""

import base64
import hashlib
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from functools import cache
from itertools import count

import pytest
from starlette.testclient import TestClient

from etsched.documents.columns import default_columns
from etsched.feeds.weather_csv import read_weather_csv
from etsched.model.access import Scope, User
from etsched.planning.weather_chain import checked
from etsched.settings import Settings
from etsched.stores import migrate, plans, users, water
from etsched.stores.database import Database
from etsched.usecases.access import make_key
from etsched.usecases.daily import plan_now
from etsched.usecases.properties import put_site
from etsched.usecases.service import Service
from etsched.web.app import make_app
from etsched.web.limits import Limits
from tests.stores.conftest import kind, new_url, with_tables  # noqa: F401 - fixtures: SQLite and PostgreSQL

TODAY = date(2026, 7, 13)
EVENING = datetime(2026, 7, 14, 0, 0, tzinfo=UTC)  # 5 pm in California, five hours before the window opens
# No limit that these tests reach by asking much; the tests of limits set their own.
WIDE = Limits(requests_a_minute=1_000_000, failed_tries_a_minute=1_000_000)
NAMES = count(1)
PASSWORD = "a few words in a row"  # noqa: S105 - of invented people


class StandingClock:
    """Shows what a test sets it to."""

    def __init__(self, at=EVENING):
        self.at = at

    def now(self):
        return self.at

    def today(self, zone):
        return self.at.astimezone(zone).date()


def weather_of_demo(root):
    """The demo's weather, read as if fetched on the demo's day."""

    def weather_of(site):
        return checked(
            read_weather_csv(root / "demo" / "weather.csv", default_columns(), site.place.zone, TODAY), site.place
        )

    return weather_of


@dataclass
class Played:
    """A service with its app, and the secrets of keys by name."""

    service: Service
    client: TestClient
    secrets: dict

    def ask(self, method, path, key="all", **more):
        """Ask with a key and, for a POST, a new idempotency key."""
        headers = {"authorization": f"Bearer {self.secrets[key]}"} if key else {}
        if method == "POST":
            headers["idempotency-key"] = f"test-{next(NAMES)}"
        return self.client.request(method, path, headers=headers | more.pop("headers", {}), **more)


@cache
def planned(root):
    """The demo's plan and the weather it was made by, reckoned once for all tests."""
    with Database("sqlite://") as database:
        migrate.upgrade(database)
        service = served(database, root)
        put_site(service, "grange", (root / "demo" / "site.toml").read_text("utf-8"), "test")
        plan = plan_now(service, "grange", "test")
        with database.reading() as reading:
            return plan, water.latest_weather(reading, "grange")


def served(database, root):
    return Service(database, StandingClock(), weather_of_demo(root), Settings())


def play(database, root, limits=WIDE):
    """Put up a service with two properties, one planned, and keys."""
    service = served(database, root)
    document = (root / "demo" / "site.toml").read_text("utf-8")
    put_site(service, "grange", document, "test")
    put_site(service, "other-place", document.replace("Thistledown Grange", "Other Place"), "test")
    plan, weather = planned(root)
    with database.writing() as writing:
        water.put_weather(writing, "grange", *weather)
        plans.put_plan(writing, plan)
    later = EVENING + timedelta(days=400)
    secrets = {
        "all": key_of(service, frozenset(Scope), None, later),
        "grange": key_of(service, frozenset(Scope), frozenset({"grange"}), later),
        "foreign": key_of(service, frozenset(Scope), frozenset({"other-place"}), later),
        **{scope.value: key_of(service, frozenset({scope}), None, later) for scope in Scope},
    }
    client = TestClient(make_app(service, limits), raise_server_exceptions=False)
    return Played(service, client, secrets)


def put_person(database, user_name, role, sites):
    """Put a person whose password is PASSWORD; its hash names a cost that makes nobody wait."""
    salt = b"of an invented person"
    digest = hashlib.scrypt(PASSWORD.encode(), salt=salt, n=2, r=8, p=1, dklen=32)
    kept = "$".join(["scrypt", "2", "8", "1", *(base64.b64encode(part).decode() for part in (salt, digest))])
    with database.writing() as writing:
        users.put_user(writing, User(user_name, role, sites, EVENING), kept)


def key_of(service, scopes, sites, expires):
    return make_key(service.database, service.clock.now(), "a test", scopes, sites, expires)[1]


@pytest.fixture
def played(kind, with_tables, tmp_path, root):  # noqa: F811 - pytest hands fixtures over by their names
    with new_url(kind, tmp_path, with_tables(kind)) as url, Database(url) as database:
        yield play(database, root)


@pytest.fixture(scope="module")
def shared(tmp_path_factory, root):
    """One on SQLite for tests that change nothing that others look at."""
    database = Database(f"sqlite:///{tmp_path_factory.mktemp('web') / 'etsched.db'}")
    migrate.upgrade(database)
    yield play(database, root)
    database.close()
