"""Every screen in the pseudo-language: no word beside the door, and no text that is cut."""

import re
from collections.abc import Iterator
from datetime import date, timedelta
from itertools import chain
from typing import Any

from playwright.sync_api import Page, expect

from benchapp.records.kinds import KINDS
from benchapp.words.pseudo import translate
from benchapp.words.setting import VARIABLE
from tests.phone.burn_steps import every_burn_step
from tests.phone.maker import THERMOMETER, new_code, press, slot
from tests.phone.pseudo import LANGUAGE, button, go, look, pour, prepare
from tests.phone.screens import DENIED, MAKE_LABEL, SCREENS, SET_APART, WHILE_EMPTY

# ---- a pour at each of its steps -----------------------------------------------------------------

Event = dict[str, Any]


def _at(kind: str, ago_s: float = 0, **more: Any) -> Event:
    return {"type": kind, "jug": 0, "ago_s": ago_s, **more}


def _weighed(part: str, off_g: float = 0, index: int = 0) -> Event:
    return _at("weighed", 3000, part=part, index=index, off_g=off_g)


def _reads(*dips: tuple[float, float]) -> list[Event]:
    return [_at("read", ago_s, temp_c=temp_c) for ago_s, temp_c in dips]


READY = [{"type": "ready", "ago_s": 3600}]
WEIGHED = [*READY, _weighed("wax")]
MELTED = [*WEIGHED, _at("melted", 1200)]
COOL = [*MELTED, *_reads((900, 80.0), (450, 74.7), (1, 70.0))]
FRAGRANT = [*COOL, _at("went_on")]
TOO_MUCH = [*FRAGRANT, _weighed("fragrance", 30)]
ADDING = [*FRAGRANT, _weighed("fragrance")]
STIRRED = [*ADDING, _at("added", 200), _at("stirred", 60)]
POURED = [*STIRRED, _at("emptied")]
ASIDE = [*POURED, {"type": "set", "on": str(date.today() - timedelta(days=1))}]  # noqa: DTZ011
NONE_BEFORE = {"over": "000000000000000.0000.0", "by": "Βεα"}
TWO_WEIGHTS = [
    {**_weighed("wax"), **NONE_BEFORE},
    _at("weighed", 2900, part="wax", index=0, read_g=999, **NONE_BEFORE),
]
TWO_FILLS = [_at("poured", 50, vessel=0, read_g=108, by="Βεα"), _at("skipped", 40, vessel=0)]
PLUM = [*READY, _weighed("wax"), _at("melted", 1200)]

STEPS: dict[str, tuple[str, int, list[Event]]] = {
    "make ready": ("plum", 4, []),
    "weigh wax": ("slate", 12, READY),
    "too little wax": ("slate", 12, [*READY, _weighed("wax", -20)]),
    "too much wax": ("slate", 12, [*READY, _weighed("wax", 20)]),
    "melt": ("slate", 12, WEIGHED),
    "rising too far": ("slate", 12, [*WEIGHED, *_reads((240, 80.0), (120, 84.5), (1, 89.0))]),
    "dye": ("plum", 4, PLUM),
    "too little dye": ("plum", 4, [*PLUM, _weighed("additive", -1)]),
    "no dip yet": ("slate", 12, MELTED),
    "cooling, one dip": ("slate", 12, [*MELTED, *_reads((1, 84.0))]),
    "cooling": ("slate", 12, [*MELTED, *_reads((360, 85.0), (180, 81.6), (1, 78.5))]),
    "cooling, a slip": (
        "slate",
        12,
        [*MELTED, *_reads((540, 88.5), (360, 85.0), (180, 81.6), (1, 88.0))],
    ),
    "in the window": ("slate", 12, COOL),
    "too cool": ("slate", 12, [*MELTED, *_reads((1, 55.0))]),
    "on the heat": ("slate", 12, [*MELTED, *_reads((300, 55.0)), _at("warmed", 290)]),
    "warming": (
        "slate",
        12,
        [*MELTED, *_reads((300, 55.0)), _at("warmed", 290), *_reads((150, 58.0), (1, 62.0))],
    ),
    "weigh fragrance": ("slate", 12, FRAGRANT),
    "one of two oils": ("plum", 4, [*PLUM, _weighed("additive"), *COOL[3:], _at("went_on")]),
    "too little fragrance": ("slate", 12, [*FRAGRANT, _weighed("fragrance", -9)]),
    "too much fragrance": ("slate", 12, TOO_MUCH),
    "too little wax after it": ("slate", 12, [*TOO_MUCH, _weighed("restore", -50)]),
    "add fragrance": ("slate", 12, ADDING),
    "stir": ("slate", 12, [*ADDING, _at("added", 10)]),
    "stirred long enough": ("slate", 12, [*ADDING, _at("added", 400)]),
    "pour": ("slate", 12, STIRRED),
    "pour, the third": ("slate", 12, [*STIRRED, *[_at("poured", read_g=108)] * 2]),
    "pour, too cool": ("slate", 12, [*STIRRED, *_reads((1, 55.0))]),
    "which weight is right": ("slate", 12, [*READY, *TWO_WEIGHTS]),
    "which fill is right": ("slate", 12, [*STIRRED, *TWO_FILLS]),
    "one jug of two": ("slate", 30, READY),
    "jug empty": ("slate", 30, POURED),
    "leave to set": ("slate", 12, POURED),
}
"""The recipe, how many, and what has happened."""


# ---- looking -------------------------------------------------------------------------------------


def unfold(page: Page) -> None:
    page.evaluate("for (const one of document.querySelectorAll('details')) one.open = true;")


def begin(page: Page, url: str) -> None:
    page.goto(url)
    page.locator("#screen h1").wait_for()


def told(found: list[str]) -> None:
    assert not found, "\n".join(found)


def test_every_screen_and_what_it_asks(server, phone) -> None:
    prepare(phone.context)
    begin(phone, server(demo=True, environment=LANGUAGE).url)
    phone.evaluate(MAKE_LABEL, "αλλη")
    found = []
    for path in SCREENS:
        go(phone, path)
        unfold(phone)
        found += look(phone, path)
    for path, where in chain(refused(phone), of_a_batch(phone)):
        found += look(phone, f"{path}, {where}")
    told(found)


def refused(page: Page) -> Iterator[tuple[str, str]]:
    """Forms in which nothing can be taken, and dialogs that ask."""
    for kind in KINDS:
        if kind.is_only:
            continue
        path = f"edit/{kind.name}/new"
        for typed in ("", "-5"):
            go(page, path)
            # Without a name none is saved.
            for box in page.locator("#screen main [inputmode=decimal] input:visible").all():
                box.fill(typed)
            button(page, "Save").tap()
            page.locator("[data-error]:visible").first.wait_for()
            yield path, f"with “{typed}”"
    go(page, "plan/demo-recipe-plum")
    slot(page, "count").fill("-5")
    slot(page, "error").wait_for()
    yield "plan", "refused"
    slot(page, "count").fill("400")
    slot(page, "error").wait_for(state="hidden")
    yield "plan", "for many"
    go(page, "tables/lot")
    page.route("**/api/table", lambda route: route.fulfill(json=TABLE))
    file = {"name": "φ", "mimeType": "text/csv", "buffer": b"-"}
    slot(page, "file").set_input_files(files=[file])
    selects = slot(page, "columns").locator("select")
    for column, field in enumerate(("name", "amount_g", "received_on", "material", "supplier")):
        selects.nth(column).select_option(field)
    slot(page, "order").select_option("day")
    slot(page, "make").check()
    slot(page, "take").wait_for()
    yield "tables", "with rows of each sort"
    go(page, "entry/demo-pour-1")
    button(page, "Delete").tap()
    yield "entry", "asks before it deletes"
    happened = slot(page, "happened").locator("li")
    happened.filter(has_text=translate("The thermometer showed")).first.get_by_role("button").tap()
    yield "entry", "pad"
    press(page, "11")
    page.locator("dialog [data-slot=enter]").tap()
    page.locator("dialog [data-slot=question]").wait_for()
    yield "entry", "pad that asks"
    page.locator("dialog [data-slot=back]").tap()
    happened.filter(has_text=translate("Left to set")).get_by_role("button").tap()
    page.locator("dialog.ask").wait_for()
    yield "entry", "asks for a day"


def of_a_batch(page: Page) -> Iterator[tuple[str, str]]:
    """What the box says of a code, of words and of pours that are chosen, and what it may state."""
    page.keyboard.press("Escape")
    go(page, "log")
    box = page.get_by_role("searchbox")
    for typed, place in {"4RJ9-9890": "problem", "ξξξ": "nothing", "δυνε": "count"}.items():
        box.fill(typed)
        slot(page, place).filter(visible=True).wait_for()
        yield "log", f"looks for {typed}"
    button(page, "Filter").tap()
    slot(page, "filters").get_by_role("combobox").last.select_option("setting")
    slot(page, "nothing").wait_for()
    yield "log", "has no such pour"
    for law in ("eu", "us"):
        go(page, "net/demo-pour-2")
        page.locator("[data-field=law] select").select_option(law)
        page.locator("[data-field=stated] input").fill("230 g")
        button(page, "Work it out").tap()
        page.locator(".verdict").wait_for()
        yield "net", f"found by {law}"


ROW = ["ικ", "1,5", "03/04/2026", "βεα", "ξ"]
TABLE = {
    "columns": ["α", "δε (kg)", "φ", "β", ""],
    "rows": [ROW, ROW, ["", "2", "1", "β", ""]],
    **{"first_row": 2, "encoding": "φθ", "separator": ";"},
}
"""As the server would have read it."""


def test_every_step_of_a_pour(server, phone) -> None:
    prepare(phone.context)
    begin(phone, server(demo=True, environment=LANGUAGE).url)
    found: list[str] = []
    heard: list[str] = []
    away: str | None = None
    for name, (recipe, count, events) in STEPS.items():
        made = pour(phone, recipe, count, events)
        go(phone, f"pour/{made}/0")
        # Not while its board is shown, which would ask about it.
        if away is not None:
            phone.evaluate(_AWAY, away)
        phone.evaluate(_CALL, made)
        phone.locator(".caption:not(:empty)").wait_for()
        found += look(phone, name)
        heard += phone.evaluate(_CUES, made)
        if name in {"weigh wax", "cooling"}:
            for more in pad(phone):
                found += look(phone, f"{name}, {more}")
        if name == "cooling":
            button(phone, "Weigh fragrance").tap()
            phone.locator("body[data-ahead]").wait_for()
            found += look(phone, "fragrance ahead")
        if name in {"pour", "cooling, one dip", "which fill is right"}:
            go(phone, f"entry/{made}")
            found += look(phone, f"entry of {name}")
        if name == "pour":
            phone.evaluate(_WHOLE, True)
            go(phone, f"pour/{made}/0")
            found += look(phone, "pour, whole jug")
            phone.evaluate(_WHOLE, False)
        away = None if name in {"one jug of two", "cooling", "pour"} else made
    phone.evaluate(_AWAY, away)
    phone.locator("dialog[open]").wait_for()
    found += look(phone, "taken from the bench by another hand")
    phone.locator("dialog [data-slot=back]").tap()
    phone.locator("body[data-screen=today]").wait_for()
    found += look(phone, "today, with jugs on the bench")
    aside = pour(phone, "slate", 12, ASIDE)
    for path in (f"trim/{aside}", "today", "log", f"entry/{aside}"):
        go(phone, path)
        found += look(phone, f"{path}, set aside")
    assert len(heard) > 20
    found += [f"heard: {text}" for text in heard if re.search(r"\b[A-Za-z]{2,}\b", text)]
    told(found)


def test_every_step_of_a_burn(server, phone) -> None:
    prepare(phone.context)
    url = server(demo=True, environment=LANGUAGE).url
    begin(phone, url)
    go(phone, "tests")
    found: list[str] = []
    for name in every_burn_step(phone, url):
        found += look(phone, name)
        if name == "what else":
            for way in (["More"], ["Something", "Mushroom"]):
                for each in way:
                    button(phone, each).tap()
                    phone.locator("dialog[open]").wait_for()
                found += look(phone, f"{name}, {way[0]}")
                phone.locator("dialog [data-slot=back]").tap()
        if name == "weigh":
            button(phone, "What the scale shows").tap()
            press(phone, "23")
            phone.locator("dialog [data-slot=enter]").tap()
            phone.locator("dialog [data-slot=question]").wait_for()
            found += look(phone, "weigh, doubted")
            phone.locator("dialog [data-slot=back]").tap()
    told(found)


_CALL = """async (id) => {
  const { readPour } = await import('/static/bench/pours.js');
  const { stepCue } = await import('/static/bench/cues.js');
  const { displayUnits } = await import('/static/bench/display_units.js');
  const { speak } = await import('/static/bench/voice.js');
  const { sheet, state } = await readPour(id);
  speak(stepCue(sheet, state, 0, Date.now(), displayUnits({})).words);
}"""
_CUES = """async (id) => {
  const { readPour } = await import('/static/bench/pours.js');
  const { timedCues } = await import('/static/bench/cues.js');
  const { displayUnits } = await import('/static/bench/display_units.js');
  const cues = timedCues(await readPour(id), 0, Date.now(), displayUnits({}));
  return cues.flatMap(({ words, then }) => [words, then]);
}"""
_WHOLE = """async (whole) => (await import('/static/bench/preferences.js')).prefer({ whole })"""
_AWAY = """async (id) => (await import('/static/records/store.js')).remove('pour', id)"""


def pad(page: Page) -> Iterator[str]:
    """The pad, refusing nothing and doubting what was typed."""
    for name in (THERMOMETER, "Another number"):
        if button(page, name).count():
            button(page, name).tap()
            break
    page.locator("dialog[open]").wait_for()
    if page.locator("dialog.ladder").count():
        yield "ladder"
        page.locator("dialog.ladder [data-slot=other]").tap()
    page.locator("dialog.pad").wait_for()
    yield "pad"
    page.locator("dialog [data-slot=enter]").tap()
    page.locator("dialog [data-slot=question]").wait_for()
    yield "pad with nothing typed"
    press(page, "9")
    page.locator("dialog [data-slot=enter]").tap()
    page.locator("dialog [data-slot=question]").wait_for()
    yield "pad that doubts"
    page.locator("dialog [data-slot=back]").tap()
    page.locator("dialog.pad").wait_for(state="detached")


def test_a_workshop_with_nothing_in_it_yet(server, phone) -> None:
    prepare(phone.context)
    begin(phone, server(environment=LANGUAGE).url)
    found = []
    for path in WHILE_EMPTY:
        go(phone, path)
        found += look(phone, f"{path}, empty")
    told(found)


def test_beside_a_server(server, phone, page_errors, monkeypatch) -> None:
    # The command that lets a device in gives the workshop its first name.
    monkeypatch.setenv(VARIABLE, LANGUAGE[VARIABLE])
    prepare(phone.context)
    bench = server(demo=True, environment=LANGUAGE)
    begin(phone, bench.url)
    found = []
    go(phone, "pair/2222-2222")
    button(phone, "Join").tap()
    slot(phone, "wrong").wait_for()
    found += look(phone, "a wrong code")
    go(phone, f"pair/{new_code(bench.data)}")
    slot(phone, "name").fill("τηλεφωνο")
    button(phone, "Join").tap()
    phone.locator("body[data-screen=workshop]").wait_for()
    phone.locator("#said").wait_for()
    found += look(phone, "paired")
    go(phone, "devices")
    button(phone, "Rename").tap()
    button(phone, "Shut out").tap()
    button(phone, "Add a device").tap()
    expect(slot(phone, "code")).to_be_visible()
    found += look(phone, "devices, one invited")
    go(phone, "reminders")
    button(phone, "Make an address").tap()
    expect(slot(phone, "fresh")).to_be_visible()
    slot(phone, "cards").locator(".card").wait_for()
    found += look(phone, "reminders, an address")
    phone.evaluate(SET_APART, ["001760000000000.0000.other", "αλλη"])
    for path in ("today", "workshop", "history/wax/demo-wax-dune", "list/wick/deleted"):
        go(phone, path)
        phone.locator("#server").wait_for()
        found += look(phone, f"{path}, changed on two devices")
    phone.context.set_offline(True)
    go(phone, "devices")
    slot(phone, "trouble").wait_for()
    found += look(phone, "devices, no signal")
    page_errors.clear()  # the browser logs what it can't fetch
    told(found)


def test_where_the_phone_lacks_something(server, phone) -> None:
    prepare(phone.context)
    phone.add_init_script(DENIED)
    begin(phone, server(demo=True, environment=LANGUAGE).url)
    go(phone, "bench")
    button(phone, "Connect a thermometer").tap()
    phone.locator("input[name=clap]").tap()
    slot(phone, "clap").wait_for()
    told(look(phone, "bench, all refused"))
