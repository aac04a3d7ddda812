"""Asking the feeds for many sites: 1,000 sites in 50 grid cells, from the loopback server."""

from __future__ import annotations

import sys
import tempfile
from dataclasses import replace
from pathlib import Path
from time import perf_counter

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from demo.weather_server import start_weather_server
from etsched.http_client import ClientLimits
from etsched.usecases.weather import refresh_all
from tests.usecases.loopback import TODAY, parts, site

SITES, CELLS = 1000, 50


def main() -> None:
    """Refresh once, cold."""
    one = site("open-meteo forecast")
    sites = [
        replace(one, place=replace(one.place, latitude_deg=35.0 + 0.1 * (n % CELLS) + 0.00004 * n))
        for n in range(SITES)
    ]
    limits = ClientLimits(interval_s=0.0)
    with start_weather_server(TODAY) as server, tempfile.TemporaryDirectory() as kept_in:
        start = perf_counter()
        refresh = refresh_all(sites, parts(server.base_url, kept_in, limits=limits))
        seconds = perf_counter() - start
        fetches = sum(server.counts().values())
    if refresh.failures:
        raise SystemExit(f"a fetch failed: {next(iter(refresh.failures.values()))}")
    print(f"figure fetches_1000_sites_50_cells {fetches} count")
    print(f"figure refresh_1000_sites_s {seconds:.2f} s")


if __name__ == "__main__":
    main()
