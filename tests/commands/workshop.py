"""What the checks are tried on: a time, a database with a workshop in it, settings of push."""

import os
from collections.abc import Iterator
from datetime import timedelta
from typing import Any

import pytest

from benchapp.records.database import Database
from benchapp.reminders.push_settings import PushSettings
from tests.reminders.conftest import CONTACT, KEY, Shop, ms
from tests.reminders.push_service import PushService

NOW = "2026-11-25T12:00"
NOW_MS = ms(NOW)
DAY = timedelta(days=1)
HOUR_MS = 3_600_000

posix = pytest.mark.skipif(os.name != "posix", reason="file modes are POSIX's")


def opened(url: str, service: PushService) -> Iterator[Shop]:
    database = Database(url)
    made = Shop(database, service, NOW)
    yield made
    made.sender.close()
    database.close()


def using(service: PushService | None = None, **given: Any) -> PushSettings:
    trial = None if service is None else service.trial
    return PushSettings(**({"key": KEY, "contact": CONTACT, "trial": trial} | given))
