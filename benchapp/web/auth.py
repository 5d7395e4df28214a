"""Which device asks, by the cookie that it was given when it was paired."""

from flask import Response, after_this_request, current_app, request

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


def paired_device() -> Device:
    """The paired device that asks. Raises Refused (401) where none does."""
    device = device_of(device_cookie())
    if device is None:
        raise Refused(
            "This device is not paired with the workshop. Pair it with a code.",
            status=401,
            also={"paired": False},
        )
    return device


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


def device_of(cookie: str) -> Device | None:
    """The device that the cookie is of, marked as seen; None where it may not come in."""
    if not cookie:
        return None
    with database().read() as connection:
        device = devices.device_of(connection, cookie)
    if device is None:
        limits.of_app().forget(cookie)
        return None
    limits.of_app().know(cookie, device.id)
    now = now_ms()
    if devices.is_seen_due(device, now):
        try:
            with database().write() as connection:
                devices.mark_seen(connection, device, now)
        except Unavailable as error:
            # No reason to turn it away.
            current_app.logger.warning("Not written when a device was seen: %s", error)
        if now // _RENEW_MS != device.seen_ms // _RENEW_MS:
            after_this_request(lambda response: set_device_cookie(response, cookie))
    return device


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
