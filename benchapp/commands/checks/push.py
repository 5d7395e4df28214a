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
from benchapp.reminders import deliveries, planning, push_settings, vapid_keys
from benchapp.reminders.push_address import Endpoint, Trial, check_endpoint, is_allowed
from benchapp.reminders.push_connection import Connections, Stopped, Timeouts
from benchapp.reminders.push_settings import PushSettings
from benchapp.words import listed, message, n_, plural, t

_PUSH = n_("push")
_PHONE = n_("phone")
_REACH = n_("reach")

OVERDUE_MS = 10 * 60_000
RECENT_MS = 14 * 86_400_000
MOST_REACHED = 20


def settings(
    data_dir: Path, contact: str | None, push_services: Collection[str]
) -> PushSettings | Finding:
    """What a server would send with; a finding where one of the settings can't be used."""
    try:
        with TemporaryDirectory() as scratch:
            # To look is not to make a key; and one that is damaged has a line already.
            key_dir = data_dir if _is_key(data_dir) else Path(scratch)
            return push_settings.read_push_settings(key_dir, contact, push_services)
    except ValueError as error:
        return Finding("bad", _PUSH, t("{why} No server starts with this.", why=error))
    except OSError as error:
        said = t("No temporary file can be made: {why}.", why=error.strerror)
        return Finding("bad", _PUSH, said)


def _is_key(data_dir: Path) -> bool:
    try:
        if not (data_dir / vapid_keys.NAME).exists():
            return False
        vapid_keys.load(data_dir)
    except (OSError, ValueError):
        return False
    return True


def for_tests(used: PushSettings) -> Iterator[Finding]:
    """What nobody should find on a server that is used."""
    for warning in used.warnings():
        yield Finding(
            "bad",
            _PUSH,
            t("NOT FOR USE: {warning} Take it out of the environment.", warning=warning),
        )


def contact_given(used: PushSettings) -> Finding:
    """Without one nothing is sent."""
    if used.contact:
        said = t("Push services can write to {contact}.", contact=used.contact)
        return Finding("ok", _PUSH, said)
    return Finding(
        "look",
        _PUSH,
        t("{why} If it is, give this command the same options.", why=t(push_settings.WHY_NOT)),
    )


def services(used: PushSettings) -> Finding:
    """Which push services may be used."""
    named = listed(used.allow) or t("all of them, at public addresses")
    said = t("These may be used: {services}.", services=named)
    return Finding("ok", n_("push services"), said)


def phones(connection: Connection, used: PushSettings) -> Iterator[Finding]:
    """Each device that listens, and whether it hears."""
    nobody = True
    for row in _listening(connection):
        nobody = False
        yield phone(row, used)
    if nobody:
        yield Finding(
            "ok",
            _PHONE,
            t("No phone listens yet. Switch reminders on, on a phone, under Workshop, Reminders."),
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


def phone(row: Any, used: PushSettings) -> Finding:
    """One subscription: of its endpoint the host alone is shown."""
    host = _host(row["endpoint"])
    who = t(
        "{device}, by {service}",
        device=row["name"],
        service=host or t("an address that can’t be used"),
    )
    if host is None:
        return Finding(
            "bad",
            _PHONE,
            t("{phone}: it gets no reminders. {afresh}", phone=who, afresh=_LISTEN_AFRESH),
        )
    if not is_allowed(host, used.allow):
        return Finding(
            "bad",
            _PHONE,
            t(
                "{phone}: that is not among the allowed push services, so it gets no reminders. "
                "Allow it with {option}.",
                phone=who,
                option="--push-service " + host,
            ),
        )
    if row["app_key"] != used.app_key:
        return Finding(
            "bad",
            _PHONE,
            t(
                "{phone}: it listens for another key than this server's, so it gets no reminders. "
                "{afresh}",
                phone=who,
                afresh=_LISTEN_AFRESH,
            ),
        )
    if row["sent_ms"] is None:
        sent = t("{phone}: nothing sent yet.", phone=who)
    else:
        sent = t("{phone}: last sent {time}.", phone=who, time=when_text(row["sent_ms"]))
    if not row["trouble"]:
        return Finding("ok", _PHONE, sent)
    if row["trouble_ms"] is None:
        return Finding("look", _PHONE, f"{sent} {row['trouble']}")
    return Finding("look", _PHONE, f"{sent} {row['trouble']} ({when_text(row['trouble_ms'])})")


_LISTEN_AFRESH = message(
    "Open the bench on it, then Workshop, Reminders, and it listens again; or revoke it with "
    "benchapp devices."
)


def _host(endpoint: str) -> str | None:
    try:
        return check_endpoint(endpoint).host
    except ValueError:
        return None


def reckoned(connection: Connection, now_ms: int) -> Finding:
    """Whether what phones sent has found its way into reminders and calendar."""
    subject = n_("reminders")
    seen_ms = connection.scalar(select(func.max(tables.device.c.seen_ms))) or 0
    if planning.is_behind(connection) and seen_ms <= now_ms - OVERDUE_MS:
        return Finding(
            "look",
            subject,
            t(
                "The reminders from what phones sent more than 10 minutes ago are not worked out "
                "yet: is benchapp serve or benchapp remind running?"
            ),
        )
    return Finding("ok", subject, t("They are worked out from all that phones sent."))


def overdue(connection: Connection, now_ms: int, *, sends: bool) -> Finding:
    """What should have been sent a while ago. `sends`: whether this server sends at all."""
    subject = n_("overdue")
    reminder, delivery = tables.reminder, tables.delivery
    before_ms = now_ms - OVERDUE_MS
    late = sum(
        connection.scalar(select(func.count()).where(column <= before_ms)) or 0
        for column in (reminder.c.waits_ms, delivery.c.next_ms)
    )
    if not late:
        return Finding("ok", subject, t("Nothing that was due is still waiting."))
    if not sends:
        said = plural(
            late,
            "{n} is more than 10 minutes late: nothing is sent without a contact.",
            "{n} are more than 10 minutes late: nothing is sent without a contact.",
        )
        return Finding("look", subject, said)
    said = plural(
        late,
        "{n} is more than 10 minutes late: is benchapp serve or benchapp remind running?",
        "{n} are more than 10 minutes late: is benchapp serve or benchapp remind running?",
    )
    return Finding("bad", subject, said)


def messages(connection: Connection, now_ms: int) -> Finding:
    """What goes wrong now, or did so in the last two weeks."""
    subject = n_("messages")
    delivery = tables.delivery
    again = (
        connection.scalar(
            select(func.count()).where(delivery.c.next_ms.is_not(None), delivery.c.tries > 0)
        )
        or 0
    )
    failed = connection.scalar(
        select(func.count()).where(
            delivery.c.over_ms > now_ms - RECENT_MS, delivery.c.state == "failed"
        )
    )
    said = plural(
        again,
        "In the last 14 days {failed} failed, and {n} is tried again.",
        "In the last 14 days {failed} failed, and {n} are tried again.",
        failed=failed or t("none"),
        n=again or t("none"),
    )
    if not failed and not again:
        return Finding("ok", subject, said)
    return Finding(
        "look",
        subject,
        t("{failures} The lines of the phones, and the server's log, say why.", failures=said),
    )


def counted(connection: Connection) -> Finding:
    """All that was ever sent."""
    counts = deliveries.counts(connection)
    said = t(
        "Since the database was made: {sent} sent, {failed} failed, {dropped} dropped as nobody "
        "listened, {retried} tried again.",
        **{name: counts.get(name, 0) for name in ("sent", "failed", "dropped", "retried")},
    )
    return Finding("ok", n_("counts"), said)


def reached(connection: Connection, used: PushSettings) -> Iterator[Finding]:
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
        return Finding("bad", _REACH, str(error))
    connection = connections.take(endpoint)
    try:
        with connections.watch.flight() as flight:
            flight.connection = connection
            connection.connect()
    except Stopped as stopped:
        return Finding("bad", _REACH, str(stopped))
    except ssl.SSLError as error:
        why = getattr(error, "verify_message", "") or t("its TLS can't be read")
        said = t("There is no safe connection to {host}: {why}.", host=host, why=why)
        return Finding("bad", _REACH, said)
    except (OSError, HTTPException):
        said = t("{host} cut the connection, or did not answer in time.", host=host)
        return Finding("bad", _REACH, said)
    finally:
        connection.close()
        connections.close()
    said = t("{host} answers, and its certificate is good.", host=host)
    return Finding("ok", _REACH, said)
