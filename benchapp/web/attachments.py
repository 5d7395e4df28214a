"""The bytes of photos and papers, over HTTP: in pieces that can be gone on with, and back.

Their records go with the exchange. What comes back is what the bytes are and nothing that could
run: the type that was found in them, in a sandbox, to be saved and not to be opened in place.
"""

import re
from typing import Any

from flask import Blueprint, Response, current_app, jsonify, request

from benchapp.records.attachments import keeping
from benchapp.records.attachments.file_type import WrongFile
from benchapp.records.attachments.form import SHA256
from benchapp.records.attachments.keeping import Keeper, Settings, Spoilt, TooLarge
from benchapp.records.attachments.stores import Missing
from benchapp.web.auth import let_in, reading, writing
from benchapp.web.clock import now_ms
from benchapp.web.errors import Refused
from benchapp.web.limits import PIECE, json_body

room = Blueprint("attachments", __name__)

MOST_HASHES = 500
"""That are asked for in one go."""
MOST_AT_ONCE = 1_000_000
"""Bytes of one answer."""
_KEPT_S = 3600
_RANGE = re.compile(r"bytes=(\d{1,15})-(\d{1,15})?", re.ASCII)
_ENDS = {
    "image/jpeg": "jpg",
    "image/png": "png",
    "image/webp": "webp",
    "application/pdf": "pdf",
}


def keeper() -> Keeper:
    """What keeps the bytes of the app that answers this request."""
    found: Keeper = current_app.extensions["attachments"]
    return found


@room.get("/api/attachments")
def how_much() -> Response:
    """What the workshop keeps here, and how much it may."""
    with reading() as (connection, device):
        used = keeping.used(connection, device.workshop_id)
    given = keeper().settings
    return _json(_settings_told(given) | {"count": used.count, "bytes": used.size})


@room.post("/api/attachments/have")
def have() -> Response:
    """Which of ``hashes`` the workshop has, and how far others have come."""
    let_in()
    hashes = json_body().get("hashes")
    if (
        not isinstance(hashes, list)
        or len(hashes) > MOST_HASHES
        or not all(isinstance(each, str) and SHA256.fullmatch(each) for each in hashes)
    ):
        raise Refused("The server takes a list of hashes here.", status=400)
    with reading() as (connection, device):
        known = keeping.known(connection, device.workshop_id, hashes)
    arriving = keeper().arriving
    begun = {
        each: far
        for each in hashes
        if each not in known and (far := arriving.far(device.workshop_id, each))
    }
    return _json(_settings_told(keeper().settings) | {"kept": sorted(known), "begun": begun})


@room.post("/api/attachments/<sha256>")
def take_piece(sha256: str) -> Response:
    """Take the piece that begins at ``at`` of a file of ``of`` bytes; say how far it has come.

    A piece that is not the next one changes nothing: the answer says which one is. Once all of it
    is on disk it is ``kept``.
    """
    let_in()
    at, size = _number("at"), _number("of")
    piece = request.get_data(cache=False)
    if not SHA256.fullmatch(sha256) or at is None or not size:
        raise Refused("The server could not read which piece of a file this is.", status=400)
    # All of it may have come before a server that was killed could say so.
    is_piece = bool(piece) or at == size
    if len(piece) != (request.content_length or 0) or not is_piece or at + len(piece) > size:
        raise Refused("Not all of that has arrived. Send it again.", status=400)
    with reading() as (connection, device):
        shop = device.workshop_id
        if keeping.find(connection, shop, sha256) is not None:
            return _json({"kept": True, "have": size})
        used = keeping.used(connection, shop)
    kept = keeper()
    try:
        kept.check_size(size, used)
        with kept.arriving.alone(shop, sha256):
            # Another may have brought all of it since: begun anew, it would lie half for days.
            if at == 0 and _has(shop, sha256):
                return _json({"kept": True, "have": size})
            far = kept.arriving.add(shop, sha256, at, piece)
            if far < size:
                return _json({"kept": False, "have": far})
            type_ = kept.take_whole(shop, sha256)
            with writing() as (connection, device):
                keeping.add_row(connection, device.workshop_id, sha256, size, type_, now_ms())
    except Spoilt as error:
        raise Refused(error, status=409, also={"again": True}) from error
    except WrongFile as error:
        raise Refused(error, status=415, also={"never": True}) from error
    except TooLarge as error:
        raise Refused(error, status=413, also={"never": not error.is_room}) from error
    return _json({"kept": True, "have": size})


def _has(shop: str, sha256: str) -> bool:
    with reading() as (connection, _):
        return keeping.find(connection, shop, sha256) is not None


@room.get("/api/attachments/<sha256>")
def give(sha256: str) -> Response:
    """The bytes, or those that the header Range asks for (RFC 9110 section 14), of which a megabyte
    at most is given in one go."""
    with reading() as (connection, device):
        shop = device.workshop_id
        row = keeping.find(connection, shop, sha256) if SHA256.fullmatch(sha256) else None
    if row is None:
        raise Refused("The server does not have this photo or paper.", status=404)
    size = int(row["bytes"])
    start, end = _asked_range(size)
    if start >= end:
        refused = Response(status=416)
        refused.headers["Content-Range"] = f"bytes */{size}"
        return refused
    try:
        some = keeper().store.read(shop, sha256, start, None if (start, end) == (0, size) else end)
    except Missing as error:
        current_app.logger.error("Bytes of an attachment are gone: %s", sha256)
        raise Refused(error, status=404) from error
    is_part = "Range" in request.headers
    response = Response(some, status=206 if is_part else 200)
    if is_part:
        response.headers["Content-Range"] = f"bytes {start}-{end - 1}/{size}"
    response.headers.update(
        {
            "Content-Type": row["type"],
            "Content-Disposition": f'attachment; filename="{sha256[:12]}.{_ENDS[row["type"]]}"',
            "Content-Security-Policy": "sandbox; default-src 'none'",
            "Cache-Control": f"private, max-age={_KEPT_S}",
        }
    )
    return response


def _asked_range(size: int) -> tuple[int, int]:
    """From where up to where of so many bytes; nothing, where it can't be read."""
    if "Range" not in request.headers:
        return 0, size
    asked = _RANGE.fullmatch(request.headers["Range"])
    if asked is None:
        return size, size
    start = int(asked[1])
    return start, min(size, int(asked[2]) + 1 if asked[2] else size, start + MOST_AT_ONCE)


def _settings_told(given: Settings) -> dict[str, Any]:
    return {"most_bytes": given.file_bytes, "room_bytes": given.room_bytes, "piece_bytes": PIECE}


def _number(name: str) -> int | None:
    """A whole number of the address; None where it is none."""
    text = request.args.get(name, "")
    return int(text) if text.isascii() and text.isdigit() and len(text) <= 15 else None


def _json(told: dict[str, Any]) -> Response:
    response = jsonify(told)
    response.headers["Cache-Control"] = "no-store"
    return response
