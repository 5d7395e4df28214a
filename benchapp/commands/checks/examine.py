"""All checks, in the order in which they are told."""

import shutil
import ssl
from collections.abc import Collection, Iterator
from datetime import UTC, datetime
from pathlib import Path
from zoneinfo import TZPATH

from sqlalchemy import Connection, func, select, text
from sqlalchemy.exc import DBAPIError

from benchapp.commands.checks import (
    attachments,
    calendar,
    certificates,
    clocks,
    directory,
    push,
    zones,
)
from benchapp.commands.checks import database as database_checks
from benchapp.commands.checks.finding import Finding
from benchapp.formulas.day import day_of
from benchapp.records import tables
from benchapp.records.attachments.keeping import Keeper, Settings
from benchapp.records.database import sqlite_url
from benchapp.reminders.push_settings import PushSettings
from benchapp.words import InputError


def examine(
    data_dir: Path,
    database: str | None,
    contact: str | None,
    push_services: Collection[str],
    now_ms: int,
    *,
    attachments_url: str | None = None,
    reach: bool = False,
) -> Iterator[Finding]:
    """Look at everything, as a server with these settings would find it at `now_ms`.

    `database` is a URL, or None for the file in `data_dir`; `attachments_url` says where photos and
    papers lie. Only with `reach` is any other machine asked something, but for the database's and
    the store's of attachments.
    """
    url = database or sqlite_url(data_dir / "bench.sqlite3")
    yield directory.data_directory(data_dir)
    if directory.is_usable(data_dir):
        yield directory.secret_key(data_dir)
        yield directory.push_key(data_dir)
        yield certificates.certificate(data_dir / "tls", datetime.fromtimestamp(now_ms / 1000, UTC))
        yield directory.disk(data_dir, shutil.disk_usage(data_dir).free)
    yield clocks.clock(now_ms)
    yield zones.time_zone_data(lambda zone: day_of(now_ms, zone), TZPATH)
    given = push.settings(data_dir, contact, push_services)
    if isinstance(given, Finding):
        yield given
        used = None
    else:
        yield from push.for_tests(given)
        yield push.contact_given(given)
        yield push.services(given)
        used = given
        if given.trial is None:
            loaded = ssl.create_default_context().cert_store_stats()["x509_ca"]
            folder = ssl.get_default_verify_paths().capath
            yield certificates.authorities(folder, loaded, sends=bool(given.contact))
    try:
        with database_checks.open_read_only(url) as connection:
            if connection.dialect.name == "sqlite":
                beside = Path(connection.engine.url.database or "").resolve().parent
                if beside != data_dir.resolve():
                    yield directory.disk(beside, shutil.disk_usage(beside).free)
            yield from in_database(connection, now_ms, used, reach=reach)
            if database_checks.schema(connection).state == "ok":
                yield _attachments(connection, attachments_url, data_dir, now_ms)
    except database_checks.Unreadable as error:
        yield Finding("bad", database_checks.DATABASE, str(error))
    except DBAPIError as error:
        yield database_checks.unreadable(error, url)


def _attachments(connection: Connection, url: str | None, data_dir: Path, now_ms: int) -> Finding:
    try:
        keeper = Keeper(Settings(url), data_dir)
    except InputError as error:
        return Finding("bad", attachments.SUBJECT, str(error))
    return attachments.attachments(connection, keeper, now_ms)


def in_database(
    connection: Connection, now_ms: int, used: PushSettings | None, *, reach: bool
) -> Iterator[Finding]:
    """What the database itself tells; of tables of another version nothing more is asked."""
    if connection.dialect.name == "sqlite":
        yield database_checks.sqlite_mode(connection)
        yield database_checks.sqlite_whole(connection)
    else:
        yield database_checks.postgres(connection)
        there_s = connection.scalar(text("SELECT extract(epoch FROM clock_timestamp())"))
        yield clocks.database_clock(now_ms, round((there_s or 0) * 1000))
    found = database_checks.schema(connection)
    yield found
    if found.state != "ok":
        return
    is_sqlite = connection.dialect.name == "sqlite"
    if is_sqlite and (spoilt := database_checks.sqlite_rows_whole(connection)):
        yield spoilt
    yield clocks.newest_change(
        now_ms, connection.scalar(select(func.max(tables.workshop.c.newest_ms)))
    )
    yield from zones.time_zones(connection, lambda zone: day_of(now_ms, zone))
    yield push.reckoned(connection, now_ms)
    if used is not None:
        yield from push.phones(connection, used)
        yield push.overdue(connection, now_ms, sends=bool(used.contact))
        yield push.messages(connection, now_ms)
        yield push.counted(connection)
        if reach:
            yield from push.reached(connection, used)
    yield calendar.calendars(connection)
