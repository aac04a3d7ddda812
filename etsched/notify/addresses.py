"""Which addresses an event may be sent to: public ones, and those of networks that the settings file allows."""

from __future__ import annotations

from ipaddress import IPv4Address, IPv4Network, IPv6Address, IPv6Network, ip_address, ip_network

Network = IPv4Network | IPv6Network
_Address = IPv4Address | IPv6Address

# IPv6 addresses that a translator turns into the IPv4 address at their end (RFC 6052).
_TRANSLATED = ip_network("64:ff9b::/96")


def is_allowed(text: str, networks: tuple[Network, ...]) -> bool:
    """Say whether an address, as the resolver gave it, may be connected to.

    Every address that it leads on to is looked at: IPv4 inside IPv6 goes where the IPv4 address goes.
    """
    return all(_is_public(each) or _is_within(each, networks) for each in _leads_to(ip_address(text)))


def _leads_to(address: _Address) -> list[_Address]:
    if isinstance(address, IPv4Address):
        return [address]
    if address.ipv4_mapped is not None:
        return [address.ipv4_mapped]
    inner: list[_Address] = [address]
    if address.sixtofour is not None:
        inner.append(address.sixtofour)
    if address.teredo is not None:
        inner.extend(address.teredo)
    if address in _TRANSLATED:
        inner.append(IPv4Address(address.packed[-4:]))
    return inner


def _is_public(address: _Address) -> bool:
    # The standard library counts groups of receivers as global, which no single receiver is.
    return address.is_global and not address.is_multicast


def _is_within(address: _Address, networks: tuple[Network, ...]) -> bool:
    return any(address in network for network in networks)
