"""Messages to phones: what they are sent with, who listens, what waits, what failed."""

import ssl
from collections.abc import Collection, Iterator
from http.client import HTTPException
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from sqlalchemy import Connection, RowMapping, func, select

from benchapp.commands.checks.finding import Finding, when_text
from benchapp.records import tables
from benchapp.reminders import deliveries, keys, planning, pushing
from benchapp.reminders.guard import (
    Connections,
    Endpoint,
    Stopped,
    Timeouts,
    Trial,
    check_endpoint,
    is_allowed,
)
from benchapp.reminders.pushing import Pushing

OVERDUE_MS = 10 * 60_000
RECENT_MS = 14 * 86_400_000
MOST_REACHED = 20


def settings(
    data_dir: Path, contact: str | None, push_services: Collection[str]
) -> Pushing | Finding:
    """What a server would send with; a finding where one of the settings can't be used."""
    try:
        with TemporaryDirectory() as scratch:
            # To look is not to make a key; and one that is damaged has a line already.
            key_dir = data_dir if _is_key(data_dir) else Path(scratch)
            return pushing.read(key_dir, contact, push_services)
    except ValueError as error:
        return Finding("bad", "push", f"{error} No server starts with this.")
    except OSError as error:
        return Finding("bad", "push", f"No temporary file can be made: {error.strerror}.")


def _is_key(data_dir: Path) -> bool:
    try:
        if not (data_dir / keys.NAME).exists():
            return False
        keys.load(data_dir)
    except (OSError, ValueError):
        return False
    return True


def for_tests(used: Pushing) -> Iterator[Finding]:
    """What nobody should find on a server that is used."""
    for warning in used.warnings():
        yield Finding("bad", "push", f"NOT FOR USE: {warning} Take it out of the environment.")


def contact_given(used: Pushing) -> Finding:
    """Without one nothing is sent."""
    if used.contact:
        return Finding("ok", "push", f"Push services can write to {used.contact}.")
    return Finding(
        "look", "push", f"{pushing.WHY_NOT} If it is, give this command the same options."
    )


def services(used: Pushing) -> Finding:
    """Which push services may be used."""
    named = ", ".join(used.allow) or "all of them, at public addresses"
    return Finding("ok", "push services", f"These may be used: {named}.")


def phones(connection: Connection, used: Pushing) -> Iterator[Finding]:
    """Each device that listens, and whether it hears."""
    nobody = True
    for row in _listening(connection):
        nobody = False
        yield phone(row, used)
    if nobody:
        yield Finding(
            "ok", "phone", "None listens: Workshop, Reminders on a phone switches reminders on."
        )


def _listening(connection: Connection) -> list[RowMapping]:
    """Subscriptions of devices that may come in."""
    subscription, device = tables.subscription, tables.device
    return list(
        connection.execute(
            select(
                device.c.name,
                subscription.c.endpoint,
                subscription.c.app_key,
                subscription.c.sent_ms,
                subscription.c.trouble,
                subscription.c.trouble_ms,
            )
            .join(device, device.c.id == subscription.c.device_id)
            .where(device.c.revoked_ms.is_(None))
            .order_by(device.c.made_ms, device.c.id)
        ).mappings()
    )


def phone(row: Any, used: Pushing) -> Finding:
    """One subscription: of its endpoint the host alone is shown."""
    host = _host(row["endpoint"])
    who = f"{row['name']}, by {host or 'an address that can’t be used'}"
    afresh = "open the bench on it, then Workshop, Reminders; or revoke it with benchapp devices"
    if host is None:
        return Finding("bad", "phone", f"{who}: it hears nothing. To listen afresh, {afresh}.")
    if not is_allowed(host, used.allow):
        return Finding(
            "bad",
            "phone",
            f"{who}: that is not among the allowed push services, so it hears nothing. Allow it "
            f"with --push-service {host}.",
        )
    if row["app_key"] != used.app_key:
        return Finding(
            "bad",
            "phone",
            f"{who}: it listens for another key than this server's, so it hears nothing. To "
            f"listen afresh, {afresh}.",
        )
    sent = (
        "nothing sent yet" if row["sent_ms"] is None else f"last sent {when_text(row['sent_ms'])}"
    )
    if row["trouble"]:
        since = "" if row["trouble_ms"] is None else f" ({when_text(row['trouble_ms'])})"
        return Finding("look", "phone", f"{who}: {sent}. {row['trouble']}{since}")
    return Finding("ok", "phone", f"{who}: {sent}.")


def _host(endpoint: str) -> str | None:
    try:
        return check_endpoint(endpoint).host
    except ValueError:
        return None


def reckoned(connection: Connection, now_ms: int) -> Finding:
    """Whether what phones sent has found its way into reminders and calendar."""
    seen_ms = connection.scalar(select(func.max(tables.device.c.seen_ms))) or 0
    if planning.is_behind(connection) and seen_ms <= now_ms - OVERDUE_MS:
        return Finding(
            "look",
            "reminders",
            "What phones sent more than 10 minutes ago is not reckoned yet: is benchapp serve or "
            "benchapp remind running?",
        )
    return Finding("ok", "reminders", "They are reckoned from all that phones sent.")


def overdue(connection: Connection, now_ms: int, *, sends: bool) -> Finding:
    """What should have been sent a while ago. `sends`: whether this server sends at all."""
    reminder, delivery = tables.reminder, tables.delivery
    before_ms = now_ms - OVERDUE_MS
    late = sum(
        connection.scalar(select(func.count()).where(column <= before_ms)) or 0
        for column in (reminder.c.waits_ms, delivery.c.next_ms)
    )
    if not late:
        return Finding("ok", "overdue", "Nothing waits that should have been sent.")
    those = "1 is" if late == 1 else f"{late} are"
    why = (
        "is benchapp serve or benchapp remind running?"
        if sends
        else "nothing is sent without a contact."
    )
    return Finding(
        "bad" if sends else "look", "overdue", f"{those} more than 10 minutes late: {why}"
    )


def messages(connection: Connection, now_ms: int) -> Finding:
    """What goes wrong now, or did so in the last two weeks."""
    delivery = tables.delivery
    again = connection.scalar(
        select(func.count()).where(delivery.c.next_ms.is_not(None), delivery.c.tries > 0)
    )
    failed = connection.scalar(
        select(func.count()).where(
            delivery.c.over_ms > now_ms - RECENT_MS, delivery.c.state == "failed"
        )
    )
    said = f"In the last 14 days {failed or 'none'} failed, and {again or 'none'} is tried again"
    if failed or again:
        return Finding(
            "look", "messages", f"{said}. The lines of the phones, and the server's log, say why."
        )
    return Finding("ok", "messages", f"{said}.")


def counted(connection: Connection) -> Finding:
    """All that was ever sent."""
    counts = deliveries.counts(connection)
    said = ", ".join(
        f"{counts.get(name, 0)} {words}"
        for name, words in (
            ("sent", "sent"),
            ("failed", "failed"),
            ("dropped", "dropped as nobody listened"),
            ("retried", "tried again"),
        )
    )
    return Finding("ok", "counts", f"Since the database was made: {said}.")


def reached(connection: Connection, used: Pushing) -> Iterator[Finding]:
    """Whether each push service that phones listen at answers."""
    found: dict[str, Endpoint] = {}
    for row in _listening(connection):
        try:
            endpoint = check_endpoint(row["endpoint"])
        except ValueError:
            continue
        if is_allowed(endpoint.host, used.allow):
            found.setdefault(endpoint.origin, endpoint)
    for endpoint in list(found.values())[:MOST_REACHED]:
        yield answers(endpoint, used.trial)


def answers(endpoint: Endpoint, trial: Trial | None, timeouts: Timeouts | None = None) -> Finding:
    """Open a connection to a push service, guarded as any other; nothing is asked for."""
    host = endpoint.host
    try:
        connections = Connections(trial=trial, timeouts=timeouts or Timeouts(), most=1)
    except ValueError as error:
        return Finding("bad", "reach", str(error))
    connection = connections.take(endpoint)
    try:
        with connections.watch.flight() as flight:
            flight.connection = connection
            connection.connect()
    except Stopped as stopped:
        return Finding("bad", "reach", stopped.why)
    except ssl.SSLError as error:
        why = getattr(error, "verify_message", "") or "its TLS can't be read"
        return Finding("bad", "reach", f"There is no safe connection to {host}: {why}.")
    except (OSError, HTTPException):
        return Finding("bad", "reach", f"{host} cut the connection, or did not answer in time.")
    finally:
        connection.close()
        connections.close()
    return Finding("ok", "reach", f"{host} answers, and its certificate is good.")
