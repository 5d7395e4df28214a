"""What devices are told: of reminders that fall due, of countdowns that end, and a trial.

Each becomes messages in the queue of `deliveries`, one for each device that listens.
"""

import base64
import hashlib
import json
from collections import defaultdict
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, Row, RowMapping, bindparam, delete, func, select, update

from benchapp.records import tables
from benchapp.reminders import due
from benchapp.reminders.deliveries import enqueue
from benchapp.reminders.planning import USUAL_ZONE, about
from benchapp.reminders.push import MOST_OCTETS
from benchapp.words import t

REMINDER_LIFE_MS = 14 * 86_400_000
"""How long a push service keeps a reminder for a phone that is off."""
BELL_LIFE_MS = 10 * 60_000
"""After that a bell is of no use."""

MOST_BELLS = 20

_MOST_TITLE = 120


BOARDS = {"pour": "pour", "burn_test": "burn"}
"""The screen of each kind of record at the bench that a bell may open."""


@dataclass(frozen=True)
class Bell:
    """A note for when a countdown ends, should the phone sleep then.

    ``of``, ``id`` and ``part`` name what rings: a jug of a pour, a candle of a burn test. ``at_ms``
    is by the server's clock; ``title`` and ``body`` are what it shows.
    """

    of: str
    id: str
    part: int
    at_ms: int
    title: str
    body: str


# ---- reminders ---------------------------------------------------------------------------------


def is_due(connection: Connection, now_ms: int) -> bool:
    """Whether a reminder is due."""
    first = connection.scalar(select(func.min(tables.reminder.c.waits_ms)))
    return first is not None and first <= now_ms


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
        enqueue(connection, _messages(connection, rows, now_ms))
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


# ---- bells -------------------------------------------------------------------------------------


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
            "about": f"bell {bell.id} {bell.part} {bell.at_ms}",
            "device_id": device_id,
            "topic": topic(f"bell {bell.id} {bell.part}"),
            "urgency": "high",
            "payload": _text(
                {
                    "title": _short(bell.title),
                    "body": bell.body,
                    "navigate": f"{origin}/#/{BOARDS[bell.of]}/{bell.id}/{bell.part}",
                    "tag": f"bell {bell.id} {bell.part}",
                    "data": {"pour": bell.id, "jug": bell.part, "bell": True},
                }
            ),
            "expires_ms": bell.at_ms + BELL_LIFE_MS,
            "next_ms": bell.at_ms,
        }
        for bell in bells
        if bell.at_ms > now_ms
    ]
    enqueue(connection, made)


# ---- a trial -----------------------------------------------------------------------------------


def send_trial(connection: Connection, device_id: str, now_ms: int) -> None:
    """Let a device see how a reminder arrives. Raises LookupError where it does not listen."""
    subscription = tables.subscription
    origin = connection.scalar(
        select(subscription.c.origin).where(subscription.c.device_id == device_id)
    )
    if origin is None:
        raise LookupError(device_id)
    shown = {
        "title": t("This is how a reminder looks"),
        "body": t("When a batch is ready, you read it here."),
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
    enqueue(connection, [trial])


# ---- in the shape of a message -----------------------------------------------------------------


def _text(notification: dict[str, Any], badge: int | None = None) -> str:
    """A message in the shape that browsers can show by themselves.

    Push API (W3C), declarative push message: ``web_push`` and ``notification`` as documented by
    WebKit; ``app_badge`` from memory.
    """
    shown = {} if badge is None else {"app_badge": badge}

    def text() -> str:
        return json.dumps({"web_push": 8030, "notification": notification, **shown})

    # Characters that are no letters take up to twelve octets each.
    for name in ("body", "title"):
        while len(text()) > MOST_OCTETS and len(notification[name]) > 1:
            notification[name] = f"{notification[name][: len(notification[name]) * 3 // 4 - 1]}…"
    return text()


def _short(name: str) -> str:
    return name if len(name) <= _MOST_TITLE else f"{name[: _MOST_TITLE - 1]}…"


def topic(what: str) -> str:
    """A name for a push service that tells it nothing: 32 characters of base64url (RFC 8030)."""
    return base64.urlsafe_b64encode(hashlib.sha256(what.encode()).digest()[:24]).decode()
