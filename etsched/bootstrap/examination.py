"""The doctor's questions, one after the other: what holds, what does not, and what to do about it."""

from __future__ import annotations

import shutil
import tempfile
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from etsched.bootstrap.service import opened, sqlite_file, weather_from_feeds
from etsched.documents.site_file import parse_site
from etsched.errors import EtschedError
from etsched.stores import examination, migrate, sites

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import datetime

    from etsched.bootstrap.clock import WallClock
    from etsched.model.site import Site
    from etsched.settings import ReadSettings
    from etsched.stores.database import Database

# Common practice, no source: less room than this and a busy season fills the disk before anybody looks again.
_LEAST_ROOM_MB = 500
_CLOCK_MAY_LAG = timedelta(minutes=5)
_SOON = timedelta(days=14)


@dataclass(frozen=True, slots=True)
class Answer:
    """What came of one question; `words` say what to do where it is not well."""

    asked: str
    well: bool
    words: str


def examine(read: ReadSettings, clock: WallClock, asks_feeds: bool) -> Iterator[Answer]:
    """Ask everything in order; what cannot be asked because of an earlier answer is left out."""
    yield _settings(read)
    yield _folder("weather folder", read.settings.folder)
    try:
        with opened(read.settings) as database:
            migrate.check(database)
            yield from _database(database, clock)
            yield from _sites(database, read, clock, asks_feeds)
    except EtschedError as refused:
        yield Answer("database", False, str(refused))


def _settings(read: ReadSettings) -> Answer:
    if read.unknown:
        words = f"{', '.join(read.unknown)} in the environment is no setting; etsched config show lists the names"
        return Answer("settings", False, words)
    return Answer("settings", True, "can be read")


def _folder(asked: str, folder: Path) -> Answer:
    """Ask whether a folder takes a file; one that is not there yet is asked of the nearest that is."""
    at = next(place for place in (folder, *folder.absolute().parents) if place.exists())
    try:
        with tempfile.TemporaryFile(dir=at):
            pass
    except OSError as error:
        return Answer(asked, False, f"{folder} cannot be written ({error.strerror}); give this user the right to")
    return _room(asked, at, folder)


def _room(asked: str, at: Path, named: Path) -> Answer:
    free_mb = shutil.disk_usage(at).free // 1_000_000
    if free_mb < _LEAST_ROOM_MB:
        return Answer(asked, False, f"{named} has {free_mb:,} MB left; make room, {_LEAST_ROOM_MB} MB at least")
    return Answer(asked, True, f"{named} can be written and has {free_mb:,} MB left")


def _database(database: Database, clock: WallClock) -> Iterator[Answer]:
    wrong = examination.damage(database)
    step = f"is at step {migrate.head()} and whole"
    yield Answer("database", not wrong, f"is damaged ({wrong}); restore a backup" if wrong else step)
    if file := sqlite_file(database):
        yield _folder("database's folder", file.absolute().parent)
    now = clock.now()
    with database.reading() as reading:
        latest = examination.latest_instant(reading)
        failed = examination.failed_since(reading, now - timedelta(days=1))
        expiring = examination.expiring(reading, now, now + _SOON)
    yield _clock(now, latest)
    for site, job, note in failed:
        yield Answer("jobs", False, f"{job} of {site} failed within a day: {note}")
    if not failed:
        yield Answer("jobs", True, "none failed within a day")
    for name, end in expiring:
        yield Answer("keys", False, f'"{name}" ends on {end:%Y-%m-%d}; make a new one with etsched key create')
    if not expiring:
        yield Answer("keys", True, f"none ends within {_SOON.days} days")


def _clock(now: datetime, latest: datetime | None) -> Answer:
    says = f"says {now:%Y-%m-%d %H:%M} UTC"
    if latest is not None and latest > now + _CLOCK_MAY_LAG:
        words = f"{says}, and something was written down at {latest:%Y-%m-%d %H:%M}; set the machine's clock"
        return Answer("clock", False, words)
    return Answer("clock", True, f"{says}, not before anything that is kept")


def _sites(database: Database, read: ReadSettings, clock: WallClock, asks_feeds: bool) -> Iterator[Answer]:
    with database.reading() as reading:
        kept = list(sites.each_site(reading))
    if asks_feeds:
        from etsched.bootstrap.gateway import gateway

        weather_of = weather_from_feeds(gateway(read.settings, clock))
    for each in kept:
        asked = f"site {each.site}"
        try:
            site = parse_site(each.document, each.site)
            missing = _missing(site, read)
            if asks_feeds and not missing:
                weather_of(site)
        except EtschedError as refused:
            yield Answer(asked, False, " ".join(str(refused).split()))
            continue
        well = "can be read, and its feeds " + ("give weather" if asks_feeds else "have addresses")
        yield Answer(asked, not missing, missing or well)
    if not kept:
        yield Answer("sites", True, "none yet; etsched site put KEY FILE brings one in")


def _missing(site: Site, read: ReadSettings) -> str:
    """Say what keeps a site's feeds from being asked."""
    if not site.feeds:
        return "names no weather feed; add a [[weather]] table to its file"
    nowhere = [link.feed for link in site.feeds if not read.settings.host_of(link.feed)[0]]
    if nowhere:
        return f"no address is set for its {nowhere[0]}; give it a base_url in the settings"
    if "nws grid" in {link.feed for link in site.feeds} and not read.settings.contact:
        return "the US weather service wants to know whom to write to; set contact in the settings"
    return ""
