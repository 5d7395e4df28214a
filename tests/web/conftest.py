"""A server for the tests of one file; and a copy of the code with a tiny page, so that the worker
is tested apart from the screens.

Its bench is `start.js` with `edition.js`; `late.js`, which is imported when it is called for, comes
with the desk.
"""

import http.client
import shutil
import threading
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from urllib.parse import urlsplit

import pytest

from tests.web.caller import Bench, Caller, bench

ROOT = Path(__file__).resolve().parents[2]

_PAGE = """<!doctype html>
<html lang="en-GB">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>Bench</title>
<link rel="icon" href="/static/icons/icon.svg" type="image/svg+xml">
<link rel="manifest" href="/manifest.webmanifest">
<script type="module" src="/static/start.js"></script>
</head>
<body></body>
</html>
"""

_DESK = """<!doctype html>
<html lang="en-GB"><head><title>Desk</title></head><body></body></html>
"""

_SCRIPT = """import { EDITION } from "./edition.js";
import { holdPourLock, registerWorker, takeOver } from "./offline.js";
const loads = Number(sessionStorage.getItem('loads') ?? 0) + 1;
sessionStorage.setItem('loads', String(loads));
const bench = {
  edition: EDITION, loads, states: [], busy: false, takeOver, holdPourLock,
  late: async () => (await import('./late.js')).EDITION,
};
globalThis.bench = bench;
registerWorker({
  begun: async () => undefined,
  mayTakeOver: () => !bench.busy,
  onState: (state, newer) => {
    bench.states.push([state, newer]);
    document.title = `${state} ${newer}`;
  },
});
"""


@dataclass
class Checkout:
    """A copy of the code whose shell can be changed."""

    path: Path

    def edition(self, name: str) -> None:
        """Publish another edition of the shell."""
        for file in ("edition.js", "late.js"):
            text = f"export const EDITION = '{name}';\n"
            (self.path / "static" / file).write_text(text, encoding="utf-8")


def _copy(path: Path) -> Checkout:
    skip = shutil.ignore_patterns("__pycache__")
    shutil.copytree(ROOT / "benchapp", path / "benchapp", ignore=skip)
    shutil.copytree(ROOT / "service_worker", path / "service_worker")
    shutil.copytree(ROOT / "static" / "icons", path / "static" / "icons")
    shutil.copy(ROOT / "static" / "offline.js", path / "static")
    # What the worker itself imports.
    for room in ("words", "formulas", "records", "bench"):
        shutil.copytree(ROOT / "static" / room, path / "static" / room)
    records = path / "benchapp" / "records"
    (path / "templates").mkdir()
    shutil.copy(ROOT / "templates" / "trust.html", path / "templates")
    written = {
        records / "kinds.py": "KINDS = ()\n",
        records / "demo.py": "def workshop(today):\n    return {'today': today.isoformat()}\n",
        path / "templates" / "shell.html": _PAGE,
        path / "templates" / "desk.html": _DESK,
        path / "static" / "start.js": _SCRIPT,
    }
    for file, text in written.items():
        file.write_text(text, encoding="utf-8")
    made = Checkout(path)
    made.edition("one")
    return made


@pytest.fixture(scope="session")
def _tiny(tmp_path_factory: pytest.TempPathFactory) -> Checkout:
    return _copy(tmp_path_factory.mktemp("tiny") / "checkout")


@pytest.fixture
def checkout(_tiny: Checkout) -> Checkout:
    """A copy that all tests share, at its first edition: nothing else of it may be changed."""
    _tiny.edition("one")
    return _tiny


CUT = 0
"""The status of an answer that never comes: the connection ends instead."""


@dataclass
class Door:
    """Stands between the phone and the server, at one address; can spoil, refuse or cut answers."""

    url: str
    server_url: str
    spoiled: dict[str, Callable[[int, bytes], tuple[int, bytes]]] = field(default_factory=dict)

    def hold(self, path: str) -> threading.Event:
        """Hold back the answer at a path until the event is set."""
        come = threading.Event()

        def late(status: int, body: bytes) -> tuple[int, bytes]:
            come.wait(60)
            return status, body

        self.spoiled[path] = late
        return come


@pytest.fixture
def door() -> Iterator[Callable[[str], Door]]:
    """Open a door in front of a server: `door(server.url).url`."""
    opened: list[ThreadingHTTPServer] = []

    def open_(server_url: str) -> Door:
        class Handler(BaseHTTPRequestHandler):
            def do_GET(self) -> None:
                inside = urlsplit(this.server_url)
                path = self.path.removeprefix("/moved")
                connection = http.client.HTTPConnection(str(inside.hostname), inside.port or 80)
                try:
                    connection.request("GET", path)
                    answer = connection.getresponse()
                    status, body = answer.status, answer.read()
                    headers = answer.getheaders()
                finally:
                    connection.close()
                if spoil := this.spoiled.get(urlsplit(self.path).path):
                    status, body = spoil(status, body)
                if status == CUT:
                    return
                self.send_response(status)
                for name, value in headers:
                    if name not in ("content-length", "date", "server"):
                        self.send_header(name, value)
                if status == 302:
                    # The same bytes, so that nothing but the redirect is wrong.
                    self.send_header("Location", "/moved" + self.path)
                self.send_header("Content-Length", str(len(body)))
                self.end_headers()
                self.wfile.write(body)

            def log_message(self, format: str, *args: object) -> None:
                pass

        listener = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
        listener.daemon_threads = True
        opened.append(listener)
        this = Door(f"http://127.0.0.1:{listener.server_address[1]}/", server_url)
        threading.Thread(target=listener.serve_forever, daemon=True).start()
        return this

    yield open_
    for listener in opened:
        listener.shutdown()
        listener.server_close()


@pytest.fixture
def own_checkout(tmp_path: Path) -> Checkout:
    """A copy of which a test may change whatever it likes."""
    return _copy(tmp_path / "checkout")


@pytest.fixture
def small_shell(own_checkout: Checkout, monkeypatch: pytest.MonkeyPatch) -> Checkout:
    """Make an app built in this process serve the tiny page."""
    monkeypatch.setattr("benchapp.paths.STATIC", own_checkout.path / "static")
    monkeypatch.setattr("benchapp.paths.TEMPLATES", own_checkout.path / "templates")
    monkeypatch.setattr("benchapp.paths.SERVICE_WORKER", own_checkout.path / "service_worker")
    return own_checkout


# ---- the wire ----------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def running(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Bench]:
    """A server for the tests of one file."""
    with bench(tmp_path_factory.mktemp("data")) as started:
        yield started


@pytest.fixture(scope="module")
def here(running: Bench) -> Caller:
    """A device that is paired with it."""
    return running.paired()
