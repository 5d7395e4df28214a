"""The phone's store in a real browser: what is kept, what is refused, what survives."""

import contextlib
import os
import signal
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import BrowserContext, Error, Page, Playwright

FULL = (
    "The phone has no room left, so nothing was saved. Free some space, then do it again: what "
    "you typed is still here."
)
NOWHERE = (
    "This window can't save anything: it may be a private one, or storage is switched off. Open "
    "the bench in an ordinary window, so that a pour can't be lost."
)

Json = Any


def do(page: Page, body: str, given: Json = None) -> Json:
    """Run ``body`` with ``store`` and ``g``; an error comes back as {error, says}."""
    return page.evaluate(
        """async ([body, g]) => {
          const store = await import('/records/store.js');
          const AsyncFunction = (async () => {}).constructor;
          try {
            return await new AsyncFunction('store', 'g', body)(store, g);
          } catch (error) {
            const kind = ['StoreError', 'MovedOn'].find((name) => error instanceof store[name]);
            return { error: kind ?? error.name, says: error.message };
          }
        }""",
        [body, given],
    )


def raw(page: Page, name: str) -> list[Json]:
    """All rows of an object store, as they lie on disk."""
    rows: list[Json] = page.evaluate(
        """(name) => new Promise((resolve, reject) => {
          const opening = indexedDB.open('pour-bench');
          opening.onerror = () => reject(opening.error);
          opening.onsuccess = () => {
            const reading = opening.result.transaction(name).objectStore(name).getAll();
            reading.onsuccess = () => { resolve(reading.result); opening.result.close(); };
          };
        })""",
        name,
    )
    return rows


# ---- records -----------------------------------------------------------------------------------


def test_a_record_is_saved_changed_listed_and_removed(tab: Page) -> None:
    assert do(tab, "return store.count()") == 0
    assert do(tab, "return await store.get('wax', 'a') ?? 'never'") == "never"
    do(tab, "await store.save('wax', 'a', {name: 'Dune', highest_load: 0.1})")
    do(tab, "await store.save('wax', 'b', {name: 'Bog', highest_load: 0.08})")
    do(tab, "await store.save('waxen', 'c', {name: 'another kind'})")
    do(tab, "await store.save('wax', 'a', {highest_load: 0.12})")
    dune = {"kind": "wax", "id": "a", "name": "Dune", "highest_load": 0.12}
    assert do(tab, "return store.get('wax', 'a')") == dune
    assert [each["name"] for each in do(tab, "return store.all('wax')")] == ["Bog", "Dune"]
    do(tab, "await store.remove('wax', 'a')")
    assert [each["name"] for each in do(tab, "return store.all('wax')")] == ["Bog"]
    # What was made of it still finds it.
    assert do(tab, "return store.get('wax', 'a')") == {**dune, "deleted": True}
    assert do(tab, "return store.count()") == 3


def test_a_field_that_does_not_change_keeps_its_stamp(tab: Page) -> None:
    do(tab, "await store.save('wax', 'a', {name: 'Dune', highest_load: 0.1})")
    (before,) = raw(tab, "records")
    do(tab, "await store.save('wax', 'a', {name: 'Dune', highest_load: 0.12})")
    (after,) = raw(tab, "records")
    assert after["fields"]["name"] == before["fields"]["name"]
    assert after["fields"]["highest_load"]["stamp"] > before["fields"]["highest_load"]["stamp"]


def test_every_tab_hears_of_a_change(context: BrowserContext, tab: Page, records_url: str) -> None:
    other = context.new_page()
    other.goto(records_url)
    listen = "globalThis.heard = []; store.onChange((changes) => heard.push(...changes))"
    for page in (tab, other):
        do(page, listen)
    do(tab, "await store.save('wax', 'a', {name: 'Dune'})")
    do(tab, "await store.append('pour', 'p', {type: 'ready', at: 1})")
    for page in (tab, other):
        page.wait_for_function("() => globalThis.heard.length === 2")
        assert page.evaluate("globalThis.heard") == [
            {"kind": "wax", "id": "a"},
            {"kind": "pour", "id": "p", "event": True},
        ]


# ---- events ------------------------------------------------------------------------------------


def test_events_come_back_in_order_and_only_of_their_pour(tab: Page) -> None:
    kept = do(
        tab,
        """const kept = [];
        for (let n = 0; n < 30; n += 1) {
          const noted = {type: 'noted', at: 5, text: `${n}`};
          kept.push(await store.append('pour', n % 3 ? 'one' : 'on', noted));
        }
        return kept""",
    )
    one = do(tab, "return store.events('pour', 'one')")
    assert one == [event for event in kept if event["of"] == ["pour", "one"]]
    assert len(do(tab, "return store.events('pour', 'on')")) == 10
    # Records of other kinds may have the same id.
    assert do(tab, "return store.events('wax', 'one')") == []
    ids = [event["id"] for event in kept]
    assert ids == sorted(set(ids))


def test_nothing_is_written_to_a_pour_that_has_moved_on(
    context: BrowserContext, tab: Page, records_url: str
) -> None:
    other = context.new_page()
    other.goto(records_url)
    first = do(tab, "return (await store.append('pour', 'p', {type: 'ready', at: 1}, null)).id")
    melted = "return (await store.append('pour', 'p', {type: 'melted', at: 2, jug: 0}, g)).id"
    second = do(other, melted, first)
    refused = do(tab, "return store.append('pour', 'p', {type: 'poured', at: 3, jug: 0}, g)", first)
    assert refused["error"] == "MovedOn"
    # Nor to a pour that the screen took for a new one.
    assert (
        do(tab, "return store.append('pour', 'p', {type: 'x', at: 3}, null)")["error"] == "MovedOn"
    )
    assert [event["id"] for event in do(tab, "return store.events('pour', 'p')")] == [first, second]
    # Another pour's events are no reason to refuse, and the refused tab may go on from here.
    do(other, "await store.append('pour', 'q', {type: 'ready', at: 4}, null)")
    third = do(tab, "return store.append('pour', 'p', {type: 'poured', at: 5, jug: 0}, g)", second)
    assert third["id"] > second


def test_two_tabs_at_once_make_no_stamp_twice(
    context: BrowserContext, tab: Page, records_url: str
) -> None:
    other = context.new_page()
    other.goto(records_url)
    start = """globalThis.made = (async () => {
        const made = [];
        for (let n = 0; n < 50; n += 1) {
          const tab = g;
          const noted = {type: 'noted', at: n, text: `${tab} ${n}`};
          const event = await store.append('pour', 'p', noted);
          if (n % 10 === 0) await store.save('wax', `${tab}${n}`, {name: 'x'});
          made.push(event.id);
        }
        return made;
      })()"""
    do(tab, start + "; return null", "left")
    do(other, start + "; return null", "right")
    left, right = (page.evaluate("globalThis.made") for page in (tab, other))
    assert left == sorted(left)
    assert right == sorted(right)
    assert len({*left, *right}) == 100
    events = do(tab, "return store.events('pour', 'p')")
    assert [event["id"] for event in events] == sorted([*left, *right])
    for side in ("left", "right"):
        texts = [event["text"] for event in events if event["text"].startswith(side)]
        assert texts == [f"{side} {n}" for n in range(50)]
    stamps = [row["fields"]["name"]["stamp"] for row in raw(tab, "records")]
    assert len({*left, *right, *stamps}) == 110


def test_a_clock_put_back_makes_no_earlier_stamp(tab: Page) -> None:
    made = do(
        tab,
        """const real = Date.now;
        const made = [];
        for (const back of [0, 3_600_000, 86_400_000 * 400, 0]) {
          Date.now = () => real() - back;
          made.push((await store.append('pour', 'p', {type: 'noted', at: 1})).id);
        }
        Date.now = real;
        return made""",
    )
    assert made == sorted(set(made))


# ---- records from elsewhere --------------------------------------------------------------------


def brought(stamp: str, name: str = "Theirs") -> Json:
    return {"kind": "wax", "id": "a", "fields": {"name": {"value": name, "stamp": stamp}}}


BRING = "await store.bringIn(g.records, g.events)"
EARLY = "001700000000000.0000.them"
AHEAD = "002999999999999.0000.them"


def test_bringing_in_twice_changes_nothing_and_loses_nothing_newer(tab: Page) -> None:
    event = {"id": EARLY, "of": ["pour", "p"], "type": "ready", "at": 1}
    given = {"records": [brought(EARLY)], "events": [event]}
    do(tab, BRING, given)
    first = raw(tab, "records"), raw(tab, "events")
    do(tab, BRING, given)
    assert (raw(tab, "records"), raw(tab, "events")) == first
    do(tab, "await store.save('wax', 'a', {name: 'Mine'})")
    mine = raw(tab, "records")
    do(tab, BRING, given)
    assert raw(tab, "records") == mine


def test_what_she_changes_after_bringing_in_is_later_than_that(tab: Page) -> None:
    """The other device's clock may run ahead of this one's."""
    event = {"id": AHEAD, "of": ["pour", "p"], "type": "ready", "at": 1}
    given = {"records": [brought(AHEAD)], "events": [event]}
    do(tab, BRING, given)
    do(tab, "await store.save('wax', 'a', {name: 'Mine'})")
    do(tab, BRING, given)
    assert do(tab, "return (await store.get('wax', 'a')).name") == "Mine"
    after = do(tab, "return store.append('pour', 'p', {type: 'melted', at: 2, jug: 0}, g)", AHEAD)
    assert after["id"] > AHEAD
    types = [each["type"] for each in do(tab, "return store.events('pour', 'p')")]
    assert types == ["ready", "melted"]


# ---- where nothing can be kept -----------------------------------------------------------------


def test_a_full_phone_says_so_and_keeps_nothing_by_halves(
    context: BrowserContext, tab: Page, records_url: str
) -> None:
    # Set before the first write: Chromium asks for the room that is left and remembers it a while.
    context.new_cdp_session(tab).send(
        "Storage.overrideQuotaForOrigin",
        {"origin": records_url.rstrip("/"), "quotaSize": 2_000_000},
    )
    do(tab, "await store.save('wax', 'a', {name: 'Dune'})")
    before = raw(tab, "records"), raw(tab, "events"), raw(tab, "device")
    # Random, because what is kept is packed.
    large = """const bytes = () => crypto.getRandomValues(new Uint8Array(9999));
        const part = () => String.fromCharCode(...bytes());
        const large = Array.from({length: 300}, part).join('');"""
    for body in (
        "await store.save('wax', 'a', {name: 'Bog', notes: large})",
        "await store.append('pour', 'p', {type: 'noted', at: 1, text: large})",
        """await store.bringIn(
          [{kind: 'wax', id: 'b', fields: {name: {value: 'Bog', stamp: g}}},
           {kind: 'wax', id: 'c', fields: {notes: {value: large, stamp: g}}}],
          [{id: g, of: ['pour', 'p'], type: 'ready', at: 1}])""",
    ):
        assert do(tab, large + body, EARLY) == {"error": "StoreError", "says": FULL}
    assert (raw(tab, "records"), raw(tab, "events"), raw(tab, "device")) == before
    # What is there can still be read.
    assert do(tab, "return (await store.get('wax', 'a')).name") == "Dune"


@pytest.mark.parametrize(
    "broken",
    [
        "Object.defineProperty(globalThis, 'indexedDB', { value: undefined })",
        "IDBFactory.prototype.open = () => { throw new DOMException('no', 'SecurityError'); }",
        """IDBFactory.prototype.open = () => {
          const request = { error: new DOMException('no', 'InvalidStateError') };
          queueMicrotask(() => request.onerror());
          return request;
        }""",
    ],
    ids=["missing", "throws", "fails"],
)
def test_a_window_that_keeps_nothing_says_so(
    context: BrowserContext, records_url: str, broken: str
) -> None:
    context.add_init_script(broken)
    page = context.new_page()
    page.goto(records_url)
    for body in (
        "return store.count()",
        "return store.get('wax', 'a')",
        "return store.all('wax')",
        "return store.events('pour', 'p')",
        "await store.save('wax', 'a', {name: 'Dune'})",
        "await store.append('pour', 'p', {type: 'ready', at: 1}, null)",
        "await store.bringIn([], [])",
    ):
        assert do(page, body) == {"error": "StoreError", "says": NOWHERE}


def test_a_failed_opening_is_tried_again(context: BrowserContext, records_url: str) -> None:
    context.add_init_script(
        """const open = IDBFactory.prototype.open;
        IDBFactory.prototype.open = function (...args) {
          IDBFactory.prototype.open = open;
          throw new DOMException('not yet', 'UnknownError');
        }"""
    )
    page = context.new_page()
    page.goto(records_url)
    assert do(page, "return store.count()")["error"] == "StoreError"
    assert do(page, "return store.count()") == 0


def test_a_newer_version_elsewhere_is_not_held_up(
    context: BrowserContext, tab: Page, records_url: str
) -> None:
    do(tab, "await store.save('wax', 'a', {name: 'Dune'})")
    other = context.new_page()
    other.goto(records_url)
    outcome = other.evaluate(
        """() => new Promise((resolve) => {
          const opening = indexedDB.open('pour-bench', 99);
          opening.onblocked = () => resolve('blocked');
          opening.onsuccess = () => { opening.result.close(); resolve('opened'); };
        })"""
    )
    assert outcome == "opened"
    # The old code can't read the newer store; it says so in its own words and does not break.
    newer = (
        "A newer version of the bench has been opened on this phone: reload this page to go on "
        "with it."
    )
    assert do(tab, "return store.count()") == {"error": "StoreError", "says": newer}


def test_storage_cleared_under_an_open_page_is_opened_afresh(
    context: BrowserContext, tab: Page, records_url: str
) -> None:
    do(tab, "await store.save('wax', 'a', {name: 'Dune'})")
    cdp = context.new_cdp_session(tab)
    clear = {"origin": records_url.rstrip("/"), "storageTypes": "indexeddb"}
    # Once is not always enough: now and then a busy Chromium clears before it has noted the write.
    for _ in range(100):
        cdp.send("Storage.clearDataForOrigin", clear)
        if tab.evaluate("async () => (await indexedDB.databases()).length") == 0:
            break
        tab.wait_for_timeout(50)
    do(tab, "await store.save('wax', 'b', {name: 'Bog'})")
    assert [each["id"] for each in do(tab, "return store.all('wax')")] == ["b"]


# ---- what survives -----------------------------------------------------------------------------


def test_records_survive_a_reload(tab: Page) -> None:
    do(tab, "await store.save('wax', 'a', {name: 'Dune'})")
    first = do(tab, "return (await store.append('pour', 'p', {type: 'ready', at: 1}, null)).id")
    tab.reload()
    assert do(tab, "return (await store.get('wax', 'a')).name") == "Dune"
    assert [each["id"] for each in do(tab, "return store.events('pour', 'p')")] == [first]
    assert (
        do(tab, "return (await store.append('pour', 'p', {type: 'x', at: 1}, g)).id", first) > first
    )


def test_records_survive_the_end_of_the_browser(
    playwright: Playwright, chromium_path: str, records_url: str, tmp_path: Path
) -> None:
    """A proper end, then a kill in the very moment in which the promise has resolved."""

    def start() -> tuple[BrowserContext, Page]:
        context = playwright.chromium.launch_persistent_context(
            tmp_path, executable_path=chromium_path
        )
        page = context.new_page()
        page.goto(records_url)
        return context, page

    context, page = start()
    do(page, "await store.save('wax', 'a', {name: 'Dune'})")
    context.close()

    context, page = start()
    assert do(page, "return (await store.get('wax', 'a')).name") == "Dune"
    kept = do(page, "return (await store.append('pour', 'p', {type: 'ready', at: 1}, null)).id")
    os.kill(main_process(tmp_path), signal.SIGKILL)
    # Playwright may have noticed first that it is gone.
    with contextlib.suppress(Error):
        context.close()

    context, page = start()
    assert [each["id"] for each in do(page, "return store.events('pour', 'p')")] == [kept]
    assert do(page, "return (await store.get('wax', 'a')).name") == "Dune"
    context.close()


def main_process(profile: Path) -> int:
    """The browser that this test started, by the lock that it holds on its own profile."""
    return int(os.readlink(profile / "SingletonLock").rsplit("-", 1)[1])
