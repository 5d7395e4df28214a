"""Our own server under load: the real ``benchapp serve``, spoken to as a phone does."""

import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from playwright.sync_api import BrowserType

from benchapp.records.database import Database, sqlite_url
from benchapp.records.exchange import PROTOCOL
from benchapp.web.clock import now_ms
from benchapp.web.invitations import invite
from tests.benchmarks.exchange_wire import Connection, Refused
from tests.server import serving

Record = dict[str, Any]

_DIGITS = "0123456789abcdefghijklmnopqrstuvwxyz"


@contextmanager
def server(data: Path) -> Iterator[tuple[str, int]]:
    """Run ``benchapp serve`` on ``data``; give its URL and the process id."""
    # All clients of the benchmark come from one address, and ask more than any workshop does.
    with serving(data, environment={"BENCHAPP_REQUESTS_A_MINUTE": "1000000"}) as running:
        yield running.url, running.process.pid


class Clock:
    """Makes the stamps of one device."""

    def __init__(self, device: str) -> None:
        self.device = device
        self._ms = self._count = 0

    def stamp(self) -> str:
        now = now_ms()
        self._count = self._count + 1 if now <= self._ms else 0
        self._ms = max(now, self._ms)
        count, text = self._count, ""
        for _ in range(4):
            count, digit = divmod(count, 36)
            text = _DIGITS[digit] + text
        return f"{self._ms:015d}.{text}.{self.device}"


def stamped(records: list[Record], clock: Clock) -> list[Record]:
    """The records as a phone keeps them: each saved once, all its fields by one stamp."""
    found = []
    for each in records:
        stamp = clock.stamp()
        fields = {name: {"value": value, "stamp": stamp} for name, value in each["fields"].items()}
        found.append({**each, "fields": fields})
    return found


def changed(record: Record, clock: Clock) -> Record:
    """The record with another remark, in place of the one that its writer saw."""
    before = record["fields"]["notes"]
    past = [{key: each for key, each in before.items() if key != "past"}, *before.get("past", ())]
    notes = {
        "value": f"{before['value'][:200]} Looked at again.",
        "stamp": clock.stamp(),
        "over": [before["stamp"]],
        "past": past,
    }
    return {**record, "fields": record["fields"] | {"notes": notes}}


class Device:
    """A paired device that speaks over one kept connection."""

    def __init__(self, url: str, data: Path, name: str) -> None:
        self.clock = Clock(name)
        self._connection = Connection(url)
        token = self._connection.ask("GET", "/api/me")["csrf"]
        self._connection.headers["X-CSRFToken"] = token
        self._connection.ask("POST", "/api/pair", {"code": code(url, data), "name": name})
        self._era: str | None = None
        self._cursor = 0

    def exchange(self, records: list[Record]) -> list[Record]:
        """Send records, at most a message's worth; return all that came, in as many as it took."""
        brought: list[Record] = []
        sent, more = records, True
        while more:
            answer = self._connection.ask(
                "POST",
                "/api/exchange",
                {
                    "protocol": PROTOCOL,
                    "era": self._era,
                    "cursor": self._cursor,
                    "records": sent,
                    "events": [],
                },
            )
            if answer["refused"] or answer["restart"]:
                raise Refused(f"Not all was taken: {str(answer)[:500]}")
            brought += answer["records"]
            self._era, self._cursor, more = answer["era"], answer["cursor"], answer["more"]
            sent = []
        return brought

    def push(self, records: list[Record], batch: int) -> float:
        """Send many records, ``batch`` to a message; return the seconds."""
        begun = time.perf_counter()
        for first in range(0, len(records), batch):
            self.exchange(records[first : first + batch])
        return time.perf_counter() - begun

    def pull(self) -> tuple[float, int]:
        """Fetch what is new; return the seconds, and how many records came."""
        begun = time.perf_counter()
        count = len(self.exchange([]))
        return time.perf_counter() - begun, count

    def close(self) -> None:
        self._connection.close()


def code(url: str, data: Path) -> str:
    """A code that lets one device in."""
    database = Database(sqlite_url(data / "bench.sqlite3"))
    try:
        return invite(database, url, None, now_ms()).code
    finally:
        database.close()


def client(device: Device, own: list[Record]) -> Callable[[], int]:
    """A client that has everything; each call changes one of its ``own`` records and exchanges."""
    kept = {(each["kind"], each["id"]): each for each in own}
    keys = list(kept)
    device.exchange([])
    turn = 0

    def exchange() -> int:
        nonlocal turn
        key = keys[turn % len(keys)]
        turn += 1
        kept[key] = changed(kept[key], device.clock)
        brought = device.exchange([kept[key]])
        for each in brought:
            if (found := (each["kind"], each["id"])) in kept:
                kept[found] = each
        return len(brought)

    return exchange


# ---- a real browser ----------------------------------------------------------------------------

_JOIN = """async ({code, limit_ms}) => {
  const {ask, exchangeAll} = await import("/static/records/exchange.js");
  const {joined} = await import("/static/records/pairing.js");
  const {count} = await import("/static/records/store.js");
  const answer = await ask("/api/pair", {code, name: "browser"});
  const begun = performance.now();
  await joined(answer);
  const late = new Promise((resolve) => setTimeout(resolve, limit_ms));
  await Promise.race([exchangeAll(), late]);
  const took = performance.now() - begun;
  return {took, count: await count()};
}"""

_EXCHANGE = """async () => {
  const {exchangeAll} = await import("/static/records/exchange.js");
  const begun = performance.now();
  await exchangeAll();
  return performance.now() - begun;
}"""


class Browser:
    """A browser with a profile of its own, on disk as a phone's is.

    Its page is a bare one on which only the exchange runs, as the peer's is, or with ``app`` the
    app at its start screen.
    """

    def __init__(
        self,
        chromium: BrowserType,
        path: str,
        url: str,
        data: Path,
        profile: Path,
        *,
        app: bool = False,
    ) -> None:
        self._context = chromium.launch_persistent_context(profile, executable_path=path)
        self._page = self._context.new_page()
        self._page.goto(url if app else url + "api/me")
        if app:
            self._page.wait_for_function("() => navigator.serviceWorker.controller !== null")
        self._url, self._data = url, data

    def join(self, limit_s: float = 600) -> tuple[float, int]:
        """Pair, and fetch all; return the seconds after the pairing, and the records kept.

        After ``limit_s`` it is given up: fewer records are there then.
        """
        given = {"code": code(self._url, self._data), "limit_ms": limit_s * 1e3}
        answer = self._page.evaluate(_JOIN, given)
        return answer["took"] / 1e3, answer["count"]

    def exchange(self) -> float:
        """Return the seconds of one exchange."""
        took: float = self._page.evaluate(_EXCHANGE)
        return took / 1e3

    def close(self) -> None:
        self._context.close()
