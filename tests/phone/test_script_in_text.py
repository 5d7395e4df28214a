"""Markup and scripts in every text, and records of the wrong shape, sent by another paired device.

The server takes any text, and a pour of a shape that this bench does not make may come from another
version. Nothing of it runs, it is shown as it was typed, and it takes no other record along.
"""

import copy
import itertools
import re
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from benchapp.records import workshops
from benchapp.records.database import Database, sqlite_url
from tests.phone.maker import at, slot, tap, title
from tests.phone.test_faults import another, pair
from tests.web.wire import Phone

Json = Any

_EXCHANGE = """async () => {
  const { exchangeAll } = await import('/static/records/exchange.js');
  await exchangeAll();
}"""

# All that can be read on the page, also in boxes and their choices.
_SHOWN = """() => [
  document.title,
  document.body.textContent,
  ...[...document.querySelectorAll('input, textarea, select')].map((box) => box.value),
].join('\\n')"""

_RAN = "() => Object.keys(globalThis).filter((name) => name.startsWith('ran'))"

#: At most 33 characters, so that the shortest box takes it with its mark.
SHORT = "<img src=x onerror=ran=1>"
LONG = (
    "</textarea></template><script>ran = 1</script><svg onload=ran=1><a href=javascript:ran=1>x</a>"
    "\"'`${ran=1}{{ran=1}}**<b>**&lt;"
)


class Marked:
    """Texts with markup, each to be known again."""

    def __init__(self) -> None:
        self.made: list[str] = []
        self._count = itertools.count(100)

    def short(self) -> str:
        return self._mark(SHORT)

    def long(self) -> str:
        return self._mark(LONG)

    def _mark(self, text: str) -> str:
        self.made.append(f"{text}{next(self._count)}")
        return self.made[-1]


def in_words(sheet: Json, mark: Callable[[], str]) -> Json:
    """A pour sheet in which every name is markup, and those that are always shown are marked."""
    marked = copy.deepcopy(sheet)
    marked["title"] = mark()
    for holder in (marked["wick"], *marked["sizes"]):
        holder["name"] = mark()
    for holder in ("vessel", "scale", "fine", "thermometer", "heater", "jug"):
        marked[holder]["name"] = SHORT
    for jug in marked["jugs"]:
        for target in (*jug["waxes"], *jug["fragrances"], *jug["additives"]):
            target["name"] = SHORT
    for parts in ("waxes", "oils", "extras"):
        for part in marked[parts]:
            part["name"] = SHORT
    return marked


def send_marked(other: Phone, mark: Marked) -> None:
    """A record of each kind, with markup in all its text."""
    other.save("wax", "w", name=mark.short(), notes=mark.long(), highest_load=0.1)
    other.save("fragrance", "f", name=mark.short(), notes=mark.long(), flash_c=80)
    wick = {name: mark.short() for name in ("name", "series", "size", "fits")}
    other.save("wick", "k", notes=mark.long(), **wick)
    other.save("additive", "a", name=mark.short(), notes=mark.long(), what="dye")
    other.save("vessel", "v", name=mark.short(), notes=mark.long(), method="water", water_g=150)
    other.save("scale", "s", name=mark.short(), step_g=1, capacity_g=5000)
    other.save("jug", "j", name=mark.short(), empty_g=300, volume_ml=2000)
    other.save("heater", "h", name=mark.short(), way="bain_marie", power_w=1500)
    other.save("thermometer", "t", name=mark.short(), step_c=0.1)
    other.save(
        "recipe",
        "r",
        name=mark.short(),
        notes=mark.long(),
        vessel="v",
        waxes=[{"wax": "w", "share": 1}],
        oils=[{"fragrance": "f", "share": 1}],
        additives=[
            {"name": mark.short(), "rate": 1, "per": "percent"},
            {"additive": "a", "name": SHORT, "rate": 1, "per": "percent"},
        ],
        wick="k",
        load=0.08,
    )
    # Written apart, and what was before.
    other.save("wax", "w", name=mark.short())
    apart = {"value": mark.short(), "stamp": other.stamp().replace("other", "apart")}
    other.outbox.append({"kind": "wax", "id": "w", "fields": {"name": apart}})


def play(other: Phone, id_: str, sheet: Json, events: list[Json]) -> None:
    """A pour of this sheet, in which this has happened."""
    other.save("pour", id_, name=sheet["title"], sheet=sheet, started_at=1_760_000_000_000)
    for event in events:
        parts = {name: value for name, value in event.items() if name not in ("id", "of", "type")}
        other.happen(id_, event["type"], **parts)


#: What the workshop itself is called.
CALLED = f"{SHORT}99"


@pytest.fixture
def bench(server: Any) -> Any:
    running = server(demo=True)
    database = Database(sqlite_url(running.data / "bench.sqlite3"))
    with database.write() as connection:
        workshops.make_workshop(connection, CALLED, 1)
    database.close()
    return running


@pytest.fixture
def other(bench: Any, phone: Page) -> Phone:
    """Another device of the workshop that the phone is in, and which knows the phone's demo."""
    pair(phone, bench)
    phone.evaluate(_EXCHANGE)
    return another(bench)


def demo_pour(other: Phone) -> tuple[Json, list[Json]]:
    sheet = other.records["pour", "demo-pour-1"]["sheet"]["value"]
    events = [event for event in other.events.values() if event["of"] == ["pour", "demo-pour-1"]]
    return sheet, sorted(events, key=lambda event: event["id"])


def screens(pours: list[str]) -> Iterator[str]:
    """Every screen of every kind, with the marked records."""
    yield from (
        "today",
        "recipes",
        "recipes/pour",
        "log",
        "workshop",
        "devices",
        "pair",
        "copies",
        "tables",
    )
    yield from ("recipe/r", "plan/r")
    ids = {"vessel": "v", "wax": "w", "fragrance": "f", "wick": "k", "jug": "j", "heater": "h"}
    ids |= {
        "scale": "s",
        "thermometer": "t",
        "recipe": "r",
        "workshop": "workshop",
        "additive": "a",
    }
    for kind, id_ in ids.items():
        yield from (f"list/{kind}", f"edit/{kind}/{id_}", f"history/{kind}/{id_}")
    for pour in pours:
        yield from (f"pour/{pour}/0", f"entry/{pour}", f"trim/{pour}")


def test_no_text_runs_and_all_of_it_is_shown(bench, phone, other):
    mark = Marked()
    other.caller.post(f"/api/devices/{this(other)['id']}/rename", {"name": mark.short()})
    send_marked(other, mark)
    sheet, events = demo_pour(other)
    sheet["extras"] = [{"id": None, "name": "dye", "fraction": 0.01}]
    sheet["jugs"][0]["additives"] = [{**sheet["jugs"][0]["fragrances"][0]}]
    steps = {"p0": 0, "p1": 1, "p3": 3, "p6": 6, "p9": 9, "p99": len(events) - 1}
    for id_, count in steps.items():
        play(other, id_, in_words(sheet, mark.short), events[:count])
        other.note(id_, mark.long())
        other.happen(id_, "corrected", event=events[0]["id"], field="temp_c", value=1, why=LONG)
        other.happen(id_, "onerror", text=LONG, name=SHORT)
    other.happen("p99", "finished", tops=mark.short(), text=mark.long())
    other.save("workshop", "workshop", name=mark.short(), room_c=21)
    other.exchange_all()
    assert not other.refused
    phone.evaluate(_EXCHANGE)
    # While nothing waits, Workshop names where all of it is.
    phone.goto(f"{bench.url}#/workshop")
    expect(phone.locator("#screen")).to_contain_text(f"“{CALLED}”")
    # And one that the server refuses, with its name in the reason.
    phone.evaluate(
        """async (name) => {
          const store = await import('/static/records/store.js');
          await store.save('wick', 'refused', { name, size: 7 });
        }""",
        mark.short(),
    )
    phone.evaluate(_EXCHANGE)

    shown = ""
    for path in screens(list(steps)):
        if phone.url != f"{bench.url}#/{path}":  # which another may have led to already
            phone.evaluate("document.querySelector('#screen > *').setAttribute('data-before', '')")
            phone.goto(f"{bench.url}#/{path}")
        expect(phone.locator("#screen > .screen:not([data-before])")).to_be_attached()
        if path.startswith("entry/"):
            expect(slot(phone, "facts")).not_to_be_empty()
        if path == "devices":
            expect(phone.locator(".device")).to_have_count(2)
        if path in ("devices", "pair"):
            expect(phone.locator("#screen")).to_contain_text(f"“{CALLED}”")
        if path == "workshop":
            expect(slot(phone, "refused")).to_contain_text(SHORT)
        shown += phone.evaluate(_SHOWN)
        assert phone.evaluate(_RAN) == []
        assert phone.locator("#screen :is(img, script, a[href^=javascript])").count() == 0
    unseen = [text for text in mark.made if text not in shown and not is_folded(text, shown)]
    assert not unseen
    # A pair of stars stands for weight in what the bench itself says, never for more.
    assert "<svg onload=ran=1>" in shown


def is_folded(text: str, shown: str) -> bool:
    """Whether it is there but for its stars and spaces."""
    plain = re.sub(r"[*\s]", "", text)
    return plain in re.sub(r"[*\s]", "", shown)


def this(other: Phone) -> Json:
    [row] = [row for row in other.caller.get("/api/devices").json if row["this"]]
    return row


# ---- of the wrong shape --------------------------------------------------------------------------


def misshapen(sheet: Json) -> Iterator[Json]:
    """Sheets that the server takes and that no bench makes: each lacks or spoils one thing."""
    for name in sheet:
        for value in (None, -1, [None]):
            yield {**sheet, name: value}
        yield {each: value for each, value in sheet.items() if each != name}
    yield {"title": "t", "count": 1, "vessel": {}, "jug": {}, "jugs": []}


def odd_events(first: str) -> list[tuple[str, Json]]:
    """Events that the server takes and that no bench makes."""
    return [
        ("ready", {"jug": 999}),
        ("weighed", {"jug": 0, "part": "wax", "index": 99, "read_g": 1e6}),
        ("weighed", {"part": "restore", "index": 0, "read_g": 0}),
        ("read", {"jug": 0, "temp_c": 400}),
        ("read", {"jug": 0, "temp_c": -50}),
        ("poured", {"jug": 0, "read_g": 0}),
        ("poured", {"jug": 5, "read_g": 1}),
        ("undone", {"event": first}),
        ("undone", {"event": "000000000000000.0000.0"}),
        ("corrected", {"event": first, "field": "temp_c", "value": "2030-01-01"}),
        ("corrected", {"event": first, "field": "on", "value": 5}),
        ("corrected", {"event": first, "field": "read_g", "value": -1e6}),
        ("set", {"on": "0001-01-01"}),
        ("set", {"on": "9999-12-31"}),
        ("finished", {}),
        ("melted", {}),
        ("unheard_of", {"jug": {"a": [1]}, "text": [1], "at": 253402300799999}),
        ("went_on", {"jug": 0, "at": 0}),
    ]


def test_what_is_misshapen_takes_nothing_else_along(bench, phone, other):
    sheet, events = demo_pour(other)
    # On the bench, and curing.
    alone = [events[:4], events]
    pours: list[str] = []
    for number, wrong in enumerate(misshapen(sheet)):
        for stage, happened in enumerate(alone):
            pours.append(f"m{number}-{stage}")
            play(other, pours[-1], {**wrong, "title": str(wrong.get("title"))}, happened)
    for number, (type_, parts) in enumerate(odd_events(events[3]["id"])):
        for stage, happened in enumerate(alone):
            pours.append(f"e{number}-{stage}")
            play(other, pours[-1], sheet, happened)
            latest = [
                event["id"] for event in other.events.values() if event["of"] == ["pour", pours[-1]]
            ]
            mine = {**parts, "event": latest[-1]} if "event" in parts and latest else parts
            other.happen(pours[-1], type_, **mine)
    # One that is as it should be: on the bench, dipped again long after, and its clock running.
    sound = sheet | {"title": "Sound"}
    play(other, "sound", sound, events[:4])
    other.happen("sound", "read", jug=0, temp_c=85)
    other.exchange_all()
    taken = set(pours) - {each["id"] for each in other.refused}
    assert len(taken) > 150
    phone.evaluate(_EXCHANGE)

    for path in ("today", "log", "recipes", "workshop"):
        at(phone, bench.url, path)
        phone.reload()
        expect(phone.locator(f"#screen > .screen.{path}")).to_be_visible()
        assert phone.locator(".trouble").count() == 0
        for name in ("Sound, 12", "Plum & kelp") if path in ("today", "log") else ():
            if path == "log":
                slot(phone, "box").fill(name)
            expect(phone.get_by_role("link", name=name).first).to_be_visible()
    # What can't be made sense of is not passed over in silence.
    at(phone, bench.url, "log")
    expect(slot(phone, "unread")).to_contain_text("This version of the bench can't read")
    expect(phone.locator("#strip a", has_text="Sound").first).to_be_visible()
    at(phone, bench.url, "plan/demo-recipe-slate")
    tap(phone, "Start this pour")
    expect(title(phone)).to_have_text("Make ready")
    at(phone, bench.url, "pour/sound/0")
    expect(phone.locator(".board .act .go")).to_be_visible()
