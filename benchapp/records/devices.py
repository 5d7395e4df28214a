"""Workshops, and the devices that may come into them. There are no passwords: a device is paired.

A code of eight characters, 32 to choose from each time, lets one device in, once, within ten
minutes. The device gets a secret of 32 random bytes; the server keeps only its SHA-256, and that
of a code. A device that is revoked stays outside.

How far guessing gets, for one workshop. Its codes alive at one moment are at most
``MOST_CODES`` = 3. All the addresses of the world together may be wrong ``MOST_WRONG`` = 60 times
in any minute, counted in the database and so the same for all processes: 600 guesses in the ten
minutes that a code lives. 3 × 600 / 32⁸ = 1800 / 1 099 511 627 776, about 1 in 610 million.

The alphabet is that of Douglas Crockford's base 32 (crockford.com/base32.html): no letter that
looks like a digit, and O, I and L are read as the digits that they look like.
"""

import hashlib
import hmac
import ipaddress
import math
import secrets
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, RowMapping, Select, delete, func, insert, select, text, update

from benchapp.records import tables
from benchapp.words import t

ALPHABET = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
LENGTH = 8
LIFE_MS = 10 * 60_000
"""How long a code lives."""

MOST_CODES = 3
"""Codes of one workshop that are alive at once: a further one ends the oldest."""

WINDOW_MS = 60_000
MOST_WRONG = 60
"""Wrong codes in any minute, from everywhere."""
MOST_WRONG_FROM_ONE = 10
"""Wrong codes in any minute, from one address (IPv6: from one /64, which one line has)."""

SEEN_MS = 60_000
"""When a device was last seen is written at most this often."""

MOST_NAME = 60
"""Characters of the name of a device or workshop."""

_FORGET_CODES_MS = 24 * 3_600_000
_SHOW_REVOKED_MS = 30 * 24 * 3_600_000
_LOOK_ALIKES = str.maketrans({"O": "0", "I": "1", "L": "1", " ": None, "-": None})
# Any number, as long as it is always the same one.
_PAIRING_LOCK = 5209742


@dataclass(frozen=True)
class Device:
    """A paired device, and the workshop that it may come into."""

    id: str
    name: str
    workshop_id: str
    workshop_name: str
    made_ms: int
    seen_ms: int
    revoked_ms: int | None


@dataclass(frozen=True)
class Paired:
    """A device that was let in, and the secret that it must show from now on."""

    device: Device
    secret: str


@dataclass(frozen=True)
class Turned:
    """A device that was not let in. `wait_s`: too many wrong codes, none is read before that."""

    why: str
    wait_s: int | None = None


# ---- workshops ---------------------------------------------------------------------------------


def make_workshop(connection: Connection, name: str, now_ms: int) -> RowMapping:
    """Add a workshop. Raises ValueError, with a sentence, where the name is none."""
    made = {
        "id": secrets.token_hex(8),
        "name": checked_name(name),
        "seq": 0,
        "era": secrets.token_hex(8),
        "made_ms": now_ms,
        "newest_ms": 0,
    }
    connection.execute(insert(tables.workshop).values(made))
    return _workshops(connection, made["id"])[0]


def the_workshop(connection: Connection, now_ms: int) -> RowMapping:
    """The first workshop, made on first use. Needs a transaction that may write."""
    _one_at_a_time(connection)
    found = workshops(connection)
    return found[0] if found else make_workshop(connection, t("Workshop"), now_ms)


def workshops(connection: Connection) -> list[RowMapping]:
    """All workshops, the first made first."""
    return _workshops(connection, None)


def _workshops(connection: Connection, workshop_id: object) -> list[RowMapping]:
    query = select(tables.workshop).order_by(tables.workshop.c.made_ms, tables.workshop.c.id)
    if workshop_id is not None:
        query = query.where(tables.workshop.c.id == workshop_id)
    return list(connection.execute(query).mappings())


# ---- codes -------------------------------------------------------------------------------------


def make_code(connection: Connection, workshop_id: str, now_ms: int) -> tuple[str, int]:
    """Make a code that lets one device into the workshop.

    Returns it as ``XXXX-XXXX``, and when it ends in milliseconds since 1970.
    """
    _one_at_a_time(connection)
    pairing = tables.pairing
    connection.execute(delete(pairing).where(pairing.c.expires_ms < now_ms - _FORGET_CODES_MS))
    alive = (pairing.c.workshop_id == workshop_id) & pairing.c.used_ms.is_(None)
    # Two made in one millisecond: which of them is older does not matter.
    kept = connection.scalars(
        select(pairing.c.code_sha256)
        .where(alive)
        .order_by(pairing.c.made_ms.desc(), pairing.c.code_sha256)
        .limit(MOST_CODES - 1)
    ).all()
    connection.execute(delete(pairing).where(alive, pairing.c.code_sha256.not_in(kept)))
    code = "".join(secrets.choice(ALPHABET) for _ in range(LENGTH))
    expires_ms = now_ms + LIFE_MS
    connection.execute(
        insert(pairing).values(
            code_sha256=_sha256(code),
            workshop_id=workshop_id,
            made_ms=now_ms,
            expires_ms=expires_ms,
        )
    )
    return f"{code[:4]}-{code[4:]}", expires_ms


def read_code(typed: str) -> str | None:
    """A code as it was typed, in the form in which it was made; None where it can't be one."""
    code = typed.upper().translate(_LOOK_ALIKES)
    return code if len(code) == LENGTH and set(code) <= set(ALPHABET) else None


def pair(
    connection: Connection, typed: str, *, name: str, agent: str, address: str, now_ms: int
) -> Paired | Turned:
    """Let a device in with a code. Commit also where it was turned away: its try is counted.

    `agent` is what the browser calls itself, `address` where it asks from. Raises ValueError,
    with a sentence, where `name` is none; the code is untouched then.
    """
    name = checked_name(name)
    _one_at_a_time(connection)
    origin = _origin(address)
    wait_s = _wait_s(connection, origin, now_ms)
    if wait_s is not None:
        return Turned(f"Too many wrong codes. Wait {_in_words(wait_s)}, then try again.", wait_s)
    code = read_code(typed)
    if code is None:
        # Nothing was guessed: no code looks like that.
        return Turned(f"A code has {LENGTH} letters and digits, such as 7KQ4-M2XD. Check it.")
    pairing = tables.pairing
    used = connection.execute(
        update(pairing)
        .where(
            pairing.c.code_sha256 == _sha256(code),
            pairing.c.used_ms.is_(None),
            pairing.c.expires_ms > now_ms,
        )
        .values(used_ms=now_ms)
    )
    if used.rowcount != 1:
        connection.execute(insert(tables.attempt).values(at_ms=now_ms, address=origin))
        return Turned(
            "This code is not known, was used already, or is too old: each works once, for "
            f"{LIFE_MS // 60_000} minutes. Check it, or ask for a new one."
        )
    workshop_id = connection.scalar(
        select(pairing.c.workshop_id).where(pairing.c.code_sha256 == _sha256(code))
    )
    secret = secrets.token_urlsafe(32)
    made = {
        "id": secrets.token_hex(8),
        "workshop_id": workshop_id,
        "name": name,
        "secret_sha256": _sha256(secret),
        "agent": "".join(each for each in agent if each.isprintable())[:200],
        "made_ms": now_ms,
        "seen_ms": now_ms,
    }
    connection.execute(insert(tables.device).values(made))
    device = _row(connection, str(made["id"]))
    assert device is not None  # noqa: S101  (just written)
    return Paired(_device(device), secret)


def _wait_s(connection: Connection, origin: str, now_ms: int) -> int | None:
    """Seconds until another code is read, or None where one is read now."""
    attempt = tables.attempt
    # A row from the future is of a clock that was set back since: it must not count for long.
    within = (attempt.c.at_ms > now_ms - WINDOW_MS) & (attempt.c.at_ms <= now_ms)
    connection.execute(delete(attempt).where(~within))
    waits = []
    for most, which in (
        (MOST_WRONG, within),
        (MOST_WRONG_FROM_ONE, within & (attempt.c.address == origin)),
    ):
        times = connection.scalars(
            select(attempt.c.at_ms).where(which).order_by(attempt.c.at_ms.desc()).limit(most)
        ).all()
        if len(times) == most:
            waits.append(times[-1] + WINDOW_MS - now_ms)
    return math.ceil(max(waits) / 1000) if waits else None


def _origin(address: str) -> str:
    """What counts as one address: an IPv6 line has 2⁶⁴ and more (RFC 6177), so its /64 counts."""
    try:
        found = ipaddress.ip_address(address.partition("%")[0])
    except ValueError:
        return address[:64]
    if isinstance(found, ipaddress.IPv6Address):
        if found.ipv4_mapped is not None:
            return str(found.ipv4_mapped)
        return str(ipaddress.ip_network((int(found), 64), strict=False))
    return str(found)


def _in_words(wait_s: int) -> str:
    return "1 second" if wait_s == 1 else f"{wait_s} seconds"


def _one_at_a_time(connection: Connection) -> None:
    """Let no other pairing run beside this transaction: two could both be the sixtieth wrong code,
    and of two new codes one could take the other for an old one."""
    if connection.dialect.name != "sqlite":
        connection.execute(text("SELECT pg_advisory_xact_lock(:lock)"), {"lock": _PAIRING_LOCK})


# ---- devices -----------------------------------------------------------------------------------


def device_of(connection: Connection, cookie: str) -> Device | None:
    """The device that shows this cookie (``<id>.<secret>``), or None: unknown, wrong or revoked."""
    device_id, _, secret = cookie.partition(".")
    row = _row(connection, device_id) if device_id.isascii() and device_id.isalnum() else None
    kept = row["secret_sha256"] if row else _sha256("")
    right = hmac.compare_digest(kept, _sha256(secret))
    return _device(row) if row and right and row["revoked_ms"] is None else None


def mark_seen(connection: Connection, device: Device, now_ms: int) -> None:
    """Write down that a device was there."""
    connection.execute(
        update(tables.device)
        .where(tables.device.c.id == device.id, tables.device.c.workshop_id == device.workshop_id)
        .values(seen_ms=now_ms)
    )


def is_seen_due(device: Device, now_ms: int) -> bool:
    """Whether `mark_seen` is due."""
    return abs(now_ms - device.seen_ms) >= SEEN_MS


def devices(connection: Connection, workshop_id: str, now_ms: int) -> list[Device]:
    """Who is paired with a workshop, the last seen first; then who was revoked in 30 days."""
    table = tables.device
    rows = connection.execute(
        _joined()
        .where(
            table.c.workshop_id == workshop_id,
            table.c.revoked_ms.is_(None) | (table.c.revoked_ms > now_ms - _SHOW_REVOKED_MS),
        )
        .order_by(table.c.revoked_ms.is_not(None), table.c.seen_ms.desc(), table.c.id)
    )
    return [_device(row) for row in rows.mappings()]


def rename(connection: Connection, workshop_id: str, device_id: str, name: str) -> bool:
    """Give a device another name. False: the workshop has none of that id. ValueError: no name."""
    return _change(connection, workshop_id, device_id, {"name": checked_name(name)})


def revoke(connection: Connection, workshop_id: str, device_id: str, now_ms: int) -> bool:
    """Let a device in no more, from this moment on, and forget where it listens. False: the
    workshop has none of that id."""
    if _change(connection, workshop_id, device_id, {"revoked_ms": now_ms}):
        listens = tables.subscription
        connection.execute(delete(listens).where(listens.c.device_id == device_id))
        return True
    return _is_there(connection, workshop_id, device_id)


def is_anyone_paired(connection: Connection) -> bool:
    """Whether any device may come in, to any workshop."""
    query = select(func.count()).where(tables.device.c.revoked_ms.is_(None))
    return bool(connection.scalar(query))


def checked_name(name: object) -> str:
    """A name without spaces around it. Raises ValueError, with a sentence, where it is none."""
    found = name.strip() if isinstance(name, str) else ""
    if not found:
        raise ValueError("A name is needed, so that you can tell one from another.")
    if len(found) > MOST_NAME or not found.isprintable():
        raise ValueError(f"A name is up to {MOST_NAME} letters, digits and signs on one line.")
    return found


def _change(
    connection: Connection, workshop_id: str, device_id: str, values: dict[str, object]
) -> bool:
    table = tables.device
    which = (table.c.id == device_id, table.c.workshop_id == workshop_id)
    changed = connection.execute(
        update(table).where(*which, table.c.revoked_ms.is_(None)).values(values)
    )
    return changed.rowcount == 1


def _is_there(connection: Connection, workshop_id: str, device_id: str) -> bool:
    row = _row(connection, device_id)
    return row is not None and row["workshop_id"] == workshop_id


def _joined() -> Select[Any]:
    return select(tables.device, tables.workshop.c.name.label("workshop_name")).join(
        tables.workshop, tables.workshop.c.id == tables.device.c.workshop_id
    )


def _row(connection: Connection, device_id: str) -> RowMapping | None:
    return connection.execute(_joined().where(tables.device.c.id == device_id)).mappings().first()


def _device(row: RowMapping) -> Device:
    return Device(**{name: row[name] for name in Device.__dataclass_fields__})


def _sha256(said: str) -> str:
    return hashlib.sha256(said.encode("utf-8", "surrogatepass")).hexdigest()
