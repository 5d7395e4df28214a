"""The first visit: the bench in one pack and the desk in another, and all the same where that can't
be."""

from typing import Any

from playwright.sync_api import Locator, Page, expect

from tests.conftest import WHOLE

# What came over the wire and not from the worker.
FETCHED = """() => performance.getEntriesByType('resource')
  .filter(({ workerStart }) => workerStart === 0)
  .map(({ name }) => new URL(name).pathname)"""
STARTS = {
    "/static/start.js",
    "/static/addresses.js",
    "/static/desk.js",
    "/static/offline.js",
    *(f"/static/look/{name}.css" for name in ("tokens", "paper", "pours", "board", "print")),
}


def today(page: Page) -> None:
    expect(page.locator("#screen h1")).to_have_text("Today")


def notice(page: Page) -> Locator:
    return page.locator('[data-slot="notices"]')


def test_no_file_comes_twice(server, door, phone):
    front = door(server().url)
    come = front.hold("/desk.pack")
    phone.goto(front.url)
    today(phone)
    # Icons and manifest are fetched by the browser when it likes.
    files = {each for each in phone.evaluate(FETCHED) if each.startswith("/static/")}
    assert {each for each in files if "/icons/" not in each} == STARTS
    assert phone.evaluate("navigator.serviceWorker.controller.state") == "activated"
    # What stands there while the desk comes does not go when it is there: all below would jump.
    expect(notice(phone)).not_to_be_empty()
    come.set()
    expect(notice(phone)).to_contain_text("Works offline")
    phone.reload()
    today(phone)
    assert phone.evaluate(f"({WHOLE})()")
    expect(notice(phone)).to_have_text("")


def test_a_pack_that_cannot_be_had_leaves_a_bench_with_signal(server, door, phone, page_errors):
    front = door(server().url)
    front.spoiled["/bench.pack"] = lambda status, body: (500, b"broken")
    phone.goto(front.url)
    today(phone)
    expect(notice(phone)).to_contain_text("could not be saved on this phone")
    page_errors.clear()  # the browser logs the failed fetch


def test_a_pack_that_takes_too_long_is_not_waited_for(server, door, phone):
    front = door(server().url)
    come = front.hold("/bench.pack")
    phone.clock.install()
    try:
        phone.goto(front.url)
        expect(phone.locator("#screen")).to_contain_text("Opening the bench")
        phone.wait_for_timeout(300)
        phone.clock.fast_forward(15_000)
        today(phone)
        expect(notice(phone)).to_contain_text("still loading on to this phone")
        # What stands there does not go when it is well: all below would jump.
        come.set()
        expect(notice(phone)).to_contain_text("Works offline")
    finally:
        come.set()


def test_a_browser_that_keeps_nothing_opens_it_at_once(server, phone):
    phone.add_init_script("delete Navigator.prototype.serviceWorker")
    phone.add_init_script("delete StorageManager.prototype.persist")
    phone.goto(server().url)
    today(phone)
    expect(notice(phone)).to_contain_text("can't save the bench")
    # Nor does it promise to: then it is not asked.
    phone.get_by_role("link", name="Workshop").click()
    expect(phone.locator("[data-slot=kept]")).to_contain_text("can’t promise to keep")
    expect(phone.locator("[data-slot=ask]")).to_be_hidden()


# As before a browser knew workers of modules: it takes the worker for a script, and fails. Nor does
# it know of a height that follows its bars.
OLD = """
const { supports } = CSS;
CSS.supports = (asked) => !asked.includes('dvh') && supports.call(CSS, asked);
const { register } = ServiceWorkerContainer.prototype;
ServiceWorkerContainer.prototype.register = function (url, { scope, updateViaCache }) {
  return register.call(this, url, { scope, updateViaCache });
};
"""


def test_a_browser_that_is_too_old_is_told_what_it_takes(server, phone, page_errors):
    phone.add_init_script(OLD)
    phone.goto(server().url)
    today(phone)
    expect(notice(phone)).to_contain_text("screens may be cut off")
    expect(notice(phone)).to_contain_text("too old to keep the bench")
    expect(notice(phone)).to_contain_text("Firefox 147")
    page_errors.clear()  # the browser logs what it made of the worker


def test_a_reload_past_the_worker_opens_it_at_once(server, phone, open_ready, phone_context: Any):
    open_ready(phone, server().url)
    session = phone_context.new_cdp_session(phone)
    session.send("Page.reload", {"ignoreCache": True})
    today(phone)
