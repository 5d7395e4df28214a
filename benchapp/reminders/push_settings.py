"""What this server sends messages with: its key, the contact that it names to push services, and
the services that it may use.
"""

import os
from collections.abc import Collection
from dataclasses import dataclass, field
from pathlib import Path

from benchapp.reminders import vapid_keys
from benchapp.reminders.push import Sender, check_contact
from benchapp.reminders.push_address import Trial
from benchapp.reminders.vapid_keys import VapidKey
from benchapp.words import InputError, n_, t

TRIAL = "BENCHAPP_TRIAL_PUSH_SERVICE"
"""For tests alone: ADDRESS:PORT:CA-FILE of a push service on this machine. No other is reached."""

DEVELOPER_DAY = "BENCHAPP_DEVELOPER_DAY_S"
"""For developers alone: seconds that a day of waiting takes, counted from when a batch is set
aside. Nobody's candles cure in minutes."""

WHY_NOT = n_(
    "This server sends no messages yet. Start it with --contact and an address at which the push "
    "services can reach you, such as --contact mailto:you@example.net."
)


@dataclass(frozen=True)
class PushSettings:
    """What a server sends with.

    Attributes:
        contact: mailto: or https: address, or "": nothing can be sent.
        allow: names of the push services that may be used; all where it is empty.
        trial: the only push service that is reached, in tests.
        day_ms: as in ``due.Settings``.
    """

    key: VapidKey = field(repr=False)
    contact: str = ""
    allow: Collection[str] = ()
    trial: Trial | None = None
    day_ms: int | None = None

    @property
    def app_key(self) -> str:
        """What a page subscribes with."""
        return self.key.public

    @property
    def why_not(self) -> str:
        """A sentence that is still to be worded, where nothing can be sent; else ""."""
        return "" if self.contact else WHY_NOT

    def sender(self) -> Sender | None:
        """What sends, or None where nothing can be sent."""
        if not self.contact:
            return None
        return Sender(self.key, self.contact, allow=self.allow, trial=self.trial)

    def warnings(self) -> list[str]:
        """What nobody should find on a server that is used, in sentences."""
        found = []
        if self.trial is not None:
            found.append(
                t(
                    "{variable} is set: messages go to {service} alone, to no real phone.",
                    variable=TRIAL,
                    service=self.trial,
                )
            )
        if self.day_ms is not None:
            seconds = f"{self.day_ms / 1000:g}"
            found.append(
                t(
                    "{variable} is set: a day of cure takes {seconds} seconds.",
                    variable=DEVELOPER_DAY,
                    seconds=seconds,
                )
            )
        return found


def read_push_settings(
    data_dir: Path, contact: str | None, allow: Collection[str] = ()
) -> PushSettings:
    """The key of ``data_dir``, made on first use, with settings and the environment.

    Raises OSError where the key can't be read or made, InputError where a setting can't be used.
    """
    trial = os.environ.get(TRIAL)
    day = os.environ.get(DEVELOPER_DAY)
    settings = PushSettings(
        vapid_keys.load(data_dir),
        check_contact(_as_url(contact)) if contact else "",
        tuple(allow),
        Trial.from_text(trial) if trial else None,
        _day_ms(day) if day else None,
    )
    if sender := settings.sender():
        # Whatever it would refuse, it refuses now.
        sender.close()
    return settings


def _as_url(contact: str) -> str:
    """A contact as a URL: a mail address alone gets its ``mailto:``."""
    return f"mailto:{contact}" if "@" in contact and ":" not in contact else contact


def _day_ms(text: str) -> int:
    if not text.isascii() or not text.isdigit() or not 1 <= int(text) <= 86_400:
        raise InputError(
            "{variable} is a number of seconds, from 1 to 86400.", variable=DEVELOPER_DAY
        )
    return int(text) * 1000
