"""Service settings: where feeds answer, which keys they want, where weather is kept. TOML, then the environment."""

from __future__ import annotations

import os
import tomllib
from pathlib import Path
from typing import TYPE_CHECKING

from pydantic import BaseModel, ConfigDict, Field, SecretStr, ValidationError

from etsched.errors import Problem, SettingsRefused

if TYPE_CHECKING:
    from collections.abc import Mapping

ENVIRONMENT_FILE = "ETSCHED_SETTINGS"  # names the settings file
ENVIRONMENT_KEY = "ETSCHED_KEY_"  # followed by the feed's name, as in ETSCHED_KEY_OPEN_METEO_FORECAST

# Where the public feeds answer. The free Open-Meteo hosts are for non-commercial use; a deployment that earns money
# names the paid hosts or its own and a key. A gauge or a station file has no public host.
HOSTS = {
    "rain gauge": "",
    "agronomic station": "",
    "ghcn daily": "https://www.ncei.noaa.gov",
    "open-meteo forecast": "https://api.open-meteo.com",
    "open-meteo archive": "https://archive-api.open-meteo.com",
    "open-meteo ensemble": "https://ensemble-api.open-meteo.com",
    "nws grid": "https://api.weather.gov",
    "nasa power": "https://power.larc.nasa.gov",
}


class _Table(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, strict=True)


class HostSettings(_Table):
    """Where one feed answers; a key belongs in the environment and is taken from here only where it must be."""

    base_url: str = ""
    api_key: SecretStr = SecretStr("")


class Settings(_Table):
    """Everything a deployment sets; what is not set has the public default."""

    weather_kept_in: str = Field("", description="Folder of kept feed answers; empty: beside the user's cache.")
    contact: str = Field("", description="Whom a feed's provider may write to; the US weather service requires it.")
    feed: dict[str, HostSettings] = Field(default_factory=dict)

    def host_of(self, feed: str, environment: Mapping[str, str]) -> tuple[str, str]:
        """Give a feed's base URL and key; a key in the environment outranks the file."""
        given = self.feed.get(feed, HostSettings())
        key = environment.get(ENVIRONMENT_KEY + feed.upper().replace(" ", "_").replace("-", "_"), "")
        return given.base_url or HOSTS[feed], key or given.api_key.get_secret_value()

    def folder(self, environment: Mapping[str, str]) -> Path:
        """Give the folder in which feed answers are kept."""
        if self.weather_kept_in:
            return Path(self.weather_kept_in)
        cache = environment.get("XDG_CACHE_HOME") or str(Path.home() / ".cache")
        return Path(cache) / "etsched" / "weather"


def read_settings(path: Path | None, environment: Mapping[str, str] = os.environ) -> Settings:
    """Read the settings file that is named, else the one the environment names, else the defaults.

    Raises SettingsRefused with every problem.
    """
    named = path or (Path(environment[ENVIRONMENT_FILE]) if environment.get(ENVIRONMENT_FILE) else None)
    if named is None:
        return Settings()
    try:
        settings = Settings.model_validate(tomllib.loads(named.read_text(encoding="utf-8-sig")))
    except OSError as error:
        raise _refused(named, "", f"the file cannot be read ({error.strerror})", "name a file that exists") from None
    except (UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise _refused(named, "", f"this is no TOML ({error})", "mend that place") from None
    except ValidationError as error:
        problems = [
            Problem(
                str(named),
                None,
                ".".join(map(str, fault["loc"])),
                _WRONG.get(fault["type"], "it does not fit"),
                _REMEDY,
            )
            for fault in error.errors(include_url=False, include_input=False)
        ]
        raise SettingsRefused(problems) from None
    unknown = sorted(set(settings.feed) - set(HOSTS))
    if unknown:
        raise _refused(named, f"feed.{unknown[0]}", "there is no such feed", f"write one of {', '.join(HOSTS)}")
    return settings


_WRONG = {"extra_forbidden": "there is no such key", "string_type": "it is no text"}
_REMEDY = "see config/settings.toml for what can be set"


def _refused(path: Path, field: str, wrong: str, remedy: str) -> SettingsRefused:
    return SettingsRefused([Problem(str(path), None, field, wrong, remedy)])
