"""What a maker does with the app, by finger and keys, and what she sees there.

Every step goes through the page, and waits for what it leads to. Only `kept` looks behind it, to
see what is really on disk.
"""

import re
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

from playwright.sync_api import Locator, Page, expect

from tests.in_page import ask
from tests.waits import resting, until

ROOT = Path(__file__).resolve().parents[2]

THERMOMETER = "Thermometer shows…"
ASKS = re.compile(f"^(Another number|{THERMOMETER}|Dip again|Dip)$")
"""What opens the pad or the ladder."""

# All records and events, read without the app's own code.
_KEPT = """() => new Promise((resolve, reject) => {
  const asked = indexedDB.open('pour-bench');
  asked.onerror = () => reject(asked.error);
  asked.onsuccess = () => {
    const db = asked.result;
    const found = {};
    const reading = db.transaction(['records', 'events']);
    for (const name of ['records', 'events']) {
      reading.objectStore(name).getAll().onsuccess = (event) => (found[name] = event.target.result);
    }
    reading.oncomplete = () => { db.close(); resolve(found); };
  };
})"""

_BOARD = """() => {
  const text = (name) => {
    const place = document.querySelector(`.board [data-slot="${name}"]`);
    return place?.checkVisibility() ? place.innerText.replace(/\\s+/g, ' ').trim() : '';
  };
  const names = ['title', 'place', 'doing', 'num', 'lines', 'checks', 'cautions', 'say', 'act'];
  return Object.fromEntries(names.map((name) => [name, text(name)]));
}"""

# What changes with a step, and not by the mere passing of time.
_WHERE = """() => ['title', 'doing', 'act']
  .map((name) => document.querySelector(`.board [data-slot="${name}"]`)?.innerText ?? name)
  .concat(location.hash).join('|')"""

_COUNT = """() => {
  addEventListener('pointerdown', ({ isTrusted }) => {
    if (isTrusted) sessionStorage.touches = 1 + Number(sessionStorage.touches ?? 0);
  }, true);
}"""


# ---- places on a screen --------------------------------------------------------------------------


def slot(page: Page, name: str) -> Locator:
    """What the screen keeps a place for."""
    return page.locator(f'#screen [data-slot="{name}"]')


def title(page: Page) -> Locator:
    """The heading of the screen."""
    return page.locator("#screen h1")


# ---- the desk ------------------------------------------------------------------------------------


def at(page: Page, url: str, path: str) -> None:
    """Open a screen, such as 'plan/demo-recipe-slate', and wait until it is drawn."""
    goal = f"{url}#/{path}"
    if page.url == goal:
        page.reload()
    else:
        # The screen before may be of the same kind: marked, it is not taken for the new one.
        page.evaluate("document.querySelector('#screen > *')?.setAttribute('data-before', '')")
        page.goto(goal)
    name = path.split("/", maxsplit=1)[0]
    expect(page.locator(f"#screen > .screen.{name}:not([data-before])")).to_be_visible()
    expect(page.locator(f"body[data-screen={name}]")).to_be_visible()


def tap(page: Page, name: str) -> None:
    """Touch the button of this name."""
    page.get_by_role("button", name=name, exact=True).tap()


def remove(page: Page) -> None:
    """Touch *Delete*, and touch it again once it asks whether she really means it."""
    button = slot(page, "remove")
    button.tap()
    expect(button).to_have_text(re.compile("^Really delete"))
    button.tap()


def say_why(page: Page, why: str = "it was a mistake") -> None:
    """What belongs to a product's file is deleted once it was said why."""
    asked = page.locator("dialog.ask")
    expect(asked).to_contain_text("Why is it deleted?")
    asked.get_by_role("textbox").fill(why)
    asked.get_by_role("button", name="Delete it").click()
    expect(asked).to_have_count(0)


def fill(page: Page, **values: str) -> None:
    """Type or choose values in the fields of the open form."""
    for name, value in values.items():
        field = page.locator(f'[data-field="{name}"]')
        _put(field.locator("input, select, textarea").first, value)


def _put(box: Locator, value: str) -> None:
    if box.evaluate("box => box.tagName") == "SELECT":
        box.select_option(label=value)
    else:
        box.fill(value)


def make(page: Page, url: str, kind: str, **values: str) -> None:
    """Make a record of `kind` in its form."""
    at(page, url, f"edit/{kind}/new")
    expect(title(page)).to_have_text(re.compile("^New "))
    fill(page, **values)
    slot(page, "save").tap()
    expect(slot(page, "form")).to_have_count(0)


def make_small_jug(page: Page, url: str) -> None:
    """A jug of her own, “small jug”: it takes five vessels of the demo's 118 ml, and not six."""
    make(page, url, "jug", name="small jug", empty_g="200 g", volume_ml="700 ml")


def start(page: Page, url: str, recipe: str = "slate", count: str = "12", **boxes: str) -> str:
    """Start a pour from its plan and answer its id; `boxes` are typed or chosen by slot name."""
    at(page, url, f"plan/demo-recipe-{recipe}")
    if boxes:
        page.locator("details[data-slot=tools] summary").click()
    for name, value in boxes.items():
        _put(slot(page, name), value)
    slot(page, "count").fill(count)
    tap(page, "Start this pour")
    expect(title(page)).to_have_text("Make ready")
    return str(page.evaluate("location.hash.split('/')[2]"))


# ---- the board -----------------------------------------------------------------------------------


def free(page: Page) -> None:
    """Wait until the board has kept what was done: until then it takes no other touch."""
    expect(page.locator(".act[aria-busy]")).to_have_count(0)


def tap_main(page: Page) -> None:
    """Touch the board's main action."""
    free(page)
    page.locator(".act .go").tap()


def as_shown(page: Page) -> None:
    """Take the scale's mark in one touch."""
    expect(page.locator(".act .go [data-slot=draft]")).to_be_visible()
    tap_main(page)


def nudge(page: Page, *words: str) -> None:
    """Move what the scale should show, such as by "0.1 less"."""
    for each in words:
        page.locator(".nudges").get_by_role("button", name=each, exact=True).tap()


def read_off(page: Page, text: str) -> None:
    """Open the pad, press what the scale or thermometer shows, and enter it."""
    open_pad(page)
    press(page, text)
    tap(page, "Enter")


def open_pad(page: Page) -> None:
    """Open the pad for what the board asks to be read, by the ladder if that comes first."""
    free(page)
    page.locator(".act").get_by_role("button", name=ASKS).first.tap()
    page.locator("dialog[open]").wait_for()
    if page.locator("dialog.ladder").count():
        page.locator("dialog.ladder").get_by_role("button", name="Another number").tap()
    expect(page.locator("dialog.pad")).to_be_visible()


def read_on_ladder(page: Page, below: int) -> None:
    """Open the thermometer, and touch the rung so many steps below where it opens."""
    free(page)
    page.locator(".act").get_by_role("button", name=ASKS).first.tap()
    rungs = page.locator("dialog.ladder .rungs button")
    expect(rungs.first).to_be_attached()
    rungs.nth(rungs.count() // 2 + below).tap()
    expect(page.locator("dialog.ladder")).to_have_count(0)


def press(page: Page, text: str) -> None:
    """Touch keys of the open pad."""
    for character in text:
        page.locator("dialog.pad .keys").get_by_role("button", name=character, exact=True).tap()


def dont_wait(page: Page) -> None:
    """Go on though the wax is not where it should be."""
    do_seldom(page, "Don't wait: go on now")


def do_seldom(page: Page, name: str, why: str = "") -> None:
    """Open what is seldom done at a jug, and do it."""
    free(page)
    tap(page, "More")
    if why:
        page.locator("dialog.more [data-slot=why]").fill(why)
    tap(page, name)
    expect(page.locator("dialog.more")).to_have_count(0)


def step(page: Page) -> None:
    """Do what the board says next, and wait until it says something else."""
    before = page.evaluate(_WHERE)
    here = title(page).inner_text()
    if here.startswith("Cool to") and page.locator(".act .go").inner_text() == THERMOMETER:
        read_off(page, "70")
    else:
        tap_main(page)
    moved(page, before)


def go_to(page: Page, name: str) -> None:
    """Do what the board says until its title begins with `name`."""
    for _ in range(40):
        if title(page).inner_text().startswith(name):
            return
        step(page)
    raise AssertionError(f"The board never came to “{name}”: {board(page)}")


def where(page: Page) -> str:
    """The board's step in words, for `moved`."""
    return str(page.evaluate(_WHERE))


def moved(page: Page, before: str) -> None:
    """Wait until the board is no longer where it was."""
    page.wait_for_function(f"(before) => ({_WHERE})() !== before", arg=before)


# ---- what she sees -------------------------------------------------------------------------------


def board(page: Page) -> dict[str, str]:
    """All that the board says, by place."""
    said: dict[str, str] = page.evaluate(_BOARD)
    return said


def expect_step(page: Page, name: str, number: str | re.Pattern[str] | None = None) -> None:
    """Wait until the board's title has `name` in it, and its giant number is `number`."""
    expect(title(page)).to_have_text(re.compile(name))
    if number is not None:
        expect(slot(page, "number")).to_have_text(number)


def number_on(page: Page) -> str:
    """The giant number as text, without the narrow spaces between thousands."""
    return slot(page, "number").inner_text().replace("\u202f", "")


def seconds_on(page: Page) -> int:
    """The giant number read as a countdown."""
    total = 0
    for part in number_on(page).split(":"):
        total = total * 60 + int(part)
    return total


def count_touches(page: Page) -> Callable[[], int]:
    """Count from now on what a finger touches, over reloads too; call the answer for the count."""
    page.evaluate("delete sessionStorage.touches")
    page.add_init_script(f"({_COUNT})()")
    page.evaluate(_COUNT)
    return lambda: int(page.evaluate("Number(sessionStorage.touches ?? 0)"))


# ---- what is kept --------------------------------------------------------------------------------


def kept(page: Page) -> dict[str, list[dict[str, Any]]]:
    """Everything in IndexedDB: `{"records": […], "events": […]}`."""
    found: dict[str, list[dict[str, Any]]] = ask(page, _KEPT)
    return found


def benchapp(*arguments: str, data: Path, database: str | None = None) -> str:
    """Run a command of benchapp beside the server and answer what it prints."""
    command = [sys.executable, "-m", "benchapp", *arguments, "--data", str(data)]
    command += ["--database", database] if database else []
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


def new_code(data: Path, database: str | None = None) -> str:
    """A code that lets a device in."""
    said = benchapp("pair", data=data, database=database)
    found = re.search(r"\b[0-9A-Z]{4}-[0-9A-Z]{4}\b", said)
    assert found, said
    return found[0]


def until_kept(page: Page, events: int) -> None:
    """Wait until so many events are on disk."""
    until(lambda: len(kept(page)["events"]) >= events, pause=resting(page))
    assert len(kept(page)["events"]) == events
