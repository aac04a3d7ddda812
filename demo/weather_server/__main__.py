"""Run the server from a shell: python -m demo.weather_server --port 8765 --today 2026-07-13. Ends with Ctrl-C."""

from __future__ import annotations

import argparse
import signal
from datetime import date

from .faults import FAULTS, meaning
from .server import start_weather_server


def main() -> None:
    """Serve until told to end."""
    listed = "\n".join(f"  {fault:16} {meaning(fault)}" for fault in FAULTS)
    parser = argparse.ArgumentParser(
        prog="python -m demo.weather_server",
        formatter_class=argparse.RawDescriptionHelpFormatter,
        epilog=f"Faults, set by a request to /admin/fault/FEED/FAULT:\n{listed}",
    )
    parser.add_argument("--port", type=int, default=0, help="port on 127.0.0.1; a free one if not given")
    parser.add_argument("--today", type=date.fromisoformat, required=True, help="the day it is, such as 2026-07-13")
    parser.add_argument("--seed", type=int, default=1, help="which weather; 1 if not given")
    given = parser.parse_args()
    signal.signal(signal.SIGTERM, signal.default_int_handler)
    try:
        with start_weather_server(given.today, seed=given.seed, port=given.port) as server:
            print(server.base_url, flush=True)
            server.stopping.wait()
    except KeyboardInterrupt:
        return


if __name__ == "__main__":
    main()
