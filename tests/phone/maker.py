"""Hands for the tests in this room: what a maker does with a screen, and what she sees there.

Every step goes through the page. Only `kept` looks behind it, to see what is really on disk.
"""

import re
import subprocess
import sys
from pathlib import Path
from typing import Any

from playwright.sync_api import Locator, Page, expect

ROOT = Path(__file__).resolve().parents[2]

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
_WHERE = """() => ['title', 'doing', 'lines', 'act']
  .map((name) => document.querySelector(`.board [data-slot="${name}"]`)?.innerText ?? name)
  .concat(location.hash).join('|')"""


def kept(page: Page) -> dict[str, list[dict[str, Any]]]:
    """Everything in IndexedDB: `{"records": […], "events": […]}`."""
    found: dict[str, list[dict[str, Any]]] = page.evaluate(_KEPT)
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
    for _ in range(400):
        if len(kept(page)["events"]) >= events:
            break
        page.wait_for_timeout(25)
    assert len(kept(page)["events"]) == events


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


def start(page: Page, url: str, recipe: str = "slate", count: str = "12", **boxes: str) -> str:
    """Start a pour from its plan and answer its id; `boxes` are typed or chosen by slot name."""
    at(page, url, f"plan/demo-recipe-{recipe}")
    if boxes:
        page.locator("details[data-slot=tools] summary").click()
    for name, value in boxes.items():
        box = slot(page, name)
        if box.evaluate("box => box.tagName") == "SELECT":
            box.select_option(label=value)
        else:
            box.fill(value)
    slot(page, "count").fill(count)
    tap(page, "Start this pour")
    expect(title(page)).to_have_text("Make ready")
    return str(page.evaluate("location.hash.split('/')[2]"))


def make_small_jug(page: Page, url: str) -> None:
    """A jug of her own, “small jug”: it takes five vessels of the demo's 118 ml, and not six."""
    at(page, url, "edit/jug/new")
    for name, value in (("name", "small jug"), ("empty_g", "200 g"), ("volume_ml", "700 ml")):
        page.locator(f"[data-field={name}] input").fill(value)
    tap(page, "Save")
    expect(title(page)).to_have_text("Jugs")


def slot(page: Page, name: str) -> Locator:
    """What the screen keeps a place for."""
    return page.locator(f'#screen [data-slot="{name}"]')


def title(page: Page) -> Locator:
    """The heading of the screen."""
    return page.locator("#screen h1")


def board(page: Page) -> dict[str, str]:
    """All that the board says, by place."""
    said: dict[str, str] = page.evaluate(_BOARD)
    return said


def tap(page: Page, name: str) -> None:
    page.get_by_role("button", name=name, exact=True).click()


def press(page: Page, text: str) -> None:
    """Press keys of the open pad."""
    for character in text:
        page.locator("dialog.pad .keys button", has_text=character).first.click()


def read_off(page: Page, text: str) -> None:
    """Open the pad, press what the scale or thermometer reads, and enter it."""
    tap(page, "It reads…")
    press(page, text)
    tap(page, "Enter")


def step(page: Page) -> None:
    """Do what the board says next, and wait until it says something else."""
    before = page.evaluate(_WHERE)
    here = title(page).inner_text()
    main = page.locator(".act .go")
    if here.startswith("Cool to") and main.locator("[data-slot=draft]").count():
        read_off(page, "70")
    else:
        main.click()
    moved(page, before)


def where(page: Page) -> str:
    """The board's step in words, for `moved`."""
    return str(page.evaluate(_WHERE))


def moved(page: Page, before: str) -> None:
    """Wait until the board is no longer where it was."""
    page.wait_for_function(f"(before) => ({_WHERE})() !== before", arg=before)


def go_to(page: Page, name: str) -> None:
    """Do what the board says until its title begins with `name`."""
    for _ in range(40):
        if title(page).inner_text().startswith(name):
            return
        step(page)
    raise AssertionError(f"The board never came to “{name}”: {board(page)}")
