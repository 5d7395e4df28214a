"""Where a push may go. An endpoint is a URL that a stranger chose, so it is not trusted.

Otherwise a stranger could make the server call machines in its own house, or itself. So: only
https, to a host that has a name, and every address of that name must be public. `push_connection`
looks the name up and holds to it.

Which addresses are public: the IANA special-purpose address registries (RFC 6890 and its
updates), and 2000::/3, all that IANA has given out of IPv6 as global unicast (from memory).
"""

import re
from collections.abc import Collection
from dataclasses import dataclass
from ipaddress import IPv4Address, IPv6Address, ip_address, ip_network
from pathlib import Path
from typing import NamedTuple
from urllib.parse import urlsplit

from benchapp.words import InputError

Address = IPv4Address | IPv6Address

MOST_CHARACTERS = 2000
"""Of an endpoint. Those of real services have about 200 (from memory)."""

_LABEL = r"[a-z0-9](?:[a-z0-9-]{0,61}[a-z0-9])?"
_HOST = re.compile(rf"(?:{_LABEL}\.)+{_LABEL}")
# What browsers read as a number, and so the host as an IPv4 address (WHATWG URL, 'ends in a
# number').
_NUMBER = re.compile(r"\d+|0x[0-9a-f]*")

_NOT_PUBLIC_4 = tuple(
    ip_network(text)
    for text in (
        "0.0.0.0/8",  # this network (RFC 791)
        "10.0.0.0/8",  # private (RFC 1918)
        "100.64.0.0/10",  # shared by a provider's customers (RFC 6598)
        "127.0.0.0/8",  # loopback (RFC 1122)
        "169.254.0.0/16",  # link-local (RFC 3927), and the metadata of rented machines
        "172.16.0.0/12",  # private (RFC 1918)
        "192.0.0.0/24",  # protocol assignments (RFC 6890)
        "192.0.2.0/24",  # documentation (RFC 5737)
        "192.88.99.0/24",  # 6to4 relays (RFC 7526)
        "192.168.0.0/16",  # private (RFC 1918)
        "198.18.0.0/15",  # benchmarks (RFC 2544)
        "198.51.100.0/24",  # documentation (RFC 5737)
        "203.0.113.0/24",  # documentation (RFC 5737)
        "224.0.0.0/4",  # multicast (RFC 1112)
        "240.0.0.0/4",  # reserved, and broadcast (RFC 1112, RFC 919)
    )
)
_GLOBAL_6 = ip_network("2000::/3")
_NOT_PUBLIC_6 = tuple(
    ip_network(text)
    for text in (
        "2001::/23",  # protocol assignments (RFC 2928); Teredo is judged before
        "2001:db8::/32",  # documentation (RFC 3849)
        "2002::/16",  # 6to4 (RFC 3056); judged before
        "3fff::/20",  # documentation (RFC 9637)
    )
)
_NAT64 = ip_network("64:ff9b::/96")


# ---- endpoints ---------------------------------------------------------------------------------


class Endpoint(NamedTuple):
    """A push endpoint, taken apart."""

    host: str
    port: int
    path: str  # with its query; this part is a secret of the device

    @property
    def origin(self) -> str:
        """Scheme, host and, where it is not 443, the port: the audience of RFC 8292."""
        return f"https://{self.host}" + (f":{self.port}" if self.port != 443 else "")


def check_endpoint(url: str) -> Endpoint:
    """Take a push endpoint apart; raise InputError with a sentence where it cannot be one.

    Any port will do: RFC 8030 names none, and the certificate must fit the name on each.
    """
    if not isinstance(url, str) or len(url) > MOST_CHARACTERS:
        raise InputError(
            "A push address is a text of at most {most} characters.", most=MOST_CHARACTERS
        )
    if not re.fullmatch(r"[!-\[\]-~]+", url):
        raise InputError("A push address has no spaces, backslashes or letters beyond ASCII.")
    try:
        parts = urlsplit(url)
        port = parts.port
    except ValueError:
        raise InputError("This push address cannot be read.") from None
    if parts.scheme != "https":
        raise InputError("A push address begins with https://.")
    if "@" in parts.netloc:
        raise InputError("A push address has no user name or password.")
    if "#" in url:
        raise InputError("A push address has no fragment (#).")
    host = (parts.hostname or "").lower()
    if ":" in host or _NUMBER.fullmatch(host.rpartition(".")[2]):
        raise InputError("A push address names its host: a bare number is not taken.")
    if len(host) > 253 or not _HOST.fullmatch(host):
        raise InputError("A push address needs the full name of a host, such as push.example.net.")
    if port == 0:
        raise InputError("A push address has a port from 1 to 65535, or none.")
    path = (parts.path or "/") + (f"?{parts.query}" if parts.query else "")
    return Endpoint(host, port or 443, path)


def check_allow(allow: Collection[str]) -> tuple[str, ...]:
    """Return the allow-list in small letters; raise InputError for what is not a host's name."""
    names = tuple(name.strip().lower() for name in allow)
    for name in names:
        if not _HOST.fullmatch(name.removeprefix(".")):
            raise InputError(
                "{name} is not the name of a push service. Write it like push.example.net, "
                "or .push.example.net for all hosts below it.",
                name=repr(name),
            )
    return names


def is_allowed(host: str, allow: Collection[str]) -> bool:
    """Whether the allow-list (of `check_allow`) has `host`. An empty one allows every host.

    `push.example.net` is that host and all below it, `.push.example.net` only those below it.
    """
    if not allow:
        return True
    return any(host == name or host.endswith(f".{name.removeprefix('.')}") for name in allow)


# ---- addresses ---------------------------------------------------------------------------------


def is_public(address: Address) -> bool:
    """Whether everybody can reach `address`. One that carries an IPv4 address is judged by it."""
    if isinstance(address, IPv4Address):
        return not any(address in network for network in _NOT_PUBLIC_4)
    if address.scope_id is not None:
        return False
    if address.ipv4_mapped is not None:
        return is_public(address.ipv4_mapped)
    if address.sixtofour is not None:
        return is_public(address.sixtofour)
    if address.teredo is not None:
        return all(is_public(inner) for inner in address.teredo)
    if address in _NAT64:
        return is_public(IPv4Address(int(address) & 0xFFFFFFFF))
    return address in _GLOBAL_6 and not any(address in network for network in _NOT_PUBLIC_6)


# ---- the exception for tests -------------------------------------------------------------------


@dataclass(frozen=True)
class Trial:
    """A stand-in push service on this machine, for tests.

    A server with a trial sends every message to that one loopback address and port, whatever the
    endpoint says, and trusts that one authority: it can reach no real push service, so nobody
    leaves it set by accident. Raises InputError for an address that is not loopback.
    """

    address: str
    port: int
    ca_file: Path

    def __post_init__(self) -> None:
        try:
            is_loopback = ip_address(self.address).is_loopback
        except ValueError:
            is_loopback = False
        if not is_loopback:
            raise InputError("A push trial has a loopback address, such as 127.0.0.1.")
        if not 1 <= self.port <= 65535:
            raise InputError("A push trial has a port from 1 to 65535.")

    @classmethod
    def from_text(cls, text: str) -> "Trial":
        """Read `ADDRESS:PORT:CA_FILE`, an IPv6 address in square brackets."""
        found = re.fullmatch(r"(\[[0-9a-fA-F:]+\]|[0-9.]+):(\d{1,5}):(.+)", text.strip())
        if not found:
            raise InputError(
                "A push trial is written ADDRESS:PORT:CA_FILE, such as 127.0.0.1:8443:/tmp/ca.pem."
            )
        return cls(found[1].strip("[]"), int(found[2]), Path(found[3]))

    def __str__(self) -> str:
        address = f"[{self.address}]" if ":" in self.address else self.address
        return f"{address}:{self.port}:{self.ca_file}"
