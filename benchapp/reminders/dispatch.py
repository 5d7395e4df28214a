"""The worker that keeps reminders going: it reckons what changed, makes messages of what is due,
and sends them.

Any number may run, in one process or in several: each reminder and each message is taken by one.
"""

import logging
import threading
import time
from collections import Counter, defaultdict, deque
from collections.abc import Callable
from contextlib import suppress
from queue import Empty, SimpleQueue
from types import TracebackType
from urllib.parse import urlsplit

from benchapp.records.database import Database, Unavailable
from benchapp.reminders import deliveries, notifications, planning
from benchapp.reminders.deliveries import Parcel
from benchapp.reminders.push import Outcome, Sender
from benchapp.words import t

LOOK_S = 1.0
"""How often it looks whether anything is due."""

SENDERS = 5
"""Messages under way at once, all but one of them to the same service: one that does not answer
holds each for a while, and the others' must not wait for that."""

_BATCH = 256
"""Messages that it has claimed at once, of which most wait for a sender."""
_GATHER_S = 0.05
"""How long results are gathered: each writing down waits for the disk."""
_TROUBLED_S = 10.0
_PRUNE_MS = 3_600_000

_Result = tuple[Parcel, Outcome | None]
"""A message and what became of it; None: it was not begun."""

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
        self._threads = [
            threading.Thread(target=self._keep_sending, name="push", daemon=True)
            for _ in range(0 if sender is None else senders)
        ]
        self._most_to_one = max(1, senders - 1)
        self._to_send: SimpleQueue[Parcel | None] = SimpleQueue()
        #: how many are being sent to a service, and those that wait until one of them is
        self._at: Counter[str] = Counter()
        self._behind: dict[str, deque[Parcel]] = defaultdict(deque)
        self._turns = threading.Lock()
        self._came_back: SimpleQueue[_Result] = SimpleQueue()
        self._under_way = 0
        self._results: list[_Result] = []
        #: the workshop that the last round reckoned
        self._reckoned = ""
        self._pruned_ms = 0

    def __enter__(self) -> "Worker":
        for each in self._threads:
            each.start()
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._give_back()
        for _ in self._threads:
            self._to_send.put(None)
        for each in self._threads:
            each.join()

    def run(self, stop: threading.Event) -> None:
        """Keep at it until ``stop`` is set, and what is under way is written down."""
        while not stop.is_set():
            try:
                more = self.round()
                if self._under_way:
                    self._gather(_GATHER_S if more else LOOK_S)
                elif not more:
                    stop.wait(LOOK_S)
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
        while (more := self.round()) or self._under_way:
            self._gather(_GATHER_S if more else LOOK_S)

    def round(self) -> bool:
        """One step of each errand; whether there may be more to do at once. Raises Unavailable."""
        now_ms = self._clock()
        moved = bool(self._results)
        if moved:
            self._write_down(now_ms)
        room = _BATCH - self._under_way
        with self._database.read() as connection:
            # Where the last round found some, there may be more.
            behind = self._reckoned != "" or planning.is_behind(connection)
            due = (
                self._sender is not None
                and room > 0
                and (
                    notifications.is_due(connection, now_ms)
                    or deliveries.is_due(connection, now_ms, self._app_key)
                )
            )
        if behind:
            with self._database.write() as connection:
                self._reckoned = planning.plan(
                    connection, now_ms, day_ms=self._day_ms, after=self._reckoned
                )
            moved = self._reckoned != "" or moved
        if due:
            moved = self._take_up(room, now_ms) or moved
        if now_ms - self._pruned_ms >= _PRUNE_MS:
            with self._database.write() as connection:
                deliveries.prune(connection, now_ms)
            self._pruned_ms = now_ms
        return moved

    def finish(self) -> None:
        """Give back what is not begun, wait for the rest, and write down what became of it. Raises
        Unavailable."""
        self._give_back()
        while self._under_way or self._results:
            if self._results:
                self._write_down(self._clock())
            self._gather(LOOK_S)

    def _give_back(self) -> None:
        with self._turns:
            for waiting in self._behind.values():
                while waiting:
                    self._came_back.put((waiting.popleft(), None))
        with suppress(Empty):
            while (parcel := self._to_send.get_nowait()) is not None:
                self._came_back.put((parcel, None))

    def _gather(self, patience_s: float) -> None:
        """Take in what has come back: wait for the first result, and a moment for more."""
        if not self._under_way:
            return
        with suppress(Empty):
            self._take_in(self._came_back.get(timeout=patience_s))
            if self._under_way:
                time.sleep(_GATHER_S)
            while True:
                self._take_in(self._came_back.get_nowait())

    def _take_in(self, result: _Result) -> None:
        self._under_way -= 1
        self._results.append(result)

    def _write_down(self, now_ms: int) -> None:
        with self._database.write() as connection:
            deliveries.settle(connection, self._results, now_ms)
        # Only now: what could not be written down is written down in the next round.
        self._results = []

    def _take_up(self, room: int, now_ms: int) -> bool:
        """Begin to send what is due, at most so many; whether there was any."""
        with self._database.write() as connection:
            fallen = notifications.fall_due(connection, now_ms)
            taken = deliveries.claim(connection, now_ms, self._app_key, most=room)
        for parcel in taken:
            self._under_way += 1
            self._to_send.put(parcel)
        return fallen > 0 or len(taken) > 0

    def _keep_sending(self) -> None:
        """What each of the threads does."""
        while (parcel := self._to_send.get()) is not None:
            if not self._has_turn(parcel):
                continue
            try:
                outcome = self._send_one(parcel)
            except Exception:
                # Were it not to come back, it would hold up those after it for good.
                log.exception("unexpected")
                why = t("It could not be sent; the log says why.")
                outcome = Outcome("retry", None, why)
            self._let_next(parcel)
            self._came_back.put((parcel, outcome))

    def _has_turn(self, parcel: Parcel) -> bool:
        """Whether it may be sent now; else it waits until another to its service was."""
        service = _service_of(parcel)
        with self._turns:
            if self._at[service] >= self._most_to_one:
                self._behind[service].append(parcel)
                return False
            self._at[service] += 1
            return True

    def _let_next(self, sent: Parcel) -> None:
        service = _service_of(sent)
        with self._turns:
            self._at[service] -= 1
            if self._behind[service]:
                self._to_send.put(self._behind[service].popleft())
            elif self._at[service] == 0:
                del self._at[service], self._behind[service]

    def _send_one(self, parcel: Parcel) -> Outcome | None:
        """Send it, unless it waited so long that another worker may take it up meanwhile."""
        assert self._sender is not None  # noqa: S101  (nothing is claimed without one)
        if self._clock() > parcel.lease_ms - deliveries.LAST_MS:
            return None
        # Push services judge the signed header by the time of the world.
        outcome = self._sender.send(parcel.target, parcel.message, time.time())
        _note(parcel, outcome)
        return outcome


def _service_of(parcel: Parcel) -> str:
    try:
        return urlsplit(parcel.target.endpoint).hostname or ""
    except ValueError:
        # Of a backup made by hand: sending it says what is wrong.
        return ""


def _note(parcel: Parcel, outcome: Outcome) -> None:
    """A line of the log. The path of an endpoint is a secret, and what is told is hers."""
    told = {
        "device": parcel.device_id,
        "service": _service_of(parcel),
        "outcome": outcome.kind,
        "status": outcome.status,
        "tries": parcel.tries,
    }
    if outcome.kind == "sent":
        log.info("push", extra={"told": told})
    else:
        log.warning("push", extra={"told": told | {"why": outcome.why}})
