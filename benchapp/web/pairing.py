"""Who may come in: pairing by a one-time code, the cookie of a paired device, the list of devices.

Other rooms ask `who()` for the device of a request; without one the answer is 401.
"""

import re
from dataclasses import dataclass
from typing import Any
from urllib.parse import urlsplit

from flask import Blueprint, Response, after_this_request, current_app, jsonify, request
from flask_wtf.csrf import generate_csrf  # type: ignore[import-untyped]

from benchapp.records import devices, pairing_codes, workshops
from benchapp.records.database import Database, Unavailable
from benchapp.records.devices import Device
from benchapp.records.exchange import PROTOCOL
from benchapp.web import limits, terminal
from benchapp.web.clock import now_ms
from benchapp.web.errors import Refused

__all__ = [
    "Invitation",
    "greeting",
    "invite",
    "name_cookies",
    "now_ms",
    "own_address",
    "room",
    "who",
]

room = Blueprint("pairing", __name__)

_DAY_S = 24 * 3600
_COOKIE_S = 400 * _DAY_S
# The longest that browsers keep a cookie (RFC 6265bis) is 400 days: sent again every 30.
_RENEW_MS = 30 * _DAY_S * 1000
_NOT_PAIRED = "This device is not paired with the workshop. Pair it with a code."
_HOST = re.compile(r"([\w.-]{1,253}|\[[0-9a-fA-F:.]{2,45}\])(:\d{1,5})?", re.ASCII)


# ---- for other rooms ---------------------------------------------------------------------------


def who() -> Device:
    """The paired device that asks. Raises Refused (401) where none does."""
    device = _device_of(_cookie())
    if device is None:
        raise Refused(401, _NOT_PAIRED, paired=False)
    return device


def own_address() -> str:
    """Where the asking phone found the server, such as 'https://bench.local:8000/': good for the
    phone itself and the one beside it, and for nobody else. Raises Refused (400)."""
    if not _HOST.fullmatch(request.host):
        raise Refused(400, "The server could not read its own address in that request.")
    return request.host_url


def name_cookies(secure: bool) -> dict[str, str]:
    """Settings: under TLS names that no other host and no plain HTTP can set (RFC 6265bis)."""
    prefix = "__Host-" if secure else ""
    return {
        "SESSION_COOKIE_NAME": f"{prefix}bench",
        "DEVICE_COOKIE_NAME": f"{prefix}bench_device",
    }


def _cookie() -> str:
    return request.cookies.get(current_app.config["DEVICE_COOKIE_NAME"], "")


def _device_of(cookie: str) -> Device | None:
    if not cookie:
        return None
    with _database().read() as connection:
        device = devices.device_of(connection, cookie)
    if device is None:
        limits.of_app().forget(cookie)
        return None
    limits.of_app().know(cookie, device.id)
    now = now_ms()
    if devices.is_seen_due(device, now):
        try:
            with _database().write() as connection:
                devices.mark_seen(connection, device, now)
        except Unavailable as error:
            # No reason to turn it away.
            current_app.logger.warning("Not written when a device was seen: %s", error)
        if now // _RENEW_MS != device.seen_ms // _RENEW_MS:
            after_this_request(lambda response: _set_cookie(response, cookie))
    return device


def _set_cookie(response: Response, cookie: str) -> Response:
    response.set_cookie(
        current_app.config["DEVICE_COOKIE_NAME"],
        cookie,
        max_age=_COOKIE_S,
        path="/",
        secure=bool(current_app.config["SESSION_COOKIE_SECURE"]),
        httponly=True,
        samesite="Strict",
    )
    return response


def _database() -> Database:
    found: Database = current_app.extensions["database"]
    return found


@room.after_request
def _never_cached(response: Response) -> Response:
    response.headers["Cache-Control"] = "no-store"
    return response


# ---- coming in ---------------------------------------------------------------------------------


@room.get("/api/me")
def me() -> Response:
    """What a phone asks first: whether it is paired, the server's time, and a form token."""
    device = _device_of(_cookie())
    return jsonify(
        protocol=PROTOCOL,
        now_ms=now_ms(),
        csrf=generate_csrf(),
        paired=device is not None,
        **(_about(device) if device else {}),
    )


@room.post("/api/pair")
def pair() -> Response:
    """Let the asking device in with a code; the place that it had before is given up."""
    body = limits.json_body()
    code, name = body.get("code"), body.get("name")
    if not isinstance(code, str):
        raise Refused(400, "A code is needed.")
    cookie = _cookie()
    now = now_ms()
    with _database().write() as connection:
        before = devices.device_of(connection, cookie)
        try:
            done = pairing_codes.pair(
                connection,
                code,
                name=_name(name),
                agent=request.headers.get("User-Agent", ""),
                address=request.remote_addr or "",
                now_ms=now,
            )
        except ValueError as error:
            raise Refused(400, str(error), field="name") from error
        if before is not None and isinstance(done, pairing_codes.Paired):
            devices.revoke(connection, before.workshop_id, before.id, now)
    if isinstance(done, pairing_codes.TurnedAway):
        status = 400 if done.wait_s is None else 429
        raise Refused(status, done.why, retry_s=done.wait_s)
    limits.of_app().forget(cookie)
    fresh = f"{done.device.id}.{done.secret}"
    limits.of_app().know(fresh, done.device.id)
    return _set_cookie(jsonify(_about(done.device)), fresh)


def _about(device: Device) -> dict[str, Any]:
    return {
        "workshop": {"id": device.workshop_id, "name": device.workshop_name},
        "device": {"id": device.id, "name": device.name},
    }


def _name(name: object) -> str:
    return name if isinstance(name, str) else ""


# ---- inviting another --------------------------------------------------------------------------


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
        lives = f"The code {self.code} works once, for {pairing_codes.LIFE_MS // 60_000} minutes.\n"
        if _is_loopback(self.url):
            # What a phone would look for at this address is itself.
            return f"To pair a browser on this machine, open {self.url}\n{lives}"
        drawn = terminal.qr(self.url)
        return f"To let a phone in, scan this on it, or open {self.url}\n{drawn}{lives}"


def _is_loopback(url: str) -> bool:
    host = urlsplit(url).hostname or ""
    return host in ("localhost", "::1") or host.startswith("127.")


def greeting(database: Database, url: str, *, always: bool) -> str:
    """What a server that has just started says to whom nobody has paired with yet.

    Nothing where a device is paired, unless `always`. The server is found at `url`.
    """
    try:
        with database.read() as connection:
            if devices.is_anyone_paired(connection) and not always:
                return ""
        return invite(database, url, None, now_ms()).text()
    except Unavailable as error:
        return f"No code could be made. {error}\n"


def invite(database: Database, url: str, workshop_id: str | None, now_ms: int) -> Invitation:
    """Make a code for a workshop (None: the first one); `url` is where the server is found."""
    with database.write() as connection:
        if workshop_id is None:
            workshop_id = workshops.first_workshop(connection, now_ms)["id"]
        code, expires_ms = pairing_codes.make_code(connection, workshop_id, now_ms)
    return Invitation(code, expires_ms, f"{url.rstrip('/')}/#/pair/{code}")


@room.post("/api/code")
def code() -> Response:
    """A code with which the asking device lets another one into its workshop."""
    device = who()
    made = invite(_database(), own_address(), device.workshop_id, now_ms())
    return jsonify(
        code=made.code,
        expires_ms=made.expires_ms,
        # For a phone whose clock is wrong.
        lives_s=pairing_codes.LIFE_MS // 1000,
        url=made.url,
        rows=made.rows(),
    )


# ---- the devices -------------------------------------------------------------------------------


@room.get("/api/devices")
def listed() -> Response:
    """The devices of the asking device's workshop."""
    here = who()
    with _database().read() as connection:
        found = devices.list_devices(connection, here.workshop_id, now_ms())
    return jsonify(
        [
            {
                "id": each.id,
                "name": each.name,
                "made_ms": each.made_ms,
                "seen_ms": each.seen_ms,
                "revoked_ms": each.revoked_ms,
                "this": each.id == here.id,
            }
            for each in found
        ]
    )


@room.post("/api/devices/<device_id>/revoke")
def revoke(device_id: str) -> Response:
    """Let a device of the same workshop in no more."""
    here = who()
    with _database().write() as connection:
        found = devices.revoke(connection, here.workshop_id, device_id, now_ms())
    return _done(found)


@room.post("/api/devices/<device_id>/rename")
def rename(device_id: str) -> Response:
    """Give a device of the same workshop another name."""
    here = who()
    name = limits.json_body().get("name")
    try:
        with _database().write() as connection:
            found = devices.rename(connection, here.workshop_id, device_id, _name(name))
    except ValueError as error:
        raise Refused(400, str(error), field="name") from error
    return _done(found)


def _done(found: bool) -> Response:
    if not found:
        raise Refused(404, "There is no such device here. Look at the list again.")
    return jsonify(done=True)
