"""Make what version 1 kept: `v1/`, from which `test_v1.py` starts the version of today.

It runs the programs of a checkout of that version, commit 56b84a2, the last whose events named
nothing but a pour (`{"pour": ID}`):

    git worktree add ../v1 56b84a2
    .venv/bin/python -m tests.kept.make_v1 ../v1

That checkout's own server and pages make everything, with this environment's Python, Chromium and
PostgreSQL. All names and figures are invented. Two phones (`story_v1.js`) keep records and pours,
write apart, and exchange; then these are taken:

| file                   | is                                                                     |
|------------------------|------------------------------------------------------------------------|
| server.sqlite3.gz      | the server's database, with devices, reminders, messages, codes        |
| server-export.json.gz  | `benchapp export` of it                                                |
| phone-copy.json.gz     | the copy that the first phone saved, with what waits for the server    |
| phone-indexeddb.zip    | the IndexedDB folder of that phone's Chromium profile, for `ORIGIN`    |
| postgres.benchbackup   | `benchapp backup` of a PostgreSQL with the same, and one more phone    |
| postgres-export.json.gz| `benchapp export` of that                                              |
| expected.json          | what that version read in all of them: counts, values, folds, reminders|

Clocks are set back to `STARTS`, so that no machine that runs the tests takes them for the future.
"""

import base64
import gzip
import http.client
import json
import os
import re
import signal
import sqlite3
import subprocess
import sys
import tempfile
import time
import zipfile
from collections.abc import Iterator
from contextlib import closing, contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

from playwright.sync_api import BrowserContext, Page, Playwright, expect, sync_playwright

from tests.browser import PLAIN, find_chromium
from tests.postgres import find_binaries, postgres_server

Json = Any

HERE = Path(__file__).resolve().parent
INTO = HERE / "v1"

HOST = "bench.localhost"
ORIGIN = f"http://{HOST}"
"""Where the phone finds the bench. Browsers trust names that end so as they trust HTTPS (W3C Secure
Contexts, 3.1), and `origin_at` leads it to whichever port a server has."""

DATABASE_FOLDER = "http_bench.localhost_0.indexeddb.leveldb"
"""How Chromium calls the folder of that origin's IndexedDB."""

STARTS = datetime(2025, 1, 6, 9, 0, tzinfo=UTC)
_LAG_NS = time.time_ns() - int(STARTS.timestamp()) * 1_000_000_000

# Run by Python before the server itself: `benchapp.web.clock` asks this function.
_CLOCK = f"""import time
_now = time.time_ns
time.time_ns = lambda: _now() - {_LAG_NS}
"""

_PAGE_CLOCK = f"""{{
  const Real = Date;
  const now = () => Real.now() - {_LAG_NS // 1_000_000};
  globalThis.Date = class extends Real {{
    constructor(...given) {{
      super(...(given.length > 0 ? given : [now()]));
    }}
    static now() {{
      return now();
    }}
  }};
}}"""

# A device that listens, reminders that are reckoned, and messages: one waits, one was sent.
_REMIND = """
import json, sys
from benchapp.records import tables
from benchapp.records.database import Database
from benchapp.records.devices import devices, workshops
from benchapp.reminders import deliveries, planning, subscriptions
from benchapp.reminders.push import Outcome
url, now_ms, p256dh, app_key = sys.argv[1], int(sys.argv[2]), sys.argv[3], "invented"
database = Database(url)
with database.write() as connection:
    shop = workshops(connection)[0]["id"]
    planning.tell_zone(connection, shop, "Europe/Lisbon")
    device = next(each for each in devices(connection, shop, now_ms) if each.name == "Desk phone")
    subscriptions.listen(
        connection, device, endpoint="https://push.example.net/desk", p256dh=p256dh,
        auth="A" * 22, app_key=app_key, origin="http://bench.localhost", now_ms=now_ms,
    )
    while planning.plan(connection, now_ms):
        pass
    deliveries.fall_due(connection, now_ms)
    deliveries.send_trial(connection, device.id, now_ms)
    (parcel,) = deliveries.claim(connection, now_ms, app_key, most=1)
    deliveries.settle(connection, [(parcel, Outcome("sent", 201, ""))], now_ms)
database.close()
"""

# What that version reads in a database: every record's values, and what pours remind of.
_READ = """
import json, sys
from collections import Counter, defaultdict
from dataclasses import asdict
from sqlalchemy import func, select
from benchapp.records import tables
from benchapp.records.database import Database
from benchapp.records.merge import plain_values
from benchapp.reminders import due
database = Database(sys.argv[1])
with database.read() as connection:
    record, event = tables.record, tables.event
    values = {}
    for row in connection.execute(select(record).order_by(record.c.kind, record.c.id)):
        values[f"{row.kind} {row.id}"] = plain_values(json.loads(row.fields))
    events = [json.loads(row.body) for row in connection.execute(select(event))]
    counts = {
        table.name: connection.scalar(select(func.count()).select_from(table))
        for table in tables.metadata.sorted_tables
    }
    devices = [
        {"id": row.id, "name": row.name, "revoked": row.revoked_ms is not None}
        for row in connection.execute(select(tables.device).order_by(tables.device.c.id))
    ]
    shop = connection.execute(select(tables.workshop)).one()
    planned = [
        {"pour": row.pour, "kind": row.kind, "day": row.day, "on": row.on, "due_ms": row.due_ms,
         "done": row.done, "waits_ms": row.waits_ms, "sent_on": row.sent_on}
        for row in connection.execute(
            select(tables.reminder).order_by(tables.reminder.c.pour, tables.reminder.c.kind))
    ]
settings = due.settings_of(values["workshop workshop"], "UTC")
of_pour = defaultdict(list)
for each in sorted(events, key=lambda each: each["id"]):
    of_pour[each["pour"]].append(each)
reminders = {
    name.removeprefix("pour "): [
        asdict(each)
        for each in due.reminders_of(values[name], of_pour[name.removeprefix("pour ")], settings)
    ]
    for name in values if name.startswith("pour ")
}
print(json.dumps({
    "workshop": {"id": shop.id, "name": shop.name},
    "counts": counts,
    "kinds": Counter(name.partition(" ")[0] for name in values),
    "types": Counter(each["type"] for each in events),
    "values": {
        name: each if not name.startswith("pour ")
        else {part: value for part, value in each.items() if part != "sheet"}
        for name, each in values.items()
    },
    "devices": devices,
    "reminders": reminders,
    "planned": planned,
}))
"""


def origin_at(port: int) -> list[str]:
    """What Chromium is started with to find `ORIGIN` on a port of this machine."""
    return [*PLAIN, f"--host-resolver-rules=MAP {HOST}:80 127.0.0.1:{port}"]


# ---- the programs of that version --------------------------------------------------------------


class Version:
    """A checkout, and its programs under a clock that was set back."""

    def __init__(self, checkout: Path, scratch: Path) -> None:
        self.checkout = checkout
        (scratch / "clock").mkdir()
        (scratch / "clock" / "sitecustomize.py").write_text(_CLOCK)
        self.environment = os.environ | {"PYTHONPATH": str(scratch / "clock"), "TZ": "UTC"}

    def python(self, *arguments: str) -> str:
        done = subprocess.run(
            [sys.executable, *arguments],
            cwd=self.checkout,
            env=self.environment,
            capture_output=True,
            text=True,
            check=False,
        )
        if done.returncode != 0:
            raise RuntimeError(done.stdout + done.stderr)
        return done.stdout

    def benchapp(self, *arguments: str) -> str:
        return self.python("-m", "benchapp", *arguments)

    def check(self) -> None:
        """Fail where it is not the checkout's code that runs, or not the right version of it."""
        said = self.python(
            "-c", "import benchapp.records.database as d; print(d.__file__, d.SCHEMA, sep='\\n')"
        )
        file, schema = said.splitlines()
        assert Path(file).is_relative_to(self.checkout), f"It would run {file}."
        assert schema == "0002", f"{self.checkout} has schema {schema}."

    @contextmanager
    def serving(self, data: Path, *options: str) -> Iterator[int]:
        """Run its server; give the port."""
        process = subprocess.Popen(
            [
                sys.executable,
                "-m",
                "benchapp",
                "serve",
                "--port",
                "0",
                "--data",
                str(data),
                *options,
            ],
            cwd=self.checkout,
            env=self.environment,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            start_new_session=True,
        )
        said = ""
        try:
            for line in process.stdout or ():
                said += line
                if line.startswith("Bench ready at "):
                    break
            else:
                raise RuntimeError(said)
            yield int(line.strip().rstrip("/").rsplit(":", 1)[1])
        finally:
            process.send_signal(signal.SIGTERM)
            process.communicate(timeout=30)

    def code(self, data: Path, *options: str) -> str:
        said = self.benchapp("pair", "--data", str(data), *options)
        found = re.search(r"\b[0-9A-Z]{4}-[0-9A-Z]{4}\b", said)
        assert found, said
        return found[0]


# ---- the phones --------------------------------------------------------------------------------

_STORY = (HERE / "story_v1.js").read_text(encoding="utf-8")
_NAMES = re.findall(r"^export async function (\w+)", _STORY, re.MULTILINE)


class Phone:
    """A browser with storage of its own in `folder`."""

    def __init__(self, playwright: Playwright, folder: Path, port: int) -> None:
        chromium = find_chromium(playwright)
        assert chromium, "Chromium is needed."
        self.context: BrowserContext = playwright.chromium.launch_persistent_context(
            str(folder),
            executable_path=chromium,
            args=origin_at(port),
            viewport={"width": 390, "height": 844},
            timezone_id="Europe/Lisbon",
        )
        self.context.add_init_script(_PAGE_CLOCK)
        self.page: Page = self.context.new_page()
        self.page.goto(ORIGIN)
        expect(self.page.locator("#screen h1")).to_have_text("Today", timeout=30_000)

    def does(self, name: str, *given: Json) -> Json:
        """Run a function of the story in the page."""
        story = _STORY.replace("export ", "")
        names = ", ".join(_NAMES)
        source = f"async ([name, given]) => {{ {story}\nreturn ({{ {names} }})[name](...given); }}"
        return self.page.evaluate(source, [name, list(given)])

    def copy(self, file: Path) -> bytes:
        """Save a copy from its screen."""
        self.page.goto(f"{ORIGIN}/#/copies")
        with self.page.expect_download() as download:
            self.page.get_by_role("button", name="Save a copy of everything").click()
        download.value.save_as(file)
        return file.read_bytes()

    def rows(self, store: str) -> list[Json]:
        """All rows of an object store, as they lie there."""
        found: list[Json] = self.page.evaluate(
            """(name) => new Promise((resolve, reject) => {
              const opening = indexedDB.open("pour-bench");
              opening.onerror = () => reject(opening.error);
              opening.onsuccess = () => {
                const reading = opening.result.transaction(name).objectStore(name).getAll();
                reading.onsuccess = () => { opening.result.close(); resolve(reading.result); };
              };
            })""",
            store,
        )
        return found

    def cookie(self) -> str:
        """What it shows the server to be let in."""
        cookies = {each["name"]: each["value"] for each in self.context.cookies()}
        return cookies["bench_device"]


def call(port: int, method: str, path: str, body: Json = None, *, cookie: str = "") -> Json:
    """Ask the server as a device's page would; a POST fetches a token first."""
    cookies, token = f"bench_device={cookie}" if cookie else "", ""
    if method == "POST":
        connection = http.client.HTTPConnection("127.0.0.1", port)
        connection.request("GET", "/api/me", headers={"Cookie": cookies, "Host": HOST})
        answer = connection.getresponse()
        token = json.loads(answer.read())["csrf"]
        session = (answer.getheader("Set-Cookie") or "").partition(";")[0]
        cookies = f"{cookies}; {session}" if cookies else session
        connection.close()
    connection = http.client.HTTPConnection("127.0.0.1", port)
    headers = {"Cookie": cookies, "X-CSRFToken": token, "Host": HOST}
    headers["Content-Type"] = "application/json"
    connection.request(method, path, None if body is None else json.dumps(body), headers)
    answer = connection.getresponse()
    told = json.loads(answer.read())
    assert answer.status == 200, told
    found = re.search(r"bench_device=([^;]+)", " ".join(answer.headers.get_all("Set-Cookie") or ()))
    connection.close()
    return told | ({"cookie": found[1]} if found else {})


# ---- all of it ---------------------------------------------------------------------------------


def make(checkout: Path) -> None:  # noqa: PLR0915
    """Make every file of `INTO`."""
    INTO.mkdir(exist_ok=True)
    binaries = find_binaries()
    assert binaries, "PostgreSQL is needed."
    with (
        tempfile.TemporaryDirectory() as folder,
        sync_playwright() as playwright,
        postgres_server(binaries) as postgres,
    ):
        scratch = Path(folder)
        version = Version(checkout.resolve(), scratch)
        version.check()
        data = scratch / "data"
        expected: Json = {"origin": ORIGIN, "now_ms": _now_ms()}
        invented = json.loads(
            version.python(
                "-c",
                "import json, datetime; from benchapp.records.demo import workshop;"
                "print(json.dumps(workshop(datetime.date(2024, 12, 1))['records']))",
            )
        )
        with version.serving(data) as port:
            shed = Phone(playwright, scratch / "shed", port)
            shed.does("keepMaterials", invented)
            shed.does("keepPours")
            desk = Phone(playwright, scratch / "desk", port)
            for phone, name in ((shed, "Shed phone"), (desk, "Desk phone")):
                phone.does("pair", version.code(data), name)
                phone.does("settle")
            for phone in (shed, desk):
                phone.context.set_offline(True)
            shed.does("writeApart", "shed", 0.09, 17.5)
            desk.does("writeApart", "desk", 0.07, 19)
            for phone in (shed, desk, shed):
                phone.context.set_offline(False)
                phone.does("settle")
            desk.does("settleOne")
            desk.does("setShared")
            for phone in (desk, shed):
                phone.does("settle")
            shed.does("keepRefused")
            shed.does("settle")
            lost = call(port, "POST", "/api/pair", {"code": version.code(data), "name": "Lost"})
            shed_cookie, desk_cookie = shed.cookie(), desk.cookie()
            revoked = f"/api/devices/{lost['device']['id']}/revoke"
            call(port, "POST", revoked, {}, cookie=desk_cookie)
            calendar = call(port, "POST", "/api/calendar", {}, cookie=desk_cookie)
            desk.context.close()
            shed.context.set_offline(True)
            shed.does("keepWaiting")
            copy = shed.copy(scratch / "copy.json")
            outbox = shed.rows("outbox")
            expected["phone"] = {
                "log": shed.does("logged"),
                "folds": shed.does("foldAll"),
                "reminders": shed.does("remindAll"),
                "waiting": [row for row in outbox if "held" not in row],
                "held": [row for row in outbox if "held" in row],
                "cookie": shed_cookie,
            }
            shed.context.close()
            version.code(data)  # one that nobody uses
        file = data / "bench.sqlite3"
        url = f"sqlite:///{file}"
        version.python("-c", _REMIND, url, str(_now_ms()), _public_key())
        expected["server"] = json.loads(version.python("-c", _READ, url))
        expected["server"]["calendar"] = urlsplit(calendar["url"]).path
        with closing(sqlite3.connect(file)) as database:
            database.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        _gzip("server.sqlite3.gz", file.read_bytes())
        version.benchapp("export", str(scratch / "export.json"), "--data", str(data))
        _gzip("server-export.json.gz", (scratch / "export.json").read_bytes())
        _gzip("phone-copy.json.gz", copy)
        _zip(scratch / "shed" / "Default" / "IndexedDB" / DATABASE_FOLDER)

        backup = scratch / "sqlite.benchbackup"
        version.benchapp("backup", str(backup), "--data", str(data))
        beside = ["--data", str(scratch / "beside"), "--database", postgres.new_database()]
        version.benchapp("restore", str(backup), *beside)
        with version.serving(scratch / "beside", *beside[2:]) as port:
            code = version.code(scratch / "beside", *beside[2:])
            van = call(port, "POST", "/api/pair", {"code": code, "name": "Van phone"})
            stamp = f"{_now_ms():015d}.0000.van"
            fields = {"name": {"value": "van wick", "stamp": stamp}}
            message = {
                "protocol": 1,
                "era": None,
                "cursor": 0,
                "records": [{"kind": "wick", "id": "van-wick", "fields": fields}],
                "events": [
                    {
                        "id": stamp,
                        "pour": "pour-over",
                        "type": "noted",
                        "at": _now_ms(),
                        "text": "v",
                    }
                ],
            }
            assert not call(port, "POST", "/api/exchange", message, cookie=van["cookie"])["refused"]
        expected["backup"] = json.loads(version.python("-c", _READ, beside[3]))
        expected["backup"]["cookie"] = van["cookie"]
        made = INTO / "postgres.benchbackup"
        made.unlink(missing_ok=True)
        version.benchapp("backup", str(made), *beside)
        version.benchapp("export", str(scratch / "postgres.json"), *beside)
        _gzip("postgres-export.json.gz", (scratch / "postgres.json").read_bytes())
    (INTO / "expected.json").write_text(_lines(expected) + "\n", encoding="utf-8")


def _now_ms() -> int:
    return (time.time_ns() - _LAG_NS) // 1_000_000


def _public_key() -> str:
    """A point of the curve, as a browser would name it in a subscription (RFC 8291, 3.1)."""
    from cryptography.hazmat.primitives.asymmetric import ec
    from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat

    key = ec.derive_private_key(20250106, ec.SECP256R1()).public_key()
    point = key.public_bytes(Encoding.X962, PublicFormat.UncompressedPoint)
    return base64.urlsafe_b64encode(point).decode().rstrip("=")


def _lines(told: Json, depth: int = 3) -> str:
    """JSON with a line for each part down to `depth`: short, and readable in a comparison."""
    if depth == 0 or not isinstance(told, dict):
        return json.dumps(told, ensure_ascii=False)
    parts = (f"{json.dumps(name)}: {_lines(each, depth - 1)}" for name, each in told.items())
    return "{\n" + ",\n".join(parts) + "\n}"


def _gzip(name: str, content: bytes) -> None:
    (INTO / name).write_bytes(gzip.compress(content, 9, mtime=0))


def _zip(folder: Path) -> None:
    with zipfile.ZipFile(INTO / "phone-indexeddb.zip", "w", zipfile.ZIP_DEFLATED) as packed:
        for file in sorted(folder.iterdir()):
            if file.name != "LOCK":
                packed.write(file, f"{folder.name}/{file.name}")


if __name__ == "__main__":
    make(Path(sys.argv[1]))
