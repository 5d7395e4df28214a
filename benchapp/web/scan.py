"""The codes in a photo, read for a phone whose browser can't; nothing of it is kept."""

import base64
import binascii
import io
from typing import Any

from flask import Blueprint, Response

from benchapp.web.desk import Json, worked_out
from benchapp.web.errors import Refused

room = Blueprint("scan", __name__)

MOST_PIXELS = 4_000_000
"""A phone sends 1600 by 1600 at most."""

MOST_CODES = 20
"""That are told of one picture."""

MOST_TEXT = 200
"""Characters of one."""


@room.post("/api/desk/scan")
def scan() -> Response:
    """The texts of the codes in ``image``, a PNG or JPEG in Base64 (RFC 4648 section 4)."""
    return worked_out(_codes)


def _codes(body: Json) -> Json:
    picture = body.get("image")
    try:
        sent = base64.b64decode(picture, validate=True) if isinstance(picture, str) else b""
    except (binascii.Error, ValueError):
        sent = b""
    if not sent:
        raise Refused("The server takes a picture here, in Base64.", status=400)
    return {"codes": codes_in(sent)}


def codes_in(picture: bytes) -> list[str]:
    """What the QR codes and Code 128 in a picture say, in no order.

    Raises Refused: no PNG or JPEG, one that is damaged, one of more than ``MOST_PIXELS``, which is
    never unpacked; or this server has no reader of codes.
    """
    try:
        import zxingcpp  # noqa: PLC0415
        from PIL import Image  # noqa: PLC0415
    except ImportError as error:
        raise Refused(
            "This server can't read codes: type the code that stands on the label.", status=501
        ) from error
    try:
        with Image.open(io.BytesIO(picture), formats=("PNG", "JPEG")) as opened:
            wide, high = opened.size
            if wide * high > MOST_PIXELS:
                raise Refused(
                    "That picture has too many pixels: {most} at most.",
                    status=400,
                    most=MOST_PIXELS,
                )
            grey = opened.convert("L")
    except (*_NO_PICTURE, Image.DecompressionBombError) as error:
        raise Refused("That is no picture that can be read.", status=400) from error
    formats = zxingcpp.BarcodeFormats(
        [zxingcpp.BarcodeFormat.QRCode, zxingcpp.BarcodeFormat.Code128]
    )
    rows: Any = memoryview(grey.tobytes()).cast("B", (high, wide))
    found = {each.text for each in zxingcpp.read_barcodes(rows, formats=formats)}
    return sorted(text for text in found if len(text) <= MOST_TEXT)[:MOST_CODES]


#: What Pillow raises where a file is damaged, or unpacks to more than it should.
_NO_PICTURE = (OSError, SyntaxError, ValueError, EOFError, ArithmeticError, LookupError)
