"""Today's version starts from each thing that version 1 kept, and reads it just the same.

`make_v1.py` tells what lies in `v1/` and how it was made. Things are compared by what they mean:
an event may be told in another shape by now, see `meaning`.
"""

import gzip
import json
import re
import sqlite3
import subprocess
import sys
import time
import zipfile
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import closing
from dataclasses import asdict
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, Playwright, expect
from sqlalchemy import Connection, select, text

from benchapp.records import copies, devices, pairing_codes, tables, workshops
from benchapp.records.database import Database, sqlite_url
from benchapp.records.exchange import Message, exchange
from benchapp.records.merge import plain_values
from benchapp.reminders import due
from tests.kept.make_v1 import HOST, INTO, ORIGIN, origin_at
from tests.served import static_files
from tests.waits import resting, until
from tests.web.caller import Caller

Json = Any
ROOT = Path(__file__).resolve().parents[2]

EXPECTED: Json = json.loads((INTO / "expected.json").read_text(encoding="utf-8"))


def packed(name: str) -> bytes:
    return gzip.decompress((INTO / name).read_bytes())


# ---- what is the same --------------------------------------------------------------------------


def meaning(event: Json) -> Json:
    """An event with the record that it is of told as `of`, whichever way it was told."""
    told = dict(event)
    if "pour" in told:
        told["of"] = ["pour", told.pop("pour")]
    return told


def contents(records: list[Json], events: list[Json]) -> Json:
    """Records with every version of their fields and events, in an order of their own."""
    return {
        "records": {f"{each['kind']} {each['id']}": each["fields"] for each in records},
        "events": {each["id"]: meaning(each) for each in events},
    }


def contents_of_copy(name: str) -> Json:
    copy = json.loads(packed(name))
    return contents(copy["records"], copy["events"])


def contents_of_database(connection: Connection, workshop_id: str) -> Json:
    """All that a phone hears that comes in for the first time."""
    records: list[Json] = []
    events: list[Json] = []
    cursor, more = 0, True
    while more:
        answer = exchange(connection, workshop_id, Message(None, cursor, [], []), now_ms())
        records += [json.loads(each) for each in answer.records]
        events += [json.loads(each) for each in answer.events]
        cursor, more = answer.cursor, answer.more
    return contents(records, events)


def check_values(found: Json, told: Json) -> None:
    """The values of records, and what pours remind of, are those that version 1 read."""
    kinds = Counter(name.partition(" ")[0] for name in found["records"])
    types = Counter(each["type"] for each in found["events"].values())
    assert [kinds, types] == [told["kinds"], told["types"]]
    values = {name: plain_values(fields) for name, fields in found["records"].items()}
    settings = due.settings_of(values["workshop workshop"], "UTC")
    reminders = {
        name.removeprefix("pour "): [
            asdict(each)
            for each in due.reminders_of(
                fields, events_of(found, name.removeprefix("pour ")), settings
            )
        ]
        for name, fields in values.items()
        if name.startswith("pour ")
    }
    assert reminders == told["reminders"]
    for fields in values.values():
        fields.pop("sheet", None)
    assert values == told["values"]


def events_of(found: Json, pour: str) -> list[Json]:
    return [each for _, each in sorted(found["events"].items()) if each["of"] == ["pour", pour]]


def now_ms() -> int:
    return time.time_ns() // 1_000_000


def benchapp(*arguments: str, data: Path, url: str) -> str:
    """Run a command of today's version."""
    command = [sys.executable, "-m", "benchapp", *arguments, "--data", str(data), "--database", url]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


# ---- the server's database ---------------------------------------------------------------------


@pytest.fixture
def data(tmp_path: Path) -> Path:
    """A data directory with the database of version 1."""
    folder = tmp_path / "data"
    folder.mkdir()
    (folder / "bench.sqlite3").write_bytes(packed("server.sqlite3.gz"))
    return folder


@pytest.fixture
def shop_id() -> str:
    return str(EXPECTED["server"]["workshop"]["id"])


def test_the_server_starts_from_the_database_and_answers_the_same(
    server: Callable[..., Any], data: Path, shop_id: str
) -> None:
    caller = Caller(server(data=data).url, {"bench_device": EXPECTED["phone"]["cookie"]})
    me = caller.open()
    assert me["workshop"] == EXPECTED["server"]["workshop"]
    asked = {"protocol": me["protocol"], "era": None, "cursor": 0, "records": [], "events": []}
    answer = caller.post("/api/exchange", asked).json
    assert not answer["more"]
    found = contents(answer["records"], answer["events"])
    assert found == contents_of_copy("server-export.json.gz")
    check_values(found, EXPECTED["server"])

    listed = caller.get("/api/devices").json
    seen = [{**named(each), "revoked": each["revoked_ms"] is not None} for each in listed]
    told = EXPECTED["server"]["devices"]
    # Who was let in no more is listed for 30 days.
    assert sorted(seen, key=lambda each: each["id"]) == [e for e in told if not e["revoked"]]
    calendar = caller.get(EXPECTED["server"]["calendar"])
    assert calendar.status == 200
    assert b"BEGIN:VCALENDAR" in calendar.body


def named(device: Json) -> Json:
    return {"id": device["id"], "name": device["name"]}


def test_reminders_are_as_they_were_and_none_is_sent_anew(
    server: Callable[..., Any], data: Path
) -> None:
    caller = Caller(server(data=data).url, {"bench_device": EXPECTED["phone"]["cookie"]})
    caller.open()
    with closing(sqlite3.connect(data / "bench.sqlite3")) as database:
        database.row_factory = sqlite3.Row
        rows = [dict(row) for row in database.execute("SELECT * FROM reminder")]
        told = [row["state"] for row in database.execute("SELECT state FROM delivery")]
        listening = database.execute("SELECT endpoint FROM subscription").fetchall()
    names = ("kind", "day", "on", "due_ms", "done", "waits_ms", "sent_on")
    found = [
        {"pour": row.get("pour", row.get("of_id")), **{n: row[n] for n in names}} for row in rows
    ]
    in_order = sorted(found, key=lambda each: (each["pour"], each["kind"]))
    assert in_order == EXPECTED["server"]["planned"]
    # The one that was sent is older than messages are kept.
    assert told.count("waiting") == 1
    assert [row[0] for row in listening] == ["https://push.example.net/desk"]


def test_who_was_let_in_no_more_stays_outside(data: Path) -> None:
    database = Database(sqlite_url(data / "bench.sqlite3"))
    with closing(database), database.read() as connection:
        assert devices.device_of(connection, EXPECTED["phone"]["cookie"]) is not None
        rows = connection.execute(select(tables.device.c.id, tables.device.c.revoked_ms)).all()
        tokens = connection.scalar(text("SELECT count(*) FROM pairing"))
    found = [{"id": row.id, "revoked": row.revoked_ms is not None} for row in sorted(rows)]
    told = EXPECTED["server"]["devices"]
    assert found == [{"id": each["id"], "revoked": each["revoked"]} for each in told]
    assert tokens == EXPECTED["server"]["counts"]["pairing"]


# ---- the backup --------------------------------------------------------------------------------


def test_the_backup_restores_into_either_database(database_url: str, tmp_path: Path) -> None:
    backup = INTO / "postgres.benchbackup"
    benchapp("restore", str(backup), data=tmp_path / "data", url=database_url)
    database = Database(database_url)
    with closing(database), database.read() as connection:
        found = contents_of_database(connection, EXPECTED["backup"]["workshop"]["id"])
        van = devices.device_of(connection, EXPECTED["backup"]["cookie"])
        all_ = {each.id for each in connection.execute(select(tables.device))}
    assert found == contents_of_copy("postgres-export.json.gz")
    check_values(found, EXPECTED["backup"])
    assert van is not None
    assert all_ == {each["id"] for each in EXPECTED["backup"]["devices"]}


# ---- the copies --------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["server-export.json.gz", "phone-copy.json.gz"])
def test_a_copy_comes_into_the_server(name: str, tmp_path: Path) -> None:
    whole = packed(name)
    (tmp_path / "copy.json").write_bytes(whole)
    database = Database(sqlite_url(tmp_path / "bench.sqlite3"))
    with closing(database):
        with (tmp_path / "copy.json").open("rb") as file:
            copy = copies.read_copy(file)
        with database.write() as connection:
            shop = workshops.first_workshop(connection, now_ms())
        brought = copies.bring_in(database, shop["id"], copy, now_ms())
        with database.read() as connection:
            found = contents_of_database(connection, shop["id"])
    there = contents_of_copy(name)
    # What the server had refused the phone, it refuses of the phone's copy.
    held = {f"{row['kind']} {row['id']}" for row in EXPECTED["phone"]["held"]} & {*there["records"]}
    assert {f"{each.kind} {each.id}" for each in brought.refused} == held
    for name_ in held:
        del there["records"][name_]
    assert found == there
    assert [brought.differing, brought.known] == [0, 0]


@pytest.mark.parametrize("name", ["server-export.json.gz", "phone-copy.json.gz"])
def test_a_copy_comes_into_a_phone(name: str, browser: Browser) -> None:
    context = browser.new_context()
    with static_files() as url:
        page = context.new_page()
        page.goto(url)
        brought = page.evaluate(
            """async (text) => {
              const { readCopy } = await import("/records/copies.js");
              const store = await import("/records/store.js");
              const copy = readCopy(text, Date.now());
              await store.bringIn(copy.records, copy.events);
              return { unreadable: copy.unreadable, ...(await store.everything()) };
            }""",
            packed(name).decode(),
        )
        context.close()
    assert brought["unreadable"] == 0
    assert contents(brought["records"], brought["events"]) == contents_of_copy(name)


# ---- the phone ---------------------------------------------------------------------------------

# The main results of every pour's fold, as `foldAll` in `story_v1.js` told them.
_FOLD_ALL = """async () => {
  const store = await import("/static/records/store.js");
  const { fold, stageOf } = await import("/static/bench/fold.js");
  const { readPour } = await import("/static/bench/pours.js");
  const { openSheet } = await import("/static/bench/sheet_versions.js");
  const { records, events } = await store.everything();
  const found = {};
  for (const { id, fields } of records.filter(({ kind }) => kind === "pour")) {
    const isOf = (event) => event.pour === id || (event.of?.[0] === "pour" && event.of[1] === id);
    const state = fold(openSheet(fields.sheet.value), events.filter(isOf));
    found[id] = {
      stage: stageOf(state),
      ready_at: state.ready_at,
      set_at: state.set_at,
      set_on: state.set_on,
      finished_at: state.finished_at,
      tops: state.tops,
      notes: state.notes,
      seen_to: state.seen_to,
      put_off: state.put_off,
      burns: state.burns.map(({ at, text = null, next_on = null }) => ({ at, text, next_on })),
      counted: state.counted.map((event) => event.id),
      jugs: state.jugs.map((jug) => ({
        vessels: jug.vessels,
        step: jug.step,
        wax_g: jug.wax_g,
        extras_g: jug.extras_g,
        fragrance_g: jug.fragrance_g,
        load: jug.load,
        left_g: jug.left_g,
        melted_at: jug.melted_at,
        added_at: jug.added_at,
        stirred_at: jug.stirred_at,
        dips: jug.all_dips.map(({ at, temp_c }) => [at, temp_c]),
        poured: jug.poured.map(({ at, read_g }) => [at, read_g]),
        weighed: jug.weighings.map((each) => [each.part, each.index, each.target_g, each.read_g]),
      })),
    };
  }
  return found;
}"""

_REMIND_ALL = """async () => {
  const store = await import("/static/records/store.js");
  const { allPours } = await import("/static/bench/pours.js");
  const { remindersOf, settingsOf } = await import("/static/bench/due.js");
  const settings = settingsOf(await store.get("workshop", "workshop"));
  const pours = await allPours();
  return Object.fromEntries(pours.map((pour) => [pour.id, remindersOf(pour, settings)]));
}"""

# What lies in the database, read without the app's own code.
_ROWS = """() => new Promise((resolve, reject) => {
  const opening = indexedDB.open("pour-bench");
  opening.onerror = () => reject(opening.error);
  opening.onsuccess = () => {
    const found = {};
    const names = ["records", "events", "outbox"];
    const reading = opening.result.transaction(names);
    for (const name of names) {
      reading.objectStore(name).getAll().onsuccess = ({ target }) => (found[name] = target.result);
    }
    reading.oncomplete = () => { opening.result.close(); resolve(found); };
  };
})"""


OVERFILLED = "pour-shared"
"""A pour of which two phones have filled the same vessel."""


class Bench:
    """The phone's profile of version 1, on a server of today's with that version's database."""

    def __init__(self, context: BrowserContext, data: Path) -> None:
        self.context = context
        self.data = data
        self.page: Page = context.new_page()

    def open(self, path: str = "") -> None:
        self.page.goto(f"{ORIGIN}/#/{path}")

    def rows(self) -> Json:
        return self.page.evaluate(_ROWS)

    def contents(self) -> Json:
        found = self.rows()
        return contents(found["records"], found["events"])

    def on_server(self) -> Json:
        database = Database(sqlite_url(self.data / "bench.sqlite3"))
        with closing(database), database.read() as connection:
            return contents_of_database(connection, EXPECTED["server"]["workshop"]["id"])

    def code(self) -> str:
        database = Database(sqlite_url(self.data / "bench.sqlite3"))
        with closing(database), database.write() as connection:
            shop = EXPECTED["server"]["workshop"]["id"]
            return pairing_codes.make_code(connection, shop, now_ms())[0]


@pytest.fixture
def bench(
    server: Callable[..., Any],
    data: Path,
    playwright: Playwright,
    chromium_path: str,
    tmp_path: Path,
) -> Iterator[Bench]:
    port = int(server(data=data).url.rstrip("/").rsplit(":", 1)[1])
    with zipfile.ZipFile(INTO / "phone-indexeddb.zip") as kept:
        kept.extractall(tmp_path / "profile" / "Default" / "IndexedDB")
    context = playwright.chromium.launch_persistent_context(
        str(tmp_path / "profile"),
        executable_path=chromium_path,
        args=origin_at(port),
        viewport={"width": 390, "height": 844},
        timezone_id="Europe/Lisbon",
    )
    yield Bench(context, data)
    context.close()


def held_again(rows: list[Json]) -> bool:
    """Whether nothing waits but what the server had refused, and refuses again."""
    told = [(row["kind"], row["id"]) for row in EXPECTED["phone"]["held"]]
    return [(row["kind"], row["id"]) for row in rows if "refusal" in row] == told and len(
        rows
    ) == len(told)


def until_sent(bench: Bench) -> None:
    until(
        lambda: held_again(bench.rows()["outbox"]),
        lambda: f"It still waits: {bench.rows()['outbox']}",
        resting(bench.page),
    )


def test_the_phone_opens_and_shows_every_pour_of_the_log(bench: Bench) -> None:
    page = bench.page
    problems: list[str] = []
    page.on("pageerror", lambda error: problems.append(str(error)))
    bench.open("log")
    expect(page.locator("#screen h1")).to_have_text("Log")
    listed = page.locator("#screen .card").evaluate_all("cards => cards.map((a) => a.hash)")
    assert listed == [f"#/entry/{id_}" for id_ in EXPECTED["phone"]["log"]]
    for id_ in EXPECTED["phone"]["log"]:
        if id_ != OVERFILLED:
            check_entry(bench, id_)
    assert problems == []


def test_the_phone_opens_a_pour_of_which_a_vessel_was_filled_on_two_phones(bench: Bench) -> None:
    check_entry(bench, OVERFILLED)


def check_entry(bench: Bench, id_: str) -> None:
    """The pour's entry in the log opens."""
    bench.open(f"entry/{id_}")
    name = EXPECTED["server"]["values"][f"pour {id_}"]["name"]
    expect(bench.page.locator("#screen h1")).to_have_text(re.compile(f"{name}|That did not work"))
    expect(bench.page.locator("#screen .screen.entry h1")).to_contain_text(name, timeout=1000)


def test_the_phone_reads_all_that_it_kept_as_it_did(bench: Bench) -> None:
    page = bench.page
    # It is not let in here: nothing is sent before all is looked at.
    bench.open("today")
    expect(page.locator("#screen h1")).to_have_text("Today")
    found = bench.contents()
    assert found == contents_of_copy("phone-copy.json.gz")
    folded = page.evaluate(_FOLD_ALL)
    assert folded.keys() == EXPECTED["phone"]["folds"].keys()
    for id_, state in EXPECTED["phone"]["folds"].items():
        assert folded[id_] == state, id_
    assert page.evaluate(_REMIND_ALL) == EXPECTED["phone"]["reminders"]
    waits = [(row["kind"], row["id"]) for row in bench.rows()["outbox"]]
    told = [*EXPECTED["phone"]["waiting"], *EXPECTED["phone"]["held"]]
    assert sorted(waits) == sorted((row["kind"], row["id"]) for row in told)


@pytest.mark.parametrize("way", ["as it was let in before", "with a new code"])
def test_what_waits_on_the_phone_reaches_the_server(bench: Bench, way: str) -> None:
    before = bench.on_server()
    waiting = EXPECTED["phone"]["waiting"]
    assert not any(row["id"] in before["events"] for row in waiting)
    if way == "as it was let in before":
        cookie = {"name": "bench_device", "value": EXPECTED["phone"]["cookie"], "url": ORIGIN}
        bench.context.add_cookies([cookie])  # type: ignore[list-item]
        bench.open("today")
    else:
        bench.open(f"pair/{bench.code()}")
        bench.page.locator('[data-slot="name"]').fill("Shed phone")
        bench.page.get_by_role("button", name="Join").click()
        expect(bench.page.locator("body")).not_to_have_attribute("data-screen", "pair")
    until_sent(bench)
    there = contents_of_copy("phone-copy.json.gz")
    assert bench.contents() == there
    for row in EXPECTED["phone"]["held"]:
        del there["records"][f"{row['kind']} {row['id']}"]
    assert bench.on_server() == there


def test_the_origin_is_the_one_of_the_profile() -> None:
    """The host of `ORIGIN` names the folder in which Chromium looks for what it kept."""
    with zipfile.ZipFile(INTO / "phone-indexeddb.zip") as kept:
        folders = {name.partition("/")[0] for name in kept.namelist()}
    assert folders == {f"http_{HOST}_0.indexeddb.leveldb"}
    assert re.fullmatch(r"http://[a-z.]+\.localhost", ORIGIN)
