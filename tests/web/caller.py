"""A program that calls the server as a phone's page would, or as no page ever would."""

import http.client
import json
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from http.cookies import SimpleCookie
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

from benchapp.records import pairing_codes, workshops
from benchapp.records.database import Database, sqlite_url
from tests.server import Server


@dataclass
class Answered:
    status: int
    headers: http.client.HTTPMessage
    body: bytes

    @property
    def json(self) -> Any:
        return json.loads(self.body)


@dataclass
class Caller:
    """Keeps cookies and the form token, as a browser does; every call is a new connection."""

    url: str
    cookies: dict[str, str] = field(default_factory=dict)
    token: str = ""

    def call(
        self,
        method: str,
        path: str,
        body: Any = None,
        *,
        headers: dict[str, str] | None = None,
        raw: bytes | None = None,
    ) -> Answered:
        """Send `body` as JSON with the token, or `raw` as it is. `headers` come on top."""
        at = urlsplit(self.url)
        connection = http.client.HTTPConnection(str(at.hostname), at.port or 80, timeout=30)
        sent = {"X-CSRFToken": self.token} if self.token else {}
        if self.cookies:
            sent["Cookie"] = "; ".join(f"{name}={value}" for name, value in self.cookies.items())
        content = raw if raw is not None else None if body is None else json.dumps(body).encode()
        if content is not None:
            sent["Content-Type"] = "application/json"
        try:
            connection.request(method, path, content, sent | (headers or {}))
            answer = connection.getresponse()
            answered = Answered(answer.status, answer.headers, answer.read())
        finally:
            connection.close()
        for line in answered.headers.get_all("Set-Cookie") or ():
            for name, morsel in SimpleCookie(line).items():
                self.cookies[name] = morsel.value
        return answered

    def get(self, path: str, **more: Any) -> Answered:
        return self.call("GET", path, **more)

    def post(self, path: str, body: Any = None, **more: Any) -> Answered:
        return self.call("POST", path, {} if body is None else body, **more)

    def open(self) -> Any:
        """Ask who this is, and take the token."""
        me = self.get("/api/me").json
        self.token = me["csrf"]
        return me

    def pair(self, code: str, name: str = "Android phone") -> Answered:
        return self.post("/api/pair", {"code": code, "name": name})


class Bench(Server):
    """A running `benchapp serve` and its database."""

    def __init__(self, data: Path, *options: str, environment: dict[str, str]) -> None:
        super().__init__(data, *options, environment=environment)
        self.ready()
        self.database = Database(sqlite_url(data / "bench.sqlite3"))

    def code(self, workshop_id: str | None = None) -> str:
        now_ms = time.time_ns() // 1_000_000
        with self.database.write() as connection:
            if workshop_id is None:
                workshop_id = workshops.first_workshop(connection, now_ms)["id"]
            return pairing_codes.make_code(connection, workshop_id, now_ms)[0]

    def workshop(self, name: str) -> str:
        """Add a workshop; return its id."""
        with self.database.write() as connection:
            return str(workshops.make_workshop(connection, name, 1)["id"])

    def caller(self) -> Caller:
        caller = Caller(self.url)
        caller.open()
        return caller

    def paired(self, name: str = "Android phone", workshop_id: str | None = None) -> Caller:
        caller = self.caller()
        assert caller.pair(self.code(workshop_id), name).status == 200
        return caller


@contextmanager
def bench(data: Path, *options: str, **environment: str) -> Iterator[Bench]:
    """Run a server that keeps its data in `data`."""
    running = Bench(data, *options, environment=environment)
    try:
        yield running
    finally:
        running.database.close()
        running.stop()
