"""Which device asks, by the cookie that it was given when it was paired.

It is asked in the transaction in which something is read or written for it: who was revoked
meanwhile gets and leaves nothing.
"""

from collections.abc import Iterator
from contextlib import contextmanager

from flask import Response, after_this_request, current_app, request
from sqlalchemy import Connection

from benchapp.records import devices
from benchapp.records.database import Unavailable
from benchapp.records.devices import Device
from benchapp.web import limits
from benchapp.web.clock import now_ms
from benchapp.web.current import database
from benchapp.web.errors import Refused

_DAY_S = 24 * 3600
_COOKIE_S = 400 * _DAY_S
# The longest that browsers keep a cookie (RFC 6265bis) is 400 days: sent again every 30.
_RENEW_MS = 30 * _DAY_S * 1000


@contextmanager
def reading() -> Iterator[tuple[Connection, Device]]:
    """A transaction that reads for the paired device that asks. Raises Refused (401) where none
    does."""
    with database().read() as connection:
        device = _paired(connection)
        yield connection, device
    _write_that_seen(device)


@contextmanager
def writing() -> Iterator[tuple[Connection, Device]]:
    """A transaction that writes for the paired device that asks. Raises Refused (401) where none
    does."""
    let_in()
    with database().write() as connection:
        device = _paired(connection, hold=True)
        yield connection, device
        if devices.is_seen_due(device, now_ms()):
            _see(connection, device)


def asker() -> Device | None:
    """The paired device that asks, None where none does."""
    if not device_cookie():
        return None
    with database().read() as connection:
        device = known_in(connection)
    if device is not None:
        _write_that_seen(device)
    return device


def let_in_to_the_desk() -> None:
    """Turn away who may not have the desk reckon, which reads and keeps no record: whoever is not
    paired, unless this server shows the invented workshop. Raises Refused (401)."""
    if not current_app.config["BENCHAPP_DEMO"]:
        let_in()


def let_in() -> None:
    """Turn away whoever is not paired, before it costs more. Raises Refused (401).

    Whose cookie was right not long ago is let in as far as the transaction.
    """
    if not limits.of_app().is_known(device_cookie()):
        with database().read() as connection:
            _paired(connection)


def known_in(connection: Connection, *, hold: bool = False) -> Device | None:
    """The paired device that asks, as this transaction sees it; None where none does. With `hold`
    it stays so until the end of the transaction, which must be one that may write."""
    cookie = device_cookie()
    device = devices.device_of(connection, cookie, hold=hold) if cookie else None
    if device is None:
        limits.of_app().forget(cookie)
    else:
        limits.of_app().know(cookie, device.id)
    return device


def _paired(connection: Connection, *, hold: bool = False) -> Device:
    device = known_in(connection, hold=hold)
    if device is None:
        raise Refused(
            "This device is not paired with the workshop. Pair it with a code.",
            status=401,
            also={"paired": False},
        )
    return device


def _write_that_seen(device: Device) -> None:
    try:
        if devices.is_seen_due(device, now_ms()):
            with database().write() as connection:
                _see(connection, device)
    except Unavailable as error:
        # No reason to turn it away.
        current_app.logger.warning("Not written when a device was seen: %s", error)


def _see(connection: Connection, device: Device) -> None:
    now = now_ms()
    devices.mark_seen(connection, device, now)
    if now // _RENEW_MS != device.seen_ms // _RENEW_MS:
        cookie = device_cookie()
        after_this_request(lambda response: set_device_cookie(response, cookie))


# ---- the cookie --------------------------------------------------------------------------------


def cookie_names(secure: bool) -> dict[str, str]:
    """Settings: under TLS names that no other host and no plain HTTP can set (RFC 6265bis)."""
    prefix = "__Host-" if secure else ""
    return {
        "SESSION_COOKIE_NAME": f"{prefix}bench",
        "DEVICE_COOKIE_NAME": f"{prefix}bench_device",
    }


def device_cookie() -> str:
    """What the asking device sent, empty where it sent none."""
    return request.cookies.get(current_app.config["DEVICE_COOKIE_NAME"], "")


def set_device_cookie(response: Response, cookie: str) -> Response:
    """Let the answer give the device its cookie."""
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
