"""The queue of messages to devices: each is claimed by one worker, sent, and done with.

| state   | means                                                              |
|---------|--------------------------------------------------------------------|
| waiting | to be sent at ``next_ms``, or taken up again then                  |
| sent    | the push service has it                                            |
| failed  | given up: refused for good, or tried for too long                  |
| dropped | the device listens no more                                         |

A worker claims a message by putting its ``next_ms`` off: should the worker be killed, another
takes it up once that is over, so each is sent at least once. What it tells is named by ``about``,
and the same is never told to one device twice, but for a worker that was killed between sending and
writing so down. `notifications` makes the messages.
"""

import json
import random
import secrets
from collections import Counter, defaultdict
from collections.abc import Collection
from dataclasses import dataclass
from typing import Any

from sqlalchemy import ColumnElement, Connection, Row, delete, func, or_, select, update
from sqlalchemy.dialects import postgresql, sqlite

from benchapp.records import tables
from benchapp.reminders.push import Message, Outcome, Target
from benchapp.words import InputError, t

LEASE_MS = 120_000
"""How long a worker may hold a claim."""
LAST_MS = 30_000
"""With less of it left nothing is begun: the sending and the writing down take shorter."""

FIRST_WAIT_MS = 30_000
LONGEST_WAIT_MS = 6 * 3_600_000
MOST_TRIES = 40
"""With the longest wait between them, more than a week."""

KEPT_MS = 60 * 86_400_000
"""Messages that are over are forgotten after this long."""


@dataclass(frozen=True)
class Parcel:
    """A claimed message, where it goes, and until when it is claimed."""

    id: str
    claim: str
    device_id: str
    tries: int
    expires_ms: int
    lease_ms: int
    target: Target
    message: Message
    payload: str


# ---- in and out of the queue --------------------------------------------------------------------


def enqueue(connection: Connection, made: list[dict[str, Any]]) -> None:
    """Add messages, but for what was told to that device already."""
    if not made:
        return
    rows = [{"id": secrets.token_hex(8), "tries": 0, "state": "waiting", **each} for each in made]
    inserted = (sqlite if connection.dialect.name == "sqlite" else postgresql).insert
    connection.execute(inserted(tables.delivery).on_conflict_do_nothing(), rows)


def is_due(connection: Connection, now_ms: int, app_key: str) -> bool:
    """Whether a message is due that a server with this key can take, or see off."""
    first = connection.scalar(select(func.min(tables.delivery.c.next_ms)))
    if first is None or first > now_ms:
        return False
    asked = select(tables.delivery.c.id).select_from(_WITH_LISTENER)
    found = connection.execute(asked.where(*_ours(now_ms, app_key)).limit(1))
    return found.first() is not None


_WITH_LISTENER = tables.delivery.join(
    tables.device, tables.device.c.id == tables.delivery.c.device_id
).outerjoin(tables.subscription, tables.subscription.c.device_id == tables.delivery.c.device_id)


def _ours(now_ms: int, app_key: str) -> tuple[ColumnElement[bool], ...]:
    """What a server with this key takes in hand: another server of the same records may have a key
    of its own, and the phones that listen for that are told by it."""
    delivery, subscription, device = tables.delivery, tables.subscription, tables.device
    return (
        delivery.c.next_ms <= now_ms,
        or_(
            subscription.c.app_key == app_key,
            subscription.c.app_key.is_(None),
            device.c.revoked_ms.is_not(None),
            delivery.c.expires_ms <= now_ms,
        ),
    )


def claim(connection: Connection, now_ms: int, app_key: str, *, most: int) -> list[Parcel]:
    """Take messages that are due, the oldest first, for one worker: nobody else gets them.

    Those that are too late, or whose device listens no more, are over. Those for another key wait
    for the server that has it, until they are too late.
    """
    delivery, subscription, device = tables.delivery, tables.subscription, tables.device
    rows = connection.execute(
        select(
            delivery,
            subscription.c.endpoint,
            subscription.c.p256dh,
            subscription.c.auth,
            device.c.revoked_ms,
        )
        .select_from(_WITH_LISTENER)
        .where(*_ours(now_ms, app_key))
        .order_by(delivery.c.next_ms)
        .limit(most)
        .with_for_update(of=delivery, skip_locked=True)
    ).all()
    mark = secrets.token_hex(8)
    taken, counted = [], Counter[str]()
    for row in rows:
        if row.endpoint is None or row.revoked_ms is not None:
            _end(connection, row.id, "dropped", now_ms)
            counted["dropped"] += 1
        elif row.expires_ms <= now_ms:
            _end(connection, row.id, "failed", now_ms)
            counted["failed"] += 1
        else:
            try:
                taken.append(_parcel(row, mark, now_ms))
            except InputError:
                # No service takes it, and it must not keep the others waiting.
                _end(connection, row.id, "failed", now_ms)
                counted["failed"] += 1
    if taken:
        connection.execute(
            update(delivery)
            .where(delivery.c.id.in_([parcel.id for parcel in taken]))
            .values(claim=mark, next_ms=now_ms + LEASE_MS, tries=delivery.c.tries + 1)
        )
    count(connection, counted)
    return taken


def _parcel(row: Row[Any], mark: str, now_ms: int) -> Parcel:
    message = Message(
        payload=row.payload.encode(),
        ttl_s=max(1, (row.expires_ms - now_ms) // 1000),
        urgency=row.urgency,
        topic=row.topic,
    )
    return Parcel(
        row.id,
        mark,
        row.device_id,
        row.tries + 1,
        row.expires_ms,
        now_ms + LEASE_MS,
        Target(row.endpoint, row.p256dh, row.auth),
        message,
        row.payload,
    )


def settle(
    connection: Connection, done: Collection[tuple[Parcel, Outcome | None]], now_ms: int
) -> None:
    """Write down what became of claimed messages, but for those that another worker has taken up
    since. None: it was not begun."""
    subscription = tables.subscription
    # In one order, so that no two workers wait for each other.
    connection.execute(
        select(subscription.c.device_id)
        .where(subscription.c.device_id.in_({parcel.device_id for parcel, _ in done}))
        .order_by(subscription.c.device_id)
        .with_for_update()
    ).all()
    counted = Counter[str]()
    sent: dict[int | None, list[Parcel]] = defaultdict(list)
    for parcel, outcome in done:
        if outcome is None:
            _change(connection, [parcel], next_ms=now_ms, tries=parcel.tries - 1)
        elif outcome.kind == "sent":
            sent[outcome.status].append(parcel)
        else:
            counted.update(_settle_trouble(connection, parcel, outcome, now_ms))
    for status, parcels in sent.items():
        counted["sent"] += _change(connection, parcels, **_over("sent", status, now_ms))
        values = {"sent_ms": now_ms, "trouble": None, "trouble_ms": None}
        connection.execute(update(subscription).where(_where_of(parcels)).values(values))
    count(connection, counted)


def _settle_trouble(
    connection: Connection, parcel: Parcel, outcome: Outcome, now_ms: int
) -> Counter[str]:
    """Write down what became of a message that was not taken; how it is counted."""
    status = outcome.status
    if outcome.kind == "retry" and (wait_ms := _wait_ms(parcel, outcome, now_ms)) is not None:
        _tell_trouble(connection, parcel, outcome.why, now_ms)
        retried = _change(connection, [parcel], next_ms=now_ms + wait_ms, status=status)
        return Counter(retried=retried)
    if outcome.kind == "too long" and (shorter := _shorter(parcel)) is not None:
        retried = _change(connection, [parcel], next_ms=now_ms, payload=shorter, status=status)
        return Counter(retried=retried)
    if outcome.kind == "gone":
        connection.execute(delete(tables.subscription).where(_where_of([parcel])))
        state = "dropped"
    else:
        _tell_trouble(connection, parcel, t("{why} It was given up.", why=outcome.why), now_ms)
        state = "failed"
    return Counter({state: _change(connection, [parcel], **_over(state, status, now_ms))})


def _change(connection: Connection, parcels: list[Parcel], **values: Any) -> int:
    """Give messages back, changed so; how many were still ours."""
    delivery = tables.delivery
    return connection.execute(
        update(delivery)
        .where(
            delivery.c.id.in_([parcel.id for parcel in parcels]),
            delivery.c.claim.in_({parcel.claim for parcel in parcels}),
        )
        .values(claim=None, **values)
    ).rowcount


def _over(state: str, status: int | None, now_ms: int) -> dict[str, Any]:
    return {"state": state, "next_ms": None, "over_ms": now_ms, "status": status}


def _end(connection: Connection, id_: str, state: str, now_ms: int) -> None:
    delivery = tables.delivery
    connection.execute(
        update(delivery)
        .where(delivery.c.id == id_)
        .values(claim=None, **_over(state, None, now_ms))
    )


def _wait_ms(parcel: Parcel, outcome: Outcome, now_ms: int) -> int | None:
    """How long until it is tried again, or None: it is given up."""
    if parcel.tries >= MOST_TRIES:
        return None
    wait_ms = min(LONGEST_WAIT_MS, FIRST_WAIT_MS * 2 ** (parcel.tries - 1))
    # Not all at once, when a service is back.
    wait_ms = round(wait_ms * random.uniform(0.75, 1.25))  # noqa: S311
    if outcome.retry_after_s is not None:
        wait_ms = max(wait_ms if outcome.status != 429 else 0, round(outcome.retry_after_s * 1000))
    return wait_ms if now_ms + wait_ms < parcel.expires_ms else None


def _shorter(parcel: Parcel) -> str | None:
    """The message without what can be left out, or None where it was left out already."""
    whole = json.loads(parcel.payload)
    if "body" not in whole["notification"]:
        return None
    shown = {name: each for name, each in whole["notification"].items() if name != "body"}
    return json.dumps({**whole, "notification": {**shown, "title": shown["title"][:60]}})


def _tell_trouble(connection: Connection, parcel: Parcel, why: str, now_ms: int) -> None:
    connection.execute(
        update(tables.subscription)
        .where(_where_of([parcel]))
        .values(trouble=why, trouble_ms=now_ms)
    )


def _where_of(parcels: list[Parcel]) -> ColumnElement[bool]:
    """The subscriptions that messages went to: a device may have subscribed afresh since."""
    return tables.subscription.c.endpoint.in_({parcel.target.endpoint for parcel in parcels})


# ---- looking after them ------------------------------------------------------------------------


def count(connection: Connection, counted: Counter[str]) -> None:
    """Add to the counts of what was sent, failed, dropped, retried."""
    tally = tables.tally
    # In one order, so that no two workers wait for each other.
    for name in sorted(counted):
        connection.execute(
            update(tally).where(tally.c.name == name).values(count=tally.c.count + counted[name])
        )


def counts(connection: Connection) -> dict[str, int]:
    """How many messages were sent, failed, dropped, tried again, since the database was made."""
    rows = connection.execute(select(tables.tally.c.name, tables.tally.c.count))
    return {name: number for name, number in rows}  # noqa: C416  (rows are no pairs to mypy)


def prune(connection: Connection, now_ms: int) -> int:
    """Forget messages that were over long ago; how many."""
    delivery = tables.delivery
    return connection.execute(
        delete(delivery).where(delivery.c.over_ms < now_ms - KEPT_MS)
    ).rowcount
