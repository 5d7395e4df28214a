"""The programs of the benchmark, each in a process of its own: a push service that takes anything,
our worker, and as the limit what no sender can do without.

    python -m tests.benchmarks.reminders_wire service | ours | bare
"""

import http.client
import json
import os
import secrets
import socket
import ssl
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import http_ece
from cryptography.hazmat.primitives.asymmetric import ec

from benchapp.records.database import Database
from benchapp.reminders import push_settings
from benchapp.reminders.deliveries import counts
from benchapp.reminders.dispatch import SENDERS, Worker
from benchapp.reminders.push_address import Trial
from benchapp.web import log
from tests.reminders.push_service import NAME, push_service, unb64u

ROOT = Path(__file__).resolve().parents[2]
CONTACT = "mailto:bench@example.net"

Listener = tuple[str, str, str]
"""Endpoint, p256dh and auth of a phone."""

PAYLOAD = json.dumps(
    {
        "web_push": 8030,
        "notification": {
            "title": "Wet slate, 12 × tin 120: ready to trim",
            "body": "Check that they are fully set and cold. "
            "Look at the tops, trim the wicks, and label them.",
            "navigate": "https://bench.example.net/#/entry/p1",
            "tag": "pour p1",
            "data": {"pour": "p1", "reminder": "trim", "day": "2026-11-26", "on": "2026-11-26"},
        },
        "app_badge": 10,
    }
).encode()


@dataclass(frozen=True)
class Sent:
    """What a sender did: messages a second, processor time for one (µs), and the most memory that
    its process had (MB)."""

    per_s: float
    cpu_us: float
    memory: float


# ---- run from the benchmark --------------------------------------------------------------------


@contextmanager
def service(app_key: str, count: int) -> Iterator[tuple[str, list[Listener]]]:
    """A push service with so many phones; its trial address, and they."""
    command = [sys.executable, "-m", __name__, "service"]
    pipes: dict[str, Any] = {"stdin": subprocess.PIPE, "stdout": subprocess.PIPE, "text": True}
    with subprocess.Popen(command, cwd=ROOT, **pipes) as process:
        assert process.stdin is not None
        assert process.stdout is not None
        print(json.dumps([app_key, count]), file=process.stdin, flush=True)
        trial, listeners = json.loads(process.stdout.readline())
        yield trial, [tuple(each) for each in listeners]
        process.stdin.close()  # it ends


def ours(url: str, data: Path, trial: str, now_ms: int) -> Sent:
    """Let our worker send all that is due."""
    environment = os.environ | {push_settings.TRIAL: trial}
    return _run("ours", {"url": url, "data": str(data), "now_ms": now_ms}, environment)


def bare(trial: str, listeners: list[Listener], count: int) -> Sent:
    """Encrypt and post so many messages, with as many threads as our worker has."""
    return _run("bare", {"trial": trial, "listeners": listeners, "count": count}, dict(os.environ))


def _run(what: str, given: dict[str, Any], environment: dict[str, str]) -> Sent:
    done = subprocess.run(
        [sys.executable, "-m", __name__, what],
        input=json.dumps(given),
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL if what == "ours" else None,
        text=True,
        check=True,
        cwd=ROOT,
        env=environment,
    )
    return Sent(**json.loads(done.stdout))


# ---- the programs ------------------------------------------------------------------------------


def _serve() -> None:
    app_key, count = json.loads(sys.stdin.readline())
    with push_service(check=False) as running:
        phones = [running.subscribe(app_key) for _ in range(count)]
        told = [[each.endpoint, each.p256dh, each.auth] for each in phones]
        print(json.dumps([str(running.trial), told]), flush=True)
        sys.stdin.read()


def _ours(given: dict[str, Any]) -> None:
    # Imported by the first message otherwise.
    import py_vapid  # type: ignore[import-untyped]  # noqa: F401
    import pywebpush  # type: ignore[import-untyped]  # noqa: F401

    equipped = push_settings.read_push_settings(Path(given["data"]), CONTACT)
    sender = equipped.sender()
    assert sender is not None
    database = Database(given["url"])
    log.to_stderr()
    begun, used = time.perf_counter(), time.process_time()
    with (
        sender,
        Worker(database, sender, equipped.app_key, lambda: int(given["now_ms"])) as worker,
    ):
        worker.once()
        took, used = time.perf_counter() - begun, time.process_time() - used
    with database.read() as connection:
        counted = counts(connection)
    assert counted["retried"] == counted["failed"] == counted["dropped"] == 0, counted
    _tell(counted["sent"], took, used)


def _bare(given: dict[str, Any]) -> None:
    trial = Trial.from_text(given["trial"])
    tls = ssl.create_default_context(cafile=str(trial.ca_file))
    listeners = [
        (endpoint.partition("/push/")[2], unb64u(p256dh), unb64u(auth))
        for endpoint, p256dh, auth in given["listeners"]
    ]
    headers = {
        "Authorization": "vapid t=" + "x" * 250 + ", k=" + "x" * 87,
        "Content-Encoding": "aes128gcm",
        "Content-Type": "application/octet-stream",
        "TTL": "1209600",
        "Urgency": "normal",
        "Topic": "x" * 32,
    }
    mine = threading.local()

    def connected() -> http.client.HTTPSConnection:
        plain = socket.create_connection((trial.address, trial.port))
        plain.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
        made = http.client.HTTPSConnection(NAME, trial.port, context=tls)
        made.sock = tls.wrap_socket(plain, server_hostname=NAME)
        return made

    def send(number: int) -> None:
        path, p256dh, auth = listeners[number % len(listeners)]
        body = http_ece.encrypt(
            PAYLOAD,
            salt=secrets.token_bytes(16),
            private_key=ec.generate_private_key(ec.SECP256R1()),
            dh=p256dh,
            auth_secret=auth,
            version="aes128gcm",
        )
        if not hasattr(mine, "connection"):
            mine.connection = connected()
        mine.connection.request("POST", f"/push/{path}", body, headers)
        answer = mine.connection.getresponse()
        answer.read()
        assert answer.status == 201

    begun, used = time.perf_counter(), time.process_time()
    with ThreadPoolExecutor(SENDERS) as pool:
        for _ in pool.map(send, range(given["count"])):
            pass
    _tell(given["count"], time.perf_counter() - begun, time.process_time() - used)


def _tell(sent: int, took: float, used: float) -> None:
    # VmHWM: of this program alone, where `ru_maxrss` may be its parent's.
    status = Path("/proc/self/status").read_text(encoding="ascii")
    (peak,) = (line.split()[1] for line in status.splitlines() if line.startswith("VmHWM"))
    found = {"per_s": sent / took, "cpu_us": used / sent * 1e6, "memory": int(peak) / 1024}
    print(json.dumps(found))


if __name__ == "__main__":
    if sys.argv[1] == "service":
        _serve()
    else:
        {"ours": _ours, "bare": _bare}[sys.argv[1]](json.load(sys.stdin))
