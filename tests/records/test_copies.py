"""Copies and backups: whole, of one moment, checked first, and merged without loss."""

import contextlib
import gzip
import hashlib
import json
import os
import random
import signal
import stat
import subprocess
import sys
import threading
from collections.abc import Callable, Iterator
from io import BytesIO, StringIO
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import delete, func, insert, select, text, update

from benchapp.cli import main
from benchapp.records import backups, copies, devices, pairing_codes, tables, workshops
from benchapp.records.backups import restoring
from benchapp.records.database import Database, Unavailable
from benchapp.records.exchange import Message, exchange
from benchapp.records.merge import merge_records, versions
from tests.benchmarks.exchange_records import records as invented
from tests.schemas import Schemas

Json = Any

T0 = 1_764_000_000_000
MADE = (tables.workshop, tables.device, tables.record, tables.event)
REMINDING = (tables.planned, tables.reminder, tables.subscription, tables.calendar)
#: What a restore makes anew.
ANEW = {"workshop": {"era"}, "planned": {"seq", "settings"}}


def stamp(number: int, device: str = "a") -> str:
    return f"{T0 + number:015d}.0000.{device}"


def wax(id_: str, name: str, number: int = 0, device: str = "a") -> Json:
    at = stamp(number, device)
    values = {"name": name, "highest_load": 0.1}
    return {
        "kind": "wax",
        "id": id_,
        "fields": {field: {"value": value, "stamp": at} for field, value in values.items()},
    }


def note(number: int, text: str = "set well", device: str = "a") -> Json:
    return {
        "id": stamp(number, device),
        "of": ["pour", "p1"],
        "type": "noted",
        "at": T0 + number,
        "text": text,
    }


def send(database: Database, records: list[Json], events: list[Json], shop: str = "") -> str:
    """Let a phone send something; answer the workshop's id."""
    with database.write() as connection:
        shop = shop or workshops.first_workshop(connection, T0)["id"]
        for start in range(0, max(len(records), len(events)), 400):
            part = slice(start, start + 400)
            message = Message(None, 0, records[part], events[part])
            answer = exchange(connection, shop, message, T0 + 10**9)
            assert not answer.refused
    return shop


def pair(database: Database, shop: str, name: str = "Shed") -> str:
    with database.write() as connection:
        code, _ = pairing_codes.make_code(connection, shop, T0)
        paired = pairing_codes.pair(
            connection, code, name=name, agent="x", address="::1", now_ms=T0
        )
    assert isinstance(paired, pairing_codes.Paired)
    return f"{paired.device.id}.{paired.secret}"


def may_come_in(database: Database, cookie: str) -> bool:
    with database.read() as connection:
        return devices.device_of(connection, cookie) is not None


def everything(database: Database, *, era: bool = False) -> Json:
    """All rows of all tables that a backup holds, with ``era`` also what a restore makes anew."""
    found = {}
    with database.read(snapshot=True) as connection:
        for table in (*MADE, *REMINDING):
            rows = [dict(row) for row in connection.execute(select(table)).mappings()]
            anew = set() if era else ANEW.get(table.name, set())
            rows = [{name: row[name] for name in row if name not in anew} for row in rows]
            found[table.name] = sorted(rows, key=lambda row: json.dumps(row, sort_keys=True))
    return found


def backed_up(database: Database) -> bytes:
    out = BytesIO()
    with database.read(snapshot=True) as connection:
        backups.write_backup(connection, T0, out)
    return out.getvalue()


def restored(database: Database, backup: bytes, **how: Any) -> None:
    with database.write() as connection:
        backups.restore(connection, BytesIO(backup), **how)


@pytest.fixture
def opened(tmp_path: Path, schemas: Schemas) -> Iterator[Callable[..., Database]]:
    """Open databases: by URL, or a new one in SQLite."""
    made: list[Database] = []

    def open_(url: str = "") -> Database:
        if not url:
            url = f"sqlite:///{tmp_path / f'other-{len(made)}.sqlite3'}"
            schemas.put_into(url)
        made.append(Database(url))
        return made[-1]

    yield open_
    for each in made:
        each.close()


@pytest.fixture
def database(database_url: str, opened: Callable[..., Database]) -> Database:
    return opened(database_url)


#: Days on which something was due.
DAYS = ("2025-11-24", "2025-11-25", "2025-11-26")


def reminder(shop: str, pour: str, kind: str, on: str = DAYS[0], **given: Any) -> Json:
    return {
        **{"workshop_id": shop, "pour": pour, "kind": kind, "name": "Dune, 12 × tin"},
        **{"day": on, "on": on, "due_ms": T0, "done": False, "waits_ms": None, "sent_on": None},
        **given,
    }


def planned(shop: str, zone: str = "Europe/Lisbon", moves: int = 0) -> Json:
    return {
        **{"workshop_id": shop, "era": "e", "seq": 1, "zone": zone, "zone_moves": moves},
        "settings": json.dumps({"zone": zone}),
    }


def listens(shop: str, device: str, endpoint: str = "one") -> Json:
    return {
        **{"device_id": device, "workshop_id": shop, "made_ms": T0, "sent_ms": None},
        **{"endpoint": f"https://push.example.net/{endpoint}", "app_key": "k" * 87},
        **{"p256dh": "B" * 87, "auth": "A" * 22, "origin": "https://bench.example.net"},
        **{"trouble": "It did not answer.", "trouble_ms": T0},
    }


def calendar(shop: str, digit: str, **given: Any) -> Json:
    made = {"token_sha256": digit * 64, "workshop_id": shop, "made_ms": T0}
    return {**made, "read_ms": None, "revoked_ms": None, **given}


def reminds(database: Database, *rows: list[Json]) -> None:
    """Put in rows of reminders and what goes with them, each table's together."""
    with database.write() as connection:
        for some in rows:
            names = set(some[0])
            table = next(
                each for each in (*REMINDING, tables.delivery) if set(each.columns.keys()) == names
            )
            connection.execute(insert(table), some)


def run(url: str, *arguments: str, data: Path | None = None) -> Any:
    where = ["--database", url, *(["--data", str(data)] if data else [])]
    return CliRunner().invoke(main, [*arguments, *where])


# ---- backup and restore ------------------------------------------------------------------------


def fill(database: Database, records: int = 700) -> tuple[str, str]:
    """Two workshops with devices, one of them revoked; answer the cookies, in and out."""
    kept = [
        {
            **each,
            "fields": {
                name: {
                    "value": value,
                    "stamp": stamp(number + 5),
                    "over": [stamp(number)],
                    "past": [{"value": "ß\u2028 before", "stamp": stamp(number)}],
                }
                if name == "notes"
                else {"value": value, "stamp": stamp(number)}
                for name, value in each["fields"].items()
            },
        }
        for number, each in enumerate(invented(records))
    ]
    shop = send(database, kept, [note(number) for number in range(records - 50)])
    inside, outside = pair(database, shop), pair(database, shop, "Lost")
    with database.write() as connection:
        devices.revoke(connection, shop, outside.partition(".")[0], T0 + 5)
        second = workshops.make_workshop(connection, "Second", T0 + 1)["id"]
    send(database, [wax("w", "Dune")], [note(1)], second)
    reminds(
        database,
        [
            reminder(shop, f"p{number}", "cured", waits_ms=None if number % 2 else T0)
            for number in range(records // 2)
        ]
        + [reminder(second, "p1", "trim", done=True, sent_on=DAYS[0], name="ß\u2028 × tin")],
        [planned(shop), planned(second, zone="Asia/Kolkata")],
        [listens(shop, inside.partition(".")[0])],
        [calendar(shop, "0"), calendar(second, "1", revoked_ms=T0)],
    )
    return inside, outside


def test_from_one_database_to_the_other_and_back(
    opened: Callable[..., Database], postgres: Any
) -> None:
    first, between, last = opened(), opened(postgres.new_database()), opened()
    inside, outside = fill(first)
    restored(between, backed_up(first))
    restored(last, backed_up(between))
    assert everything(first) == everything(between) == everything(last)
    eras = [
        {row["era"] for row in everything(each, era=True)["workshop"]} for each in (first, last)
    ]
    assert not eras[0] & eras[1]
    assert may_come_in(last, inside)
    assert not may_come_in(last, outside)


def test_a_server_that_has_only_started_counts_as_empty(database: Database, opened: Any) -> None:
    source = opened()
    fill(source)
    with database.write() as connection:
        shop = workshops.first_workshop(connection, T0 + 9)["id"]
        pairing_codes.make_code(connection, shop, T0)
    reminds(database, [planned(shop)])
    backup = backed_up(source)
    with database.read(snapshot=True) as connection:
        assert backups.compare(connection, BytesIO(backup)).is_empty
    restored(database, backup)
    assert everything(database) == everything(source)


def test_where_there_is_something_nothing_goes_in_unless_it_is_said(
    database: Database, opened: Any
) -> None:
    source = opened()
    fill(source)
    send(database, [wax("mine", "Bog")], [])
    before = everything(database, era=True)
    with pytest.raises(backups.NotEmpty):
        restored(database, backed_up(source))
    assert everything(database, era=True) == before


def test_the_backup_is_of_one_moment_while_a_phone_writes(database: Database) -> None:
    shop = send(database, [wax("w0", "Dune 0")], [note(0)])
    over = threading.Event()
    written = threading.Semaphore(0)
    failed: list[BaseException] = []

    def write() -> None:
        try:
            number = 0
            while not over.is_set():
                number += 1
                # The record and the event of one message are there together or not at all.
                send(database, [wax(f"w{number}", "Dune", number)], [note(number)], shop)
                written.release()
        except BaseException as error:
            failed.append(error)
            written.release(100)

    class Waiting(BytesIO):
        """A file that is written to only once the phone has gone on."""

        def write(self, some: Any) -> int:
            if self.tell() == 0:
                # What was written before this moment does not count.
                while written.acquire(blocking=False):
                    pass
                for _ in range(3):
                    assert written.acquire(timeout=60)
            return super().write(some)

    writer = threading.Thread(target=write)
    writer.start()
    taken = []
    try:
        for _ in range(6):
            out = Waiting()
            with database.read(snapshot=True) as connection:
                backups.write_backup(connection, T0, out)
            taken.append(out.getvalue())
    finally:
        over.set()
        writer.join()
    assert not failed
    sizes = []
    for each in taken:
        lines = [json.loads(line) for line in gzip.decompress(each).splitlines()]
        rows = [line for line in lines if isinstance(line, list)]
        (seq,) = (row["seq"] for name, row in rows if name == "workshop")
        seqs = sorted(row["seq"] for _, row in rows if "fields" in row or "body" in row)
        # No number is missing and none is beyond the workshop's.
        assert seqs == list(range(1, seq + 1))
        assert sum("fields" in row for _, row in rows) == sum("body" in row for _, row in rows)
        backups.verify(BytesIO(each))
        sizes.append(seq)
    assert sizes == sorted(set(sizes))


def test_a_backup_cut_short_anywhere_is_refused(opened: Any) -> None:
    source, target = opened(), opened()
    send(source, [wax("w", "Dune")], [note(1)])
    whole = backed_up(source)
    for length in range(len(whole)):
        with pytest.raises(backups.BadBackup):
            backups.verify(BytesIO(whole[:length]))
    plain = gzip.decompress(whole)
    for length in range(0, len(plain), 7):
        with pytest.raises(backups.BadBackup):
            backups.verify(BytesIO(gzip.compress(plain[:length])))
    with pytest.raises(backups.BadBackup):
        restored(target, whole[:-9])
    assert not any(everything(target).values())


def test_a_backup_with_a_byte_changed_is_refused_or_says_the_same(opened: Any) -> None:
    """Some bits of a gzip file mean nothing: its time, and what fills up the last byte."""
    source = opened()
    send(source, [wax("w", "Dune")], [note(1)])
    whole = backed_up(source)
    plain, refused = gzip.decompress(whole), 0
    for place in range(len(whole)):
        for bits in (0xFF, 0x01, 0x80):
            broken = bytearray(whole)
            broken[place] ^= bits
            try:
                backups.verify(BytesIO(broken))
            except backups.BadBackup:
                refused += 1
            else:
                assert gzip.decompress(broken) == plain
    assert refused > 0.97 * 3 * len(whole)
    # The same inside the wrapping, as whoever packs it anew would leave it.
    for place in range(len(plain)):
        broken = bytearray(plain)
        broken[place] ^= 0x01
        with pytest.raises(backups.BadBackup):
            backups.verify(BytesIO(gzip.compress(bytes(broken), 1)))


def forged(source: bytes, change: Callable[[list[Json]], None]) -> bytes:
    """A backup with other lines, and a right sum under them."""
    lines = [json.loads(line) for line in gzip.decompress(source).splitlines()][:-1]
    change(lines)
    text = "".join(json.dumps(line) + "\n" for line in lines).encode()
    return gzip.compress(text + json.dumps({"sha256": hashlib.sha256(text).hexdigest()}).encode())


FORGERIES: dict[str, Callable[[list[Json]], None]] = {
    "newer": lambda lines: lines[0].update(version=2),
    "schema": lambda lines: lines[0].update(schema="9999"),
    "no number": lambda lines: lines[0].update(version=True),
    "another": lambda lines: lines[0].update(format="else"),
    "counts": lambda lines: lines[0]["counts"].update(record=2),
    "no counts": lambda lines: lines[0].update(counts=None),
    "yes for a count": lambda lines: lines[0]["counts"].update(record=True),
    "text for a count": lambda lines: lines[0]["counts"].update(record="1"),
    "order": lambda lines: lines.append(lines.pop(1)),
    "table": lambda lines: lines.insert(2, ["attempt", {"at_ms": 1, "address": "x"}]),
    "column": lambda lines: lines[-1][1].update(more=1),
    "seq": lambda lines: lines[-1][1].update(seq=99),
    "bool": lambda lines: lines[-1][1].update(seq=True),
    "null": lambda lines: lines[-1][1].update(of_id=None),
    "nul": lambda lines: lines[1][1].update(name="a\0b"),
    "half a character": lambda lines: lines[1][1].update(name="\ud800"),
    "another's": lambda lines: lines[-1][1].update(workshop_id="other"),
    "body": lambda lines: lines[-1][1].update(body="[]"),
    "not its id": lambda lines: lines[-1][1].update(id=stamp(7)),
    "fields": lambda lines: lines[-2][1].update(fields='{"name": {"value": NaN, "stamp": "x"}}'),
    "deep": lambda lines: lines[-2][1].update(fields="[" * 100_000),
    "an older schema": lambda lines: lines[0].update(schema="0001"),
    "no schema": lambda lines: lines[0].update(schema="0000"),
    "twice": lambda lines: (
        lines.insert(2, lines[2]),
        lines[0]["counts"].update(record=2),
    ),
}


@pytest.mark.parametrize("name", FORGERIES)
def test_a_forged_backup_leaves_nothing_behind(name: str, database: Database, opened: Any) -> None:
    source = opened()
    send(source, [wax("w", "Dune")], [note(1)])
    send(database, [wax("w", "Bog", 3)], [])
    before = everything(database, era=True)
    bad = forged(backed_up(source), FORGERIES[name])
    for how in ({"merge": True}, {"replace": lambda _: None}):
        with pytest.raises(backups.BadBackup) as refused:
            restored(database, bad, **how)
        assert str(refused.value).endswith(".")
        assert everything(database, era=True) == before


def test_a_restore_that_is_killed_leaves_nothing_half_done(
    database_url: str, opened: Any, tmp_path: Path
) -> None:
    source, target = opened(), opened(database_url)
    fill(source)
    shop = send(target, [wax("mine", "Bog")], [note(3)])
    before = everything(target, era=True)
    file = tmp_path / "a.benchbackup"
    file.write_bytes(backed_up(source))
    # It says where it is at each batch, and is killed there.
    script = f"""if True:
        import sys
        from benchapp.records import backups
        from benchapp.records.backups import restoring
        from benchapp.records.database import Database
        put = restoring.insert_rows
        def slowly(*given):
            put(*given)
            print("put", flush=True)
            sys.stdin.readline()
        restoring.insert_rows = slowly
        database = Database({database_url!r})
        with database.write() as connection, open({str(file)!r}, "rb") as held:
            backups.restore(connection, held, replace=lambda _: None)
        """
    for batches in (1, 3, 5, 7):
        process = subprocess.Popen(
            [sys.executable, "-c", script], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
        )
        assert process.stdin
        assert process.stdout
        for _ in range(batches):
            assert process.stdout.readline() == "put\n"
            process.stdin.write("\n")
            process.stdin.flush()
        os.kill(process.pid, signal.SIGKILL)
        process.wait()
        process.stdout.close()
        with contextlib.suppress(BrokenPipeError):
            process.stdin.close()
        assert everything(target, era=True) == before
    send(target, [wax("next", "Fen", 4)], [], shop)


# ---- merging a backup --------------------------------------------------------------------------


NAMES = st.sampled_from(["Dune", "Bog", "Fen"])
CHANGES = st.lists(
    st.one_of(
        st.tuples(st.just("record"), st.sampled_from("uvw"), NAMES),
        st.tuples(st.just("event"), st.just(""), NAMES),
        st.tuples(st.just("revoke"), st.just(""), st.just("")),
    ),
    max_size=6,
)


@settings(max_examples=15, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck))
@given(CHANGES, CHANGES, CHANGES)
def test_an_old_backup_merged_is_the_merge_of_both(
    tmp_path_factory: pytest.TempPathFactory,
    schemas: Schemas,
    common: Any,
    mine: Any,
    theirs: Any,
) -> None:
    folder = tmp_path_factory.mktemp("merge")
    urls = [f"sqlite:///{folder / name}.sqlite3" for name in "ab"]
    for url in urls:
        schemas.put_into(url)
    one, other = (Database(url) for url in urls)
    try:
        with one.write() as connection:
            shop = workshops.first_workshop(connection, T0)["id"]
        cookie = pair(one, shop)
        clock = iter(range(1000))

        def play(database: Database, changes: Any, device: str) -> None:
            for what, id_, name in changes:
                number = next(clock)
                if what == "record":
                    send(database, [wax(id_, name, number, device)], [], shop)
                elif what == "event":
                    send(database, [], [note(number, name, device)], shop)
                else:
                    with database.write() as connection:
                        devices.revoke(connection, shop, cookie.partition(".")[0], T0)

        play(one, common, "a")
        restored(other, backed_up(one))
        play(one, mine, "a")
        play(other, theirs, "b")
        kept = [everything(each) for each in (one, other)]
        backup, before = backed_up(other), everything(one, era=True)["workshop"]
        with one.read(snapshot=True) as connection:
            compared = backups.compare(connection, BytesIO(backup))
        lacking = [
            {(row["id"]) for row in kept[0]["event"]} - {(row["id"]) for row in kept[1]["event"]},
            {row["id"] for row in kept[0]["record"] if adds(row, kept[1]["record"])},
        ]
        assert [compared.events, compared.records] == [len(each) for each in lacking]

        restored(one, backup, merge=True)
        after = everything(one)
        assert fields_of(after) == merged(*map(fields_of, kept))
        ids = [{row["id"]: row["body"] for row in each["event"]} for each in (*kept, after)]
        assert ids[0] | ids[1] == ids[2]
        (workshop,) = everything(one, era=True)["workshop"]
        assert workshop["era"] != before[0]["era"]
        seqs = [row["seq"] for row in after["record"] + after["event"]]
        assert len(set(seqs)) == len(seqs)
        assert max(seqs, default=0) <= workshop["seq"]
        revoked = any(what == "revoke" for what, *_ in [*common, *mine, *theirs])
        assert may_come_in(one, cookie) == (not revoked)
        # Once more adds nothing.
        restored(one, backup, merge=True)
        assert everything(one) == after
    finally:
        one.close()
        other.close()


def fields_of(kept: Json) -> dict[str, Json]:
    return {row["id"]: json.loads(row["fields"]) for row in kept["record"]}


def merged(one: dict[str, Json], other: dict[str, Json]) -> dict[str, Json]:
    def record(fields: Json) -> Json:
        return {"kind": "wax", "id": "x", "fields": fields}

    return {
        id_: merge_records(record(one.get(id_, {})), record(other.get(id_, {})))["fields"]
        for id_ in one.keys() | other.keys()
    }


def adds(row: Json, others: list[Json]) -> bool:
    """Whether a row has a version that its namesake has not."""
    there = next((each for each in others if each["id"] == row["id"]), None)
    known = {} if there is None else json.loads(there["fields"])
    return any(
        {version["stamp"] for version in versions(field)}
        - {version["stamp"] for version in versions(known[name])}
        if name in known
        else True
        for name, field in json.loads(row["fields"]).items()
    )


@pytest.mark.parametrize("how", ["merge", "replace"])
def test_a_revoked_device_stays_outside(how: str, database: Database, opened: Any) -> None:
    shop = send(database, [wax("w", "Dune")], [])
    old = backed_up(database)
    cookie, other = pair(database, shop), pair(database, shop, "Kept")
    while_in = backed_up(database)
    with database.write() as connection:
        devices.revoke(connection, shop, cookie.partition(".")[0], T0)
    given_: dict[str, Any] = {"merge": True} if how == "merge" else {"replace": lambda _: None}
    for backup in (while_in, old, while_in):
        restored(database, backup, **given_)
        assert not may_come_in(database, cookie)
    assert may_come_in(database, other)
    # And one that is revoked in the backup alone.
    revoked = backed_up(database)
    elsewhere = opened()
    restored(elsewhere, while_in)
    assert may_come_in(elsewhere, cookie)
    restored(elsewhere, revoked, **given_)
    assert not may_come_in(elsewhere, cookie)


@pytest.mark.parametrize("how", ["merge", "replace"])
def test_phones_send_and_read_everything_again_after_a_restore(
    how: str, database: Database
) -> None:
    shop = send(database, [wax("w", "Dune")], [])
    old = backed_up(database)
    send(database, [wax("v", "Fen", 2)], [], shop)
    with database.read() as connection:
        heard = exchange(connection, shop, Message(None, 0, [], []), T0)
    restored(database, old, **({"merge": True} if how == "merge" else {"replace": lambda _: None}))
    with database.write() as connection:
        sent = Message(heard.era, heard.cursor, [wax("u", "Moor", 3)], [])
        answer = exchange(connection, shop, sent, T0 + 10)
        assert answer.restart
        assert answer.era != heard.era
        # As the phone then does: all it keeps, from 0.
        mine = [wax("v", "Fen", 2), wax("u", "Moor", 3)]
        answer = exchange(connection, shop, Message(answer.era, 0, mine, []), T0 + 10)
        assert not answer.restart
        assert not answer.refused
    assert set(fields_of(everything(database))) == {"u", "v", "w"}


# ---- what reminders keep -----------------------------------------------------------------------


def as_of_0001(backup: bytes) -> bytes:
    """A backup as it was made before there were reminders."""

    def older(lines: list[Json]) -> None:
        names = {table.name for table in MADE}
        counts = {name: lines[0]["counts"][name] for name in names}
        lines[0].update(schema="0001", counts=counts)
        lines[1:] = [line for line in lines[1:] if line[0] in names]

    return forged(as_of_0002(backup), older)


def as_of_0002(backup: bytes) -> bytes:
    """A backup as it was made when only pours had events."""

    def older(lines: list[Json]) -> None:
        lines[0]["schema"] = "0002"
        del lines[0]["counts"]["attachment"], lines[0]["left_out"]
        for name, row in lines[1:]:
            if name == "event":
                assert row.pop("of_kind") == "pour"
                row["pour"] = row.pop("of_id")
                row["body"] = row["body"].replace(f'"of":["pour","{row["pour"]}"]', '"pour":"p1"')

    return forged(backup, older)


def how_to(how: str) -> dict[str, Any]:
    return {"merge": True} if how == "merge" else {"replace": lambda _: None}


def by_pour(database: Database) -> dict[str, Json]:
    return {row["pour"]: row for row in everything(database)["reminder"]}


def test_a_backup_from_before_there_were_reminders_still_goes_in(
    database: Database, opened: Any
) -> None:
    source = opened()
    fill(source, 60)
    older = as_of_0001(backed_up(source))
    assert backups.verify(BytesIO(older))["reminder"] == 0
    restored(database, older)
    kept, made = everything(database), everything(source)
    for table in MADE:
        assert kept[table.name] == made[table.name]
    assert not any(kept[table.name] for table in REMINDING)
    # The zone that phones told is not told again: it outlasts such a backup.
    (shop, *_) = [row["workshop_id"] for row in made["planned"]]
    reminds(database, [planned(shop, moves=2)])
    restored(database, older, replace=lambda _: None)
    (row,) = everything(database, era=True)["planned"]
    assert (row["zone"], row["zone_moves"], row["settings"]) == ("Europe/Lisbon", 2, None)


@pytest.mark.parametrize("how", ["merge", "replace"])
def test_a_backup_from_when_only_pours_had_events_still_goes_in(
    how: str, database: Database, opened: Any
) -> None:
    source = opened()
    fill(source, 60)
    older = as_of_0002(backed_up(source))
    assert b'"pour":"p1"' in gzip.decompress(older).replace(b"\\", b"")
    restored(database, older)
    assert everything(database) == everything(source)
    # It is the same event as one that is here already.
    before = everything(database)
    restored(database, older, **how_to(how))
    assert everything(database) == before


@pytest.mark.parametrize("part", ["pour", "body"])
def test_an_older_event_that_says_no_pour_is_refused(opened: Any, part: str) -> None:
    source = opened()
    send(source, [], [note(1)])

    def change(lines: list[Json]) -> None:
        (row,) = (line[1] for line in lines[1:] if line[0] == "event")
        del row[part]

    with pytest.raises(backups.BadBackup):
        backups.verify(BytesIO(forged(as_of_0002(backed_up(source)), change)))


@pytest.mark.parametrize("how", ["merge", "replace"])
def test_after_a_restore_nothing_is_sent_twice_and_what_was_closed_stays_so(
    how: str, database: Database
) -> None:
    shop = send(database, [wax("w", "Dune")], [])
    kept, lost = (pair(database, shop, name).partition(".")[0] for name in ("Kept", "Lost"))
    reminds(
        database,
        [reminder(shop, pour, "cured", waits_ms=T0) for pour in ("waits", "told")]
        + [reminder(shop, "moved", "cured", DAYS[2], waits_ms=T0)],
        [planned(shop, "Europe/Lisbon")],
        [listens(shop, kept), listens(shop, lost, "two")],
        [calendar(shop, "0"), calendar(shop, "1"), calendar(shop, "2")],
    )
    backup = backed_up(database)
    message = {
        **{"id": "m", "device_id": lost, "about": "told", "topic": "t", "urgency": "normal"},
        **{"payload": "{}", "expires_ms": T0, "next_ms": T0, "claim": None, "tries": 0},
        **{"state": "waiting", "status": None, "over_ms": None},
    }
    reminds(
        database,
        [reminder(shop, "since", "cured", waits_ms=None, sent_on=DAYS[0])],
        [message],
    )
    with database.write() as connection:
        devices.revoke(connection, shop, lost, T0)
        row, address, zone = tables.reminder, tables.calendar, tables.planned
        told: Json = {"told": {"waits_ms": None, "sent_on": DAYS[0]}, "moved": {"sent_on": DAYS[1]}}
        for pour, values in told.items():
            connection.execute(update(row).where(row.c.pour == pour).values(**values))
        closed = address.c.token_sha256
        connection.execute(update(address).where(closed == "1" * 64).values(revoked_ms=T0))
        # One that was closed and forgotten, as far as this server goes, is as in the backup.
        connection.execute(delete(address).where(closed == "2" * 64))
        connection.execute(update(zone).values(zone="Asia/Tokyo", zone_moves=1))
        connection.execute(update(tables.tally).values(count=7))

    for _ in range(2):
        restored(database, backup, **how_to(how))
        found = by_pour(database)
        waits = {pour for pour, each in found.items() if each["waits_ms"] is not None}
        assert waits == {"waits", "moved"}
        assert {pour: each["sent_on"] for pour, each in found.items()} == {
            **{"waits": None, "told": DAYS[0], "moved": DAYS[1], "since": DAYS[0]},
        }
        after = everything(database, era=True)
        assert [each["device_id"] for each in after["subscription"]] == [kept]
        assert {each["token_sha256"][0]: each["revoked_ms"] for each in after["calendar"]} == {
            **{"0": None, "1": T0, "2": None},
        }
        (at,) = after["planned"]
        assert (at["zone"], at["zone_moves"], at["settings"]) == ("Asia/Tokyo", 1, None)
        with database.read() as connection:
            assert set(connection.scalars(select(tables.tally.c.count))) == {7}
            messages = connection.scalar(select(func.count()).select_from(tables.delivery))
        assert messages == (how == "merge")
    # What it has come to is a backup like any other.
    backups.verify(BytesIO(backed_up(database)))


def test_a_backup_merged_into_a_server_that_began_anew(database: Database, opened: Any) -> None:
    """Its phones have sent everything there; what the old server had told is in the backup."""
    old = opened()
    shop = send(old, [wax("w", "Dune")], [])
    device = pair(old, shop).partition(".")[0]
    beginning = backed_up(old)
    other = pair(old, shop, "Other").partition(".")[0]
    with old.write() as connection:
        second = workshops.make_workshop(connection, "Second", T0 + 1)["id"]
    reminds(
        old,
        [
            reminder(shop, "told", "cured", sent_on=DAYS[1]),
            reminder(shop, "later", "cured", sent_on=DAYS[0]),
            reminder(shop, "unknown", "cured", waits_ms=T0),
            reminder(second, "second", "cured", waits_ms=T0),
        ],
        [planned(shop, "Europe/Lisbon")],
        [listens(shop, device, "one"), listens(shop, other, "two")],
        [calendar(shop, "0"), calendar(shop, "1", revoked_ms=T0)],
    )
    restored(database, beginning)
    reminds(
        database,
        [
            reminder(shop, "told", "cured", DAYS[1], waits_ms=T0),
            reminder(shop, "later", "cured", DAYS[2], waits_ms=T0),
            reminder(shop, "mine", "cured", waits_ms=T0),
        ],
        [planned(shop, "UTC")],
        # The browser of the other device, paired anew.
        [listens(shop, device, "two")],
        [calendar(shop, "1")],
    )
    restored(database, backed_up(old), merge=True)
    waits = {pour: row["waits_ms"] for pour, row in by_pour(database).items()}
    # What may be wrong beside what is here waits until it is reckoned.
    assert waits == {"told": None, "later": T0, "mine": T0, "unknown": None, "second": T0}
    after = everything(database, era=True)
    assert [row["endpoint"][-3:] for row in after["subscription"]] == ["two"]
    assert [row["device_id"] for row in after["subscription"]] == [device]
    assert {row["token_sha256"][0]: row["revoked_ms"] for row in after["calendar"]} == {
        **{"0": None, "1": T0},
    }
    (at,) = after["planned"]
    # A calendar that was read in between must see that the zone is another one.
    assert (at["zone"], at["zone_moves"], at["settings"]) == ("Europe/Lisbon", 1, None)
    once = everything(database)
    restored(database, backed_up(old), merge=True)
    assert everything(database) == once


TOLD = st.builds(
    lambda on, waits_ms, sent_on: {
        "on": on,
        "waits_ms": waits_ms if on > (sent_on or "") else None,
        "sent_on": sent_on,
    },
    st.sampled_from(DAYS),
    st.sampled_from([None, T0]),
    st.sampled_from([None, *DAYS]),
)
SIDE = st.dictionaries(st.sampled_from(["p1", "p2", "p3"]), TOLD, max_size=3)


@pytest.fixture(scope="module")
def two(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Database, Database, str]]:
    """Two servers of one workshop."""
    folder = tmp_path_factory.mktemp("two")
    one, other = (Database(f"sqlite:///{folder / name}.sqlite3") for name in "ab")
    shop = send(one, [wax("w", "Dune")], [])
    restored(other, backed_up(one))
    yield one, other, shop
    one.close()
    other.close()


@settings(max_examples=15, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck))
@given(SIDE, SIDE, st.sampled_from(["merge", "replace"]))
def test_whatever_either_side_has_told_is_told_no_more(
    two: tuple[Database, Database, str], here: Json, there: Json, how: str
) -> None:
    one, other, shop = two
    for database, rows in ((one, here), (other, there)):
        with database.write() as connection:
            connection.execute(delete(tables.reminder))
        if rows:
            made = [reminder(shop, pour, "cured", **row) for pour, row in rows.items()]
            reminds(database, made)
    restored(one, backed_up(other), **how_to(how))
    after = by_pour(one)
    told = {
        pour: max(side.get(pour, {}).get("sent_on") or "" for side in (here, there))
        for pour in here.keys() | there.keys()
    }
    for pour, row in after.items():
        assert (row["sent_on"] or "") == told[pour]
        assert row["waits_ms"] is None or row["on"] > told[pour]
    # Nothing is lost: what goes is what the backup lacks and nobody was told of.
    gone = told.keys() - after.keys()
    assert all(how == "replace" and pour not in there and not told[pour] for pour in gone)
    waiting = {pour for pour, row in there.items() if row["waits_ms"] and row["on"] > told[pour]}
    if how == "replace":
        assert waiting == {pour for pour, row in after.items() if row["waits_ms"]}


#: Values that no server writes, by table and column.
WRONG: list[tuple[str, str, list[Json]]] = [
    ("planned", "workshop_id", ["other", None, 1]),
    ("planned", "seq", [-1, 99, 1.0, True, None]),
    ("planned", "zone", ["", "a b", "Z" * 65, None]),
    ("planned", "zone_moves", [-1, 2**31, None]),
    ("planned", "settings", [{}, 1, "\ud800"]),
    ("reminder", "workshop_id", ["other", None]),
    ("reminder", "pour", ["", "a b", "p" * 65, None]),
    ("reminder", "kind", ["", "else", None]),
    ("reminder", "name", ["a\0b", "\ud800", None, "n" * 500_001]),
    ("reminder", "day", ["", "2025-02-30", "20251125", "today", 1, None]),
    ("reminder", "on", ["2025-11-2", None]),
    ("reminder", "sent_on", ["", "never", 0]),
    ("reminder", "due_ms", [-1, 2**62, 1.5, True, None]),
    ("reminder", "waits_ms", [T0 + 1, "now", False]),
    ("reminder", "done", [0, 1, "no", None]),
    ("subscription", "device_id", ["other", None]),
    ("subscription", "endpoint", ["http://push.example.net/", "https://a b", None]),
    ("subscription", "endpoint", ["https://" + "e" * 1993, "file:///etc/passwd"]),
    ("subscription", "p256dh", ["", "B" * 86, "B" * 88, "+" * 87, None]),
    ("subscription", "auth", ["", "A" * 23, "A" * 21 + "/", None]),
    ("subscription", "app_key", ["", "k" * 201, "k k", None]),
    ("subscription", "origin", ["", "javascript:1", "https://" + "o" * 301, None]),
    ("subscription", "made_ms", [-1, 2**62, None]),
    ("subscription", "sent_ms", ["now", -1]),
    ("subscription", "trouble", [1, "t" * 2001, "a\0b"]),
    ("calendar", "token_sha256", ["", "0" * 63, "g" * 64, "A" * 64, None]),
    ("calendar", "workshop_id", ["other", None]),
    ("calendar", "made_ms", [2**62, None]),
    ("calendar", "revoked_ms", [-1, True, "yes"]),
]


def test_a_forged_row_of_reminders_is_refused(opened: Any) -> None:
    source = opened()
    shop = send(source, [wax("w", "Dune")], [note(1)])
    device = pair(source, shop).partition(".")[0]
    with source.write() as connection:
        second = workshops.make_workshop(connection, "Second", T0 + 1)["id"]
    reminds(
        source,
        [planned(shop)],
        [reminder(shop, "p1", "cured", waits_ms=T0, sent_on=None)],
        [listens(shop, device)],
        [calendar(shop, "0")],
    )
    whole = backed_up(source)
    backups.verify(BytesIO(whole))

    def with_(name: str, column: str, value: Json) -> bytes:
        def change(lines: list[Json]) -> None:
            (row,) = (line[1] for line in lines[1:] if line[0] == name)
            assert column in row
            row[column] = value

        return forged(whole, change)

    backups.verify(BytesIO(with_("reminder", "waits_ms", None)))
    for name, column, values in [*WRONG, ("subscription", "workshop_id", [second])]:
        for value in values:
            forged_ = BytesIO(with_(name, column, value))
            with pytest.raises(backups.BadBackup):
                backups.verify(forged_)


def test_a_zone_that_this_machine_does_not_know_stops_nothing(
    database: Database, opened: Any
) -> None:
    source = opened()
    shop = send(source, [wax("w", "Dune")], [])
    reminds(source, [planned(shop, "Atlantis/Poseidonis")])
    restored(database, backed_up(source))
    (row,) = everything(database)["planned"]
    assert row["zone"] == "UTC"


@pytest.mark.parametrize(
    ("first", "second"), [("planned", "workshop"), ("workshop", "planned"), ("delivery", "device")]
)
def test_a_restore_and_a_server_never_wait_for_each_other(
    first: str, second: str, opened: Any, postgres: Any
) -> None:
    """The server takes tables in either order."""
    url = postgres.new_database()
    database = opened(url)
    send(database, [wax("w", "Dune")], [])
    backup = backed_up(database)
    failed: list[BaseException] = []

    def restore() -> None:
        try:
            restored(database, backup, replace=lambda _: None)
        except BaseException as error:
            failed.append(error)

    restoring = threading.Thread(target=restore)
    waits = text("SELECT count(*) FROM pg_locks WHERE NOT granted")
    with database.write() as connection:
        connection.execute(text(f"LOCK TABLE {first} IN ROW EXCLUSIVE MODE"))
        restoring.start()
        while not connection.scalar(waits):
            assert not failed
        connection.execute(text(f"LOCK TABLE {second} IN ROW EXCLUSIVE MODE"))
    restoring.join()
    assert not failed
    # Its own counts are sure once whoever counted has left.
    database.close()
    with opened(url).read() as connection:
        counted = "SELECT deadlocks FROM pg_stat_database WHERE datname = current_database()"
        assert connection.scalar(text(counted)) == 0


def test_a_restore_gives_up_on_a_server_that_never_lets_go(
    opened: Any, postgres: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    database = opened(postgres.new_database())
    backup = backed_up(database)
    monkeypatch.setattr(restoring, "WAIT_S", 0.1)
    monkeypatch.setattr(restoring, "_LOCK_S", 0.05)
    with database.write() as connection:
        connection.execute(text("LOCK TABLE event IN ROW EXCLUSIVE MODE"))
        with pytest.raises(Unavailable, match="busy"):
            restored(database, backup)


# ---- the commands ------------------------------------------------------------------------------


def test_backup_and_restore_as_an_operator_does_it(
    database_url: str, database: Database, tmp_path: Path
) -> None:
    shop = send(database, [wax("w", "Dune")], [note(1)])
    done = run(database_url, "backup", data=tmp_path / "data")
    assert done.exit_code == 0, done.output
    (file,) = (tmp_path / "data" / "backups").iterdir()
    assert done.output == f"{file}: 1 workshop, 0 devices, 1 record and 1 step of a pour.\n"
    assert stat.S_IMODE(file.stat().st_mode) == 0o600
    again = run(database_url, "backup", str(file))
    assert again.exit_code == 2
    assert "is there already" in again.output

    send(database, [wax("w", "Bog", 9), wax("v", "Fen", 9)], [note(2)], shop)
    newer = everything(database, era=True)
    done = run(database_url, "restore", str(file))
    assert done.exit_code == 2
    assert "this backup lacks 2 records and 1 step of a pour of it" in done.output
    assert "--merge" in done.output
    assert everything(database, era=True) == newer
    both = run(database_url, "restore", "--merge", "--replace", str(file))
    assert both.exit_code == 2

    done = run(database_url, "restore", "--replace", str(file), data=tmp_path / "data")
    assert done.exit_code == 0, done.output
    assert [row["id"] for row in everything(database)["record"]] == ["w"]
    kept = next(each for each in file.parent.iterdir() if each != file)
    assert f"What was here is in {kept}." in done.output
    done = run(database_url, "restore", "--merge", str(kept))
    assert done.exit_code == 0, done.output
    assert fields_of(everything(database)) == fields_of(newer)


def test_what_can_not_be_restored_is_told_in_a_sentence(tmp_path: Path) -> None:
    url = f"sqlite:///{tmp_path / 'a.sqlite3'}"
    for name, content in {"none": b"", "text": b"hello", "gz": gzip.compress(b"{}\n")}.items():
        (tmp_path / name).write_bytes(content)
    for name in ("none", "text", "gz", "missing"):
        done = run(url, "restore", str(tmp_path / name))
        assert done.exit_code == 2
        assert done.output.startswith("Error: ")
        assert "Traceback" not in done.output
    assert not (tmp_path / "a.sqlite3").exists()


def test_a_copy_goes_round_and_changes_nothing_twice(
    database_url: str, database: Database, opened: Any, tmp_path: Path
) -> None:
    shop = send(database, [wax("w", "Dune"), wax("v", "Fen")], [note(1)])
    pair(database, shop)
    file = tmp_path / "copy.json"
    assert run(database_url, "export", str(file)).exit_code == 0
    assert stat.S_IMODE(file.stat().st_mode) == 0o600
    copy = json.loads(file.read_text())
    assert set(copy) == {"format", "version", "made_ms", "workshop", "records", "events"}
    assert copy["workshop"] == {"name": "Workshop"}
    assert len(copy["records"]) == 2
    assert copy["events"] == [note(1)]
    for row in everything(database)["device"]:
        assert row["secret_sha256"] not in file.read_text()
    assert json.loads(run(database_url, "export", "-").stdout)["records"] == copy["records"]

    before = everything(database, era=True)
    done = run(database_url, "import", str(file))
    assert done.output == "Into Workshop: 0 new or newer, 3 known already, 0 refused.\n"
    assert everything(database, era=True) == before

    other = opened()
    url = str(other.engine.url)
    send(other, [wax("w", "Bog", 5)], [])
    done = run(url, "import", str(file))
    assert done.output == "Into Workshop: 3 new or newer, 0 known already, 0 refused.\n"
    # The later name stands and the other is still there.
    assert fields_of(everything(other))["w"]["name"] == {
        "value": "Bog",
        "stamp": stamp(5),
        "past": [{"value": "Dune", "stamp": stamp(0)}],
    }
    assert fields_of(everything(other))["v"] == fields_of(everything(database))["v"]
    after = everything(other, era=True)
    assert "0 new or newer, 3 known" in run(url, "import", str(file)).output
    assert everything(other, era=True) == after


def test_what_a_file_brings_does_nothing_to_the_terminal(
    database: Database, database_url: str, tmp_path: Path
) -> None:
    """Control sequences of ECMA-48, and marks that turn the direction of a line."""
    nasty = "\x1b]0;owned\x07\x1b[2J\x9b31m\u202eDune\u2028\ud800"
    shop = send(database, [wax("w", "Fen")], [])
    pair(database, shop, "Shed")
    with database.write() as connection:
        # As a restored backup may hold it.
        connection.execute(update(tables.device).values(name=nasty[:-1]))
    file = tmp_path / "copy.json"
    deep = json.loads("[" * 400 + "]" * 400)
    records = [
        {**wax("x", nasty), "fields": wax("x", nasty)["fields"] | {"highest_load": {"value": 9}}},
        {"kind": deep, "id": "y", "fields": {}},
        wax("z", nasty * 40),
    ]
    whole = {"format": "pour-bench-copy", "version": 2, "made_ms": 1, "workshop": {"name": "W"}}
    file.write_text(json.dumps({**whole, "records": records, "events": []}))
    for done in (
        run(database_url, "import", "--workshop", shop, str(file)),
        run(database_url, "devices"),
    ):
        assert done.exception is None or isinstance(done.exception, SystemExit)
        assert "Dune" in done.output
        assert not set(done.output) & set("\x1b\x07\x9b\u202e\u2028\ud800")


def test_one_bad_item_is_refused_alone_and_nothing_is_overwritten(
    database_url: str, database: Database, tmp_path: Path
) -> None:
    shop = send(database, [wax("w", "Dune")], [note(1)])
    file = tmp_path / "copy.json"
    records = [
        wax("w", "Another by the same stamp"),
        wax("x", ""),
        wax("y", "Fen", 10**13),
        {"kind": "wax", "id": "no id", "fields": {}},
        wax("z", "Moor"),
    ]
    events = [note(1, "another by the same name"), "nonsense", {**note(2), "at": "noon"}]
    whole = {"format": "pour-bench-copy", "version": 1, "made_ms": 1, "workshop": {"name": "W"}}
    file.write_text(json.dumps({**whole, "records": records, "events": events}))
    done = run(database_url, "import", "--workshop", shop, str(file))
    assert done.exit_code == 1
    assert "1 new or newer" in done.output
    assert "5 refused" in done.output
    assert "2 things in the file went by the name of something else" in done.output
    assert done.output.count("Refused, ") == 5
    assert "phone" not in done.output
    kept = everything(database)
    assert fields_of(kept)["w"]["name"]["value"] == "Dune"
    assert sorted(fields_of(kept)) == ["w", "z"]
    assert [json.loads(row["body"]) for row in kept["event"]] == [note(1)]


def test_a_copy_of_version_1_says_the_same_as_one_of_today(
    database_url: str, database: Database, tmp_path: Path
) -> None:
    send(database, [wax("w", "Dune")], [note(1)])
    older = {name: value for name, value in note(1).items() if name != "of"} | {"pour": "p1"}
    other = {**older, "id": stamp(2), "pour": "p2"}
    file = tmp_path / "copy.json"
    file.write_text(json.dumps({**WHOLE, "version": 1, "events": [older, other]}))
    done = run(database_url, "import", str(file))
    assert done.output == "Into Workshop: 1 new or newer, 1 known already, 0 refused.\n"
    run(database_url, "export", str(tmp_path / "now.json"))
    copy = json.loads((tmp_path / "now.json").read_text())
    assert copy["version"] == 2
    assert [each["of"] for each in copy["events"]] == [["pour", "p1"], ["pour", "p2"]]
    assert not any("pour" in each for each in copy["events"])


WHOLE = {
    "format": "pour-bench-copy",
    "version": 2,
    "made_ms": 1,
    "workshop": {"name": "W"},
    "records": [],
    "events": [],
}


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"hello",
        b"\xff\xfe",
        b"[]",
        b"null",
        b"[" * 200_000,
        b'{"a":' * 200_000,
        json.dumps({**WHOLE, "records": [float("nan")]}).encode(),
        b'{"format":"pour-bench-copy","version":' + b"9" * 5000 + b"}",
        json.dumps({**WHOLE, "version": 3}).encode(),
        json.dumps({**WHOLE, "version": True}).encode(),
        json.dumps({**WHOLE, "version": "1"}).encode(),
        json.dumps({**WHOLE, "made_ms": True}).encode(),
        json.dumps({**WHOLE, "format": "else"}).encode(),
        json.dumps({**WHOLE, "workshop": None}).encode(),
        json.dumps({**WHOLE, "records": {}}).encode(),
        json.dumps({**WHOLE, "events": None}).encode(),
        json.dumps({**WHOLE, "made_ms": "now"}).encode(),
        json.dumps(WHOLE).encode()[:-1],
    ],
    ids=range(19),
)
def test_what_is_no_copy_is_refused_in_one_sentence(content: bytes) -> None:
    with pytest.raises(copies.BadCopy) as refused:
        copies.read_copy(BytesIO(content))
    assert str(refused.value).endswith(".")
    assert "\n" not in str(refused.value)


def test_a_file_that_is_far_too_large_is_not_read_whole() -> None:
    class Endless(BytesIO):
        asked = 0

        def read(self, size: int | None = -1) -> bytes:
            assert size is not None
            assert 0 < size < 100_000_000
            return b" " * size

    with pytest.raises(copies.BadCopy, match="larger than 64 MB"):
        copies.read_copy(Endless())


def test_a_copy_is_read_back_as_it_was_written(database: Database) -> None:
    draw = random.Random(4)
    names = [f'{draw.choice("äß€😀ab")}\u2028"{number}' for number in range(1200)]
    shop = send(database, [wax(f"w{n}", name, n) for n, name in enumerate(names)], [])
    out = StringIO()
    with database.read(snapshot=True) as connection:
        (row,) = workshops.all_workshops(connection)
        assert row["id"] == shop
        assert copies.write_copy(connection, row, T0, out).items == 1200
    copy = copies.read_copy(BytesIO(out.getvalue().encode()))
    assert (copy.made_ms, copy.name, copy.events) == (T0, "Workshop", [])
    assert [each["fields"]["name"]["value"] for each in copy.records] == names
