"""Who may be connected: so many at once, so many of one address, and who gives way to the next.

The newest is let in, as it may be a paired phone behind the same router as somebody who takes all
the room. Whoever has shown a cookie that is right gives way last; whoever listens for news (`live`,
which has limits of its own) does not.
"""

import sys
from collections import OrderedDict
from collections.abc import Callable
from contextlib import suppress

from benchapp.records.network_source import source_of

MOST = 2048
"""Connections at once: those that listen, and as many again."""
MOST_OF_ADDRESS = 128
"""Connections of one address, but for those that listen: a browser has six (common practice)."""
_OTHER_FILES = 256
"""Files beside the connections: the database's, and what goes out to push services."""

CONNECTION = "connection"
"""Where the state of an ASGI scope holds its `Connection`."""


class Connection:
    """A connection of which `Connections` knows from its beginning to its end.

    Args:
        address: where it comes from.
        end: ends it at once.
    """

    def __init__(self, others: "Connections", address: str, end: Callable[[], None]) -> None:
        self.source = source_of(address)
        self.end = end
        self.is_known = False  # a device that may come in has asked through it
        self.is_busy = False  # a request has come and is not answered yet
        self.is_listening = False
        self._others = others

    @property
    def rank(self) -> int:
        """Those of the lowest give way first."""
        return self.is_known * (1 + self.is_busy)

    def become(
        self,
        *,
        known: bool | None = None,
        busy: bool | None = None,
        listening: bool | None = None,
    ) -> None:
        """Say what has changed."""
        is_here = self._others.leave(self)
        self.is_known = self.is_known if known is None else known
        self.is_busy = self.is_busy if busy is None else busy
        self.is_listening = self.is_listening if listening is None else listening
        if is_here:
            self._others.add(self)


class Connections:
    """All that are connected. For one event loop.

    Args:
        most: at once.
        most_of_address: of one address (IPv6: of one /64); None where all come from one proxy.
    """

    _NEVER = 2
    """The rank of a request of a known device."""

    def __init__(self, most: int = MOST, most_of_address: int | None = MOST_OF_ADDRESS) -> None:
        self._most, self._most_of_address = most, most_of_address
        self._listening: set[Connection] = set()
        # In each, whoever has come or was answered the longest ago is first.
        self._ranks: list[OrderedDict[Connection, None]] = [
            OrderedDict() for _ in range(self._NEVER + 1)
        ]
        self._of: dict[str, dict[Connection, None]] = {}

    @property
    def count(self) -> int:
        return len(self._listening) + sum(map(len, self._ranks))

    def enter(self, new: Connection) -> bool:
        """Whether a new one is let in. Another one may be ended for it."""
        same = self._of.get(new.source, {})
        if self._most_of_address is not None and len(same) >= self._most_of_address:
            # The first of the lowest rank.
            is_room = self._end(min(same, key=lambda each: each.rank))
        else:
            is_room = self.count < self._most or self.end_one()
        if is_room:
            self.add(new)
        return is_room

    def end_one(self) -> bool:
        """End the one that gives way first; whether there was one."""
        return any(self._end(next(iter(rank))) for rank in self._ranks if rank)

    def _end(self, connection: Connection) -> bool:
        if connection.rank == self._NEVER:
            return False
        self.leave(connection)
        connection.end()
        return True

    def add(self, connection: Connection) -> None:
        """Count it from now on, as it is."""
        if connection.is_listening:
            self._listening.add(connection)
        else:
            self._ranks[connection.rank][connection] = None
            self._of.setdefault(connection.source, {})[connection] = None

    def leave(self, connection: Connection) -> bool:
        """Count it no longer; whether it was counted."""
        is_here = connection in self._listening or connection in self._ranks[connection.rank]
        if is_here and connection.is_listening:
            self._listening.remove(connection)
        elif is_here:
            del self._ranks[connection.rank][connection]
            del self._of[connection.source][connection]
            if not self._of[connection.source]:
                del self._of[connection.source]
        return is_here


def room_for_connections() -> int:
    """Let this process open as many files as it needs, as far as the system lets it; return how
    many connections there may then be."""
    if sys.platform == "win32":
        return MOST
    import resource  # noqa: PLC0415

    soft, hard = resource.getrlimit(resource.RLIMIT_NOFILE)
    wanted = MOST + _OTHER_FILES
    if soft != resource.RLIM_INFINITY and soft < wanted:
        most = wanted if hard == resource.RLIM_INFINITY else min(wanted, hard)
        with suppress(OSError, ValueError):
            resource.setrlimit(resource.RLIMIT_NOFILE, (most, hard))
        soft = resource.getrlimit(resource.RLIMIT_NOFILE)[0]
    return MOST if soft == resource.RLIM_INFINITY else max(1, min(MOST, soft - _OTHER_FILES))
