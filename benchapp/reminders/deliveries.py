"""Messages on their way: made when a reminder falls due, claimed by one worker, sent, done with.

| state   | means                                                              |
|---------|--------------------------------------------------------------------|
| waiting | to be sent at ``next_ms``, or taken up again then                  |
| sent    | the push service has it                                            |
| failed  | given up: refused for good, or tried for too long                  |
| dropped | the device listens no more                                         |

A message is claimed by putting its ``next_ms`` off: should the worker be killed, another takes it
up once that is over, so each is sent at least once. What it tells is named by ``about``, and the
same is never told to one device twice, but for a worker that was killed between sending and writing
so down.
"""

import base64
import hashlib
import json
import random
import secrets
from collections import Counter, defaultdict
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import (
    ColumnElement,
    Connection,
    Row,
    RowMapping,
    bindparam,
    delete,
    func,
    select,
    update,
)
from sqlalchemy.dialects import postgresql, sqlite

from benchapp.records import tables
from benchapp.reminders import due
from benchapp.reminders.planning import USUAL_ZONE, about
from benchapp.reminders.push import Message, Outcome, Target
from benchapp.words import t

REMINDER_LIFE_MS = 14 * 86_400_000
"""How long a push service keeps a reminder for a phone that is off."""
BELL_LIFE_MS = 10 * 60_000
"""After that a bell is of no use."""

LEASE_MS = 120_000
"""How long a worker may hold a claim."""
LAST_MS = 30_000
"""With less of it left nothing is begun: the sending and the writing down take shorter."""

FIRST_WAIT_MS = 30_000
LONGEST_WAIT_MS = 6 * 3_600_000
MOST_TRIES = 40
"""With the longest wait between them, more than a week."""

MOST_BELLS = 20
KEPT_MS = 60 * 86_400_000
"""Messages that are over are forgotten after this long."""

_MOST_TITLE = 120


@dataclass(frozen=True)
class Bell:
    """A note for when a countdown ends, should the phone sleep then.

    ``at_ms`` is by the server's clock; ``title`` and ``body`` are what it shows.
    """

    pour: str
    jug: int
    at_ms: int
    title: str
    body: str


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


# ---- making them -------------------------------------------------------------------------------


def is_due(connection: Connection, now_ms: int) -> bool:
    """Whether a reminder or a message is due."""
    reminder, delivery = tables.reminder, tables.delivery
    first = select(func.min(reminder.c.waits_ms)), select(func.min(delivery.c.next_ms))
    return any(at is not None and at <= now_ms for at in map(connection.scalar, first))


def fall_due(connection: Connection, now_ms: int, *, most: int = 200) -> int:
    """Make messages of the reminders that are due, the oldest first; how many reminders it were.

    ``connection`` is inside a transaction that may write. A reminder is taken by one worker alone,
    and its messages are there once the transaction is.
    """
    reminder = tables.reminder
    rows = connection.execute(
        select(reminder)
        .where(reminder.c.waits_ms <= now_ms)
        .order_by(reminder.c.waits_ms)
        .limit(most)
        .with_for_update(skip_locked=True)
    ).all()
    if rows:
        _put(connection, _messages(connection, rows, now_ms))
        told = update(reminder).where(
            reminder.c.workshop_id == bindparam("of_workshop"),
            reminder.c.pour == bindparam("of_pour"),
            reminder.c.kind == bindparam("of_kind"),
        )
        connection.execute(
            told.values(waits_ms=None, sent_on=reminder.c.on),
            [
                {"of_workshop": row.workshop_id, "of_pour": row.pour, "of_kind": row.kind}
                for row in rows
            ],
        )
    return len(rows)


def _messages(
    connection: Connection, rows: Sequence[Row[Any]], now_ms: int
) -> list[dict[str, Any]]:
    """What is told of due reminders, to each device that wants to hear."""
    shops = {row.workshop_id for row in rows}
    zones, badges = _zones(connection, shops), _badges(connection, shops, now_ms)
    superseded = _superseded(connection, rows, now_ms)
    listeners = _listeners(connection, shops)
    return [
        {
            "about": about(row.pour, row.kind, on=row.on),
            "device_id": listener["device_id"],
            "topic": topic(row.pour),
            "urgency": "normal",
            "payload": _reminder_text(
                row,
                listener["origin"],
                badges.get(row.workshop_id, 0),
                now_ms,
                zones.get(row.workshop_id, USUAL_ZONE),
            ),
            "expires_ms": now_ms + REMINDER_LIFE_MS,
            "next_ms": now_ms,
        }
        for row in rows
        if (row.workshop_id, row.pour, row.kind) not in superseded
        and row.due_ms > now_ms - due.STALE_MS
        for listener in listeners[row.workshop_id]
    ]


def _zones(connection: Connection, shops: Collection[str]) -> dict[str, str]:
    """The time zones that workshops were reckoned with."""
    planned = tables.planned
    rows = connection.execute(
        select(planned.c.workshop_id, planned.c.settings).where(
            planned.c.workshop_id.in_(shops), planned.c.settings.is_not(None)
        )
    )
    return {row.workshop_id: json.loads(row.settings)["zone"] for row in rows}


def _badges(connection: Connection, shops: Collection[str], now_ms: int) -> dict[str, int]:
    """How many batches of a workshop want something of her."""
    reminder = tables.reminder
    rows = connection.execute(
        select(reminder.c.workshop_id, func.count(reminder.c.pour.distinct()).label("pours"))
        .where(
            reminder.c.workshop_id.in_(shops),
            reminder.c.done.is_(False),
            reminder.c.due_ms <= now_ms,
            reminder.c.due_ms > now_ms - due.STALE_MS,
        )
        .group_by(reminder.c.workshop_id)
    )
    return {row.workshop_id: row.pours for row in rows}


def _superseded(
    connection: Connection, rows: Sequence[Row[Any]], now_ms: int
) -> set[tuple[str, str, str]]:
    """Those whose later one is due as well: a server that was down says only what is news."""
    reminder = tables.reminder
    later = {
        (row.workshop_id, row.pour, due.AFTER[row.kind]): (row.workshop_id, row.pour, row.kind)
        for row in rows
        if row.kind in due.AFTER
    }
    # One by one in each column, which both databases look up faster than threes; some may be of
    # others.
    shops, pours, kinds = (
        (set(column) for column in zip(*later, strict=True)) if later else ((),) * 3
    )
    there = connection.execute(
        select(reminder.c.workshop_id, reminder.c.pour, reminder.c.kind).where(
            reminder.c.workshop_id.in_(shops),
            reminder.c.pour.in_(pours),
            reminder.c.kind.in_(kinds),
            reminder.c.done.is_(False),
            reminder.c.due_ms <= now_ms,
        )
    )
    return {later[key] for key in map(tuple, there) if key in later}


def _listeners(connection: Connection, shops: Collection[str]) -> dict[str, list[RowMapping]]:
    """The devices of workshops that want to hear."""
    subscription, device = tables.subscription, tables.device
    found: dict[str, list[RowMapping]] = defaultdict(list)
    for row in connection.execute(
        select(subscription.c.workshop_id, subscription.c.device_id, subscription.c.origin)
        .join(device, device.c.id == subscription.c.device_id)
        .where(subscription.c.workshop_id.in_(shops), device.c.revoked_ms.is_(None))
    ).mappings():
        found[row["workshop_id"]].append(row)
    return found


def _reminder_text(row: Row[Any], origin: str, badge: int, now_ms: int, zone: str) -> str:
    name = _short(row.name)
    return _text(
        {
            "title": due.headline(name, row.kind, row.on, now_ms, zone),
            "body": t(due.TELLS[row.kind]),
            "navigate": f"{origin}/#/entry/{row.pour}",
            "tag": f"pour {row.pour}",
            # The phone words it anew from these: it may be read days later.
            "data": {
                **{"pour": row.pour, "name": name, "reminder": row.kind},
                **{"day": row.day, "on": row.on},
            },
        },
        badge,
    )


def _text(notification: dict[str, Any], badge: int | None = None) -> str:
    """A message in the shape that browsers can show by themselves.

    Push API (W3C), declarative push message: ``web_push`` and ``notification`` as documented by
    WebKit; ``app_badge`` from memory.
    """
    shown = {} if badge is None else {"app_badge": badge}
    return json.dumps({"web_push": 8030, "notification": notification, **shown})


def _short(name: str) -> str:
    return name if len(name) <= _MOST_TITLE else f"{name[: _MOST_TITLE - 1]}…"


def topic(what: str) -> str:
    """A name for a push service that tells it nothing: 32 characters of base64url (RFC 8030)."""
    return base64.urlsafe_b64encode(hashlib.sha256(what.encode()).digest()[:24]).decode()


def set_bells(connection: Connection, device_id: str, bells: Iterable[Bell], now_ms: int) -> None:
    """Let these be the bells of a device, and no others. What is past is passed over."""
    delivery, subscription = tables.delivery, tables.subscription
    # Locked: of two calls at once, neither would see the bells that the other is making.
    origin = connection.scalar(
        select(subscription.c.origin).where(subscription.c.device_id == device_id).with_for_update()
    )
    connection.execute(
        delete(delivery).where(
            delivery.c.device_id == device_id,
            delivery.c.about.like("bell %"),
            delivery.c.next_ms.is_not(None),
            delivery.c.claim.is_(None),
        )
    )
    if origin is None:
        return
    made = [
        {
            "about": f"bell {bell.pour} {bell.jug} {bell.at_ms}",
            "device_id": device_id,
            "topic": topic(f"bell {bell.pour} {bell.jug}"),
            "urgency": "high",
            "payload": _text(
                {
                    "title": _short(bell.title),
                    "body": bell.body,
                    "navigate": f"{origin}/#/pour/{bell.pour}/{bell.jug}",
                    "tag": f"bell {bell.pour} {bell.jug}",
                    "data": {"pour": bell.pour, "jug": bell.jug, "bell": True},
                }
            ),
            "expires_ms": bell.at_ms + BELL_LIFE_MS,
            "next_ms": bell.at_ms,
        }
        for bell in bells
        if bell.at_ms > now_ms
    ]
    _put(connection, made)


def send_trial(connection: Connection, device_id: str, now_ms: int) -> None:
    """Let a device see how a reminder arrives. Raises LookupError where it does not listen."""
    subscription = tables.subscription
    origin = connection.scalar(
        select(subscription.c.origin).where(subscription.c.device_id == device_id)
    )
    if origin is None:
        raise LookupError(device_id)
    shown = {
        "title": "This is how a reminder arrives",
        "body": "A batch that is ready will say so here.",
        "navigate": f"{origin}/#/reminders",
        "tag": "trial",
        "data": {},
    }
    trial = {
        "about": f"trial {now_ms}",
        "device_id": device_id,
        "topic": topic("trial"),
        "urgency": "high",
        "payload": _text(shown),
        "expires_ms": now_ms + BELL_LIFE_MS,
        "next_ms": now_ms,
    }
    _put(connection, [trial])


def _put(connection: Connection, made: list[dict[str, Any]]) -> None:
    """Add messages, but for what was told to that device already."""
    if not made:
        return
    rows = [{"id": secrets.token_hex(8), "tries": 0, "state": "waiting", **each} for each in made]
    inserted = (sqlite if connection.dialect.name == "sqlite" else postgresql).insert
    connection.execute(inserted(tables.delivery).on_conflict_do_nothing(), rows)


# ---- sending them ------------------------------------------------------------------------------


def claim(connection: Connection, now_ms: int, app_key: str, *, most: int) -> list[Parcel]:
    """Take messages that are due, the oldest first, for one worker: nobody else gets them.

    Those that are too late, or whose device listens no more or for another key, are over.
    """
    delivery, subscription, device = tables.delivery, tables.subscription, tables.device
    rows = connection.execute(
        select(
            delivery,
            subscription.c.endpoint,
            subscription.c.p256dh,
            subscription.c.auth,
            subscription.c.app_key,
            device.c.revoked_ms,
        )
        .select_from(
            delivery.join(device, device.c.id == delivery.c.device_id).outerjoin(
                subscription, subscription.c.device_id == delivery.c.device_id
            )
        )
        .where(delivery.c.next_ms <= now_ms)
        .order_by(delivery.c.next_ms)
        .limit(most)
        .with_for_update(of=delivery, skip_locked=True)
    ).all()
    mark = secrets.token_hex(8)
    taken, counted = [], Counter[str]()
    for row in rows:
        if row.endpoint is None or row.revoked_ms is not None or row.app_key != app_key:
            _end(connection, row.id, "dropped", now_ms)
            counted["dropped"] += 1
        elif row.expires_ms <= now_ms:
            _end(connection, row.id, "failed", now_ms)
            counted["failed"] += 1
        else:
            taken.append(_parcel(row, mark, now_ms))
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
        _tell_trouble(connection, parcel, f"{outcome.why} It was given up.", now_ms)
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
