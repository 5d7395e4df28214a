"""A maker's logo: a picture from a person, looked through before the typesetter draws it.

It is drawn, and never served as markup. Of SVG only what draws shapes is taken.
"""

import base64
import binascii
import re
import struct
import zlib
from collections.abc import Mapping
from dataclasses import dataclass
from xml.parsers import expat

from benchapp.words import InputError

MOST_BYTES = 300_000
MOST_PIXELS = 4_000
"""Of a PNG, each way."""

_ABOUT = "label.logo"
_SVG = "http://www.w3.org/2000/svg"
_MOST_ELEMENTS = 5_000
_DRAWN = frozenset(
    (
        *("svg", "g", "defs", "title", "desc", "metadata", "style"),
        *("path", "rect", "circle", "ellipse", "line", "polyline", "polygon"),
        *("linearGradient", "radialGradient", "stop", "clipPath"),
    )
)
_LENGTH = re.compile(r"\s*([0-9]*\.?[0-9]+)\s*(px|pt|mm|cm|in|pc|q)?\s*", re.IGNORECASE)
_POINTS = {
    **{"px": 0.75, "pt": 1.0, "pc": 12.0, "in": 72.0},
    **{"mm": 72 / 25.4, "cm": 720 / 25.4, "q": 18 / 25.4},
}
_URL = re.compile(r"url\(\s*['\"]?(?!#)", re.IGNORECASE)
_IMPORT = re.compile(r"@import", re.IGNORECASE)


@dataclass(frozen=True)
class Logo:
    """A logo that was looked through.

    Attributes:
        svg: what the typesetter draws; a PNG lies within one.
        ratio: width by height.
    """

    svg: str
    ratio: float


def read_logo(value: object) -> Logo:
    """A logo of {type, base64}.

    Raises:
        InputError: it is none, too large, or does more than draw shapes.
    """
    if not isinstance(value, Mapping):
        raise InputError("The logo can't be read. Choose a PNG or SVG file.", about=_ABOUT)
    text = value.get("base64")
    if not isinstance(text, str):
        raise InputError("The logo can't be read. Choose a PNG or SVG file.", about=_ABOUT)
    if len(text) > MOST_BYTES * 4 // 3 + 4:
        raise too_large()
    try:
        data = base64.b64decode(text, validate=True)
    except (binascii.Error, ValueError) as error:
        raise InputError(
            "The logo can't be read. Choose a PNG or SVG file.", about=_ABOUT
        ) from error
    if len(data) > MOST_BYTES:
        raise too_large()
    match value.get("type"):
        case "image/png":
            return _png(data)
        case "image/svg+xml":
            return _svg(data)
    raise InputError("The logo is neither PNG nor SVG. Save it as one of the two.", about=_ABOUT)


def too_large() -> InputError:
    """What is said of a logo that weighs too much."""
    return InputError(
        "The logo weighs more than {most} kB. Save it smaller, 1 000 dots wide is plenty.",
        most=MOST_BYTES // 1000,
        about=_ABOUT,
    )


# ---- PNG ---------------------------------------------------------------------------------------


def _png(data: bytes) -> Logo:
    """Signature and header (W3C PNG, 5.2 and 11.2.2)."""
    if len(data) < 33 or data[:8] != b"\x89PNG\r\n\x1a\n" or data[12:16] != b"IHDR":
        raise InputError("The logo is no PNG. Save it anew, as PNG or SVG.", about=_ABOUT)
    width, height = struct.unpack(">II", data[16:24])
    if not (0 < width <= MOST_PIXELS and 0 < height <= MOST_PIXELS):
        raise InputError(
            "The logo is {width} by {height} dots. Save it with at most {most} each way.",
            width=width,
            height=height,
            most=MOST_PIXELS,
            about=_ABOUT,
        )
    if not _is_whole(data):
        raise InputError("The logo breaks off. Save it anew, as PNG or SVG.", about=_ABOUT)
    held = base64.b64encode(data).decode("ascii")
    return Logo(
        f'<svg xmlns="{_SVG}" xmlns:xlink="http://www.w3.org/1999/xlink" viewBox="0 0 {width} '
        f'{height}"><image width="{width}" height="{height}" xlink:href="data:image/png;base64,'
        f'{held}"/></svg>',
        width / height,
    )


def _is_whole(data: bytes) -> bool:
    """Whether all chunks are there, each with its check, and the dots can be unpacked."""
    at, packed = 8, b""
    while at + 12 <= len(data):
        length = int.from_bytes(data[at : at + 4])
        body = data[at + 4 : at + 8 + length]
        if data[at + 8 + length : at + 12 + length] != zlib.crc32(body).to_bytes(4):
            return False
        if body[:4] == b"IDAT":
            packed += body[4:]
        if body == b"IEND":
            return _unpacks(packed)
        at += 12 + length
    return False


def _unpacks(packed: bytes) -> bool:
    """Whether zlib's stream comes to its end; a piece at a time is held."""
    unpacker = zlib.decompressobj()
    try:
        while packed and not unpacker.eof:
            unpacker.decompress(packed, 1_000_000)
            packed = unpacker.unconsumed_tail
    except zlib.error:
        return False
    return unpacker.eof


# ---- SVG ---------------------------------------------------------------------------------------


class _Looked:
    """What was seen of an SVG while it was read."""

    def __init__(self) -> None:
        self.elements = 0
        self.root: Mapping[str, str] | None = None
        self.style = 0

    def start(self, name: str, attributes: Mapping[str, str]) -> None:
        space, _, local = name.rpartition(" ")
        self.elements += 1
        if self.elements > _MOST_ELEMENTS:
            raise InputError(
                "The logo has more than {most} shapes. Save a simpler one.",
                most=_MOST_ELEMENTS,
                about=_ABOUT,
            )
        if self.root is None:
            if space != _SVG or local != "svg":
                raise InputError("The logo is no SVG. Save it anew, as PNG or SVG.", about=_ABOUT)
            self.root = attributes
        if local == "script":
            raise InputError("The logo holds a script. Save it without, or as PNG.", about=_ABOUT)
        if local == "foreignObject":
            raise InputError(
                "The logo holds a foreign object. Save it without, or as PNG.", about=_ABOUT
            )
        if local == "text":
            raise InputError(
                "The logo holds letters as text. Turn them into paths, or save a PNG.", about=_ABOUT
            )
        if space == _SVG and local not in _DRAWN:
            raise InputError(
                "The logo holds “{element}”, which is not drawn here. Save it as plain shapes, or "
                "as PNG.",
                element=local[:40],
                about=_ABOUT,
            )
        for key, value in attributes.items():
            _attribute(key.rpartition(" ")[2], value)
        self.style += local == "style"

    def end(self, name: str) -> None:
        self.style -= name.rpartition(" ")[2] == "style"

    def text(self, data: str) -> None:
        if self.style:
            _references(data)

    def document_type(self, *_given: object) -> None:
        raise InputError(
            "The logo declares entities or a document type. Save it as plain SVG.", about=_ABOUT
        )

    def instruction(self, target: str, _data: str) -> None:
        raise InputError(
            "The logo holds the instruction “{target}”. Save it as plain SVG.",
            target=target[:40],
            about=_ABOUT,
        )


def _svg(data: bytes) -> Logo:
    seen = _Looked()
    parser = expat.ParserCreate(namespace_separator=" ")
    parser.buffer_text = True
    parser.StartElementHandler = seen.start
    parser.EndElementHandler = seen.end
    parser.CharacterDataHandler = seen.text
    parser.StartDoctypeDeclHandler = seen.document_type
    parser.EntityDeclHandler = seen.document_type
    parser.ProcessingInstructionHandler = seen.instruction
    try:
        text = data.decode("utf-8-sig")
        parser.Parse(text.encode(), True)
    except (expat.ExpatError, UnicodeDecodeError) as error:
        raise InputError(
            "The logo is no SVG. Save it anew, as PNG or SVG.", about=_ABOUT
        ) from error
    return Logo(text, _ratio(seen.root or {}))


def _attribute(name: str, value: str) -> None:
    if name.lower().startswith("on"):
        raise InputError("The logo holds a script. Save it without, or as PNG.", about=_ABOUT)
    if name == "href" and not value.startswith("#"):
        raise _references_said()
    _references(value)


def _references(text: str) -> None:
    if _URL.search(text) or _IMPORT.search(text):
        raise _references_said()


def _references_said() -> InputError:
    return InputError(
        "The logo refers to other files. Save it with all that it needs, or as PNG.", about=_ABOUT
    )


def _ratio(root: Mapping[str, str]) -> float:
    box = root.get("viewBox", "").replace(",", " ").split()
    try:
        width, height = (
            (float(box[2]), float(box[3]))
            if len(box) == 4
            else (_length(root.get("width")), _length(root.get("height")))
        )
    except ValueError:
        width = height = 0.0
    if not (0 < width < 1e6 and 0 < height < 1e6):
        raise InputError(
            "The logo does not say how large it is. Save it anew, or as PNG.", about=_ABOUT
        )
    ratio = width / height
    if not 1 / 20 <= ratio <= 20:
        raise InputError(
            "The logo is far too long for a label. Save it without its empty edges.", about=_ABOUT
        )
    return ratio


def _length(text: str | None) -> float:
    found = _LENGTH.fullmatch(text or "")
    if found is None:
        raise ValueError
    return float(found[1]) * _POINTS[(found[2] or "px").lower()]


def undrawable() -> InputError:
    """What is said where the typesetter can't draw a logo."""
    return InputError("The logo can't be drawn. Save it anew, as PNG or SVG.", about=_ABOUT)
