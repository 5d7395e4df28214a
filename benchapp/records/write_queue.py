"""The queue of those who wait to write to a SQLite file: first come, first served."""

from collections import deque
from threading import Event, Lock


class WriteQueue:
    """A lock that goes to its waiters in the order in which they asked for it.

    Python's own lock goes to the quickest thread, which can be the same one again and again while
    another waits until its time is over.
    """

    def __init__(self) -> None:
        self._lock = Lock()
        self._held = False
        self._waiting: deque[Event] = deque()

    def acquire(self, timeout_s: float) -> bool:
        """Wait for the lock, at most so long; whether it was acquired."""
        with self._lock:
            if not self._held:
                self._held = True
                return True
            granted = Event()
            self._waiting.append(granted)
        if granted.wait(timeout_s):
            return True
        with self._lock:
            if granted.is_set():  # granted just now
                return True
            self._waiting.remove(granted)
            return False

    def hand_over(self) -> bool:
        """Give the lock to the next waiter, where there is one; whether there was. Only for
        whoever holds it."""
        with self._lock:
            if self._waiting:
                self._waiting.popleft().set()
                return True
            return False

    def release(self) -> None:
        """Give the lock to the next waiter, or to whoever comes next. Only for whoever holds it."""
        with self._lock:
            if self._waiting:
                self._waiting.popleft().set()
            else:
                self._held = False
