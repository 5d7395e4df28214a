"""What a server of many workshops costs: ``python -m tests.benchmarks.workshops``.

A PostgreSQL is filled with so many workshops (``--workshops``, 20, 200 and 2,000), each with two
devices, 40 records, and 12 pours of 30 events with their reminders. At it two servers (``benchapp
serve``) and two workers that send reminders (``benchapp remind``), each a process of its own.
Printed are, by the number of workshops, and the last against the first:

(a) exchanges a second, 16 clients at once, eight at each server: each takes a workshop at random,
    changes one record from its first device, and fetches that to its second. Median and 95 %.
(b) how long the workers take for two reminders of each workshop that fall due at one moment, until
    all that is sent is written down; and to reckon all workshops anew, as after an update.
(c) what a worker's look costs that finds nothing to do, which it takes once a second.
(d) memory of each process, and the size of the database.

Beside (a) and (b) stands what one exchange, one reminder and one workshop cost of a processor, in
the servers or workers and in PostgreSQL: where other programs run, it says more than the time.

And of the largest: which statements of a day PostgreSQL answers by reading a whole table.

It needs Linux and PostgreSQL, and takes some minutes. Clients, servers, database and push service
share this machine: absolute figures are of all of them together. Nothing else should run meanwhile.
"""

import argparse
import os
import platform
import random
import signal
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from sqlalchemy import text

from benchapp.records.database import Database
from benchapp.records.devices import device_of
from benchapp.records.exchange import PROTOCOL, exchange, read_message
from benchapp.reminders import deliveries, notifications, planning, push_settings
from benchapp.web.clock import now_ms
from tests.benchmarks import workshops_store as store
from tests.benchmarks.exchange_ours import Clock, changed
from tests.benchmarks.exchange_records import records
from tests.benchmarks.exchange_wire import Connection, Load, Refused, cpu_s, load, memory
from tests.benchmarks.reminders_wire import CONTACT, ROOT, service
from tests.postgres import HOW_TO_INSTALL, Postgres, find_binaries, postgres_server
from tests.query_plans import statements_of, whole_reads
from tests.server import serving

WORKSHOPS = (20, 200, 2_000)
CLIENTS = 16
SERVERS = WORKERS = 2
LOOKS = 200
LIMIT_S = 600


@dataclass
class Figures:
    """Of a server with so many workshops; seconds where nothing else is said."""

    workshops: int
    size_mb: float
    change: Load
    change_cpu: "Cpu"
    reminders: int
    sent: float
    sent_cpu: "Cpu"
    reckoned: float
    reckoned_cpu: "Cpu"
    look_ms: float
    servers_mb: list[float]
    workers_mb: list[float]


@dataclass
class Cpu:
    """Seconds of a processor: of our own processes, and of the database."""

    own: float = 0.0
    database: float = 0.0


@contextmanager
def using(pids: list[int], database_pid: int) -> Iterator[Cpu]:
    """What of a processor is used while the block runs; there once it is over."""
    used = Cpu()
    before = sum(map(cpu_s, pids)), cpu_s(database_pid)
    yield used
    used.own = sum(map(cpu_s, pids)) - before[0]
    used.database = cpu_s(database_pid) - before[1]


# ---- exchanges ----------------------------------------------------------------------------------


class Client:
    """One kept connection, over which one workshop after another is worked in."""

    def __init__(self, url: str, number: int, workshops: range, seq: int) -> None:
        self._connection = Connection(url)
        token = self._connection.ask("GET", "/api/me")["csrf"]
        self._connection.headers["X-CSRFToken"] = token
        self._workshops = workshops
        self._draw = random.Random(number)
        self._clock = Clock(f"client{number}")
        self._first = _stamped_record()
        self._kept: dict[int, Any] = {}
        self._cursors: dict[str, int] = {}
        self._seq = seq

    def greet(self) -> None:
        """Show each device's cookie once, as all have that were there since the server started."""
        for workshop in self._workshops:
            for device in store.DEVICES:
                self._connection.be(store.cookie(workshop, device))
                self._connection.ask("GET", "/api/me")

    def work(self) -> int:
        """Change a record from one device, and fetch it to the other."""
        workshop = self._draw.choice(self._workshops)
        record = changed(self._kept.get(workshop, self._first), self._clock)
        self._kept[workshop] = record
        self._exchange(workshop, "a", [record])
        [brought] = self._exchange(workshop, "b", [])
        if brought["id"] != record["id"]:
            raise Refused(f"Another record came: {brought['id']}")
        return 1

    def _exchange(self, workshop: int, device: str, sent: list[Any]) -> list[Any]:
        who = store.device_id(workshop, device)
        self._connection.be(store.cookie(workshop, device))
        cursor = self._cursors.get(who, self._seq)
        told = {"protocol": PROTOCOL, "era": "era", "cursor": cursor, "records": sent, "events": []}
        answer = self._connection.ask("POST", "/api/exchange", told)
        if answer["refused"] or answer["restart"] or answer["more"]:
            raise Refused(f"Not all was taken: {str(answer)[:500]}")
        self._cursors[who] = answer["cursor"]
        found: list[Any] = answer["records"]
        return found


def _stamped_record() -> Any:
    """The record that clients change, as the filler made it."""
    [kept] = [each for each in records(store.RECORDS) if each["kind"] == "wax"][:1]
    fields = {n: {"value": v, "stamp": store.FIRST_STAMP} for n, v in kept["fields"].items()}
    return {**kept, "fields": fields}


def clients_of(urls: list[str], workshops: int, seq: int) -> list[Client]:
    # A workshop is one client's, so that no two change one record at once.
    return [
        Client(urls[number % len(urls)], number, range(number, workshops, CLIENTS), seq)
        for number in range(min(CLIENTS, workshops))
    ]


# ---- reminders ----------------------------------------------------------------------------------


@contextmanager
def workers(url: str, data: Path, trial: str) -> Iterator[list[int]]:
    """Run the workers; give their process ids."""
    command = [sys.executable, "-m", "benchapp", "remind", "--database", url, "--data", str(data)]
    environment = os.environ | {push_settings.TRIAL: trial}
    with (data / "remind.log").open("w", encoding="utf-8") as said:
        running = [
            subprocess.Popen(
                [*command, "--contact", CONTACT],
                cwd=ROOT,
                env=environment,
                stdout=said,
                stderr=subprocess.STDOUT,
                start_new_session=True,
            )
            for _ in range(WORKERS)
        ]
        try:
            yield [each.pid for each in running]
        finally:
            for each in running:
                each.send_signal(signal.SIGTERM)
            for each in running:
                each.wait(30)


def seconds_until(is_so: Callable[[], bool]) -> float:
    """Seconds from now until it is so."""
    begun = time.perf_counter()
    while not is_so():
        if time.perf_counter() - begun > LIMIT_S:
            raise TimeoutError
        time.sleep(0.05)
    return time.perf_counter() - begun


def measure_reckoning(database: Database) -> float:
    """How long until all workshops are reckoned, once all have to be."""
    with database.write() as connection:
        connection.execute(text("UPDATE planned SET settings = NULL"))
    return seconds_until(lambda: not _reads(database, planning.is_behind))


def measure_sending(database: Database) -> tuple[int, float]:
    """How many reminders fell due, and how long until all messages of them are written down."""
    before = _reads(database, deliveries.counts)
    due = store.let_fall_due(database, now_ms())

    def is_over() -> bool:
        counted = _reads(database, deliveries.counts)
        if any(counted[name] != before[name] for name in ("failed", "dropped", "retried")):
            raise Refused(f"Not all was sent: {counted}")
        return bool(counted["sent"] - before["sent"] >= due)

    took = seconds_until(is_over)
    if (sent := _reads(database, deliveries.counts)["sent"] - before["sent"]) != due:
        raise Refused(f"{due} reminders fell due, and {sent} messages were sent.")
    return due, took


def measure_look(database: Database, app_key: str) -> float:
    """Milliseconds of what a worker asks that finds nothing to do; the median."""
    took = []
    for _ in range(LOOKS):
        begun = time.perf_counter()
        with database.read() as connection:
            if (
                planning.is_behind(connection)
                or notifications.is_due(connection, 0)
                or deliveries.is_due(connection, 0, app_key)
            ):
                raise Refused("There was something to do.")
        took.append((time.perf_counter() - begun) * 1e3)
    return statistics.median(took)


def _reads(database: Database, asked: Callable[[Any], Any]) -> Any:
    with database.read() as connection:
        return asked(connection)


# ---- all of it ----------------------------------------------------------------------------------


def measure(postgres: Postgres, folder: Path, workshops: int, given: Any) -> Figures:
    data = folder / f"of-{workshops}"
    data.mkdir()
    pushing = push_settings.read_push_settings(data, CONTACT)
    url = postgres.new_database()
    database = Database(url)
    told = (postgres.scratch / "data" / "postmaster.pid").read_text(encoding="utf-8")
    postmaster = int(told.splitlines()[0])
    with service(pushing.app_key, workshops) as (trial, listeners), ExitStack() as stack:
        say(f"{workshops} workshops: filling")
        store.fill(
            database,
            workshops,
            now_ms(),
            pours=given.pours,
            listeners=listeners,
            app_key=pushing.app_key,
        )
        size_mb = store.size_mb(database)
        look_ms = measure_look(database, pushing.app_key)
        seq = _reads(database, _seq)
        room = {"BENCHAPP_REQUESTS_A_MINUTE": "1000000"}
        servers = [
            stack.enter_context(serving(data / f"server-{n}", "--database", url, environment=room))
            for n in range(SERVERS)
        ]
        say(f"{workshops} workshops: exchanges")
        pids = [each.process.pid for each in servers]
        clients = clients_of([each.url for each in servers], workshops, seq)
        with ThreadPoolExecutor(CLIENTS) as pool:
            list(pool.map(Client.greet, clients))
        with using(pids, postmaster) as change_cpu:
            change = load([each.work for each in clients], given.seconds)
        servers_mb = [memory(each.process.pid).pss for each in servers]
        if workshops == max(given.workshops):
            print_plans(database, pushing.app_key)
        say(f"{workshops} workshops: reminders")
        with workers(url, data, trial) as pids:
            # What exchanges have changed is reckoned first.
            seconds_until(lambda: not _reads(database, planning.is_behind))
            with using(pids, postmaster) as reckoned_cpu:
                reckoned = measure_reckoning(database)
            with using(pids, postmaster) as sent_cpu:
                due, sent = measure_sending(database)
            workers_mb = [memory(pid).pss for pid in pids]
    database.close()
    return Figures(
        workshops=workshops,
        size_mb=size_mb,
        look_ms=look_ms,
        change=change,
        change_cpu=change_cpu,
        reminders=due,
        sent=sent,
        sent_cpu=sent_cpu,
        reckoned=reckoned,
        reckoned_cpu=reckoned_cpu,
        servers_mb=servers_mb,
        workers_mb=workers_mb,
    )


def _seq(connection: Any) -> int:
    found: int = connection.scalar(text("SELECT seq FROM workshop WHERE id = 'w0'"))
    return found


def print_plans(database: Database, app_key: str) -> None:
    """Which statements of a day read a whole table."""
    with statements_of(database) as sent:
        with database.write() as connection:
            device = device_of(connection, store.cookie(1, "a"), hold=True)
            assert device is not None
            for cursor in (0, 1):
                message = read_message({"era": "era", "cursor": cursor})
                exchange(connection, device.workshop_id, message, now_ms())
        with database.read() as connection:
            planning.is_behind(connection)
            notifications.is_due(connection, 0)
            deliveries.is_due(connection, 0, app_key)
        with database.write() as connection:
            planning.plan(connection, now_ms())
            notifications.fall_due(connection, 0)
            deliveries.claim(connection, 0, app_key, most=256)
            deliveries.prune(connection, 0)
    found = whole_reads(database, sent, forced=False)
    print(f"Of {len(sent)} statements these read a whole table:")
    for statement, tables in found.items():
        print(f"  {tables}: {statement[:150]}")


def line(what: str, tell: Callable[[Figures], str], all_: list[Figures], ratio: str = "") -> None:
    print(f"{what:52}" + "".join(f"{tell(each):>16}" for each in all_) + f"{ratio:>12}")


def times(number: Callable[[Figures], float], all_: list[Figures]) -> str:
    return f"{number(all_[-1]) / number(all_[0]):.2f}"


def print_all(found: list[Figures]) -> None:
    rows: list[tuple[str, Callable[[Figures], float], str]] = [
        ("exchanges a second", lambda each: 2 * each.change.per_s, ".0f"),
        ("  a change and a fetch, median, ms", lambda each: each.change.median_ms, ".0f"),
        ("  95 %, ms", lambda each: each.change.slow_ms, ".0f"),
        *cpu_rows("exchange", lambda each: each.change_cpu, lambda each: 2 * each.change.count),
        ("reminders sent a second", lambda each: each.reminders / each.sent, ".0f"),
        ("  all that fell due at once, s", lambda each: each.sent, ".1f"),
        *cpu_rows("reminder", lambda each: each.sent_cpu, lambda each: each.reminders),
        ("workshops reckoned anew a second", lambda each: each.workshops / each.reckoned, ".0f"),
        ("  all of them, s", lambda each: each.reckoned, ".1f"),
        *cpu_rows("workshop", lambda each: each.reckoned_cpu, lambda each: each.workshops),
        ("a look that finds nothing, ms", lambda each: each.look_ms, ".2f"),
        ("database, MB", lambda each: each.size_mb, ".0f"),
        ("a server's memory (PSS), MB", lambda each: max(each.servers_mb), ".0f"),
        ("a worker's memory (PSS), MB", lambda each: max(each.workers_mb), ".0f"),
    ]
    line("workshops", lambda each: str(each.workshops), found, "last/first")
    for what, number, form in rows:
        line(what, lambda each, n=number, f=form: format(n(each), f), found, times(number, found))
    line(
        "  cores that the clients kept busy", lambda each: f"{each.change.client_cores:.2f}", found
    )


def cpu_rows(
    what: str, used: Callable[[Figures], Cpu], count: Callable[[Figures], int]
) -> list[tuple[str, Callable[[Figures], float], str]]:
    """What one costs of a processor."""
    own = f"  processor of ours for one {what}, ms"
    return [
        (own, lambda each: used(each).own / count(each) * 1e3, ".2f"),
        ("  and of PostgreSQL, ms", lambda each: used(each).database / count(each) * 1e3, ".2f"),
    ]


def say(what: str) -> None:
    print(f"{time.strftime('%H:%M:%S')} {what}", file=sys.stderr, flush=True)


def main() -> None:
    """Measure, and print."""
    parser = argparse.ArgumentParser(description="What a server of many workshops costs.")
    parser.add_argument("--workshops", type=int, nargs="+", default=list(WORKSHOPS))
    parser.add_argument("--pours", type=int, default=store.POURS, help="of each workshop")
    parser.add_argument("--seconds", type=float, default=10.0, help="of exchanges")
    given = parser.parse_args()
    if (binaries := find_binaries()) is None:
        raise SystemExit(HOW_TO_INSTALL)
    print(f"{platform.platform()}, {os.cpu_count()} cores, Python {platform.python_version()}\n")
    with tempfile.TemporaryDirectory() as folder, postgres_server(binaries) as postgres:
        found = [measure(postgres, Path(folder), each, given) for each in given.workshops]
    print_all(found)


if __name__ == "__main__":
    main()
