"""The service on the invented property, its weather feeds played on this machine: python demo/serve.py

Its clock begins at 21:30 on 13 July 2026 at Cobble Ferry, half an hour before the night's window opens, and runs
faster than the one on the wall, so that a night takes minutes. What it keeps lies in demo/out/service; pull its plug
and start it again, and it goes on from where the clock would be. `--fresh` begins anew. With `--then`, the rest of the
line is run once the service answers, with DEMO_URL, DEMO_KEY, DEMO_SITE and DEMO_SPEED in its environment, and the
service is stopped when that ends.
"""

from __future__ import annotations

import argparse
import json
import os
import shutil
import signal
import subprocess
import sys
import time
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from threading import Thread
from urllib.error import URLError
from urllib.request import urlopen
from zoneinfo import ZoneInfo

HERE = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE.parent))

from demo.weather_server import start_weather_server  # noqa: E402 - the demo runs without being installed
from demo.with_feeds import TODAY, settings  # noqa: E402
from etsched.bootstrap.logs import configure_service_logging  # noqa: E402
from etsched.bootstrap.service import database_to_fill, service_of  # noqa: E402
from etsched.bootstrap.serving import serve  # noqa: E402
from etsched.errors import EtschedError  # noqa: E402
from etsched.model.access import Role, Scope  # noqa: E402
from etsched.settings import read_settings  # noqa: E402
from etsched.stores import migrate, plans, sites  # noqa: E402
from etsched.usecases.access import make_key, make_user  # noqa: E402
from etsched.usecases.daily import plan_now  # noqa: E402
from etsched.usecases.properties import put_site  # noqa: E402
from etsched.usecases.service import Service  # noqa: E402

SITE = "thistledown-grange"
# Everybody may know it: the demo answers this machine alone.
PERSON, PASSWORD = "demo", "look around here"
BEGINS = datetime(2026, 7, 13, 21, 30, tzinfo=ZoneInfo("America/Los_Angeles"))


@dataclass(frozen=True)
class FastClock:
    """A clock that began with the demo and runs `speed` times as fast as the one on the wall."""

    started_s: float  # on the wall, seconds since 1970
    speed: float

    def now(self) -> datetime:
        return BEGINS.astimezone(UTC) + timedelta(seconds=(time.time() - self.started_s) * self.speed)

    def today(self, zone: ZoneInfo) -> date:
        return self.now().astimezone(zone).date()


def clock_of(folder: Path, speed: float) -> FastClock:
    """Give the clock that this folder's demo began with; one that begins now where it is new."""
    kept = folder / "clock.json"
    if not kept.exists():
        kept.write_text(json.dumps({"started_s": time.time(), "speed": speed}), encoding="utf-8")
    return FastClock(**json.loads(kept.read_text("utf-8")))


STANDING = FastClock(0.0, 0.0)  # while the property is brought in


def write_settings(folder: Path, feeds_url: str, port: int) -> Path:
    """Write the settings of a service whose feeds are all on this machine."""
    own = (
        f'database = "sqlite:///{(folder / "etsched.db").as_posix()}"\n'
        f'backups_kept_in = "{(folder / "backups").as_posix()}"\nlog_level = "warning"\n'
    )
    rest = f"[web]\nport = {port}\n\n[jobs]\ntick_s = 1\n"
    path = folder / "settings.toml"
    path.write_text("\n".join((own + settings(feeds_url, folder / "weather"), rest)), encoding="utf-8")
    return path


def bring_in(service: Service) -> None:
    """Put the property in and plan its first night, where that has not been done."""
    with service.database.reading() as reading:
        known, planned = sites.find_site(reading, SITE), plans.latest_plan(reading, SITE)
    if known is None:
        put_site(service, SITE, (HERE / "site.toml").read_text("utf-8"), "demo")
        make_user(service.database, service.clock.now(), PERSON, PASSWORD, Role.ADMIN, None)
    if planned is None:
        plan_now(service, SITE, "demo")


def run_then(command: list[str], environment: dict[str, str], codes: list[int]) -> None:
    """Run a command once the service answers, and stop the service when it has ended."""
    url = environment["DEMO_URL"] + "/health"
    for _ in range(200):
        try:
            urlopen(url, timeout=1).close()  # noqa: S310 - the service of this process
            break
        except (URLError, OSError):
            time.sleep(0.05)
    codes.append(subprocess.run(command, env=environment, check=False).returncode)  # noqa: S603 - words of the caller
    os.kill(os.getpid(), signal.SIGTERM)


def arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description="The service on the invented property, on loopback feeds.")
    parser.add_argument("--out", type=Path, default=HERE / "out" / "service", metavar="FOLDER", help="what it keeps")
    parser.add_argument("--fresh", action="store_true", help="begin anew")
    parser.add_argument("--port", type=int, default=8470)
    parser.add_argument("--speed", type=float, default=120.0, help="hours an hour; default 120, a night in 4 minutes")
    parser.add_argument("--then", nargs=argparse.REMAINDER, default=[], metavar="COMMAND", help="run this, then stop")
    return parser.parse_args()


def main() -> int:
    given = arguments()
    out = given.out.resolve()
    if given.fresh:
        shutil.rmtree(out, ignore_errors=True)
    out.mkdir(parents=True, exist_ok=True)
    codes: list[int] = []
    with start_weather_server(TODAY) as feeds:
        read = read_settings(write_settings(out, feeds.base_url, given.port), {})
        with database_to_fill(read) as database:
            migrate.upgrade(database)
        with service_of(read, STANDING) as service:
            bring_in(service)
        clock = clock_of(out, given.speed)
        with service_of(read, clock) as service:
            may = frozenset({Scope.READ, Scope.REPORT})
            _, secret = make_key(service.database, clock.now(), "demo controller", may, frozenset({SITE}), None)
            url = f"http://127.0.0.1:{read.web.port}"
            print(f"It is {clock.now().astimezone(BEGINS.tzinfo):%d %B, %H:%M} at Cobble Ferry.", file=sys.stderr)
            print(f"The service answers on {url}/v1/sites/{SITE}/tonight", file=sys.stderr)
            print(f"with this key, shown once (Authorization: Bearer ...): {secret}", file=sys.stderr)
            print(f'For people: {url}/ (sign in as "{PERSON}" with "{PASSWORD}")', file=sys.stderr)
            configure_service_logging(read.log_level)
            if given.then:
                known = {"DEMO_URL": url, "DEMO_KEY": secret, "DEMO_SITE": SITE, "DEMO_SPEED": str(clock.speed)}
                Thread(target=run_then, args=(given.then, os.environ | known, codes), daemon=True).start()
            serve(service, with_jobs=True)
    return codes[0] if codes else 0


if __name__ == "__main__":
    try:
        sys.exit(main())
    except EtschedError as refused:
        print(refused, file=sys.stderr)
        sys.exit(refused.exit_code)
