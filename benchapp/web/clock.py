"""The one place where the server's rooms read the wall clock."""

import time


def now_ms() -> int:
    """Milliseconds since 1970."""
    return time.time_ns() // 1_000_000
