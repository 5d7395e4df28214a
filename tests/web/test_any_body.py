"""Whatever a phone's program sends to any route that takes something: an answer that says what to
do, and never a fault of the server's own.

A body that is right has one part spoilt at a time, anywhere in it: another type, a number that is
none, text that no database keeps, far too much, nothing.
"""

import base64
import copy
import json
import time
from itertools import islice
from urllib.parse import quote

import pytest

from benchapp.records.exchange import PROTOCOL
from benchapp.reminders import push_settings
from benchapp.web.app import create_app
from tests.coded import qr
from tests.coded import written as written_picture
from tests.desk.filing import BODY as FILED
from tests.reminders.push_service import push_service
from tests.web.caller import bench

NOW_MS = time.time_ns() // 1_000_000


def stamp(count):
    return f"{NOW_MS:015d}.{count:04d}.phone"


def record(kind, id_, count, **values):
    fields = {name: {"value": each, "stamp": stamp(count)} for name, each in values.items()}
    fields["name"]["over"] = [stamp(0)]
    fields["name"]["past"] = [{"value": "before", "stamp": stamp(0)}]
    return {"kind": kind, "id": id_, "fields": fields}


SHEET = {
    **{"title": "Dune", "count": 6, "vessel": {"name": "tin"}, "jug": {}, "jugs": [{}]},
    **{"version": 2, "cure_least_days": 7, "sizes": [{"count": 6, "name": "tin"}]},
}
EXCHANGE = {
    "protocol": PROTOCOL,
    "era": None,
    "cursor": 0,
    "records": [
        record("wax", "w", 1, name="Dune", highest_load=0.1, trim_days=1, label_days=2),
        record("recipe", "r", 2, name="Dune", waxes=[{"wax": "w", "share": 1}], vessel="v"),
        record("workshop", "workshop", 3, name="", remind_at=540, time_zone="Europe/Lisbon"),
        record("pour", "p", 4, name="Dune", started_at=NOW_MS, sheet=SHEET),
        record(
            *("attachment", "p.0", 9),
            **{"name": "a.jpg", "of": ["pour", "p"], "what": "top", "sha256": "0" * 64},
            **{"bytes": 9, "type": "image/jpeg", "taken_at": NOW_MS, "small": "/9j/"},
        ),
    ],
    "events": [
        {"id": stamp(5), "of": ["pour", "p"], "type": "noted", "at": NOW_MS, "text": "smooth"},
        {
            **{"id": stamp(6), "of": ["pour", "p"], "type": "read", "at": NOW_MS, "by": "Phone"},
            **{"jug": 0, "temp_c": 71.5, "offset_ms": 12},
        },
        {"id": stamp(7), "of": ["pour", "p"], "type": "set", "at": NOW_MS, "on": "2026-11-25"},
        {
            **{"id": stamp(8), "of": ["pour", "p"], "type": "corrected", "at": NOW_MS},
            **{"event": stamp(6), "field": "temp_c", "value": 72},
        },
    ],
}
BELL = {"pour": "p", "jug": 0, "at_ms": NOW_MS + 600_000, "title": "Dune", "body": "In its window."}
SUBSCRIPTION = {
    "endpoint": "https://push.example/a",
    "keys": {"p256dh": "A" * 87, "auth": "A" * 22},
}

NET_CONTENT = {
    **{"law": "us", "weights_g": ["118.5", "119"], "step_g": "0.1", "of": 2, "stated_g": "118"},
    **{"marks": [1], "unit": "oz"},
    "panel": {"shape": "round", "diameter_mm": "70", "height_mm": "80"},
}
#: Its parts are spoilt one by one in tests/desk/test_hazard.py, without a server.
HAZARD = {"recipe": {"waxes": [{"wax": "w", "share": 1}]}, "sheets": [], "rules": "eu"}
LINES = {"rows": [{"name": "Linalool", "cas": "78-70-6", "share": "1 - 5"}], "text": None}
PICTURE = base64.b64encode(written_picture(qr("4RJ9-989V", scale=2))).decode()

LABEL = {
    "label": {
        **{"market": "eu", "languages": ["en"], "shape": "rect", "width_mm": 90, "height_mm": 60},
        **{"where": "wall", "package": {"volume_ml": 120}, "product": {"en": "Wet slate"}},
        **{"says": {"en": "Candle"}, "own": {}, "net": {"g": "120", "unit": "g"}, "burns_h": 28},
        "maker": {
            **{"name": "Salt Lane Candles", "address": ["3 Salt Lane"]},
            **{"electronic": "hello@saltlane.example", "telephone": ""},
        },
        **{"batch": "K7Q2-9XFM", "code": "qr", "hazard": None, "no_hazard": "no scent"},
        **{"cautions": "symbols", "ink": "#000000", "paper": "#ffffff", "logo": None},
        **{"way": "label", "second": None},
    },
    "print": {"piece": "label", "n": 1, "start": 1, "paper": {"way": "one"}},
}

BODIES = {
    "/api/pair": {"code": "7KQ4-M2XD", "name": "Android phone"},
    "/api/code": {},
    "/api/devices/<device_id>/revoke": {},
    "/api/devices/<device_id>/rename": {"name": "Shed"},
    "/api/exchange": EXCHANGE,
    "/api/table": {"Name": "Dune"},
    "/api/push": {"key": "THE KEY", "zone": "Europe/Lisbon", "subscription": SUBSCRIPTION},
    "/api/push/stop": {},
    "/api/push/test": {},
    "/api/zone": {"zone": "Europe/Lisbon"},
    "/api/bells": {"bells": [BELL]},
    "/api/calendar": {},
    "/api/calendar/<id_>/revoke": {},
    "/api/desk/netcontent": NET_CONTENT,
    "/api/desk/hazard": HAZARD,
    "/api/desk/sheet": LINES,
    "/api/desk/label": LABEL,
    "/api/desk/scan": {"image": PICTURE},
    "/api/desk/file": FILED,
    "/api/attachments/have": {"hashes": ["0" * 64, "f" * 64]},
    # Any bytes may be a piece.
    "/api/attachments/<sha256>": {"image": PICTURE},
}


class Raw:
    """A number as no program of ours writes it."""

    def __init__(self, text):
        self.text = text


ODD = [
    *(None, True, False, 0, -1, 0.5, 1e308, 2**53, 2**63, 10**30, -(10**15)),
    *(Raw("1e400"), Raw("-1e400"), Raw("NaN"), Raw("-0"), Raw("1E2"), Raw("1" + "0" * 400)),
    *("", "0", "1", "1e400", "NaN", "true", "\0", "a\0b", "\ud800", "\udfff\ud800", "\u202e", "😀"),
    *("constructor", "__proto__", "2026-02-30", "posixrules", "%s{0}{name}", "é" * 5000),
    *([], {}, [True], [None], [[]], {"": 0}, {"value": {}}, {"a\0": "\ud800"}, ["a"] * 2000),
    json.loads("[" * 8 + "]" * 8),
    json.loads("[" * 11 + "]" * 11),
    json.loads('{"a":' * 9 + "1" + "}" * 9),
]
REFUSED_WHOLE = (b"1e400", b"NaN", b"0" * 400, b"[" * 8, b'{"a": {"a"')
"""Where one of these is, it is no message: no JSON, or too deep."""
IDS = ["x", "\0", "a\0b", "..", ".", "'", "%", "é", "😀", "\x7f", "\n", "a" * 3000, " ", "<x>"]


def places(body, path=()):
    """The path of every part of a body, itself included."""
    yield path
    parts = body.items() if isinstance(body, dict) else enumerate(body)
    for key, value in parts if isinstance(body, (dict, list)) else ():
        if isinstance(value, (dict, list)):
            yield from places(value, (*path, key))
        else:
            yield (*path, key)


def written(body):
    """JSON, with the odd numbers as they are."""
    numbers = []

    def raw(value):
        numbers.append(value.text)
        return f"@{len(numbers) - 1}@"

    text = json.dumps(body, default=raw)
    for count, number in enumerate(numbers):
        text = text.replace(f'"@{count}@"', number)
    return text.encode()


def put(body, path, odd):
    """The body with one part of it replaced."""
    if not path:
        return odd
    spoilt = copy.deepcopy(body)
    holder = spoilt
    for key in path[:-1]:
        holder = holder[key]
    holder[path[-1]] = odd
    return spoilt


def without(body, path):
    """The body with one part of it missing."""
    spoilt = copy.deepcopy(body)
    holder = spoilt
    for key in path[:-1]:
        holder = holder[key]
    del holder[path[-1]]
    return spoilt


def spoilt_in_turn(body):
    """The body again and again, each time with another part spoilt."""
    for path in places(body):
        yield from (put(body, path, odd) for odd in ODD)
        if path:
            yield without(body, path)


@pytest.fixture(scope="module", params=["sqlite", "postgres"])
def running(request, tmp_path_factory):
    with push_service() as service:
        options = ["--contact", "bench@example.net"]
        if request.param == "postgres":
            options += ["--database", request.getfixturevalue("postgres").new_database()]
        environment = {
            push_settings.TRIAL: str(service.trial),
            "BENCHAPP_REQUESTS_A_MINUTE": "1000000",
        }
        data = tmp_path_factory.mktemp("data")
        with bench(data, *options, **environment) as started:
            yield started
        # Nor has the one stumbled that reckons reminders from what was kept.
        assert [line for line in started.said if '"level": "error"' in line] == []


@pytest.fixture(scope="module")
def here(running):
    """A paired device. Its code is the printed one: the records may lie in either database."""
    caller = running.caller()
    assert caller.pair(running.first_code()).status == 200
    return caller


@pytest.fixture(scope="module")
def key(here):
    return here.get("/api/push").json["key"]


def test_every_route_that_takes_something_is_tried(tmp_path):
    app = create_app(data_dir=tmp_path)
    app.extensions["database"].close()
    routes = {rule.rule for rule in app.url_map.iter_rules() if "POST" in rule.methods}
    assert routes == set(BODIES)


@pytest.mark.parametrize("route", sorted(BODIES))
def test_a_body_that_is_right_is_taken_or_refused_in_a_sentence(here, route):
    answered = here.post(route.replace("<device_id>", "x").replace("<id_>", "x"), BODIES[route])
    wanted = {"/api/exchange": 200, "/api/zone": 200, "/api/bells": 200}
    wanted |= {"/api/desk/netcontent": 200, "/api/desk/scan": 200}
    wanted |= {
        "/api/desk/file": 200,
        "/api/desk/hazard": 200,
        "/api/desk/sheet": 200,
        "/api/desk/label": 200,
    }
    assert answered.status == wanted.get(route, answered.status)
    if route == "/api/exchange":
        assert answered.json["refused"] == []
    assert answered.status < 500


@pytest.mark.parametrize("route", sorted(set(BODIES) - {"/api/exchange"}))
def test_whatever_stands_in_a_body_is_answered_with_what_to_do(request, here, key, route):
    # Which database it is matters where an id is looked up.
    every = 1 if "sqlite" in request.node.name or "<" in route else 5
    # Setting a label takes a fifth of a second; tests/desk/label tries what is odd in one.
    every *= {"/api/desk/label": 25, "/api/desk/file": 60}.get(route, 1)
    for count, each in enumerate(islice(spoilt_in_turn(BODIES[route]), 0, None, every)):
        id_ = quote(IDS[count % len(IDS)], "")
        path = route.replace("<device_id>", id_).replace("<id_>", id_)
        path = path.replace("<sha256>", f"{count % 256:064x}?at=0&of={2_000 if count % 2 else 9}")
        is_answered(here, path, written(each).replace(b"THE KEY", key.encode()))


def is_answered(here, path, body):
    answered = here.call("POST", path, raw=body)
    assert answered.status < 500, (path, body[:2000])
    assert answered.status != 401
    if answered.status >= 400:
        said = answered.json["error"]
        assert said[0] in "“" or said[0].isupper(), said
        assert said[-1] in ".”", said
    return answered


@pytest.mark.parametrize("name", [*EXCHANGE, "protocol"])
def test_whatever_stands_at_the_head_of_an_exchange(here, name):
    whole = EXCHANGE | {"records": EXCHANGE["records"][:1], "events": EXCHANGE["events"][:1]}
    for odd in ODD:
        is_answered(here, "/api/exchange", written(whole | {name: odd}))
    is_answered(here, "/api/exchange", written(without(whole, [name])))


@pytest.mark.parametrize("part", ["records", "events"])
def test_whatever_stands_in_an_exchange_is_refused_alone(here, part):
    """Many at once, which is quick; those of which the whole message is refused, one by one."""
    alone, together = [], []
    for right in EXCHANGE[part]:
        for each in spoilt_in_turn(right):
            text = written(each)
            is_alone = len(text) > 4000 or any(map(text.count, REFUSED_WHOLE))
            (alone if is_alone else together).append(each)
    for start in range(0, len(together), 500):
        some = together[start : start + 500]
        good = copy.deepcopy(EXCHANGE[part][0])
        good["id"] = f"good{start}" if part == "records" else stamp(1000 + start)
        answered = is_answered(
            here,
            "/api/exchange",
            written(EXCHANGE | {"records": [], "events": [], part: [*some, good]}),
        )
        assert answered.status == 200, answered.body
        refused = [each["id"] for each in answered.json["refused"]]
        assert refused
        assert good["id"] not in refused
    for each in alone[:: max(1, len(alone) // 60)]:
        is_answered(
            here, "/api/exchange", written(EXCHANGE | {"records": [], "events": [], part: [each]})
        )
