"""A faithful loopback server of public weather feeds, for the demo and for tests; stdlib only.

`with start_weather_server(date(2026, 7, 13)) as server:` gives `server.base_url`, under which each provider has a
prefix: `/open-meteo-forecast`, `/open-meteo-archive`, `/open-meteo-ensemble`, `/power`, `/nws`, `/ghcn`, `/station`,
`/gauge`. The customers' hosts of Open-Meteo stand under `/customer-open-meteo-...`.
"""

from .exchange import Seen
from .faults import FAULTS, faults_of, meaning
from .feeds import NAMES
from .server import WeatherServer, start_weather_server

__all__ = ["FAULTS", "NAMES", "Seen", "WeatherServer", "faults_of", "meaning", "start_weather_server"]
