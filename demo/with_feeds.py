"""Run an etsched command while this machine plays every weather feed: python demo/with_feeds.py week demo/site.toml ...

The feeds are invented and answer on loopback only (see demo/weather_server); the answers are kept in demo/out/weather.
`--fault FEED=FAULT` in front of the command breaks one of them, such as `--fault power=5xx`.
"""

from __future__ import annotations

import argparse
import os
import subprocess
import sys
from datetime import date
from pathlib import Path

HERE = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE.parent))

from demo.weather_server import start_weather_server  # noqa: E402 - the demo runs without being installed

TODAY = date(2026, 7, 13)
ADDRESSES = {
    "rain gauge": "/gauge/grange.csv?start={first}&end={last}",
    "agronomic station": "/station/{station}/daily-us.csv?start={first}&end={last}",
    "ghcn daily": "/ghcn",
    "open-meteo forecast": "/open-meteo-forecast",
    "open-meteo archive": "/open-meteo-archive",
    "open-meteo ensemble": "/open-meteo-ensemble",
    "nws grid": "/nws",
    "nasa power": "/power",
}


def settings(base_url: str, kept_in: Path) -> str:
    """Write the settings of a deployment whose feeds are all on this machine."""
    feeds = (f'[feed."{feed}"]\nbase_url = "{base_url}{path}"\n' for feed, path in ADDRESSES.items())
    head = f'contact = "grounds@example.org"\nweather_kept_in = "{kept_in.as_posix()}"\n'
    return "\n".join((head, *feeds))


def main() -> int:
    """Start the feeds, run the command, end with its exit code."""
    parser = argparse.ArgumentParser(description="Run an etsched command on loopback feeds.")
    parser.add_argument("--fault", action="append", default=[], metavar="FEED=FAULT", help="break a feed")
    parser.add_argument("--out", type=Path, default=HERE / "out", metavar="FOLDER", help="where answers are kept")
    parser.add_argument("command", nargs=argparse.REMAINDER, help="what follows etsched")
    given = parser.parse_args()
    out = given.out.resolve()
    out.mkdir(parents=True, exist_ok=True)
    with start_weather_server(TODAY) as server:
        for broken in given.fault:
            feed, _, fault = broken.partition("=")
            try:
                server.set_fault(feed, fault)
            except ValueError as error:
                parser.error(str(error))
        (out / "settings.toml").write_text(settings(server.base_url, out / "weather"), encoding="utf-8")
        environment = os.environ | {"ETSCHED_SETTINGS": str(out / "settings.toml")}
        command = [sys.executable, "-m", "etsched", *given.command, "--today", TODAY.isoformat()]
        return subprocess.run(command, env=environment, check=False).returncode  # noqa: S603 - words of the caller


if __name__ == "__main__":
    sys.exit(main())
