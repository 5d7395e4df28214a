"""Backups, copies, the sweep and the doctor, with the bytes of attachments."""

import hashlib
import io
import json
import os
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from sqlalchemy import delete, insert, select

from benchapp.cli import main
from benchapp.records import backups, copies, tables, workshops
from benchapp.records.attachments import keeping, sweeping
from benchapp.records.attachments.keeping import Keeper, Settings
from benchapp.records.backups import BadBackup
from benchapp.records.database import Database, sqlite_url
from tests.records.test_attachment_stores import name_of, picture
from tests.records.test_copies import forged

T0 = 1_764_000_000_000
DAY_MS = 24 * 3600 * 1000
Opener = Callable[[str], "Bench"]


class Bench:
    """A data directory with records and attachments, as a server leaves it."""

    def __init__(self, data: Path, settings: Settings) -> None:
        data.mkdir(0o700)
        self.data = data
        self.database = Database(sqlite_url(data / "bench.sqlite3"))
        self.keeper = Keeper(settings, data)
        with self.database.write() as connection:
            self.shop = workshops.first_workshop(connection, T0)["id"]

    def keep(self, content: bytes, *, deleted_ms: int | None = None, row: bool = True) -> str:
        """Keep bytes and the record that names them, as a phone has it kept."""
        name = name_of(content)
        arriving = self.keeper.arriving
        arriving.add(self.shop, name, 0, content)
        type_ = self.keeper.take_whole(self.shop, name)
        with self.database.write() as connection:
            if row:
                keeping.add_row(connection, self.shop, name, len(content), type_, T0)
            fields: dict[str, Any] = {"sha256": {"value": name, "stamp": f"{T0:015d}.0000.a"}}
            if deleted_ms is not None:
                fields["deleted"] = {"value": True, "stamp": f"{deleted_ms:015d}.0000.a"}
            values = {"kind": "attachment", "id": f"p.{name[:24]}", "fields": json.dumps(fields)}
            seq = 1 + len(list(connection.execute(select(tables.record.c.id))))
            shop = tables.workshop
            connection.execute(shop.update().values(seq=seq))
            connection.execute(
                insert(tables.record).values(workshop_id=self.shop, seq=seq, **values)
            )
        return name

    def kept(self) -> dict[str, bytes]:
        """The bytes of every row."""
        with self.database.read() as connection:
            names = [sha256 for _, sha256 in sweeping.rows(connection)]
        return {name: self.keeper.store.read(self.shop, name) for name in names}

    def backed_up(self, *, whole: bool = True) -> bytes:
        out = io.BytesIO()
        with self.database.read(snapshot=True) as connection:
            backups.write_backup(connection, T0, out, self.keeper.store if whole else None)
        return out.getvalue()

    def restore(self, backup: bytes, **how: Any) -> None:
        with self.database.write() as connection:
            backups.restore(connection, io.BytesIO(backup), store=self.keeper.store, **how)

    def run(self, *arguments: str, status: int = 0) -> str:
        done = CliRunner().invoke(main, [*arguments, "--data", str(self.data)])
        assert done.exit_code == status, done.output
        return done.output

    def age(self) -> None:
        """Let all bytes be some days old."""
        for path in (self.data / "attachments").glob("*/??/*"):
            os.utime(path, (time.time() - 3 * 24 * 3600,) * 2)


@pytest.fixture
def opened(tmp_path: Path) -> Iterator[Opener]:
    made: list[Bench] = []

    def open_(name: str) -> Bench:
        made.append(Bench(tmp_path / name, Settings()))
        return made[-1]

    yield open_
    for each in made:
        each.database.close()


def large() -> bytes:
    """More than goes into one line of a backup."""
    return b"%PDF-1.7\n" + os.urandom(2_500_000)


# ---- backups -----------------------------------------------------------------------------------


@pytest.mark.parametrize("how", [{}, {"merge": True}, {"replace": lambda _: None}])
def test_a_backup_brings_the_bytes_back(opened: Opener, how: dict[str, Any]) -> None:
    source = opened("source")
    contents = [picture("JPEG"), large(), b"%PDF-1.7 small"]
    names = [source.keep(content) for content in contents]
    backup = source.backed_up()
    counts = backups.verify(io.BytesIO(backup))
    assert (counts["attachment"], counts["left_out"]) == (3, 0)
    target = opened("target")
    if how:
        mine = target.keep(b"%PDF-1.7 mine")
    target.restore(backup, **how)
    with target.database.read() as connection:
        shops = {shop for shop, _ in sweeping.rows(connection)}
    assert source.shop in shops
    store = target.keeper.store
    for name, content in zip(names, contents, strict=True):
        assert store.read(source.shop, name) == content
    assert (target.shop in shops) == ("merge" in how)
    if how:
        # What it does not name still lies there, until it is swept.
        assert store.read(target.shop, mine)
    assert not list(store.arriving.glob("restoring-*"))
    # A second time nothing changes.
    target.restore(backup, merge=True)
    assert not list(store.arriving.glob("restoring-*"))


def test_a_backup_may_leave_them_out_and_says_so(opened: Opener) -> None:
    source = opened("source")
    name = source.keep(picture())
    file = source.data / "small.benchbackup"
    said = source.run("backup", str(file), "--without-attachments")
    assert "1 photo or paper is not in it." in said
    assert backups.verify(io.BytesIO(file.read_bytes()))["left_out"] == 1
    # Elsewhere they are awaited; where they lie already they are had.
    target = opened("target")
    said = target.run("restore", str(file), "--replace")
    assert "1 photo or paper is not here, and is shown small: a paired phone" in said
    assert target.kept() == {}
    assert "1 is still on a phone" in target.run("doctor", status=0)
    said = source.run("restore", str(file), "--replace")
    assert "not here" not in said
    assert list(source.kept()) == [name]


def test_a_whole_backup_says_what_is_in_it_and_goes_back_in(opened: Opener) -> None:
    source = opened("source")
    source.keep(picture())
    file = source.data / "whole.benchbackup"
    assert "1 photo or paper." in source.run("backup", str(file))
    target = opened("target")
    said = target.run("restore", str(file), "--replace")
    assert "1 photo or paper" in said
    assert "not here" not in said
    assert target.keeper.store.read(source.shop, name_of(next(iter(source.kept().values()))))


def test_what_the_disk_has_lost_is_left_out_and_told(opened: Opener) -> None:
    source = opened("source")
    lost, kept = source.keep(picture()), source.keep(large())
    source.keeper.store.drop(source.shop, lost)
    file = source.data / "b.benchbackup"
    assert "its bytes are not in the store" in source.run("backup", str(file))
    target = opened("target")
    target.run("restore", str(file), "--replace")
    assert target.keeper.store.read(source.shop, kept)
    assert "1 photo or paper that was kept is not whole" in source.run("doctor", status=1)


def is_line(line: Any, name: str) -> bool:
    return isinstance(line, list) and line[0] == name


def change_part(lines: list[Any]) -> None:
    line = next(each for each in lines if is_line(each, "bytes"))
    line[1] = line[1][:8] + ("B" if line[1][8] != "B" else "C") + line[1][9:]


def drop_part(lines: list[Any]) -> None:
    del lines[next(place for place, each in enumerate(lines) if is_line(each, "bytes"))]


def another_type(lines: list[Any]) -> None:
    next(each for each in lines if is_line(each, "attachment"))[1]["type"] = "image/png"


def a_page(lines: list[Any]) -> None:
    next(each for each in lines if is_line(each, "attachment"))[1]["type"] = "text/html"


def a_path(lines: list[Any]) -> None:
    next(each for each in lines if is_line(each, "attachment"))[1]["sha256"] = "../" * 22


def a_part_alone(lines: list[Any]) -> None:
    lines.insert(2, ["bytes", "JVBERi0="])


@pytest.mark.parametrize(
    "change", [change_part, drop_part, another_type, a_page, a_path, a_part_alone]
)
def test_a_backup_whose_bytes_are_not_right_is_refused(opened: Opener, change: Any) -> None:
    source = opened("source")
    source.keep(b"%PDF-1.7 paper")
    backup = forged(source.backed_up(), change)
    with pytest.raises(BadBackup):
        backups.verify(io.BytesIO(backup))
    target = opened("target")
    with pytest.raises(BadBackup):
        target.restore(backup, merge=True)
    assert target.kept() == {}


# ---- copies ------------------------------------------------------------------------------------


def test_a_copy_carries_them_and_brings_them_in_once(opened: Opener) -> None:
    source = opened("source")
    contents = [picture("JPEG"), large()]
    names = {source.keep(content) for content in contents}
    file = source.data / "copy.json"
    said = source.run("export", str(file))
    assert "2 photos and papers are in it." in said
    target = opened("target")
    with file.open("rb") as held:
        copy = copies.read_copy(held)
    # Records of a whole attachment: here they only say what is named.
    brought = copies.bring_in(
        target.database,
        target.shop,
        copies.Copy(T0, "W", [], [], copy.attachments),
        T0,
        target.keeper,
    )
    assert (brought.attachments, brought.refused) == (2, [])
    assert set(target.kept()) == names
    again = copies.bring_in(target.database, target.shop, copy, T0, target.keeper)
    assert again.attachments == 0


def test_a_copy_may_leave_them_out_and_says_so(opened: Opener) -> None:
    source = opened("source")
    source.keep(picture())
    file = source.data / "copy.json"
    said = source.run("export", str(file), "--without-attachments")
    assert "1 photo or paper is not in it." in said
    assert "attachments" not in json.loads(file.read_text(encoding="utf-8"))


def test_a_copy_holds_no_more_than_can_be_read(
    opened: Opener, monkeypatch: pytest.MonkeyPatch
) -> None:
    source = opened("source")
    for _ in range(3):
        source.keep(large())
    monkeypatch.setattr(copies, "MOST_BYTES", 8_000_000)
    file = source.data / "copy.json"
    said = source.run("export", str(file))
    assert "2 photos and papers are in it." in said
    assert "1 photo or paper is not in it: a copy holds 8 MB at most" in said
    assert file.stat().st_size < 8_000_000


@pytest.mark.parametrize(
    "item",
    [
        *(None, {}, {"sha256": "0" * 64}, {"base64": 5}, {"base64": "%", "sha256": "0" * 64}),
        {"base64": "AAAA", "sha256": "0" * 64},
        {"base64": "PGI+", "sha256": hashlib.sha256(b"<b>").hexdigest()},
    ],
)
def test_an_item_of_a_copy_that_is_none_is_refused_alone(opened: Opener, item: Any) -> None:
    target = opened("target")
    copy = copies.Copy(T0, "W", [], [], [item])
    brought = copies.bring_in(target.database, target.shop, copy, T0, target.keeper)
    assert brought.attachments == 0
    [refusal] = brought.refused
    assert refusal.why.endswith(".")
    assert target.kept() == {}


# ---- the sweep and the doctor ------------------------------------------------------------------


def test_bytes_without_a_row_get_one_or_are_let_go_of(opened: Opener) -> None:
    bench = opened("bench")
    named = bench.keep(picture(), row=False)
    with bench.database.write() as connection:
        connection.execute(delete(tables.record))
    bench.keep(b"%PDF-1.7 named", row=False)
    now_ms = T0 + 40 * DAY_MS
    # What may be on its way is left alone.
    assert sweeping.sweep(bench.database, bench.keeper, now_ms) == sweeping.Swept(0, 0)
    assert "2 files in" in bench.run("doctor")
    bench.age()
    assert sweeping.sweep(bench.database, bench.keeper, now_ms) == sweeping.Swept(1, 1)
    assert list(bench.kept().values()) == [b"%PDF-1.7 named"]
    assert named not in {each.sha256 for each in bench.keeper.store.lying()}
    assert sweeping.sweep(bench.database, bench.keeper, now_ms) == sweeping.Swept(0, 0)


def test_what_was_deleted_is_kept_for_a_month(opened: Opener) -> None:
    bench = opened("bench")
    bench.keep(b"%PDF-1.7 deleted", deleted_ms=T0 + DAY_MS)
    bench.keep(b"%PDF-1.7 kept")
    bench.age()
    assert sweeping.sweep(bench.database, bench.keeper, T0 + 30 * DAY_MS).dropped == 0
    assert len(bench.kept()) == 2
    assert sweeping.sweep(bench.database, bench.keeper, T0 + 32 * DAY_MS).dropped == 1
    assert list(bench.kept().values()) == [b"%PDF-1.7 kept"]


def test_the_doctor_counts_them(opened: Opener) -> None:
    bench = opened("bench")
    bench.keep(picture())
    said = bench.run("doctor")
    assert "1 photo or paper (0.0 MB) is whole in" in said
