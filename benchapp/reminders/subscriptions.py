"""The push subscriptions of devices: where their browsers take messages."""

from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, delete, insert, or_, select, update

from benchapp.records import tables
from benchapp.records.database import Lock, lock_until_commit
from benchapp.records.devices import Device
from benchapp.reminders.push import check_keys
from benchapp.reminders.push_address import check_endpoint


@dataclass(frozen=True)
class SubscriptionStatus:
    """How a device is subscribed.

    Attributes:
        app_key: the public key that its subscription was made for.
        sent_ms: when something last reached its push service.
        trouble, trouble_ms: what went wrong since, in a sentence, and when.
    """

    app_key: str
    sent_ms: int | None
    trouble: str | None
    trouble_ms: int | None


def subscribe(
    connection: Connection,
    device: Device,
    *,
    endpoint: str,
    p256dh: str,
    auth: str,
    app_key: str,
    origin: str,
    now_ms: int,
) -> None:
    """Subscribe a device at this endpoint, and nowhere else.

    Nothing is kept of a device that was revoked meanwhile. Raises InputError where the
    subscription is none.
    """
    check_endpoint(endpoint)
    check_keys(p256dh, auth)
    # One at a time: two devices may name the same endpoint, and one may ask twice.
    lock_until_commit(connection, Lock.SUBSCRIBING)
    if not _is_let_in(connection, device):
        return
    subscription = tables.subscription
    values = {
        "workshop_id": device.workshop_id,
        "endpoint": endpoint,
        "p256dh": p256dh,
        "auth": auth,
        "app_key": app_key,
        "origin": origin.rstrip("/"),
    }
    kept = connection.execute(
        select(subscription).where(subscription.c.device_id == device.id).with_for_update()
    ).first()
    if kept is not None and kept.endpoint == endpoint:
        connection.execute(
            update(subscription).where(subscription.c.device_id == device.id).values(values)
        )
        return
    # A browser that was paired anew is another device at the same endpoint.
    connection.execute(
        delete(subscription).where(
            or_(subscription.c.device_id == device.id, subscription.c.endpoint == endpoint)
        )
    )
    made: dict[str, Any] = {"device_id": device.id, "made_ms": now_ms, **values}
    connection.execute(insert(subscription).values(made))


def _is_let_in(connection: Connection, device: Device) -> bool:
    """Whether a device is paired still; until this transaction ends it can't be revoked."""
    paired = tables.device
    known = connection.execute(
        select(paired.c.revoked_ms)
        .where(paired.c.id == device.id)
        # Messages to it may be made meanwhile: their rows name its own, and no more.
        .with_for_update(key_share=True)
    ).first()
    return known is not None and known.revoked_ms is None


def unsubscribe(connection: Connection, device_id: str) -> None:
    """End a device's subscription; what was on its way to it is not sent."""
    delivery = tables.delivery
    connection.execute(
        delete(delivery).where(
            delivery.c.device_id == device_id,
            delivery.c.next_ms.is_not(None),
            delivery.c.claim.is_(None),
        )
    )
    subscription = tables.subscription
    connection.execute(delete(subscription).where(subscription.c.device_id == device_id))


def status_of(connection: Connection, device_id: str) -> SubscriptionStatus | None:
    """How a device is subscribed; None where it is not."""
    subscription = tables.subscription
    row = connection.execute(
        select(
            subscription.c.app_key,
            subscription.c.sent_ms,
            subscription.c.trouble,
            subscription.c.trouble_ms,
        ).where(subscription.c.device_id == device_id)
    ).first()
    return None if row is None else SubscriptionStatus(*row)
