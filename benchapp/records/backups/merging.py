"""A restore beside what is here: a union of both."""

import json
from collections.abc import Callable
from typing import IO

from sqlalchemy import Connection, Table, bindparam, delete, insert, select, update

from benchapp.records import tables
from benchapp.records.backups.checks import Row, record_of
from benchapp.records.backups.file_format import Part, batches
from benchapp.records.backups.rows import (
    existing,
    insert_rows,
    key_of,
    new_era,
    revoke_as,
    silence_revoked,
)
from benchapp.records.backups.zones import with_zone
from benchapp.records.merge import merge_records


class Merging:
    """A backup on its way into a database that holds something: a union, in which what is here
    stands where both give one name to different things."""

    def __init__(self, connection: Connection) -> None:
        self.connection = connection
        #: the number of the last change of each workshop that was here
        self.seqs: dict[str, int] = {}

    def take(self, file: IO[bytes], take: Callable[[Part], object] | None = None) -> None:
        """Take a backup; ``take`` is given the bytes of its attachments, which are left out without
        it."""
        takes = {
            "workshop": self._workshops,
            "device": self._devices,
            "record": self._records,
            "event": self._events,
            "planned": self._planned,
            "reminder": self._reminders,
            "subscription": self._subscriptions,
            "calendar": self._calendars,
            "attachment": self._attachments,
        }
        for name, rows in batches(file, take):
            if name != "attachment" or take is not None:
                takes[name](rows)
        shop = tables.workshop
        for id_, seq in self.seqs.items():
            self.connection.execute(update(shop).where(shop.c.id == id_).values(seq=seq))
        silence_revoked(self.connection)

    def _workshops(self, rows: list[Row]) -> None:
        shop = tables.workshop
        kept = existing(self.connection, shop, rows)
        for row in rows:
            here = kept.get((row["id"],))
            if here is None:
                self.connection.execute(insert(shop).values(row | {"era": new_era()}))
                continue
            self.seqs[row["id"]] = here["seq"]
            newest_ms = max(here["newest_ms"], row["newest_ms"])
            self.connection.execute(
                update(shop)
                .where(shop.c.id == row["id"])
                .values(era=new_era(), newest_ms=newest_ms)
            )

    def _devices(self, rows: list[Row]) -> None:
        self._revocable(tables.device, rows)

    def _revocable(self, table: Table, rows: list[Row]) -> None:
        kept = existing(self.connection, table, rows)
        insert_rows(self.connection, table, [row for row in rows if key_of(table, row) not in kept])
        revoke_as(self.connection, table, [row for row in rows if key_of(table, row) in kept])

    def _records(self, rows: list[Row]) -> None:
        record = tables.record
        kept = existing(self.connection, record, rows)
        new, changed = [], []
        for row in rows:
            here = kept.get(key_of(record, row))
            if here is None:
                new.append(self._numbered(row))
                continue
            before = record_of(here)
            after = merge_records(before, record_of(row))
            if after != before:
                fields = json.dumps(after["fields"], separators=(",", ":"))
                changed.append(self._numbered(row) | {"fields": fields})
        insert_rows(self.connection, record, new)
        if changed:
            self.connection.execute(
                update(record)
                .where(
                    record.c.workshop_id == bindparam("in_workshop"),
                    record.c.kind == bindparam("of_kind"),
                    record.c.id == bindparam("of_id"),
                )
                .values(seq=bindparam("seq"), fields=bindparam("fields")),
                [
                    {
                        "in_workshop": row["workshop_id"],
                        "of_kind": row["kind"],
                        "of_id": row["id"],
                        "seq": row["seq"],
                        "fields": row["fields"],
                    }
                    for row in changed
                ],
            )

    def _events(self, rows: list[Row]) -> None:
        event = tables.event
        kept = existing(self.connection, event, rows)
        new = [self._numbered(row) for row in rows if key_of(event, row) not in kept]
        insert_rows(self.connection, event, new)

    def _planned(self, rows: list[Row]) -> None:
        planned = tables.planned
        kept = existing(self.connection, planned, rows)
        merged = [with_zone(kept.get(key_of(planned, row)), row) for row in rows]
        shops = [row["workshop_id"] for row in rows]
        self.connection.execute(delete(planned).where(planned.c.workshop_id.in_(shops)))
        insert_rows(self.connection, planned, merged)

    def _reminders(self, rows: list[Row]) -> None:
        reminder = tables.reminder
        kept = existing(self.connection, reminder, rows)
        new = []
        for row in rows:
            here = kept.get(key_of(reminder, row))
            if here is None:
                # Beside what is here it may be wrong by now, so it waits for its reckoning.
                is_sure = row["workshop_id"] not in self.seqs
                new.append(row if is_sure else row | {"waits_ms": None})
            elif row["sent_on"] is not None and (here["sent_on"] or "") < row["sent_on"]:
                waits_ms = here["waits_ms"] if here["on"] > row["sent_on"] else None
                self.connection.execute(
                    update(reminder)
                    .where(*(key == row[key.name] for key in reminder.primary_key))
                    .values(sent_on=row["sent_on"], waits_ms=waits_ms)
                )
        insert_rows(self.connection, reminder, new)

    def _subscriptions(self, rows: list[Row]) -> None:
        device, subscription = tables.device, tables.subscription
        kept = existing(self.connection, subscription, rows)
        endpoints = [row["endpoint"] for row in rows]
        taken = set(
            self.connection.scalars(
                select(subscription.c.endpoint).where(subscription.c.endpoint.in_(endpoints))
            )
        )
        ids = [row["device_id"] for row in rows]
        asked = select(device.c.id, device.c.workshop_id).where(device.c.id.in_(ids))
        homes = {row.id: row.workshop_id for row in self.connection.execute(asked)}
        new = [
            row
            for row in rows
            if key_of(subscription, row) not in kept
            and row["endpoint"] not in taken
            and homes[row["device_id"]] == row["workshop_id"]
        ]
        insert_rows(self.connection, subscription, new)

    def _calendars(self, rows: list[Row]) -> None:
        self._revocable(tables.calendar, rows)

    def _attachments(self, rows: list[Row]) -> None:
        attachment = tables.attachment
        kept = existing(self.connection, attachment, rows)
        new = [row for row in rows if key_of(attachment, row) not in kept]
        insert_rows(self.connection, attachment, new)

    def _numbered(self, row: Row) -> Row:
        """The row as the next change of its workshop; as it is, where all of that is new."""
        workshop_id = row["workshop_id"]
        if workshop_id not in self.seqs:
            return row
        self.seqs[workshop_id] += 1
        return row | {"seq": self.seqs[workshop_id]}
