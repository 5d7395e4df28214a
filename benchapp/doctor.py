"""Whether a server is in order, in plain sentences: `benchapp doctor`.

Nothing is changed by looking: no key or table is made, no database brought up to date. No sentence
holds a key, a token or the path of a push endpoint. Limits are our own, where no source is named.
"""

import json
import os
import shutil
import sqlite3
import ssl
import stat
from collections.abc import Callable, Collection, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import asdict, dataclass
from datetime import UTC, datetime
from http.client import HTTPException
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any, Literal
from zoneinfo import TZPATH, ZoneInfo

from cryptography import x509
from sqlalchemy import (
    Connection,
    Engine,
    NullPool,
    RowMapping,
    create_engine,
    func,
    inspect,
    select,
    text,
)
from sqlalchemy.engine import make_url
from sqlalchemy.exc import ArgumentError, DBAPIError, NoSuchModuleError

from benchapp.records import tables
from benchapp.records.database import SCHEMA, WAIT_S, sqlite_url
from benchapp.records.exchange import AHEAD_MS
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
from benchapp.web import certificates, secret

State = Literal["ok", "look", "bad"]

LITTLE_ROOM = 1_000_000_000
NO_ROOM = 100_000_000
"""Octets free on a disk: below the first it is time to look, below the second it is bad."""

EARLIEST_MS = 1_735_689_600_000
"""The beginning of 2025. A machine whose clock has no battery wakes up long before this app."""

APART_MS = 60_000
"""How far two clocks may be apart before it is worth a look."""

OVERDUE_MS = 10 * 60_000
RECENT_MS = 14 * 86_400_000
MOST_REACHED = 20

_GB = 1_000_000_000


@dataclass(frozen=True)
class Finding:
    """What a check found.

    `ok`: in order. `look`: it works, or nobody wants it yet, but somebody should know. `bad`: it
    does not work, or is open to others. `says` is a sentence with what to do.
    """

    state: State
    subject: str
    says: str


def is_in_order(findings: Iterable[Finding]) -> bool:
    """Whether nothing is bad."""
    return all(each.state != "bad" for each in findings)


def as_lines(findings: Collection[Finding]) -> str:
    """A line a finding: the state from column 1 on, the subject from 7, then the sentence."""
    width = max((len(each.subject) for each in findings), default=0)
    return "\n".join(f"{each.state:<6}{each.subject:<{width}}  {each.says}" for each in findings)


def as_json(findings: Collection[Finding]) -> str:
    """The same for a program: `in_order`, and `checks` with `state`, `subject`, `says` each."""
    told = {"in_order": is_in_order(findings), "checks": [asdict(each) for each in findings]}
    return json.dumps(told, ensure_ascii=False, indent=2)


def examine(
    data_dir: Path,
    database: str | None,
    contact: str | None,
    push_services: Collection[str],
    now_ms: int,
    *,
    reach: bool = False,
) -> Iterator[Finding]:
    """Look at everything, as a server with these settings would find it at `now_ms`.

    `database` is a URL, or None for the file in `data_dir`. Only with `reach` is any other machine
    asked something, but for the database's.
    """
    url = database or sqlite_url(data_dir / "bench.sqlite3")
    yield data_directory(data_dir)
    if _is_usable(data_dir):
        yield secret_key(data_dir)
        yield push_key(data_dir)
        yield certificate(data_dir / "tls", datetime.fromtimestamp(now_ms / 1000, UTC))
        yield disk(data_dir, shutil.disk_usage(data_dir).free)
    yield clock(now_ms)
    yield time_zone_data(ZoneInfo, TZPATH)
    given = settings(data_dir, contact, push_services)
    if isinstance(given, Finding):
        yield given
        used = None
    else:
        yield from for_tests(given)
        yield contact_given(given)
        yield services(given)
        used = given
        if given.trial is None:
            loaded = ssl.create_default_context().cert_store_stats()["x509_ca"]
            folder = ssl.get_default_verify_paths().capath
            yield authorities(folder, loaded, sends=bool(given.contact))
    try:
        with looked_into(url) as connection:
            if connection.dialect.name == "sqlite":
                beside = Path(connection.engine.url.database or "").resolve().parent
                if beside != data_dir.resolve():
                    yield disk(beside, shutil.disk_usage(beside).free)
            yield from _database(connection, now_ms, used, reach=reach)
    except Unreadable as error:
        yield Finding("bad", "database", str(error))
    except DBAPIError as error:
        yield Finding(
            "bad", "database", f"The rest of the database can't be read: {_reason(error, url)}."
        )


def _database(
    connection: Connection, now_ms: int, used: Pushing | None, *, reach: bool
) -> Iterator[Finding]:
    if connection.dialect.name == "sqlite":
        yield sqlite_mode(connection)
        yield sqlite_whole(connection)
    else:
        yield postgres(connection)
        there_s = connection.scalar(text("SELECT extract(epoch FROM clock_timestamp())"))
        yield database_clock(now_ms, round((there_s or 0) * 1000))
    found = schema(connection)
    yield found
    if found.state != "ok":
        return
    yield newest_change(now_ms, connection.scalar(select(func.max(tables.workshop.c.newest_ms))))
    yield from time_zones(connection, ZoneInfo)
    yield reckoned(connection, now_ms)
    if used is not None:
        yield from phones(connection, used)
        yield overdue(connection, now_ms, sends=bool(used.contact))
        yield messages(connection, now_ms)
        yield counted(connection)
        if reach:
            yield from reached(connection, used)
    yield calendars(connection)


# ---- the data directory ------------------------------------------------------------------------


def data_directory(path: Path) -> Finding:
    """Whether it is there, and its owner's alone (POSIX)."""
    subject = "data directory"
    if not path.is_dir():
        return Finding(
            "bad",
            subject,
            f"There is no directory {path}. Start benchapp serve once, which makes it, or say "
            "with --data where the server keeps its data.",
        )
    if not _is_usable(path):
        return Finding(
            "bad",
            subject,
            f"{path} can't be read and written by this user. Run this as the user that serves.",
        )
    if mode := _open_to_others(path):
        return Finding(
            "bad", subject, f"Others on this machine may use {path} ({mode}): chmod 700 {path}"
        )
    return Finding("ok", subject, f"{path} is its owner's alone.")


def _is_usable(path: Path) -> bool:
    return path.is_dir() and os.access(path, os.R_OK | os.W_OK | os.X_OK)


def secret_key(data_dir: Path) -> Finding:
    """The key that signs sessions."""
    return _key(data_dir / "secret_key", "secret key", lambda: secret.key(data_dir))


def push_key(data_dir: Path) -> Finding:
    """The key that signs messages to phones."""
    return _key(data_dir / keys.NAME, "push key", lambda: keys.load(data_dir))


def _key(path: Path, subject: str, load: Callable[[], object]) -> Finding:
    if not path.exists():
        return Finding("look", subject, f"There is no {path.name} yet: benchapp serve makes it.")
    # Before it is loaded, which closes it to others.
    mode = _open_to_others(path)
    try:
        load()
    except ValueError as error:
        return Finding("bad", subject, str(error))
    except OSError as error:
        return Finding("bad", subject, f"{path} can't be read: {error.strerror}.")
    if mode:
        return Finding(
            "bad",
            subject,
            f"Others on this machine could read {path} ({mode}): chmod 600 {path}. If one of them "
            "may have copied it, delete it and start the server again, which makes another.",
        )
    return Finding("ok", subject, f"{path.name} is whole, and its owner's alone.")


def disk(path: Path, free: int) -> Finding:
    """Whether there is room; `free` in octets."""
    room = f"{free / _GB:.1f} GB" if free >= LITTLE_ROOM else f"{free // 1_000_000} MB"
    if free < NO_ROOM:
        return Finding(
            "bad",
            "disk",
            f"Only {room} are free where {path} is: free some now, or phones can't store there.",
        )
    if free < LITTLE_ROOM:
        return Finding("look", "disk", f"Only {room} are free where {path} is: free some soon.")
    return Finding("ok", "disk", f"{room} are free where {path} is.")


def _open_to_others(path: Path) -> str:
    """Its mode where others than the owner may use it, else ''."""
    mode = stat.S_IMODE(path.stat().st_mode)
    return f"mode {mode:04o}" if os.name == "posix" and mode & 0o077 else ""


# ---- certificates and trust --------------------------------------------------------------------


def certificate(folder: Path, now: datetime) -> Finding:
    """The server certificate that `serve --lan` keeps in `folder`."""
    subject = "certificates"
    file, authority_file = folder / "server.pem", folder / "authority.pem"
    if not authority_file.exists():
        return Finding(
            "ok",
            subject,
            "There are none, serve --lan makes them. Phones hear reminders, and work with no "
            "signal, only over HTTPS: by --lan, behind a proxy that speaks it, or on localhost.",
        )
    again = "benchapp serve --lan renews it"
    try:
        open_ = [mode for each in (authority_file, file) if (mode := _open_to_others(each))]
        authority = _first(authority_file)
        server = _first(file)
    except (OSError, ValueError):
        return Finding(
            "bad",
            subject,
            f"{folder} can't be read, or is damaged. Start benchapp serve --lan: it makes a "
            "server certificate anew, and says what to do about the authority.",
        )
    ends = min(server.not_valid_after_utc, authority.not_valid_after_utc)
    until = f"{ends:%d %B %Y}"
    if open_:
        return Finding(
            "bad",
            subject,
            f"Others on this machine could read the keys in {folder} ({open_[0]}): "
            f"chmod 600 {folder}/*.pem",
        )
    if now >= ends:
        return Finding("bad", subject, f"The certificate ran out on {until}: {again}.")
    names = ", ".join(_names(server))
    if ends - now < certificates.RENEW_WITHIN:
        return Finding(
            "look", subject, f"The certificate for {names} runs out on {until}: {again}."
        )
    return Finding("ok", subject, f"The certificate is good until {until}, for {names}.")


def _first(path: Path) -> x509.Certificate:
    return x509.load_pem_x509_certificates(path.read_bytes())[0]


def _names(certificate: x509.Certificate) -> list[str]:
    try:
        has = certificate.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    except x509.ExtensionNotFound:
        return ["no name"]
    addresses = has.get_values_for_type(x509.IPAddress)
    return [*has.get_values_for_type(x509.DNSName), *map(str, addresses)]


def authorities(folder: str | None, loaded: int, *, sends: bool) -> Finding:
    """Whether this machine knows whom to trust: `loaded` authorities from one file, and those of
    OpenSSL's `folder`, which it reads when it needs them. `sends`: whether anything is sent."""
    subject = "authorities"
    kept = 0 if loaded or folder is None else sum(1 for _ in Path(folder).glob("*.[0-9]"))
    if loaded or kept:
        return Finding("ok", subject, f"This machine trusts {loaded or kept} authorities.")
    return Finding(
        "bad" if sends else "look",
        subject,
        "This machine trusts no certificate authority, so no push service can be reached. "
        "Install them (on Debian: apt-get install ca-certificates).",
    )


# ---- clocks and time zones ---------------------------------------------------------------------


def clock(now_ms: int) -> Finding:
    """Whether this machine's clock was ever set."""
    shown = f"This machine's clock says {_when(now_ms)}"
    if now_ms < EARLIEST_MS:
        return Finding("bad", "clock", f"{shown}, which is long past: set it.")
    return Finding("ok", "clock", f"{shown}.")


def newest_change(now_ms: int, newest_ms: int | None) -> Finding:
    """This machine's clock against the newest stamp that phones sent (0 or None: none)."""
    subject = "newest change"
    if not newest_ms:
        return Finding("ok", subject, "No phone has sent anything yet.")
    said = f"The newest that phones sent is of {_when(newest_ms)}"
    if newest_ms > now_ms + AHEAD_MS:
        return Finding(
            "bad",
            subject,
            f"{said}, {_span(newest_ms - now_ms)} ahead of this machine's clock. Set the clock: "
            "while it is behind, reminders come late.",
        )
    return Finding("ok", subject, f"{said}.")


def database_clock(now_ms: int, there_ms: int) -> Finding:
    """This machine's clock against the database server's."""
    subject = "database clock"
    apart_ms = abs(now_ms - there_ms)
    if apart_ms > APART_MS:
        return Finding(
            "look",
            subject,
            f"The database server's clock says {_when(there_ms)}, {_span(apart_ms)} away from "
            "this one's. One of them is wrong: set it.",
        )
    return Finding("ok", subject, "The database server's clock says the same.")


def time_zone_data(load: Callable[[str], object], paths: Collection[str]) -> Finding:
    """Whether time zones are known; `paths` are the folders where a system keeps them."""
    subject = "time zones"
    if not _is_zone("Europe/Lisbon", load):
        return Finding(
            "bad",
            subject,
            "No time zone is known here, so no reminder can be reckoned: pip install tzdata",
        )
    here = next((path for path in paths if Path(path, "Europe/Lisbon").is_file()), None)
    return Finding("ok", subject, f"They come from {here or 'the package tzdata'}.")


def time_zones(connection: Connection, load: Callable[[str], object]) -> Iterator[Finding]:
    """Each workshop's, as a phone told it or as it is set."""
    shop, planned = tables.workshop, tables.planned
    rows = connection.execute(
        select(shop.c.name, planned.c.zone, planned.c.zone_moves, planned.c.settings)
        .select_from(shop.outerjoin(planned, planned.c.workshop_id == shop.c.id))
        .order_by(shop.c.made_ms, shop.c.id)
    )
    for row in rows:
        used = json.loads(row.settings)["zone"] if row.settings else row.zone
        yield _zone(row.name, row.zone, used, row.zone_moves, load)


def _zone(
    name: str, told: str | None, used: str | None, moves: int | None, load: Callable[[str], object]
) -> Finding:
    subject = "time zone"
    if used is None or (used == told == planning.USUAL_ZONE and not moves):
        return Finding(
            "look",
            subject,
            f"{name}: no phone has told it yet, so it is UTC. Open the bench on a phone that is "
            "paired, or set it there under Units and room.",
        )
    if not _is_zone(used, load):
        return Finding(
            "bad",
            subject,
            f"{name}: “{used}” is not known here, so nothing is reminded of. Get newer time "
            "zones (pip install -U tzdata), or set another on a phone under Units and room.",
        )
    return Finding(
        "ok", subject, f"{name}: {used}, as {'a phone told it' if used == told else 'it is set'}."
    )


def _is_zone(name: str, load: Callable[[str], object]) -> bool:
    try:
        load(name)
    except (OSError, ValueError, LookupError):
        return False
    return True


# ---- the database ------------------------------------------------------------------------------


class Unreadable(Exception):
    """The database can't be looked into; the message says why, and what to do, in a sentence."""


@contextmanager
def looked_into(url: str) -> Iterator[Connection]:
    """A connection that can change nothing, and makes nothing where nothing is.

    Raises Unreadable, with a sentence, where there is none to be had.
    """
    engine = _engine(url)
    try:
        try:
            opened = engine.connect()
            if engine.dialect.name == "sqlite":
                # Only now the file is read.
                opened.execute(text("PRAGMA schema_version"))
        except DBAPIError as error:
            why = _reason(error, url)
            if engine.dialect.name == "sqlite":
                said = (
                    f"{engine.url.database} can't be read ({why}). If it is damaged, move it away "
                    "and put a backup back with benchapp restore."
                )
            else:
                said = f"It does not let us in ({why}). Start it, or correct --database."
            raise Unreadable(said) from error
        with opened:
            yield opened
    finally:
        engine.dispose()


def _engine(url: str) -> Engine:
    try:
        parsed = make_url(url)
        if parsed.get_backend_name() != "sqlite":
            options = (
                f"-c default_transaction_read_only=on -c lock_timeout={WAIT_S}s "
                f"-c statement_timeout={WAIT_S}s"
            )
            asked: dict[str, Any] = {"options": options, "connect_timeout": WAIT_S}
            return create_engine(parsed, poolclass=NullPool, connect_args=asked)
    except (ArgumentError, NoSuchModuleError, ImportError):
        # What it says may hold a password.
        raise Unreadable(
            "The database URL can't be used. It looks like sqlite:////home/me/bench.sqlite3 or "
            "postgresql+psycopg://user@host/name; PostgreSQL needs "
            "pip install 'benchapp[postgres]'."
        ) from None
    path = Path(parsed.database or "")
    if not os.path.isfile(path):  # Path's own raises where it may not look.
        raise Unreadable(
            f"There are no records in {path.parent} yet. Start benchapp serve once, or say with "
            "--data or --database where its records are."
        )
    file = f"{path.resolve().as_uri()}?mode=ro"
    return create_engine(
        parsed,
        poolclass=NullPool,
        creator=lambda: sqlite3.connect(file, uri=True, timeout=WAIT_S),
    )


def _reason(error: DBAPIError, url: str) -> str:
    """The driver's own words, without what was asked for and without a password."""
    said = next(iter(str(error.orig).splitlines()), "").rstrip(". ")
    parsed = make_url(url)
    for hidden in (parsed.password, parsed.query.get("password")):
        if hidden:
            said = said.replace(str(hidden), "…")
    return said or "no reason given"


def sqlite_mode(connection: Connection) -> Finding:
    """Where it is, and whether phones that read and phones that write wait for each other."""
    file = connection.engine.url.database
    mode = connection.scalar(text("PRAGMA journal_mode"))
    if mode != "wal":
        return Finding(
            "look",
            "database",
            f"{file} is in mode {mode}, not WAL, so phones wait for each other: benchapp serve "
            "sets it right.",
        )
    return Finding("ok", "database", f"SQLite {sqlite3.sqlite_version} in {file}, in WAL mode.")


def sqlite_whole(connection: Connection) -> Finding:
    """SQLite's own check of the file, without the costly part."""
    try:
        said = str(connection.scalar(text("PRAGMA quick_check(1)")))
    except DBAPIError as error:
        said = str(error.orig)
    if said != "ok":
        return Finding(
            "bad",
            "integrity",
            f"SQLite found damage ({' '.join(said.split())[:120]}). Stop the server, move the "
            "file away but keep it, and put the latest backup back with benchapp restore.",
        )
    return Finding("ok", "integrity", "SQLite found no damage.")


def postgres(connection: Connection) -> Finding:
    """That it answers, and its version."""
    version = str(connection.scalar(text("SHOW server_version"))).split(maxsplit=1)[0]
    return Finding("ok", "database", f"PostgreSQL {version} answers.")


def schema(connection: Connection) -> Finding:
    """Whether the tables are those of this version. They are left as they are."""
    found = None
    if inspect(connection).has_table("alembic_version"):
        found = connection.scalar(text("SELECT version_num FROM alembic_version"))
    if found is None:
        return Finding("look", "schema", "There are no tables yet: benchapp serve makes them.")
    if found > SCHEMA:
        return Finding(
            "bad",
            "schema",
            f"The tables ({found}) are those of a newer version of benchapp. Update this one.",
        )
    if found < SCHEMA:
        return Finding(
            "look",
            "schema",
            f"The tables ({found}) are older than this version's ({SCHEMA}): benchapp serve "
            "brings them up to date when it starts.",
        )
    return Finding("ok", "schema", f"The tables are those of this version ({SCHEMA}).")


# ---- messages to phones ------------------------------------------------------------------------


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
    sent = "nothing sent yet" if row["sent_ms"] is None else f"last sent {_when(row['sent_ms'])}"
    if row["trouble"]:
        since = "" if row["trouble_ms"] is None else f" ({_when(row['trouble_ms'])})"
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


# ---- the calendar ------------------------------------------------------------------------------


def calendars(connection: Connection) -> Finding:
    """How many private addresses are open, and when one was last read."""
    table = tables.calendar
    count, read_ms = connection.execute(
        select(func.count(), func.max(table.c.read_ms)).where(table.c.revoked_ms.is_(None))
    ).one()
    if not count:
        return Finding("ok", "calendar", "No private address is open.")
    those = "1 private address is" if count == 1 else f"{count} private addresses are"
    last = "never read" if read_ms is None else f"last read about {_when(read_ms)}"
    return Finding("ok", "calendar", f"{those} open, {last}.")


# ---- words -------------------------------------------------------------------------------------


def _when(at_ms: int) -> str:
    return f"{datetime.fromtimestamp(at_ms / 1000, UTC):%Y-%m-%d %H:%M} UTC"


def _span(ms: int) -> str:
    minutes = ms // 60_000
    if minutes < 120:
        return f"{minutes} minutes"
    return f"{minutes // 60} hours" if minutes < 48 * 60 else f"{minutes // 1440} days"
