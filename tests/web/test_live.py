"""Phones that listen are told at once that there is something new, and cost no thread."""

import asyncio
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from benchapp.records import devices, workshops
from benchapp.records.database import Database, Unavailable
from benchapp.records.exchange import Message, exchange
from benchapp.web import front, live
from benchapp.web.app import create_app
from benchapp.web.headers import HEADERS
from tests.waits import PATIENCE_S
from tests.web.caller import Caller, bench
from tests.web.listening import Listening
from tests.web.own_loop import run
from tests.web.wire import Phone


@pytest.fixture
def listen() -> Iterator[Callable[[Caller], Listening]]:
    """Open a stream."""
    made: list[Listening] = []

    def open_(caller: Caller) -> Listening:
        made.append(Listening(caller))
        return made[-1]

    yield open_
    for each in made:
        each.close()


def reached(phone: Phone) -> str:
    return f"{phone.era} {phone.cursor}"


@pytest.mark.slow
def test_phones_that_listen_hear_at_once_and_hold_nobody_up(
    tmp_path: Path, listen: Callable[[Caller], Listening]
) -> None:
    with bench(tmp_path) as running:
        mine = Phone(running.paired("Mine"), "k3v9q2ax")
        lost = running.paired("Lost")
        mine.exchange_all()

        streams = [listen(running.paired(f"Phone {n}")) for n in range(front.THREADS)]
        hers = listen(lost)
        apart = listen(running.paired("Other", running.workshop("Another")))
        for name, value in {**HEADERS, "Cache-Control": "no-store, no-transform"}.items():
            assert hers.answer.headers[name] == value
        for each in [*streams, hers]:
            assert each.answer.status == 200
            assert each.heard() == reached(mine)
        assert apart.heard() != reached(mine)

        # Each of as many as there are threads listens, and others are answered all the same.
        mine.note("p1", "poured")
        mine.exchange()
        for each in [*streams, hers]:
            assert each.heard() == reached(mine)

        # What another process brings in is heard of as well.
        note = {"id": mine.stamp(), "of": ["pour", "p1"], "type": "noted", "at": 1, "text": "set"}
        with running.database.write() as connection:
            (shop,) = [
                each for each in workshops.all_workshops(connection) if each["era"] == mine.era
            ]
            sent = Message(shop["era"], 0, [], [note])
            cursor = exchange(connection, shop["id"], sent, time.time_ns() // 1_000_000).cursor
        for each in [*streams, hers]:
            assert each.heard() == f"{mine.era} {cursor}"

        # A device that is shut out hears no more.
        device = lost.open()["device"]["id"]
        assert mine.caller.post(f"/api/devices/{device}/revoke").status == 200
        assert hers.heard() == ""
        assert listen(lost).answer.status == 401

        # The server ends the others when it stops, and need not be killed.
        assert running.stop() == 0
        for each in [*streams, apart]:
            assert each.heard() == ""


@pytest.mark.slow
def test_who_may_listen_and_how_often(
    tmp_path: Path, listen: Callable[[Caller], Listening]
) -> None:
    with bench(tmp_path) as running:
        stranger = listen(running.caller())
        assert stranger.answer.status == 401
        assert running.caller().call("HEAD", live.PATH).status == 401
        mine = running.paired()
        streams = [listen(mine) for _ in range(live.MOST_OF_DEVICE + 1)]
        first = streams.pop(0)
        assert first.heard() != ""
        assert first.heard() == ""
        # Others of the same device go on.
        assert mine.call("HEAD", live.PATH).body == b""
        phone = Phone(mine, "k3v9q2ax")
        phone.note("p1", "poured")
        phone.exchange()
        for each in streams:
            assert each.heard() != ""
            assert each.heard() == reached(phone)


# ---- in this process ---------------------------------------------------------------------------


class Open:
    """A stream of a paired device through the front of an app, as the server would ask for it."""

    def __init__(self, tmp_path: Path) -> None:
        self.app = create_app(data_dir=tmp_path)
        self.database: Database = self.app.extensions["database"]
        with self.database.write() as connection:
            shop = workshops.first_workshop(connection, 1)
            self.device, secret = devices.add_device(connection, shop["id"], "Phone", "", 1)
        cookie = f"bench_device={self.device.id}.{secret}"
        self.scope: dict[str, Any] = {
            "type": "http",
            "http_version": "1.1",
            "method": "GET",
            "path": live.PATH,
            "query_string": b"",
            # In two, which nothing forbids.
            "headers": [(b"cookie", b"bench=x"), (b"cookie", cookie.encode())],
            "client": ("192.0.2.1", "1"),
            "server": ("localhost", "80"),
            "scheme": "http",
        }
        self.heard: list[bytes] = []
        self.gone = asyncio.Event()
        self._more = asyncio.Event()

    async def receive(self) -> dict[str, Any]:
        await self.gone.wait()
        return {"type": "http.disconnect"}

    async def send(self, message: dict[str, Any]) -> None:
        if "body" in message:
            self.heard.append(message["body"])
        self._more.set()

    async def until_heard(self, count: int) -> None:
        while len(self.heard) < count:
            self._more.clear()
            await asyncio.wait_for(self._more.wait(), PATIENCE_S)

    async def until_open(self) -> None:
        """Its first word comes before it is counted."""
        ends = time.monotonic() + PATIENCE_S
        while not live.of(self.app)._open:
            assert time.monotonic() < ends, "It never opened."
            await asyncio.sleep(0.01)

    def run(self) -> asyncio.Task[None]:
        return asyncio.create_task(front.Front(self.app)(self.scope, self.receive, self.send))


@pytest.fixture
def opened(tmp_path: Path) -> Any:
    made = Open(tmp_path)
    yield made
    made.database.close()


def test_nothing_new_is_told_now_and_then(opened: Open, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(live, "HEARTBEAT_S", 0.02)

    async def story() -> None:
        task = opened.run()
        await opened.until_heard(3)
        opened.gone.set()
        await task

    run(story())
    assert opened.heard[0].startswith(b"data: ")
    assert opened.heard[0] == opened.heard[1] == opened.heard[2]
    # Nobody is there any more.
    assert not live.of(opened.app)._open


def test_a_database_that_does_not_answer_ends_no_stream(
    opened: Open, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(live, "LOOK_S", 0.01)
    asked: list[int] = []
    really = devices.reached

    def fails(*given: Any) -> dict[str, str]:
        asked.append(1)
        if len(asked) in (2, 3):
            raise Unavailable("It does not answer.")
        found = really(*given)
        return found if len(asked) < 4 else dict.fromkeys(found, "new 7")

    monkeypatch.setattr(devices, "reached", fails)

    async def story() -> None:
        task = opened.run()
        await opened.until_heard(2)
        opened.gone.set()
        await task

    run(story())
    assert opened.heard[1] == b"data: new 7\n\n"


def test_too_many_at_one_address_are_told_so(opened: Open, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(live, "MOST_OF_ADDRESS", 1)

    async def story() -> None:
        task = opened.run()
        await opened.until_open()
        again = await asyncio.to_thread(
            lambda: opened.app.test_client(use_cookies=False).get(
                live.PATH,
                headers={"Cookie": opened.scope["headers"][-1][1].decode()},
                environ_base={"REMOTE_ADDR": "192.0.2.1"},
            )
        )
        assert again.status_code == 503
        assert "listening already" in again.json["error"]
        opened.gone.set()
        await task

    run(story())
