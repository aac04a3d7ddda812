"""A site's weather from its chain of feeds: asked anew, kept, and made one; what fails is said and never guessed."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import timedelta
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING

from etsched.errors import FeedFailed, PlanRefused
from etsched.feeds.ask import FeedAsk, FeedHost
from etsched.feeds.catalogue import CATALOGUE, span
from etsched.feeds.cells import cell_of
from etsched.frames.weather import Weather
from etsched.planning.ensemble_range import ensemble_range
from etsched.planning.outlook import WEEK_D
from etsched.planning.weather_chain import chained
from etsched.planning.weather_days import days_from_weather

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable
    from datetime import date

    from etsched.feeds.catalogue import Feed
    from etsched.frames.ensemble import Ensemble
    from etsched.http_client import HttpClient
    from etsched.model.plan import DayWeather
    from etsched.model.site import FeedChoice, Site
    from etsched.ports import Clock
    from etsched.stores.weather_bodies import WeatherBodies
    from etsched.units import UnitSystem


@dataclass(frozen=True, slots=True)
class Gateway:
    """What weather needs of the outside: a client, where each feed answers, where answers are kept, and a clock."""

    client: HttpClient
    host_of: Callable[[str], FeedHost]
    bodies: WeatherBodies
    clock: Clock


@dataclass(frozen=True, slots=True)
class LinkReport:
    """What came of one link of a chain: `answered`, `kept` (an earlier answer serves) or `nothing`."""

    feed: str
    outcome: str
    sentence: str
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class SiteWeather:
    """A site's weather as one, and what came of each link."""

    site: Site
    today: date
    weather: Weather
    links: tuple[LinkReport, ...]

    @property
    def system(self) -> UnitSystem:
        """The units that the site's readers read."""
        return "metric" if self.site.units == "metric" else "us"

    @property
    def fortnight(self) -> tuple[DayWeather, ...]:
        """The last week's days and the next, as a plan would take them. Raises PlanRefused."""
        days = days_from_weather(self.weather, self.site)
        begin = max(days.first, self.today - timedelta(days=WEEK_D))
        return days.between(begin, 2 * WEEK_D).records


@dataclass(slots=True)
class Refresh:
    """One round of asking: each cell or station of a feed is asked once, whatever number of sites lie in it."""

    gateway: Gateway
    failures: dict[tuple[str, str], str] = field(default_factory=dict)
    asked: set[tuple[str, str]] = field(default_factory=set)

    def ask_for(self, site: Site) -> None:
        """Ask every link of a site's chain that this round has not asked yet; a failure is remembered, not raised."""
        for link in site.feeds:
            feed = CATALOGUE[link.feed]
            key = (link.feed, feed.kept_as(site.place, link.station))
            if link.file or key in self.asked:
                continue
            self.asked.add(key)
            try:
                self._fetch(feed, link, site, key)
            except FeedFailed as error:
                self.failures[key] = str(error)

    def _fetch(self, feed: Feed, link: FeedChoice, site: Site, key: tuple[str, str]) -> None:
        host = self.gateway.host_of(link.feed)
        if not host.base_url:
            raise FeedFailed(f"no address is set for the {link.feed}; give it a base_url in the settings")
        known = self.gateway.bodies.latest(*key)
        ask = _ask(site, link, feed, self.gateway.clock.today(site.place.zone))
        raw, weather = feed.fetch(self.gateway.client, host, ask, known.raw if known else None)
        self.gateway.bodies.keep(*key, raw, _digest(weather))


def _ask(site: Site, link: FeedChoice, feed: Feed, today: date) -> FeedAsk:
    first, last = span(today)
    place = site.place
    if feed.by_place:
        latitude, longitude = cell_of(feed.key, place)
        place = replace(place, latitude_deg=latitude, longitude_deg=longitude)
    return FeedAsk(place, first, last, today, link.station)


def _digest(found: Weather | Ensemble) -> str:
    """Name a weather by its values, whatever else its answer carries, such as the time it took to make."""
    if isinstance(found, Weather):
        return sha256(found.daily.to_csv().encode()).hexdigest()
    return sha256(b"".join(values.tobytes() for values in (found.tmin_c, found.tmax_c, found.rain_mm))).hexdigest()


def site_weather(site: Site, site_file: Path, gateway: Gateway, refresh: Refresh | None = None) -> SiteWeather:
    """Make one weather of what is kept of every link of a site's chain; `refresh` says what could not be asked anew.

    Raises PlanRefused where the site names no feed or no link has any weather.
    """
    if not site.feeds:
        raise PlanRefused("the site file names no weather feed; add a [[weather]] table or hand over a weather file")
    reports: list[LinkReport] = []
    found: list[Weather] = []
    members: Ensemble | None = None
    for link in site.feeds:
        answer, report = _link(site, site_file, link, gateway, refresh)
        reports.append(report)
        if isinstance(answer, Weather):
            found.append(answer)
        elif answer is not None:
            members = answer
    if not found:
        raise PlanRefused("no weather: " + "; ".join(report.sentence for report in reports))
    whole = chained(found, site.place)
    if members is not None:
        whole = replace(whole, spread=ensemble_range(members, site.place))
    notes = tuple(f"{report.sentence}." for report in reports if report.outcome != "answered")
    return SiteWeather(
        site, gateway.clock.today(site.place.zone), replace(whole, notes=(*notes, *whole.notes)), tuple(reports)
    )


def _link(
    site: Site, site_file: Path, link: FeedChoice, gateway: Gateway, refresh: Refresh | None
) -> tuple[Weather | Ensemble | None, LinkReport]:
    feed = CATALOGUE[link.feed]
    today = gateway.clock.today(site.place.zone)
    first, last = span(today)
    ask = FeedAsk(site.place, first, last, today, link.station)
    if link.file:
        return _from_file(feed, site_file.parent / link.file, ask)
    key = (link.feed, feed.kept_as(site.place, link.station))
    failed = refresh.failures.get(key) if refresh is not None else None
    kept = gateway.bodies.latest(*key)
    if kept is None:
        why = failed or "it was never asked"
        return None, LinkReport(link.feed, "nothing", f"{link.feed} gives nothing: {why}")
    # What was a forecast when it was fetched stays one, even when its day has passed.
    then = min(today, kept.raw.fetched.astimezone(site.place.zone).date())
    try:
        weather = feed.parse(kept.raw, replace(ask, today=then))
    except FeedFailed as error:
        return None, LinkReport(
            link.feed, "nothing", f"{link.feed} gives nothing: its kept answer cannot be used, {error}"
        )
    if weather.origin is not None:
        weather = replace(weather, origin=replace(weather.origin, revision=kept.revision, fetched=kept.raw.fetched))
    age = _age(gateway.clock.now() - kept.raw.fetched)
    fetched = f"{kept.raw.fetched.astimezone(site.place.zone):%Y-%m-%d %H:%M}"
    if failed:
        sentence = f"{link.feed} could not be asked ({failed}); its answer of {fetched}, {age} old, is used"
        return weather, LinkReport(link.feed, "kept", sentence, weather.notes)
    return weather, LinkReport(
        link.feed, "answered", f"{link.feed}: answer of {fetched}, revision {kept.revision}", weather.notes
    )


def _from_file(feed: Feed, path: Path, ask: FeedAsk) -> tuple[Weather | None, LinkReport]:
    try:
        weather = feed.read(path, ask)
        return weather, LinkReport(feed.key, "answered", f"{feed.key}: {path.name}", weather.notes)
    except FeedFailed as error:
        return None, LinkReport(feed.key, "nothing", f"{feed.key} gives nothing: {error}")


def _age(passed: timedelta) -> str:
    hours = passed.total_seconds() / 3600.0
    return f"{hours:.0f} h" if hours < 48 else f"{hours / 24:.0f} days"


def refresh_all(sites: Iterable[Site], gateway: Gateway) -> Refresh:
    """Ask the feeds of many sites, each cell and station once."""
    refresh = Refresh(gateway)
    for site in sites:
        refresh.ask_for(site)
    return refresh
