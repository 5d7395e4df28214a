"""The worker that keeps reminders going: it reckons what changed, makes messages of what is due,
and sends them.

Any number may run, in one process or in several: each reminder and each message is taken by one.
"""

import logging
import threading
import time
from collections.abc import Callable
from concurrent.futures import FIRST_COMPLETED, Future, ThreadPoolExecutor, wait
from types import TracebackType
from urllib.parse import urlsplit

from ..records.database import Database, Unavailable
from . import deliveries, planning
from .deliveries import Parcel
from .push import Outcome, Sender

LOOK_S = 1.0
"""How often it looks whether anything is due."""

SENDERS = 4
"""Messages under way at once: a service that does not answer holds one of them for a while."""

_BATCH = 64
_TROUBLED_S = 10.0
_PRUNE_MS = 3_600_000

log = logging.getLogger("benchapp.reminders")


class Worker:
    """Reckons and sends. To be used in a ``with``, which waits for what is under way.

    Args:
        sender: None where nothing can be sent: then it only reckons, for the calendar.
        app_key: the public key that subscriptions must have been made for.
        clock: gives milliseconds since 1970.
        day_ms: as in ``due.Settings``.
    """

    def __init__(
        self,
        database: Database,
        sender: Sender | None,
        app_key: str,
        clock: Callable[[], int],
        *,
        senders: int = SENDERS,
        day_ms: int | None = None,
    ) -> None:
        self._database = database
        self._sender = sender
        self._app_key = app_key
        self._clock = clock
        self._day_ms = day_ms
        self._pool = ThreadPoolExecutor(senders, thread_name_prefix="push")
        self._under_way: dict[Future[Outcome], Parcel] = {}
        self._pruned_ms = 0

    def __enter__(self) -> "Worker":
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._pool.shutdown()

    def run(self, stop: threading.Event) -> None:
        """Keep at it until ``stop`` is set, and what is under way is written down."""
        while not stop.is_set():
            try:
                if self.round():
                    continue
                self._wait(stop, LOOK_S)
            except Unavailable as error:
                log.warning("unavailable", extra={"told": {"why": str(error)}})
                stop.wait(_TROUBLED_S)
            except Exception:
                # Tomorrow's reminders must not depend on what went wrong today.
                log.exception("unexpected")
                stop.wait(_TROUBLED_S)
        self.finish()

    def once(self) -> None:
        """Do all that is to be done now. Raises Unavailable."""
        while self.round() or self._under_way:
            if self._under_way:
                wait(self._under_way, timeout=LOOK_S, return_when=FIRST_COMPLETED)

    def round(self) -> bool:
        """One step of each errand; whether there may be more to do at once. Raises Unavailable."""
        now_ms = self._clock()
        came_back = [each for each in self._under_way if each.done()]
        room = _BATCH - len(self._under_way) + len(came_back)
        with self._database.read() as connection:
            behind = planning.is_behind(connection)
            due = self._sender is not None and room > 0 and deliveries.is_due(connection, now_ms)
        moved = False
        if behind:
            with self._database.write() as connection:
                moved = planning.plan(connection, now_ms, day_ms=self._day_ms)
        if came_back or due:
            moved = self._send(came_back, room if due else 0, now_ms) or moved
        if now_ms - self._pruned_ms >= _PRUNE_MS:
            with self._database.write() as connection:
                deliveries.prune(connection, now_ms)
            self._pruned_ms = now_ms
        return moved

    def finish(self) -> None:
        """Wait for what is under way, and write down what became of it. Raises Unavailable."""
        wait(self._under_way)
        self._send(list(self._under_way), 0, self._clock())

    def _send(self, came_back: list[Future[Outcome]], room: int, now_ms: int) -> bool:
        """Write down what came back and send what is due; whether there was either."""
        results = [(self._under_way[each], each.result()) for each in came_back]
        taken: list[Parcel] = []
        fallen = 0
        with self._database.write() as connection:
            deliveries.settle(connection, results, now_ms)
            if room > 0:
                fallen = deliveries.fall_due(connection, now_ms)
                taken = deliveries.claim(connection, now_ms, self._app_key, most=room)
        # Only now: what could not be written down is written down in the next round.
        for each in came_back:
            _note(self._under_way.pop(each), each.result())
        for parcel in taken:
            self._under_way[self._pool.submit(self._send_one, parcel)] = parcel
        return fallen > 0 or len(taken) > 0 or len(came_back) > 0

    def _send_one(self, parcel: Parcel) -> Outcome:
        assert self._sender is not None  # noqa: S101  (nothing is claimed without one)
        # Push services judge the signed header by the time of the world.
        return self._sender.send(parcel.target, parcel.message, time.time())

    def _wait(self, stop: threading.Event, seconds: float) -> None:
        if self._under_way:
            wait(self._under_way, timeout=seconds, return_when=FIRST_COMPLETED)
        else:
            stop.wait(seconds)


def _note(parcel: Parcel, outcome: Outcome) -> None:
    """A line of the log. The path of an endpoint is a secret, and what is told is hers."""
    told = {
        "device": parcel.device_id,
        "service": urlsplit(parcel.target.endpoint).hostname,
        "outcome": outcome.kind,
        "status": outcome.status,
        "tries": parcel.tries,
    }
    if outcome.kind == "sent":
        log.info("push", extra={"told": told})
    else:
        log.warning("push", extra={"told": told | {"why": outcome.why}})
