"""What stands before the app: a request takes a thread only once all of it has arrived.

Whoever sends a body a byte a minute waits here, where waiting costs no thread, and so does whoever
listens (`live`). The app still says what is wrong with a request, and in which words: of a body
that was not read to its end, it is told why in the scope (`limits.BODY`).
"""

import asyncio
from collections.abc import Awaitable, Callable
from concurrent.futures import ThreadPoolExecutor
from typing import Any

from flask import Flask
from werkzeug.http import parse_cookie

from benchapp.web import limits, live
from benchapp.web.connections import CONNECTION, Connection
from benchapp.web.wsgi import Answer, answer, environ_of

Message = dict[str, Any]
Scope = dict[str, Any]
Receive = Callable[[], Awaitable[Message]]
Send = Callable[[Message], Awaitable[None]]

THREADS = 32
"""Requests that are answered at the same time."""
BODY_S = 30.0
"""How long a body may take to arrive: as long as the phone waits for its answer."""
SLOW_S = 15.0
"""How long it may come more slowly than `SLOWEST`."""
SLOWEST = 1000
"""Bytes a second that a body must come with, on the average: less than any mobile network has
(common practice, no source)."""
_SWALLOWED = 4 * limits.LARGE


class Front:
    """An ASGI application around the Flask app. For one event loop.

    A scope may hold its `Connection`, which is told whose it is.
    """

    def __init__(self, app: Flask) -> None:
        self._app = app
        self._limits = limits.of(app)
        self._live = live.of(app)
        self._threads = ThreadPoolExecutor(THREADS, thread_name_prefix="answer")
        self._patience: set[asyncio.Timeout] = set()
        self._is_ending = False

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer a request (ASGI 3.0)."""
        environ = environ_of(scope)
        cookie, address = self._who(environ)
        connection: Connection | None = scope.get("state", {}).get(CONNECTION)
        if connection is not None:
            connection.become(known=self._limits.is_known(cookie))
        if _has_body(environ):
            await self._take_body(environ, self._limits.caller(cookie, address), receive, send)
        elif scope["path"] == live.PATH and scope["method"] == "GET":
            await self._listen(environ, connection, receive, send)
        else:
            await self._send(await self._answer(environ, b""), send)
        if connection is not None:
            connection.become(known=self._limits.is_known(cookie))

    def end(self) -> None:
        """Wait for nobody any more, and let nobody wait: the server stops."""
        self._is_ending = True
        for patience in self._patience:
            if not patience.expired():
                patience.reschedule(asyncio.get_running_loop().time())
        self._live.end()

    async def _answer(self, environ: dict[str, Any], body: bytes) -> Answer:
        loop = asyncio.get_running_loop()
        return await loop.run_in_executor(self._threads, answer, self._app, environ, body)

    async def _send(self, found: Answer, send: Send) -> None:
        """Send an answer; of a large one a piece at a time, as fast as the caller takes it."""
        if found.rest is None:
            await _send_whole(found, send)
            return
        loop = asyncio.get_running_loop()
        try:
            await _send_whole(found, send, more=True)
            while piece := await loop.run_in_executor(self._threads, next, found.rest, b""):
                await send({"type": "http.response.body", "body": piece, "more_body": True})
            await send({"type": "http.response.body", "body": b""})
        finally:
            await loop.run_in_executor(self._threads, found.rest.close)

    async def _take_body(
        self, environ: dict[str, Any], caller: str, receive: Receive, send: Send
    ) -> None:
        length = _length(environ)
        scope = environ["asgi.scope"]
        most = limits.most_of(scope["path"])
        # Of a longer one nothing is kept.
        kept = length if length <= most else 0
        if not self._limits.begin(caller, kept):
            scope[limits.BODY] = limits.Unread.TOO_MANY
            await _send_whole(await self._answer(environ, b""), send)
            return
        try:
            try:
                body = await self._whole(receive, length, most)
            except TimeoutError:
                scope[limits.BODY] = limits.Unread.LATE
                body = b""
            found = await self._answer(environ, body)
            del body
            await self._send(found, send)
        finally:
            self._limits.end(caller, kept)

    async def _listen(
        self, environ: dict[str, Any], connection: Connection | None, receive: Receive, send: Send
    ) -> None:
        """Let the app decide and begin the answer, and keep it open where it lets the caller in."""
        opened = live.Opened()
        environ["asgi.scope"][live.OPENED] = opened
        found = await self._answer(environ, b"")
        if not opened.device_id:
            await _send_whole(found, send)
            return
        if connection is not None:
            connection.become(listening=True)
        try:
            await _send_whole(found, send, more=True)
            await self._live.go_on(opened, receive, send)
        finally:
            if connection is not None:
                connection.become(listening=False)

    async def _whole(self, receive: Receive, length: int, most: int) -> bytes:
        """The body; of one that breaks off, what has come. Raises TimeoutError where it is late.

        Nothing is kept of one that is too long, or does not say how long it is: but whoever is
        still sending when the line closes reads no answer.
        """
        kept, arrived = bytearray(), 0
        began = asyncio.get_running_loop().time()
        async with asyncio.timeout_at(began + min(SLOW_S, BODY_S)) as patience:
            self._patience.add(patience)
            try:
                while True:
                    message = await receive()
                    piece = message.get("body", b"")
                    arrived += len(piece)
                    if arrived <= length <= most:
                        kept += piece
                    if not message.get("more_body") or arrived > _SWALLOWED:
                        return bytes(kept)
                    if not (patience.expired() or self._is_ending):
                        patience.reschedule(began + min(SLOW_S + arrived / SLOWEST, BODY_S))
            finally:
                self._patience.discard(patience)

    def _who(self, environ: dict[str, Any]) -> tuple[str, str]:
        """The cookie and the address of the caller, as the app will see them."""
        cookies = parse_cookie(environ.get("HTTP_COOKIE", ""))
        address = environ["REMOTE_ADDR"]
        if self._app.config["BENCHAPP_BEHIND_PROXY"]:
            forwarded = environ.get("HTTP_X_FORWARDED_FOR", "")
            address = forwarded.rpartition(",")[2].strip() or address
        return cookies.get(self._app.config["DEVICE_COOKIE_NAME"], ""), address


async def _send_whole(found: Answer, send: Send, more: bool = False) -> None:
    """Send what the app has answered; `more` is to come where it is not the end."""
    start = {"type": "http.response.start", "status": found.status, "headers": found.headers}
    await send(start)
    await send({"type": "http.response.body", "body": found.body, "more_body": more})


def _has_body(environ: dict[str, Any]) -> bool:
    return environ.get("CONTENT_LENGTH", "0") != "0" or "HTTP_TRANSFER_ENCODING" in environ


def _length(environ: dict[str, Any]) -> int:
    """The length that a body is said to have; 0 where nothing is said."""
    told = environ.get("CONTENT_LENGTH", "0")
    return int(told) if told.isascii() and told.isdigit() else 0
