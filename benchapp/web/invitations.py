"""One-time codes that let a device in, and how they are told: as text, and as a QR code."""

import math
from dataclasses import dataclass
from urllib.parse import urlsplit

from sqlalchemy import Connection

from benchapp.records import devices, pairing_codes, workshops
from benchapp.records.database import Database, Unavailable
from benchapp.web import terminal
from benchapp.web.clock import now_ms
from benchapp.words import plural, t


@dataclass(frozen=True)
class Invitation:
    """A code, and the address that a phone opens with it."""

    code: str
    expires_ms: int
    url: str

    def rows(self) -> list[list[int]]:
        """The QR code (ISO/IEC 18004) of the address: 1 is dark; without the light margin."""
        import segno  # noqa: PLC0415

        return [list(row) for row in segno.make(self.url, error="m", micro=False).matrix]

    def text(self) -> str:
        """Lines for a terminal, with a line break after each."""
        lives = plural(
            pairing_codes.LIFE_MS // 60_000,
            "The code {code} works once, for {n} minute.",
            "The code {code} works once, for {n} minutes.",
            code=self.code,
        )
        if _is_loopback(self.url):
            # What a phone would look for at this address is itself.
            opened = t("To pair a browser on this machine, open {url}", url=self.url)
            return f"{opened}\n{lives}\n"
        opened = t("To let a phone in, scan this on it, or open {url}", url=self.url)
        return f"{opened}\n{terminal.qr(self.url)}{lives}\n"


def _is_loopback(url: str) -> bool:
    host = urlsplit(url).hostname or ""
    return host in ("localhost", "::1") or host.startswith("127.")


def greeting(database: Database, url: str, *, always: bool) -> str:
    """What a server that has just started says to whom nobody has paired with yet.

    Nothing where a device is paired, unless `always`. The server is found at `url`. Several may
    start at one database: what another has printed, and someone may be typing, is left alone, and
    none is printed that is dead by then. A code that was asked for by `always` is made.
    """
    now = now_ms()
    try:
        with database.read() as connection:
            if devices.is_anyone_paired(connection) and not always:
                return ""
        with database.write() as connection:
            workshop_id = workshops.first_workshop(connection, now)["id"]
            ends_ms = pairing_codes.end_of_first(connection, workshop_id, now)
            if ends_ms is not None and not always:
                # Another may have been made a moment later than this one has looked at the clock.
                return _wait_for(min(ends_ms - now, pairing_codes.LIFE_MS))
            return make_invitation(connection, url, workshop_id, now).text()
    except Unavailable as error:
        return t("No code could be made. {why}", why=error) + "\n"


def _wait_for(ms: int) -> str:
    said = plural(
        math.ceil(ms / 60_000),
        "{most} codes that were printed before still wait for a device, the first of them for {n} "
        "minute. Use one of them, or make another with benchapp pair, which ends the oldest.",
        "{most} codes that were printed before still wait for a device, the first of them for {n} "
        "minutes. Use one of them, or make another with benchapp pair, which ends the oldest.",
        most=pairing_codes.MOST_CODES,
    )
    return f"{said}\n"


def invite(database: Database, url: str, workshop_id: str | None, now_ms: int) -> Invitation:
    """Make a code for a workshop (None: the first one); `url` is where the server is found."""
    with database.write() as connection:
        if workshop_id is None:
            workshop_id = workshops.first_workshop(connection, now_ms)["id"]
        return make_invitation(connection, url, workshop_id, now_ms)


def make_invitation(connection: Connection, url: str, workshop_id: str, now_ms: int) -> Invitation:
    """Make a code for a workshop; `url` is where the server is found."""
    code, expires_ms = pairing_codes.make_code(connection, workshop_id, now_ms)
    return Invitation(code, expires_ms, f"{url.rstrip('/')}/#/pair/{code}")
