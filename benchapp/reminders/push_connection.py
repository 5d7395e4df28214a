"""The HTTPS connection over which a push goes: to a public address or nowhere, and never for long.

A host's name is looked up once for a connection, which is made to such an address with no second
look-up that could answer otherwise (DNS rebinding); the certificate must be good for the name.
Redirects are never followed. What may be called at all is in `push_address`.
"""

import socket
import ssl
import threading
import time
from collections import OrderedDict
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from http.client import HTTPException, HTTPResponse, HTTPSConnection, RemoteDisconnected
from io import BufferedReader
from ipaddress import ip_address
from queue import Empty, SimpleQueue
from typing import Any, Literal

from benchapp.reminders.push_address import Address, Endpoint, Trial, is_public
from benchapp.words import InputError, WordedError

_MOST_TRIED = 4
"""Addresses of one host that are tried."""
_MOST_ORIGINS = 64
_MOST_ANSWER = 4096  # octets that are read, so that the connection can be kept
_IDLE_S = 60.0
"""A connection that nobody used for so long is made anew: a router may have forgotten it."""


# ---- time-outs ---------------------------------------------------------------------------------


@dataclass(frozen=True)
class Timeouts:
    """Seconds to find and reach a service, to wait for its next octet, and for all together."""

    connect_s: float = 5.0
    read_s: float = 10.0
    total_s: float = 20.0


class Stopped(WordedError):
    """A message did not go out.

    Attributes:
        kind: as in `push.Outcome`.
    """

    def __init__(
        self, sentence: str, /, *, kind: Literal["failed", "retry"], **values: object
    ) -> None:
        super().__init__(sentence, **values)
        self.kind: Literal["failed", "retry"] = kind


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
        raise Stopped("The name {host} was not found in time.", kind="retry", host=host) from None
    if not isinstance(answer, list) or not answer:
        raise Stopped("The name {host} was not found.", kind="retry", host=host)
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
                raise Stopped(
                    "{host} was reached at another address than asked.",
                    kind="failed",
                    host=self.host,
                )
            return made
        raise Stopped("{host} could not be reached.", kind="retry", host=self.host)

    def _addresses(self, within_s: float) -> list[Address]:
        if self._trial is not None:
            return [ip_address(self._trial.address)]
        found = _resolve_in_time(self.host, self.port, within_s)
        if not all(is_public(address) for address in found):
            raise Stopped(
                "{host} has an address that is not public. Nothing was sent there.",
                kind="failed",
                host=self.host,
            )
        return list(dict.fromkeys(found))[:_MOST_TRIED]


class Connections:
    """Guarded connections, kept for the next message to the same origin.

    `most` are kept idle for one origin, and for 64 origins: the one longest unused makes room.
    Raises InputError where the trial's authority cannot be read.
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

    Raises InputError where the trial's file cannot be read.
    """
    if trial is None:
        return ssl.create_default_context()
    try:
        return ssl.create_default_context(cafile=str(trial.ca_file))
    except OSError:  # ssl.SSLError is one
        raise InputError(
            "The certificate file {file} of the push trial cannot be read. "
            "Give the file of its authority, in PEM.",
            file=trial.ca_file,
        ) from None
