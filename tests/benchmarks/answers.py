"""How fast the server answers, starts, and how much memory it takes:
``python -m tests.benchmarks.answers [--beside CHECKOUT]``.

A paired phone asks ``GET /api/me`` of the real ``benchapp serve`` over 1, 8 and 64 connections that
are kept. With ``--beside``, another checkout of the code is measured in turn with this one, in the
same interpreter, which must have the packages of both; the last column is this one's part of the
other one. It needs Linux. Run it on a machine that does nothing else.
"""

import argparse
import selectors
import socket
import statistics
import tempfile
import time
from contextlib import ExitStack
from pathlib import Path
from urllib.parse import urlsplit

from tests.benchmarks.exchange_wire import memory
from tests.server import ROOT, Server
from tests.web.caller import Caller

CONNECTIONS = (1, 8, 64)
ROUNDS = 5
ASK_S = 2.0
ENVIRONMENT = {"BENCHAPP_REQUESTS_A_MINUTE": "10000000"}


def main() -> None:
    """Measure, and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--beside", type=Path, help="another checkout")
    beside = parser.parse_args().beside
    checkouts = [ROOT, *([beside.resolve()] if beside else [])]
    with ExitStack() as ends:
        folders = [Path(ends.enter_context(tempfile.TemporaryDirectory())) for _ in checkouts]
        both = list(zip(checkouts, folders, strict=True))
        # The first start makes the database.
        for checkout, folder in both:
            started_s(checkout, folder)
        starts = [[started_s(*each) for each in both] for _ in range(ROUNDS)]
        show("start, s", starts, ".2f")
        servers = [Server(folder, checkout=at, environment=ENVIRONMENT) for at, folder in both]
        for each in servers:
            ends.callback(each.stop)
        callers = [paired(each) for each in servers]
        show_memory("before", servers)
        for count in CONNECTIONS:
            rates = [[answers_a_second(each, count) for each in callers] for _ in range(ROUNDS)]
            show(f"answers a second over {count}", rates, ".0f")
        show_memory("after", servers)


def show_memory(when: str, servers: list[Server]) -> None:
    found = [memory(each.process.pid) for each in servers]
    show(f"RSS {when}, MB", [[each.rss for each in found]], ".1f")
    show(f"PSS {when}, MB", [[each.pss for each in found]], ".1f")


def show(what: str, rounds: list[list[float]], digits: str) -> None:
    """The median of each, and of the ratios of each round."""
    columns = [statistics.median(column) for column in zip(*rounds, strict=True)]
    told = "  ".join(f"{value:>8{digits}}" for value in columns)
    ratios = [here / there for here, *others in rounds for there in others]
    print(f"{what:30} {told}" + (f"  {statistics.median(ratios):>6.2f}" if ratios else ""))


def started_s(checkout: Path, folder: Path) -> float:
    """From the command until it says that it is ready."""
    began = time.monotonic()
    server = Server(folder, checkout=checkout)
    try:
        server.ready()
        return time.monotonic() - began
    finally:
        server.stop()


def paired(server: Server) -> Caller:
    server.ready()
    caller = Caller(server.url)
    caller.open()
    assert caller.pair(server.first_code()).status == 200
    return caller


def answers_a_second(caller: Caller, count: int) -> float:
    """Each connection asks again as soon as it is answered."""
    at = urlsplit(caller.url)
    cookie = "; ".join(f"{name}={value}" for name, value in caller.cookies.items())
    asked = f"GET /api/me HTTP/1.1\r\nHost: {at.netloc}\r\nCookie: {cookie}\r\n\r\n".encode()
    answered = 0
    with selectors.DefaultSelector() as waiting, ExitStack() as ends:
        for _ in range(count):
            line = ends.enter_context(socket.create_connection((at.hostname, at.port or 80)))
            waiting.register(line, selectors.EVENT_READ, bytearray())
            line.sendall(asked)
        began = time.monotonic()
        while time.monotonic() - began < ASK_S:
            for key, _ in waiting.select():
                line, heard = key.fileobj, key.data
                heard += line.recv(65536)  # type: ignore[union-attr]
                if is_whole(heard):
                    heard.clear()
                    answered += 1
                    line.sendall(asked)  # type: ignore[union-attr]
        return answered / (time.monotonic() - began)


def is_whole(heard: bytearray) -> bool:
    """Whether it is all of an answer."""
    head, end, body = bytes(heard).partition(b"\r\n\r\n")
    if not end:
        return False
    assert head.startswith(b"HTTP/1.1 200"), head
    length = head.lower().partition(b"content-length: ")[2].partition(b"\r\n")[0]
    return len(body) == int(length)


if __name__ == "__main__":
    main()
