"""Names and addresses of this machine on the house network, and which of them phones can reach."""

import contextlib
import re
import socket
from collections.abc import Iterable, Sequence
from ipaddress import IPv4Address, IPv6Address, ip_address, ip_network

from benchapp.words import InputError

Address = IPv4Address | IPv6Address

#: Loopback, private use (RFC 1918, RFC 4193) and link-local addresses (RFC 3927, RFC 4291).
PRIVATE_NETWORKS = tuple(
    ip_network(text)
    for text in (
        "127.0.0.0/8",
        "10.0.0.0/8",
        "172.16.0.0/12",
        "192.168.0.0/16",
        "169.254.0.0/16",
        "::1/128",
        "fc00::/7",
        "fe80::/10",
    )
)

_LABEL = re.compile(r"[a-z0-9](?:[a-z0-9-]{0,61}[a-z0-9])?")


def machine_names(hostname: str) -> tuple[str, ...]:
    """The names under which phones on the house network may find the machine called `hostname`.

    The bare name is among them only where it cannot be a top-level domain: an authority that may
    sign for a machine called 'studio' may sign for every site that ends in '.studio'. A top-level
    domain has letters only, or begins with 'xn--' (RFC 1123 section 2.1, RFC 5890).
    """
    bare = hostname.strip().lower().split(".")[0]
    if not _LABEL.fullmatch(bare) or bare == "localhost":
        return ("localhost",)
    is_private = not bare.isalpha() and not bare.startswith("xn--")
    return ("localhost", *((bare,) if is_private else ()), f"{bare}.local")


def is_private(address: Address) -> bool:
    """Whether `address` is loopback, private or link-local, which is all the authority signs."""
    return any(address in network for network in PRIVATE_NETWORKS)


def private_addresses(addresses: Iterable[Address]) -> tuple[Address, ...]:
    """Loopback, then those of `addresses` that are private, each once."""
    found = [ip_address("127.0.0.1"), ip_address("::1"), *addresses]
    return tuple(dict.fromkeys(address for address in found if is_private(address)))


def read_host(host: str) -> Address:
    """An address of the house network, or the one that stands for all of this machine's.

    Raises ValueError with a sentence for anything else.
    """
    with contextlib.suppress(ValueError):
        address = ip_address(host)
        if address.is_unspecified or is_private(address):
            return address
    raise InputError(
        "With --lan the bench listens at an address of the house network, and {host} is none. "
        "Give one like 192.168.1.20 with --host, or leave --host out.",
        host=host,
    )


def reachable_at(
    listens_at: Address,
    names: Sequence[str],
    addresses: Sequence[Address],
) -> list[str]:
    """The hosts to print in URLs: the machine's .local name, then addresses.

    The name comes first because it outlives a new address: what a phone keeps belongs to the
    host that it opened.
    """
    if listens_at.is_loopback:
        shown = [listens_at]
    elif listens_at.is_unspecified:
        shown = [
            address
            for address in addresses
            if not address.is_loopback and (address.version == 4 or listens_at.version == 6)
        ]
    else:
        shown = [listens_at]
    named = [name for name in names if name.endswith(".local") and not listens_at.is_loopback]
    hosts = named + [f"[{item}]" if item.version == 6 else str(item) for item in shown]
    return hosts or ["localhost"]


def machine_addresses() -> list[Address]:
    """The addresses under which this machine would call others: its networks' as far as its
    routes tell. A connected datagram socket has one; nothing is sent.
    """
    found: list[Address] = []
    # Somewhere on the internet (RFC 5737, RFC 3849), then somewhere in each private range.
    for target in (
        *("192.0.2.1", "192.168.255.253", "172.31.255.253", "10.255.255.253", "169.254.255.253"),
        *("2001:db8::1", "fdff::1"),
    ):
        family = socket.AF_INET6 if ":" in target else socket.AF_INET
        with contextlib.suppress(OSError), socket.socket(family, socket.SOCK_DGRAM) as probe:
            probe.connect((target, 9))
            address = ip_address(probe.getsockname()[0])
            # No browser takes a link-local IPv6 address: it needs the interface's name as well.
            if not (address.version == 6 and address.is_link_local):
                found.append(address)
    return list(dict.fromkeys(found))
