"""Taking turns, first come first served."""

from collections import deque
from threading import Event, Lock


class Turns:
    """A lock that is handed on in the order in which it was asked for.

    Python's own goes to whoever is quickest, which can be the same thread again and again while
    another waits until its patience is over.
    """

    def __init__(self) -> None:
        self._lock = Lock()
        self._taken = False
        self._waiting: deque[Event] = deque()

    def take(self, patience_s: float) -> bool:
        """Wait for the turn, at most so long; whether it came."""
        with self._lock:
            if not self._taken:
                self._taken = True
                return True
            mine = Event()
            self._waiting.append(mine)
        if mine.wait(patience_s):
            return True
        with self._lock:
            if mine.is_set():  # handed over in this very moment
                return True
            self._waiting.remove(mine)
            return False

    def hand_on(self) -> None:
        """Let the next one have it. Only for whoever has it."""
        with self._lock:
            if self._waiting:
                self._waiting.popleft().set()
            else:
                self._taken = False
