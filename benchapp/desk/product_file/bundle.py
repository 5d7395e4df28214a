"""A product's file as one folder in a ZIP: the paper, the records, what was attached, and a
manifest of their hashes, as ``sha256sum -c`` takes it."""

import hashlib
import re
import unicodedata
import zipfile
from collections.abc import Callable
from datetime import UTC, datetime
from typing import IO, Protocol

from benchapp.desk.product_file.asked import Asked, Attachment
from benchapp.desk.product_file.paper import Beside, pdf_of
from benchapp.words import t

MANIFEST = "MANIFEST.sha256"
PAPER = "file.pdf"
RECORDS = "records.json"

MOST_BYTES = 500_000_000
"""Of what is attached, together."""

Reader = Callable[[str], bytes | None]
"""The bytes of an attachment by its SHA-256; None where they are not to be had."""

_CALLED = 80
"""Letters by which an attachment is told."""

_ENDINGS = {
    "image/jpeg": "jpg",
    "image/png": "png",
    "image/webp": "webp",
    "application/pdf": "pdf",
}


class _Put(Protocol):
    def __call__(self, path: str, body: bytes, *, packed: bool) -> None: ...


def write_bundle(asked: Asked, read: Reader, into: IO[bytes]) -> None:
    """Write the ZIP. One attachment at a time is held; one whose bytes are not those of its name is
    not put in, and the paper says so."""
    folder = _slug(asked.title)
    when = datetime.fromtimestamp(asked.made_ms / 1000, UTC).timetuple()[:6]
    sums: dict[str, str] = {}
    with zipfile.ZipFile(into, "w") as bundle:

        def put(path: str, body: bytes, *, packed: bool) -> None:
            # The first year that a ZIP can tell is 1980.
            info = zipfile.ZipInfo(f"{folder}/{path}", max(when, (1980, 1, 1, 0, 0, 0)))
            info.compress_type = zipfile.ZIP_DEFLATED if packed else zipfile.ZIP_STORED
            info.external_attr = 0o644 << 16
            bundle.writestr(info, body)
            sums[path] = hashlib.sha256(body).hexdigest()

        beside = _put_attachments(asked, read, put)
        for name, png in asked.pictures.items():
            put(f"labels/{name}", png, packed=False)
        # It may hold half of a surrogate pair, which JSON can write and UTF-8 can't.
        put(RECORDS, asked.records.encode("utf-8", "backslashreplace"), packed=True)
        put(PAPER, pdf_of(asked, beside), packed=True)
        lines = "".join(f"{sums[path]}  {path}\n" for path in sorted(sums))
        put(MANIFEST, lines.encode(), packed=True)


def _put_attachments(asked: Asked, read: Reader, put: _Put) -> Beside:
    """Put in what is attached, the same bytes once; answer what is there, and what is not."""
    there: dict[str, str] = {}
    absent: list[str] = []
    size = 0
    for each in asked.attachments:
        if each.sha256 in there:
            continue
        body = read(each.sha256)
        if body is None:
            absent.append(_line(each, t("the server does not have it yet")))
        elif hashlib.sha256(body).hexdigest() != each.sha256:
            absent.append(_line(each, t("it is damaged on the server")))
        elif size + len(body) > MOST_BYTES:
            absent.append(_line(each, t("the folder would grow too large")))
        else:
            size += len(body)
            path = f"attachments/{each.sha256[:24]}.{_ENDINGS.get(each.type, 'bin')}"
            there[each.sha256] = _line(each, path)
            put(path, body, packed=False)
    return Beside(tuple(there.values()), tuple(absent))


def _line(attachment: Attachment, said: str) -> str:
    called = attachment.name or attachment.what or "/".join(attachment.of)
    return f"{called if len(called) <= _CALLED else f'{called[: _CALLED - 1]}…'}: {said}"


def _slug(title: str) -> str:
    """A folder's name that every system takes."""
    plain = unicodedata.normalize("NFKD", title).encode("ascii", "ignore").decode()
    return re.sub(r"[^a-z0-9]+", "-", plain.lower()).strip("-")[:60] or "product"
