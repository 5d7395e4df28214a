"""The production server: one granian worker process, which answers through its `front`.

This is the process that keeps the worker: it loads nothing of the app, and so stays small.
"""

import errno
import logging
import os
import socket
import sys
import tempfile
import threading
import time
from collections.abc import Callable, Collection
from enum import Enum
from pathlib import Path
from typing import TYPE_CHECKING

from granian import Granian
from granian.constants import Interfaces, SSLProtocols
from granian.log import LogLevels

from benchapp.words import Message, WordedError, literal, message, t

if TYPE_CHECKING:
    from benchapp.web.lan import Lan

LOOPBACK = "127.0.0.1"
EVERYWHERE = "0.0.0.0"  # noqa: S104

CHECK_EVERY_S = 6 * 3600
"""How often a running server looks whether its certificate is due."""


class WorkerSetting(Enum):
    """What the worker process is told, in its environment: on some systems it starts afresh."""

    DATA = "BENCHAPP_WORKER_DATA"
    DATABASE = "BENCHAPP_WORKER_DATABASE"
    DEMO = "BENCHAPP_WORKER_DEMO"
    PAIR = "BENCHAPP_WORKER_PAIR"
    ADDRESS = "BENCHAPP_WORKER_ADDRESS"
    OPEN = "BENCHAPP_WORKER_OPEN"
    PROXY = "BENCHAPP_WORKER_PROXY"
    TLS = "BENCHAPP_WORKER_TLS"
    URLS = "BENCHAPP_WORKER_URLS"
    TRUST = "BENCHAPP_WORKER_TRUST"
    QUIET = "BENCHAPP_WORKER_QUIET"
    CONTACT = "BENCHAPP_WORKER_CONTACT"
    PUSH_SERVICES = "BENCHAPP_WORKER_PUSH_SERVICES"
    WHY = "BENCHAPP_WORKER_WHY"
    """The file in which the worker says why it can't begin."""

    def write(self, text: str) -> None:
        os.environ[self.value] = text

    def read(self) -> str:
        return os.environ[self.value]


class Refused(WordedError):
    """It cannot be served so; the sentence says why, and what to do."""


class PortTaken(Refused):
    """The port cannot be had."""


def serve(
    *,
    host: str,
    port: int,
    data_dir: Path,
    database: str | None = None,
    demo: bool,
    open_browser: bool,
    pair: bool = False,
    behind_proxy: bool = False,
    trust_port: int | None = None,
    contact: str | None = None,
    push_services: Collection[str] = (),
) -> None:
    """Serve until SIGTERM or Ctrl-C. Port 0 takes any free one.

    With `trust_port` it serves the house network: TLS at `port`, and at `trust_port` the plain
    page that hands over the authority. `behind_proxy`, `contact` and `push_services` are as for
    `create_app`. A code that lets a device in is printed where none is paired yet, or where `pair`
    asks for one; the demo needs none. Raises Refused.
    """
    port = _free_port(host, port)
    lan = None if trust_port is None else _lan(host, port, trust_port, data_dir)
    WorkerSetting.DATA.write(str(data_dir.resolve()))
    WorkerSetting.DATABASE.write(database or "")
    WorkerSetting.DEMO.write("1" if demo else "")
    WorkerSetting.PAIR.write("1" if pair else "")
    WorkerSetting.ADDRESS.write(f"{host} {port}")
    WorkerSetting.OPEN.write("1" if open_browser else "")
    WorkerSetting.PROXY.write("1" if behind_proxy else "")
    WorkerSetting.TLS.write("1" if lan else "")
    WorkerSetting.URLS.write(" ".join(lan.urls) if lan else _url("http", loopback_of(host), port))
    WorkerSetting.TRUST.write(f"{lan.trust_url} {lan.fingerprint}" if lan else "")
    WorkerSetting.QUIET.write("")
    WorkerSetting.CONTACT.write(contact or "")
    WorkerSetting.PUSH_SERVICES.write(" ".join(push_services))
    server = Granian(
        "benchapp.web.worker:worker_app",
        address=host,
        port=port,
        interface=Interfaces.ASGI,
        factory=True,
        # One process, so that whatever is timed happens once.
        workers=1,
        websockets=False,
        # Its warnings are about tuning; what breaks is an error.
        log_level=LogLevels.error,
        # A phone that keeps its connection open must not keep the server from stopping.
        workers_kill_timeout=2,
        ssl_cert=lan.certificates.server_file if lan else None,
        ssl_key=lan.certificates.server_file if lan else None,
        # Its own minimum, 1.3, shuts out old phones.
        ssl_protocol_min=SSLProtocols.tls12,
    )
    if lan:
        lan.trust_server.start()
        renew = (lan, server.signal_handler_reload)
        threading.Thread(target=_renew_when_due, args=renew, daemon=True).start()
    _serve_until_told(server.serve)


def _serve_until_told(serve: Callable[[], object]) -> None:
    """Serve; where the worker has said why it could not begin, raise that as Refused.

    Making the app here, to see whether it can be made, would take its time and memory twice.
    """
    with tempfile.TemporaryDirectory(prefix="benchapp-") as directory:
        why = Path(directory) / "why"
        WorkerSetting.WHY.write(str(why))
        # What the worker has said of its end is enough.
        logging.getLogger("_granian").addFilter(lambda record: not why.exists())
        try:
            serve()
        except SystemExit:
            if why.exists():
                raise Refused(literal(why.read_text(encoding="utf-8"))) from None
            raise


def _lan(host: str, port: int, trust_port: int, data_dir: Path) -> "Lan":
    # Only here: a server without TLS need not carry them.
    from benchapp.web.lan import Lan  # noqa: PLC0415
    from benchapp.web.trust_server import TrustServer  # noqa: PLC0415

    try:
        trust_server = TrustServer(host, trust_port)
    except OSError as error:
        raise PortTaken(_why(error, host, trust_port, "--trust-port")) from error
    try:
        return Lan(trust_server, host, port, data_dir / "tls")
    except ValueError as error:
        raise Refused(error) from error
    except OSError as error:
        raise Refused(
            "The certificates cannot be kept in {directory}: {why}. Choose another directory "
            "with --data.",
            directory=data_dir / "tls",
            why=error.strerror,
        ) from error


def _renew_when_due(lan: "Lan", start_new_worker: Callable[[], object]) -> None:
    """Now and then renew the certificate where it is due, and let a new worker serve it.

    The worker takes it up only when it starts. The new one answers before the old one is told to
    finish what it has begun, so nobody is turned away.
    """
    while True:
        time.sleep(CHECK_EVERY_S)
        before = lan.certificates.server.serial_number
        try:
            lan.renew()
        except (OSError, ValueError) as error:
            said = t("The certificate could not be renewed. {why}", why=error)
            print(said, file=sys.stderr, flush=True)
            continue
        if lan.certificates.server.serial_number != before:
            WorkerSetting.QUIET.write("1")
            start_new_worker()


def _free_port(host: str, port: int) -> int:
    """Return a port that nobody holds. granian shares a port without a word where it can."""
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    with socket.socket(family, socket.SOCK_STREAM) as probe:
        if sys.platform != "win32":
            # A port that was closed a moment ago is free.
            probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((host, port))
        except OSError as error:
            raise PortTaken(_why(error, host, port, "--port")) from error
        found: int = probe.getsockname()[1]
        return found


def _why(error: OSError, host: str, port: int, option: str) -> Message:
    if error.errno == errno.EADDRINUSE:
        return message(
            "Port {port} is taken by another program (or another benchapp). Stop that one, or "
            "choose another with {option}, or let {option} 0 choose.",
            port=port,
            option=option,
        )
    if error.errno in (errno.EACCES, errno.EPERM):
        return message(
            "Port {port} is not yours to take on this machine. Choose one above 1023.", port=port
        )
    return message(
        "This machine has no address {host}. Leave --host out to serve this machine only.",
        host=host,
    )


def loopback_of(host: str) -> str:
    """The address under which this machine itself reaches a server that listens at `host`."""
    return {EVERYWHERE: LOOPBACK, "::": "::1"}.get(host, host)


def _url(scheme: str, host: str, port: int) -> str:
    return f"{scheme}://[{host}]:{port}/" if ":" in host else f"{scheme}://{host}:{port}/"
