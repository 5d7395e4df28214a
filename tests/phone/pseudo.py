"""Working the app in the pseudo-language, and looking at it.

The demo's records have names in Greek letters: what is in plain letters is the bench's own.
"""

import json
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from playwright.sync_api import BrowserContext, Locator, Page

from benchapp.records import demo
from benchapp.words.pseudo import translate
from benchapp.words.setting import VARIABLE

LANGUAGE = {VARIABLE: "en-XA"}
SIZES = ((320, 640), (390, 844))

NO_WORDS = [
    *("g", "kg", "oz", "lb", "ml", "fl", "US", "imp", "mm", "cm", "in"),  # units
    "UTC",  # a zone
    "EUR",  # a currency
]

#: What a record names itself and its parts by.
_NAMED = {
    "name",
    "series",
    "size",
    "mail",
    "address",
    "telephone",
    "certificate",
    *("where", "why", "risk", "remedy"),
    "title",
    "nose",
    *("classes", "limits", "supplied", "language"),
    *("called", "electronic", "product", "says", "own"),
    *("safety", "standards", "shows"),
}
_SOMETIMES_NAMED = {"what", "how", "done", "place"}
"""Elsewhere one of these holds a choice, which is one word."""
_GREEK = str.maketrans("abcdefghijklmnopqrstuvwxyz", "αβψδεφγηιξκλμνοπθρστυωχςζϊ")

# Days and lists come from the platform, in plain letters as English has them: here they come in
# accents, so that what is put together by hand is found.
_PLATFORM = """(() => {
  const accents = (text) => text.replace(/[a-z]/gi, (letter) => `${letter}\\u0301`);
  const { get } = Object.getOwnPropertyDescriptor(Intl.DateTimeFormat.prototype, 'format');
  Object.defineProperty(Intl.DateTimeFormat.prototype, 'format', {
    get() { return (at) => accents(get.call(this)(at)); },
  });
  Intl.ListFormat.prototype.format = function (items) {
    const parts = this.formatToParts(items);
    return parts.map(({ type, value }) => (type === 'literal' ? accents(value) : value)).join('');
  };
})()"""

_DEMO = """(() => {
  const real = globalThis.fetch;
  globalThis.fetch = (what, ...how) =>
    what === '/demo.json' ? Promise.resolve(Response.json(DEMO)) : real(what, ...how);
})()"""

_GO = """(path) => {
  document.querySelector('#screen > *')?.setAttribute('data-before', '');
  if (location.hash === `#/${path}`) dispatchEvent(new HashChangeEvent('hashchange'));
  else location.hash = `#/${path}`;
}"""

# A pour of a recipe with events some seconds ago; a weight is told by how far it is off the mark.
_POUR = """async ([recipe, count, events]) => {
  const { makeSheet } = await import('/static/bench/sheet.js');
  const { readPour, startPour } = await import('/static/bench/pours.js');
  const { materials } = await import('/static/bench/materials.js');
  const store = await import('/static/records/store.js');
  const all = async (kind) => (await store.all(kind)).sort((a, b) => b.step_g - a.step_g);
  const [[scale, fine], [jug], [heater], [thermometer]] =
    await Promise.all(['scale', 'jug', 'heater', 'thermometer'].map(all));
  const tools = { scale, fine, jug, heater, thermometer, room_c: 20, allowance_g: 5 };
  const of = await store.get('recipe', `demo-recipe-${recipe}`);
  const now = Date.now();
  const id = await startPour(makeSheet(of, await materials(), tools, count), now - 7_200_000);
  for (const { ago_s = 0, off_g, ...event } of events) {
    const current = (await readPour(id)).state.jugs[event.jug ?? 0].current;
    const read = off_g === undefined ? {} : { read_g: current.target_g + off_g };
    await store.append('pour', id, { ...event, ...read, at: now - 1000 * ago_s });
  }
  return id;
}"""


def in_greek(value: Any) -> Any:
    """A record, or a list of them, with other names."""
    if isinstance(value, list):
        return [in_greek(each) for each in value]
    if isinstance(value, dict):
        return {
            key: each.lower().translate(_GREEK)
            if isinstance(each, str)
            and (key in _NAMED or (key in _SOMETIMES_NAMED and " " in each))
            else in_greek(each)
            for key, each in value.items()
        }
    return value


def prepare(context: BrowserContext) -> None:
    """Give the phone the Greek workshop where the server offers the demo, and eyes to look with."""
    made = in_greek(demo.workshop(datetime.now(UTC).astimezone().date()))
    context.add_init_script(_PLATFORM)
    context.add_init_script(_DEMO.replace("DEMO", json.dumps(made)))
    context.add_init_script(path=Path(__file__).with_name("look.js"))


def look(page: Page, name: str) -> list[str]:
    """What is wrong with the screen, a sentence each: words at once, room at every size."""
    found = [f"{name}: {each}" for each in page.evaluate("words => look.plain(words)", NO_WORDS)]
    for width, height in SIZES:
        page.set_viewport_size({"width": width, "height": height})
        page.evaluate("look.settled()")
        found += [f"{name} at {width} px: {each}" for each in page.evaluate("look.cut()")]
    return found


def go(page: Page, path: str) -> None:
    """Open a screen by its address, and wait until it is drawn."""
    page.evaluate(_GO, path)
    name = path.split("/", maxsplit=1)[0]
    page.locator(f"#screen > .screen.{name}:not([data-before])").wait_for()
    page.locator(f"body[data-screen={name}]").wait_for()


def pour(page: Page, recipe: str, count: int, events: list[dict[str, Any]]) -> str:
    """Make a pour at which these events have happened; answer its id."""
    made: str = page.evaluate(_POUR, [recipe, count, events])
    return made


def button(page: Page, words: str) -> Locator:
    """The button that says this in English."""
    return page.get_by_role("button", name=translate(words), exact=True)
