"""How many reminders a worker sends, and what it costs to find them:
``python -m tests.benchmarks.reminders``.

Prints ratios first, then what they are made of. All on this machine, in one run, on SQLite and on
PostgreSQL:

(a) messages per second of one worker to a push service on this machine, with so many reminders due
    at one minute, from looking for them until all of it is written down; and the most memory that
    its process had.
(b) beside it as the limit what no sender can do without: encryption with a fresh key (`http_ece`)
    and a POST over a kept TLS connection (`http.client`), with as many threads and no database.
    Each run of (a) lies between two of (b), whose mean is the limit.
(c) what it costs to find out that nothing is due, and to find the one reminder and the one message
    that are, with so many reminders kept and as many messages.

Where other programs run beside it, the processor time of a message says more than messages a
second.

It needs Linux and PostgreSQL, and takes some minutes: ``--due`` and ``--kept`` make it shorter.
Run it on a machine that does nothing else.
"""

import argparse
import os
import platform
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from benchapp.records.database import Database
from benchapp.reminders import deliveries, notifications, planning, vapid_keys
from benchapp.reminders.dispatch import SENDERS
from tests.benchmarks import reminders_store as store
from tests.benchmarks.reminders_wire import Sent, bare, ours, service
from tests.postgres import HOW_TO_INSTALL, Postgres, find_binaries, postgres_server

NOW_MS = 1_795_680_000_000  # 2026-11-26T08:00 UTC
ROUNDS = 200


@dataclass(frozen=True)
class Sending:
    """With so many due: what our worker did, and the limit beside it."""

    database: str
    due: int
    own: Sent
    limit: Sent


@dataclass(frozen=True)
class Finding:
    """Milliseconds with so many reminders kept, and as many messages; medians."""

    database: str
    kept: int
    workshops: int
    idle: float
    due: float


@dataclass
class Bench:
    """Where databases are made."""

    folder: Path
    postgres: Postgres
    _made: int = 0

    def url(self, name: str) -> str:
        if name == "postgres":
            return self.postgres.new_database()
        self._made += 1
        return f"sqlite:///{self.folder / f'bench-{self._made}.sqlite3'}"


# ---- the parts ---------------------------------------------------------------------------------


def measure_sending(bench: Bench, name: str, due: int, times: int) -> Sending:
    """The medians of so many runs."""
    key = vapid_keys.load(bench.folder)
    own, limits = [], []
    with service(key.public, due // store.BATCHES) as (trial, listeners):
        limits.append(bare(trial, listeners, due))
        for _ in range(times):
            url = bench.url(name)
            database = Database(url)
            store.fill_due(database, listeners, key.public, NOW_MS)
            database.close()
            own.append(ours(url, bench.folder, trial, NOW_MS))
            limits.append(bare(trial, listeners, due))
    return Sending(name, due, _median(own), _median(limits))


def _median(found: list[Sent]) -> Sent:
    return Sent(
        statistics.median(each.per_s for each in found),
        statistics.median(each.cpu_us for each in found),
        statistics.median(each.memory for each in found),
    )


def measure_finding(bench: Bench, name: str, kept: int, workshops: int) -> Finding:
    database = Database(bench.url(name))
    try:
        store.fill_kept(database, kept, workshops, NOW_MS)
        return Finding(
            name, kept, workshops, *(_rounds(database, each) for each in (_find_none, _find_one))
        )
    finally:
        database.close()


def _rounds(database: Database, find: Callable[[Database], float]) -> float:
    find(database)
    return statistics.median(find(database) for _ in range(ROUNDS)) * 1e3


def _find_none(database: Database) -> float:
    """What a round does where nothing is due."""
    begun = time.perf_counter()
    with database.read() as connection:
        assert not planning.is_behind(connection)
        assert not notifications.is_due(connection, NOW_MS)
        assert not deliveries.is_due(connection, NOW_MS, "")
    return time.perf_counter() - begun


def _find_one(database: Database) -> float:
    """Find and take what is due, without writing it down for good."""
    with database.write() as connection:
        before = connection.begin_nested()
        store.fall_due(connection, NOW_MS)
        begun = time.perf_counter()
        assert notifications.is_due(connection, NOW_MS)
        assert notifications.fall_due(connection, NOW_MS) == 1
        deliveries.claim(connection, NOW_MS, "", most=64)
        took = time.perf_counter() - begun
        before.rollback()
    return took


# ---- the table ---------------------------------------------------------------------------------


def print_ratios(sendings: list[Sending], findings: list[Finding]) -> None:
    print("Ratios")
    for each in sendings:
        what = f"{each.due} due, {each.database}: part of the limit"
        line(what, each.own.per_s / each.limit.per_s)
        line(f"{what}, by processor time alone", each.limit.cpu_us / each.own.cpu_us)
    for name in ("sqlite", "postgres"):
        found = [each for each in findings if each.database == name]
        for each in found[1:]:
            more = f"{_kept(each)} against {_kept(found[0])}"
            line(f"nothing due, {name}: cost with {more}", each.idle / found[0].idle)
            line(f"one due, {name}: cost with {more}", each.due / found[0].due)


def print_figures(sendings: list[Sending], findings: list[Finding]) -> None:
    columns = ("a second", "limit", "µs of CPU", "limit", "MB", "limit")
    print(f"\n{f'{SENDERS} senders':32}" + "".join(f"{name:>10}" for name in columns))
    for each in sendings:
        own, limit = each.own, each.limit
        pairs = (own.per_s, limit.per_s, own.cpu_us, limit.cpu_us, own.memory, limit.memory)
        figures = "".join(f"{figure:10.0f}" for figure in pairs)
        print(f"{each.due:>9} due, {each.database:17}{figures}")
    print(f"\n{'':50}{'nothing due, ms':>18}{'one due, ms':>14}")
    for found in findings:
        print(f"  {found.database + ', ' + _kept(found):48}{found.idle:18.2f}{found.due:14.2f}")


def _kept(found: Finding) -> str:
    return f"{found.kept} kept of {found.workshops} workshops"


def line(what: str, figure: float) -> None:
    print(f"{what:100}{figure:8.2f}")


def main() -> None:
    parser = argparse.ArgumentParser(description="How many reminders a worker sends.")
    parser.add_argument("--due", type=int, nargs="*", default=[1000, 10_000], metavar="COUNT")
    parser.add_argument(
        "--kept", type=int, nargs="*", default=[1000, 100_000, 1_000_000], metavar="COUNT"
    )
    parser.add_argument("--workshops", type=int, default=1000, help="beside a hundred")
    parser.add_argument("--times", type=int, default=3, help="each is sent; the median counts")
    parser.add_argument("--on", nargs="+", default=["sqlite", "postgres"])
    given = parser.parse_args()
    binaries = find_binaries()
    if binaries is None:
        raise SystemExit(HOW_TO_INSTALL)
    print(f"{platform.platform()}, {os.cpu_count()} cores, Python {platform.python_version()}\n")
    sendings, findings = [], []
    with tempfile.TemporaryDirectory() as folder, postgres_server(binaries) as postgres:
        bench = Bench(Path(folder), postgres)
        for name in given.on:
            for due in given.due:
                say(f"{due} due, {name}")
                sendings.append(measure_sending(bench, name, due, given.times))
            sizes = [(kept, 100) for kept in given.kept]
            for kept, workshops in [*sizes, (max(given.kept, default=0), given.workshops)]:
                if given.kept:
                    say(f"{kept} kept, {name}")
                    findings.append(measure_finding(bench, name, kept, workshops))
    print_ratios(sendings, findings)
    print_figures(sendings, findings)


def say(what: str) -> None:
    print(f"{time.strftime('%H:%M:%S')} {what}", file=sys.stderr, flush=True)


if __name__ == "__main__":
    main()
