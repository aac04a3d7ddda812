"""What the service does beside its sites' daily jobs: webhooks that are due go out, what is too old goes."""

from __future__ import annotations

import logging
from datetime import timedelta
from pathlib import Path
from threading import Event, Thread
from typing import TYPE_CHECKING

from etsched.errors import EtschedError
from etsched.notify.webhook import WebhookSender
from etsched.stores.retention import Limits, prune
from etsched.stores.weather_bodies import WeatherBodies
from etsched.usecases.outbox import deliver_due

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import datetime

    from etsched.usecases.service import Service

_logger = logging.getLogger("etsched.chores")
# How often webhooks are looked for, and how often old rows are. Common practice, no source.
_LOOK_S = 5.0
_PRUNE = timedelta(days=1)


class Chores:
    """A thread that does them; several instances may, since every event is claimed and old rows go only once."""

    def __init__(self, service: Service) -> None:
        """Raises SettingsRefused where the authority that webhooks are to believe cannot be read."""
        self._service = service
        ca_file = service.settings.webhook_ca_file
        self._send = WebhookSender(service.settings.webhook_networks, Path(ca_file) if ca_file else None)
        self._ending = Event()
        self._thread = Thread(target=self._work, name="chores", daemon=True)
        self._forgot: datetime | None = None

    def start(self) -> None:
        """Begin."""
        self._thread.start()

    def stop(self) -> None:
        """End after the chore that is being done: one event on its way, no more."""
        self._ending.set()
        self._thread.join()

    def _work(self) -> None:
        while not self._ending.is_set():
            _guarded(self._deliver)
            _guarded(self._forget)
            self._ending.wait(_LOOK_S)

    def _deliver(self) -> None:
        deliver_due(self._service.database, self._service.clock.now(), self._send, stopping=self._ending.is_set)

    def _forget(self) -> None:
        """Once a day, and not again before the next one where it failed."""
        now = self._service.clock.now()
        if self._forgot is None or now - self._forgot >= _PRUNE:
            self._forgot = now
            forget_old(self._service, now)


def forget_old(service: Service, now: datetime) -> None:
    """Remove what the settings do not want kept any longer."""
    kept = service.settings.retention
    limits = Limits(
        weathers=timedelta(days=kept.weathers_days),
        site_revisions=timedelta(days=kept.site_revisions_days),
        plans=timedelta(days=kept.plans_days),
        answers=timedelta(days=kept.answers_days),
        events=timedelta(days=kept.events_days),
        job_runs=timedelta(days=kept.job_runs_days),
    )
    with service.database.writing() as writing:
        rows = prune(writing, now, limits)
    files = WeatherBodies(service.settings.folder).forget(now - timedelta(days=kept.weather_bodies_days))
    said = ", ".join(f"{count} of {table}" for table, count in rows.items() if count)
    _logger.info("removed what is past its time: %s, %d feed answers", said or "no rows", files)


def _guarded(chore: Callable[[], None]) -> None:
    """Do a chore; what goes wrong with it is told in the log and hurts nothing else."""
    try:
        chore()
    except EtschedError as refused:
        _logger.warning("%s", refused)
    except Exception:
        _logger.exception("a chore failed")
