"""The sockets: callers are taken in, and spoken with in HTTP/1.1 while they keep to the rules.

uvicorn's protocol reads requests and writes answers. Here is what a stranger could abuse: how long
a head may be and may take, how many requests may wait in line, how long nothing may be said, and
who gives way where there is no room (`connections`).
"""

import asyncio
import errno
import socket
import ssl
from contextlib import suppress
from dataclasses import dataclass
from email.utils import formatdate
from functools import partial
from http import HTTPStatus
from typing import Any

from uvicorn.config import Config
from uvicorn.protocols.http.httptools_impl import HttpToolsProtocol
from uvicorn.server import ServerState

from benchapp.web.connections import CONNECTION, Connection, Connections
from benchapp.web.front import Front
from benchapp.words import t

MOST_HEAD = 32_768
"""Bytes of a head, or of anything else that is no body."""
_MOST_HEADERS = 100
_MOST_IN_LINE = 8
"""Requests that one connection may send before the first of them is answered."""
_NO_ROOM = {errno.EMFILE, errno.ENFILE, errno.ENOBUFS, errno.ENOMEM}
_PAUSE_S = 0.1
BACKLOG = 1024
"""Callers that the system keeps until they are taken in."""


@dataclass(frozen=True)
class Patience:
    """How long the listener waits, in seconds.

    Attributes:
        head: for the head of a request, from the beginning of the connection or of that head, with
            the handshake of TLS.
        idle: for the next request, longer than proxies keep a connection, a minute (common
            practice, no source); and for a caller to read what it is told.
        linger: for a caller who is still sending what nobody wants, to read why.
        end: for what is under way when the server stops.
    """

    head: float = 10.0
    idle: float = 75.0
    linger: float = 2.0
    end: float = 2.0


class Listener:
    """Takes callers in from one socket and lets a front answer them. For one event loop.

    Args:
        context: None: without TLS.
    """

    def __init__(
        self,
        front: Front,
        connections: Connections,
        context: ssl.SSLContext | None = None,
        patience: Patience | None = None,
    ) -> None:
        self.patience = patience or Patience()
        self.config = Config(
            front,
            http=HttpConnection,
            ws="none",
            lifespan="off",
            interface="asgi3",
            log_config=None,
            access_log=False,
            # Whom to believe is the app's business.
            proxy_headers=False,
            timeout_keep_alive=self.patience.idle,  # type: ignore[arg-type]
        )
        self.config.load()
        self.state = ServerState()
        self.connections = connections
        self._front = front
        self._context = context
        self._beginning: set[asyncio.Task[None]] = set()
        self._listening: socket.socket | None = None
        self._accepting: asyncio.Task[None] | None = None
        self.has_left = asyncio.Event()

    def start(self, listening: socket.socket) -> None:
        """Take callers in from now on, by a socket that is the listener's to close. Raises OSError
        where the address is taken by now."""
        listening.listen(BACKLOG)
        listening.setblocking(False)
        self._listening = listening
        self._accepting = asyncio.get_running_loop().create_task(self._accept(listening))

    async def end(self) -> None:
        """Take no one in any more, have answered what has come, and end all connections."""
        if self._accepting is not None and self._listening is not None:
            self._accepting.cancel()
            await asyncio.wait([self._accepting])
            self._listening.close()
        self._front.end()
        for task in self._beginning:
            task.cancel()
        for each in list(self.state.connections):
            each.shutdown()
        with suppress(TimeoutError):
            async with asyncio.timeout(self.patience.end):
                while self.state.connections or self._beginning:
                    self.has_left.clear()
                    await self.has_left.wait()
        for each in list(self.state.connections):
            each.transport.abort()
        for _ in range(2):
            await asyncio.sleep(0)  # The sockets are closed in the loop's next turns.

    async def _accept(self, listening: socket.socket) -> None:
        loop = asyncio.get_running_loop()
        while True:
            try:
                connected, address = await loop.sock_accept(listening)
                # A head and its body go out apart: the second must not wait for an acknowledgement.
                connected.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
            except OSError as error:
                is_full = error.errno in _NO_ROOM
                if is_full:
                    self.connections.end_one()
                await asyncio.sleep(_PAUSE_S if is_full else 0)
                continue
            protocol = HttpConnection(self, address)
            if self.connections.enter(protocol.connection):
                task = loop.create_task(self._begin(protocol, connected))
                protocol.beginning = task
                self._beginning.add(task)
                task.add_done_callback(partial(self._begun, connected))
                # Others have their turn as well.
                await asyncio.sleep(0)
            else:
                connected.close()

    async def _begin(self, protocol: "HttpConnection", connected: socket.socket) -> None:
        secure: dict[str, Any] = {}
        if self._context is not None:
            secure = {"ssl": self._context, "ssl_shutdown_timeout": self.patience.linger}
        protocol.wait_for_head()
        try:
            await asyncio.get_running_loop().connect_accepted_socket(
                lambda: protocol, connected, **secure
            )
        except OSError:
            protocol.gone()  # in the middle of the handshake
        except BaseException:
            protocol.gone()
            raise

    def _begun(self, connected: socket.socket, task: asyncio.Task[None]) -> None:
        if task.cancelled():
            connected.close()  # Where it was ended at once, nobody else has it yet.
        self._beginning.discard(task)
        self.has_left.set()


class HttpConnection(HttpToolsProtocol):
    """One caller."""

    def __init__(self, listener: Listener, address: tuple[Any, ...]) -> None:
        self.connection = Connection(listener.connections, address[0], self._end)
        super().__init__(listener.config, listener.state, {CONNECTION: self.connection})
        self.beginning: asyncio.Task[None] | None = None
        self._address = (str(address[0]), int(address[1]))
        self._listener = listener
        self._patience = listener.patience
        self._timer: asyncio.TimerHandle | None = None
        self._reading: asyncio.TimerHandle | None = None
        # Bytes since the last that were of a body, or ended a head.
        self._unread = 0
        self._is_in_head = True
        self._fault = HTTPStatus.BAD_REQUEST
        # It has been told why nothing more of it is read.
        self._is_over = False

    # ---- its beginning and its end -------------------------------------------------------------

    def wait_for_head(self) -> None:
        self._wait(self._patience.head)

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        super().connection_made(transport)
        self.client = self._address

    def connection_lost(self, exc: Exception | None) -> None:
        super().connection_lost(exc)
        self.gone()
        self._listener.has_left.set()

    def shutdown(self) -> None:
        if self.connection.is_busy or self.transport.get_write_buffer_size():
            super().shutdown()
        else:
            # Over TLS, a phone that sleeps would be waited for.
            self._end()

    def gone(self) -> None:
        """It is there no more, or has never come to be."""
        self._wait(None)
        self._is_read()
        self._listener.connections.leave(self.connection)

    def _end(self) -> None:
        """End it at once."""
        if self.transport is not None:
            self.transport.abort()
        elif self.beginning is not None:
            self.beginning.cancel()

    def _wait(self, seconds: float | None) -> None:
        """Give it so long to send what must come next, or as long as it likes."""
        if self._timer is not None:
            self._timer.cancel()
        self._timer = None if seconds is None else self.loop.call_later(seconds, self._late)

    def _late(self) -> None:
        self._timer = None
        if self.connection.is_busy:
            self.shutdown()  # once the one before is answered
        else:
            self._end()

    # ---- what it sends -------------------------------------------------------------------------

    def data_received(self, data: bytes) -> None:
        if self._is_over or self.transport.is_closing():
            return
        self._unread += len(data)
        super().data_received(data)
        if self._is_over or self.transport.is_closing():
            return
        if self._unread > MOST_HEAD:
            self._refuse(HTTPStatus.REQUEST_HEADER_FIELDS_TOO_LARGE)
        elif self._is_in_head and self._unread and self._timer is None:
            self.wait_for_head()

    def on_header(self, name: bytes, value: bytes) -> None:
        # What comes after a body (RFC 9112, 7.1.2) is no header of the request.
        if self._is_in_head:
            super().on_header(name, value)

    def on_headers_complete(self) -> None:
        length = len(self.url) + sum(len(name) + len(value) for name, value in self.headers)
        if length > MOST_HEAD or len(self.headers) > _MOST_HEADERS:
            self._fault = HTTPStatus.REQUEST_HEADER_FIELDS_TOO_LARGE
            raise ValueError("too long a head")
        hosts = sum(name == b"host" for name, _ in self.headers)
        if hosts > 1 or (hosts == 0 and self.parser.get_http_version() != "1.0"):
            raise ValueError("not one host")  # RFC 9112, 3.2
        if len(self.pipeline) >= _MOST_IN_LINE:
            raise ValueError("too many in line")
        self._wait(None)
        self._unread = 0
        self._is_in_head = False
        self.server_state.default_headers = [(b"date", formatdate(usegmt=True).encode())]
        super().on_headers_complete()
        if self.parser.should_upgrade():
            self.cycle.keep_alive = False  # The parser reads on in HTTP no more.
        self.connection.become(busy=True)

    def on_body(self, body: bytes) -> None:
        self._unread = 0
        super().on_body(body)

    def on_message_complete(self) -> None:
        self._unread = 0
        self._is_in_head = True
        super().on_message_complete()

    # ---- what it is answered -------------------------------------------------------------------

    def on_response_complete(self) -> None:
        is_next = bool(self.pipeline)
        if is_next or not self.cycle.more_body:
            super().on_response_complete()
        elif not self.transport.is_closing():
            self._linger()
        if self.transport.is_closing():
            self._wait(self._patience.idle)  # until it has read what it was told
        self.connection.become(busy=is_next)

    def timeout_keep_alive_handler(self) -> None:
        self._end()

    def pause_writing(self) -> None:
        super().pause_writing()
        self._reading = self.loop.call_later(self._patience.idle, self._end)

    def resume_writing(self) -> None:
        super().resume_writing()
        self._is_read()

    def _is_read(self) -> None:
        if self._reading is not None:
            self._reading.cancel()
            self._reading = None

    def send_400_response(self, msg: str) -> None:
        self._refuse(self._fault)

    def _refuse(self, status: HTTPStatus) -> None:
        """Say what is wrong, and end it."""
        if self.connection.is_busy:
            # Nobody could tell which request is answered.
            self._end()
            return
        said = f"{t('The server could not read that request. Reload the page and try again.')}\n"
        head = (
            f"HTTP/1.1 {status} {status.phrase}\r\ndate: {formatdate(usegmt=True)}\r\n"
            f"content-type: text/plain; charset=utf-8\r\ncontent-length: {len(said.encode())}\r\n"
            "cache-control: no-store\r\nconnection: close\r\n\r\n"
        )
        self.transport.write((head + said).encode())
        self._linger()

    def _linger(self) -> None:
        """Let it read what it was told, and send what nobody reads, for a moment: where a line with
        something unread is closed, what was sent through it may be lost."""
        self._is_over = True
        self.flow.resume_reading()
        if self.transport.can_write_eof():
            self.transport.write_eof()
        self._wait(self._patience.linger)
