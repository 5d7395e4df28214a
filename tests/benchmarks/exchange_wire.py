"""What both servers are measured with: a kept connection, clients at once, and memory."""

import http.client
import json
import os
import statistics
import subprocess
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from http.cookies import SimpleCookie
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

_IDLE_S = 3


class Refused(Exception):
    """The server did not do what was asked: the message holds its answer."""


class Connection:
    """One kept connection that speaks JSON and keeps cookies."""

    def __init__(self, url: str) -> None:
        parts = urlsplit(url)
        self._http = http.client.HTTPConnection(parts.hostname or "", parts.port, timeout=120)
        self._base = {"Host": parts.netloc, "Origin": url.rstrip("/"), "Accept": "application/json"}
        self._cookies: dict[str, str] = {}
        self._used = 0.0
        self.headers: dict[str, str] = {}

    def ask(self, method: str, path: str, body: Any = None) -> Any:
        """Return the JSON answer to a request. Raises Refused unless the status is 2xx."""
        packed = None
        headers = self._base | self.headers
        if body is not None:
            packed = json.dumps(body, separators=(",", ":")).encode()
            headers["Content-Type"] = "application/json"
        if self._cookies:
            headers["Cookie"] = "; ".join(f"{key}={value}" for key, value in self._cookies.items())
        if time.monotonic() > self._used + _IDLE_S:
            # The server may have hung up meanwhile: opened again.
            self._http.close()
        self._http.request(method, path, packed, headers)
        answer = self._http.getresponse()
        text = answer.read()
        self._used = time.monotonic()
        for line in answer.headers.get_all("Set-Cookie") or ():
            for name, morsel in SimpleCookie(line).items():
                self._cookies[name] = morsel.value
        if not 200 <= answer.status < 300:
            raise Refused(f"{method} {path}: {answer.status} {text[:300]!r}")
        return json.loads(text)

    def be(self, cookie: str) -> None:
        """Be the paired device that shows this cookie from now on."""
        self._cookies["bench_device"] = cookie

    def close(self) -> None:
        self._http.close()


# ---- clients at once ---------------------------------------------------------------------------


@dataclass
class Load:
    """What some clients at once have done.

    Attributes:
        per_s: exchanges a second.
        median_ms, slow_ms: how long one took; one in twenty took longer than ``slow_ms``.
        brought: records that came in with one exchange, on average.
        client_cores: processor cores that the clients themselves kept busy.
        count: exchanges in all.
    """

    per_s: float
    median_ms: float
    slow_ms: float
    brought: float
    client_cores: float
    count: int


@dataclass
class _Counted:
    took: list[float] = field(default_factory=list)
    brought: int = 0


def load(exchanges: list[Callable[[], int]], seconds: float) -> Load:
    """Call each client's exchange over and over for ``seconds``, all clients at once.

    An exchange returns how many records it brought.
    """
    counted = [_Counted() for _ in exchanges]
    failed: list[BaseException] = []
    begun = time.perf_counter()
    own = time.process_time()

    def work(exchange: Callable[[], int], counts: _Counted) -> None:
        try:
            while (before := time.perf_counter()) < begun + seconds and not failed:
                counts.brought += exchange()
                counts.took.append(time.perf_counter() - before)
        except BaseException as error:
            failed.append(error)

    threads = [
        threading.Thread(target=work, args=each) for each in zip(exchanges, counted, strict=True)
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    if failed:
        raise failed[0]
    lasted = time.perf_counter() - begun
    took = sorted(one for each in counted for one in each.took)
    return Load(
        per_s=len(took) / lasted,
        median_ms=statistics.median(took) * 1e3,
        slow_ms=took[int(len(took) * 0.95)] * 1e3,
        brought=sum(each.brought for each in counted) / len(took),
        client_cores=(time.process_time() - own) / lasted,
        count=len(took),
    )


# ---- processes ---------------------------------------------------------------------------------


@contextmanager
def serving(
    command: list[str], ready: str, folder: Path, environment: dict[str, str] | None = None
) -> Iterator[tuple[str, int]]:
    """Run a server until its output has a line that begins with ``ready``; give URL and pid."""
    process = subprocess.Popen(
        command,
        cwd=folder,
        env=environment,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        start_new_session=True,
    )
    assert process.stdout is not None
    said = []
    try:
        for line in process.stdout:
            said.append(line)
            if line.startswith(ready):
                threading.Thread(target=process.stdout.read, daemon=True).start()
                yield line.removeprefix(ready).strip(), process.pid
                return
        raise Refused("The server ended before it was ready:\n" + "".join(said))
    finally:
        process.terminate()
        try:
            process.wait(20)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()


@dataclass
class Memory:
    """Of a process and all it started, in MB. ``pss`` counts a page that is shared once."""

    rss: float
    pss: float


def memory(pid: int) -> Memory:
    """Read the memory of process ``pid`` and its children (Linux)."""
    sums = {"Rss": 0, "Pss": 0}
    for each in _tree(pid):
        for line in Path(f"/proc/{each}/smaps_rollup").read_text().splitlines():
            name, _, rest = line.partition(":")
            if name in sums:
                sums[name] += int(rest.split()[0])
    return Memory(sums["Rss"] / 1024, sums["Pss"] / 1024)


def cpu_s(pid: int) -> float:
    """Seconds of a processor that process ``pid``, its children, and those of them that are over
    have used (Linux)."""
    ticks = 0
    for each in _tree(pid):
        # What follows the name, which may hold blanks: utime, stime, cutime, cstime.
        # One that is over by now is counted with its parent at the next look.
        with suppress(FileNotFoundError, ProcessLookupError):
            fields = Path(f"/proc/{each}/stat").read_text().rpartition(")")[2].split()
            ticks += sum(int(field) for field in fields[11:15])
    return ticks / os.sysconf("SC_CLK_TCK")


def _tree(pid: int) -> list[int]:
    found = [pid]
    for path in Path(f"/proc/{pid}/task").glob("*/children"):
        with suppress(FileNotFoundError, ProcessLookupError):
            for child in path.read_text().split():
                found += _tree(int(child))
    return found


@contextmanager
def most_memory(pid: int) -> Iterator[list[Memory]]:
    """Watch the memory of ``pid`` while the block runs; the list then holds each reading."""
    readings: list[Memory] = []
    over = threading.Event()

    def watch() -> None:
        while not over.wait(0.25):
            readings.append(memory(pid))

    thread = threading.Thread(target=watch)
    thread.start()
    try:
        yield readings
    finally:
        over.set()
        thread.join()
        readings.append(memory(pid))
