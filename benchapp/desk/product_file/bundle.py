"""A product's file as one folder in a ZIP: the paper, the records, what was attached, and a
manifest of their hashes, as ``sha256sum -c`` takes it."""

import hashlib
import re
import unicodedata
import zipfile
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from typing import IO, NamedTuple

from benchapp.desk.product_file.asked import Asked, Attachment
from benchapp.desk.product_file.paper import Beside, pdf_of
from benchapp.words import t

MANIFEST = "MANIFEST.sha256"
PAPER = "file.pdf"
RECORDS = "records.json"

MOST_BYTES = 500_000_000
"""Of what is attached, together."""

Opener = Callable[[str], IO[bytes] | None]
"""The bytes of an attachment by its SHA-256; None where they are not to be had."""

_PIECE = 1 << 16
_ENDINGS = {
    "image/jpeg": "jpg",
    "image/png": "png",
    "image/webp": "webp",
    "application/pdf": "pdf",
}


class _Put(NamedTuple):
    """An attachment in the folder, and where."""

    attachment: Attachment
    path: str


def write_bundle(asked: Asked, opened: Opener, into: IO[bytes]) -> None:
    """Write the ZIP. Nothing of an attachment is held but a piece at a time; one whose bytes are
    not those of its name is not put in, and the paper says so."""
    folder = _slug(asked.title)
    when = datetime.fromtimestamp(asked.made_ms / 1000, UTC).timetuple()[:6]
    sums: dict[str, str] = {}

    with zipfile.ZipFile(into, "w") as bundle:

        def begin(path: str, *, packed: bool) -> zipfile.ZipInfo:
            # The first year that a ZIP can tell is 1980.
            info = zipfile.ZipInfo(f"{folder}/{path}", max(when, (1980, 1, 1, 0, 0, 0)))
            info.compress_type = zipfile.ZIP_DEFLATED if packed else zipfile.ZIP_STORED
            info.external_attr = 0o644 << 16
            return info

        def put(path: str, body: bytes, *, packed: bool = True) -> None:
            bundle.writestr(begin(path, packed=packed), body)
            sums[path] = hashlib.sha256(body).hexdigest()

        there, absent = _sorted_out(asked, opened)
        for attachment, path in there:
            source = opened(attachment.sha256)
            if source is None:
                continue
            with source, bundle.open(begin(path, packed=False), "w") as target:
                for piece in _pieces(source):
                    target.write(piece)
            sums[path] = attachment.sha256
        for name, png in asked.pictures.items():
            put(f"labels/{name}", png, packed=False)
        # ASCII: it may hold half of a surrogate pair.
        put(RECORDS, asked.records.encode("utf-8", "backslashreplace"))
        beside = Beside(
            tuple(f"{_called(each)}: {path}, SHA-256 {each.sha256}" for each, path in there),
            tuple(f"{_called(each)}: {why}" for each, why in absent),
        )
        put(PAPER, pdf_of(asked, beside))
        lines = [f"{sums[path]}  {path}\n" for path in sorted(sums)]
        bundle.writestr(begin(MANIFEST, packed=True), "".join(lines))


def _sorted_out(asked: Asked, opened: Opener) -> tuple[list[_Put], list[tuple[Attachment, str]]]:
    """What goes into the folder, and what does not, and why. Each is read once to be known."""
    there: dict[str, _Put] = {}
    absent: list[tuple[Attachment, str]] = []
    size = 0
    for each in asked.attachments:
        if each.sha256 in there:
            continue
        source = opened(each.sha256)
        if source is None:
            absent.append((each, t("the server does not have it yet")))
            continue
        with source:
            found, length = _sum_of(source)
        if found != each.sha256:
            absent.append((each, t("it is damaged on the server")))
        elif size + length > MOST_BYTES:
            absent.append((each, t("the folder would grow too large")))
        else:
            size += length
            ending = _ENDINGS.get(each.type, "bin")
            there[each.sha256] = _Put(each, f"attachments/{each.sha256[:24]}.{ending}")
    return list(there.values()), absent


def _sum_of(source: IO[bytes]) -> tuple[str, int]:
    total, length = hashlib.sha256(), 0
    for piece in _pieces(source):
        total.update(piece)
        length += len(piece)
    return total.hexdigest(), length


def _pieces(source: IO[bytes]) -> Iterator[bytes]:
    while piece := source.read(_PIECE):
        yield piece


def _called(attachment: Attachment) -> str:
    said = attachment.name or attachment.what or "/".join(attachment.of)
    return said if len(said) <= 80 else f"{said[:79]}…"


def _slug(title: str) -> str:
    """A folder's name that every system takes."""
    plain = unicodedata.normalize("NFKD", title).encode("ascii", "ignore").decode()
    return re.sub(r"[^a-z0-9]+", "-", plain.lower()).strip("-")[:60] or "product"
