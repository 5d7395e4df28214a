"""Messages to phones: settings, who listens, what waits and fails, whether a service answers."""

import socket
from ipaddress import ip_address
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import update

from benchapp.commands.checks import push
from benchapp.commands.checks.finding import Finding
from benchapp.records import tables
from benchapp.reminders import notifications, push_connection, push_settings
from benchapp.reminders.push_address import Trial, check_endpoint
from benchapp.reminders.push_connection import Timeouts
from benchapp.reminders.push_settings import PushSettings
from tests.commands.workshop import NOW_MS, using
from tests.reminders.conftest import CONTACT, KEY, Shop, ms
from tests.reminders.push_service import NAME, PushService, make_certificates


def test_a_contact_given_missing_or_none(data: Path) -> None:
    given = push.settings(data, "you@example.net", ())
    assert isinstance(given, PushSettings)
    assert (given.contact, given.app_key) == ("mailto:you@example.net", KEY.public)
    assert push.contact_given(given).state == "ok"
    without = push.contact_given(using(contact=""))
    assert without.state == "look"
    assert without.says.startswith(push_settings.WHY_NOT)
    for contact, allow in (("nobody", ()), (CONTACT, ["no host"])):
        bad = push.settings(data, contact, allow)
        assert isinstance(bad, Finding)
        assert bad.state == "bad"


def test_no_key_is_made_by_looking(tmp_path: Path) -> None:
    assert isinstance(push.settings(tmp_path, CONTACT, ()), PushSettings)
    assert list(tmp_path.iterdir()) == []


def test_which_push_services_may_be_used() -> None:
    assert "all of them" in push.services(using()).says
    assert (
        "push.test and push.example"
        in push.services(using(allow=["push.test", "push.example"])).says
    )


def test_a_server_set_up_for_tests_is_bad(service: PushService) -> None:
    assert list(push.for_tests(using())) == []
    found = list(push.for_tests(using(service, day_ms=20_000)))
    assert [each.state for each in found] == ["bad", "bad"]
    assert all(each.says.startswith("NOT FOR USE: ") for each in found)
    assert push_settings.TRIAL in found[0].says
    assert push_settings.DEVELOPER_DAY in found[1].says


SUBSCRIBED = {
    "name": "Bench phone",
    "endpoint": "https://push.example.net/send/s3cr3t-path?t=s3cr3t",
    "app_key": KEY.public,
    "sent_ms": None,
    "trouble": None,
    "trouble_ms": None,
}


@pytest.mark.parametrize(
    ("given", "state", "said"),
    [
        ({}, "ok", "Bench phone, by push.example.net: nothing sent yet."),
        ({"sent_ms": NOW_MS}, "ok", "last sent 2026-11-25 12:00 UTC."),
        ({"trouble": "It is busy.", "trouble_ms": NOW_MS}, "look", "It is busy. (2026-11-25 12"),
        ({"app_key": "another"}, "bad", "listens for another key"),
        ({"endpoint": "https://other.example/s3cr3t"}, "bad", "--push-service other.example"),
        ({"endpoint": "http://push.example.net/s3cr3t"}, "bad", "it gets no reminders"),
    ],
)
def test_a_phone_that_listens(given: dict[str, Any], state: str, said: str) -> None:
    found = push.phone(SUBSCRIBED | given, using(allow=["push.example.net"]))
    assert found.state == state
    assert said in found.says
    assert "s3cr3t" not in found.says


def test_phones_are_told_one_by_one_and_revoked_ones_are_not(shed: Shop) -> None:
    def found() -> list[str]:
        with shed.database.read() as connection:
            return [each.says.partition(",")[0] for each in push.phones(connection, using())]

    assert found() == ["No phone listens yet. Switch reminders on"]
    shed.phone("tablet")
    shed.now_ms += 1
    lost, _ = shed.phone("lost")
    shed.phone("laptop", listens=False)
    assert found() == ["tablet", "lost"]
    with shed.database.write() as connection:
        # As a backup may bring it: when a device is revoked here, its subscription goes.
        device = tables.device
        connection.execute(update(device).where(device.c.id == lost.id).values(revoked_ms=NOW_MS))
    assert found() == ["tablet"]


def test_what_phones_sent_and_nobody_reckoned(shed: Shop) -> None:
    def found(now: str) -> str:
        with shed.database.read() as connection:
            return push.reckoned(connection, ms(now)).state

    shed.phone()
    shed.works()
    shed.pour("p1", "2026-11-25")
    assert found("2026-11-25T12:09") == "ok"
    assert found("2026-11-25T12:10") == "look"
    shed.works()
    assert found("2026-11-25T12:10") == "ok"


def test_what_waits_too_long(shop: Shop) -> None:
    def found(now: str, *, sends: bool = True) -> Finding:
        with shop.database.read() as connection:
            return push.overdue(connection, ms(now), sends=sends)

    shop.in_zone("Europe/Lisbon")
    shop.phone()
    shop.pour("p1", "2026-11-25")
    shop.works()
    assert found("2026-11-26T09:09").state == "ok"
    late = found("2026-11-26T09:10")
    assert late.state == "bad"
    assert late.says.startswith("1 is more than 10 minutes late: is benchapp serve")
    assert found("2026-11-26T09:10", sends=False).state == "look"
    shop.works("2026-11-26T09:10")
    assert found("2026-11-26T09:30").state == "ok"


def test_messages_that_fail_and_are_tried_again(shop: Shop) -> None:
    def found(check: Any, *given: Any, **named: Any) -> Finding:
        with shop.database.read() as connection:
            return check(connection, *given, **named)

    shop.in_zone("Europe/Lisbon")
    device, one = shop.phone("one")
    _, two = shop.phone("two")
    assert found(push.messages, shop.now_ms).state == "ok"
    shop.service.answer(one, 503)
    shop.service.answer(two, 400)
    shop.pour("p1", "2026-11-25")
    shop.works()
    shop.works("2026-11-26T09:00")
    now = found(push.messages, shop.now_ms)
    assert now.state == "look"
    assert now.says.startswith("In the last 14 days 1 failed, and 1 is tried again.")
    assert found(push.overdue, ms("2026-11-26T09:12"), sends=True).state == "bad"
    shop.works("2026-11-26T09:01")
    with shop.database.write() as connection:
        # One that waits for its first time is no trouble.
        notifications.send_trial(connection, device.id, shop.now_ms)
    assert found(push.messages, shop.now_ms).says.startswith("In the last 14 days 1 failed, and n")
    assert found(push.messages, ms("2026-12-10T09:01")).state == "ok"
    assert found(push.counted).says == (
        "Since the database was made: 1 sent, 1 failed, 0 dropped as nobody listened, "
        "1 tried again."
    )


SHORT = Timeouts(connect_s=0.3, read_s=0.3, total_s=0.5)


def test_a_push_service_that_answers(service: PushService) -> None:
    found = push.answers(check_endpoint(f"https://{NAME}/s3cr3t"), service.trial)
    assert found == Finding("ok", "reach", f"{NAME} answers, and its certificate is good.")
    wrong = push.answers(check_endpoint("https://other.example/s3cr3t"), service.trial)
    assert wrong.state == "bad"
    assert "There is no safe connection to other.example" in wrong.says


def test_a_push_service_of_another_authority(service: PushService, tmp_path: Path) -> None:
    stranger, _ = make_certificates(tmp_path, [NAME])
    trial = Trial("127.0.0.1", service.port, stranger)
    found = push.answers(check_endpoint(f"https://{NAME}/s3cr3t"), trial)
    assert found.state == "bad"
    assert "There is no safe connection" in found.says


def test_a_push_service_that_is_away_or_silent(service: PushService) -> None:
    with socket.create_server(("127.0.0.1", 0)) as silent:
        port = silent.getsockname()[1]
        trial = Trial("127.0.0.1", port, service.trial.ca_file)
        endpoint = check_endpoint(f"https://{NAME}/s3cr3t")
        assert "did not answer in time" in push.answers(endpoint, trial, SHORT).says
    away = push.answers(endpoint, trial, SHORT)
    assert (away.state, away.says) == ("bad", f"{NAME} could not be reached.")


def test_an_address_that_is_not_public_is_not_asked(
    service: PushService, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(push_connection, "resolve", lambda *_: [ip_address("127.0.0.1")])
    before = service.connections
    found = push.answers(check_endpoint(f"https://{NAME}:{service.port}/s3cr3t"), None)
    assert found.state == "bad"
    assert "not public" in found.says
    assert service.connections == before
