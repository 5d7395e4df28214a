"""The exchange of records with a phone, over HTTP."""

import gzip
import json
from dataclasses import asdict

from flask import Blueprint, Response, request

from benchapp.records.exchange import PROTOCOL, Answer, BadMessage, exchange, read_message
from benchapp.web import current
from benchapp.web.auth import let_in, reading, writing
from benchapp.web.clock import now_ms
from benchapp.web.errors import Refused
from benchapp.web.limits import json_body
from benchapp.words import n_

room = Blueprint("exchange", __name__)

_PACK_FROM = 4000
_OTHER_VERSION = n_(
    "The server and the bench on this phone have different versions. Nothing is lost: it goes on "
    "when the newer bench has loaded."
)


@room.post("/api/exchange")
def merge_and_answer() -> Response:
    """Take what the phone sends, and answer with what it has not heard of."""
    let_in()
    body = json_body()
    if body.get("protocol") != PROTOCOL:
        raise Refused(_OTHER_VERSION, status=409, also={"update": True})
    try:
        message = read_message(body)
    except BadMessage as error:
        raise Refused(error, status=400) from error
    with reading() if message.is_empty else writing() as (connection, device):
        now = now_ms()
        found = exchange(connection, device.workshop_id, message, now)
    if message.erases:
        current.database().forget()
    return _packed(_text(found, now))


def _text(answer: Answer, now: int) -> str:
    """The answer's JSON; records and events are JSON already."""
    head = json.dumps(
        {
            "protocol": PROTOCOL,
            "now_ms": now,
            "era": answer.era,
            "cursor": answer.cursor,
            "restart": answer.restart,
            "more": answer.more,
            "refused": [asdict(refusal) for refusal in answer.refused],
        }
    )
    records, events = ",".join(answer.records), ",".join(answer.events)
    return f'{head[:-1]}, "records": [{records}], "events": [{events}]}}'


def _packed(text: str) -> Response:
    body = text.encode()
    response = Response(mimetype="application/json")
    response.headers["Cache-Control"] = "no-store"
    if len(body) >= _PACK_FROM and "gzip" in request.headers.get("Accept-Encoding", ""):
        # Records repeat themselves so much that the fastest way packs them well enough.
        body = gzip.compress(body, 1)
        response.headers["Content-Encoding"] = "gzip"
    response.set_data(body)
    return response
