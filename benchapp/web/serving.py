"""The production server: one granian worker process that answers in a few threads."""

import errno
import http.client
import multiprocessing
import os
import socket
import ssl
import sys
import threading
import time
import webbrowser
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from flask import Flask
from granian import Granian
from granian.constants import Interfaces, SSLProtocols
from granian.log import LogLevels

from benchapp.web import create_app, pairing, terminal

if TYPE_CHECKING:
    from benchapp.web import trust

LOOPBACK = "127.0.0.1"
EVERYWHERE = "0.0.0.0"  # noqa: S104

CHECK_EVERY_S = 6 * 3600
"""How often a running server looks whether its certificate is due."""

# The worker is another process, and on some systems a fresh one: what it must know travels in
# the environment.
_DATA = "BENCHAPP_WORKER_DATA"
_DATABASE = "BENCHAPP_WORKER_DATABASE"
_DEMO = "BENCHAPP_WORKER_DEMO"
_PAIR = "BENCHAPP_WORKER_PAIR"
_ADDRESS = "BENCHAPP_WORKER_ADDRESS"
_OPEN = "BENCHAPP_WORKER_OPEN"
_PROXY = "BENCHAPP_WORKER_PROXY"
_TLS = "BENCHAPP_WORKER_TLS"
_URLS = "BENCHAPP_WORKER_URLS"
_TRUST = "BENCHAPP_WORKER_TRUST"
_QUIET = "BENCHAPP_WORKER_QUIET"


class Refused(Exception):
    """It cannot be served so; the message says why, and what to do, in a sentence."""


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
) -> None:
    """Serve until SIGTERM or Ctrl-C. Port 0 takes any free one.

    With `trust_port` it serves the house network: TLS at `port`, and at `trust_port` the plain
    page that hands over the authority. `behind_proxy` is as for `create_app`. A code that
    lets a device in is printed where none is paired yet, or where `pair` asks for one; the demo
    needs none. Raises Refused.
    """
    port = _free_port(host, port)
    house = None if trust_port is None else _house(host, port, trust_port, data_dir)
    print(f"Data is kept in {data_dir.resolve()}", flush=True)
    os.environ[_DATA] = str(data_dir.resolve())
    os.environ[_DATABASE] = database or ""
    os.environ[_DEMO] = "1" if demo else ""
    os.environ[_PAIR] = "1" if pair else ""
    os.environ[_ADDRESS] = f"{host} {port}"
    os.environ[_OPEN] = "1" if open_browser else ""
    os.environ[_PROXY] = "1" if behind_proxy else ""
    os.environ[_TLS] = "1" if house else ""
    os.environ[_URLS] = " ".join(house.urls) if house else _url("http", _near(host), port)
    os.environ[_TRUST] = f"{house.guide_url} {house.fingerprint}" if house else ""
    os.environ[_QUIET] = ""
    server = Granian(
        "benchapp.web.serving:worker_app",
        address=host,
        port=port,
        interface=Interfaces.WSGI,
        factory=True,
        # One process, so that whatever is timed happens once.
        workers=1,
        # A caller that sends its request a byte a minute holds one.
        blocking_threads=32,
        # Its warnings are about tuning; what breaks is an error.
        log_level=LogLevels.error,
        # A phone that keeps its connection open must not keep the server from stopping.
        workers_kill_timeout=2,
        ssl_cert=house.kept.server_file if house else None,
        ssl_key=house.kept.server_file if house else None,
        # Its own minimum, 1.3, shuts out old phones.
        ssl_protocol_min=SSLProtocols.tls12,
    )
    if house:
        house.guide.start()
        renew = (house, server.signal_handler_reload)
        threading.Thread(target=_keep_fresh, args=renew, daemon=True).start()
    server.serve()


def worker_app() -> Flask:
    """The app of the worker process, which also says when it answers."""
    app = create_app(
        data_dir=Path(os.environ[_DATA]),
        database=os.environ[_DATABASE] or None,
        demo=bool(os.environ[_DEMO]),
        tls=bool(os.environ[_TLS]),
        behind_proxy=bool(os.environ[_PROXY]),
    )
    if not os.environ[_QUIET]:
        threading.Thread(target=_announce, args=(app,), daemon=True).start()
    threading.Thread(target=_end_with_parent, daemon=True).start()
    return app


def _house(host: str, port: int, trust_port: int, data_dir: Path) -> "trust.House":
    # Only here: a server without TLS need not carry it.
    from benchapp.web import trust  # noqa: PLC0415

    try:
        guide = trust.Guide(host, trust_port)
    except OSError as error:
        raise PortTaken(_why(error, host, trust_port, "--trust-port")) from error
    try:
        return trust.House(guide, host, port, data_dir / "tls")
    except ValueError as error:
        raise Refused(str(error)) from error
    except OSError as error:
        raise Refused(
            f"The certificates cannot be kept in {data_dir / 'tls'}: {error.strerror}. "
            "Choose another directory with --data."
        ) from error


def _keep_fresh(house: "trust.House", start_anew: Callable[[], object]) -> None:
    """Now and then renew the certificate where it is due, and let a new worker serve it.

    The worker takes it up only when it starts. The new one answers before the old one is told to
    finish what it has begun, so nobody is turned away.
    """
    while True:
        time.sleep(CHECK_EVERY_S)
        before = house.kept.server.serial_number
        try:
            house.look()
        except (OSError, ValueError) as error:
            print(f"The certificate could not be renewed. {error}", file=sys.stderr, flush=True)
            continue
        if house.kept.server.serial_number != before:
            os.environ[_QUIET] = "1"
            start_anew()


def _end_with_parent() -> None:
    """Leave no worker behind, holding the port, when its parent is killed outright."""
    parent = multiprocessing.parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)


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


def _why(error: OSError, host: str, port: int, option: str) -> str:
    if error.errno == errno.EADDRINUSE:
        return (
            f"Port {port} is taken by another program (or another benchapp). "
            f"Stop that one, or choose another with {option}, or let {option} 0 choose."
        )
    if error.errno in (errno.EACCES, errno.EPERM):
        return f"Port {port} is not yours to take on this machine. Choose one above 1023."
    return f"This machine has no address {host}. Leave --host out to serve this machine only."


# ---- what the terminal shows -------------------------------------------------------------------


def _announce(app: Flask) -> None:
    """Print where the bench is once a request is really answered; open the browser if asked."""
    _wait_for_an_answer()
    first, *others = os.environ[_URLS].split()
    print(f"Bench ready at {first}", flush=True)
    for other in others:
        print(f"Also at {other}", flush=True)
    if os.environ[_TRUST]:
        guide, fingerprint = os.environ[_TRUST].split()
        print(f"A phone that is new here trusts the bench first: scan this, or open {guide} on it.")
        print(terminal.qr(guide), end="")
        print(f"The fingerprint to compare on the phone (SHA-256): {fingerprint}", flush=True)
    asked = bool(os.environ[_PAIR])
    if asked or not os.environ[_DEMO]:
        print(pairing.greeting(app.extensions["database"], first, always=asked), end="", flush=True)
    if os.environ[_OPEN]:
        webbrowser.open(first)


def _wait_for_an_answer() -> None:
    host, port = os.environ[_ADDRESS].split()
    # It asks itself, so who answers is not in doubt.
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_CLIENT)
    context.check_hostname = False
    context.verify_mode = ssl.CERT_NONE
    while True:
        connection = (
            http.client.HTTPSConnection(_near(host), int(port), timeout=30, context=context)
            if os.environ[_TLS]
            else http.client.HTTPConnection(_near(host), int(port), timeout=30)
        )
        try:
            connection.request("GET", "/sw.js")
            connection.getresponse().read()
            return
        except OSError:
            time.sleep(0.02)
        finally:
            connection.close()


def _near(host: str) -> str:
    """The address under which this machine itself reaches a server that listens at `host`."""
    return {EVERYWHERE: LOOPBACK, "::": "::1"}.get(host, host)


def _url(scheme: str, host: str, port: int) -> str:
    return f"{scheme}://[{host}]:{port}/" if ":" in host else f"{scheme}://{host}:{port}/"
