"""Pairing over HTTP: coming in by a one-time code, letting another in, the list of devices."""

from typing import Any

from flask import Blueprint, Response, jsonify, request
from flask_wtf.csrf import generate_csrf  # type: ignore[import-untyped]

from benchapp.records import devices, pairing_codes
from benchapp.records.devices import Device
from benchapp.records.exchange import PROTOCOL
from benchapp.web import limits
from benchapp.web.auth import (
    asker,
    device_cookie,
    known_in,
    let_in,
    reading,
    set_device_cookie,
    writing,
)
from benchapp.web.clock import now_ms
from benchapp.web.current import database, own_address
from benchapp.web.errors import Refused
from benchapp.web.invitations import make_invitation

room = Blueprint("pairing", __name__)


@room.after_request
def _never_cached(response: Response) -> Response:
    response.headers["Cache-Control"] = "no-store"
    return response


# ---- coming in ---------------------------------------------------------------------------------


@room.get("/api/me")
def me() -> Response:
    """What a phone asks first: whether it is paired, the server's time, and a form token."""
    device = asker()
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
        raise Refused("Type the code first.", status=400)
    cookie = device_cookie()
    now = now_ms()
    with database().write() as connection:
        before = known_in(connection)
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
            raise Refused(error, status=400, also={"field": "name"}) from error
        if before is not None and isinstance(done, pairing_codes.Paired):
            devices.revoke(connection, before.workshop_id, before.id, now)
    if isinstance(done, pairing_codes.TurnedAway):
        status = 400 if done.wait_s is None else 429
        raise Refused(done.why, status=status, retry_s=done.wait_s)
    limits.of_app().forget(cookie)
    fresh = f"{done.device.id}.{done.secret}"
    limits.of_app().know(fresh, done.device.id)
    return set_device_cookie(jsonify(_about(done.device)), fresh)


def _about(device: Device) -> dict[str, Any]:
    return {
        "workshop": {"id": device.workshop_id, "name": device.workshop_name},
        "device": {"id": device.id, "name": device.name},
    }


def _name(name: object) -> str:
    return name if isinstance(name, str) else ""


# ---- letting another in ------------------------------------------------------------------------


@room.post("/api/code")
def code() -> Response:
    """A code with which the asking device lets another one into its workshop."""
    with writing() as (connection, device):
        made = make_invitation(connection, own_address(), device.workshop_id, now_ms())
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
    with reading() as (connection, here):
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
    with writing() as (connection, here):
        found = devices.revoke(connection, here.workshop_id, device_id, now_ms())
    return _done(found)


@room.post("/api/devices/<device_id>/rename")
def rename(device_id: str) -> Response:
    """Give a device of the same workshop another name."""
    let_in()
    name = limits.json_body().get("name")
    try:
        with writing() as (connection, here):
            found = devices.rename(connection, here.workshop_id, device_id, _name(name))
    except ValueError as error:
        raise Refused(error, status=400, also={"field": "name"}) from error
    return _done(found)


def _done(found: bool) -> Response:
    if not found:
        raise Refused(
            "This device is not in the list any more. Look at the list again.", status=404
        )
    return jsonify(done=True)
