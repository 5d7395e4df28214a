"""A data directory and workshops as a server leaves them."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from cryptography.hazmat.primitives import serialization

from benchapp.reminders import vapid_keys
from benchapp.web import secret
from tests.commands.workshop import opened
from tests.reminders.conftest import KEY, Shop
from tests.reminders.push_service import PushService, push_service


@pytest.fixture
def data(tmp_path: Path) -> Path:
    """A data directory as a server leaves it, with the key that the phones know."""
    path = tmp_path / "data"
    secret.key(path)
    pem = KEY.private.private_bytes(
        serialization.Encoding.PEM,
        serialization.PrivateFormat.PKCS8,
        serialization.NoEncryption(),
    )
    (path / vapid_keys.NAME).write_bytes(pem)
    (path / vapid_keys.NAME).chmod(0o600)
    return path


@pytest.fixture(scope="module")
def service() -> Iterator[PushService]:
    with push_service() as started:
        yield started


@pytest.fixture
def shop(database_url: str, service: PushService) -> Iterator[Shop]:
    """A workshop in either database, of which no phone has told anything yet."""
    yield from opened(database_url, service)


@pytest.fixture
def shed(tmp_path: Path, service: PushService) -> Iterator[Shop]:
    """The same in SQLite alone. What it is asked is asked of PostgreSQL by the whole command."""
    yield from opened(f"sqlite:///{tmp_path / 'shed.sqlite3'}", service)
