"""Keeping secrets out of addresses, sentences and the logs of the libraries below."""

from __future__ import annotations

import logging
import re
from typing import TYPE_CHECKING
from urllib.parse import quote, quote_plus, urlencode, urlsplit

if TYPE_CHECKING:
    from collections.abc import Iterable

    from etsched.http_client.records import Request

REDACTED = "[redacted]"
# Query parameters that hold a secret whoever sends them.
_SECRET = {"apikey", "api_key", "appkey", "appid", "key", "token", "access_token", "user", "password"}


def address(request: Request) -> str:
    """Give the address a request asks, with what is secret in it redacted."""
    parts = urlsplit(request.url)
    host = parts.netloc.rpartition("@")[2]
    shown = [query for query in (parts.query, urlencode(request.params, safe=",:/")) if query]
    hidden = [f"{name}={REDACTED}" for name in request.secret_params]
    query = "&".join([*shown, *hidden])
    return without_secret_params(f"{parts.scheme}://{host}{parts.path}" + (f"?{query}" if query else ""))


def without_secret_params(text: str, names: Iterable[str] = ()) -> str:
    """Redact the values of secret query parameters in a text with addresses in it."""
    secret = "|".join(re.escape(name) for name in sorted({*_SECRET, *names}))
    return re.sub(rf"([?&](?:{secret})=)[^&\s'\"#]*", rf"\g<1>{REDACTED}", text, flags=re.IGNORECASE)


def without_values(text: str, secrets: Iterable[str]) -> str:
    """Redact secret values wherever a text repeats them, as they are or as an address writes them."""
    for secret in secrets:
        for written in {secret, quote(secret), quote_plus(secret)} - {""}:
            text = text.replace(written, REDACTED)
    return text


class _QuietAddresses(logging.Filter):
    """Redacts what the libraries log: they write whole addresses, some of them as warnings."""

    def __init__(self) -> None:
        super().__init__()
        self.names: set[str] = set()

    def filter(self, record: logging.LogRecord) -> bool:
        """Redact a record; it is always kept."""
        record.msg, record.args = without_secret_params(record.getMessage(), self.names), ()
        return True


_quiet_addresses = _QuietAddresses()


def keep_out_of_logs(names: Iterable[str]) -> None:
    """Have the values of these query parameters redacted in what urllib3 logs from now on."""
    _quiet_addresses.names.update(names)
    for name in ("urllib3.connectionpool", "urllib3.util.retry"):
        logging.getLogger(name).addFilter(_quiet_addresses)  # adding it again does nothing
