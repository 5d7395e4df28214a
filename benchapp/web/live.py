"""Telling phones at once that there is something new in their workshop: a stream of server-sent
events (HTML standard, 9.2) in which each says how far the workshop has come, and nothing of what is
in it. The phone then makes its usual exchange.

The app lets a listener in as it lets in anyone, and begins the answer; the front goes on with it,
and no thread is held. All listeners of all workshops together cost one query a second, while there
are any, and one more after each change that came through this process.
"""

import asyncio
import logging
from collections.abc import Awaitable, Callable, Iterable
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from dataclasses import dataclass, field
from itertools import count
from typing import Any

from flask import Blueprint, Flask, Response, current_app, request

from benchapp.records import devices
from benchapp.records.database import Database, Unavailable
from benchapp.web.auth import reading
from benchapp.web.errors import Refused

room = Blueprint("live", __name__)

PATH = "/api/live"
OPENED = "benchapp.opened"
"""Where the ASGI scope holds the `Opened` that the app fills."""

LOOK_S = 1.0
"""How often it is looked for what another process has changed."""
CALM_S = 0.05
"""What changes together is told together."""
HEARTBEAT_S = 25.0
"""How often a listener hears something in any case: less than proxies wait for a word, a minute
(common practice, no source)."""
MOST_OF_DEVICE = 4
"""Streams of one device; one more ends the oldest, as its phone may be long gone."""
MOST_OF_ADDRESS = 256
"""Streams of one address: the workshop's router."""
MOST = 1000

Receive = Callable[[], Awaitable[dict[str, Any]]]
Send = Callable[[dict[str, Any]], Awaitable[None]]

_log = logging.getLogger(__name__)


@dataclass(eq=False)
class Opened:
    """A stream that the app may let in. `device_id` is empty where it did not.

    Attributes:
        reached: how far the workshop had come when the listener was told last.
        is_over: the listener is to hear no more.
        moved: set whenever either of them changes.
        number: they are let in in this order, and may be gone on with in another.
    """

    device_id: str = ""
    address: str = ""
    reached: str = ""
    is_over: bool = False
    moved: asyncio.Event = field(default_factory=asyncio.Event)
    number: int = field(default_factory=count().__next__)

    def end(self) -> None:
        self.is_over = True
        self.moved.set()


@room.get(PATH)
def listen() -> Response:
    """How far the workshop of the asking device has come, now and whenever it gets further."""
    address = request.remote_addr or ""
    if of(current_app).is_full(address):
        raise Refused(
            "Too many phones are listening already. This one asks now and then.", status=503
        )
    with reading() as (connection, device):
        reached = devices.reached(connection, [device.id]).get(device.id, "")
    # Without the front, as in a test, the answer ends after the first event.
    opened: Opened | None = request.environ.get("asgi.scope", {}).get(OPENED)
    if opened is not None:
        opened.device_id, opened.address, opened.reached = device.id, address, reached
    # An iterator, so that no length is told.
    response = Response(iter([_event(reached)]), mimetype="text/event-stream")
    response.headers["Cache-Control"] = "no-store, no-transform"
    # What many proxies go by that would rather send much at a time.
    response.headers["X-Accel-Buffering"] = "no"
    return response


def _event(reached: str) -> bytes:
    return f"data: {reached}\n\n".encode()


def register(app: Flask) -> None:
    """Give `app`, which has its database, the listeners; what it changes is told at once."""
    app.extensions["live"] = Listeners(app.extensions["database"])
    app.register_blueprint(room)

    @app.after_request
    def look(response: Response) -> Response:
        if request.method == "POST" and response.status_code < 400:
            of(app).look_now()
        return response


def of(app: Flask) -> "Listeners":
    """The listeners of an app."""
    found: Listeners = app.extensions["live"]
    return found


class Listeners:
    """The streams that are open. All but `is_full` and `look_now` is for one event loop."""

    def __init__(self, database: Database) -> None:
        self._database = database
        self._open: list[Opened] = []
        self._loop: asyncio.AbstractEventLoop | None = None
        self._wanted = asyncio.Event()
        self._looking: asyncio.Task[None] | None = None
        # A look must not wait for those who answer.
        self._thread = ThreadPoolExecutor(1, thread_name_prefix="live")

    def is_full(self, address: str) -> bool:
        """Whether this address, or the server, has as many streams as it may have."""
        here = list(self._open)
        return len(here) >= MOST or sum(each.address == address for each in here) >= MOST_OF_ADDRESS

    def look_now(self) -> None:
        """Something may have changed. For any thread."""
        if self._open and self._loop is not None:
            self._loop.call_soon_threadsafe(self._wanted.set)

    def end(self) -> None:
        """End all streams: the server stops."""
        for each in self._open:
            each.end()

    async def go_on(self, opened: Opened, receive: Receive, send: Send) -> None:
        """Go on with the answer that the app has begun, until either side ends it."""
        self._loop = asyncio.get_running_loop()
        self._open.append(opened)
        same = [each for each in self._open if each.device_id == opened.device_id]
        same.sort(key=lambda each: each.number)
        for each in same[:-MOST_OF_DEVICE]:
            each.end()
        if self._looking is None or self._looking.done():
            self._looking = self._loop.create_task(self._look_on())
        gone = self._loop.create_task(_until_gone(opened, receive))
        try:
            while not opened.is_over:
                opened.moved.clear()
                with suppress(TimeoutError):
                    await asyncio.wait_for(opened.moved.wait(), HEARTBEAT_S)
                if not opened.is_over:
                    await send(_part(_event(opened.reached)))
            await send(_part(b"", more=False))
        finally:
            self._open.remove(opened)
            gone.cancel()

    async def _look_on(self) -> None:
        """Look again and again how far the workshops have come, while anyone listens."""
        wait_s = LOOK_S
        try:
            while self._open:
                with suppress(TimeoutError):
                    await asyncio.wait_for(self._wanted.wait(), wait_s)
                    await asyncio.sleep(CALM_S)
                self._wanted.clear()
                try:
                    await self._look()
                    wait_s = LOOK_S
                except Unavailable as error:
                    _log.warning("Not looked for what is new: %s", error)
                    wait_s = min(2 * wait_s, HEARTBEAT_S)
        finally:
            # Nobody is to wait for what is not looked for.
            self.end()

    async def _look(self) -> None:
        """See how far they have come, and whom to tell. Raises Unavailable."""
        asked = list(self._open)
        ids = {each.device_id for each in asked}
        loop = asyncio.get_running_loop()
        reached = await loop.run_in_executor(self._thread, self._reached, ids)
        for each in asked:
            if each.device_id not in reached:
                each.end()
            elif each.reached != reached[each.device_id]:
                each.reached = reached[each.device_id]
                each.moved.set()

    def _reached(self, ids: Iterable[str]) -> dict[str, str]:
        with self._database.read() as connection:
            return devices.reached(connection, ids)


async def _until_gone(opened: Opened, receive: Receive) -> None:
    while (await receive())["type"] != "http.disconnect":
        pass
    opened.end()


def _part(body: bytes, more: bool = True) -> dict[str, Any]:
    return {"type": "http.response.body", "body": body, "more_body": more}
