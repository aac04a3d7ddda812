"""What the process counts of itself, in the text that Prometheus reads."""

from __future__ import annotations

from datetime import timedelta

from prometheus_client import CollectorRegistry, Counter, Gauge, Histogram, generate_latest

MEDIA_TYPE = "text/plain; version=0.0.4; charset=utf-8"
JOBS_COUNTED = timedelta(hours=24)
_JOBS = "Periods of jobs by state: every one that runs, and those that ended in the last 24 hours"


class Metrics:
    """The counters of one app; nothing in them names a property or a key."""

    def __init__(self) -> None:
        self.registry = CollectorRegistry()
        self._requests = Counter(
            "etsched_requests", "Requests answered", ("method", "route", "status"), registry=self.registry
        )
        self._seconds = Histogram("etsched_request_seconds", "Time to answer", registry=self.registry)
        self._jobs = Gauge("etsched_job_runs", _JOBS, ("state",), registry=self.registry)
        self._waiting = Gauge("etsched_outbox_waiting", "Events that wait to be sent", registry=self.registry)
        self.from_cache = Counter("etsched_answers_from_memory", "Answers before routing", registry=self.registry)

    def count(self, method: str, route: str, status: int, seconds: float) -> None:
        """Count an answer by the route's pattern, never by the address that was asked for."""
        known = method if method in {"GET", "PUT", "POST", "DELETE"} else "other"
        self._requests.labels(known, route, str(status)).inc()
        self._seconds.observe(seconds)

    def text(self, jobs: dict[str, int], waiting_count: int) -> bytes:
        """Write everything, with what the database says of jobs and events."""
        for state, number in jobs.items():
            self._jobs.labels(state).set(number)
        self._waiting.set(waiting_count)
        return generate_latest(self.registry)
