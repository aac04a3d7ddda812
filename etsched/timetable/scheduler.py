"""The service's own clockwork: one tick after another in a thread of its own, and a stop that leaves nothing half."""

from __future__ import annotations

import logging
import os
import platform
import uuid
from threading import Event
from typing import TYPE_CHECKING

from etsched.errors import EtschedError, Stopping
from etsched.timetable.tick import MOST_PERIODS, Ticker

if TYPE_CHECKING:
    from collections.abc import Callable

    from etsched.usecases.service import Service

_log = logging.getLogger(__name__)


class Scheduler:
    """Ticks until it is stopped; `after_tick` is called after each tick, to send what the tick put into the outbox."""

    def __init__(self, service: Service, after_tick: Callable[[], object] = lambda: None) -> None:
        from apscheduler.schedulers.background import BackgroundScheduler  # type: ignore[import-untyped]

        self._stopping = Event()
        self._after_tick, self._stop_asking = after_tick, service.stop_asking
        self._ticker = Ticker(service, worker_name(), service.settings.jobs)
        self._every_s = service.settings.jobs.tick_s
        self._clockwork = BackgroundScheduler(timezone="UTC")

    def start(self) -> None:
        """Begin at once, in the background."""
        from datetime import UTC, datetime

        self._clockwork.add_job(
            self._work,
            "interval",
            seconds=self._every_s,
            id="tick",
            coalesce=True,
            max_instances=1,
            misfire_grace_time=None,
            next_run_time=datetime.now(UTC),
        )
        self._clockwork.start()

    def stop(self) -> None:
        """Let the period that is being done end, and begin no other; a fetch is given up and left to the next start."""
        self._stopping.set()
        self._stop_asking()
        self._clockwork.shutdown(wait=True)

    def _work(self) -> None:
        """Tick until nothing is left; what a tick cannot do now it tries again at the next."""
        try:
            while not self._stopping.is_set() and self._ticker.tick(self._stopping.is_set) >= MOST_PERIODS:
                self._after_tick()
            self._after_tick()
        except Stopping as error:
            _log.info("a tick ends early: %s", error)
        except EtschedError as error:
            _log.warning("a tick was given up: %s", error)
        except Exception:
            _log.exception("a tick was given up")


def worker_name() -> str:
    """Name this process, so that a person can tell in the table of job runs who did what."""
    return f"{platform.node()}:{os.getpid()}:{uuid.uuid4().hex[:6]}"
