"""Failed tries counted by address, in the memory of one process."""

from __future__ import annotations

from collections import OrderedDict, deque
from datetime import datetime, timedelta
from ipaddress import IPv6Address, ip_address, ip_network
from math import ceil
from threading import Lock

# Common practice, no source: guessing 256 bits is hopeless at any rate, so this spares the log and the machine,
# and slows down whoever tries passwords.
MOST_TRIES, WINDOW = 10, timedelta(minutes=1)
_MOST_ADDRESSES = 10_000


class TryLimit:
    """At most so many failures in a window; the address that failed longest ago is forgotten when memory is full."""

    def __init__(
        self, most: int = MOST_TRIES, window: timedelta = WINDOW, most_addresses: int = _MOST_ADDRESSES
    ) -> None:
        self._most, self._window, self._most_addresses = most, window, most_addresses
        self._failed: OrderedDict[str, deque[datetime]] = OrderedDict()
        self._lock = Lock()

    def wait_s(self, address: str, now: datetime) -> int:
        """Give the whole seconds until an address may try again; 0 where it may now."""
        with self._lock:
            times = self._failed.get(_counted(address))
            if times is None or len(times) < self._most:
                return 0
            return max(0, ceil((times[0] + self._window - now).total_seconds()))

    def failed(self, address: str, now: datetime) -> None:
        """Count a failure."""
        with self._lock:
            place = _counted(address)
            self._failed.setdefault(place, deque(maxlen=self._most)).append(now)
            self._failed.move_to_end(place)
            if len(self._failed) > self._most_addresses:
                self._failed.popitem(last=False)

    def __len__(self) -> int:
        return len(self._failed)


def _counted(address: str) -> str:
    """Count a /64 of IPv6 as one, since a single subscriber has all of it; a mapped IPv4 address as itself."""
    try:
        known = ip_address(address)
    except ValueError:
        return address[:64]
    if isinstance(known, IPv6Address):
        return str(known.ipv4_mapped or ip_network((known.packed[:8] + bytes(8), 64)))
    return str(known)
