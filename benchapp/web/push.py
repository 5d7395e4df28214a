"""Push, over HTTP: which key to subscribe with, where a device listens, the bells of its bench."""

from typing import Any

from flask import Blueprint, Response, current_app, jsonify
from sqlalchemy import Connection

from benchapp.records.devices import Device
from benchapp.records.fields import ID
from benchapp.reminders import notifications, planning, subscriptions
from benchapp.reminders.notifications import BOARDS, MOST_BELLS, Bell
from benchapp.reminders.push_settings import PushSettings
from benchapp.web.auth import let_in, reading, writing
from benchapp.web.clock import now_ms
from benchapp.web.current import own_address
from benchapp.web.errors import Refused
from benchapp.web.limits import json_body
from benchapp.words import n_, t

room = Blueprint("push", __name__)

_BROKEN = n_("The phone's message can't be read: reload the bench.")
_FURTHEST_MS = 24 * 3_600_000
_MOST_TEXT = 300


@room.after_request
def _never_cached(response: Response) -> Response:
    response.headers["Cache-Control"] = "no-store"
    return response


def _pushing() -> PushSettings:
    found: PushSettings = current_app.extensions["pushing"]
    return found


# ---- subscribing ---------------------------------------------------------------------------------


@room.get("/api/push")
def status() -> Response:
    """The key to subscribe with, and how the asking device listens."""
    with reading() as (connection, device):
        return _status(connection, device)


@room.post("/api/push")
def subscribe() -> Response:
    """The asking device listens at the subscription that it sends."""
    let_in()
    body = json_body()
    pushing = _pushing()
    if pushing.why_not:
        raise Refused(pushing.why_not, status=409)
    if body.get("key") != pushing.app_key:
        raise Refused("The server has a new key. Turn reminders on once more.", status=409)
    told = body.get("subscription")
    keys = told.get("keys") if isinstance(told, dict) else None
    if not isinstance(told, dict) or not isinstance(keys, dict):
        raise Refused(_BROKEN, status=400)
    try:
        with writing() as (connection, device):
            planning.tell_zone(connection, device.workshop_id, _text(body, "zone"))
            subscriptions.subscribe(
                connection,
                device,
                endpoint=_text(told, "endpoint"),
                p256dh=_text(keys, "p256dh"),
                auth=_text(keys, "auth"),
                app_key=pushing.app_key,
                origin=own_address(),
                now_ms=now_ms(),
            )
            return _status(connection, device)
    except ValueError as error:
        raise Refused(error, status=400) from error


@room.post("/api/push/stop")
def stop() -> Response:
    """The asking device listens no more."""
    with writing() as (connection, device):
        subscriptions.unsubscribe(connection, device.id)
        return _status(connection, device)


@room.post("/api/push/test")
def trial() -> Response:
    """Let the asking device see how a reminder arrives."""
    try:
        with writing() as (connection, device):
            notifications.send_trial(connection, device.id, now_ms())
    except LookupError:
        raise Refused("Reminders are off on this device. Turn them on first.", status=409) from None
    return jsonify({})


def _text(told: dict[str, Any], name: str) -> str:
    found = told.get(name)
    if not isinstance(found, str):
        raise Refused(_BROKEN, status=400)
    return found


def _status(connection: Connection, device: Device) -> Response:
    pushing = _pushing()
    found = subscriptions.status_of(connection, device.id)
    zone = planning.zone_of(connection, device.workshop_id)
    return jsonify(
        key=None if pushing.why_not else pushing.app_key,
        why=t(pushing.why_not) if pushing.why_not else None,
        subscribed=found is not None and found.app_key == pushing.app_key,
        sent_ms=found and found.sent_ms,
        trouble=found and found.trouble,
        trouble_ms=found and found.trouble_ms,
        zone=zone,
    )


@room.post("/api/zone")
def zone() -> Response:
    """The asking device is in this time zone now."""
    let_in()
    told = _text(json_body(), "zone")
    try:
        with writing() as (connection, device):
            planning.tell_zone(connection, device.workshop_id, told)
    except ValueError as error:
        raise Refused(error, status=400) from error
    return jsonify({})


# ---- the back-up bell --------------------------------------------------------------------------


@room.post("/api/bells")
def bells() -> Response:
    """Let these be the bells of the asking device's bench, and no others."""
    let_in()
    told = json_body().get("bells")
    now = now_ms()
    if not isinstance(told, list) or len(told) > MOST_BELLS:
        raise Refused(_BROKEN, status=400)
    found = [_bell(each, now) for each in told]
    with writing() as (connection, device):
        notifications.set_bells(connection, device.id, found, now)
    return jsonify({})


def _bell(told: Any, now: int) -> Bell:
    """A bell as a phone tells it. Raises Refused where it is none."""
    if not isinstance(told, dict):
        raise Refused(_BROKEN, status=400)
    # An older phone knows of pours alone, and calls their parts jugs.
    of, id_ = told.get("of", "pour"), told.get("id", told.get("pour"))
    part, at_ms = told.get("part", told.get("jug")), told.get("at_ms")
    title, body = told.get("title"), told.get("body")
    if (
        not isinstance(of, str)
        or of not in BOARDS
        or not isinstance(id_, str)
        or not ID.fullmatch(id_)
        or type(part) is not int
        or not 0 <= part <= 999
        or type(at_ms) is not int
        or not 0 <= at_ms <= now + _FURTHEST_MS
        or not isinstance(title, str)
        or not isinstance(body, str)
        or not 1 <= len(title) <= _MOST_TEXT
        or len(body) > _MOST_TEXT
    ):
        raise Refused(_BROKEN, status=400)
    return Bell(of, id_, part, at_ms, title, body)
