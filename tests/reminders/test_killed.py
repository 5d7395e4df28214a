"""Workers that race for the same reminders, and are killed at any moment: every reminder reaches
every device, and comes twice only where its worker was killed between sending and writing so down.

Each worker is `benchapp remind` in a process of its own. Only its clock is set, so that what a
killed one had claimed is free again without anybody waiting for it.

More kills than the suite has time for: ``python -m tests.reminders.test_killed --kills 200``.
"""

import argparse
import json
import multiprocessing
import os
import random
import signal
import tempfile
import time
from collections import Counter
from collections.abc import Callable, Iterator
from multiprocessing.process import BaseProcess
from pathlib import Path
from typing import Any, NoReturn

import pytest
from cryptography.hazmat.primitives import serialization
from sqlalchemy import func, select

from benchapp.cli import main
from benchapp.records import tables
from benchapp.records.database import Database
from benchapp.reminders import deliveries, push, push_settings, vapid_keys
from benchapp.reminders.deliveries import LEASE_MS, counts
from benchapp.reminders.planning import is_behind
from benchapp.web import clock
from tests.postgres import find_binaries, postgres_server
from tests.reminders.conftest import CONTACT, KEY, Shop
from tests.reminders.push_service import PushService, push_service
from tests.waits import until

pytestmark = pytest.mark.slow  # starts and kills processes

# A process is forked from one that has imported all this already: eight start in no time.
FORKED = multiprocessing.get_context("forkserver")
FORKED.set_forkserver_preload(
    ["benchapp.reminders.dispatch", "benchapp.web.log", "tests.reminders.conftest"]
)


def remind(
    options: list[str], environment: dict[str, str], now_ms: int, dies: str, said: Path
) -> None:
    """Be `benchapp remind`, by a clock that stands at ``now_ms`` to begin with."""
    output = os.open(said, os.O_WRONLY | os.O_APPEND | os.O_CREAT)
    os.dup2(output, 1)
    os.dup2(output, 2)
    os.environ.update(environment)
    ahead_ms = now_ms - clock.now_ms()
    clock.now_ms = lambda: time.time_ns() // 1_000_000 + ahead_ms
    if dies:
        DIES[dies]()
    main(["remind", *options], prog_name="benchapp")


def _die(*_: Any) -> NoReturn:
    os._exit(9)


def _before_sending() -> None:
    push.Sender.send = _die  # type: ignore[method-assign]


def _after_sending() -> None:
    send = push.Sender.send

    def send_and_die(*given: Any) -> NoReturn:
        send(*given)
        _die()

    push.Sender.send = send_and_die  # type: ignore[method-assign]


def _while_writing() -> None:
    deliveries.count = lambda _, counted: counted and _die()  # type: ignore[assignment]


DIES: dict[str, Callable[[], None]] = {
    "before sending": _before_sending,
    "after sending": _after_sending,
    "while it is written down": _while_writing,
}
"""Where a worker ends as if it were killed."""

Told = tuple[str, str]
"""A device's endpoint and a pour: what one message is about here."""


class Workers:
    """A workshop with phones, and processes that remind them."""

    def __init__(self, database_url: str, data: Path, service: PushService) -> None:
        self.url = database_url
        self.data = data
        self.database = Database(database_url)
        self.shop = Shop(self.database, service, "2026-11-25T12:00")
        self.endpoints: list[str] = []
        self.pours: list[str] = []
        self._read = 0
        self._running: set[BaseProcess] = set()
        vapid_keys.create_once(
            data / vapid_keys.NAME,
            KEY.private.private_bytes(
                serialization.Encoding.PEM,
                serialization.PrivateFormat.PKCS8,
                serialization.NoEncryption(),
            ),
        )

    def close(self) -> None:
        """Let go of all, also of workers that a test that failed has left behind."""
        for worker in list(self._running):
            if worker.is_alive():
                worker.kill()
            self.end(worker)
        self.shop.sender.close()
        self.database.close()

    def phones(self, count: int) -> None:
        for number in range(count):
            self.endpoints.append(self.shop.phone(f"phone {number}")[1].endpoint)

    def fall_due(self, count: int) -> None:
        """Pour so many batches that are ready to be trimmed by now."""
        for _ in range(count):
            self.pours.append(f"p{len(self.pours)}")
            self.shop.pour(self.pours[-1], "2026-11-24")

    def start(self, *options: str, dies: str = "") -> BaseProcess:
        """Start a worker at the shop's time."""
        given = ["--database", self.url, "--data", str(self.data), "--contact", CONTACT, *options]
        environment = {push_settings.TRIAL: str(self.shop.service.trial)}
        worker = FORKED.Process(
            target=remind,
            args=(given, environment, self.shop.now_ms, dies, self.data / "said"),
        )
        worker.start()
        self._running.add(worker)
        return worker

    def end(self, worker: BaseProcess) -> int | None:
        """Wait for its end; return its exit status."""
        worker.join(60)
        status = worker.exitcode
        worker.close()
        self._running.discard(worker)
        return status

    def later(self) -> None:
        """Let as much time pass as a killed worker's claims are held."""
        self.shop.now_ms += LEASE_MS + 30_000

    def said(self) -> str:
        return (self.data / "said").read_text(encoding="utf-8")

    # ---- what has come of it

    def news(self) -> Counter[Told]:
        """What the push service has received since it was last asked."""
        assert self.shop.service.problems == []
        received = self.shop.service.received[self._read :]
        self._read += len(received)
        return Counter(
            (each.subscriber.endpoint, json.loads(each.data)["notification"]["data"]["pour"])
            for each in received
        )

    def claimed(self) -> set[Told]:
        """Messages that a worker has, or had when it was killed."""
        delivery, subscription = tables.delivery, tables.subscription
        asked = (
            select(subscription.c.endpoint, delivery.c.about)
            .join(subscription, subscription.c.device_id == delivery.c.device_id)
            .where(delivery.c.claim.is_not(None))
        )
        with self.database.read() as connection:
            rows = connection.execute(asked).all()
        return {(endpoint, about.partition(" ")[0]) for endpoint, about in rows}

    def is_idle(self) -> bool:
        """Whether nothing is left to do but what somebody has claimed."""
        reminder, delivery = tables.reminder, tables.delivery
        with self.database.read() as connection:
            left = [
                connection.scalar(select(func.count()).where(*where))
                for where in (
                    (reminder.c.waits_ms <= self.shop.now_ms,),
                    (delivery.c.next_ms <= self.shop.now_ms, delivery.c.claim.is_(None)),
                )
            ]
            return not any(left) and not is_behind(connection)

    def all_told(self) -> set[Told]:
        """What must have been told: every batch to every device."""
        return {(endpoint, pour) for endpoint in self.endpoints for pour in self.pours}


# ---- killed at any moment ----------------------------------------------------------------------


class Storm:
    """Workers that are killed again and again while more and more falls due."""

    def __init__(self, workers: Workers, seed: int) -> None:
        self.workers = workers
        self.chance = random.Random(seed)
        self.counts: Counter[str] = Counter()
        self.came: Counter[Told] = Counter()
        #: how often a message was sent and its worker killed before it had written so down
        self.sent_in_doubt: Counter[Told] = Counter()

    def round(self, number: int, pours: int) -> None:
        """Start so many workers and kill some of them, or all, somewhere in their work."""
        workers, service = self.workers, self.workers.shop.service
        workers.later()
        workers.fall_due(pours)
        before = len(service.received)
        running = [workers.start() for _ in range(number)]
        # Somewhere in the start of one worker in ten; else when so much was received, and up to a
        # hundredth of a second later.
        if self.chance.random() < 0.1:
            time.sleep(self.chance.random())
        else:
            enough = self.chance.randrange(1, pours * len(workers.endpoints) * 3 // 4)
            until(lambda: len(service.received) - before >= enough, workers.said)
            time.sleep(self.chance.random() * 0.01)
        killed = self.chance.sample(running, self.chance.choice((1, number // 2, number)))
        for worker in killed:
            worker.kill()
        self.counts["kills"] += len(killed)
        survivors = [worker for worker in running if worker not in killed]
        if survivors:
            until(workers.is_idle, workers.said)
        for worker in survivors:
            worker.terminate()
        assert {workers.end(worker) for worker in killed} == {-signal.SIGKILL}
        # One that was told to end before it had begun ends by the signal.
        assert {workers.end(worker) for worker in survivors} <= {0, -signal.SIGTERM}
        self.look()

    def look(self) -> None:
        """No message came twice while the clock stood in one lease."""
        until(lambda: self.workers.shop.service.open_connections() == 0, self.workers.said)
        news, in_doubt = self.workers.news(), self.workers.claimed()
        assert max(news.values(), default=0) <= 1, news.most_common(3)
        self.came += news
        self.sent_in_doubt.update(told for told in in_doubt if told in news)
        self.counts["claimed by a killed worker, and not sent"] += len(in_doubt - set(news))
        self.counts["sent by a killed worker, and not written down"] += len(in_doubt & set(news))

    def finish(self) -> None:
        """A worker that nobody kills tells the rest. Then all was told, and twice only what was
        in doubt."""
        self.workers.later()
        self.workers.shop.works()
        self.workers.shop.sender.close()
        self.look()
        assert self.workers.claimed() == set()
        assert set(self.came) == self.workers.all_told()
        twice = {told: count - 1 for told, count in self.came.items() if count > 1}
        assert twice == dict(self.sent_in_doubt)
        self.counts["messages"] = len(self.came)
        self.counts["of them sent twice or more"] = len(twice)
        self.counts["sendings more than messages"] = sum(twice.values())
        with self.workers.database.read() as connection:
            assert counts(connection) == {
                "sent": len(self.came),
                "failed": 0,
                "dropped": 0,
                "retried": 0,
            }


def storm(
    workers: Workers, sizes: list[int], *, pours: int, seed: int, told: Callable[[str], None]
) -> Counter[str]:
    """Rounds with so many workers each."""
    raging = Storm(workers, seed)
    for turn, number in enumerate(sizes, 1):
        raging.round(number, pours)
        told(f"{turn} {dict(raging.counts)}")
    raging.finish()
    return raging.counts


@pytest.fixture
def workers(database_url: str, service: PushService, tmp_path: Path) -> Iterator[Workers]:
    made = Workers(database_url, tmp_path, service)
    yield made
    made.close()


@pytest.mark.parametrize(("sizes", "seed"), [([2, 2], 2), ([8], 8)])
def test_killed_at_any_moment_everything_arrives(
    workers: Workers, sizes: list[int], seed: int
) -> None:
    workers.phones(8)
    found = storm(workers, sizes, pours=20, seed=seed, told=print)
    assert found["messages"] == 8 * 20 * len(sizes)
    assert found["kills"] > 0


# ---- killed at a certain moment ----------------------------------------------------------------


@pytest.mark.parametrize("where", list(DIES))
def test_killed_at_a_certain_moment_it_comes_again_once_the_claim_is_over(
    workers: Workers, where: str
) -> None:
    workers.phones(1)
    workers.fall_due(1)
    assert workers.end(workers.start("--once", dies=where)) == 9, workers.said()
    assert sum(workers.news().values()) == (0 if where == "before sending" else 1)
    assert workers.claimed() == workers.all_told()

    # It may still be alive, for all that another worker knows.
    workers.shop.now_ms += LEASE_MS - 30_000
    workers.shop.works()
    assert workers.news() == {}
    workers.later()
    workers.shop.works()
    assert workers.news() == dict.fromkeys(workers.all_told(), 1)
    workers.later()
    workers.shop.works()
    assert workers.news() == {}


# ---- nobody is killed --------------------------------------------------------------------------


@pytest.mark.parametrize("number", [2, 8])
def test_workers_that_race_tell_everything_once(workers: Workers, number: int) -> None:
    workers.phones(8)
    workers.fall_due(20)
    running = [workers.start("--once") for _ in range(number)]
    assert [workers.end(worker) for worker in running] == [0] * number, workers.said()
    assert workers.news() == dict.fromkeys(workers.all_told(), 1)
    assert workers.is_idle()
    assert workers.claimed() == set()


# ---- many more kills ---------------------------------------------------------------------------


def storms() -> None:
    parser = argparse.ArgumentParser(description="Kill workers at any moment, and count.")
    parser.add_argument("--kills", type=int, default=200, help="rounds in which some are killed")
    parser.add_argument("--seed", type=int, default=1)
    given = parser.parse_args()
    binaries = find_binaries()
    if binaries is None:
        raise SystemExit("PostgreSQL was not found.")
    with postgres_server(binaries) as postgres:
        for name in ("sqlite", "postgres"):
            with (
                tempfile.TemporaryDirectory(prefix="bench-killed-") as folder,
                push_service() as service,
            ):
                file = Path(folder) / "bench.sqlite3"
                url = f"sqlite:///{file}" if name == "sqlite" else postgres.new_database()
                _rage(name, Workers(url, Path(folder), service), given.kills, given.seed)


def _rage(name: str, workers: Workers, kills: int, seed: int) -> None:
    begun = time.monotonic()
    try:
        workers.phones(8)
        sizes = [2 if turn % 2 else 8 for turn in range(kills)]
        told: Any = lambda line: print(line, flush=True)  # noqa: E731
        found = storm(workers, sizes, pours=20, seed=seed, told=told)
    finally:
        workers.close()
    print(f"{name}, {kills} rounds, seed {seed}, {time.monotonic() - begun:.0f} s")
    for what, count in sorted(found.items()):
        print(f"{count:8d}  {what}")


if __name__ == "__main__":
    storms()
