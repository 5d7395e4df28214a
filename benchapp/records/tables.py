"""The tables of the server's store. A change here needs a migration in ``migrations/versions``."""

from sqlalchemy import BigInteger, Boolean, Column, ForeignKey, Index, MetaData, Table, Text

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
    # The record that it happened to.
    Column("of_kind", Text, nullable=False),
    Column("of_id", Text, nullable=False),
    Column("seq", BigInteger, nullable=False),
    # JSON of the whole event, as it goes to the phone.
    Column("body", Text, nullable=False),
    Index("ix_event_seq", "workshop_id", "seq"),
    Index("ix_event_of", "workshop_id", "of_kind", "of_id"),
)

#: Bytes of photos and papers that are in the store of attachments, by their hash.
attachment = Table(
    "attachment",
    metadata,
    Column("workshop_id", Text, ForeignKey("workshop.id"), primary_key=True),
    Column("sha256", Text, primary_key=True),
    Column("bytes", BigInteger, nullable=False),
    # What they are, as they are served.
    Column("type", Text, nullable=False),
    Column("made_ms", BigInteger, nullable=False),
)

#: How far reminders have been reckoned from what a workshop keeps.
planned = Table(
    "planned",
    metadata,
    Column("workshop_id", Text, ForeignKey("workshop.id"), primary_key=True),
    Column("era", Text, nullable=False),
    Column("seq", BigInteger, nullable=False),
    # The time zone that her phone last told, and how often it was another one.
    Column("zone", Text, nullable=False),
    Column("zone_moves", BigInteger, nullable=False),
    # JSON of the settings that were reckoned with; null: to be reckoned anew.
    Column("settings", Text),
)

#: What a pour reminds of.
reminder = Table(
    "reminder",
    metadata,
    Column("workshop_id", Text, ForeignKey("workshop.id"), primary_key=True),
    Column("pour", Text, primary_key=True),
    Column("kind", Text, primary_key=True),
    Column("name", Text, nullable=False),
    # ISO 8601: by the pour's sheet, and the one on which it comes.
    Column("day", Text, nullable=False),
    Column("on", Text, nullable=False),
    Column("due_ms", BigInteger, nullable=False),
    Column("done", Boolean, nullable=False),
    # The same as `due_ms` while it is still to be sent, else null.
    Column("waits_ms", BigInteger, index=True),
    # The `on` for which it was sent, or passed over.
    Column("sent_on", Text),
    Index("ix_reminder_open", "workshop_id", "done", "due_ms"),
)

#: Where a device's browser takes messages.
subscription = Table(
    "subscription",
    metadata,
    Column("device_id", Text, ForeignKey("device.id"), primary_key=True),
    Column("workshop_id", Text, ForeignKey("workshop.id"), nullable=False, index=True),
    Column("endpoint", Text, nullable=False, unique=True),
    Column("p256dh", Text, nullable=False),
    Column("auth", Text, nullable=False),
    # The public key that it was made for, and where the bench is found, with no slash at the end.
    Column("app_key", Text, nullable=False),
    Column("origin", Text, nullable=False),
    Column("made_ms", BigInteger, nullable=False),
    Column("sent_ms", BigInteger),
    # What last went wrong, in a sentence; null again once something was sent.
    Column("trouble", Text),
    Column("trouble_ms", BigInteger),
)

#: Messages to devices, those on their way and those of the last weeks.
delivery = Table(
    "delivery",
    metadata,
    Column("id", Text, primary_key=True),
    Column("device_id", Text, ForeignKey("device.id"), nullable=False),
    # What it tells: no device is told the same twice.
    Column("about", Text, nullable=False),
    Column("topic", Text, nullable=False),
    Column("urgency", Text, nullable=False),
    Column("payload", Text, nullable=False),
    Column("expires_ms", BigInteger, nullable=False),
    # When it is to be sent, or taken up again should who claimed it be gone; null: it is over.
    Column("next_ms", BigInteger, index=True),
    Column("claim", Text),
    Column("tries", BigInteger, nullable=False),
    # waiting, sent, failed, dropped
    Column("state", Text, nullable=False),
    Column("status", BigInteger),
    Column("over_ms", BigInteger, index=True),
    Index("ix_delivery_about", "device_id", "about", unique=True),
)

#: How many messages were sent, failed, dropped, tried again.
tally = Table(
    "tally",
    metadata,
    Column("name", Text, primary_key=True),
    Column("count", BigInteger, nullable=False),
)

#: Private addresses of the calendar.
calendar = Table(
    "calendar",
    metadata,
    Column("token_sha256", Text, primary_key=True),
    Column("workshop_id", Text, ForeignKey("workshop.id"), nullable=False, index=True),
    Column("made_ms", BigInteger, nullable=False),
    Column("read_ms", BigInteger),
    Column("revoked_ms", BigInteger),
)
