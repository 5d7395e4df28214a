"""A request takes a thread only once all of it has arrived."""

import asyncio
import json
import select
import socket
import sys
from urllib.parse import urlsplit

import pytest
from flask import Response

from benchapp.records import devices, workshops
from benchapp.web import front, limits
from benchapp.web.app import create_app
from benchapp.web.connections import CONNECTION, Connection, Connections
from tests.waits import PATIENCE_S
from tests.web.caller import bench
from tests.web.own_loop import run

ADDRESSES = [f"127.0.0.{number}" for number in range(1, 9)]
"""All of 127.0.0.0/8 is this machine (RFC 1122, 3.2.1.3); not every system calls from there."""


@pytest.mark.slow
@pytest.mark.skipif(sys.platform != "linux", reason="has no second loopback address")
def test_half_sent_bodies_from_many_addresses_hold_nobody_up(tmp_path):
    with bench(tmp_path) as running:
        phone = running.paired()
        address = urlsplit(running.url)
        head = (
            f"POST /api/pair HTTP/1.1\r\nHost: {address.netloc}\r\n"
            "Content-Type: application/json\r\nContent-Length: 100\r\n\r\na"
        )
        held = {source: [] for source in ADDRESSES}
        try:
            for source in ADDRESSES * (limits.AT_ONCE + 1):
                line = socket.create_connection(
                    (address.hostname, address.port), PATIENCE_S, (source, 0)
                )
                line.sendall(head.encode())
                held[source].append(line)
            waiting = []
            for lines in held.values():
                # One of the nine is too many: then the other eight have come that far.
                (told,), _, _ = select.select(lines, [], [], PATIENCE_S)
                assert told.recv(100).startswith(b"HTTP/1.1 429")
                waiting += [line for line in lines if line is not told]
            assert len(waiting) == 8 * limits.AT_ONCE > front.THREADS
            # Though it calls from an address that holds as much as it may.
            assert phone.post("/api/code").status == 200
            assert not select.select(waiting, [], [], 0)[0]
            assert running.stop() == 0
            for line in waiting:
                assert line.recv(100).startswith(b"HTTP/1.1 408")
        finally:
            for lines in held.values():
                for line in lines:
                    line.close()


class Called:
    """A request to the front of an app, in this process."""

    def __init__(self, app, headers, pieces, path="/api/pair"):
        self.front = front.Front(app)
        self.scope = {
            "type": "http",
            "http_version": "1.1",
            "method": "POST",
            "path": path,
            "query_string": "né".encode(),
            "headers": headers,
            "client": ("127.0.0.1", "1"),
            "server": ("localhost", "80"),
            "scheme": "http",
        }
        self.pieces = list(pieces)
        self.sent = []

    async def receive(self):
        if not self.pieces:
            await asyncio.get_running_loop().create_future()  # it never comes
        return {"type": "http.request", "body": self.pieces.pop(0), "more_body": True}

    async def send(self, message):
        self.sent.append(message)

    def ask(self):
        run(self.front(self.scope, self.receive, self.send))

    def answer(self):
        self.ask()
        body = b"".join(message.get("body", b"") for message in self.sent)
        return self.sent[0]["status"], json.loads(body)["error"]


@pytest.fixture
def app(tmp_path):
    app = create_app(data_dir=tmp_path, behind_proxy=True)
    yield app
    app.extensions["database"].close()


def test_a_body_that_does_not_come_in_time_is_told(app, monkeypatch):
    monkeypatch.setattr(front, "BODY_S", 0.05)
    called = Called(
        app, [(b"content-length", b"10"), (b"content-type", b"application/json")], [b"{"]
    )
    assert called.answer() == (408, "Not all of that has arrived in time. Send it again.")
    # It is under way no longer.
    assert limits.of(app).begin("127.0.0.1", limits.LARGE)


def test_behind_a_proxy_the_address_that_it_adds_counts(app):
    found = limits.of(app)
    for _ in range(limits.AT_ONCE):
        assert found.begin("192.0.2.7", 1)
    headers = [(b"content-length", b"10"), (b"x-forwarded-for", b"192.0.2.1, 192.0.2.7")]
    assert Called(app, headers, []).answer()[0] == 429
    for _ in range(limits.AT_ONCE):
        found.end("192.0.2.7", 1)


def test_a_connection_is_known_by_a_cookie_that_is_right(app):
    with app.extensions["database"].write() as connection:
        shop = workshops.first_workshop(connection, 1)
        device, secret = devices.add_device(connection, shop["id"], "Phone", "", 1)
    held = Connection(Connections(), "192.0.2.1", lambda: None)
    known = []
    for cookie in (f"{device.id}.wrong", f"{device.id}.{secret}", ""):
        called = Called(app, [(b"cookie", b"__Host-bench_device=" + cookie.encode())], [])
        called.scope |= {"method": "GET", "path": "/api/me", "state": {CONNECTION: held}}
        called.ask()
        known.append(held.is_known)
    assert known == [False, True, False]


def test_all_bodies_together_have_a_limit(app):
    found = limits.of(app)
    half = limits.HELD // limits.LARGE // 2
    strangers = [str(number) for number in range(half + 1)]
    taken = [found.begin(caller, limits.LARGE) for caller in strangers]
    assert taken == [*[True] * half, False]
    # Of one that is too long nothing is kept, so it only counts as one of its caller's.
    assert found.begin("another", 0)
    found.end("0", limits.LARGE)
    assert found.begin(strangers[-1], limits.LARGE)
    # The other half is for devices that are known.
    known = []
    for number in range(half + 1):
        found.know(f"cookie {number}", f"device{number}")
        caller = found.caller(f"cookie {number}", "192.0.2.1")
        known.append(found.begin(caller, limits.LARGE))
    assert known == [*[True] * half, False]


def test_a_body_may_come_slowly_for_so_long_only(app, monkeypatch):
    monkeypatch.setattr(front, "SLOW_S", 0.05)
    headers = [(b"content-length", b"10"), (b"content-type", b"application/json")]
    assert Called(app, headers, [b"{"]).answer()[0] == 408
    # What has come gives it time for more.
    monkeypatch.setattr(front, "SLOWEST", 1 / PATIENCE_S)

    class Slow(Called):
        async def receive(self):
            if self.pieces == [b"}"]:
                await asyncio.sleep(4 * front.SLOW_S)
            message = await super().receive()
            return message | {"more_body": bool(self.pieces)}

    assert Slow(app, headers, [b"{" + b" " * 8, b"}"]).answer()[0] == 400


def test_a_network_of_ipv6_addresses_is_one_caller(app):
    found = limits.of(app)
    # 2001:db8::/32 is for documentation (RFC 3849).
    assert found.caller("", "2001:db8::1") == found.caller("", "2001:db8::2")
    assert found.caller("", "2001:db8::1") != found.caller("", "2001:db8:0:1::1")
    assert found.caller("wrong", "192.0.2.1") == "192.0.2.1"


def large(app):
    """Let the app give an answer of five megabytes; whether it was closed."""
    closed = []

    @app.get("/large")
    def give():
        response = Response(iter([b"x" * 1_000_000] * 5))
        response.headers["Content-Length"] = "5000000"
        response.call_on_close(lambda: closed.append(True))
        return response

    called = Called(app, [], [], "/large")
    called.scope["method"] = "GET"
    return called, closed


def test_a_large_answer_is_sent_a_piece_at_a_time(app):
    called, closed = large(app)
    called.ask()
    start, *bodies = called.sent
    assert start["status"] == 200
    assert [len(each["body"]) for each in bodies] == [0, *[1_000_000] * 5, 0]
    assert [each.get("more_body", False) for each in bodies] == [True] * 6 + [False]
    assert closed


def test_a_large_answer_ends_where_its_caller_is_gone(app):
    called, closed = large(app)

    async def send(message):
        if len(called.sent) == 3:
            raise OSError("gone")
        called.sent.append(message)

    called.send = send
    with pytest.raises(OSError, match="gone"):
        called.ask()
    assert closed
