"""Push over real sockets: phones that subscribe, the server's own worker, and a push service that
is strict about what it is sent.

That no route answers a stranger, or a page without the form's token, is in `test_pairing`, which
asks all of them.
"""

import json
import time
from datetime import UTC, datetime

import pytest
from sqlalchemy import select

from benchapp.records import tables
from benchapp.records.exchange import PROTOCOL
from benchapp.reminders import push_settings
from benchapp.reminders.notifications import MOST_BELLS
from tests.reminders.push_service import push_service
from tests.waits import until
from tests.web.caller import bench

CONTACT = "bench@example.net"
BROKEN = "The phone's message can't be read: reload the bench."
HOUR_MS = 3_600_000


@pytest.fixture(scope="module")
def service():
    with push_service() as started:
        yield started


@pytest.fixture(scope="module")
def running(tmp_path_factory, service):
    with serving(tmp_path_factory.mktemp("data"), service) as started:
        yield started


def serving(data, service, **environment):
    """A server that sends, to the tests' push service alone."""
    trial = {push_settings.TRIAL: str(service.trial), "BENCHAPP_REQUESTS_A_MINUTE": "100000"}
    return bench(data, "--contact", CONTACT, **trial, **environment)


@pytest.fixture
def shop(running):
    """A workshop of its own; its id."""
    return running.workshop("Shed")


@pytest.fixture
def here(running, shop):
    """A device that does not listen yet."""
    return running.paired("iPhone", shop)


def now_ms():
    return time.time_ns() // 1_000_000


def offer(caller, service, **changes):
    """What a page sends that has subscribed, and where it then listens."""
    key = caller.get("/api/push").json["key"]
    subscriber = service.subscribe(key)
    keys = {"p256dh": subscriber.p256dh, "auth": subscriber.auth}
    told = {"endpoint": subscriber.endpoint, "expirationTime": None, "keys": keys}
    return {"subscription": told, "key": key, "zone": "Europe/Lisbon"} | changes, subscriber


def listens(caller, service):
    """Turn reminders on; return where they come."""
    body, subscriber = offer(caller, service)
    answered = caller.post("/api/push", body)
    assert answered.status == 200, answered.body
    assert answered.json["subscribed"] is True
    return subscriber


def received(service, subscriber):
    """What a device was told, as its worker reads it."""
    assert service.problems == []
    return [json.loads(push.data) for push in service.received if push.subscriber is subscriber]


def own_id(caller):
    return next(each["id"] for each in caller.get("/api/devices").json if each["this"])


def messages(running, caller):
    """Kept messages to the caller's device: what they tell, and how they stand."""
    table = tables.delivery
    with running.database.read() as connection:
        asked = select(table.c.about, table.c.state).where(table.c.device_id == own_id(caller))
        return sorted(map(tuple, connection.execute(asked)))


# ---- listening ---------------------------------------------------------------------------------


def test_a_server_without_a_contact_says_so_and_takes_no_subscription(tmp_path, service):
    with bench(tmp_path) as mute:
        here = mute.paired()
        standing = here.get("/api/push").json
        assert standing["key"] is None
        assert standing["why"] == push_settings.WHY_NOT
        body, _ = offer(here, service)
        answered = here.post("/api/push", body)
        assert (answered.status, answered.json["error"]) == (409, push_settings.WHY_NOT)
        assert here.get("/api/push").json["subscribed"] is False


def test_a_device_listens_is_told_and_stops(running, here, service):
    before = here.get("/api/push")
    assert before.headers["Cache-Control"] == "no-store"
    assert len(before.json.pop("key")) == 87
    assert {**before.json, "key": ""} == {
        **{"key": "", "why": None, "subscribed": False, "zone": "UTC"},
        **dict.fromkeys(("sent_ms", "trouble", "trouble_ms")),
    }
    refused = here.post("/api/push/test")
    assert refused.status == 409
    assert "Turn them on first" in refused.json["error"]

    subscriber = listens(here, service)
    assert here.get("/api/push").json["zone"] == "Europe/Lisbon"
    assert here.post("/api/push/test").json == {}
    until(lambda: received(service, subscriber), lambda: "".join(running.said))
    [told] = received(service, subscriber)
    assert told["notification"]["title"] == "This is how a reminder looks"
    assert told["notification"]["navigate"] == running.url.rstrip("/") + "/#/reminders"
    until(lambda: here.get("/api/push").json["sent_ms"], "It was not written down.")
    standing = here.get("/api/push").json
    assert abs(standing["sent_ms"] - now_ms()) < 60_000
    assert standing["trouble"] is None

    assert here.post("/api/push/stop").json["subscribed"] is False
    assert here.post("/api/push/test").status == 409
    assert len(received(service, subscriber)) == 1


def test_what_a_push_service_refuses_is_told_in_a_sentence(here, service):
    subscriber = listens(here, service)
    service.answer(subscriber, 403)
    here.post("/api/push/test")
    until(lambda: here.get("/api/push").json["trouble"], "Nothing was told.")
    standing = here.get("/api/push").json
    assert standing["trouble"].endswith("It was given up.")
    assert abs(standing["trouble_ms"] - now_ms()) < 60_000
    assert subscriber.endpoint.rpartition("/")[2] not in standing["trouble"]
    service.answer(subscriber, 410)
    here.post("/api/push/test")
    until(lambda: not here.get("/api/push").json["subscribed"], "It was not forgotten.")


@pytest.mark.parametrize(
    ("endpoint", "sentence"),
    [
        ("http://push.test/x", "A push address begins with https://."),
        ("https://127.0.0.1:8443/x", "a bare number is not taken"),
        ("https://10.0.0.1/x", "a bare number is not taken"),
        ("https://2130706433/x", "a bare number is not taken"),
        ("https://0x7f.1/x", "a bare number is not taken"),
        ("https://[::1]/x", "a bare number is not taken"),
        ("https://localhost/x", "full name of a host"),
        ("https:///x", "full name of a host"),
        ("https://user@push.test/x", "no user name"),
        ("https://push.test/" + "x" * 2000, "at most 2000 characters"),
        ("https://push.test/a b", "no spaces"),
        (None, BROKEN),
        (7, BROKEN),
    ],
)
def test_an_endpoint_that_is_none_is_refused_and_not_kept(
    running, here, service, endpoint, sentence
):
    body, _ = offer(here, service)
    body["subscription"]["endpoint"] = endpoint
    refuses(running, here, body, 400, sentence)


@pytest.mark.parametrize(
    ("keys", "sentence"),
    [
        ({"auth": "AAAA"}, "'auth' of a push subscription has 16 octets"),
        ({"auth": "="}, "'auth' of a push subscription has 16 octets"),
        ({"p256dh": "AAAA"}, "a point of the curve P-256"),
        ({"p256dh": "BA" + "A" * 85}, "a point of the curve P-256"),
        ({"p256dh": None}, BROKEN),
        (None, BROKEN),
    ],
)
def test_keys_that_are_none_are_refused_and_not_kept(running, here, service, keys, sentence):
    body, _ = offer(here, service)
    told = body["subscription"]
    told["keys"] = None if keys is None else told["keys"] | keys
    refuses(running, here, body, 400, sentence)


def test_a_subscription_for_another_key_is_refused_and_not_kept(running, here, service):
    body, _ = offer(here, service, key="B" * 87)
    refuses(running, here, body, 409, "Turn reminders on once more")


@pytest.mark.parametrize("zone", ["Mars/Base", "", "../UTC", 5])
def test_a_zone_that_is_none_is_refused_and_not_kept(running, here, service, zone):
    body, _ = offer(here, service, zone=zone)
    refuses(running, here, body, 400, BROKEN if zone == 5 else ".")
    refused = here.post("/api/zone", {"zone": zone})
    assert refused.status == 400
    assert refused.json["error"].endswith(".")
    assert here.get("/api/push").json["zone"] == "UTC"
    assert here.post("/api/zone", {"zone": "Asia/Tokyo"}).json == {}
    assert here.get("/api/push").json["zone"] == "Asia/Tokyo"


def refuses(running, here, body, status, sentence):
    """What stood stands, and no part of it is kept."""
    before = here.get("/api/push").json
    refused = here.post("/api/push", body)
    assert refused.status == status
    assert sentence in refused.json["error"]
    assert here.get("/api/push").json == before
    assert before["subscribed"] is False
    with running.database.read() as connection:
        kept = connection.execute(select(tables.subscription.c.device_id)).scalars().all()
    assert own_id(here) not in kept


def test_a_page_without_the_forms_token_turns_nothing_on(running, here, service):
    body, _ = offer(here, service)
    here.token = ""
    refused = here.post("/api/push", body)
    assert refused.status == 400
    assert refused.json["csrf"] is True
    assert here.get("/api/push").json["subscribed"] is False
    assert running.caller().get("/api/push").status == 401


def test_another_workshop_sees_and_hears_nothing(running, here, service):
    elsewhere = running.paired("Other phone", running.workshop("Second"))
    there = listens(elsewhere, service)
    assert here.get("/api/push").json["subscribed"] is False
    mine = listens(here, service)
    assert here.post("/api/zone", {"zone": "Asia/Tokyo"}).json == {}
    assert elsewhere.get("/api/push").json["zone"] == "Europe/Lisbon"
    here.post("/api/push/test")
    here.post("/api/bells", {"bells": [bell(now_ms() + 200)]})
    until(lambda: len(received(service, mine)) == 2, lambda: "".join(running.said))
    assert received(service, there) == []
    assert elsewhere.get("/api/push").json["sent_ms"] is None


def test_a_revoked_device_is_told_nothing(running, here, service, shop):
    lost = running.paired("Lost phone", shop)
    there = listens(lost, service)
    lost.post("/api/bells", {"bells": [bell(now_ms() + 400)]})
    id_ = own_id(lost)
    assert here.post(f"/api/devices/{id_}/revoke").status == 200
    assert lost.post("/api/push/test").status == 401

    def dropped():
        table = tables.delivery
        with running.database.read() as connection:
            asked = select(table.c.state).where(table.c.device_id == id_)
            return connection.execute(asked).scalars().all() == ["dropped"]

    until(dropped, lambda: "".join(running.said))
    assert received(service, there) == []


# ---- bells -------------------------------------------------------------------------------------


def bell(at_ms, **changes):
    told = {
        "of": "pour",
        "id": "p1",
        "part": 0,
        "at_ms": at_ms,
        "title": "At temperature",
        "body": "Dip.",
    }
    return told | changes


def test_a_bell_rings_at_its_time_and_the_latest_ones_count(running, here, service):
    subscriber = listens(here, service)
    begun = now_ms()
    assert here.post("/api/bells", {"bells": [bell(begun + 600, part=1)]}).json == {}
    told = [bell(begun + 700, part=2), bell(begun + HOUR_MS), bell(begun - 1), bell(0)]
    assert here.post("/api/bells", {"bells": told}).json == {}
    assert messages(running, here) == [
        (f"bell p1 0 {begun + HOUR_MS}", "waiting"),
        (f"bell p1 2 {begun + 700}", "waiting"),
    ]
    until(lambda: received(service, subscriber), lambda: "".join(running.said))
    assert now_ms() >= begun + 700
    [rung] = received(service, subscriber)
    assert rung["notification"]["data"] == {"pour": "p1", "jug": 2, "bell": True}
    assert here.post("/api/bells", {"bells": []}).json == {}
    until(
        lambda: messages(running, here) == [(f"bell p1 2 {begun + 700}", "sent")], "It still waits."
    )


@pytest.mark.parametrize(
    "changes",
    [
        {"id": ""},
        {"id": "a/b"},
        {"id": "x" * 65},
        {"id": None},
        {"part": -1},
        {"part": 1000},
        {"part": True},
        {"part": 1.5},
        {"of": "recipe"},
        {"of": ["pour"]},
        {"at_ms": -1},
        {"at_ms": "soon"},
        {"at_ms": 1e12},
        {"at_ms": 10**15},
        {"title": ""},
        {"title": "x" * 301},
        {"title": None},
        {"body": "x" * 301},
        {"body": 7},
    ],
)
def test_a_bell_that_is_none_is_refused_and_those_before_stay(running, here, service, changes):
    listens(here, service)
    at_ms = now_ms() + HOUR_MS
    here.post("/api/bells", {"bells": [bell(at_ms)]})
    refused = here.post("/api/bells", {"bells": [bell(at_ms, part=3), bell(at_ms) | changes]})
    assert (refused.status, refused.json["error"]) == (400, BROKEN)
    assert messages(running, here) == [(f"bell p1 0 {at_ms}", "waiting")]


def test_a_bell_of_an_older_phone_is_one_of_a_pour(running, here, service):
    listens(here, service)
    at_ms = now_ms() + HOUR_MS
    older = {"pour": "p1", "jug": 3, "at_ms": at_ms, "title": "At temperature", "body": "Dip."}
    assert here.post("/api/bells", {"bells": [older]}).json == {}
    assert messages(running, here) == [(f"bell p1 3 {at_ms}", "waiting")]


def test_a_bell_of_a_candle_opens_its_board(running, here, service):
    subscriber = listens(here, service)
    told = bell(now_ms() + 600, of="burn_test", id="t1", part=4)
    assert here.post("/api/bells", {"bells": [told]}).json == {}
    until(lambda: received(service, subscriber), lambda: "".join(running.said))
    [rung] = received(service, subscriber)
    assert rung["notification"]["navigate"].endswith("/#/burn/t1/4")


def test_too_many_bells_too_far_ahead_or_none_at_all(running, here, service):
    listens(here, service)
    ahead_ms = now_ms() + HOUR_MS
    most = [bell(ahead_ms, part=number) for number in range(MOST_BELLS)]
    assert here.post("/api/bells", {"bells": most}).status == 200
    for told in (
        [*most, bell(ahead_ms, part=MOST_BELLS)],
        [bell(now_ms() + 25 * HOUR_MS)],
        ["bell"],
        {"0": bell(ahead_ms)},
        None,
    ):
        refused = here.post("/api/bells", {"bells": told})
        assert (refused.status, refused.json["error"]) == (400, BROKEN)
    assert len(messages(running, here)) == MOST_BELLS


def test_the_bells_of_another_device_are_not_touched(running, here, service, shop):
    other = running.paired("Tablet", shop)
    at_ms = now_ms() + HOUR_MS
    for caller in (here, other):
        listens(caller, service)
        caller.post("/api/bells", {"bells": [bell(at_ms)]})
    here.post("/api/bells", {"bells": []})
    assert messages(running, here) == []
    assert messages(running, other) == [(f"bell p1 0 {at_ms}", "waiting")]


def test_a_device_that_does_not_listen_leaves_no_bell(running, here):
    assert here.post("/api/bells", {"bells": [bell(now_ms() + HOUR_MS)]}).json == {}
    assert messages(running, here) == []


# ---- a server that was down --------------------------------------------------------------------

DAY_S = 4


def test_a_server_that_was_down_when_it_fell_due_sends_it_on_start_and_once(tmp_path, service):
    short = {push_settings.DEVELOPER_DAY: str(DAY_S)}
    with serving(tmp_path, service, **short) as first:
        here = first.paired()
        subscriber = listens(here, service)
        poured_ms = now_ms()
        pour(here, poured_ms)
    assert now_ms() < poured_ms + DAY_S * 1000
    time.sleep((poured_ms - now_ms()) / 1000 + DAY_S)
    assert received(service, subscriber) == []
    with serving(tmp_path, service, **short) as second:
        until(lambda: received(service, subscriber), lambda: "".join(second.said))
        here.url = second.url
        # What is sent after it shows that it does not come again.
        assert here.post("/api/push/test").status == 200
        until(lambda: len(received(service, subscriber)) > 1, lambda: "".join(second.said))
        titles = [each["notification"]["title"] for each in received(service, subscriber)]
        assert titles == [
            "Wet slate, 12 × tin 120: ready to trim",
            "This is how a reminder looks",
        ]
        until(lambda: {state for _, state in messages(second, here)} == {"sent"}, "Not written.")
    assert len(received(service, subscriber)) == 2


def test_a_server_that_is_stopped_while_it_sends_goes_on_at_its_next_start(tmp_path, service):
    """What it had claimed is not held back, and nothing comes twice."""
    short = {push_settings.DEVELOPER_DAY: "1"}
    pours = [f"p{number}" for number in range(300)]
    with serving(tmp_path, service, **short) as first:
        here = first.paired()
        subscriber = listens(here, service)
        pour(here, now_ms() - 2000, pours)
        until(lambda: len(received(service, subscriber)) > 20, lambda: "".join(first.said))
    before = len(received(service, subscriber))
    assert before < len(pours)
    with serving(tmp_path, service, **short) as second:
        until(
            lambda: len(received(service, subscriber)) >= len(pours), lambda: "".join(second.said)
        )
        here.url = second.url
        until(lambda: {state for _, state in messages(second, here)} == {"sent"}, "Not written.")
    told = [each["notification"]["data"]["pour"] for each in received(service, subscriber)]
    assert sorted(told) == sorted(pours)


def pour(caller, poured_ms, pours=("p1",)):
    """Exchange pours that were set aside, of which only the trimming falls due soon."""
    waits = {"trim_days": 1, "label_days": 300, "cure_least_days": 300, "cure_best_days": 300}
    sheet = {
        **{"title": "Wet slate", "count": 12, "vessel": {"name": "tin 120"}, "jug": {}, "jugs": []},
        **waits,
    }
    values = {"name": "Wet slate", "sheet": sheet, "started_at": poured_ms}
    on = datetime.fromtimestamp(poured_ms / 1000, UTC).date().isoformat()
    sent = {"protocol": PROTOCOL, "era": None, "cursor": 0, "records": [], "events": []}
    for number, id_ in enumerate(pours):
        stamp = f"{poured_ms:015d}.{number:04d}.a"
        fields = {name: {"value": value, "stamp": stamp} for name, value in values.items()}
        sent["records"].append({"kind": "pour", "id": id_, "fields": fields})
        event = {"id": stamp, "of": ["pour", id_], "type": "set", "at": poured_ms, "on": on}
        sent["events"].append(event)
    assert caller.post("/api/exchange", sent).json["refused"] == []
