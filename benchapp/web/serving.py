"""The production server: one granian worker process that answers in a few threads."""

import errno
import http.client
import multiprocessing
import os
import socket
import sys
import threading
import time
import webbrowser
from pathlib import Path

from flask import Flask
from granian import Granian
from granian.constants import Interfaces
from granian.log import LogLevels

from benchapp.web import create_app

# The worker is another process, and on some systems a fresh one: what it must know travels in
# the environment.
_DATA = "BENCHAPP_WORKER_DATA"
_DEMO = "BENCHAPP_WORKER_DEMO"
_ADDRESS = "BENCHAPP_WORKER_ADDRESS"
_OPEN = "BENCHAPP_WORKER_OPEN"


class PortTaken(Exception):
    """The port cannot be had; the message says so in a sentence."""


def serve(*, host: str, port: int, data_dir: Path, demo: bool, open_browser: bool) -> None:
    """Serve until SIGTERM or Ctrl-C. Port 0 takes any free one. Raises PortTaken."""
    port = _free_port(host, port)
    print(f"Data is kept in {data_dir.resolve()}", flush=True)
    os.environ[_DATA] = str(data_dir.resolve())
    os.environ[_DEMO] = "1" if demo else ""
    os.environ[_ADDRESS] = f"{host} {port}"
    os.environ[_OPEN] = "1" if open_browser else ""
    Granian(
        "benchapp.web.serving:worker_app",
        address=host,
        port=port,
        interface=Interfaces.WSGI,
        factory=True,
        # One process, so that whatever is timed happens once.
        workers=1,
        blocking_threads=8,
        # Its warnings are about tuning; what breaks is an error.
        log_level=LogLevels.error,
        # A phone that keeps its connection open must not keep the server from stopping.
        workers_kill_timeout=2,
    ).serve()


def worker_app() -> Flask:
    """The app of the worker process, which also says when it answers."""
    app = create_app(data_dir=Path(os.environ[_DATA]), demo=bool(os.environ[_DEMO]))
    threading.Thread(target=_announce, daemon=True).start()
    threading.Thread(target=_end_with_parent, daemon=True).start()
    return app


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
            raise PortTaken(_why(error, host, port)) from error
        found: int = probe.getsockname()[1]
        return found


def _why(error: OSError, host: str, port: int) -> str:
    if error.errno == errno.EADDRINUSE:
        return (
            f"Port {port} is taken by another program (or another benchapp). "
            "Stop that one, or choose another with --port, or let --port 0 choose."
        )
    if error.errno in (errno.EACCES, errno.EPERM):
        return f"Port {port} is not yours to take on this machine. Choose one above 1023."
    return f"This machine has no address {host}. Leave --host out to serve this machine only."


def _announce() -> None:
    """Print the ready line once a request is really answered, and open the browser if asked."""
    host, port = os.environ[_ADDRESS].split()
    near = {"0.0.0.0": "127.0.0.1", "::": "::1"}.get(host, host)  # noqa: S104
    while True:
        connection = http.client.HTTPConnection(near, int(port), timeout=30)
        try:
            connection.request("GET", "/sw.js")
            connection.getresponse().read()
            break
        except OSError:
            time.sleep(0.02)
        finally:
            connection.close()
    url = f"http://[{near}]:{port}/" if ":" in near else f"http://{near}:{port}/"
    print(f"Bench ready at {url}", flush=True)
    if os.environ[_OPEN]:
        webbrowser.open(url)
