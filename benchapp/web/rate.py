"""How often somebody may ask."""

import math
import threading

_SPAN_S = 60.0


class Rate:
    """At most so many a minute of each caller: half of them at once, the others spread over it.

    The generic cell rate algorithm (ITU-T Recommendation I.371, annex A): all that is kept of a
    caller is when it will have earned what it has had. For any thread.

    Args:
        a_minute: in any minute, of one caller; from 2 upwards.
    """

    def __init__(self, a_minute: int) -> None:
        self._each_s = 2 * _SPAN_S / a_minute
        self._earned_s: dict[str, float] = {}
        self._look_at = 1000
        self._lock = threading.Lock()

    def wait_s(self, caller: str, now_s: float) -> int | None:
        """Whole seconds until ``caller`` may ask, at least 1; None: it may now, and has.

        ``now_s`` is in seconds by a clock that is never put back.
        """
        with self._lock:
            earned_s = max(self._earned_s.get(caller, now_s), now_s) + self._each_s
            over_s = earned_s - now_s - _SPAN_S
            if over_s > 0:
                return max(1, math.ceil(over_s))
            self._earned_s[caller] = earned_s
            if len(self._earned_s) > self._look_at:
                self._forget(now_s)
            return None

    def _forget(self, now_s: float) -> None:
        """Forget who has earned all it had; it is looked again when there are twice as many."""
        self._earned_s = {who: at for who, at in self._earned_s.items() if at > now_s}
        self._look_at = max(1000, 2 * len(self._earned_s))
