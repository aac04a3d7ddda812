"""One event to one receiver: HTTPS to an address that was checked, signed, once, in a limited time.

Signature and headers follow the open Standard Webhooks convention, version 1 (standardwebhooks.com; from memory, to
be verified): HMAC-SHA256 over `id.timestamp.body`, keyed with the bytes behind `whsec_`. Proxies of the environment
are not used: one of them would look up the name itself, after it was checked here.
"""

from __future__ import annotations

import base64
import hashlib
import hmac
import secrets
import socket
import ssl
import time
from concurrent.futures import Future
from dataclasses import dataclass
from datetime import datetime
from http.client import HTTPException, HTTPSConnection
from threading import Thread, Timer
from typing import TYPE_CHECKING
from urllib.parse import urlsplit

from etsched import __version__
from etsched.errors import Problem, SettingsRefused, WebhookFailed
from etsched.notify.addresses import is_allowed

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from etsched.model.webhook import OutboxEvent, Webhook
    from etsched.notify.addresses import Network

    Resolve = Callable[[str, int], list[str]]

_PREFIX = "whsec_"
_LONGEST_URL = 2000
# A try may take this long in all, from looking up the name on; common practice, no source. Shorter than the outbox's
# first wait.
LIMIT_S = 15.0


@dataclass(frozen=True, slots=True)
class Target:
    """The parts of a receiver's address."""

    host: str
    port: int
    path: str


def target_of(url: str) -> Target:
    """Take an address apart. Raises WebhookFailed for one that is none, is not https, or names a user."""
    if len(url) > _LONGEST_URL or not url.isascii() or not url.isprintable() or " " in url:
        raise WebhookFailed("the address is too long or has signs that an address cannot have")
    try:
        parts = urlsplit(url)
        host, port = parts.hostname or "", parts.port
    except ValueError:
        raise WebhookFailed("the address is not one") from None
    if parts.scheme != "https" or not host:
        raise WebhookFailed("the address must begin with https:// and name a host")
    if "@" in parts.netloc or parts.fragment:
        raise WebhookFailed("the address may hold no user, no password and no #")
    return Target(host, 443 if port is None else port, (parts.path or "/") + (f"?{parts.query}" if parts.query else ""))


def new_secret() -> str:
    """Make the secret that a receiver checks signatures by: 256 random bits."""
    return _PREFIX + base64.b64encode(secrets.token_bytes(32)).decode()


def signed_headers(webhook: Webhook, event: OutboxEvent, at: datetime) -> dict[str, str]:
    """Give the headers that tell a receiver which event this is, when it was sent, and that it is from here."""
    stamp = str(int(at.timestamp()))
    key = base64.b64decode(webhook.secret.removeprefix(_PREFIX))
    mark = hmac.digest(key, f"{event.event}.{stamp}.{event.body}".encode(), hashlib.sha256)
    return {
        "Content-Type": "application/json",
        "User-Agent": f"etsched/{__version__}",
        "Webhook-Id": event.event,
        "Webhook-Timestamp": stamp,
        "Webhook-Signature": f"v1,{base64.b64encode(mark).decode()}",
    }


def looked_up(host: str, port: int) -> list[str]:
    """Ask the machine's resolver for the addresses of a host."""
    return [str(found[4][0]) for found in socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)]


class WebhookSender:
    """Sends events; the networks and the authority come from the settings file, never from a request."""

    def __init__(
        self,
        allowed_networks: tuple[Network, ...] = (),
        ca_file: Path | None = None,
        limit_s: float = LIMIT_S,
        resolve: Resolve = looked_up,
    ) -> None:
        self._networks, self._limit_s, self._resolve = allowed_networks, limit_s, resolve
        try:
            self._trusted = _trusted(ca_file)
        except OSError as error:  # ssl.SSLError is one
            wrong = f"no certificate can be read here ({error.strerror})"
            raise SettingsRefused([Problem(str(ca_file), None, "", wrong, "name a PEM file")]) from None

    def __call__(self, webhook: Webhook, event: OutboxEvent, at: datetime) -> str:
        """Send once; gives what the receiver answered.

        Raises
        ------
        WebhookFailed
            Where it is no answer of the 200s: a redirect is none either, since it was not checked where it leads.
        """
        target, ends_s = target_of(webhook.url), time.monotonic() + self._limit_s
        address = self._address(target)
        left_s = max(0.001, ends_s - time.monotonic())  # 0 would mean without an end
        connection = _Checked(target, address, left_s, self._trusted)
        alarm = Timer(left_s, connection.cut)
        alarm.daemon = True
        alarm.start()
        try:
            connection.request("POST", target.path, event.body.encode(), signed_headers(webhook, event, at))
            status = connection.getresponse().status  # the body is of no interest and is not read
            if connection.is_cut:
                raise TimeoutError  # headers that are cut short look like headers that end
        except (OSError, HTTPException, ValueError) as error:
            raise WebhookFailed(f"{target.host} {_reason(error, connection.is_cut)}") from None
        finally:
            alarm.cancel()
            connection.close()
        if not 200 <= status < 300:
            raise WebhookFailed(f"{target.host} answered {status}")
        return str(status)

    def _address(self, target: Target) -> str:
        """Look up a host and give the address to connect to; one address that is not allowed refuses them all."""
        try:
            found = _in_time(self._resolve, target, self._limit_s)
        except TimeoutError:
            raise WebhookFailed(f"{target.host} took too long to look up") from None
        except (OSError, UnicodeError):
            found = []
        if not found:
            raise WebhookFailed(f"{target.host} has no address")
        if not all(is_allowed(address, self._networks) for address in found):
            raise WebhookFailed(f"{target.host} leads into a network that events may not be sent to")
        return found[0]


def _in_time(resolve: Resolve, target: Target, limit_s: float) -> list[str]:
    """Look up a host in a thread, which is left to itself when the time is up: a machine's resolver cannot be cut."""
    found = Future[list[str]]()

    def look_up() -> None:
        try:
            found.set_result(resolve(target.host, target.port))
        except Exception as error:
            found.set_exception(error)

    Thread(target=look_up, name="look-up", daemon=True).start()
    return found.result(limit_s)


class _Checked(HTTPSConnection):
    """A connection to an address that was checked, under the name of its host, which can be cut at any time."""

    def __init__(self, target: Target, address: str, limit_s: float, trusted: ssl.SSLContext) -> None:
        super().__init__(target.host, target.port, timeout=limit_s, context=trusted)
        self._address, self._trusted = address, trusted
        self.is_cut = False

    def connect(self) -> None:
        """Connect to the address, with no further look-up of the name, and check the certificate by the name."""
        plain = socket.create_connection((self._address, self.port), self.timeout)
        wrapped = self._trusted.wrap_socket(plain, server_hostname=self.host, do_handshake_on_connect=False)
        self.sock = wrapped  # from here on it can be cut
        if self.is_cut:
            raise TimeoutError
        wrapped.do_handshake()

    def cut(self) -> None:
        """End it from another thread: a time limit of single reads does not stop an answer that drips in."""
        self.is_cut = True
        held = self.sock
        if held is not None:
            try:
                socket.socket.shutdown(held, socket.SHUT_RDWR)
            except OSError:
                return  # it is over already


def _trusted(ca_file: Path | None) -> ssl.SSLContext:
    """Trust whom the machine trusts, and an authority of one's own beside them."""
    context = ssl.create_default_context()
    if ca_file is not None:
        context.load_verify_locations(ca_file)
    return context


def _reason(error: Exception, is_cut: bool) -> str:
    if is_cut or isinstance(error, TimeoutError):
        return "took too long"
    if isinstance(error, ssl.SSLCertVerificationError):
        return f"showed a certificate that does not hold ({error.verify_message})"
    if isinstance(error, ssl.SSLError):
        return "does not speak TLS as it should"
    if isinstance(error, ConnectionRefusedError):
        return "refuses connections"
    return "broke off, or its answer is no HTTP"
