"""A listener in this process, with an answer of a test's own, and callers at its socket."""

import asyncio
import socket
import ssl
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from benchapp.web.connections import CONNECTION, Connection, Connections
from benchapp.web.listener import Listener, Patience
from tests.waits import PATIENCE_S, until

LARGE = 20_000_000
FOREVER = Patience(head=PATIENCE_S, idle=PATIENCE_S, linger=PATIENCE_S, end=PATIENCE_S)


class Echo:
    """A front that tells what it was asked. Whoever says 'cookie: known' is known from then on;
    who asks for /wait gets no answer before `go_on` is set, who asks for /listen none at all, and
    who asks for /large more than the system keeps for him."""

    def __init__(self) -> None:
        self.go_on = threading.Event()
        self.is_waiting = threading.Event()

    async def __call__(self, scope: Any, receive: Any, send: Any) -> None:
        connection: Connection = scope["state"][CONNECTION]
        connection.become(known=(b"cookie", b"known") in scope["headers"])
        said = bytearray()
        while True:
            message = await receive()
            said += message.get("body", b"")
            if not message.get("more_body"):
                break
        if scope["path"] == "/wait":
            self.is_waiting.set()
            await asyncio.to_thread(self.go_on.wait)
        if scope["path"] == "/listen":
            connection.become(listening=True)
            while (await receive())["type"] != "http.disconnect":
                pass
            return
        if scope["path"] == "/large":
            said += bytes(LARGE)
        names = b",".join(name for name, _ in scope["headers"])
        path, query = scope["path"].encode(), scope["query_string"]
        body = b"%s %s?%s %s %s." % (scope["method"].encode(), path, query, names, said)
        length = (b"content-length", b"%d" % len(body))
        await send({"type": "http.response.start", "status": 200, "headers": [length]})
        await send({"type": "http.response.body", "body": body})

    def end(self) -> None:
        self.go_on.set()


@contextmanager
def listening(
    front: Any,
    connections: Connections | None = None,
    patience: Patience = FOREVER,
    context: ssl.SSLContext | None = None,
) -> Iterator[int]:
    """Answer through `front` in a thread until the end of the block; give the port."""
    bound = socket.create_server(("127.0.0.1", 0))
    ends: list[Any] = []
    is_on = threading.Event()

    async def run() -> None:
        told = asyncio.Event()
        loop = asyncio.get_running_loop()
        listener = Listener(front, connections or Connections(), context, patience)
        listener.start(bound)
        ends.append(lambda: loop.call_soon_threadsafe(told.set))
        is_on.set()
        await told.wait()
        await listener.end()

    thread = threading.Thread(target=asyncio.run, args=(run(),))
    thread.start()
    try:
        assert is_on.wait(PATIENCE_S)
        yield bound.getsockname()[1]
    finally:
        ends[0]()
        thread.join(PATIENCE_S)
        bound.close()
        assert not thread.is_alive()


class Line:
    """A caller's line to it."""

    def __init__(self, port: int, said: bytes = b"", source: str = "127.0.0.1") -> None:
        self.socket = socket.create_connection(("127.0.0.1", port), PATIENCE_S, (source, 0))
        self._heard = b""
        if said:
            self.socket.sendall(said)

    def say(self, said: bytes) -> None:
        self.socket.sendall(said)

    def hear(self, until: bytes) -> bytes:
        """All that it is told up to the end of `until`; what comes after it is heard later."""
        while until not in self._heard:
            piece = self.socket.recv(65536)
            assert piece, self._heard
            self._heard += piece
        found, mark, self._heard = self._heard.partition(until)
        return found + mark

    def hear_all(self) -> bytes:
        """All that it is told until the line is closed."""
        try:
            while piece := self.socket.recv(65536):
                self._heard += piece
        except ConnectionError:
            pass
        heard, self._heard = self._heard, b""
        return heard

    def is_open(self) -> bool:
        """Whether nothing is heard at this moment, nor that it is closed."""
        self.socket.setblocking(False)
        try:
            self.socket.recv(1)
        except BlockingIOError:
            return True
        except ConnectionError:
            return False
        finally:
            self.socket.settimeout(PATIENCE_S)
        return False

    def stay(self, come: threading.Event) -> None:
        """Wait until something has come. Raises AssertionError where the line is closed first."""
        until(lambda: come.is_set() or not self.is_open())
        assert come.is_set()

    def close(self) -> None:
        self.socket.close()
