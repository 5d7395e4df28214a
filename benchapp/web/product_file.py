"""The file of a product, made by the desk for a phone, which has all that stands in it. Nothing of
it is kept here."""

import tempfile
from collections.abc import Iterator
from threading import Lock
from typing import IO

from flask import Blueprint, Response, current_app

from benchapp.desk.product_file.asked import read_asked
from benchapp.desk.product_file.bundle import Reader, write_bundle
from benchapp.desk.product_file.paper import Beside, pdf_of
from benchapp.records.attachments import keeping
from benchapp.records.attachments.stores import Missing
from benchapp.web.attachments import keeper
from benchapp.web.auth import asker, let_in_to_the_desk, reading
from benchapp.web.errors import Refused
from benchapp.web.limits import json_body
from benchapp.words import InputError

room = Blueprint("product_file", __name__)

_one_at_a_time = Lock()
"""A large one takes much of a small server: others wait."""

_IN_MEMORY = 4_000_000
_PIECE = 1 << 16


@room.post("/api/desk/file")
def product_file() -> Response:
    """The paper alone (``want`` is 'pdf'), or the whole folder ('zip')."""
    let_in_to_the_desk()
    body = json_body()
    try:
        want = body.get("want")
        if want not in ("pdf", "zip"):
            raise InputError("“{name}” can't be read.", name="want", about="want")
        asked = read_asked(body)
        with _one_at_a_time:
            if want == "pdf":
                lines = tuple(each.name or each.what for each in asked.attachments)
                pdf = pdf_of(asked, Beside(absent=lines))
                return _answer(iter([pdf]), len(pdf), "application/pdf")
            into = tempfile.SpooledTemporaryFile(_IN_MEMORY)  # noqa: SIM115 - closed by the answer
            write_bundle(asked, _reader(), into)
    except InputError as error:
        raise Refused(error, status=400, also={"about": error.about}) from error
    length = into.tell()
    into.seek(0)
    return _answer(_pieces(into), length, "application/zip")


def _reader() -> Reader:
    """What has the bytes of attachments: nothing, for whoever looks at the invented workshop."""
    if asker() is None:
        return lambda _sha256: None

    def read(sha256: str) -> bytes | None:
        with reading() as (connection, device):
            shop = device.workshop_id
            row = keeping.find(connection, shop, sha256)
        if row is None:
            return None
        try:
            return keeper().store.read(shop, sha256)
        except Missing:
            current_app.logger.error("Bytes of an attachment are gone: %s", sha256)
            return None

    return read


def _pieces(source: IO[bytes]) -> Iterator[bytes]:
    with source:
        while piece := source.read(_PIECE):
            yield piece


def _answer(pieces: Iterator[bytes], length: int, mimetype: str) -> Response:
    response = Response(pieces, mimetype=mimetype)
    response.headers["Content-Length"] = str(length)
    response.headers["Cache-Control"] = "no-store"
    return response
