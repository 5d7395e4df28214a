"""How much, how often and how deep: on the wire, against the real server."""

import http.client
import json
import socket
import sqlite3
import threading
import time
from urllib.parse import urlsplit

import pytest
from flask import Flask

from benchapp.records.exchange import PROTOCOL
from benchapp.web import limits
from benchapp.web.app import create_app
from tests.web.caller import Caller, bench


@pytest.fixture(scope="module")
def running(tmp_path_factory):
    with bench(tmp_path_factory.mktemp("data"), BENCHAPP_REQUESTS_A_MINUTE="100000") as started:
        yield started


@pytest.fixture(scope="module")
def here(running):
    return running.paired()


def is_sentence(answered):
    """A JSON error that a person can read, and nothing of the server's insides."""
    assert answered.headers["Content-Type"] == "application/json"
    said = answered.json["error"]
    assert said.endswith(".")
    for inside in ("Traceback", "Error(", ".py", "sqlite", "sqlalchemy", "SELECT"):
        assert inside not in answered.body.decode()
    return said


def test_the_devices_of_thousands_of_workshops_stay_known(tmp_path):
    app = create_app(data_dir=tmp_path / "data")
    found = limits.of(app)
    for number in range(5_000):
        found.know(f"d{number}.secret", f"d{number}")
    # Each is counted for itself, whatever proxy they come through.
    assert found.caller("d0.secret", "192.0.2.1") == "device d0"
    # But no flood of them takes the memory.
    for number in range(30_000):
        found.know(f"e{number}.secret", f"e{number}")
    assert found.caller("d0.secret", "192.0.2.1") == "192.0.2.1"
    assert found.is_known("e29999.secret")


# ---- how much ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("path", "most"),
    [
        ("/api/exchange", limits.LARGE),
        ("/api/table", limits.TABLE),
        ("/api/pair", limits.SMALL),
        ("/api/code", limits.SMALL),
        ("/api/devices/0123456789abcdef/rename", limits.SMALL),
        ("/api/nothing", limits.SMALL),
    ],
)
def test_a_body_has_its_limit(here, path, most):
    assert (limits.LARGE, limits.TABLE, limits.SMALL) == (2_000_000, 5_000_000, 16_000)
    for size, is_too_much in ((most, False), (most + 1, True), (3 * limits.LARGE, True)):
        body = b'{"a":"' + b"x" * (size - 8) + b'"}'
        assert len(body) == size
        answered = here.call("POST", path, raw=body)
        assert (answered.status == 413) is is_too_much, answered
        if is_too_much:
            assert "too much to send in one go" in is_sentence(answered)


@pytest.mark.parametrize("path", ["/api/exchange", "/api/pair", "/api/code", "/api/nothing"])
def test_a_body_that_does_not_say_how_long_it_is_is_not_read(here, path):
    status, said = send_chunked(here, path, b"{" + b" " * 100_000 + b"}")
    assert status == 411
    assert b"how long it is" in said


def send_chunked(caller, path, body):
    """A body whose length is not told before."""
    at = urlsplit(caller.url)
    connection = http.client.HTTPConnection(at.hostname, at.port, timeout=30)
    headers = {
        "Content-Type": "application/json",
        "X-CSRFToken": caller.token,
        "Cookie": "; ".join(f"{name}={value}" for name, value in caller.cookies.items()),
    }
    pieces = (body[start : start + 65_536] for start in range(0, len(body), 65_536))
    try:
        connection.request("POST", path, pieces, headers, encode_chunked=True)
        answered = connection.getresponse()
        return answered.status, answered.read()
    finally:
        connection.close()


def test_a_body_that_breaks_off_harms_nobody(running, here):
    at = urlsplit(running.url)
    cookie = "; ".join(f"{name}={value}" for name, value in here.cookies.items())
    for length in (100, 1_900_000):
        with socket.create_connection((at.hostname, at.port), timeout=30) as line:
            line.sendall(
                f"POST /api/exchange HTTP/1.1\r\nHost: {at.netloc}\r\nCookie: {cookie}\r\n"
                f"X-CSRFToken: {here.token}\r\nContent-Type: application/json\r\n"
                f'Content-Length: {length}\r\n\r\n{{"protocol": {PROTOCOL}, '.encode()
            )
            line.shutdown(socket.SHUT_WR)
            said = line.recv(100_000)
        assert said == b"" or said.startswith(b"HTTP/1.1 4"), said
    assert here.get("/api/devices").status == 200


# ---- how deep ----------------------------------------------------------------------------------


def nested(deep):
    """An object with so many levels, itself included."""
    return b'{"code":' + b"[" * (deep - 1) + b"]" * (deep - 1) + b"}"


BAD = {
    "nothing": b"",
    "a list": b"[]",
    "null": b"null",
    "text": b'"code"',
    "cut": b'{"code": "AAAA',
    "two": b"{}{}",
    "not a number": b'{"code": NaN}',
    "infinity": b'{"code": -Infinity}',
    "too large": b'{"code": 1e999}',
    "digits": b'{"code": ' + b"9" * 5000 + b"}",
    "latin": '{"code": "é"}'.encode("latin-1"),
    "half a character": b'{"code": "\xe2\x82"}',
    "surrogate": b'{"code": "\xed\xa0\x80"}',
    "mark": b"\xef\xbb\xbf{}",
    "sixteen": '{"code": "A"}'.encode("utf-16"),
    "13 deep": nested(13),
    "7000 deep": nested(7000),
    "open": b'{"code":' + b"[" * 15_000,
    "objects": b'{"a":' * 3000,
}


@pytest.mark.parametrize("body", BAD.values(), ids=list(BAD))
def test_what_is_no_json_object_is_a_sentence(here, body):
    answered = here.call("POST", "/api/pair", raw=body)
    assert answered.status == 400
    assert is_sentence(answered) != "Type the code first."


def test_the_deepest_list_in_the_largest_body(here):
    for body in (b"[" * 1_999_000, b'{"records":' + b"[" * 900_000 + b"]" * 900_000 + b"}"):
        answered = here.call("POST", "/api/exchange", raw=body)
        assert answered.status == 400
        is_sentence(answered)


def test_twelve_deep_is_read(here):
    answered = here.call("POST", "/api/pair", raw=nested(12))
    assert is_sentence(answered) == "Type the code first."


@pytest.mark.parametrize("kind", ["text/plain", "application/x-www-form-urlencoded", "", "x"])
def test_only_json_is_taken(here, kind):
    """What a page of another site can send without asking first is never JSON (Fetch standard)."""
    for path in ("/api/pair", "/api/exchange"):
        answered = here.call("POST", path, raw=b'{"code": "A"}', headers={"Content-Type": kind})
        assert answered.status == 415
        is_sentence(answered)
    form = {"Content-Type": "application/x-www-form-urlencoded", "X-CSRFToken": ""}
    smuggled = here.call("POST", "/api/pair", raw=f"csrf_token={here.token}".encode(), headers=form)
    assert smuggled.status == 415


@pytest.mark.parametrize(
    ("written", "read"),
    [
        ("9007199254740991", 2**53 - 1),
        ("12345678901234567890", 12345678901234567000.0),
        ("-1" + "0" * 300, -1e300),
        ("1.5", 1.5),
        ("-0", 0),
    ],
)
def test_numbers_are_what_a_phone_reads(written, read):
    """Python has whole numbers of any size, a phone does not (ECMA-262, 6.1.6.1)."""
    app = Flask("alone")
    with app.test_request_context(
        method="POST", data=f'{{"n": {written}}}', content_type="application/json"
    ):
        found = limits.json_body()["n"]
    assert (found, type(found)) == (read, type(read))


# ---- how often ---------------------------------------------------------------------------------


def test_an_address_that_asks_without_end_is_told_to_wait(tmp_path):
    with bench(tmp_path, BENCHAPP_REQUESTS_A_MINUTE="40") as small:
        here = small.paired()
        assert here.get("/api/devices").status == 200
        stranger = Caller(small.url)
        for _ in range(60):
            # A cookie that is not right, or of a device that is not there, makes nobody new.
            stranger.cookies["bench_device"] = "0123456789abcdef." + "x" * 43
            answered = stranger.get("/api/me")
            if answered.status != 200:
                break
        assert answered.status == 429
        assert 0 < int(answered.headers["Retry-After"]) <= 60
        assert "Try again in" in is_sentence(answered)
        for path in ("/api/nothing", "/api/pair", "/api/exchange"):
            assert stranger.post(path).status == 429
        # A paired device at the same address is counted for itself, and the bench still opens.
        assert here.get("/api/devices").status == 200
        assert stranger.get("/").status == 200
        statuses = [here.get("/api/me").status for _ in range(60)]
        assert statuses[0] == 200
        assert statuses[-1] == 429


def test_the_shell_has_a_limit_too(running):
    at = urlsplit(running.url)
    statuses = []

    def ask():
        connection = http.client.HTTPConnection(at.hostname, at.port)
        while 429 not in statuses:
            connection.request("HEAD", "/static/missing.js")
            answered = connection.getresponse()
            answered.read()
            statuses.append(answered.status)
        connection.close()

    begun = time.monotonic()
    threads = [threading.Thread(target=ask) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    # Half of a minute's at once, and what came free meanwhile.
    minutes = (time.monotonic() - begun) / 60
    assert len(statuses) - 4 <= limits.STATIC_A_MINUTE / 2 * (1 + minutes)
    # Some of them the tests before have had.
    assert statuses.count(404) >= 0.4 * limits.STATIC_A_MINUTE
    assert set(statuses) == {404, 429}


# ---- tricks, and trouble -----------------------------------------------------------------------


@pytest.mark.parametrize(
    "path",
    [
        "/api/",
        "/api/nothing",
        "/api//me",
        "/api/me/",
        "/api/../api/devices/x",
        "/api/devices/..%2f..%2fme/revoke",
        "/api/devices/%00/revoke",
        "/api/devices/%ff/revoke",
        "/api/devices/a/b/revoke",
        "/api/devices/%F0%9F%95%AF/revoke",
        "/api/devices/" + "x" * 4000 + "/revoke",
        "/api/%0d%0aSet-Cookie:%20a=b",
        "/api/me;x=y",
    ],
)
@pytest.mark.parametrize("method", ["GET", "POST", "DELETE", "PROPFIND"])
def test_strange_paths_and_methods_are_a_sentence(here, method, path):
    answered = here.call(method, path, {} if method == "POST" else None)
    assert answered.status in (400, 404, 405)
    assert "a=b" not in str(answered.headers)
    is_sentence(answered)
    assert answered.headers["Cache-Control"] == "no-store"
    assert answered.headers["Content-Security-Policy"]


def test_no_header_makes_it_another_method_or_path(here):
    tricks = {
        "X-HTTP-Method-Override": "POST",
        "X-Original-URL": "/api/code",
        "X-Rewrite-URL": "/api/code",
    }
    answered = here.get("/api/me", headers=tricks)
    assert answered.status == 200
    assert "code" not in answered.json
    assert here.get("/api/code", headers=tricks).status == 405


def test_outside_of_the_api_an_error_is_plain_text(here):
    answered = here.get("/missing")
    assert answered.headers["Content-Type"].startswith("text/plain")
    assert b"{" not in answered.body


def test_a_broken_database_is_told_in_a_sentence(tmp_path):
    with bench(tmp_path) as small:
        here = small.paired()
        here.open()
        small.database.close()
        with sqlite3.connect(tmp_path / "bench.sqlite3") as database:
            database.execute("ALTER TABLE device RENAME TO gone")
        database.close()
        for answered in (
            here.get("/api/me"),
            here.get("/api/devices"),
            here.post("/api/exchange", {"protocol": PROTOCOL, "era": None, "cursor": 0}),
            here.pair("AAAA-AAAA"),
        ):
            assert answered.status == 503
            assert answered.headers["Retry-After"] == "5"
            is_sentence(answered)
        # The bench itself still opens.
        assert here.get("/").status == 200


def test_a_fault_of_ours_tells_a_stranger_nothing(tmp_path):
    app = create_app(data_dir=tmp_path)

    @app.get("/api/breaks")
    def breaks():
        raise RuntimeError("a secret detail")

    answered = app.test_client().get("/api/breaks")
    assert answered.status_code == 500
    assert answered.mimetype == "application/json"
    assert list(json.loads(answered.data)) == ["error"]
    assert b"secret" not in answered.data


def test_many_bodies_that_never_come_hold_nobody_up(running):
    """One caller may have a few under way; the threads that answer are for everyone."""
    address = urlsplit(running.url)
    head = (
        f"POST /api/pair HTTP/1.1\r\nHost: {address.netloc}\r\n"
        "Content-Type: application/x-www-form-urlencoded\r\nContent-Length: 100\r\n\r\na"
    )
    held = [socket.create_connection((address.hostname, address.port)) for _ in range(60)]
    try:
        for line in held:
            line.sendall(head.encode())
        # Those that were too many are told so at once.
        told = [line for line in held if _status_of(line) == 429]
        assert len(told) == 60 - limits.AT_ONCE
        assert running.caller().get("/api/me").status == 200
    finally:
        for line in held:
            line.close()


def _status_of(line):
    """The status of the answer that is there within a moment, or None."""
    line.settimeout(0.5)
    try:
        first = line.recv(100)
    except TimeoutError:
        return None
    return int(first.split()[1]) if first else None
