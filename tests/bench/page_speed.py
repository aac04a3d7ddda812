"""How long each page of the demo's property takes and how much it sends, and the list of a thousand properties.

Asked within one process, without a network: the median of several askings. kB are what a first view wants: the page,
its styles and its pictures, as they are sent, compressed. The thousand properties have the demo's plan, each its own
document;
`portfolio_1000_first_ms` is the first look after all of them were planned.
"""

from __future__ import annotations

import re
import sys
import tempfile
import time
from dataclasses import replace
from hashlib import sha256
from pathlib import Path
from statistics import median

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

ROUNDS, PROPERTIES = 5, 1000
PASSWORD = "a bench signs in too"  # noqa: S105 - of an invented person
PAGES = {
    "portfolio": "/",
    "week": "/sites/grange",
    "week_of_forty": "/sites/forty",
    "changes": "/sites/grange/changes",
    "water": "/sites/grange/water",
    "station_water": "/sites/grange/water/1",
    "why": "/sites/grange/why/1",
    "door": "/sites/grange/door",
    "heat": "/sites/grange/heat",
    "visit": "/sites/grange/visit",
    "visit_recorded": "/sites/grange/visits/{visit}",
    "visit_sheet": "/sites/grange/visits/{visit}/sheet",
    "sign_in": "/sign-in",
}


def asked_ms(client, path):
    began = time.perf_counter()
    answer = client.get(path)
    assert answer.status_code == 200, (path, answer.status_code)
    return 1000 * (time.perf_counter() - began), answer


def first_view_bytes(client, page):
    parts = sorted(set(re.findall(r'(?:href|src)="(/static/[^"]+|[^"]+\.svg)"', page.text)))
    return sum(int(each.headers["content-length"]) for each in (page, *(client.get(part) for part in parts)))


def add_properties(service, plan):
    """Put properties with a plan of their own each, behind the one that is looked at."""
    from etsched.stores import plans, sites
    from etsched.usecases.properties import get_site

    like, now = get_site(service, "grange"), service.clock.now()
    with service.database.writing() as writing:
        for number in range(PROPERTIES - 1):
            site, document = f"place-{number:04}", plan.document + " " * number
            sites.put_site(writing, replace(like, site=site, name=f"Place {number}", revision=1), now, "bench")
            digest = sha256(document.encode()).hexdigest()
            plans.put_plan(writing, replace(plan, site=site, revision=1, document=document, digest=digest))


def main():
    from starlette.testclient import TestClient

    from etsched.model.access import Role
    from etsched.stores import migrate, plans, water
    from etsched.stores.database import Database
    from etsched.usecases.access import make_user
    from etsched.usecases.daily import plan_now
    from etsched.usecases.properties import put_site
    from etsched.usecases.record_visit import record_visit
    from etsched.web.app import make_app
    from tests.browser.conftest import forty_stations
    from tests.web.conftest import WIDE, planned, served

    with tempfile.TemporaryDirectory() as folder, Database(f"sqlite:///{folder}/bench.db") as database:
        migrate.upgrade(database)
        service = served(database, ROOT)
        document = (ROOT / "demo" / "site.toml").read_text("utf-8")
        put_site(service, "grange", document, "bench")
        put_site(service, "forty", forty_stations(document), "bench")
        plan_now(service, "forty", "bench")
        plan, weather = planned(ROOT)
        with database.writing() as writing:
            water.put_weather(writing, "grange", *weather)
            plans.put_plan(writing, plan)
        make_user(database, service.clock.now(), "ada", PASSWORD, Role.ADMIN, None)
        client = TestClient(make_app(service, WIDE), base_url="http://localhost")
        client.post("/sign-in", data={"name": "ada", "password": PASSWORD})
        visit = record_visit(service, "grange", (ROOT / "demo" / "visit-1.toml").read_text("utf-8"), "bench").visit
        for name, path in PAGES.items():
            times = [asked_ms(client, path.format(visit=visit)) for _ in range(ROUNDS)]
            print(f"figure page_{name}_ms {median(each for each, _ in times):.0f} ms")
            print(f"figure page_{name}_kb {first_view_bytes(client, times[0][1]) / 1000:.0f} kB")
        add_properties(service, plan)
        first_ms, _ = asked_ms(client, "/")
        print(f"figure portfolio_1000_first_ms {first_ms:.0f} ms")
        print(f"figure portfolio_1000_ms {median(asked_ms(client, '/?page=7')[0] for _ in range(ROUNDS)):.0f} ms")


if __name__ == "__main__":
    main()
