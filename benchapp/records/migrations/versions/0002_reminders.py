"""Reminders: what is planned, subscriptions, messages on their way, calendar addresses."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"


def upgrade() -> None:
    op.create_index("ix_event_pour", "event", ["workshop_id", "pour"])
    op.create_table(
        "planned",
        sa.Column("workshop_id", sa.Text, sa.ForeignKey("workshop.id"), primary_key=True),
        sa.Column("era", sa.Text, nullable=False),
        sa.Column("seq", sa.BigInteger, nullable=False),
        sa.Column("zone", sa.Text, nullable=False),
        sa.Column("zone_moves", sa.BigInteger, nullable=False),
        sa.Column("settings", sa.Text),
    )
    op.create_table(
        "reminder",
        sa.Column("workshop_id", sa.Text, sa.ForeignKey("workshop.id"), primary_key=True),
        sa.Column("pour", sa.Text, primary_key=True),
        sa.Column("kind", sa.Text, primary_key=True),
        sa.Column("name", sa.Text, nullable=False),
        sa.Column("day", sa.Text, nullable=False),
        sa.Column("on", sa.Text, nullable=False),
        sa.Column("due_ms", sa.BigInteger, nullable=False),
        sa.Column("done", sa.Boolean, nullable=False),
        sa.Column("waits_ms", sa.BigInteger),
        sa.Column("sent_on", sa.Text),
    )
    op.create_index("ix_reminder_waits_ms", "reminder", ["waits_ms"])
    op.create_index("ix_reminder_open", "reminder", ["workshop_id", "done", "due_ms"])
    op.create_table(
        "subscription",
        sa.Column("device_id", sa.Text, sa.ForeignKey("device.id"), primary_key=True),
        sa.Column("workshop_id", sa.Text, sa.ForeignKey("workshop.id"), nullable=False),
        sa.Column("endpoint", sa.Text, nullable=False, unique=True),
        sa.Column("p256dh", sa.Text, nullable=False),
        sa.Column("auth", sa.Text, nullable=False),
        sa.Column("app_key", sa.Text, nullable=False),
        sa.Column("origin", sa.Text, nullable=False),
        sa.Column("made_ms", sa.BigInteger, nullable=False),
        sa.Column("sent_ms", sa.BigInteger),
        sa.Column("trouble", sa.Text),
        sa.Column("trouble_ms", sa.BigInteger),
    )
    op.create_index("ix_subscription_workshop_id", "subscription", ["workshop_id"])
    op.create_table(
        "delivery",
        sa.Column("id", sa.Text, primary_key=True),
        sa.Column("device_id", sa.Text, sa.ForeignKey("device.id"), nullable=False),
        sa.Column("about", sa.Text, nullable=False),
        sa.Column("topic", sa.Text, nullable=False),
        sa.Column("urgency", sa.Text, nullable=False),
        sa.Column("payload", sa.Text, nullable=False),
        sa.Column("expires_ms", sa.BigInteger, nullable=False),
        sa.Column("next_ms", sa.BigInteger),
        sa.Column("claim", sa.Text),
        sa.Column("tries", sa.BigInteger, nullable=False),
        sa.Column("state", sa.Text, nullable=False),
        sa.Column("status", sa.BigInteger),
        sa.Column("over_ms", sa.BigInteger),
    )
    op.create_index("ix_delivery_next_ms", "delivery", ["next_ms"])
    op.create_index("ix_delivery_over_ms", "delivery", ["over_ms"])
    op.create_index("ix_delivery_about", "delivery", ["device_id", "about"], unique=True)
    op.create_table(
        "tally",
        sa.Column("name", sa.Text, primary_key=True),
        sa.Column("count", sa.BigInteger, nullable=False),
    )
    for name in ("sent", "failed", "dropped", "retried"):
        op.execute(sa.text(f"INSERT INTO tally (name, count) VALUES ('{name}', 0)"))  # noqa: S608
    op.create_table(
        "calendar",
        sa.Column("token_sha256", sa.Text, primary_key=True),
        sa.Column("workshop_id", sa.Text, sa.ForeignKey("workshop.id"), nullable=False),
        sa.Column("made_ms", sa.BigInteger, nullable=False),
        sa.Column("read_ms", sa.BigInteger),
        sa.Column("revoked_ms", sa.BigInteger),
    )
    op.create_index("ix_calendar_workshop_id", "calendar", ["workshop_id"])
