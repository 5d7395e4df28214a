"""One-time codes that let a device in: pairing. There are no passwords.

A code of eight characters, 32 to choose from each time, lets one device in, once, within ten
minutes. The device gets a secret of 32 random bytes; the server keeps only the SHA-256 of it, and
of a code.

How far guessing gets, for one workshop. At most ``MOST_CODES`` = 3 of its codes are alive at one
moment. All the addresses of the world together may be wrong ``MOST_WRONG`` = 60 times in any
minute, counted in the database and so the same for all processes: 600 guesses in the ten minutes
that a code lives. 3 × 600 / 32⁸ = 1800 / 1 099 511 627 776, about 1 in 610 million.

The alphabet is that of Douglas Crockford's base 32 (crockford.com/base32.html): no letter that
looks like a digit, and O, I and L are read as the digits that they look like.
"""

import math
import secrets
from dataclasses import dataclass

from sqlalchemy import Connection, delete, insert, select, update

from benchapp.records import tables
from benchapp.records.database import Lock, lock_until_commit
from benchapp.records.devices import Device, add_device, sha256_of
from benchapp.records.names import checked_name
from benchapp.records.network_source import source_of
from benchapp.words import Message, message, plural

ALPHABET = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
LENGTH = 8
LIFE_MS = 10 * 60_000
"""How long a code lives."""

MOST_CODES = 3
"""Codes of one workshop that are alive at once: a further one ends the oldest. What a server prints
by itself when it starts ends none (``end_of_first``)."""

WINDOW_MS = 60_000
MOST_WRONG = 60
"""Wrong codes in any minute, from everywhere."""
MOST_WRONG_FROM_ONE = 10
"""Wrong codes in any minute, from one address (IPv6: from one /64, which one line has)."""

_FORGET_MS = 24 * 3_600_000
_LOOK_ALIKES = str.maketrans({"O": "0", "I": "1", "L": "1", " ": None, "-": None})


@dataclass(frozen=True)
class Paired:
    """A device that was let in, and the secret that it must show from now on."""

    device: Device
    secret: str


@dataclass(frozen=True)
class TurnedAway:
    """A device that was not let in.

    Attributes:
        why: a sentence.
        wait_s: too many codes were wrong, and none is read for so many seconds; None: another may
            be tried at once.
    """

    why: Message
    wait_s: int | None = None


def make_code(connection: Connection, workshop_id: str, now_ms: int) -> tuple[str, int]:
    """Make a code that lets one device into the workshop.

    Returns it as ``XXXX-XXXX``, and when it ends in milliseconds since 1970.
    """
    _lock_pairing(connection)
    pairing = tables.pairing
    connection.execute(delete(pairing).where(pairing.c.expires_ms < now_ms - _FORGET_MS))
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
            code_sha256=sha256_of(code),
            workshop_id=workshop_id,
            made_ms=now_ms,
            expires_ms=expires_ms,
        )
    )
    return f"{code[:4]}-{code[4:]}", expires_ms


def end_of_first(connection: Connection, workshop_id: str, now_ms: int) -> int | None:
    """When the first of a workshop's codes ends, in milliseconds since 1970, where as many wait as
    may: a further one would end it now, while someone may be typing it. None: there is room.

    Until this transaction ends no other code is made.
    """
    _lock_pairing(connection)
    pairing = tables.pairing
    ends = connection.scalars(
        select(pairing.c.expires_ms)
        .where(
            pairing.c.workshop_id == workshop_id,
            pairing.c.used_ms.is_(None),
            pairing.c.expires_ms > now_ms,
        )
        .order_by(pairing.c.expires_ms)
    ).all()
    return ends[0] if len(ends) >= MOST_CODES else None


def read_code(typed: str) -> str | None:
    """A code as it was typed, in the form in which it was made; None where it can't be one."""
    code = typed.upper().translate(_LOOK_ALIKES)
    return code if len(code) == LENGTH and set(code) <= set(ALPHABET) else None


def pair(
    connection: Connection, typed: str, *, name: str, agent: str, address: str, now_ms: int
) -> Paired | TurnedAway:
    """Let a device in with a code. Commit also where it was turned away: its try is counted.

    Args:
        typed: the code as it was typed.
        name: what the device shall be called.
        agent: what the browser calls itself.
        address: where it asks from.
        now_ms: milliseconds since 1970.

    Raises InputError where the name can't be one; the code is untouched then.
    """
    name = checked_name(name)
    _lock_pairing(connection)
    source = source_of(address)
    wait_s = _wait_s(connection, source, now_ms)
    if wait_s is not None:
        why = message(
            "Too many wrong codes. Wait {span}, then try again.",
            span=plural(wait_s, "{n} second", "{n} seconds"),
        )
        return TurnedAway(why, wait_s)
    code = read_code(typed)
    if code is None:
        # Nothing was guessed: no code looks like that.
        return TurnedAway(
            message(
                "A code has {length} letters and digits, such as {example}. Check it.",
                length=LENGTH,
                example="7KQ4-M2XD",
            )
        )
    pairing = tables.pairing
    used = connection.execute(
        update(pairing)
        .where(
            pairing.c.code_sha256 == sha256_of(code),
            pairing.c.used_ms.is_(None),
            pairing.c.expires_ms > now_ms,
        )
        .values(used_ms=now_ms)
    )
    if used.rowcount != 1:
        connection.execute(insert(tables.attempt).values(at_ms=now_ms, address=source))
        return TurnedAway(
            message(
                "This code is not known, was used already, or is too old: each works once, for "
                "{span}, and only the last {most} that were made. Check it, or ask for a new one.",
                span=plural(LIFE_MS // 60_000, "{n} minute", "{n} minutes"),
                most=MOST_CODES,
            )
        )
    workshop_id = connection.scalar(
        select(pairing.c.workshop_id).where(pairing.c.code_sha256 == sha256_of(code))
    )
    assert workshop_id is not None  # noqa: S101  (just used)
    return Paired(*add_device(connection, workshop_id, name, agent, now_ms))


def _wait_s(connection: Connection, source: str, now_ms: int) -> int | None:
    """Seconds until another code is read, or None where one is read now."""
    attempt = tables.attempt
    # A row from the future is of a clock that was set back since: it must not count for long.
    within = (attempt.c.at_ms > now_ms - WINDOW_MS) & (attempt.c.at_ms <= now_ms)
    connection.execute(delete(attempt).where(~within))
    waits = []
    for most, which in (
        (MOST_WRONG, within),
        (MOST_WRONG_FROM_ONE, within & (attempt.c.address == source)),
    ):
        times = connection.scalars(
            select(attempt.c.at_ms).where(which).order_by(attempt.c.at_ms.desc()).limit(most)
        ).all()
        if len(times) == most:
            waits.append(times[-1] + WINDOW_MS - now_ms)
    return math.ceil(max(waits) / 1000) if waits else None


def _lock_pairing(connection: Connection) -> None:
    """Let no other pairing run beside this transaction: two could both be the sixtieth wrong code,
    and of two new codes one could take the other for an old one."""
    lock_until_commit(connection, Lock.PAIRING)
