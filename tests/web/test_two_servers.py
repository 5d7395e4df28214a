"""Two servers at one PostgreSQL, each with a data directory and a push key of its own, and three
phones that go from one to the other and all change the same things: nobody loses anything, wrong
codes are counted together, and each reminder comes once.
"""

import json
import random
import threading
from collections import Counter
from collections.abc import Iterator
from typing import Any

import pytest

from benchapp.records import pairing_codes
from benchapp.records.merge import versions
from benchapp.reminders import push_settings
from tests.reminders.conftest import sheet
from tests.reminders.push_service import PushService, Subscriber, push_service
from tests.server import serving
from tests.waits import until
from tests.web.caller import Caller
from tests.web.wire import Phone, all_at_once, invite, join

POURS = 12
TURNS = 12


@pytest.fixture(scope="module")
def service() -> Iterator[PushService]:
    with push_service() as started:
        yield started


@pytest.fixture(scope="module")
def urls(
    tmp_path_factory: pytest.TempPathFactory, postgres: Any, service: PushService
) -> Iterator[tuple[str, str, str]]:
    """Where both are found, and the code that the first one prints."""
    data = tmp_path_factory.mktemp("data")
    options = ["--contact", "bench@example.net", "--database", postgres.new_database()]
    environment = {
        push_settings.TRIAL: str(service.trial),
        push_settings.DEVELOPER_DAY: "1",
        "BENCHAPP_REQUESTS_A_MINUTE": "1000000",
    }
    with (
        serving(data / "one", *options, environment=environment) as one,
        serving(data / "two", *options, environment=environment) as two,
    ):
        yield one.url, two.url, one.first_code()
        assert not [line for line in (*one.said, *two.said) if '"level": "error"' in line]


def listen(phone: Phone, service: PushService) -> Subscriber:
    """Subscribe at the server that the phone talks to."""
    key = phone.caller.get("/api/push").json["key"]
    subscriber = service.subscribe(key)
    keys = {"p256dh": subscriber.p256dh, "auth": subscriber.auth}
    told = {"endpoint": subscriber.endpoint, "expirationTime": None, "keys": keys}
    body = {"subscription": told, "key": key, "zone": "Europe/Lisbon"}
    assert phone.caller.post("/api/push", body).status == 200
    return subscriber


def go_to(phone: Phone, url: str) -> None:
    phone.caller.url = url
    phone.caller.token = phone.caller.get("/api/me").json["csrf"]


def test_three_phones_at_two_servers_lose_nothing_and_are_told_once(
    urls: tuple[str, str, str], service: PushService
) -> None:
    one, two, code = urls
    first = join(one, code, "a")
    phones = [first, invite(first, "b"), invite(first, "c")]
    go_to(phones[1], two)
    subscribers = [listen(phone, service) for phone in phones]
    # Only 'cured' is told, so that no later one takes the place of an earlier.
    first.save("workshop", "workshop", name="workshop", remind_trim="no", remind_burn="no")
    first.exchange_all()
    at_once = threading.Barrier(len(phones))

    def work(phone: Phone) -> None:
        chance = random.Random(phone.name)
        at_once.wait()
        for turn in range(TURNS):
            go_to(phone, chance.choice([one, two]))
            tag = f"{phone.name}-{turn}"
            phone.save("wax", "shared", name=tag, notes=tag)
            phone.save("wax", f"own-{phone.name}", name=tag)
            phone.note("p0", tag)
            # All three begin the same pours, and put them to set.
            pour = f"p{turn % POURS}"
            whole = sheet(cure_least_days=1, cure_best_days=1, title=pour)
            phone.save("pour", pour, name=pour, sheet=whole, started_at=1)
            phone.happen(pour, "set", on="2026-11-25")
            assert phone.exchange().status == 200

    all_at_once(phones, work)
    for phone in (*phones, *phones):
        phone.exchange_all()
        assert not phone.refused
    assert len({phone.state() for phone in phones}) == 1
    told = Counter(event["text"] for event in first.events.values() if event["type"] == "noted")
    wanted = {f"{phone.name}-{turn}" for phone in phones for turn in range(TURNS)}
    assert told == Counter(wanted)
    assert {each["value"] for each in versions(first.records["wax", "shared"]["name"])} == wanted

    pours = {f"p{number}" for number in range(POURS)}
    every = Counter({(id(each), pour): 1 for each in subscribers for pour in pours})
    until(lambda: set(got(service)) >= set(every))
    assert got(service) == every
    assert service.problems == []


def got(service: PushService) -> Counter[tuple[int, str]]:
    """What was received, by whom and of which pour."""
    return Counter(
        (id(push.subscriber), json.loads(push.data)["notification"]["data"]["pour"])
        for push in list(service.received)
    )


def test_wrong_codes_are_counted_together(urls: tuple[str, str, str]) -> None:
    one, two, _ = urls
    found = []
    for count in range(pairing_codes.MOST_WRONG_FROM_ONE + 2):
        caller = Caller((one, two)[count % 2])
        caller.open()
        found.append(caller.pair("AAAA-AAAA").status)
    assert found == [400] * pairing_codes.MOST_WRONG_FROM_ONE + [429] * 2
