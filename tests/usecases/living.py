"""A process that lives a property's days without end and says each thing after its commit: made to be killed."""

import os
from datetime import UTC, datetime, timedelta

from etsched.stores import plans, water
from etsched.stores.database import Database
from etsched.timetable.tick import Ticker
from etsched.usecases import reports_in
from tests.usecases.made import TIMES, ZONE, service_on, told

HOUR = timedelta(hours=1)


def live_on(url, says):
    """Go on from the last thing that is kept, an hour a tick; each night is told at seven in the morning."""
    with Database(url) as database:
        service = service_on(database)
        with database.reading() as reading:
            plan = plans.latest_plan(reading, "quillmere")
            weather = water.latest_weather(reading, "quillmere")
        kept = [plan.at] if plan else []
        kept += [weather[0]] if weather else []
        service.clock.at = max([*kept, service.clock.at]).astimezone(UTC).replace(minute=0) + HOUR
        ticker = Ticker(service, f"process {os.getpid()}", TIMES)
        said = plan.revision if plan else 0
        while service.clock.at < datetime(2100, 1, 1, tzinfo=UTC):
            ticker.tick()
            with database.reading() as reading:
                plan = plans.latest_plan(reading, "quillmere")
            if plan is not None and plan.revision > said:
                said = plan.revision
                os.write(says, f"plan {plan.revision} {plan.digest}\n".encode())
            if service.clock.at.astimezone(ZONE).hour == 7:
                night = service.clock.today(ZONE) - timedelta(days=1)
                reports_in.report_applied(service, "quillmere", [told(1, night, 10.0)], [night], "controller")
                os.write(says, f"night {night}\n".encode())
            service.clock.at += HOUR
