"""The service of a real machine: its database, its clock, its feeds, its settings."""

from __future__ import annotations

from contextlib import contextmanager
from pathlib import Path
from threading import Lock
from typing import TYPE_CHECKING

from etsched.bootstrap.clock import WallClock
from etsched.bootstrap.gateway import gateway
from etsched.errors import OutputRefused, PlanRefused, StoreRefused
from etsched.stores import migrate
from etsched.stores.database import Database
from etsched.usecases.service import Service
from etsched.usecases.weather import Refresh, site_weather

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from datetime import datetime

    from etsched.frames.weather import Weather
    from etsched.model.site import Site
    from etsched.ports import Clock
    from etsched.settings import Settings
    from etsched.usecases.weather import Gateway

# For how long an answer of a feed serves every site of its cell before the feed is asked again.
_ROUND_S = 300.0


@contextmanager
def service_of(settings: Settings, clock: Clock | None = None) -> Iterator[Service]:
    """Open the database and put the parts together. Raises StoreRefused unless it is at this program's step."""
    with opened(settings) as database:
        migrate.check(database)
        clock = clock or WallClock()
        parts = gateway(settings, clock)
        yield Service(database, clock, weather_from_feeds(parts), settings, parts.client.give_up)


def opened(settings: Settings) -> Database:
    """Open the database that the settings name, at whatever step it is; a file that is not there is not made."""
    database = Database(settings.database)
    file = sqlite_file(database)
    if file is not None and not file.exists():
        raise StoreRefused(f"there is no database at {file} yet; run etsched migrate, which makes it")
    return database


def database_to_fill(settings: Settings) -> Database:
    """Open the database that the settings name, which may not be there yet. Raises StoreRefused, OutputRefused."""
    database = Database(settings.database)
    if file := sqlite_file(database):
        make_folder(file.parent)
    return database


def make_folder(folder: Path) -> None:
    """Make a folder for what the service keeps, for its owner alone: it will hold what signs webhooks."""
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    except OSError as error:
        raise OutputRefused(f"{folder}: the folder cannot be made ({error.strerror}); name another place.") from error


def sqlite_file(database: Database) -> Path | None:
    """Give the file of a database that is one."""
    named = database.url.database or ":memory:"
    named = named.removeprefix("file:")  # as SQLite writes an address that says more, such as ?mode=ro&uri=true
    return Path(named) if database.is_sqlite and named != ":memory:" else None


def weather_from_feeds(parts: Gateway) -> Callable[[Site], Weather]:
    """Give what asks a site's feeds and makes one weather of them; sites of one cell share an answer for a while."""
    return _Rounds(parts).weather_of


class _Rounds:
    """Rounds of asking, one after the other; only one thread asks at a time."""

    def __init__(self, parts: Gateway) -> None:
        self._parts = parts
        self._lock = Lock()
        self._began: datetime | None = None
        self._refresh = Refresh(parts)

    def weather_of(self, site: Site) -> Weather:
        """Give a site's weather. Raises PlanRefused where no feed has any, or the site names a file."""
        named = [link.file for link in site.feeds if link.file]
        if named:
            # A property comes in from outside, and no file of this machine is read because it says so.
            raise PlanRefused(
                f'the service reads no weather files and the site names "{named[0]}"; name the feed it comes from'
            )
        with self._lock:
            now = self._parts.clock.now()
            if self._began is None or not 0.0 <= (now - self._began).total_seconds() < _ROUND_S:
                self._began, self._refresh = now, Refresh(self._parts)
            self._refresh.ask_for(site)
            return site_weather(site, Path(), self._parts, self._refresh).weather
