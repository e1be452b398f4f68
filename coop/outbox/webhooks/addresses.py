"""Which network addresses a delivery may reach: public ones only, every answer checked."""

import ipaddress
import socket
from collections.abc import Callable
from typing import Any

Address = ipaddress.IPv4Address | ipaddress.IPv6Address
Resolve = Callable[..., list[Any]]

# IANA's registry of special-purpose IPv4 addresses (RFC 6890 and its updates) with what is
# multicast or reserved. Python's own list differs between its versions.
_NOT_FOR_US_4 = tuple(
    ipaddress.IPv4Network(block)
    for block in (
        "0.0.0.0/8",
        "10.0.0.0/8",
        "100.64.0.0/10",
        "127.0.0.0/8",
        "169.254.0.0/16",
        "172.16.0.0/12",
        "192.0.0.0/24",
        "192.0.2.0/24",
        "192.31.196.0/24",
        "192.52.193.0/24",
        "192.88.99.0/24",
        "192.168.0.0/16",
        "192.175.48.0/24",
        "198.18.0.0/15",
        "198.51.100.0/24",
        "203.0.113.0/24",
        "224.0.0.0/4",
        "240.0.0.0/4",
        # A host platform's own agent behind a public number; from memory.
        "168.63.129.16/32",
    )
)
# Global unicast (RFC 4291): whatever lies outside is loopback, local, mapped, translated or
# unassigned. Inside it, the registry's special blocks: among them 6to4 and Teredo, which carry
# an IPv4 address that nobody checked.
_UNICAST_6 = ipaddress.IPv6Network("2000::/3")
_NOT_FOR_US_6 = tuple(
    ipaddress.IPv6Network(block)
    for block in ("2001::/23", "2001:db8::/32", "2002::/16", "2620:4f:8000::/48", "3fff::/20")
)


class AddressRefused(Exception):
    """The host leads to an address that is not public; at least one of its answers does."""


class HostUnknown(Exception):
    """No name server knows the host."""


def is_public(address: Address) -> bool:
    """Whether an address is a public unicast one, and no other address in disguise."""
    if isinstance(address, ipaddress.IPv4Address):
        return address.is_global and not any(address in block for block in _NOT_FOR_US_4)
    if address.scope_id is not None or address not in _UNICAST_6:
        return False
    return address.is_global and not any(address in block for block in _NOT_FOR_US_6)


def checked_addresses(host: str, port: int, *, resolve: Resolve = socket.getaddrinfo) -> list[str]:
    """Where a host may be connected to, resolved once; all of its answers must be public.

    Raises :class:`AddressRefused` and :class:`HostUnknown`.
    """
    answers = addresses_of(host, port, resolve=resolve)
    if not all(is_public(ipaddress.ip_address(answer)) for answer in answers):
        raise AddressRefused(host)
    return answers


def addresses_of(host: str, port: int, *, resolve: Resolve = socket.getaddrinfo) -> list[str]:
    """Every answer for a host, in the resolver's order; raises :class:`HostUnknown`."""
    try:
        found = resolve(host, port, type=socket.SOCK_STREAM)
    except (OSError, UnicodeError) as error:
        raise HostUnknown(host) from error
    if not found:
        raise HostUnknown(host)
    return [str(sockaddr[0]) for *_rest, sockaddr in found]
