"""The tables of the server's store. A change here needs a migration in ``migrations/versions``."""

from sqlalchemy import BigInteger, Column, ForeignKey, Index, MetaData, Table, Text

metadata = MetaData()

#: What one maker keeps; several on one server know nothing of each other.
workshop = Table(
    "workshop",
    metadata,
    Column("id", Text, primary_key=True),
    Column("name", Text, nullable=False),
    # The number of the last change: raised only under this row's lock, so that whoever reads sees
    # no later number before an earlier one.
    Column("seq", BigInteger, nullable=False),
    # Renewed when a copy is restored: a phone that meets another era sends and reads all again.
    Column("era", Text, nullable=False),
    Column("made_ms", BigInteger, nullable=False),
    # Of the latest stamp kept: a server whose clock fell back must not refuse what comes after.
    Column("newest_ms", BigInteger, nullable=False),
)

#: Who may come in.
device = Table(
    "device",
    metadata,
    Column("id", Text, primary_key=True),
    Column("workshop_id", Text, ForeignKey("workshop.id"), nullable=False, index=True),
    Column("name", Text, nullable=False),
    Column("secret_sha256", Text, nullable=False),
    Column("agent", Text, nullable=False),
    Column("made_ms", BigInteger, nullable=False),
    Column("seen_ms", BigInteger, nullable=False),
    Column("revoked_ms", BigInteger),
)

#: One-time codes that let a device in.
pairing = Table(
    "pairing",
    metadata,
    Column("code_sha256", Text, primary_key=True),
    Column("workshop_id", Text, ForeignKey("workshop.id"), nullable=False),
    Column("made_ms", BigInteger, nullable=False),
    Column("expires_ms", BigInteger, nullable=False),
    Column("used_ms", BigInteger),
)

#: Codes that were not right, so that guessing is slow whichever process is asked.
attempt = Table(
    "attempt",
    metadata,
    Column("at_ms", BigInteger, nullable=False, index=True),
    Column("address", Text, nullable=False),
)

record = Table(
    "record",
    metadata,
    Column("workshop_id", Text, ForeignKey("workshop.id"), primary_key=True),
    Column("kind", Text, primary_key=True),
    Column("id", Text, primary_key=True),
    Column("seq", BigInteger, nullable=False),
    # JSON of the fields, as it goes to the phone.
    Column("fields", Text, nullable=False),
    Index("ix_record_seq", "workshop_id", "seq"),
)

event = Table(
    "event",
    metadata,
    Column("workshop_id", Text, ForeignKey("workshop.id"), primary_key=True),
    Column("id", Text, primary_key=True),
    Column("pour", Text, nullable=False),
    Column("seq", BigInteger, nullable=False),
    # JSON of the whole event, as it goes to the phone.
    Column("body", Text, nullable=False),
    Index("ix_event_seq", "workshop_id", "seq"),
)
