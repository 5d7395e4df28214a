"""The bytes of attachments in a workshop's copy, each as ``{"sha256", "base64"}``."""

import base64
import binascii
import hashlib
import json
from typing import IO, Any

from sqlalchemy import Connection, select

from benchapp.records import tables
from benchapp.records.attachments import keeping
from benchapp.records.attachments.file_type import WrongFile
from benchapp.records.attachments.keeping import Keeper, Spoilt
from benchapp.records.attachments.stores import Missing, Store
from benchapp.records.database import Database
from benchapp.records.exchange import Refusal
from benchapp.words import t

_SPARE = 10_000
"""Bytes of a copy that are kept for what is between its items."""


def write_attachments(
    connection: Connection, workshop_id: str, out: IO[str], room: int, store: Store | None
) -> tuple[int, int]:
    """Write a copy's attachments into so many bytes, the newest first; return how many are in it,
    and how many are not."""
    table = tables.attachment
    asked = (
        select(table.c.sha256, table.c.bytes)
        .where(table.c.workshop_id == workshop_id)
        # The newest are missed most.
        .order_by(table.c.made_ms.desc(), table.c.sha256)
    )
    found = connection.execute(asked).all()
    written, size = 0, _SPARE
    for sha256, bytes_ in found if store is not None else ():
        size += bytes_ * 4 // 3 + 120
        if size > room:
            break
        try:
            content = store.read(workshop_id, sha256) if store is not None else b""
        except Missing:
            continue
        item = {"sha256": sha256, "base64": base64.b64encode(content).decode()}
        out.write((",\n" if written else ', "attachments": [\n') + json.dumps(item))
        written += 1
    if written:
        out.write("\n]")
    return written, len(found) - written


def bring_attachment(
    database: Database, workshop_id: str, given: Any, now_ms: int, keeper: Keeper
) -> Refusal | bool:
    """Keep the bytes that an item of a copy holds: whether they are new, or why not."""
    content = _bytes_of(given)
    if content is None:
        return Refusal("attachment", None, "unreadable", t("It can't be read."))
    sha256 = hashlib.sha256(content).hexdigest()
    with database.read() as connection:
        if keeping.find(connection, workshop_id, sha256) is not None:
            return False
        used = keeping.used(connection, workshop_id)
    try:
        keeper.check_size(len(content), used)
        with keeper.arriving.alone(workshop_id, sha256):
            keeper.arriving.drop(workshop_id, sha256)
            keeper.arriving.add(workshop_id, sha256, 0, content)
            type_ = keeper.take_whole(workshop_id, sha256)
            with database.write() as connection:
                keeping.add_row(connection, workshop_id, sha256, len(content), type_, now_ms)
    except (WrongFile, Spoilt, keeping.TooLarge) as error:
        return Refusal("attachment", sha256, "wrong", str(error))
    return True


def _bytes_of(given: Any) -> bytes | None:
    """The bytes that an item of a copy holds; None where they are not what it says."""
    if not isinstance(given, dict) or not isinstance(given.get("base64"), str):
        return None
    try:
        content = base64.b64decode(given["base64"], validate=True)
    except (binascii.Error, ValueError):
        return None
    return content if hashlib.sha256(content).hexdigest() == given.get("sha256") else None
