"""The real service on loopback, with people who may sign in, and a real browser where the machine has one."""

from __future__ import annotations

import re
import socket
import threading
from dataclasses import dataclass, replace
from datetime import timedelta
from itertools import cycle
from pathlib import Path

import pytest
import uvicorn

from etsched.model.access import Role
from etsched.stores import migrate, plans, water
from etsched.stores.database import Database
from etsched.stores.schema import plans as kept_plans
from etsched.stores.schema import visits as kept_visits
from etsched.usecases.access import make_user
from etsched.usecases.daily import plan_now
from etsched.usecases.properties import put_site
from etsched.usecases.reports_in import report_applied
from etsched.usecases.service import Service
from etsched.web.app import make_app
from tests.browser.visit_typing import PHONE
from tests.web.conftest import EVENING, TODAY, WIDE, planned, served
from tests.web.visit_form import typed

CHROMIUM = Path("/usr/bin/chromium")
PASSWORD = "turf needs little water at night"  # noqa: S105 - of every invented person here
HOSTILE = '<script>document.title="ran"</script>"><img src=x onerror=alert(1)>'
# What keeps the browser from asking anything of the outside, beside what root needs.
ARGUMENTS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


@dataclass(frozen=True)
class Running:
    """The service while it runs, and where."""

    address: str
    service: Service


@pytest.fixture(scope="session")
def running(tmp_path_factory, root):
    """The demo's property with a plan, one with hostile names, a third that only the admin reaches."""
    database = Database(f"sqlite:///{tmp_path_factory.mktemp('browser') / 'etsched.db'}")
    migrate.upgrade(database)
    service = served(database, root)
    document = (root / "demo" / "site.toml").read_text("utf-8")
    put_site(service, "grange", document, "test")
    put_site(service, "third", document.replace("Thistledown Grange", "Third Place"), "test")
    escaped = HOSTILE.replace('"', '\\"')
    hostile = document.replace("Thistledown Grange, Cobble Ferry", escaped).replace("Entrance lawn, west", escaped)
    put_site(service, "hostile", hostile, "test")
    plan, weather = planned(root)
    service.clock.at = EVENING - timedelta(days=7)
    plan_now(service, "grange", "test")
    service.clock.at = EVENING
    with database.writing() as writing:
        water.put_weather(writing, "grange", *weather)
        plans.put_plan(writing, replace(plan, revision=2))
    put_site(service, "forty", forty_stations(document), "test")
    put_site(service, "planless", document.replace("Thistledown Grange", "Planless Place"), "test")
    put_site(service, "clockless", without_clock(document), "test")
    for site in ("hostile", "forty", "clockless"):
        plan_now(service, site, "test")
    # A controller that told once and then fell silent.
    report_applied(service, "forty", [], [TODAY - timedelta(days=4)], "test")
    mine = frozenset({"grange", "hostile", "forty", "planless", "clockless"})
    now = service.clock.now()
    for name, role in (("mia", Role.MANAGER), ("tom", Role.TECHNICIAN)):
        make_user(database, now, name, PASSWORD, role, mine)
    make_user(database, now, "ada", PASSWORD, Role.ADMIN, None)
    with _on_loopback(make_app(service, WIDE)) as address:
        yield Running(address, service)
    database.close()


def without_clock(document):
    """Take the ordinary clock out, so that there are no programs to put inside its door."""
    head, rest = document.split("[controller]\n", 1)
    return (head + rest[rest.index("\n[") :]).replace("Thistledown Grange", "Clockless Place")


def forty_stations(document):
    """Write the demo's stations again and again under new terminals, as many as the largest table that is printed."""
    head, *stations = re.sub(r"(?m)^plan_number = .*\n", "", document).split("[[station]]")
    again = (
        re.sub(r"(?m)^terminal = \d+", f"terminal = {number}", text)
        for number, text in zip(range(1, 41), cycle(stations), strict=False)
    )
    return "[[station]]".join([head, *again]).replace("Thistledown Grange", "Forty Stations")


class _on_loopback:  # noqa: N801 - used as a statement
    """A server in a thread, on a free port, for as long as a block lasts."""

    def __init__(self, app):
        self._socket = socket.create_server(("127.0.0.1", 0))
        self._server = uvicorn.Server(uvicorn.Config(app, log_config=None, ws="none", lifespan="off"))
        self._thread = threading.Thread(target=self._server.run, kwargs={"sockets": [self._socket]})

    def __enter__(self):
        self._thread.start()
        return f"http://127.0.0.1:{self._socket.getsockname()[1]}"

    def __exit__(self, *_):
        self._server.should_exit = True
        self._thread.join()
        self._socket.close()


@pytest.fixture(scope="session")
def chromium():
    """A real Chromium; without one these tests are skipped with a sentence."""
    if not CHROMIUM.exists():
        pytest.skip("no Chromium on this machine; as root: apt-get install -y chromium")
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=ARGUMENTS)
        yield browser
        browser.close()


@pytest.fixture
def page(chromium, running):
    """A new page in a browser of nobody yet."""
    context = chromium.new_context(base_url=running.address)
    yield context.new_page()
    context.close()


def sign_in(page, name="mia"):
    """Sign in as a person does."""
    page.goto("/sign-in")
    page.get_by_label("Name").fill(name)
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    page.wait_for_url("**/")


def tab_to(page, name, most=40):
    """Press Tab until what bears a name has the focus, which can be seen on every stop."""
    for _ in range(most):
        page.keyboard.press("Tab")
        here, outline = page.evaluate(
            "() => { const at = document.activeElement;"
            " return [(at.labels?.[0] ?? at).innerText.trim(), getComputedStyle(at).outlineStyle] }"
        )
        assert outline != "none", here
        if here == name:
            return
    raise AssertionError(f"the keyboard does not reach {name}")


@pytest.fixture
def phone(chromium, running):
    """A telephone on which the technician is signed in."""
    context = chromium.new_context(base_url=running.address, viewport=PHONE)
    page = context.new_page()
    page.set_default_timeout(10_000)
    page.errors = []
    page.on("pageerror", lambda error: page.errors.append(str(error)))
    page.on("console", lambda line: line.type == "error" and page.errors.append(line.text + line.location["url"]))
    sign_in(page, "tom")
    yield page
    context.close()


@pytest.fixture
def unsaid(running):
    """No visit is kept before or after, nor a plan that was made by one."""
    yield
    with running.service.database.writing() as writing:
        writing.execute(kept_visits.delete())
        writing.execute(kept_plans.delete().where(kept_plans.c.site == "grange", kept_plans.c.revision > 2))


@pytest.fixture(scope="session")
def record(root):
    return typed((root / "demo" / "visit-1.toml").read_text("utf-8"))
