"""The jobs of one day for many properties: fetch, close, fetch, plan; made weather, SQLite, one process.

    python tests/bench/daily_job.py [SITES]

By itself it takes 100 sites, because 1,000 take more than three minutes; `daily_job_1000_sites_s` is printed by
`python tests/bench/daily_job.py 1000` alone.
"""

from __future__ import annotations

import resource
import sys
import tempfile
from collections import Counter
from datetime import time
from pathlib import Path
from time import perf_counter

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

import sqlalchemy as sa

from etsched.stores import migrate
from etsched.stores.database import Database
from etsched.stores.schema import job_runs
from etsched.timetable.tick import MOST_PERIODS, Ticker
from tests.usecases.made import TIMES, day, put, service_on


def main(sites: int) -> None:
    """Let every site live one day after a first one that is not timed."""
    with tempfile.TemporaryDirectory() as folder, Database(f"sqlite:///{folder}/x.db") as database:
        migrate.upgrade(database)
        service = service_on(database)
        for number in range(sites):
            put(service, f"site-{number:04}")
        ticker = Ticker(service, "bench", TIMES)
        seconds = 0.0
        for wall in (time(5, 1), time(5, 31), time(16, 31), time(17, 1)):
            service.clock.set(day(2), wall)
            begin = perf_counter()
            while ticker.tick() >= MOST_PERIODS:
                pass
            seconds += perf_counter() - begin
        with database.reading() as reading:
            query = sa.select(job_runs.c.state).where(job_runs.c.period == day(2))
            states = Counter(reading.execute(query).scalars())
    if states != {"done": 3 * sites}:  # the day itself is closed on the next
        raise SystemExit(f"not every job was done: {dict(states)}")
    peak_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"figure daily_job_{sites}_sites_s {seconds:.1f} s")
    print(f"figure daily_job_peak_mb {peak_mb:.0f} MB")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 100)
