"""A server that is killed, and phones that keep on sending until it has confirmed."""

import http.client
import json
import time
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from benchapp.records.exchange import PROTOCOL
from benchapp.records.merge import merge_fields, versions
from tests.server import Server, serving
from tests.web.caller import Answered, Caller

Json = Any
Key = tuple[str, str]

#: As many requests as the tests like; the limit has tests of its own.
_ROOM = {"BENCHAPP_REQUESTS_A_MINUTE": "1000000"}


class Lost(Exception):
    """No answer came, or not the whole of one: nobody knows what was done."""


# ---- the server --------------------------------------------------------------------------------


def begin(data: Path, *options: str) -> Server:
    """Start a server."""
    return Server(data, *options, environment=_ROOM)


@contextmanager
def served(data: Path, *options: str) -> Iterator[tuple[Server, str]]:
    """Run a server; give it and its URL."""
    with serving(data, *options, environment=_ROOM) as running:
        yield running, running.url


# ---- the phones --------------------------------------------------------------------------------


@dataclass
class Phone:
    """Records and events in memory, and what of them the server has not confirmed yet.

    `name` ends its stamps. An entry of the outbox is a part of a record, or an event.
    """

    caller: Caller
    name: str
    records: dict[Key, dict[str, Any]] = field(default_factory=dict)
    events: dict[str, Json] = field(default_factory=dict)
    outbox: list[Json] = field(default_factory=list)
    refused: list[Json] = field(default_factory=list)
    era: str | None = None
    cursor: int = 0
    _made: int = 0

    def stamp(self) -> str:
        self._made += 1
        return f"{time.time_ns() // 1_000_000:015d}.0000.{self.name}{self._made:08d}"

    def save(self, kind: str, id_: str, **values: Any) -> None:
        """Set fields of a record, over what this phone knows of it."""
        stamp = self.stamp()
        kept = self.records.setdefault((kind, id_), {})
        part: dict[str, Any] = {}
        for name, value in values.items():
            part[name] = {"value": value, "stamp": stamp}
            if name in kept:
                part[name]["over"] = [kept[name]["stamp"]]
        self._merge(kind, id_, part)
        self.outbox.append({"kind": kind, "id": id_, "fields": part})

    def note(self, pour: str, text: str) -> None:
        self.happen(pour, "noted", text=text)

    def happen(self, pour: str, type_: str, **parts: Any) -> str:
        """Add an event to a pour; return its id."""
        at = time.time_ns() // 1_000_000
        event = {"id": self.stamp(), "of": ["pour", pour], "type": type_, "at": at} | parts
        self.events[event["id"]] = event
        self.outbox.append(event)
        return str(event["id"])

    def message(self, sent: list[Json]) -> Json:
        return {
            "protocol": PROTOCOL,
            "era": self.era,
            "cursor": self.cursor,
            "records": [each for each in sent if "kind" in each],
            "events": [each for each in sent if "kind" not in each],
        }

    def exchange(self, most: int = 300) -> Answered:
        """Send what waits and take the answer, where it is one. Raises Lost."""
        sent = self.outbox[:most]
        try:
            answered = self.caller.post("/api/exchange", self.message(sent))
            heard = answered.json
        except (OSError, http.client.HTTPException, ValueError) as error:
            raise Lost from error
        if answered.status == 200:
            self.hear(sent, heard)
        return answered

    def exchange_all(self) -> None:
        """Exchange until neither side has more."""
        while True:
            asked = bool(self.outbox)
            answered = self.exchange()
            assert answered.status == 200, answered
            if not asked and not answered.json["more"] and not answered.json["restart"]:
                return

    def hear(self, sent: list[Json], heard: Json) -> None:
        if heard["restart"]:
            self.era, self.cursor = heard["era"], 0
            self.outbox = [
                *(
                    {"kind": k, "id": i, "fields": fields}
                    for (k, i), fields in self.records.items()
                ),
                *self.events.values(),
            ]
            return
        self.refused += heard["refused"]
        self.outbox = [each for each in self.outbox if not any(each is one for one in sent)]
        for record in heard["records"]:
            self._merge(record["kind"], record["id"], record["fields"])
        for event in heard["events"]:
            assert self.events.setdefault(event["id"], event) == event
        self.era, self.cursor = heard["era"], max(self.cursor, heard["cursor"])

    def _merge(self, kind: str, id_: str, fields: Json) -> None:
        kept = self.records.setdefault((kind, id_), {})
        for name, each in fields.items():
            kept[name] = merge_fields(kept[name], each) if name in kept else each

    # ---- what it knows ---------------------------------------------------------------------

    def knows(self, entry: Json) -> bool:
        """Whether an entry of somebody's outbox is here."""
        if "kind" not in entry:
            return self.events.get(entry["id"]) == entry
        kept = self.records.get((entry["kind"], entry["id"]), {})
        return all(
            name in kept and each["stamp"] in {one["stamp"] for one in versions(kept[name])}
            for name, each in entry["fields"].items()
        )

    def state(self) -> str:
        """All that it knows, to be compared."""
        return json.dumps(
            [sorted(self.records.items()), sorted(self.events.items())], sort_keys=True
        )


def join(url: str, code: str, name: str) -> Phone:
    """Pair a new phone."""
    caller = Caller(url)
    caller.open()
    answered = caller.pair(code, name)
    assert answered.status == 200, answered
    return Phone(caller, name)


def invite(phone: Phone, name: str) -> Phone:
    """Pair another phone with a code that this one asks for."""
    code = phone.caller.post("/api/code").json["code"]
    return join(phone.caller.url, code, name)


def all_at_once(phones: Sequence[Phone], work: Callable[[Phone], object]) -> None:
    """Let each phone work in a thread of its own, and wait for all. Raises what one of them did."""
    with ThreadPoolExecutor(len(phones)) as pool:
        list(pool.map(work, phones))
