"""Where a push may go. An endpoint is a URL that a stranger chose, so it is not trusted.

Without a guard a stranger could make the server call machines in its own house, or itself. So:
only https, to a host that has a name; we look the name up ourselves, and every address that it has
must be public; the connection is made to such an address, with no second look-up that could
answer otherwise (DNS rebinding); and the certificate must be good for the name. Redirects are
never followed.

Which addresses are public: the IANA special-purpose address registries (RFC 6890 and its
updates), and 2000::/3, all that IANA has given out of IPv6 as global unicast (from memory).
"""

import re
import socket
import ssl
import threading
import time
from collections import OrderedDict
from collections.abc import Collection, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from http.client import HTTPException, HTTPResponse, HTTPSConnection, RemoteDisconnected
from io import BufferedReader
from ipaddress import IPv4Address, IPv6Address, ip_address, ip_network
from pathlib import Path
from queue import Empty, SimpleQueue
from typing import Any, Literal, NamedTuple
from urllib.parse import urlsplit

Address = IPv4Address | IPv6Address

MOST_CHARACTERS = 2000
"""Of an endpoint. Those of real services have about 200 (from memory)."""

_MOST_TRIED = 4
"""Addresses of one host that are tried."""
_MOST_ORIGINS = 64
_MOST_ANSWER = 4096  # octets that are read, so that the connection can be kept
_IDLE_S = 60.0
"""A connection that nobody used for so long is made anew: a router may have forgotten it."""

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


# ---- what may be asked -------------------------------------------------------------------------


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
    """Take a push endpoint apart; raise ValueError with a sentence where it cannot be one.

    Any port will do: RFC 8030 names none, and the certificate must fit the name on each.
    """
    if not isinstance(url, str) or len(url) > MOST_CHARACTERS:
        raise ValueError(f"A push address is a text of at most {MOST_CHARACTERS} characters.")
    if not re.fullmatch(r"[!-\[\]-~]+", url):
        raise ValueError("A push address has no spaces, backslashes or letters beyond ASCII.")
    try:
        parts = urlsplit(url)
        port = parts.port
    except ValueError:
        raise ValueError("This push address cannot be read.") from None
    if parts.scheme != "https":
        raise ValueError("A push address begins with https://.")
    if "@" in parts.netloc:
        raise ValueError("A push address has no user name or password.")
    if "#" in url:
        raise ValueError("A push address has no fragment (#).")
    host = (parts.hostname or "").lower()
    if ":" in host or _NUMBER.fullmatch(host.rpartition(".")[2]):
        raise ValueError("A push address names its host: a bare number is not taken.")
    if len(host) > 253 or not _HOST.fullmatch(host):
        raise ValueError("A push address needs the full name of a host, such as push.example.net.")
    if port == 0:
        raise ValueError("A push address has a port from 1 to 65535, or none.")
    path = (parts.path or "/") + (f"?{parts.query}" if parts.query else "")
    return Endpoint(host, port or 443, path)


def check_allow(allow: Collection[str]) -> tuple[str, ...]:
    """Return the allow-list in small letters; raise ValueError for what is not a host's name."""
    names = tuple(name.strip().lower() for name in allow)
    for name in names:
        if not _HOST.fullmatch(name.removeprefix(".")):
            raise ValueError(
                f"{name!r} is not the name of a push service. Write it like push.example.net, "
                "or .push.example.net for all hosts below it."
            )
    return names


def is_allowed(host: str, allow: Collection[str]) -> bool:
    """Whether the allow-list (of `check_allow`) has `host`. An empty one allows every host.

    `push.example.net` is that host and all below it, `.push.example.net` only those below it.
    """
    if not allow:
        return True
    return any(host == name or host.endswith(f".{name.removeprefix('.')}") for name in allow)


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


@dataclass(frozen=True)
class Trial:
    """A stand-in push service on this machine, for tests.

    A server with a trial sends every message to that one loopback address and port, whatever the
    endpoint says, and trusts that one authority: it can reach no real push service, so nobody
    leaves it set by accident. Raises ValueError for an address that is not loopback.
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
            raise ValueError("A push trial has a loopback address, such as 127.0.0.1.")
        if not 1 <= self.port <= 65535:
            raise ValueError("A push trial has a port from 1 to 65535.")

    @classmethod
    def from_text(cls, text: str) -> "Trial":
        """Read `ADDRESS:PORT:CA_FILE`, an IPv6 address in square brackets."""
        found = re.fullmatch(r"(\[[0-9a-fA-F:]+\]|[0-9.]+):(\d{1,5}):(.+)", text.strip())
        if not found:
            raise ValueError(
                "A push trial is written ADDRESS:PORT:CA_FILE, such as 127.0.0.1:8443:/tmp/ca.pem."
            )
        return cls(found[1].strip("[]"), int(found[2]), Path(found[3]))

    def __str__(self) -> str:
        address = f"[{self.address}]" if ":" in self.address else self.address
        return f"{address}:{self.port}:{self.ca_file}"


# ---- time-outs ---------------------------------------------------------------------------------


@dataclass(frozen=True)
class Timeouts:
    """Seconds to find and reach a service, to wait for its next octet, and for all together."""

    connect_s: float = 5.0
    read_s: float = 10.0
    total_s: float = 20.0


class Stopped(Exception):
    """A message did not go out; the text is a sentence that can be shown."""

    def __init__(self, kind: Literal["failed", "retry"], why: str) -> None:
        super().__init__(why)
        self.kind: Literal["failed", "retry"] = kind
        self.why = why


@dataclass(eq=False)
class Flight:
    """One message on its way."""

    ends: float  # on time.monotonic
    connection: "GuardedConnection | None" = None
    is_over: bool = False

    def left_s(self) -> float:
        """Seconds that it may still take, never quite nothing."""
        return max(self.ends - time.monotonic(), 0.001)


@dataclass
class Watch:
    """Cuts the connection of a message that takes too long, however busily its service drips.

    A socket's own time-out begins anew with each octet. One thread, started when first needed,
    waits for the oldest message; all have the same time, so the oldest ends first.
    """

    total_s: float
    _flights: dict[Flight, None] = field(default_factory=dict)
    _changed: threading.Condition = field(default_factory=threading.Condition)
    _mine: threading.local = field(default_factory=threading.local)
    _thread: threading.Thread | None = None
    _is_idle: bool = False
    _is_closed: bool = False

    @contextmanager
    def flight(self) -> Iterator[Flight]:
        """The message that this thread sends, watched until the block ends."""
        flight = Flight(time.monotonic() + self.total_s)
        with self._changed:
            self._flights[flight] = None
            if self._thread is None or self._is_closed:
                self._is_closed = False
                self._thread = threading.Thread(
                    target=self._cut_late_ones, name="push watch", daemon=True
                )
                self._thread.start()
            elif self._is_idle:
                self._changed.notify()
        self._mine.flight = flight
        try:
            yield flight
        finally:
            self._mine.flight = None
            with self._changed:
                self._flights.pop(flight, None)

    def mine(self) -> Flight:
        """The message of the thread that asks."""
        flight: Flight = self._mine.flight
        return flight

    def close(self) -> None:
        """End the thread. A further message starts another."""
        with self._changed:
            self._is_closed = True
            self._changed.notify()
            thread = self._thread
        if thread is not None:
            thread.join()

    def _cut_late_ones(self) -> None:
        with self._changed:
            while not self._is_closed:
                oldest = next(iter(self._flights), None)
                wait_s = None if oldest is None else oldest.ends - time.monotonic()
                if oldest is not None and wait_s is not None and wait_s <= 0:
                    oldest.is_over = True
                    if oldest.connection is not None:
                        oldest.connection.cut()
                    del self._flights[oldest]
                    continue
                self._is_idle = oldest is None
                self._changed.wait(wait_s)
                self._is_idle = False


# ---- the connection ----------------------------------------------------------------------------


def resolve(host: str, port: int) -> list[Address]:
    """All addresses of `host`, in the system's order of preference. Raises OSError."""
    found = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)
    return [ip_address(str(place[0])) for *_, place in found]


def _resolve_in_time(host: str, port: int, within_s: float) -> list[Address]:
    """`resolve`, given up after `within_s`: the system's own patience is half a minute and more."""
    answers: SimpleQueue[list[Address] | OSError | ValueError] = SimpleQueue()

    def ask() -> None:
        try:
            answers.put(resolve(host, port))
        except (OSError, ValueError) as error:  # UnicodeError is a ValueError
            answers.put(error)

    threading.Thread(target=ask, name="push look-up", daemon=True).start()
    try:
        answer = answers.get(timeout=within_s)
    except Empty:
        raise Stopped("retry", f"The name {host} was not found in time.") from None
    if not isinstance(answer, list) or not answer:
        raise Stopped("retry", f"The name {host} was not found.")
    return answer


class _Lines(BufferedReader):
    """A reader that remembers the line it gave last."""

    last = b""

    def readline(self, size: int | None = -1, /) -> bytes:
        self.last = super().readline(size)
        return self.last


class _WholeAnswer(HTTPResponse):
    """An answer whose head is whole: the standard library takes one that was cut for it too."""

    fp: _Lines

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        self.fp = _Lines(self.fp.detach())

    def begin(self) -> None:
        super().begin()
        if self.fp.last not in {b"\r\n", b"\n"}:
            raise RemoteDisconnected("the head of the answer was cut")


class GuardedConnection(HTTPSConnection):
    """An HTTPS connection that goes to a checked address or nowhere.

    Neither a proxy nor a redirect can lead it elsewhere: `http.client` knows of neither.
    """

    response_class = _WholeAnswer

    def __init__(
        self,
        host: str,
        port: int,
        *,
        context: ssl.SSLContext,
        watch: Watch,
        trial: Trial | None,
        timeouts: Timeouts,
    ) -> None:
        super().__init__(host, port, context=context)
        self._tls = context
        self._watch = watch
        self._trial = trial
        self._timeouts = timeouts
        self._used = time.monotonic()
        self._held: list[bytes] | None = None

    def send(self, data: Any) -> None:
        """Head and body together: the standard library would make two packets of them."""
        if self._held is None:
            super().send(data)
        else:
            self._held.append(data)

    def post(self, path: str, body: bytes, headers: dict[str, str]) -> tuple[int, str | None]:
        """Post once; return the answer's status and its Retry-After.

        Afterwards it is ready for the next message, or closed. Raises Stopped, OSError,
        HTTPException or ValueError.
        """
        self._watch.mine().connection = self
        if self.sock is not None and not self._is_alive():
            self.close()
        try:
            self._held = []
            self.request("POST", path, body, headers)
            whole, self._held = b"".join(self._held), None
            self.send(whole)
            answer = self.getresponse()
        except BaseException:
            self.close()
            raise
        said = answer.status, answer.headers.get("Retry-After")
        try:
            is_whole = len(answer.read(_MOST_ANSWER + 1)) <= _MOST_ANSWER
        except (OSError, HTTPException, ValueError):
            is_whole = False  # the status came, and that is what counts
        answer.close()
        if not is_whole or answer.status < 200:
            self.close()
        self._used = time.monotonic()
        return said

    def connect(self) -> None:
        flight = self._watch.mine()
        ends = time.monotonic() + min(self._timeouts.connect_s, flight.left_s())
        plain = self._open(ends)
        try:
            self.sock = self._tls.wrap_socket(plain, server_hostname=self.host)
        except BaseException:
            plain.close()
            raise
        self.sock.settimeout(self._timeouts.read_s)
        if flight.is_over:  # before there was a socket that could be cut
            raise TimeoutError

    def cut(self) -> None:
        """End the connection from another thread: whoever reads from it reads its end."""
        held = self.sock
        if held is not None:
            with suppress(OSError):  # it may be closed already
                # Not SSLSocket's own, which would let the reader take cipher text for plain.
                socket.socket.shutdown(held, socket.SHUT_RDWR)

    def _is_alive(self) -> bool:
        """Whether the other side has neither ended it nor said anything unasked."""
        if time.monotonic() - self._used > _IDLE_S:
            return False
        self.sock.settimeout(0)
        try:
            socket.socket.recv(self.sock, 1, socket.MSG_PEEK)
        except BlockingIOError:
            return True
        except OSError:
            return False
        else:
            return False
        finally:
            self.sock.settimeout(self._timeouts.read_s)

    def _open(self, ends: float) -> socket.socket:
        """A connection to one of the host's addresses, until `ends` on time.monotonic."""
        addresses = self._addresses(ends - time.monotonic())
        port = self.port if self._trial is None else self._trial.port
        for index, address in enumerate(addresses):
            left_s = max(ends - time.monotonic(), 0.001)
            made = socket.socket(
                socket.AF_INET if address.version == 4 else socket.AF_INET6, socket.SOCK_STREAM
            )
            try:
                made.settimeout(left_s / (len(addresses) - index))
                made.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
                made.connect((str(address), port))
                peer = ip_address(str(made.getpeername()[0]))
                made.settimeout(max(ends - time.monotonic(), 0.001))
            except OSError:
                made.close()
                continue
            if peer != address:
                made.close()
                raise Stopped("failed", f"{self.host} was reached at another address than asked.")
            return made
        raise Stopped("retry", f"{self.host} could not be reached.")

    def _addresses(self, within_s: float) -> list[Address]:
        if self._trial is not None:
            return [ip_address(self._trial.address)]
        found = _resolve_in_time(self.host, self.port, within_s)
        if not all(is_public(address) for address in found):
            raise Stopped(
                "failed",
                f"{self.host} has an address that is not public. Nothing was sent there.",
            )
        return list(dict.fromkeys(found))[:_MOST_TRIED]


class Connections:
    """Guarded connections, kept for the next message to the same origin.

    `most` are kept idle for one origin, and for 64 origins: the one longest unused makes room.
    Raises ValueError where the trial's authority cannot be read.
    """

    def __init__(self, *, trial: Trial | None, timeouts: Timeouts, most: int) -> None:
        self.watch = Watch(timeouts.total_s)
        self._trial = trial
        self._timeouts = timeouts
        self._most = most
        self._tls = tls(trial)
        self._lock = threading.Lock()
        self._idle: OrderedDict[str, list[GuardedConnection]] = OrderedDict()

    def take(self, endpoint: Endpoint) -> GuardedConnection:
        """The connection used last to the endpoint's origin, or a new one."""
        with self._lock:
            idle = self._idle.get(endpoint.origin)
            if idle:
                return idle.pop()
        return GuardedConnection(
            endpoint.host,
            endpoint.port,
            context=self._tls,
            watch=self.watch,
            trial=self._trial,
            timeouts=self._timeouts,
        )

    def give_back(self, endpoint: Endpoint, connection: GuardedConnection) -> None:
        """Keep `connection`, unless it is closed."""
        if connection.sock is None:
            return
        with self._lock:
            idle = self._idle.setdefault(endpoint.origin, [])
            self._idle.move_to_end(endpoint.origin)
            idle.append(connection)
            spare = [idle.pop(0)] if len(idle) > self._most else []
            if len(self._idle) > _MOST_ORIGINS:
                spare += self._idle.popitem(last=False)[1]
        for one in spare:
            one.close()

    def close(self) -> None:
        """Close all that is kept. A further message opens anew."""
        with self._lock:
            kept = [one for idle in self._idle.values() for one in idle]
            self._idle.clear()
        for one in kept:
            one.close()
        self.watch.close()


def tls(trial: Trial | None) -> ssl.SSLContext:
    """What is trusted: the machine's authorities, or the trial's one and no other.

    Raises ValueError where the trial's file cannot be read.
    """
    if trial is None:
        return ssl.create_default_context()
    try:
        return ssl.create_default_context(cafile=str(trial.ca_file))
    except OSError:  # ssl.SSLError is one
        raise ValueError(
            f"The certificate file {trial.ca_file} of the push trial cannot be read. "
            "Give the file of its authority, in PEM."
        ) from None
