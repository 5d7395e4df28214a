"""A stream of events belongs to any record: an event names it by kind and id, no longer a pour."""

import json

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"

_AT_ONCE = 500


def upgrade() -> None:
    op.drop_index("ix_event_pour", "event")
    op.add_column("event", sa.Column("of_kind", sa.Text))
    _rewrite(op.get_bind())
    # SQLite can't change a column: the table is made anew there.
    with op.batch_alter_table("event") as event:
        event.alter_column("of_kind", existing_type=sa.Text, nullable=False)
        event.alter_column("pour", new_column_name="of_id", existing_type=sa.Text)
    op.create_index("ix_event_of", "event", ["workshop_id", "of_kind", "of_id"])


def _rewrite(connection: sa.Connection) -> None:
    """``"pour": id`` in every body becomes ``"of": ["pour", id]``."""
    event = sa.table(
        "event", *(sa.column(name, sa.Text) for name in ("workshop_id", "id", "of_kind", "body"))
    )
    key = sa.tuple_(event.c.workshop_id, event.c.id)
    asked = sa.select(event).order_by(event.c.workshop_id, event.c.id).limit(_AT_ONCE)
    change = (
        sa.update(event)
        .where(
            event.c.workshop_id == sa.bindparam("in_workshop"),
            event.c.id == sa.bindparam("by_id"),
        )
        .values(of_kind="pour", body=sa.bindparam("new_body"))
    )
    rows = connection.execute(asked).all()
    while rows:
        connection.execute(
            change,
            [
                {"in_workshop": row.workshop_id, "by_id": row.id, "new_body": _body(row.body)}
                for row in rows
            ],
        )
        last = sa.tuple_(sa.literal(rows[-1].workshop_id), sa.literal(rows[-1].id))
        rows = connection.execute(asked.where(key > last)).all()


def _body(text: str) -> str:
    before = json.loads(text)
    after = {
        ("of" if name == "pour" else name): (["pour", value] if name == "pour" else value)
        for name, value in before.items()
    }
    return json.dumps(after, separators=(",", ":"))
