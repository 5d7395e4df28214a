"""What outlasts a restore that takes the place of all that is here."""

from sqlalchemy import (
    Column,
    Connection,
    MetaData,
    Table,
    and_,
    case,
    exists,
    insert,
    literal,
    null,
    or_,
    select,
    update,
)

from benchapp.records import tables
from benchapp.records.backups.checks import Row
from benchapp.records.backups.rows import (
    existing,
    insert_rows,
    key_of,
    revoke_as,
    silence_revoked,
    slices,
)
from benchapp.records.backups.zones import with_zone


class Outlasting:
    """What must outlast a restore that takes the place of all that is here: what was revoked, what
    was told already, and the time zones that phones told, which they do not tell again."""

    def __init__(self, connection: Connection) -> None:
        self.connection = connection
        self.revoked = {
            table: [
                dict(row)
                for row in connection.execute(
                    select(table).where(table.c.revoked_ms.is_not(None))
                ).mappings()
            ]
            for table in (tables.device, tables.calendar)
        }
        planned = connection.execute(select(tables.planned)).mappings()
        self.planned = {row["workshop_id"]: dict(row) for row in planned}
        reminder = tables.reminder
        # Beside the tables, not in memory: there is one for nearly all that was ever told.
        self.told = Table(
            "told_here",
            MetaData(),
            *(Column(column.name, column.type) for column in reminder.columns),
            prefixes=["TEMPORARY"],
        )
        self.told.create(connection, checkfirst=False)
        told = select(reminder).where(reminder.c.sent_on.is_not(None))
        connection.execute(insert(self.told).from_select(reminder.columns.keys(), told))

    def with_zones(self, rows: list[Row]) -> list[Row]:
        """Rows of ``planned`` from a backup, as they may stand."""
        return [with_zone(self.planned.pop(row["workshop_id"], None), row) for row in rows]

    def put_back(self) -> None:
        """Put it back, once the backup is in."""
        shops = set(self.connection.scalars(select(tables.workshop.c.id)))
        left = [with_zone(None, row) for id_, row in self.planned.items() if id_ in shops]
        insert_rows(self.connection, tables.planned, left)
        for table, rows in self.revoked.items():
            self._keep_out(table, [row for row in rows if row["workshop_id"] in shops])
        silence_revoked(self.connection)
        self._tell_no_more()

    def _keep_out(self, table: Table, revoked: list[Row]) -> None:
        """What was revoked here stays so, also what the backup does not know: another may."""
        for some in slices(iter(revoked)):
            known = existing(self.connection, table, some)
            revoke_as(self.connection, table, [row for row in some if key_of(table, row) in known])
            insert_rows(
                self.connection, table, [row for row in some if key_of(table, row) not in known]
            )

    def _tell_no_more(self) -> None:
        reminder, told, shop = tables.reminder, self.told, tables.workshop
        same = and_(*(reminder.c[key.name] == told.c[key.name] for key in reminder.primary_key))
        self.connection.execute(
            update(reminder)
            .where(same, or_(reminder.c.sent_on.is_(None), reminder.c.sent_on < told.c.sent_on))
            .values(
                sent_on=told.c.sent_on,
                waits_ms=case((reminder.c.on > told.c.sent_on, reminder.c.waits_ms)),
            )
        )
        # Of a pour that the backup lacks, and that a phone may bring back.
        as_it_is = {column.name: column for column in told.columns}
        over = as_it_is | {"done": literal(True), "waits_ms": null()}
        unknown = select(*over.values()).where(
            ~exists().where(same), exists().where(shop.c.id == told.c.workshop_id)
        )
        self.connection.execute(insert(reminder).from_select(list(over), unknown))
        told.drop(self.connection, checkfirst=False)
