"""The questions the Open-Meteo hosts take: parameters checked one by one, refused in the hosts' own sentences."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

from .exchange import MOST_DAYS, Ask, World
from .open_meteo_values import DAILY, HOURLY


class Refused(Exception):
    """A question that is answered with status 400 and a reason."""


@dataclass(frozen=True, slots=True)
class Host:
    """What differs from one host to the next. `members` are those of an ensemble model beside its control."""

    name: str
    models: dict[str, int]
    grid_deg: float
    past_days: int = 92
    ahead_days: int = 16
    is_archive: bool = False


# Range and models as documented; member counts of the ensembles from memory, to be verified. Grid steps are
# round figures near the models' own.
FORECAST = Host("open-meteo-forecast", {"best_match": 0}, 0.0703)
ARCHIVE = Host(
    "open-meteo-archive",
    dict.fromkeys(("best_match", "era5_seamless", "era5", "era5_land", "ecmwf_ifs", "cerra"), 0),
    0.1005,
    ahead_days=1,
    is_archive=True,
)
ENSEMBLE = Host(
    "open-meteo-ensemble",
    {
        "dwd_icon_seamless_eps": 39,
        "ncep_gefs025": 30,
        "ncep_gefs_seamless": 30,
        "ecmwf_ifs025_ensemble": 50,
        "cmc_gem_geps": 20,
    },
    0.2507,
    ahead_days=36,
)


@dataclass(frozen=True, slots=True)
class Wanted:
    """A question that can be answered. `offset_s` is the one distance from UTC that holds for the whole answer."""

    places: tuple[tuple[float, float, float | None], ...]
    first: date
    last: date
    zone: str
    offset_s: int
    is_unix: bool
    units: dict[str, str]
    hourly: tuple[str, ...]
    daily: tuple[str, ...]
    models: tuple[str, ...]

    @property
    def days(self) -> int:
        return (self.last - self.first).days + 1

    @property
    def variables(self) -> int:
        return (len(self.hourly) + len(self.daily)) * len(self.models)


_MOST_PLACES = 1000
_HIGHEST_M = 9000
# Choices of a parameter, the default first.
_CHOICES = {
    "temperature_unit": ("celsius", "fahrenheit"),
    "wind_speed_unit": ("kmh", "ms", "mph", "kn"),
    "precipitation_unit": ("mm", "inch"),
    "timeformat": ("iso8601", "unixtime"),
    "cell_selection": ("land", "sea", "nearest"),
    "format": ("json",),  # the hosts also write csv, xlsx and flatbuffers; this server does not
}
_KNOWN = {
    *_CHOICES, "latitude", "longitude", "elevation", "hourly", "daily", "timezone", "models", "apikey",
    "past_days", "forecast_days", "start_date", "end_date",
}  # fmt: skip
# From memory, to be verified; what follows it names a type of the hosts' own.
_CORRUPTED = "Data corrupted at path ''. Cannot initialize"


def wanted(ask: Ask, host: Host, world: World) -> Wanted:
    """Take a question apart; raise Refused with the host's reason.

    The hosts pass over names that they do not know. Here they are refused, so that a misspelt one is found.
    """
    unknown = sorted(set(ask.query) - _KNOWN)
    if unknown:
        raise Refused(f"Unknown parameter '{unknown[0]}'")
    places = _places(ask)
    units = {name: _choice(ask, name) for name in _CHOICES}
    zone, offset_s = _zone(ask, places[0][1], world)
    first, last = _days(ask, host, world, offset_s)
    if (last - first).days >= MOST_DAYS:
        raise Refused(f"More than {MOST_DAYS} days at once")  # own bound
    return Wanted(
        places=places,
        first=first,
        last=last,
        zone=zone,
        offset_s=offset_s,
        is_unix=units["timeformat"] == "unixtime",
        units=units,
        hourly=_names(ask, "hourly", set(HOURLY)),
        daily=_names(ask, "daily", set(DAILY)),
        models=_models(ask, host),
    )


def _choice(ask: Ask, name: str) -> str:
    choices = _CHOICES[name]
    given = ask.query.get(name, choices[0])
    if given not in choices:
        raise Refused(f"Cannot initialize {name} from invalid String value {given}")  # from memory, to be verified
    return given


def _floats(ask: Ask, name: str) -> list[float]:
    try:
        return [float(word) for word in ask.list_of(name)]
    except ValueError:
        raise Refused(f"Parameter '{name}' is not a number") from None  # own words


def _places(ask: Ask) -> tuple[tuple[float, float, float | None], ...]:
    latitudes, longitudes, elevations = (_floats(ask, name) for name in ("latitude", "longitude", "elevation"))
    if not latitudes or len(latitudes) != len(longitudes):
        # From memory, to be verified.
        raise Refused("Parameter 'latitude' and 'longitude' must have the same number of elements")
    if len(latitudes) > _MOST_PLACES:
        raise Refused(f"More than {_MOST_PLACES} locations at once")  # own words; the number from memory
    if elevations and len(elevations) != len(latitudes):
        raise Refused("Parameter 'elevation' must have the same number of elements as coordinates")  # from memory
    if any(abs(height) > _HIGHEST_M for height in elevations):
        raise Refused(f"Parameter 'elevation' must be in range of -{_HIGHEST_M} to {_HIGHEST_M}")  # own bound
    for latitude in latitudes:
        if not -90 <= latitude <= 90:
            raise Refused(f"Latitude must be in range of -90 to 90°. Given: {latitude}.")
    for longitude in longitudes:
        if not -180 <= longitude <= 180:
            raise Refused(f"Longitude must be in range of -180 to 180°. Given: {longitude}.")
    heights: list[float | None] = [*elevations] or [None] * len(latitudes)
    return tuple(zip(latitudes, longitudes, heights, strict=True))


def _zone(ask: Ask, longitude: float, world: World) -> tuple[str, int]:
    """Give the zone's name and its distance from UTC at the moment of the request, whatever days are asked for."""
    name = ask.query.get("timezone", "GMT")
    if name == "auto":  # the hosts look the zone up on a map; this server has only the 15° bands
        hours = round(longitude / 15)
        return f"Etc/GMT{-hours:+d}" if hours else "GMT", hours * 3600
    try:
        offset = world.now.astimezone(ZoneInfo(name)).utcoffset()
    except (ValueError, OSError, KeyError):  # a zone that is not found is a KeyError
        raise Refused("Invalid timezone") from None
    return name, int((offset or timedelta()).total_seconds())


def _date(ask: Ask, name: str) -> date:
    try:
        return datetime.strptime(ask.query[name], "%Y-%m-%d").replace(tzinfo=UTC).date()
    except ValueError:
        raise Refused(f"Invalid date format for '{name}'. Make sure to use 'YYYY-MM-DD'") from None  # own words


def _count(ask: Ask, name: str, default: int, most: int) -> int:
    given = ask.query.get(name, str(default))
    if not given.isdecimal() or int(given) > most:
        words = name.replace("_", " ").capitalize()
        raise Refused(f"{words} is invalid. Allowed range 0 to {most}. Given {given}.")  # from memory, to be verified
    return int(given)


def _days(ask: Ask, host: Host, world: World, offset_s: int) -> tuple[date, date]:
    bounds, counts = {"start_date", "end_date"} & set(ask.query), {"past_days", "forecast_days"} & set(ask.query)
    if bounds and counts:
        raise Refused(f"Parameter '{min(counts, key=len)}' is mutually exclusive with 'start_date' and 'end_date'")
    if len(bounds) == 1 or (host.is_archive and not bounds):
        raise Refused("Both 'start_date' and 'end_date' must be set in the url")
    today = (world.now + timedelta(seconds=offset_s)).date()
    if bounds:
        return _range(ask, host, today)
    past = _count(ask, "past_days", 0, host.past_days)
    ahead = _count(ask, "forecast_days", 7, host.ahead_days)
    if past + ahead == 0:
        raise Refused("Forecast days is invalid. Allowed range 0 to 16. Given 0.")  # own choice
    issued = today - (world.today - world.issued)
    return issued - timedelta(days=past), issued + timedelta(days=ahead - 1)


def _range(ask: Ask, host: Host, today: date) -> tuple[date, date]:
    earliest = date(1940, 1, 1) if host.is_archive else today - timedelta(days=host.past_days + 1)
    latest = today + timedelta(days=host.ahead_days)
    found = {name: _date(ask, name) for name in ("start_date", "end_date")}
    for name, day in found.items():
        if not earliest <= day < latest:
            raise Refused(f"Parameter '{name}' is out of allowed range from {earliest} to {latest}")
    if found["end_date"] < found["start_date"]:
        raise Refused("Parameter 'end_date' must not be before 'start_date'")  # own words
    return found["start_date"], found["end_date"]


def _names(ask: Ask, kind: str, known: set[str]) -> tuple[str, ...]:
    names = ask.list_of(kind)
    for name in names:
        if name not in known:
            raise Refused(f"{_CORRUPTED} {kind} variable from invalid String value {name}.")
    return tuple(dict.fromkeys(names))


def _models(ask: Ask, host: Host) -> tuple[str, ...]:
    models = ask.list_of("models") or (["best_match"] if "best_match" in host.models else [])
    if not models:
        raise Refused("Value of type 'String' required for key 'models'.")  # from memory, to be verified
    for model in models:
        if model not in host.models:
            raise Refused(f"{_CORRUPTED} MultiDomains from invalid String value {model}.")
    return tuple(dict.fromkeys(models))
