"""The bytes of attachments that the store has."""

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"


def upgrade() -> None:
    op.create_table(
        "attachment",
        sa.Column(
            "workshop_id", sa.Text, sa.ForeignKey("workshop.id"), primary_key=True, nullable=False
        ),
        sa.Column("sha256", sa.Text, primary_key=True, nullable=False),
        sa.Column("bytes", sa.BigInteger, nullable=False),
        sa.Column("type", sa.Text, nullable=False),
        sa.Column("made_ms", sa.BigInteger, nullable=False),
    )
