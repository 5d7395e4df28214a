"""Copies on the phone, with no signal: saved, read, asked about, brought in; and the table."""

import csv
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import BrowserContext, Page, expect

from tests.browser import PHONE
from tests.phone.maker import at, go_to, kept, slot, start, tap, title, until_kept

Json = Any

STAMP = "001760000000000.0000.other"
DAMAGED = (
    "This file is not a complete copy of a bench: it is damaged, too large, or something else."
)


def record(**fields: Json) -> Json:
    """A wax from elsewhere."""
    values = {"name": "Dune", **fields}
    versions = {name: {"value": value, "stamp": STAMP} for name, value in values.items()}
    return {"kind": "wax", "id": "w", "fields": versions}


def event(**parts: Json) -> Json:
    return {
        "id": STAMP,
        "of": ["pour", "p"],
        "type": "read",
        "at": 1,
        "jug": 0,
        "temp_c": 70,
        **parts,
    }


def whole(records: list[Json] = (), events: list[Json] = (), **other: Json) -> Json:  # type: ignore[assignment]
    head = {"format": "pour-bench-copy", "version": 1, "made_ms": 1_764_000_000_000}
    return {**head, "workshop": {"name": "W"}, "records": records, "events": events, **other}


def choose(page: Page, file: Path | Json, tmp_path: Path) -> None:
    """Choose a file to bring in."""
    if not isinstance(file, Path):
        content = file if isinstance(file, bytes) else json.dumps(file).encode()
        file = tmp_path / "chosen.json"
        file.write_bytes(content)
    with page.expect_file_chooser() as chooser:
        tap(page, "Bring in a copy")
    chooser.value.set_files(file)


def saved(page: Page, button: str, path: Path) -> str:
    """Save a file; answer the name that it is given."""
    with page.expect_download() as download:
        tap(page, button)
    download.value.save_as(path)
    return download.value.suggested_filename


@pytest.fixture
def empty(phone: Page, server: Any, open_ready: Callable[[Page, str], None]) -> Page:
    """A phone on which nothing is kept yet."""
    url = server().url
    open_ready(phone, url)
    at(phone, url, "copies")
    return phone


def test_a_copy_goes_to_another_phone_with_no_signal(
    phone: Page,
    phone_context: BrowserContext,
    browser: Any,
    server: Any,
    open_ready: Callable[[Page, str], None],
    tmp_path: Path,
) -> None:
    first, second = server(demo=True).url, server().url
    open_ready(phone, first)
    start(phone, first)
    go_to(phone, "Melt")
    phone_context.set_offline(True)
    at(phone, first, "copies")
    file = tmp_path / "copy.json"
    name = saved(phone, "Save a copy of everything", file)
    assert name.startswith("pour-bench-20")
    assert name.endswith(".json")
    here = kept(phone)
    copy = json.loads(file.read_text())
    assert copy["format"] == "pour-bench-copy"
    assert [copy["records"], copy["events"]] == [here["records"], here["events"]]

    of_pours = [each for each in here["events"] if each["of"][0] == "pour"]
    other = browser.new_context(**PHONE)
    page = other.new_page()
    open_ready(page, second)
    other.set_offline(True)
    at(page, second, "copies")
    choose(page, file, tmp_path)
    expect(slot(page, "said")).to_contain_text("This is a copy of “Workshop”, made ")
    expect(slot(page, "holds")).to_contain_text("Waxes: 2")
    expect(slot(page, "holds")).to_contain_text(f"Steps of pours: {len(of_pours)}")
    for kind, told in (
        ("burn_test", "Steps of burn tests"),
        ("batch", "What happened to candles"),
    ):
        count = sum(each["of"][0] == kind for each in here["events"])
        expect(slot(page, "holds")).to_contain_text(f"{told}: {count}")
    # Nothing comes in before she says so.
    assert kept(page) == {"records": [], "events": []}
    tap(page, "Bring it in")
    count = len(here["records"]) + len(here["events"])
    expect(slot(page, "said")).to_have_text(f"The copy is in. {count} of {count} are new here.")
    assert kept(page) == here
    choose(page, file, tmp_path)
    tap(page, "Bring it in")
    expect(slot(page, "said")).to_have_text("Everything in it was here already.")
    assert kept(page) == here
    at(page, second, "today")
    expect(page.locator("#screen")).to_contain_text("On the bench")
    other.close()


def test_a_phone_that_can_send_files_offers_it(empty: Page, phone_context: BrowserContext) -> None:
    expect(slot(empty, "share")).to_be_hidden()
    phone_context.add_init_script(
        """navigator.canShare = ({ files }) => files.every((file) => file instanceof File);
        navigator.share = async ({ files: [file] }) => {
          window.sent = [file.name, file.type, await file.text()];
          throw new DOMException('She thought better of it.', 'AbortError');
        };"""
    )
    empty.reload()
    tap(empty, "Send a copy…")
    empty.wait_for_function("() => window.sent")
    name, kind, text = empty.evaluate("window.sent")
    assert name.endswith(".json")
    assert kind == "application/json"
    assert json.loads(text)["format"] == "pour-bench-copy"
    expect(slot(empty, "said")).to_be_hidden()


def test_what_is_here_already_is_not_overwritten(
    phone: Page, server: Any, open_ready: Callable[[Page, str], None], tmp_path: Path
) -> None:
    url = server(demo=True).url
    open_ready(phone, url)
    at(phone, url, "copies")
    before = {each["id"]: each for each in kept(phone)["records"]}
    mine = before["demo-wax-dune"]
    theirs = {**mine, "fields": {"name": {"value": "Other dune", "stamp": STAMP}}}
    choose(phone, whole([theirs]), tmp_path)
    tap(phone, "Bring it in")
    expect(slot(phone, "said")).to_have_text("The copy is in. 1 of 1 are new here.")
    after = {each["id"]: each for each in kept(phone)["records"]}
    name = after["demo-wax-dune"]["fields"]["name"]
    assert name["value"] == "Other dune"
    assert name["past"] == [mine["fields"]["name"]]
    assert after | {"demo-wax-dune": mine} == before


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"", DAMAGED),
        (b"hello", DAMAGED),
        (b"[1]", DAMAGED),
        (b"null", DAMAGED),
        (b"[" * 100_000, DAMAGED),
        (whole(records=None), DAMAGED),
        (whole(version="1"), DAMAGED),
        (whole(made_ms="x"), DAMAGED),
        (whole(workshop=None), DAMAGED),
        (whole(format="else"), DAMAGED),
        (whole(version=3), "This copy was made by a newer version of the bench. Update this one"),
    ],
    ids=range(11),
)
def test_what_is_no_copy_is_refused_in_a_sentence(modules: Page, content: Json, says: str) -> None:
    text = content.decode() if isinstance(content, bytes) else json.dumps(content)
    assert str(read(modules, text)).startswith(says)


# What can't be taken, and why the server would not take it either.
BAD_RECORDS = {
    "more": {**record(), "more": 1},
    "kind": {**record(), "kind": "Wax"},
    "kind in a list": {**record(), "kind": ["wax"]},
    "id": {**record(), "id": "a b"},
    "id is a number": {**record(), "id": 5},
    "long id": {**record(), "id": "a" * 65},
    "no fields": {**record(), "fields": {}},
    "fields in a list": {**record(), "fields": [1]},
    "many fields": record(**{f"f{n}": 1 for n in range(100)}),
    "field name": {**record(), "fields": {"Name": {"value": 1, "stamp": STAMP}}},
    "a name of the language": {**record(), "fields": {"__proto__": {"value": 1, "stamp": STAMP}}},
    "no value": {**record(), "fields": {"name": {"stamp": STAMP}}},
    "stamp": {**record(), "fields": {"name": {"value": 1, "stamp": "1.0.a"}}},
    "stamp at the end of time": {
        **record(),
        "fields": {"name": {"value": 1, "stamp": "999999999999999.0000.a"}},
    },
    "over": {**record(), "fields": {"name": {"value": 1, "stamp": STAMP, "over": ["x"]}}},
    "over is text": {**record(), "fields": {"name": {"value": 1, "stamp": STAMP, "over": ""}}},
    "past is text": {**record(), "fields": {"name": {"value": 1, "stamp": STAMP, "past": ""}}},
    "past is later": {
        **record(),
        "fields": {"name": {"value": 1, "stamp": STAMP, "past": [{"value": 1, "stamp": STAMP}]}},
    },
    "past in past": {
        **record(),
        "fields": {
            "name": {
                "value": 1,
                "stamp": STAMP,
                "past": [{"value": 1, "stamp": STAMP.replace("6", "5"), "past": []}],
            }
        },
    },
    "field is text": {**record(), "fields": {"name": "Dune"}},
    "too deep": record(x=[[[[[[[[[[[[[[1]]]]]]]]]]]]]]),
    "too large": record(x=2**53 + 2),
    "null": None,
    "text": "wax",
}
BAD_EVENTS = {
    "id": event(id="x"),
    "pour": event(of=["pour", "a b"]),
    "type": event(type=5),
    "at": event(at="noon"),
    "half a millisecond": event(at=1.5),
    "read": event(temp_c="70"),
    "no reading": event(temp_c=None),
    "jug": event(jug=0.5),
    "day": event(type="set", on="2026-02-30"),
    "name": {**event(), "Name": 1},
    "corrected": event(type="corrected", value="x"),
    "null": None,
    "ahead": event(id="999999999999999.0000.a"),
    "deep": event(x=[[[[[[[[[[[[[1]]]]]]]]]]]]]),
}


@pytest.fixture(scope="session")
def modules(browser: Any) -> Any:
    """A page from which the pure modules can be imported; it keeps nothing."""
    from tests.served import static_files

    with static_files() as url:
        page = browser.new_page()
        page.goto(url)
        yield page
        page.close()


def read(page: Page, text: str) -> Json:
    """What a copy's text is read as, or the sentence with which it is refused."""
    return page.evaluate(
        """async (text) => {
          const { readCopy } = await import('/records/copies.js');
          try {
            return readCopy(text, 1_770_000_000_000);
          } catch (error) {
            return error.message;
          }
        }""",
        text,
    )


@pytest.mark.parametrize("name", BAD_RECORDS)
def test_a_record_that_can_not_be_read_is_counted_and_left_out(modules: Page, name: str) -> None:
    good = {**record(), "id": "good"}
    found = read(modules, json.dumps(whole([good, BAD_RECORDS[name]], [event()])))
    assert [found["records"], found["events"], found["unreadable"]] == [[good], [event()], 1]


@pytest.mark.parametrize("name", BAD_EVENTS)
def test_an_event_that_can_not_be_read_is_counted_and_left_out(modules: Page, name: str) -> None:
    found = read(modules, json.dumps(whole([record()], [event(), BAD_EVENTS[name]])))
    assert [found["records"], found["events"], found["unreadable"]] == [[record()], [event()], 1]


def test_the_server_refuses_those_records_too() -> None:
    """Both sides check alike: benchapp/records/shapes.py and events.py."""
    from benchapp.records.events import check_event
    from benchapp.records.shapes import is_event, is_record

    late = {"stamp at the end of time", "ahead"}
    for name, each in BAD_RECORDS.items():
        assert is_record(each) == (name in late), name
    for name, each in BAD_EVENTS.items():
        assert (is_event(each) and check_event(each) == []) == (name in late), name
    assert is_record(record())
    assert is_event(event())
    assert check_event(event()) == []


def test_she_decides_about_the_rest_and_no_pour_breaks_the_screens(
    empty: Page, server: Any, tmp_path: Path
) -> None:
    pour = {**record(sheet={"title": 5}, started_at=1), "kind": "pour", "id": "p"}
    file = whole([{**record(), "id": "good"}, pour, None], [event(), 7])
    choose(empty, file, tmp_path)
    expect(slot(empty, "said")).to_contain_text(
        "Some of it can’t be read, or has a date in the future, and is left out: 3."
    )
    assert kept(empty)["records"] == []
    tap(empty, "Bring in the rest")
    expect(slot(empty, "said")).to_have_text("The copy is in. 2 of 2 are new here.")
    assert [each["id"] for each in kept(empty)["records"]] == ["good"]
    at(empty, empty.url.partition("#")[0], "log")
    expect(title(empty)).to_have_text("Log")
    at(empty, empty.url.partition("#")[0], "today")
    expect(title(empty)).not_to_have_text("That did not work")


def test_the_table_opens_in_a_spreadsheet_and_runs_nothing(
    phone: Page, server: Any, open_ready: Callable[[Page, str], None], tmp_path: Path
) -> None:
    url = server(demo=True).url
    open_ready(phone, url)
    name = '=HYPERLINK("http://x","a, b")'
    at(phone, url, "edit/recipe/demo-recipe-slate")
    phone.locator('[data-field="name"] input').first.fill(name)
    tap(phone, "Save")
    expect(phone.locator("body")).not_to_have_attribute("data-screen", "edit")
    id_ = start(phone, url)
    at(phone, url, f"entry/{id_}")
    before = len(kept(phone)["events"])
    slot(phone, "note").fill("-1 draught\nfrosted, “a little”; dear")
    phone.locator('[data-slot="add"] button').click()
    until_kept(phone, before + 1)
    at(phone, url, "copies")
    file = tmp_path / "pours.csv"
    assert saved(phone, "Pours as a table", file).endswith(".csv")
    content = file.read_bytes()
    # Spreadsheets take it for UTF-8 by its byte order mark; lines end as in RFC 4180.
    assert content.startswith(b"\xef\xbb\xbf")
    rows = list(csv.DictReader(content.decode("utf-8-sig").splitlines(keepends=True)))
    assert content.count(b"\r\n") == len(rows) + 1 == 4
    assert [row["Started"] for row in rows] == sorted(row["Started"] for row in rows)
    slate = rows[0]
    assert slate["Recipe"] == "Wet slate"
    assert [slate["Count"], slate["Jugs"], slate["Tops"]] == ["12", "1", "smooth"]
    # As the demo's pour was weighed: 1168 g of wax, 93.4 g of oil, and 93.4 / 1168 is 8.00 %.
    figures = ["Wax (g)", "Fragrance (g)", "Load reached (% of wax)"]
    assert [float(slate[each]) for each in figures] == [1168, 93.4, 8]
    assert slate["Cured from"] > slate["Poured on"]
    assert rows[1]["Additives (g)"].startswith("dye, heather 0.")
    new = rows[-1]
    assert new["Recipe"] == f"'{name}"
    assert new["Notes"] == "'-1 draught\nfrosted, “a little”; dear"
    assert [new["Poured on"], new["Cured from"], new["Load reached (% of wax)"]] == ["", "", ""]


@pytest.mark.parametrize("first", ["=", "+", "-", "@", "\t", "\r", "\n"])
def test_text_that_begins_like_a_formula_is_made_harmless(modules: Page, first: str) -> None:
    """The characters are those of OWASP's "CSV Injection"."""
    table = modules.evaluate(
        """async (title) => {
          const { tableOf } = await import('/bench/pours_csv.js');
          const state = { jugs: [], set_on: null, notes: [], counted: [], tops: null };
          const sheet = { title, sizes: [{ name: 'a' }], count: 1, load: 0 };
          return tableOf([{ record: { started_at: 0 }, sheet, state }]);
        }""",
        f'{first}1+"1"',
    )
    assert f'"\'{first}1+""1"""' in table
