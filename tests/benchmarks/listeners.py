"""What phones that listen cost, and how soon they hear: ``python -m tests.benchmarks.listeners``.

64 paired devices listen to the real ``benchapp serve``, and one of them sends changes. Prints the
memory and the processor's time of the server, before and with them; how long another request takes
meanwhile; and how long after a change was sent the listeners hear of it, where it came through this
server and where it was written beside it. It needs Linux. Run it on a machine that does nothing
else.
"""

import argparse
import os
import statistics
import tempfile
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

from benchapp.records import workshops
from benchapp.records.exchange import Message, exchange
from tests.web.caller import Bench, bench
from tests.web.listening import Listening
from tests.web.wire import Phone

IDLE_S = 20
TIMES = 20


def main() -> None:
    """Measure, and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--listeners", type=int, default=64)
    count = parser.parse_args().listeners
    with (
        tempfile.TemporaryDirectory() as data,
        bench(Path(data), BENCHAPP_REQUESTS_A_MINUTE="1000000") as running,
    ):
        measure(running, count)


def measure(running: Bench, count: int) -> None:
    process = running.process.pid
    callers = [running.paired(f"Phone {number}") for number in range(count)]
    phone = Phone(callers[0], "k3v9q2ax")
    phone.caller.open()
    phone.exchange_all()
    before, alone_s = memory_kb(process), spent_s(process)
    streams = [Listening(caller) for caller in callers]
    for each in streams:
        each.heard()
    with_them = memory_kb(process)
    print(f"{count} listeners: {with_them - before} kB more than {before} kB")
    began_s = spent_s(process)
    time.sleep(IDLE_S)
    share = (spent_s(process) - began_s) / IDLE_S
    print(f"processor while nothing happens: {share:.2%} of one (in all before: {alone_s:.1f} s)")
    asked = [timed(lambda: phone.caller.get("/api/me")) for _ in range(TIMES)]
    print(f"another request: {1000 * statistics.median(asked):.1f} ms")

    def beside() -> None:
        note = {"id": phone.stamp(), "of": ["pour", "p1"], "type": "noted", "at": 1, "text": "a"}
        with running.database.write() as connection:
            shop = workshops.all_workshops(connection)[0]
            sent = Message(shop["era"], 0, [], [note])
            exchange(connection, shop["id"], sent, time.time_ns() // 1_000_000)

    def through() -> None:
        phone.note("p1", "a")
        phone.exchange()

    with ThreadPoolExecutor(count) as pool:
        for name, change in (("through this server", through), ("beside it", beside)):
            delays = [delay_s(pool, streams, change) for _ in range(TIMES)]
            print(
                f"a change {name} is heard by the last of them after "
                f"{1000 * statistics.median(delays):.0f} ms, at most {1000 * max(delays):.0f}"
            )
    for each in streams:
        each.close()


def delay_s(
    pool: ThreadPoolExecutor, streams: list[Listening], change: Callable[[], None]
) -> float:
    """From the sending of a change until the last stream has heard of it."""

    def hear(stream: Listening) -> float:
        stream.heard()
        return time.monotonic()

    hearing = [pool.submit(hear, each) for each in streams]
    began = time.monotonic()
    change()
    return max(each.result() for each in hearing) - began


def timed(action: Callable[[], object]) -> float:
    began = time.monotonic()
    action()
    return time.monotonic() - began


def memory_kb(process: int) -> int:
    """What a process has in memory (proc(5), VmRSS)."""
    lines = Path(f"/proc/{process}/status").read_text().splitlines()
    return int(next(line for line in lines if line.startswith("VmRSS")).split()[1])


def spent_s(process: int) -> float:
    """What a process has had of the processor (proc(5), utime and stime)."""
    parts = Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()
    return (int(parts[11]) + int(parts[12])) / os.sysconf("SC_CLK_TCK")


if __name__ == "__main__":
    main()
