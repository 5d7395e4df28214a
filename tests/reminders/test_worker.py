"""From what phones send to what phones are told: through the real exchange, the real worker and a
real push service, in either database. The clock is set by hand.
"""

import json
import threading
import time
from collections import Counter
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import insert, select, update

from benchapp.records import tables
from benchapp.records.database import Database
from benchapp.records.devices import revoke
from benchapp.reminders import deliveries, due, notifications, planning, subscriptions
from benchapp.reminders.dispatch import Worker
from benchapp.reminders.notifications import Bell
from benchapp.reminders.push import Outcome, Sender
from benchapp.reminders.push_connection import Timeouts
from tests.reminders.conftest import CONTACT, KEY, Shop, ms
from tests.reminders.push_service import push_service

NAME = "Wet slate, 12 × tin 120"


def waiting(shop: Shop) -> set[tuple[str, str]]:
    """What is still to be sent: (kind, on)."""
    found = shop.rows(tables.reminder, "kind", "on", "waits_ms")
    return {(kind, on) for kind, on, waits_ms in found if waits_ms is not None}


# ---- when it is told ---------------------------------------------------------------------------


def test_each_reminder_of_a_batch_is_told_on_its_morning_and_once(shop: Shop) -> None:
    shop.phone()
    shop.pour("p1", "2026-11-25")
    shop.works()
    assert shop.told() == []
    shop.works("2026-11-26T08:59")
    assert shop.told() == []
    shop.works("2026-11-26T09:00")
    shop.works("2026-11-26T09:01")
    assert shop.titles() == [f"{NAME}: ready to trim"]
    shop.happens("p1", "finished")
    for day in ("2026-11-27T10:00", "2026-12-02T09:00", "2026-12-09T09:00", "2026-12-10T09:00"):
        shop.works(day)
    assert shop.titles()[1:] == [
        f"{NAME}: cured today",
        f"{NAME}: fully cured today",
        f"{NAME}: test burn due",
    ]


def test_the_message_as_push_service_and_phone_see_it(shop: Shop) -> None:
    """RFC 8030: TTL, Urgency, Topic; the shape of a declarative push message."""
    shop.phone()
    shop.pour("p1", "2026-11-25")
    shop.works()
    shop.works("2026-11-26T09:00")
    (push,) = shop.service.received
    assert (push.ttl, push.urgency, len(push.topic or "")) == (14 * 86_400, "normal", 32)
    assert "p1" not in (push.topic or "")
    assert len(push.data) < 1000
    assert json.loads(push.data) == {
        "web_push": 8030,
        "notification": {
            "title": f"{NAME}: ready to trim",
            "body": due.TELLS["trim"],
            "navigate": "https://bench.example.net/#/entry/p1",
            "tag": "pour p1",
            "data": {
                "pour": "p1",
                "name": NAME,
                "reminder": "trim",
                "day": "2026-11-26",
                "on": "2026-11-26",
            },
        },
        "app_badge": 1,
    }


def test_every_device_that_listens_is_told_and_no_other_workshop(shop: Shop) -> None:
    tablet, there = shop.phone("tablet")
    _, here = shop.phone("phone")
    shop.phone("laptop", listens=False)
    elsewhere = Shop(shop.database, shop.service, "2026-11-25T12:00")
    elsewhere.phone("stranger")
    elsewhere.sender.close()
    shop.pour("p1", "2026-11-25")
    shop.works()
    shop.works("2026-11-26T09:00")
    got = {push.subscriber for push in shop.service.received}
    assert got == {here, there}
    with shop.database.write() as connection:
        revoke(connection, shop.id, tablet.id, shop.now_ms)
    assert there.endpoint not in {each for (each,) in shop.rows(tables.subscription, "endpoint")}
    shop.works("2026-11-27T09:00")
    assert [push.subscriber for push in shop.service.received][2:] == [here]


def test_a_server_that_was_down_says_on_start_what_is_news_and_once(shop: Shop) -> None:
    shop.phone()
    shop.pour("p1", "2026-11-25")
    shop.happens("p1", "finished")
    shop.works()
    # Cured on 2 December, at its best on the 9th: one of them is news.
    shop.works("2026-12-09T18:00")
    shop.works("2026-12-09T18:01")
    assert shop.titles() == [f"{NAME}: fully cured today"]
    shop.works("2026-12-14T07:00")
    assert shop.titles()[1:] == [f"{NAME}: test burn due"]


def test_what_a_phone_brings_long_after_is_not_rung_for(shop: Shop) -> None:
    shop.phone()
    for number in range(30):
        shop.pour(f"old{number}", "2025-06-01")
        shop.happens(f"old{number}", "finished")
    # Cured yesterday, and the phone had no signal until now: that is still news.
    shop.pour("p1", "2026-11-17")
    shop.happens("p1", "finished")
    shop.works()
    assert shop.titles() == [f"{NAME}: cured since Tue 24 Nov"]


# ---- what moves it -----------------------------------------------------------------------------


def test_a_corrected_date_moves_it_and_it_is_told_again_only_if_later(shop: Shop) -> None:
    shop.phone()
    poured = shop.pour("p1", "2026-11-25")
    shop.happens("p1", "finished")
    shop.works()
    assert ("cured", "2026-12-02") in waiting(shop)
    shop.happens("p1", "corrected", event=poured, field="on", value="2026-11-24")
    shop.works()
    assert ("cured", "2026-12-01") in waiting(shop)
    shop.works("2026-12-01T09:00")
    shop.happens("p1", "corrected", event=poured, field="on", value="2026-11-23")
    shop.works("2026-12-01T10:00")
    assert shop.titles() == [f"{NAME}: cured today"]
    shop.happens("p1", "corrected", event=poured, field="on", value="2026-11-26")
    shop.works("2026-12-03T09:00")
    assert shop.titles() == [f"{NAME}: cured today"] * 2


def test_a_deleted_pour_and_an_undone_one_remind_of_nothing(shop: Shop) -> None:
    shop.phone()
    shop.pour("p1", "2026-11-25")
    poured = shop.pour("p2", "2026-11-25")
    shop.works()
    shop.keep("pour", "p1", deleted=True)
    shop.happens("p2", "undone", event=poured)
    shop.works("2026-11-26T09:00")
    assert shop.rows(tables.reminder) == []
    assert shop.told() == []


def test_done_on_one_device_is_done_on_all_also_when_on_its_way(shop: Shop) -> None:
    _, phone = shop.phone()
    shop.pour("p1", "2026-11-25")
    shop.service.answer(phone, 503)
    shop.works()
    shop.works("2026-11-26T09:00")
    shop.happens("p1", "seen_to", reminder="trim", on="2026-11-26")
    shop.happens("p1", "seen_to", reminder="label", on="2026-11-27")
    shop.works("2026-11-27T12:00")
    assert shop.told() == []
    assert shop.rows(tables.delivery) == []


def test_put_off_until_tomorrow_it_comes_tomorrow(shop: Shop) -> None:
    shop.phone()
    shop.pour("p1", "2026-11-18")
    shop.happens("p1", "finished")
    shop.works()
    shop.happens("p1", "put_off", reminder="cured", on="2026-11-25", until="2026-11-26")
    shop.works("2026-11-25T20:00")
    shop.works("2026-11-26T09:00")
    shop.works("2026-11-26T12:00")
    assert shop.titles() == [f"{NAME}: cured today"] * 2


@pytest.mark.parametrize(
    ("values", "told_at"),
    [
        ({"remind_at": 7 * 60, "quiet_to": 6 * 60}, "2026-11-26T07:00"),
        ({"remind_at": 7 * 60}, "2026-11-26T08:00"),
        ({"time_zone": "Asia/Tokyo"}, "2026-11-26T00:00"),
    ],
)
def test_other_settings_move_what_was_planned(shop: Shop, values: Any, told_at: str) -> None:
    shop.phone()
    shop.pour("p1", "2026-11-25")
    shop.works()
    shop.keep("workshop", "workshop", **values)
    shop.works()
    shop.now_ms = ms(told_at) - 60_000
    shop.works()
    assert shop.told() == []
    shop.works(told_at)
    assert shop.titles() == [f"{NAME}: ready to trim"]


def test_a_phone_in_another_zone_moves_what_was_planned_and_nothing_comes_twice(
    shop: Shop,
) -> None:
    shop.phone()
    shop.pour("p1", "2026-11-25")
    shop.works()
    shop.in_zone("Asia/Tokyo")
    shop.works("2026-11-26T00:00")
    shop.in_zone("America/St_Johns")
    shop.works("2026-11-26T13:00")
    assert shop.titles() == [f"{NAME}: ready to trim"]


def test_switched_off_and_on_again(shop: Shop) -> None:
    shop.phone()
    shop.pour("p1", "2026-11-25")
    off = {"remind_trim": "no", "remind_cure": "no", "remind_burn": "no"}
    shop.keep("workshop", "workshop", **off)
    shop.works()
    assert shop.rows(tables.reminder) == []
    shop.keep("workshop", "workshop", **dict.fromkeys(off, "yes"))
    shop.works()
    assert len(waiting(shop)) == 5


def test_a_thousand_changes_are_reckoned_page_by_page(shop: Shop) -> None:
    for number in range(420):
        shop.pour(f"p{number}", "2026-11-25")
    shop.works()
    assert len(shop.rows(tables.reminder)) == 5 * 420
    assert all(at is not None for (at,) in shop.rows(tables.reminder, "waits_ms"))


def test_workshops_take_turns_and_none_is_left(shop: Shop, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(planning, "PAGE", 1)
    shops = [shop, *(Shop(shop.database, shop.service, "2026-11-25T12:00") for _ in range(2))]
    for each in shops:
        for number in range(2):
            each.pour(f"p{number}", "2026-11-25")
    reckoned = [""]
    while not reckoned[1:] or reckoned[-1]:
        with shop.database.write() as connection:
            reckoned.append(planning.plan(connection, shop.now_ms, after=reckoned[-1]))
    ids = sorted(each.id for each in shops)
    # Of two pours each, page by page, and none before the others had their turn.
    assert reckoned[1:4] == ids
    assert {tuple(sorted(reckoned[at : at + 3])) for at in (1, 4)} == {tuple(ids)}
    assert len(shop.rows(tables.reminder)) == 3 * 2 * 5
    for each in shops[1:]:
        each.sender.close()


def test_an_odd_pour_keeps_no_other_waiting(shop: Shop) -> None:
    """Half a surrogate pair and a zero in a name, an event and a sheet that no exchange takes."""
    shop.phone()
    shop.pour("odd", "2026-11-25", title="Wet\ud83d slate\0")
    shop.pour("broken", "2026-11-25")
    event = {"id": shop.stamp(), "of": ["pour", "broken"], "type": "set"}
    with shop.database.write() as connection:
        of = {"workshop_id": shop.id, "of_kind": "pour", "of_id": "broken"}
        row = {**of, "id": event["id"], "seq": 5, "body": json.dumps(event)}
        connection.execute(insert(tables.event).values(row))
        kept = select(tables.record.c.fields).where(tables.record.c.id == "broken")
        fields = json.loads(connection.scalar(kept) or "")
        fields["sheet"]["value"]["vessel"] = "no vessel"
        connection.execute(
            update(tables.record)
            .where(tables.record.c.id == "broken")
            .values(fields=json.dumps(fields))
        )
    shop.pour("good", "2026-11-25")
    shop.works()
    assert {pour for (pour,) in shop.rows(tables.reminder, "pour")} == {"odd", "good"}
    shop.works("2026-11-26T09:00")
    assert sorted(shop.titles()) == [
        f"{NAME}: ready to trim",
        "Wet\ufffd slate\ufffd, 12 × tin 120: ready to trim",
    ]


# ---- the bench's bell --------------------------------------------------------------------------


def bell(at: str, jug: int = 0) -> Bell:
    return Bell("pour", "p1", jug, ms(at), "Wet slate: at temperature", "Dip to be sure.")


def test_a_bell_rings_its_own_device_unless_it_was_moved_or_cleared(shop: Shop) -> None:
    device, phone = shop.phone()
    shop.phone("tablet")
    with shop.database.write() as connection:
        notifications.set_bells(connection, device.id, [bell("2026-11-25T12:30")], shop.now_ms)
    with shop.database.write() as connection:
        moved = [bell("2026-11-25T12:40"), bell("2026-11-25T12:00")]
        notifications.set_bells(connection, device.id, moved, shop.now_ms)
    shop.works("2026-11-25T12:39")
    assert shop.told() == []
    shop.works("2026-11-25T12:40")
    (push,) = shop.service.received
    assert (push.subscriber, push.urgency, push.ttl) == (phone, "high", 600)
    said = json.loads(push.data)["notification"]
    assert said["navigate"] == "https://bench.example.net/#/pour/p1/0"
    with shop.database.write() as connection:
        notifications.set_bells(connection, device.id, [bell("2026-11-25T12:50")], shop.now_ms)
        notifications.set_bells(connection, device.id, [], shop.now_ms)
    shop.works("2026-11-25T13:00")
    assert len(shop.told()) == 1


def test_what_takes_too_many_octets_is_cut_and_keeps_nobody_waiting(shop: Shop) -> None:
    """An emoji is twelve octets of JSON, and a service takes 4096 in all (RFC 8030 section 7.2)."""
    device, _ = shop.phone()
    long = Bell("pour", "p1", 0, shop.now_ms + 60_000, "🕯" * 300, "🕯" * 300)
    with shop.database.write() as connection:
        notifications.set_bells(connection, device.id, [long], shop.now_ms)
    shop.pour("p1", "2026-11-25", title="🕯" * 200, vessel={"name": "\0" * 100})
    # Whatever is in the queue already.
    queued = {
        **{"about": "older", "device_id": device.id, "topic": "t", "urgency": "high"},
        **{"payload": "x" * 5000, "expires_ms": shop.now_ms + 86_400_000, "next_ms": 1},
    }
    with shop.database.write() as connection:
        deliveries.enqueue(connection, [queued])
    shop.works("2026-11-25T12:02")
    (told,) = shop.told()
    assert told["notification"]["title"] == "🕯" * 119 + "…"
    assert set(told["notification"]["body"]) == {"🕯", "…"}
    shop.works("2026-11-26T09:00")
    assert len(shop.told()) == 2
    assert shop.told()[1]["notification"]["data"]["reminder"] == "trim"
    states = dict(shop.rows(tables.delivery, "about", "state"))
    assert states.pop("older") == "failed"
    assert set(states.values()) == {"sent"}


def test_a_bell_that_comes_too_late_is_not_rung(shop: Shop) -> None:
    device, _ = shop.phone()
    with shop.database.write() as connection:
        notifications.set_bells(connection, device.id, [bell("2026-11-25T12:30")], shop.now_ms)
    shop.works("2026-11-25T12:41")
    assert shop.told() == []
    assert shop.rows(tables.delivery, "state") == [("failed",)]


# ---- what push services do ---------------------------------------------------------------------


def due_now(shop: Shop) -> None:
    shop.pour("p1", "2026-11-25")
    shop.works()
    shop.works("2026-11-26T09:00")


@pytest.mark.parametrize("status", [404, 410])
def test_a_device_that_is_gone_is_forgotten(shop: Shop, status: int) -> None:
    _, phone = shop.phone()
    shop.service.answer(phone, status)
    due_now(shop)
    assert shop.rows(tables.subscription) == []
    assert shop.rows(tables.delivery, "state", "next_ms") == [("dropped", None)]
    shop.works("2026-11-27T09:00")
    assert shop.told() == []


def test_a_service_that_names_a_wait_is_left_alone_until_then(shop: Shop) -> None:
    device, phone = shop.phone()
    shop.service.answer(phone, 429, headers={"Retry-After": "7200"})
    due_now(shop)
    shop.works("2026-11-26T10:59")
    assert shop.told() == []
    with shop.database.read() as connection:
        listening = subscriptions.status_of(connection, device.id)
    assert listening is not None
    assert "try again later" in (listening.trouble or "")
    shop.works("2026-11-26T11:00")
    assert len(shop.told()) == 1
    with shop.database.read() as connection:
        listening = subscriptions.status_of(connection, device.id)
    assert listening is not None
    assert (listening.trouble, listening.sent_ms) == (None, ms("2026-11-26T11:00"))


@pytest.mark.parametrize("how", [500, "cut"])
def test_a_service_in_trouble_is_tried_again_ever_more_slowly(shop: Shop, how: Any) -> None:
    _, phone = shop.phone()
    shop.service.answer(phone, how, times=3)
    due_now(shop)
    waits = []
    while not shop.told():
        ((at,),) = shop.rows(tables.delivery, "next_ms")
        waits.append(at - shop.now_ms)
        shop.now_ms = at
        shop.works()
    assert len(waits) == 3
    assert all(22_500 * 2**n <= wait <= 37_500 * 2**n for n, wait in enumerate(waits))
    with shop.database.read() as connection:
        counted = deliveries.counts(connection)
    assert counted == {"sent": 1, "failed": 0, "dropped": 0, "retried": 3}


def test_what_is_too_long_is_sent_shorter_once(shop: Shop) -> None:
    _, phone = shop.phone()
    shop.service.answer(phone, 413)
    due_now(shop)
    (told,) = shop.told()
    assert "body" not in told["notification"]
    assert told["notification"]["data"]["pour"] == "p1"


def test_what_is_refused_for_good_is_given_up_where_it_can_be_seen(shop: Shop) -> None:
    device, phone = shop.phone()
    shop.service.answer(phone, 403)
    due_now(shop)
    with shop.database.read() as connection:
        listening = subscriptions.status_of(connection, device.id)
    assert listening is not None
    assert "It was given up." in (listening.trouble or "")
    assert phone.endpoint.rpartition("/")[2] not in (listening.trouble or "")
    shop.works("2026-11-26T20:00")
    assert shop.told() == []


def test_what_waited_behind_others_until_its_claim_was_over_is_left_to_who_took_it_up(
    shop: Shop,
) -> None:
    class Slow(Sender):
        """Its first message takes longer than a claim is held, and others work meanwhile."""

        was_slow = False

        def send(self, *given: Any) -> Outcome:
            outcome = super().send(*given)
            if not self.was_slow:
                self.was_slow = True
                shop.now_ms += deliveries.LEASE_MS
                shop.works()
            return outcome

    shop.phone()
    for number in range(3):
        shop.pour(f"p{number}", "2026-11-25")
    shop.works()
    shop.at("2026-11-26T09:00")
    with Slow(KEY, CONTACT, trial=shop.service.trial) as slow:
        worker = Worker(shop.database, slow, KEY.public, lambda: shop.now_ms, senders=1)
        with worker:
            worker.once()
    told = Counter(each["notification"]["data"]["pour"] for each in shop.told())
    assert sorted(told.values()) == [1, 1, 2]
    assert set(shop.rows(tables.delivery, "state", "claim")) == {("sent", None)}


def test_a_service_that_never_answers_holds_up_no_other(tmp_path: Path) -> None:
    """Eight phones of it, and a ninth of another, whose message was the last in the queue."""
    database = Database(f"sqlite:///{tmp_path / 'bench.sqlite3'}")
    with push_service(names=["silent.test", "other.test"]) as service:
        shop = Shop(database, service, "2026-11-25T12:00")
        silent = [shop.phone(f"phone {number}")[1] for number in range(8)]
        for each in silent:
            service.answer(each, "silence")
        good, there = shop.phone("good", listens=False)
        there = service.subscribe(KEY.public, "other.test")
        with database.write() as connection:
            shop.listen(good, there, connection)
        shop.pour("p1", "2026-11-25")
        shop.works()
        shop.at("2026-11-26T09:00")
        timeouts = Timeouts(read_s=3)
        with Sender(KEY, CONTACT, trial=service.trial, timeouts=timeouts) as sender:
            stop = threading.Event()
            worker = Worker(database, sender, KEY.public, lambda: shop.now_ms)
            running = threading.Thread(target=worker.run, args=(stop,))
            begun = time.monotonic()
            with worker:
                running.start()
                service.wait(1)
                took_s = time.monotonic() - begun
                stop.set()
                running.join()
        assert service.received[0].subscriber is there
        assert took_s < 2.5
        # What was not begun by then is there to be sent.
        states = Counter(state for (state,) in shop.rows(tables.delivery, "state"))
        assert states == {"sent": 1, "waiting": 8}
        shop.sender.close()
    database.close()


def test_what_waited_too_long_to_be_begun_is_claimed_anew(shop: Shop) -> None:
    shop.phone()
    shop.pour("p1", "2026-11-25")
    shop.works()
    shop.at("2026-11-26T09:00")
    # Too late at first, in time when it is taken up again.
    late = iter([deliveries.LEASE_MS, 0])

    def clock() -> int:
        is_sender = threading.current_thread() is not threading.main_thread()
        return shop.now_ms + (next(late, 0) if is_sender else 0)

    with Worker(shop.database, shop.sender, KEY.public, clock) as worker:
        worker.once()
    assert list(late) == []
    assert len(shop.told()) == 1
    assert shop.rows(tables.delivery, "state", "tries") == [("sent", 1)]


def test_tried_until_the_reminder_is_of_no_use(shop: Shop) -> None:
    _, phone = shop.phone()
    shop.service.answer(phone, 500, times=100)
    shop.pour("p1", "2026-11-25", cure_least_days=1, cure_best_days=1, burn_days=None)
    shop.happens("p1", "finished")
    shop.works()
    shop.works("2026-11-26T09:00")
    tries = 1
    while (rows := shop.rows(tables.delivery, "next_ms", "state", "tries"))[0][0] is not None:
        shop.now_ms = rows[0][0]
        shop.works()
        tries += 1
    assert (rows[0][1], rows[0][2]) == ("failed", tries)
    assert tries == deliveries.MOST_TRIES
    assert shop.now_ms - ms("2026-11-26T09:00") > 6 * 86_400_000


def test_what_is_for_another_key_waits_for_the_server_that_has_it(shop: Shop) -> None:
    """Two servers of the same records may have a data directory each, and so a key each."""
    device, phone = shop.phone()
    with shop.database.write() as connection:
        subscriptions.subscribe(
            connection,
            device,
            endpoint=phone.endpoint,
            p256dh=phone.p256dh,
            auth=phone.auth,
            app_key="another",
            origin="https://bench.example.net",
            now_ms=shop.now_ms,
        )
    due_now(shop)
    assert shop.told() == []
    assert shop.rows(tables.delivery, "state", "tries") == [("waiting", 0)]
    with shop.database.read() as connection:
        # Nor is it looked at again and again.
        assert not deliveries.is_due(connection, shop.now_ms, KEY.public)
        assert deliveries.is_due(connection, shop.now_ms, "another")
    with shop.database.write() as connection:
        (parcel,) = deliveries.claim(connection, shop.now_ms, "another", most=9)
        deliveries.settle(connection, [(parcel, Outcome("sent", 201, "Taken."))], shop.now_ms)
    assert shop.rows(tables.delivery, "state") == [("sent",)]


def test_what_is_for_a_key_that_nobody_has_is_over_when_it_is_too_late(shop: Shop) -> None:
    shop.phone()
    shop.pour("p1", "2026-11-25")
    shop.works()
    with shop.database.write() as connection:
        connection.execute(update(tables.subscription).values(app_key="lost"))
    shop.works("2026-11-26T09:00")
    assert shop.rows(tables.delivery, "state") == [("waiting",)]
    shop.works("2026-12-10T09:01")
    states = dict(shop.rows(tables.delivery, "about", "state"))
    assert states.pop("p1 trim 2026-11-26") == "failed"
    assert set(states.values()) == {"waiting"}
    assert shop.told() == []


def test_one_endpoint_is_of_one_device_and_a_device_has_one(shop: Shop) -> None:
    _, phone = shop.phone()
    after, _ = shop.phone("the same phone, paired anew")
    with shop.database.write() as connection:
        shop.listen(after, phone, connection)
    assert shop.rows(tables.subscription, "device_id", "endpoint") == [(after.id, phone.endpoint)]
    with shop.database.write() as connection:
        subscriptions.unsubscribe(connection, after.id)
    assert shop.rows(tables.subscription) == []


def test_old_messages_are_forgotten(shop: Shop) -> None:
    shop.phone()
    due_now(shop)
    assert len(shop.rows(tables.delivery)) == 1
    with shop.database.write() as connection:
        assert deliveries.prune(connection, shop.now_ms + deliveries.KEPT_MS) == 0
        assert deliveries.prune(connection, shop.now_ms + deliveries.KEPT_MS + 1) == 1
