"""Whether it runs, whether it can work, and what it counts."""

from __future__ import annotations

from fastapi import APIRouter, Request, Response

from etsched.reports.encode import utc
from etsched.stores import migrate
from etsched.stores.counts import events_waiting, jobs_by_state
from etsched.web.access import Manager, Serving
from etsched.web.conditional import JSON, to_bytes
from etsched.web.metrics import JOBS_COUNTED, MEDIA_TYPE, Metrics
from etsched.web.shapes import HealthOut, ReadyOut, Responses, answers, by_name

router = APIRouter(tags=["operation"], generate_unique_id_function=by_name)
_OK = to_bytes({"status": "ok"})
_TEXT: Responses = {200: {"description": "Counters", "content": {"text/plain": {"schema": {"type": "string"}}}}}


@router.get("/health", responses={200: {"description": "It runs", "model": HealthOut}}, summary="Whether it runs")
def health(service: Serving) -> Response:
    """Answer while the process lives, whatever the database does; a controller may set its clock by it."""
    return Response(to_bytes({"status": "ok", "now": utc(service.clock.now())}), media_type=JSON)


@router.get("/ready", responses=answers(ReadyOut), summary="Whether it can work")
def ready(service: Serving) -> Response:
    """Answer where the database can be read and has this program's tables."""
    migrate.check(service.database)
    return Response(_OK, media_type=JSON)


@router.get("/metrics", responses={**answers(None), **_TEXT}, summary="Counters for Prometheus")
def metrics(request: Request, service: Serving, holder: Manager) -> Response:
    """Count requests, jobs and waiting events."""
    counted: Metrics = request.app.state.metrics
    with service.database.reading() as reading:
        jobs, waiting_count = jobs_by_state(reading, service.clock.now() - JOBS_COUNTED), events_waiting(reading)
    return Response(counted.text(jobs, waiting_count), media_type=MEDIA_TYPE)
