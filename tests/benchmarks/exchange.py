"""How the exchange of records bears load: ``python -m tests.benchmarks.exchange``.

Prints ratios first, then what they are made of. All on this machine, in one run, with the same
invented records, servers and clients sharing its processors:

(a) exchanges per second at 1, 8 and 64 clients, against the real ``benchapp serve``: each client
    is a paired device with a kept connection that changes one record, sends it and fetches what
    the others changed.
(b) the first fetch of all records, over HTTP and into a browser's IndexedDB.
(c) ten changed records, sent by one device and fetched by another, with much and with little kept.
(d) memory of the server's processes: idle, and the most while 64 clients are at work.
(e) beside it a general-purpose peer from npm (PouchDB, with its own server on disk and in memory),
    and as the limit the same rows into a bare SQLite file, as durably as ours.

It needs Linux, npm and Chromium, and takes some minutes: ``--records``, ``--kept``, ``--seconds``
and ``--times`` make it shorter. Run it on a machine that does nothing else.
"""

import argparse
import os
import platform
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from random import Random

from playwright.sync_api import Playwright, sync_playwright

from tests.benchmarks import exchange_ours as ours
from tests.benchmarks import exchange_sqlite as bare
from tests.benchmarks import peer_pouchdb as peer
from tests.benchmarks.exchange_records import Record, records
from tests.benchmarks.exchange_wire import Load, Memory, Refused, load, memory, most_memory
from tests.browser import find_chromium

CLIENTS = (1, 8, 64)
BATCH = 500  # what the phone sends in one message
FEW = 1000
ROUNDS = 30
LIMIT_S = 60  # for the app's own first fetch


@dataclass
class Sizes:
    records: int
    kept: int
    seconds: float
    times: int


@dataclass
class Figures:
    """What one server did; seconds where nothing else is said."""

    push: float = 0.0
    pull: float = 0.0
    browser: float = 0.0  # the exchange alone, as the peer's
    app: tuple[float, int] = (0.0, 0)  # with the app's start screen open, and how many had come
    ways: dict[str, float] = field(default_factory=dict)  # into the browser, each way of the peer
    loads: dict[int, Load] = field(default_factory=dict)
    idle: Memory | None = None
    most: Memory | None = None


@dataclass
class TenChanged:
    """Milliseconds for ten changed records with so many kept; medians."""

    kept: int
    push: float
    pull: float
    browser: float
    first: float  # seconds of the browser's first fetch of all that is kept


class Bench:
    """What every part needs."""

    def __init__(self, playwright: Playwright, folder: Path, sizes: Sizes) -> None:
        self.chromium = playwright.chromium
        self.path = find_chromium(playwright) or ""
        if not self.path:
            raise SystemExit("The benchmark needs Chromium, and none was found.")
        self.folder = folder
        self.sizes = sizes
        self.records = records(sizes.records)
        self._profiles = 0

    def profile(self) -> Path:
        """A folder for a browser that has never been used."""
        self._profiles += 1
        return self.folder / f"profile-{self._profiles}"

    def median(self, fetch: Callable[[], tuple[float, int]]) -> float:
        """The median of several first fetches, each of which must bring all."""
        found = []
        for _ in range(self.sizes.times):
            took, count = fetch()
            if count != len(self.records):
                raise Refused(f"{len(self.records)} records were kept, and {count} came.")
            found.append(took)
        return statistics.median(found)


# ---- the parts ---------------------------------------------------------------------------------


def measure_ours(bench: Bench) -> Figures:
    figures = Figures()
    data = bench.folder / "ours"
    with ours.server(data) as (url, _):
        filler = ours.Device(url, data, "filler")
        kept = ours.stamped(bench.records, filler.clock)
        figures.push = filler.push(kept, BATCH)
        figures.pull = bench.median(lambda: ours.Device(url, data, "fresh").pull())

        def into_browser() -> tuple[float, int]:
            browser = ours.Browser(bench.chromium, bench.path, url, data, bench.profile())
            try:
                return browser.join()
            finally:
                browser.close()

        figures.browser = bench.median(into_browser)
        app = ours.Browser(bench.chromium, bench.path, url, data, bench.profile(), app=True)
        figures.app = app.join(LIMIT_S)
        app.close()
    with ours.server(data) as (url, pid):
        figures.idle = memory(pid)

        def client(name: str, own: list[Record]) -> Callable[[], int]:
            return ours.client(ours.Device(url, data, name), own)

        measure_loads(bench, figures, pid, kept, client)
    return figures


def measure_peer(bench: Bench, folder: Path, backend: str) -> Figures:
    figures = Figures()
    with peer.server(folder, backend) as (url, pid):
        figures.idle = memory(pid)
        figures.push = peer.push(url, bench.records, BATCH)
        figures.pull = bench.median(lambda: peer.pull(url, 1000))
        for way in peer.WAYS:
            figures.ways[f"{way[0]}, {way[1]} at a time"] = bench.median(
                lambda way=way: peer.into_browser(
                    bench.chromium, bench.path, url, bench.profile(), way
                )
            )

        def client(name: str, own: list[Record]) -> Callable[[], int]:
            return peer.client(url, name, own)

        measure_loads(bench, figures, pid, bench.records, client)
    return figures


def measure_loads(
    bench: Bench,
    figures: Figures,
    pid: int,
    kept: list[Record],
    client: Callable[[str, list[Record]], Callable[[], int]],
) -> None:
    for number in CLIENTS:
        clients = [client(f"c{number}x{each}", kept[each::number]) for each in range(number)]
        with most_memory(pid) as readings:
            figures.loads[number] = load(clients, bench.sizes.seconds)
        figures.most = max(readings, key=lambda each: each.pss)


def measure_ten_changed(bench: Bench) -> list[TenChanged]:
    """One device changes ten records and others fetch them; with few kept and with many in turn."""
    counts = (FEW, bench.sizes.kept)
    places = [bench.folder / f"kept-{count}" for count in counts]
    with ours.server(places[0]) as (few, _), ours.server(places[1]) as (many, _):
        sides = [
            _Side(bench, url, data, records(count))
            for url, data, count in zip((few, many), places, counts, strict=True)
        ]
        for number in range(ROUNDS):
            # Neither always comes first.
            for side in sides if number % 2 else reversed(sides):
                side.round()
        for side in sides:
            side.browser.close()
    return [side.figures() for side in sides]


class _Side:
    """A server, a device that changes, a device and a browser that fetch."""

    def __init__(self, bench: Bench, url: str, data: Path, made: list[Record]) -> None:
        self.writer = ours.Device(url, data, "writer")
        self.reader = ours.Device(url, data, "reader")
        self.kept = ours.stamped(made, self.writer.clock)
        self.writer.push(self.kept, BATCH)
        self.reader.pull()
        self.browser = ours.Browser(bench.chromium, bench.path, url, data, bench.profile())
        self.first, count = self.browser.join()
        if count != len(made):
            raise Refused(f"{len(made)} records were kept, and {count} came.")
        self.draw = Random(1)
        self.took: dict[str, list[float]] = {"push": [], "pull": [], "browser": []}

    def round(self) -> None:
        picked = self.draw.sample(range(len(self.kept)), 10)
        for each in picked:
            self.kept[each] = ours.changed(self.kept[each], self.writer.clock)
        self.took["push"].append(self.writer.push([self.kept[each] for each in picked], BATCH))
        took, count = self.reader.pull()
        if count != 10:
            raise Refused(f"Ten records were changed, and {count} came.")
        self.took["pull"].append(took)
        self.took["browser"].append(self.browser.exchange())

    def figures(self) -> TenChanged:
        medians = {name: statistics.median(took) * 1e3 for name, took in self.took.items()}
        return TenChanged(kept=len(self.kept), first=self.first, **medians)


def measure_bare(bench: Bench) -> tuple[float, float]:
    """Rows per second into SQLite: a message's worth in a transaction, and one."""
    stored = ours.stamped(bench.records, ours.Clock("bare"))
    some = stored[: min(len(stored), 2000)]
    by_batch = bare.insert(bench.folder / "by-batch.sqlite3", stored, BATCH)
    by_row = bare.insert(bench.folder / "by-row.sqlite3", some, 1)
    return len(stored) / by_batch, len(some) / by_row


# ---- the table ---------------------------------------------------------------------------------


@dataclass
class Results:
    """All that was measured. ``limit``: rows a second into bare SQLite, by batch and singly."""

    count: int
    own: Figures
    peers: dict[str, Figures]
    ten: list[TenChanged]
    limit: tuple[float, float]


def print_ratios(found: Results) -> None:
    own = found.own
    few, many = found.ten
    print("Ratios")
    for name, each in found.peers.items():
        for way, took in each.ways.items():
            line(
                f"first fetch into the browser: times as fast as {name}, {way}", took / own.browser
            )
    for name, each in found.peers.items():
        line(f"first fetch over HTTP: times as fast as {name}", each.pull / own.pull)
        for number in CLIENTS:
            ratio = own.loads[number].per_s / each.loads[number].per_s
            line(f"exchanges a second, {number} at once: times {name}", ratio)
    kept = f"{many.kept} kept against {few.kept}"
    both = (many.push + many.pull) / (few.push + few.pull)
    line(f"ten changed, sent and fetched over HTTP: cost with {kept}", both)
    line(f"ten changed, fetched into the browser: cost with {kept}", many.browser / few.browser)
    by_batch, by_row = found.limit
    line(
        "records pushed a second: part of bare SQLite's, by batch",
        found.count / own.push / by_batch,
    )
    line(
        "exchanges a second, 1 client: part of bare SQLite's rows, one by one",
        own.loads[1].per_s / by_row,
    )


def print_figures(found: Results) -> None:
    columns = {"benchapp": found.own, **found.peers}
    print(f"\n{'':38}" + "".join(f"{name:>22}" for name in columns))

    def row(what: str, tell: Callable[[Figures], str]) -> None:
        print(f"{what:38}" + "".join(f"{tell(each):>22}" for each in columns.values()))

    row(f"push of {found.count} over HTTP, s", lambda each: f"{each.push:.2f}")
    row("first fetch over HTTP, s", lambda each: f"{each.pull:.2f}")
    for number in CLIENTS:
        row(
            f"exchanges a second, {number} at once",
            lambda each, n=number: f"{each.loads[n].per_s:.0f}",
        )
        row(
            "  one took, median and 95 %, ms",
            lambda each, n=number: f"{each.loads[n].median_ms:.1f}  {each.loads[n].slow_ms:.1f}",
        )
        row("  records that came with one", lambda each, n=number: f"{each.loads[n].brought:.1f}")
        row(
            "  cores the clients kept busy",
            lambda each, n=number: f"{each.loads[n].client_cores:.2f}",
        )
    row("idle, RSS and PSS, MB", lambda each: mb(each.idle))
    row(f"most with {CLIENTS[-1]} clients, RSS and PSS, MB", lambda each: mb(each.most))
    print("\nFirst fetch into the browser, s")
    line("  benchapp", found.own.browser)
    took, came = found.own.app
    line(f"  benchapp, its start screen open ({came} of {found.count} came)", took)
    for name, peer_figures in found.peers.items():
        for way, took in peer_figures.ways.items():
            line(f"  {name}, {way}", took)
    print("\nTen changed records, ms")
    for each in found.ten:
        line(f"  with {each.kept} kept: sent over HTTP", each.push)
        line("    fetched over HTTP", each.pull)
        line("    fetched into the browser", each.browser)
        line("    (all fetched into the browser at first, s)", each.first)
    print("\nBare SQLite, rows a second")
    line(f"  {BATCH} in a transaction", found.limit[0])
    line("  one in a transaction", found.limit[1])


def line(what: str, figure: float) -> None:
    print(f"{what:90}{figure:10.2f}" if figure < 100 else f"{what:90}{figure:10.0f}")


def mb(read: Memory | None) -> str:
    return f"{read.rss:.0f}  {read.pss:.0f}" if read else ""


def main() -> None:
    parser = argparse.ArgumentParser(description="How the exchange of records bears load.")
    parser.add_argument("--records", type=int, default=10_000, help="in the first fetch")
    parser.add_argument("--kept", type=int, default=100_000, help="when ten are changed")
    parser.add_argument("--seconds", type=float, default=5.0, help="of each load")
    parser.add_argument(
        "--times", type=int, default=3, help="each first fetch is done; the median counts"
    )
    sizes = Sizes(**vars(parser.parse_args()))
    print(f"{platform.platform()}, {os.cpu_count()} cores, Python {platform.python_version()}\n")
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        bench = Bench(playwright, Path(folder), sizes)
        installed = bench.folder / "peer"
        installed.mkdir()
        peer.install(installed)
        peers = {}
        for backend in ("leveldb", "memory"):
            say(f"the peer, {backend}")
            peers[f"PouchDB ({backend})"] = measure_peer(bench, installed, backend)
        say("bare SQLite")
        limit = measure_bare(bench)
        say("ours")
        own = measure_ours(bench)
        say(f"ten changed, with {FEW} and {sizes.kept} kept")
        ten = measure_ten_changed(bench)
    found = Results(sizes.records, own, peers, ten, limit)
    print_ratios(found)
    print_figures(found)


def say(what: str) -> None:
    print(f"{time.strftime('%H:%M:%S')} {what}", file=sys.stderr, flush=True)


if __name__ == "__main__":
    main()
