"""The service at work: the address it listens on, the jobs beside it, and how it stops."""

from __future__ import annotations

import logging
import signal
import socket
from contextlib import ExitStack
from typing import TYPE_CHECKING

from etsched.errors import EtschedError

if TYPE_CHECKING:
    from collections.abc import Callable
    from types import FrameType

    import uvicorn

    from etsched.settings import WebSettings
    from etsched.usecases.service import Service

_logger = logging.getLogger("etsched.serving")
_LOOPBACK = {"127.0.0.1", "::1", "localhost"}
# How long an answer that has begun may take once the service is to stop. Common practice, no source.
_FINISH_S = 10


def serve(service: Service, with_jobs: bool) -> None:
    """Answer requests and do the daily jobs until a signal says stop.

    The first SIGTERM or SIGINT stops listening, lets answers and the running job finish, and returns. While the job
    finishes, a second one ends the process at once: what was not committed is as if it had never begun, and its lease
    runs out.
    """
    web = service.settings.web
    with ExitStack() as stack:
        listening = stack.enter_context(_listening(web))
        server = _server(service)
        for each in (signal.SIGTERM, signal.SIGINT):
            stack.callback(signal.signal, each, signal.signal(each, _stopper(server)))
        if with_jobs:
            _start_jobs(service, stack)
        where = f"[{web.host}]" if ":" in web.host else web.host
        _logger.info("serving on http://%s:%d, %s", where, web.port, "with jobs" if with_jobs else "without jobs")
        if web.host not in _LOOPBACK:
            _logger.warning("%s is no loopback address: keys travel unencrypted unless a proxy speaks TLS", web.host)
        server.run(sockets=[listening])
        for each in (signal.SIGTERM, signal.SIGINT):
            signal.signal(each, signal.SIG_DFL)
        _logger.info("stopping")
    _logger.info("stopped")


def _listening(web: WebSettings) -> socket.socket:
    try:
        family = socket.AF_INET6 if ":" in web.host else socket.AF_INET
        listening = socket.create_server((web.host, web.port), family=family)
        # Answers leave at once; else head and body of each would wait 40 ms for one another.
        listening.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
        return listening
    except OSError as error:
        raise EtschedError(
            f"the service cannot listen on {web.host}:{web.port} ({error.strerror}); "
            "set another host or port in [web], or end what listens there"
        ) from error


def _server(service: Service) -> uvicorn.Server:
    import uvicorn

    from etsched.web.app import make_app

    class Server(uvicorn.Server):
        def handle_exit(self, sig: int, frame: FrameType | None) -> None:
            """Stop as uvicorn does on a signal; threads of requests that ask feeds would be waited for."""
            super().handle_exit(sig, frame)
            service.stop_asking()

    web = service.settings.web
    config = uvicorn.Config(
        make_app(service),
        log_config=None,
        server_header=False,
        proxy_headers=bool(web.trusted_proxies),
        forwarded_allow_ips=[str(network) for network in web.trusted_proxies],
        timeout_graceful_shutdown=_FINISH_S,
    )
    return Server(config)


def _stopper(server: uvicorn.Server) -> Callable[[int, FrameType | None], None]:
    def stop(number: int, frame: FrameType | None) -> None:
        server.should_exit = True

    return stop


def _start_jobs(service: Service, stack: ExitStack) -> None:
    """Start what runs beside the answers; each is stopped, the last first, when the stack closes."""
    from etsched.bootstrap.chores import Chores
    from etsched.timetable.scheduler import Scheduler

    for each in (Scheduler(service), Chores(service)):
        each.start()
        stack.callback(each.stop)
