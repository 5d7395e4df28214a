"""What stands in a product's file, read out of the JSON that a phone sends: each value checked,
each refusal with its place."""

import base64
import binascii
import io
import json
import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from PIL import Image

from benchapp.desk.label.fonts import lacking
from benchapp.words import InputError

MOST_PARTS = 40
MOST_BLOCKS = 20_000
"""Blocks of all parts together."""
MOST_TEXT = 100_000
"""Characters of one text."""
MOST_LINE = 300
"""Characters of what stands again on every page: more would fill them all."""
MOST_ROWS = 5_000
"""Rows of a table, lines of a list, shapes of a chart."""
MOST_CELLS = 12
MOST_PICTURES = 40
MOST_PIXELS = 4_000_000
MOST_ATTACHMENTS = 2_000
MOST_SIDE = 10_000
"""Of a chart, and how far out of it a shape may lie, in its own units."""
MOST_MM = 420.0

STATES = ("there", "older", "missing", "")
SYMBOLS = tuple(f"GHS0{n}" for n in range(1, 10))
ANCHORS = ("start", "middle", "end")

_SHA256 = re.compile(r"[0-9a-f]{64}")
_LOOK = re.compile(r"[a-z ]{0,40}")
_LANGUAGE = re.compile(r"[A-Za-z]{2,3}(-[A-Za-z0-9]{1,8})*")
_LACKS = "◊"
"""Stands for a letter that the file's font does not have."""

Json = dict[str, Any]


@dataclass(frozen=True)
class Attachment:
    """What was attached to a record of the file. Its bytes are not here.

    Attributes:
        of: the kind and id of that record.
        what: what it is of, such as 'certificate'; '': not said.
        sha256: of its bytes, in hexadecimal.
    """

    of: tuple[str, str]
    what: str
    sha256: str
    size: int
    type: str
    name: str


@dataclass(frozen=True)
class Asked:
    """A file that is asked for.

    Attributes:
        title: of the product.
        made: when it was made, in words; `made_ms`: the same, ms since 1970.
        parts: {title, state, lacks, blocks}, as ``file.typ`` sets them.
        pictures: PNG by their names in the blocks, each unpacked and packed anew.
        records: a copy of the records, as it is read by the bench.
        has_lacking: some letter could not be set.
    """

    title: str
    language: str
    made: str
    made_ms: int
    parts: tuple[Json, ...]
    pictures: Mapping[str, bytes]
    records: str
    attachments: tuple[Attachment, ...]
    has_lacking: bool


def read_asked(body: Mapping[str, Any]) -> Asked:
    """A request for a file: {title, language, made, made_ms, parts, records, attachments}.

    Raises:
        InputError: something in it can't be taken; ``about`` is its dotted path.
    """
    reader = _Reader()
    title = reader.said(body.get("title"), "title", MOST_LINE)
    if title.strip() == "":
        raise InputError("The product has no name. Give it one first.", about="title")
    language = body.get("language")
    if not isinstance(language, str) or not _LANGUAGE.fullmatch(language):
        raise _unreadable("language")
    parts = _list(body.get("parts"), "parts", MOST_PARTS)
    return Asked(
        title=title,
        language=language.split("-")[0].lower(),
        made=reader.said(body.get("made"), "made", MOST_LINE),
        made_ms=int(_number(body.get("made_ms"), "made_ms", least=0, most=4e12)),
        parts=tuple(reader.part(each, f"parts.{at}") for at, each in enumerate(parts)),
        pictures=reader.pictures,
        records=_records(body.get("records")),
        attachments=_attachments(body.get("attachments"), reader),
        has_lacking=reader.has_lacking,
    )


class _Reader:
    """Reads the parts, and gathers what all of them have together."""

    def __init__(self) -> None:
        self.pictures: dict[str, bytes] = {}
        self.has_lacking = False
        self._blocks = 0

    def said(self, value: object, about: str, most: int = MOST_TEXT) -> str:
        """Text as it can be set: long words may break, and letters that the font lacks are told."""
        if not isinstance(value, str):
            raise InputError("“{name}” must be text.", name=about, about=about)
        if len(value) > most:
            raise InputError(
                "A text of the file is longer than {most} characters.", most=most, about=about
            )
        text = "".join(each for each in value if each in "\n\t" or ord(each) >= 32)
        text = text.replace("\t", " ").replace("\u00a0", " ")
        if missing := set(lacking(text)) - {"\n"}:
            self.has_lacking = True
            text = "".join(_LACKS if each in missing else each for each in text)
        return text

    def texts(
        self, value: object, about: str, most: int = MOST_ROWS, longest: int = MOST_TEXT
    ) -> list[str]:
        return [
            self.said(each, f"{about}.{at}", longest)
            for at, each in enumerate(_list(value, about, most))
        ]

    def part(self, value: object, about: str) -> Json:
        part = _object(value, about)
        state = part.get("state")
        if state not in STATES:
            raise _unreadable(f"{about}.state")
        blocks = _list(part.get("blocks"), f"{about}.blocks", MOST_BLOCKS)
        self._blocks += len(blocks)
        if self._blocks > MOST_BLOCKS:
            raise InputError("That is more than one file holds.", about=about)
        return {
            "title": self.said(part.get("title"), f"{about}.title"),
            "state": state,
            "lacks": self.texts(part.get("lacks"), f"{about}.lacks"),
            "blocks": [self.block(each, f"{about}.blocks.{at}") for at, each in enumerate(blocks)],
        }

    def block(self, value: object, about: str) -> Json:
        block = _object(value, about)
        kind = block.get("is")
        match kind:
            case "heading":
                level = int(_number(block.get("level"), f"{about}.level", least=2, most=3))
                return {"is": kind, "level": level, "text": self.said(block.get("text"), about)}
            case "text":
                return {"is": kind, "text": self.said(block.get("text"), about)}
            case "list":
                return {"is": kind, "items": self.texts(block.get("items"), f"{about}.items")}
            case "facts":
                return {"is": kind, "rows": self._rows(block.get("rows"), f"{about}.rows", 2, 2)}
            case "table":
                head = self.texts(block.get("head"), f"{about}.head", MOST_CELLS, MOST_LINE)
                return {"is": kind, **self._table(head, block.get("rows"), about)}
            case "symbols":
                names = _list(block.get("names"), f"{about}.names", len(SYMBOLS))
                return {"is": kind, "names": [each for each in names if each in SYMBOLS]}
            case "picture":
                return {"is": kind, **self._picture(block, about)}
            case "chart":
                return {"is": kind, **self._chart(block, about)}
        raise _unreadable(f"{about}.is")

    def _rows(self, value: object, about: str, least: int, most: int) -> list[list[str]]:
        rows = [
            self.texts(each, f"{about}.{at}", most)
            for at, each in enumerate(_list(value, about, MOST_ROWS))
        ]
        if any(len(row) < least for row in rows):
            raise _unreadable(about)
        return rows

    def _table(self, head: list[str], value: object, about: str) -> Json:
        rows = self._rows(value, f"{about}.rows", 0, MOST_CELLS)
        columns = max([len(head), *map(len, rows)], default=0)
        full = [[*row, *[""] * (columns - len(row))] for row in rows]
        return {"head": [*head, *[""] * (columns - len(head))] if head else [], "rows": full}

    def _picture(self, block: Mapping[str, Any], about: str) -> Json:
        if len(self.pictures) >= MOST_PICTURES:
            raise InputError("A file holds {most} pictures.", most=MOST_PICTURES, about=about)
        name = f"picture-{len(self.pictures) + 1}.png"
        self.pictures[name] = png_of(block.get("png"), about)
        return {
            "name": name,
            "width_mm": _number(block.get("width_mm"), about, least=1, most=MOST_MM),
            "height_mm": _number(block.get("height_mm"), about, least=1, most=MOST_MM),
            "caption": self.said(block.get("caption"), about),
        }

    def _chart(self, block: Mapping[str, Any], about: str) -> Json:
        items = _list(block.get("items"), f"{about}.items", MOST_ROWS)
        return {
            "label": self.said(block.get("label"), f"{about}.label"),
            "width": _number(block.get("width"), about, least=1, most=MOST_SIDE),
            "height": _number(block.get("height"), about, least=1, most=MOST_SIDE),
            "items": [self._shape(each, f"{about}.items.{at}") for at, each in enumerate(items)],
        }

    def _shape(self, value: object, about: str) -> Json:
        shape = _object(value, about)
        kind = shape.get("is")

        def at(name: str, least: float = -MOST_SIDE) -> float:
            return _number(shape.get(name), about, least=least, most=MOST_SIDE)

        look = shape.get("kind")
        is_known = isinstance(look, str) and _LOOK.fullmatch(look)
        drawn = {"is": kind, "kind": look if is_known else ""}
        match kind:
            case "line" | "area":
                pairs = _list(shape.get("points"), about, MOST_ROWS)
                points = [[*(_coordinate(each, about))] for each in pairs]
                return {**drawn, "points": points}
            case "rect":
                sides = {"width": at("width", 0), "height": at("height", 0)}
                return {**drawn, "x": at("x"), "y": at("y"), **sides}
            case "dot":
                return {**drawn, "x": at("x"), "y": at("y"), "r": at("r", 0)}
            case "words":
                anchor = shape.get("anchor")
                text = self.said(shape.get("text"), about).replace("\n", " ")
                known = anchor if anchor in ANCHORS else "start"
                return {**drawn, "x": at("x"), "y": at("y"), "anchor": known, "text": text}
        raise _unreadable(f"{about}.is")


def breakable(text: str, longest: int = 60) -> str:
    """Text in which a word of more letters than `longest` may break, by zero-width spaces."""

    def broken(found: re.Match[str]) -> str:
        pieces = range(0, len(found[0]), longest // 3)
        return "\u200b".join(found[0][at : at + longest // 3] for at in pieces)

    return re.sub(rf"\S{{{longest + 1},}}", broken, text)


def png_of(value: object, about: str) -> bytes:
    """A PNG in Base64 (RFC 4648 section 4), unpacked and packed anew, so that nothing but its dots
    reaches the typesetter.

    Raises:
        InputError: it is none, is damaged, or has more than ``MOST_PIXELS``.
    """
    try:
        sent = base64.b64decode(value, validate=True) if isinstance(value, str) else b""
        with Image.open(io.BytesIO(sent), formats=("PNG",)) as opened:
            if opened.width * opened.height > MOST_PIXELS:
                raise InputError(
                    "That picture has too many pixels: {most} at most.",
                    most=MOST_PIXELS,
                    about=about,
                )
            mode = "RGBA" if "A" in opened.getbands() or "transparency" in opened.info else "RGB"
            dots = opened.convert(mode)
    except (*_NO_PICTURE, Image.DecompressionBombError) as error:
        if isinstance(error, InputError):
            raise
        raise InputError("That is no picture that can be read.", about=about) from error
    packed = io.BytesIO()
    dots.save(packed, "PNG")
    return packed.getvalue()


#: What Base64 and Pillow raise where a picture is damaged, or unpacks to more than it should.
_NO_PICTURE = (
    *(binascii.Error, OSError, SyntaxError, ValueError),
    *(EOFError, ArithmeticError, LookupError),
)


# ---- values ------------------------------------------------------------------------------------


def _unreadable(about: str) -> InputError:
    return InputError("“{name}” can't be read.", name=about, about=about)


def _records(value: object) -> str:
    """A copy as text, which is handed on as it is."""
    try:
        copy = json.loads(value) if isinstance(value, str) else None
    except (ValueError, RecursionError):
        copy = None
    if not isinstance(copy, dict):
        raise InputError("The records of the file can't be read.", about="records")
    return str(value)


def _attachments(value: object, reader: _Reader) -> tuple[Attachment, ...]:
    found = []
    for at, each in enumerate(_list(value, "attachments", MOST_ATTACHMENTS)):
        about = f"attachments.{at}"
        given = _object(each, about)
        of = _list(given.get("of"), about, 2)
        sha256 = given.get("sha256")
        if not isinstance(sha256, str) or not _SHA256.fullmatch(sha256) or len(of) != 2:
            raise _unreadable(about)
        found.append(
            Attachment(
                of=(reader.said(of[0], about), reader.said(of[1], about)),
                what=reader.said(given.get("what"), about),
                sha256=sha256,
                size=int(_number(given.get("bytes"), about, least=0, most=1e12)),
                type=reader.said(given.get("type"), about),
                name=reader.said(given.get("name"), about),
            )
        )
    return tuple(found)


def _object(value: object, about: str) -> Mapping[str, Any]:
    if not isinstance(value, dict):
        raise _unreadable(about)
    return value


def _list(value: object, about: str, most: int) -> list[Any]:
    if not isinstance(value, list):
        raise InputError("“{name}” must be a list.", name=about, about=about)
    if len(value) > most:
        raise InputError("“{name}” has more than {most}.", name=about, most=most, about=about)
    return value


def _coordinate(value: object, about: str) -> tuple[float, float]:
    pair = _list(value, about, 2)
    if len(pair) != 2:
        raise _unreadable(about)
    x, y = (_number(each, about, least=-MOST_SIDE, most=MOST_SIDE) for each in pair)
    return x, y


def _number(value: object, about: str, *, least: float, most: float) -> float:
    is_number = isinstance(value, int | float) and not isinstance(value, bool)
    if not is_number or not math.isfinite(value) or not least <= value <= most:  # type: ignore[operator, arg-type]
        raise _unreadable(about)
    return float(value)  # type: ignore[arg-type]
