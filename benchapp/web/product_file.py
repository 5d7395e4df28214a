"""The file of a product, made by the desk for a phone, which has all that stands in it. Nothing of
it is kept here."""

import tempfile
from collections.abc import Iterator
from threading import Lock
from typing import IO

from flask import Blueprint, Response

from benchapp.desk.product_file.asked import read_asked
from benchapp.desk.product_file.bundle import write_bundle
from benchapp.desk.product_file.paper import Beside, pdf_of
from benchapp.web.auth import let_in_to_the_desk
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
                absent = tuple(each.name or each.what for each in asked.attachments)
                pdf = pdf_of(asked, Beside(absent=absent))
                return _answer(iter([pdf]), len(pdf), "application/pdf")
            into = tempfile.SpooledTemporaryFile(_IN_MEMORY)  # noqa: SIM115 - closed by the answer
            write_bundle(asked, lambda _sha256: None, into)
    except InputError as error:
        raise Refused(error, status=400, also={"about": error.about}) from error
    length = into.tell()
    into.seek(0)
    return _answer(_pieces(into), length, "application/zip")


def _pieces(source: IO[bytes]) -> Iterator[bytes]:
    with source:
        while piece := source.read(_PIECE):
            yield piece


def _answer(pieces: Iterator[bytes], length: int, mimetype: str) -> Response:
    response = Response(pieces, mimetype=mimetype)
    response.headers["Content-Length"] = str(length)
    response.headers["Cache-Control"] = "no-store"
    return response
