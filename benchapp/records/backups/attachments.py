"""The bytes of attachments on their way from a backup into the store."""

import secrets
from contextlib import suppress
from pathlib import Path

from benchapp.records.atomic_file import make_private
from benchapp.records.attachments.file_type import WrongFile, type_of
from benchapp.records.attachments.stores import Store, told
from benchapp.records.backups.checks import DAMAGED, BadBackup
from benchapp.records.backups.file_format import Part


class Putting:
    """Takes bytes part by part, and puts each attachment into the store once all of it is there.

    What it has put stays where the restore is given up: nothing names it then, and it is swept.
    """

    def __init__(self, store: Store) -> None:
        self._store = store
        self._path: Path = store.arriving / f"restoring-{secrets.token_hex(8)}"

    def take(self, part: Part) -> None:
        """Raises BadBackup where the bytes are no photo and no paper, Unavailable where the store
        can't be used."""
        row, start, content = part
        with told():
            make_private(self._path.parent)
            with self._path.open("ab" if start else "wb") as file:
                file.write(content)
        if start + len(content) < row["bytes"]:
            return
        try:
            if type_of(self._path) != row["type"]:
                raise BadBackup(DAMAGED)
        except WrongFile as error:
            raise BadBackup(DAMAGED) from error
        self._store.put(row["workshop_id"], row["sha256"], self._path)

    def end(self) -> None:
        """Leave nothing half behind."""
        with suppress(OSError):
            self._path.unlink(missing_ok=True)
