"""What a deployment sets: TOML, then the environment, and where each value came from."""

from etsched.settings.reading import ReadSettings, read_settings, read_with_origins
from etsched.settings.values import HOSTS, HostSettings, JobTimes, Retention, Settings, WebSettings

__all__ = [
    "HOSTS",
    "HostSettings",
    "JobTimes",
    "ReadSettings",
    "Retention",
    "Settings",
    "WebSettings",
    "read_settings",
    "read_with_origins",
]
