"""The log: a JSON object a line, whatever happens, and nothing in it that is a secret or hers."""

import io
import json
import logging
import sys
import threading
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import select, text

from benchapp.records import tables, workshops
from benchapp.records.database import Database
from benchapp.reminders import calendar
from benchapp.web import log
from benchapp.web.app import create_app
from tests.reminders.conftest import KEY, Shop
from tests.reminders.push_service import PushService, Subscriber, push_service

Lines = Callable[[], list[Any]]


@pytest.fixture
def lines(monkeypatch: pytest.MonkeyPatch) -> Iterator[Lines]:
    """What the log has said."""
    stream = io.StringIO()
    monkeypatch.setattr(sys, "stderr", stream)
    ours = logging.getLogger("benchapp")
    before = (ours.handlers[:], ours.level, ours.propagate)
    # As often as it is called, a line is written once.
    log.to_stderr()
    log.to_stderr()
    yield lambda: [json.loads(line) for line in stream.getvalue().splitlines()]
    ours.handlers[:], ours.level, ours.propagate = before


@pytest.fixture(scope="module")
def service() -> Iterator[PushService]:
    with push_service() as started:
        yield started


@pytest.fixture
def shop(tmp_path: Path, service: PushService) -> Iterator[Shop]:
    database = Database(f"sqlite:///{tmp_path / 'bench.sqlite3'}")
    made = Shop(database, service, "2026-11-25T12:00")
    made.in_zone("Europe/Lisbon")
    yield made
    made.sender.close()
    database.close()


def secrets_of(shop: Shop, *subscribers: Subscriber) -> list[str]:
    """What nobody may read in a log."""
    with shop.database.read() as connection:
        hashes = list(connection.scalars(select(tables.device.c.secret_sha256)))
    found = [*hashes, KEY.public, "Wet slate", "tin 120"]
    for each in subscribers:
        found += [each.endpoint.rpartition("/")[2], each.p256dh, each.auth]
    return found


def test_a_line_is_one_json_object(lines: Lines) -> None:
    logger = logging.getLogger("benchapp.reminders")
    logger.debug("not told")
    before = datetime.now(UTC).replace(microsecond=0)
    logger.warning("a “word”\nand\u2028a line", extra={"told": {"tries": 2, "status": None}})
    (line,) = lines()
    assert line == {
        "at": line["at"],
        "level": "warning",
        "from": "benchapp.reminders",
        "what": "a “word”\nand\u2028a line",
        "tries": 2,
        "status": None,
    }
    at = datetime.fromisoformat(line["at"])
    assert at.utcoffset() == UTC.utcoffset(None)
    assert before <= at <= datetime.now(UTC)


def test_what_becomes_of_messages_names_the_device_and_the_service(
    shop: Shop, lines: Lines
) -> None:
    answers = {"sent": 201, "gone": 410, "failed": 400, "retry": 503, "cut": "cut"}
    phones = {}
    for name, answer in answers.items():
        device, phones[name] = shop.phone(name)
        answers[name] = device.id
        shop.service.answer(phones[name], answer)
    shop.pour("p1", "2026-11-25")
    shop.works()
    shop.works("2026-11-26T09:00")
    told = {line["device"]: line for line in lines() if line["what"] == "push"}
    outcomes = {name: told[id_]["outcome"] for name, id_ in answers.items()}
    assert outcomes == {name: name for name in answers} | {"cut": "retry"}
    assert told[answers["sent"]]["level"] == "info"
    assert told[answers["cut"]]["level"] == "warning"
    assert {line["service"] for line in told.values()} == {"push.test"}
    written = json.dumps(list(told.values()))
    for hidden in secrets_of(shop, *phones.values()):
        assert hidden not in written


class _Stops(logging.Handler):
    """Ends a worker once it has said something."""

    def __init__(self, stop: threading.Event) -> None:
        super().__init__()
        self._stop = stop

    def emit(self, record: logging.LogRecord) -> None:
        self._stop.set()


def test_what_a_database_refuses_is_not_quoted(shop: Shop, lines: Lines) -> None:
    _, phone = shop.phone()
    shop.pour("p1", "2026-11-25")
    shop.works()
    with shop.database.write() as connection:
        connection.execute(
            text(
                "CREATE TRIGGER refuses BEFORE INSERT ON delivery "
                "BEGIN SELECT RAISE(ABORT, 'refused'); END"
            )
        )
    shop.at("2026-11-26T09:00")
    stop = threading.Event()
    logging.getLogger("benchapp").addHandler(_Stops(stop))
    with shop.worker() as worker:
        worker.run(stop)
    (line,) = lines()
    assert (line["level"], line["what"]) == ("error", "unexpected")
    # What kind it was and where it happened, to find it by.
    assert "IntegrityError SQLITE_CONSTRAINT_TRIGGER" in line["trace"]
    assert "deliveries.py" in line["trace"]
    for hidden in secrets_of(shop, phone):
        assert hidden not in json.dumps(line, ensure_ascii=False)


def test_an_address_that_is_a_secret_is_not_told_when_it_fails(
    tmp_path: Path, lines: Lines, monkeypatch: pytest.MonkeyPatch
) -> None:
    app = create_app(data_dir=tmp_path)
    database: Database = app.extensions["database"]
    with database.write() as connection:
        shop = workshops.first_workshop(connection, 1_764_070_400_000)
        _, token = calendar.make_address(connection, shop["id"], 1_764_070_400_000)

    def fails(*_: Any) -> bytes:
        raise RuntimeError

    monkeypatch.setattr(calendar, "feed", fails)
    assert app.test_client().get(f"/calendar/{token}.ics").status_code == 500
    database.close()
    (line,) = lines()
    assert (line["level"], line["what"]) == ("error", "Unexpected error")
    assert "RuntimeError" in line["trace"]
    assert token not in json.dumps(line)
