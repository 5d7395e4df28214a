"""The private calendar: its addresses, and what a calendar program reads there, with no cookie."""

from flask import Blueprint, Response, current_app, jsonify, request

from benchapp.records.database import Unavailable
from benchapp.reminders import calendar
from benchapp.web.auth import reading, writing
from benchapp.web.clock import now_ms
from benchapp.web.current import database, own_address
from benchapp.web.errors import Refused

room = Blueprint("calendar", __name__)


@room.after_request
def _never_cached(response: Response) -> Response:
    response.headers.setdefault("Cache-Control", "no-store")
    return response


@room.get("/api/calendar")
def listed() -> Response:
    """The open addresses of the asking device's workshop; the secret in them is not told again."""
    with reading() as (connection, device):
        found = calendar.addresses(connection, device.workshop_id)
    return jsonify([{"id": a.id, "made_ms": a.made_ms, "read_ms": a.read_ms} for a in found])


@room.post("/api/calendar")
def make() -> Response:
    """Open another address, which is told this once."""
    origin = own_address().rstrip("/")
    try:
        with writing() as (connection, device):
            id_, token = calendar.make_address(connection, device.workshop_id, now_ms())
    except ValueError as error:
        raise Refused(error, status=409) from error
    return jsonify(id=id_, url=f"{origin}/calendar/{token}.ics")


@room.post("/api/calendar/<id_>/revoke")
def revoke(id_: str) -> Response:
    """Close an address of the same workshop."""
    with writing() as (connection, device):
        found = calendar.revoke(connection, device.workshop_id, id_, now_ms())
    if not found:
        raise Refused(
            "This calendar address is not in the list any more. Look at the list again.", status=404
        )
    return jsonify({})


@room.get("/calendar/<token>.ics")
def feed(token: str) -> Response:
    """All reminders of a workshop (RFC 5545), for whoever knows the address."""
    origin, now = own_address().rstrip("/"), now_ms()
    with database().read(snapshot=True) as connection:
        reader = calendar.reader_of(connection, token)
        if reader is None:
            raise Refused(
                "There is no calendar at this address, or it was ended. Make a new address on the "
                "bench, and subscribe to that.",
                status=404,
            )
        written = calendar.feed(connection, reader.workshop_id, origin, now)
    if calendar.is_read_due(reader, now):
        try:
            with database().write() as connection:
                calendar.mark_read(connection, token, now)
        except Unavailable as error:
            # No reason to turn it away.
            current_app.logger.warning("Not written when a calendar was read: %s", error)
    # RFC 5545 section 3.7.2: what METHOD says, the type says too.
    response = Response(written, content_type="text/calendar; charset=utf-8; method=PUBLISH")
    response.headers["Cache-Control"] = "private, no-cache"
    response.headers["Content-Disposition"] = 'inline; filename="pour-bench.ics"'
    response.headers["X-Robots-Tag"] = "noindex"
    # Weak (RFC 9110 section 8.8.1): it says the same, made at another moment.
    response.set_etag(calendar.version_of(written), weak=True)
    response.make_conditional(request)
    return response
