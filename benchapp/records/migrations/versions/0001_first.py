"""The first schema: workshops, devices, codes, records, pour events."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None


def upgrade() -> None:
    op.create_table(
        "workshop",
        sa.Column("id", sa.Text, primary_key=True),
        sa.Column("name", sa.Text, nullable=False),
        sa.Column("seq", sa.BigInteger, nullable=False),
        sa.Column("era", sa.Text, nullable=False),
        sa.Column("made_ms", sa.BigInteger, nullable=False),
        sa.Column("newest_ms", sa.BigInteger, nullable=False),
    )
    op.create_table(
        "device",
        sa.Column("id", sa.Text, primary_key=True),
        sa.Column("workshop_id", sa.Text, sa.ForeignKey("workshop.id"), nullable=False),
        sa.Column("name", sa.Text, nullable=False),
        sa.Column("secret_sha256", sa.Text, nullable=False),
        sa.Column("agent", sa.Text, nullable=False),
        sa.Column("made_ms", sa.BigInteger, nullable=False),
        sa.Column("seen_ms", sa.BigInteger, nullable=False),
        sa.Column("revoked_ms", sa.BigInteger),
    )
    op.create_index("ix_device_workshop_id", "device", ["workshop_id"])
    op.create_table(
        "pairing",
        sa.Column("code_sha256", sa.Text, primary_key=True),
        sa.Column("workshop_id", sa.Text, sa.ForeignKey("workshop.id"), nullable=False),
        sa.Column("made_ms", sa.BigInteger, nullable=False),
        sa.Column("expires_ms", sa.BigInteger, nullable=False),
        sa.Column("used_ms", sa.BigInteger),
    )
    op.create_table(
        "attempt",
        sa.Column("at_ms", sa.BigInteger, nullable=False),
        sa.Column("address", sa.Text, nullable=False),
    )
    op.create_index("ix_attempt_at_ms", "attempt", ["at_ms"])
    op.create_table(
        "record",
        sa.Column("workshop_id", sa.Text, sa.ForeignKey("workshop.id"), primary_key=True),
        sa.Column("kind", sa.Text, primary_key=True),
        sa.Column("id", sa.Text, primary_key=True),
        sa.Column("seq", sa.BigInteger, nullable=False),
        sa.Column("fields", sa.Text, nullable=False),
    )
    op.create_index("ix_record_seq", "record", ["workshop_id", "seq"])
    op.create_table(
        "event",
        sa.Column("workshop_id", sa.Text, sa.ForeignKey("workshop.id"), primary_key=True),
        sa.Column("id", sa.Text, primary_key=True),
        sa.Column("pour", sa.Text, nullable=False),
        sa.Column("seq", sa.BigInteger, nullable=False),
        sa.Column("body", sa.Text, nullable=False),
    )
    op.create_index("ix_event_seq", "event", ["workshop_id", "seq"])
