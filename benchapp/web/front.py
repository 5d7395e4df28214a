"""What stands before the app: a request takes a thread only once all of it has arrived.

Whoever sends a body a byte a minute waits here, where waiting costs no thread, and so does whoever
listens (`live`). The app still says what is wrong with a request, and in which words: of a body
that was not read to its end, it is told why in the scope (`limits.BODY`).
"""

import asyncio
import os
import signal
from collections.abc import Awaitable, Callable
from contextlib import suppress
from typing import Any
from urllib.parse import quote

from a2wsgi import WSGIMiddleware
from flask import Flask
from werkzeug.http import parse_cookie

from benchapp.web import limits, live

Message = dict[str, Any]
Scope = dict[str, Any]
Receive = Callable[[], Awaitable[Message]]
Send = Callable[[Message], Awaitable[None]]

THREADS = 32
"""Requests that are answered at the same time."""
BODY_S = 30.0
"""How long a body may take to arrive: as long as the phone waits for its answer."""
_SWALLOWED = 4 * limits.LARGE
_VISIBLE = bytes(range(0x21, 0x7F))


class Front:
    """An ASGI application around the Flask app. For one event loop."""

    def __init__(self, app: Flask) -> None:
        self._app = app
        self._limits = limits.of(app)
        self._live = live.of(app)
        self._answer = WSGIMiddleware(app, workers=THREADS)  # type: ignore[arg-type]
        self._patience: set[asyncio.Timeout] = set()

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer a request, or begin and end with the server (ASGI 3.0)."""
        if scope["type"] == "lifespan":
            await self._begin_and_end(receive, send)
            return
        # What is no ASCII is not allowed there (RFC 3986), but sent all the same.
        scope |= {"query_string": quote(scope["query_string"], safe=_VISIBLE).encode()}
        scope |= {"headers": _with_one_cookie(scope["headers"])}
        headers = dict(scope["headers"])
        if not _has_body(headers):
            if scope["path"] == live.PATH and scope["method"] == "GET":
                await self._listen(scope, receive, send)
            else:
                await self._answer(scope, _given(b""), send)  # type: ignore[arg-type]
            return
        caller = self._limits.caller(*self._who(scope, headers))
        length = _length(headers)
        if not self._limits.begin(caller, length):
            scope[limits.BODY] = limits.Unread.TOO_MANY
            await self._answer(scope, _given(b""), send)  # type: ignore[arg-type]
            return
        try:
            try:
                body = await self._whole(receive, length, limits.most_of(scope["path"]))
            except TimeoutError:
                scope[limits.BODY] = limits.Unread.LATE
                body = b""
            await self._answer(scope, _given(body), send)  # type: ignore[arg-type]
        finally:
            self._limits.end(caller, length)

    async def _listen(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let the app decide and begin the answer, and keep it open where it lets the caller in."""
        opened = live.Opened()

        async def keep_open(message: Message) -> None:
            is_last = message["type"] == "http.response.body" and not message.get("more_body")
            if not (is_last and opened.device_id):
                await send(message)

        scope[live.OPENED] = opened
        await self._answer(scope, _given(b""), keep_open)  # type: ignore[arg-type]
        if opened.device_id:
            await self._live.go_on(opened, receive, send)

    async def _whole(self, receive: Receive, length: int, most: int) -> bytes:
        """The body; of one that breaks off, what has come. Raises TimeoutError where it is late.

        Nothing is kept of one that is too long, or does not say how long it is: but whoever is
        still sending when the line closes reads no answer.
        """
        kept, arrived = bytearray(), 0
        async with asyncio.timeout(BODY_S) as patience:
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
            finally:
                self._patience.discard(patience)

    async def _begin_and_end(self, receive: Receive, send: Send) -> None:
        await receive()
        loop = asyncio.get_running_loop()
        # The server waits for what is under way before it says that it ends.
        with suppress(NotImplementedError):
            loop.add_signal_handler(signal.SIGTERM, self._end, loop)
        await send({"type": "lifespan.startup.complete"})
        await receive()
        await send({"type": "lifespan.shutdown.complete"})

    def _end(self, loop: asyncio.AbstractEventLoop) -> None:
        """Wait for nobody any more, and let the server end, which takes SIGINT the same way."""
        for patience in self._patience:
            patience.reschedule(loop.time())
        self._live.end()
        os.kill(os.getpid(), signal.SIGINT)

    def _who(self, scope: Scope, headers: dict[bytes, bytes]) -> tuple[str, str]:
        """The cookie and the address of the caller, as the app will see them."""
        cookies = parse_cookie(headers.get(b"cookie", b"").decode("latin-1"))
        address = (scope.get("client") or ("",))[0]
        if self._app.config["BENCHAPP_BEHIND_PROXY"]:
            forwarded = headers.get(b"x-forwarded-for", b"").decode("latin-1")
            address = forwarded.rpartition(",")[2].strip() or address
        return cookies.get(self._app.config["DEVICE_COOKIE_NAME"], ""), address


def _with_one_cookie(headers: list[tuple[bytes, bytes]]) -> list[tuple[bytes, bytes]]:
    """The headers with the cookies in one: over HTTP/2 they may come apart (RFC 9113, 8.2.3)."""
    cookies = [value for name, value in headers if name == b"cookie"]
    if len(cookies) < 2:
        return headers
    others = [(name, value) for name, value in headers if name != b"cookie"]
    return [*others, (b"cookie", b"; ".join(cookies))]


def _has_body(headers: dict[bytes, bytes]) -> bool:
    return headers.get(b"content-length", b"0") != b"0" or b"transfer-encoding" in headers


def _length(headers: dict[bytes, bytes]) -> int:
    """The length that a body is said to have; 0 where nothing is said."""
    told = headers.get(b"content-length", b"0")
    return int(told) if told.isdigit() else 0


def _given(body: bytes) -> Receive:
    """What the app receives: the whole body at once."""

    async def receive() -> Message:
        return {"type": "http.request", "body": body, "more_body": False}

    return receive
