"""Pairing, cookies and devices over real sockets, as a phone and as a stranger."""

import http.client
import json
import re
import subprocess
import sys
import threading
import time
from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from urllib.parse import urlsplit

import pytest
import segno
from sqlalchemy import select, update

from benchapp.records import pairing_codes, tables
from benchapp.records.database import Database
from benchapp.web import invitations
from benchapp.web.app import create_app
from benchapp.web.exchange import PROTOCOL
from tests.waits import PATIENCE_S
from tests.web.caller import Caller, bench

NOT_PAIRED = "This device is not paired with the workshop. Pair it with a code."
DAY_MS = 24 * 3_600_000


@pytest.fixture(scope="module")
def running(tmp_path_factory):
    """One server for all tests here; nobody is wrong often enough to be shut out."""
    with bench(tmp_path_factory.mktemp("data")) as started:
        yield started


@pytest.fixture(autouse=True)
def nobody_was_wrong(running):
    with running.database.write() as connection:
        connection.execute(tables.attempt.delete())


@pytest.fixture
def here(running):
    return running.paired()


@pytest.fixture
def elsewhere(running):
    """A device of another workshop on the same server."""
    return running.paired("iPhone", running.workshop("Second"))


def this(caller):
    """The caller's own row in the list of devices."""
    [row] = [each for each in caller.get("/api/devices").json if each["this"]]
    return row


@pytest.fixture(scope="module")
def routes(tmp_path_factory):
    """Every method and path under /api/, so that a new one is tested too."""
    app = create_app(data_dir=tmp_path_factory.mktemp("routes"))
    found = [
        (method, re.sub(r"<[^>]*>", "0123456789abcdef", rule.rule))
        for rule in app.url_map.iter_rules()
        for method in sorted(rule.methods - {"HEAD", "OPTIONS"})
        if rule.rule.startswith("/api/")
    ]
    assert ("POST", "/api/exchange") in found
    assert len(found) > 5
    return found


# ---- coming in ---------------------------------------------------------------------------------


def test_a_code_and_then_the_cookie(running):
    caller = Caller(running.url)
    me = caller.open()
    assert me["paired"] is False
    assert me["protocol"] == PROTOCOL
    assert abs(me["now_ms"] - time.time() * 1000) < 600_000
    assert set(me) == {"protocol", "now_ms", "csrf", "paired"}

    answered = caller.pair(running.code().lower(), "  Shed phone ")
    assert answered.status == 200
    assert answered.json["device"]["name"] == "Shed phone"
    assert answered.json["workshop"]["name"] == "Workshop"
    again = caller.open()
    assert again["paired"] is True
    assert {name: again[name] for name in ("workshop", "device")} == answered.json
    assert this(caller)["id"] == answered.json["device"]["id"]


def test_the_cookie_is_the_phones_alone(running):
    caller = running.caller()
    answered = caller.pair(running.code())
    [line] = answered.headers.get_all("Set-Cookie")
    value, *flags = [part.strip() for part in line.split(";")]
    assert re.fullmatch(r"bench_device=[0-9a-f]{16}\.[\w-]{43}", value)
    assert {"HttpOnly", "SameSite=Strict", "Path=/", "Max-Age=34560000"} <= set(flags)
    assert not any(flag.startswith("Domain") for flag in flags)
    assert value.partition("=")[2] not in answered.body.decode()
    # The session that carries the form token is no script's either.
    [session] = Caller(running.url).get("/api/me").headers.get_all("Set-Cookie")
    assert session.startswith("bench=")
    assert "HttpOnly" in session


def test_under_tls_the_cookies_are_secure_and_locked_to_the_host(tmp_path):
    """RFC 6265bis: a __Host- cookie is Secure, has Path=/ and no Domain."""
    app = create_app(data_dir=tmp_path, tls=True)
    client = app.test_client()
    base = {"base_url": "https://bench.test/", "headers": {"Referer": "https://bench.test/"}}
    me = client.get("/api/me", **base)
    made = invitations.invite(app.extensions["database"], "https://bench.test", None, time_ms())
    base["headers"]["X-CSRFToken"] = me.json["csrf"]
    done = client.post("/api/pair", json={"code": made.code, "name": "iPhone"}, **base)
    assert done.status_code == 200
    for answered, name in ((me, "__Host-bench"), (done, "__Host-bench_device")):
        [line] = [
            line for line in answered.headers.getlist("Set-Cookie") if line.startswith(f"{name}=")
        ]
        flags = {part.strip() for part in line.split(";")}
        assert {"Secure", "HttpOnly", "Path=/"} <= flags
        assert "Domain" not in line
    assert client.get("/api/me", **base).json["paired"] is True
    # The name without the prefix, which any host beside this one could set, is not looked at.
    value = client.get_cookie("__Host-bench_device", domain="bench.test").value
    stranger = app.test_client()
    stranger.set_cookie("bench_device", value, domain="bench.test", secure=True)
    assert stranger.get("/api/me", **base).json["paired"] is False


def test_no_server_prints_a_code_that_ends_one_that_waits(database_url):
    """As many start at one database as you like, also at the same moment."""
    databases = [Database(database_url) for _ in range(5)]
    with ThreadPoolExecutor(len(databases)) as pool:
        said = list(
            pool.map(
                lambda each: invitations.greeting(each, "https://bench.test/", always=False),
                databases,
            )
        )
    printed = [found[1] for each in said if (found := re.search(r"The code (\S+) works", each))]
    assert len(printed) == pairing_codes.MOST_CODES
    told = [each for each in said if "The code" not in each]
    assert len(told) == 2
    assert all(
        each.startswith("3 codes that were printed before still wait for a device, the first of")
        and "for 10 minutes." in each
        for each in told
    )
    # One that is asked for is made: it ends the oldest, and whoever types that is told so.
    asked = invitations.greeting(databases[0], "https://bench.test/", always=True)
    [made] = re.findall(r"The code (\S+) works", asked)
    found = Counter()
    for code in [made, *printed]:
        with databases[1].write() as connection:
            done = pairing_codes.pair(
                connection, code, name="Phone", agent="", address="::1", now_ms=time_ms()
            )
        found[type(done)] += 1
        if isinstance(done, pairing_codes.TurnedAway):
            assert "only the last 3 that were made" in str(done.why)
            assert code != made
    assert found == {pairing_codes.Paired: 3, pairing_codes.TurnedAway: 1}
    assert invitations.greeting(databases[2], "https://bench.test/", always=False) == ""
    for each in databases:
        each.close()


def time_ms():
    return time.time_ns() // 1_000_000


@pytest.mark.parametrize(
    ("body", "sentence"),
    [
        ({"code": "AAAA-AAAA", "name": "x"}, "not known"),
        ({"code": "AAAA", "name": "x"}, "8 letters and digits"),
        ({"code": "", "name": "x"}, "8 letters and digits"),
        ({"name": "x"}, "Type the code first."),
        ({"code": 7, "name": "x"}, "Type the code first."),
        ({"code": ["AAAA-AAAA"], "name": "x"}, "Type the code first."),
        ({"code": "AAAA-AAAA"}, "A name is needed"),
        ({"code": "AAAA-AAAA", "name": "x\u0000"}, "on one line"),
        ({"code": "AAAA-AAAA", "name": "\ud800"}, "on one line"),
        ({"code": "\ud800" * 8, "name": "x"}, "8 letters and digits"),
    ],
)
def test_what_is_wrong_is_a_sentence(running, body, sentence):
    answered = running.caller().post("/api/pair", body)
    assert answered.status == 400
    assert sentence in answered.json["error"]
    assert "Set-Cookie" not in answered.headers


def test_a_code_that_is_over_or_used_lets_nobody_in(running):
    code = running.code()
    with running.database.write() as connection:
        connection.execute(update(tables.pairing).values(expires_ms=time_ms() - 1))
    assert running.caller().pair(code).status == 400
    code = running.code()
    assert running.caller().pair(code).status == 200
    assert running.caller().pair(code).status == 400


def test_of_many_that_use_one_code_at_once_one_is_in(running):
    callers = [running.caller() for _ in range(6)]
    code = running.code()
    gate = threading.Barrier(len(callers))

    def join(caller):
        gate.wait()
        return caller.pair(code).status

    with ThreadPoolExecutor(len(callers)) as pool:
        assert sorted(pool.map(join, callers)) == [200] + [400] * 5


def test_guessing_is_stopped_wherever_it_says_it_comes_from(running):
    """Without --behind-proxy, what a caller claims of its address is not believed."""
    caller = running.caller()
    for number in range(10):
        claims = {"X-Forwarded-For": f"192.0.2.{number}", "Forwarded": f"for=192.0.2.{number}"}
        body = {"code": "AAAA-AAAA", "name": "x"}
        assert caller.post("/api/pair", body, headers=claims).status == 400
    code = running.code()
    for which in (
        caller,
        running.caller(),
        Caller(running.url, dict(caller.cookies), caller.token),
    ):
        answered = which.post("/api/pair", {"code": code, "name": "x"}, headers=claims)
        assert answered.status == 429
        assert 0 < int(answered.headers["Retry-After"]) <= 60
        assert "Too many wrong codes" in answered.json["error"]


def test_pairing_again_gives_up_the_place_before(running, here):
    before = this(here)
    old = dict(here.cookies)
    assert here.pair(running.code(), "Again").status == 200
    now = {each["id"]: each for each in here.get("/api/devices").json}
    assert now[before["id"]]["revoked_ms"] is not None
    assert this(here)["name"] == "Again"
    replayed = Caller(running.url, old, here.token)
    assert replayed.get("/api/devices").status == 401
    # A code that is wrong costs nobody her place.
    assert here.pair("AAAA-AAAA").status == 400
    assert this(here)["name"] == "Again"


def test_when_it_was_last_seen_and_the_cookie_again_every_30_days(running, here):
    row = this(here)
    for age_ms, is_sent in ((120_000, False), (40 * DAY_MS, True)):
        seen_ms = row["seen_ms"] - age_ms
        with running.database.write() as connection:
            connection.execute(
                update(tables.device).where(tables.device.c.id == row["id"]).values(seen_ms=seen_ms)
            )
        if not is_sent and seen_ms // (30 * DAY_MS) != time_ms() // (30 * DAY_MS):
            continue  # a test that runs just after such a border would see one more cookie
        answered = here.get("/api/devices")
        assert ("Set-Cookie" in answered.headers) is is_sent
        assert this(here)["seen_ms"] >= row["seen_ms"]


# ---- staying outside ---------------------------------------------------------------------------


def test_a_revoked_cookie_opens_nothing_from_that_moment(running, routes, here):
    lost = running.paired("Lost phone")
    row = this(lost)
    assert lost.get("/api/devices").status == 200
    assert here.post(f"/api/devices/{row['id']}/revoke").status == 200
    for method, path in routes:
        if path in ("/api/me", "/api/pair"):
            continue
        answered = lost.call(method, path, {} if method == "POST" else None)
        assert answered.status == 401, path
        assert answered.json["paired"] is False
        assert answered.json["error"].endswith(".")
    assert lost.open()["paired"] is False
    # The row is still shown, and no second revocation or rename changes it.
    [kept] = [each for each in here.get("/api/devices").json if each["id"] == row["id"]]
    assert kept["revoked_ms"] is not None
    assert here.post(f"/api/devices/{row['id']}/rename", {"name": "Back"}).status == 404


def test_who_is_revoked_before_all_of_its_message_has_come_leaves_and_reads_nothing(running, here):
    lost = running.paired("Lost phone")
    row = this(lost)
    # Its cookie is known by now.
    assert lost.post("/api/exchange", {"protocol": PROTOCOL, "cursor": 0}).status == 200
    wick = {"name": {"value": "Left", "stamp": "001764070400000.0000.lost"}}
    body = json.dumps(
        {
            **{"protocol": PROTOCOL, "era": None, "cursor": 0},
            "records": [{"kind": "wick", "id": "left", "fields": wick}],
        }
    ).encode()
    at = urlsplit(running.url)
    line = http.client.HTTPConnection(at.hostname, at.port, timeout=PATIENCE_S)
    line.putrequest("POST", "/api/exchange")
    line.putheader("Content-Type", "application/json")
    line.putheader("Content-Length", str(len(body)))
    line.putheader("X-CSRFToken", lost.token)
    line.putheader("Cookie", "; ".join(f"{name}={it}" for name, it in lost.cookies.items()))
    line.endheaders(body[:20])
    assert here.post(f"/api/devices/{row['id']}/revoke").status == 200
    line.send(body[20:])
    answer = line.getresponse()
    assert answer.status == 401
    assert json.loads(answer.read())["paired"] is False
    line.close()
    told = here.post("/api/exchange", {"protocol": PROTOCOL, "cursor": 0}).json
    assert not any(each["id"] == "left" for each in told["records"])


def test_a_stranger_gets_401_everywhere_and_the_same_one(running, routes):
    stranger = running.caller()
    for method, path in routes:
        if path in ("/api/me", "/api/pair"):
            continue
        answered = stranger.call(method, path, {} if method == "POST" else None)
        assert answered.status == 401, path
        assert answered.json == {"error": NOT_PAIRED, "paired": False}
        assert answered.headers["Cache-Control"] == "no-store"


def test_a_forged_cookie_opens_nothing(running, here, elsewhere):
    mine, other = (each.cookies["bench_device"] for each in (here, elsewhere))
    (my_id, my_secret), (other_id, _) = mine.split("."), other.split(".")
    forged = [
        f"{other_id}.{my_secret}",
        f"{my_id}.{my_secret[:-1]}",
        f"{my_id}.",
        my_id,
        f"{my_id}.{my_secret}.",
        f"{my_id.upper()}.{my_secret.swapcase()}",
        "%00",
        "a" * 3000,
        '"\\000"',
    ]
    for value in forged:
        caller = Caller(running.url, here.cookies | {"bench_device": value}, here.token)
        assert caller.get("/api/devices").status == 401, value
    # Two of one name: a browser sends the one with the longer path first, and that one counts.
    double = {"Cookie": f"bench_device=x; bench_device={mine}"}
    assert Caller(running.url).get("/api/devices", headers=double).status == 401


def test_another_workshop_is_not_there(running, here, elsewhere):
    mine, other = this(here), this(elsewhere)
    for ids in (mine["id"], "0123456789abcdef"):
        for path, body in (("revoke", {}), ("rename", {"name": "Mine"})):
            answered = elsewhere.post(f"/api/devices/{ids}/{path}", body)
            assert answered.status == 404
            assert answered.json == {
                "error": "This device is not in the list any more. Look at the list again."
            }
    assert mine["id"] not in elsewhere.get("/api/devices").body.decode()
    assert other["id"] not in here.get("/api/devices").body.decode()
    assert this(here)["name"] == mine["name"]
    # A code that it makes leads to its own workshop, and to no other.
    code = elsewhere.post("/api/code").json["code"]
    third = running.caller()
    assert third.pair(code).json["workshop"]["name"] == "Second"


def test_the_records_of_another_workshop_are_not_there(running, here, elsewhere):
    stamp = f"{time_ms():015d}.0000.abc"
    wax = {"kind": "wax", "id": "wax-1", "fields": {"name": {"value": "Soy", "stamp": stamp}}}
    message = {"protocol": PROTOCOL, "era": None, "cursor": 0, "records": [wax], "events": []}
    first = here.post("/api/exchange", message).json
    # What it did not know the era of, it says again.
    sent = here.post("/api/exchange", message | {"era": first["era"]}).json
    assert (sent["refused"], first["refused"]) == ([], [])
    empty = message | {"records": []}
    era = elsewhere.post("/api/exchange", empty).json["era"]
    assert era != first["era"]
    answered = elsewhere.post("/api/exchange", empty | {"era": era}).json
    assert answered["records"] == []
    # Not even with the other's era, or by saying whose it wants.
    for more in ({"era": first["era"]}, {"era": era, "workshop_id": this(here)["id"]}):
        assert elsewhere.post("/api/exchange", empty | more).json["records"] == []
    read = here.post("/api/exchange", empty | {"era": first["era"]}).json
    assert [each["id"] for each in read["records"]] == ["wax-1"]


@pytest.mark.parametrize("token", ["", "x", "other", "cut"])
def test_nothing_changes_without_the_pages_own_token(running, routes, here, token):
    other = running.caller().token
    here.token = {"other": other, "cut": here.token[:-1]}.get(token, token)
    for method, path in routes:
        if method == "POST":
            answered = here.post(path)
            assert answered.status == 400, path
            assert answered.json["csrf"] is True
    assert len([each for each in here.get("/api/devices").json if each["this"]]) == 1


@pytest.mark.parametrize("site", ["cross-site", "same-site", "none", "nonsense"])
def test_no_other_site_changes_anything_even_with_the_token(routes, here, site):
    for method, path in routes:
        if method == "POST":
            answered = here.post(path, headers={"Sec-Fetch-Site": site})
            assert answered.status == 403, path
            assert answered.json["error"] == "Only the bench's own pages may ask for this."
    assert here.post("/api/code", headers={"Sec-Fetch-Site": "same-origin"}).status == 200


# ---- inviting another --------------------------------------------------------------------------


def test_a_paired_device_lets_another_in(running, here):
    made = here.post("/api/code").json
    assert made["url"] == f"{running.url}#/pair/{made['code']}"
    assert made["lives_s"] == 600
    assert made["rows"] == [list(row) for row in segno.make(made["url"], error="m").matrix]
    third = running.caller()
    assert third.pair(made["code"], "Third").status == 200
    names = [each["name"] for each in third.get("/api/devices").json]
    assert {"Third", "Android phone"} <= set(names)
    assert here.post(f"/api/devices/{this(third)['id']}/rename", {"name": "Shed"}).status == 200
    assert this(third)["name"] == "Shed"
    assert here.post(f"/api/devices/{this(third)['id']}/rename", {"name": ""}).status == 400


@pytest.mark.parametrize(
    "host", ['a"><script>', "a b", "user@host", "a/b", "x" * 300, "a:99999999"]
)
def test_an_address_that_is_none_is_in_no_code(here, host):
    answered = here.post("/api/code", headers={"Host": host})
    assert answered.status == 400
    assert host.encode() not in answered.body


# ---- the terminal ------------------------------------------------------------------------------


def command(*arguments, data):
    return subprocess.run(
        [sys.executable, "-m", "benchapp", *arguments, "--data", str(data)],
        capture_output=True,
        text=True,
        check=False,
        encoding="utf-8",
    )


def test_the_server_shows_a_code_until_somebody_is_in(tmp_path):
    with bench(tmp_path) as first:
        code = first.wait_for(re.compile(rf"{re.escape(first.url)}#/pair/(\S+)$"))
        assert first.caller().pair(code).status == 200
    with bench(tmp_path) as second:
        second.stop()
        assert "pair" not in "".join(second.said)
    with bench(tmp_path, "--pair") as third:
        assert third.wait_for(re.compile("(#/pair/)"))
    with bench(tmp_path / "demo", "--demo") as demo:
        demo.stop()
        assert "pair" not in "".join(demo.said)


def test_codes_and_devices_by_command(running):
    data = running.database.engine.url.database.removesuffix("/bench.sqlite3")
    running.paired("Old phone")
    listed = command("devices", data=data).stdout
    [line] = [line for line in listed.splitlines() if "Old phone" in line]
    revoked = command("devices", "--revoke", line.split()[0], data=data)
    assert "is shut out" in revoked.stdout
    [line] = [line for line in command("devices", data=data).stdout.splitlines() if "Old" in line]
    assert "revoked" in line
    assert "There is no device nobody" in command("devices", "--revoke", "nobody", data=data).stderr

    assert command("workshops", "--add", "Barn", data=data).returncode == 0
    assert command("workshops", "--add", "Barn", data=data).returncode == 2
    assert "Barn" in command("workshops", data=data).stdout
    shown = command("pair", "--workshop", "Barn", "--url", "https://bench.example", data=data)
    code = re.search(r"https://bench\.example/#/pair/(\S+)", shown.stdout)[1]
    assert "█" in shown.stdout
    assert running.caller().pair(code).json["workshop"]["name"] == "Barn"
    plain = command("pair", data=data).stdout
    assert running.caller().pair(re.search(r"Code (\S+):", plain)[1]).status == 200
    assert command("pair", "--workshop", "None", data=data).returncode == 2


def test_serve_and_the_commands_find_the_same_database(tmp_path, database_url):
    with bench(tmp_path / "data", "--database", database_url) as elsewhere:
        code = re.search(
            r"Code (\S+):", command("pair", "--database", database_url, data=tmp_path / "x").stdout
        )[1]
        assert elsewhere.caller().pair(code, "Far phone").status == 200
        listed = command("devices", "--database", database_url, data=tmp_path / "x").stdout
        assert "Far phone" in listed


@pytest.mark.parametrize("name", ["pair", "devices", "workshops"])
def test_a_command_makes_no_database_where_none_is(tmp_path, name):
    done = command(name, data=tmp_path / "nowhere")
    assert done.returncode == 2
    assert "benchapp serve" in done.stderr
    assert not (tmp_path / "nowhere").exists()


def test_the_command_reads_what_the_server_wrote(running, here):
    """Nothing of a secret is printed by any command."""
    data = running.database.engine.url.database.removesuffix("/bench.sqlite3")
    said = command("devices", data=data).stdout + command("workshops", data=data).stdout
    with running.database.read() as connection:
        for row in connection.execute(select(tables.device.c.secret_sha256)).scalars():
            assert row not in said
    assert here.cookies["bench_device"].partition(".")[2] not in said
