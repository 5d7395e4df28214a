"""The service worker in a real browser, against the real server."""

import threading
from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from benchapp.web.headers import HEADERS

DEBUG = {"BENCHAPP_DEBUG": "1"}  # the server reads the shell anew, so an edition can be published

CACHES = """async () => {
  const found = {};
  for (const name of await caches.keys()) {
    found[name] = (await (await caches.open(name)).keys()).map((r) => new URL(r.url).pathname);
  }
  return found;
}"""

HEADERS_OF = "async (url) => Object.fromEntries((await fetch(url)).headers)"

# Ask the server for a newer version and wait until that is installed or has failed.
UPDATE = """async () => {
  const registration = await navigator.serviceWorker.ready;
  const fate = new Promise((resolve) => registration.addEventListener('updatefound', () => {
    const { installing } = registration;
    installing.addEventListener('statechange', () => {
      if (['installed', 'redundant'].includes(installing.state)) resolve(installing.state);
    });
  }, { once: true }));
  // A script that cannot be had makes update() itself fail; a bad file lets only install fail.
  await registration.update();
  return fate;
}"""

HELD = """async () => (await navigator.locks.query()).held.map((lock) => lock.name)"""


def edition(page: Page) -> str:
    page.wait_for_function("() => globalThis.bench !== undefined")
    name: str = page.evaluate("bench.edition")
    return name


@pytest.fixture
def bench(server: Callable[..., Any], checkout: Any) -> Any:
    return server(checkout=checkout.path, environment=DEBUG, demo=True)


def test_first_visit_then_no_server(bench, phone, open_ready, page_errors):
    open_ready(phone, bench.url)
    expect(phone).to_have_title("ready false")
    bench.stop()
    phone.reload()
    assert edition(phone) == "one"
    phone.goto(bench.url + "pour/12?from=reminder")
    assert edition(phone) == "one"
    assert phone.url == bench.url + "pour/12?from=reminder"
    assert phone.evaluate("bench.late()") == "one"
    status = "async () => (await fetch('/static/late.js?noise=1')).status"
    assert phone.evaluate(status) == 200
    page_errors.clear()  # the browser logs that the newer version could not be asked for


def test_first_visit_then_flight_mode(bench, phone, phone_context, open_ready, page_errors):
    open_ready(phone, bench.url)
    phone_context.set_offline(True)
    phone.reload()
    assert edition(phone) == "one"
    page_errors.clear()


def test_the_first_worker_takes_the_page_without_a_reload(bench, phone, open_ready):
    open_ready(phone, bench.url)
    expect(phone).to_have_title("ready false")
    assert phone.evaluate("bench.loads") == 1
    assert phone.evaluate("bench.states[0]") == ["preparing", False]


def test_the_whole_shell_is_stored_and_nothing_else(bench, phone, phone_context, open_ready):
    open_ready(phone, bench.url)
    assert phone.evaluate("async () => (await fetch('/demo.json')).status") == 200
    (bench_cache, first), (desk_cache, second) = sorted(phone.evaluate(CACHES).items())
    assert bench_cache.startswith("shell-")
    assert desk_cache == f"{bench_cache}-desk"
    assert (first, second) == (["/bench.pack"], ["/desk.pack"])
    bench.stop()
    # As a start finds it: in a worker that has read nothing yet.
    session = phone_context.new_cdp_session(phone)
    session.send("ServiceWorker.enable")
    session.send("ServiceWorker.stopAllWorkers")
    types = {
        "/": "text/html",
        "/manifest.webmanifest": "application/manifest+json",
        "/static/start.js": "text/javascript",
        "/static/edition.js": "text/javascript",
        "/desk.html": "text/html",
        "/static/late.js": "text/javascript",
    }
    for url, mimetype in types.items():
        kept = phone.evaluate(HEADERS_OF, url)
        assert kept["content-type"].split(";")[0] == mimetype
        assert {name.lower(): value for name, value in HEADERS.items()}.items() <= kept.items()


def test_data_is_never_answered_from_the_phone(bench, phone, open_ready, page_errors):
    open_ready(phone, bench.url)
    ask = "(path, options) => fetch(path, options).then((r) => r.status, () => 'no answer')"
    assert phone.evaluate(f"() => ({ask})('/demo.json')") == 200
    bench.stop()
    assert phone.evaluate(f"() => ({ask})('/demo.json')") == "no answer"
    assert phone.evaluate(f"() => ({ask})('/api/anything')") == "no answer"
    post = f"() => ({ask})('/static/late.js', {{method: 'POST'}})"
    assert phone.evaluate(post) == "no answer"
    page_errors.clear()  # each refused request is logged by the browser


@pytest.mark.parametrize(
    "spoil",
    [
        pytest.param(lambda status, body: (500, b"broken"), id="500"),
        pytest.param(
            lambda status, body: (200, body.replace(b"EDITION = 'two'", b"EDITION = 'ten'")),
            id="other bytes",
        ),
        pytest.param(lambda status, body: (302, b""), id="redirect"),
    ],
)
@pytest.mark.parametrize("pack", ["/bench.pack", "/desk.pack"])
def test_a_bad_answer_leaves_the_older_version(
    bench, checkout, door, phone, open_ready, page_errors, spoil, pack
):
    front = door(bench.url)
    open_ready(phone, front.url)
    before = phone.evaluate(CACHES)

    checkout.edition("two")
    front.spoiled[pack] = spoil
    assert phone.evaluate(UPDATE) == "redundant"
    assert phone.evaluate(CACHES) == before
    expect(phone).to_have_title("ready false")
    phone.reload()
    assert edition(phone) == "one"
    assert phone.evaluate("bench.late()") == "one"
    page_errors.clear()  # the browser logs the failed fetch

    # The good answer then brings the newer version.
    front.spoiled.clear()
    assert phone.evaluate(UPDATE) == "installed"
    expect(phone).to_have_title("ready true")


def test_a_first_visit_that_fails_says_so(bench, door, phone, page_errors):
    front = door(bench.url)
    front.spoiled["/bench.pack"] = lambda status, body: (500, b"broken")
    phone.goto(front.url)
    expect(phone).to_have_title("failed false")
    assert phone.evaluate(CACHES) == {}
    page_errors.clear()


# ---- between the packs -------------------------------------------------------------------------


LATE = "() => bench.late().catch(() => 'not to be had')"


def broken(status: int, body: bytes) -> tuple[int, bytes]:
    return 500, b"broken"


@pytest.fixture
def half(bench, door, phone, page_errors) -> Any:
    """A door behind which the bench pack is to be had and the desk pack is not; the bench is on the
    phone."""
    front = door(bench.url)
    front.spoiled["/desk.pack"] = broken
    phone.goto(front.url)
    expect(phone).to_have_title("preparing false")
    phone.wait_for_function("() => navigator.serviceWorker.controller?.state === 'activated'")
    assert phone.evaluate(LATE) == "not to be had"
    yield front
    page_errors.clear()  # the browser logs each failed fetch


def cached(page: Page) -> list[bool]:
    """Of each cache whether it is the desk's."""
    return sorted(name.endswith("-desk") for name in page.evaluate(CACHES))


def test_a_network_that_goes_between_the_packs_leaves_a_bench_that_starts(half, bench, phone):
    assert cached(phone) == [False]
    bench.stop()
    phone.reload()
    assert edition(phone) == "one"
    expect(phone).to_have_title("preparing false")
    assert phone.evaluate(LATE) == "not to be had"
    assert cached(phone) == [False]


def test_the_desk_comes_when_there_is_signal_again(half, phone):
    half.spoiled.clear()
    phone.evaluate("dispatchEvent(new Event('online'))")
    expect(phone).to_have_title("ready false")
    assert cached(phone) == [False, True]
    phone.reload()
    assert phone.evaluate("bench.states[0]") == ["asking", False]
    expect(phone).to_have_title("ready false")
    assert phone.evaluate(LATE) == "one"


def test_what_is_asked_for_before_it_is_there_brings_the_desk(half, phone):
    half.spoiled.clear()
    phone.reload()
    assert edition(phone) == "one"
    assert phone.evaluate(LATE) == "one"
    expect(phone).to_have_title("ready false")
    assert cached(phone) == [False, True]


def test_a_worker_that_is_ended_between_the_packs_goes_on_at_the_next_start(
    bench, door, phone, phone_context
):
    front = door(bench.url)
    asked, come = threading.Event(), threading.Event()

    def held_back(status: int, body: bytes) -> tuple[int, bytes]:
        asked.set()
        come.wait(60)
        return status, body

    front.spoiled["/desk.pack"] = held_back
    try:
        phone.goto(front.url)
        expect(phone).to_have_title("preparing false")
        assert asked.wait(20)
        session = phone_context.new_cdp_session(phone)
        session.send("ServiceWorker.enable")
        session.send("ServiceWorker.stopAllWorkers")
    finally:
        come.set()
    front.spoiled.clear()
    phone.reload()
    expect(phone).to_have_title("ready false")
    assert cached(phone) == [False, True]
    bench.stop()
    assert phone.evaluate(LATE) == "one"


def test_an_update_between_the_packs_mixes_nothing(half, checkout, phone, until):
    checkout.edition("two")
    half.spoiled.clear()
    # The server has another desk by now, which is none for this bench.
    assert phone.evaluate(LATE) == "not to be had"
    assert phone.evaluate(UPDATE) == "installed"
    assert cached(phone) == [False, False, True]
    assert phone.evaluate(LATE) == "not to be had"
    phone.reload()
    phone.wait_for_function("() => globalThis.bench?.edition === 'two'")
    assert phone.evaluate(LATE) == "two"
    expect(phone).to_have_title("ready false")
    until(phone, "async () => (await caches.keys()).length === 2")


def test_where_there_is_no_room_the_desk_is_held_as_long_as_the_worker_runs(
    server, own_checkout, phone, phone_context, page_errors
):
    """The quota is set by the browser's own tools: room for the bench and not for the desk."""
    large = "export const PAD = '" + "x" * 4_000_000 + "';\n"
    (own_checkout.path / "static" / "large.js").write_text(large, encoding="utf-8")
    running = server(checkout=own_checkout.path, environment=DEBUG)
    session = phone_context.new_cdp_session(phone)
    quota = {"origin": running.url.rstrip("/"), "quotaSize": 2_500_000}
    session.send("Storage.overrideQuotaForOrigin", quota)
    phone.goto(running.url)
    expect(phone).to_have_title("bench only false")
    assert cached(phone) == [False]
    assert phone.evaluate(LATE) == "one"
    phone.reload()
    expect(phone).to_have_title("bench only false")
    assert phone.evaluate(LATE) == "one"

    session.send("Storage.overrideQuotaForOrigin", {"origin": quota["origin"]})
    phone.reload()
    expect(phone).to_have_title("ready false")
    assert cached(phone) == [False, True]


def test_no_room_for_an_update_leaves_the_older_version_whole(
    server, own_checkout, phone, phone_context, open_ready
):
    running = server(checkout=own_checkout.path, environment=DEBUG)
    open_ready(phone, running.url)
    before = phone.evaluate(CACHES)
    large = "export const PAD = '" + "x" * 4_000_000 + "';\n"
    (own_checkout.path / "static" / "large.js").write_text(large, encoding="utf-8")
    session = phone_context.new_cdp_session(phone)
    quota = {"origin": running.url.rstrip("/"), "quotaSize": 2_500_000}
    session.send("Storage.overrideQuotaForOrigin", quota)
    assert phone.evaluate(UPDATE) == "redundant"
    assert phone.evaluate(CACHES) == before
    phone.reload()
    assert edition(phone) == "one"
    assert phone.evaluate(LATE) == "one"
    expect(phone).to_have_title("ready false")


# ---- a newer version ---------------------------------------------------------------------------


def test_a_waiting_version_leaves_the_page_whole(bench, checkout, phone, open_ready):
    open_ready(phone, bench.url)
    checkout.edition("two")
    assert phone.evaluate(UPDATE) == "installed"
    expect(phone).to_have_title("ready true")
    assert phone.evaluate("bench.late()") == "one"


def test_a_waiting_version_takes_over_at_the_start_of_a_session(
    bench, checkout, phone, open_ready, until
):
    open_ready(phone, bench.url)
    checkout.edition("two")
    assert phone.evaluate(UPDATE) == "installed"
    phone.reload()
    phone.wait_for_function("() => globalThis.bench?.edition === 'two'")
    assert phone.evaluate("bench.loads") == 3  # the first, this reload, and one for the version
    until(phone, "async () => (await caches.keys()).length === 2")
    assert phone.evaluate("bench.late()") == "two"
    expect(phone).to_have_title("ready false")


def test_no_version_takes_over_while_a_pour_runs_in_any_tab(
    bench, checkout, phone, phone_context, open_ready, until
):
    open_ready(phone, bench.url)
    pouring = phone_context.new_page()
    open_ready(pouring, bench.url)
    pouring.evaluate("globalThis.done = bench.holdPourLock('pour-1'), null")
    until(phone, f"async () => (await ({HELD})()).includes('pour')")
    checkout.edition("two")
    assert phone.evaluate(UPDATE) == "installed"

    # Neither a button nor the start of a session gets past the lock, nor a bare message.
    assert phone.evaluate("bench.takeOver()") is True
    phone.reload()
    assert edition(phone) == "one"
    # This settles after the start's own attempt, which was first.
    assert phone.evaluate("bench.takeOver()") is True
    expect(phone).to_have_title("ready true")
    still = """async () => {
      const registration = await navigator.serviceWorker.ready;
      registration.waiting.postMessage({ type: 'take over' });
      // Room for the worker to answer wrongly: many turns of both event loops.
      for (let i = 0; i < 50; i += 1) await navigator.locks.query();
      await registration.update();
      return [registration.waiting?.state, registration.active.state];
    }"""
    assert phone.evaluate(still) == ["installed", "activated"]
    assert pouring.evaluate("bench.loads") == 1

    # The pour ends: now the button works, and both tabs move to the newer version.
    pouring.evaluate("globalThis.done()")
    until(phone, f"async () => !(await ({HELD})()).includes('pour')")
    assert phone.evaluate("bench.takeOver()") is True
    for page in (phone, pouring):
        page.wait_for_function("() => globalThis.bench?.edition === 'two'")
    until(phone, "async () => (await caches.keys()).length === 2")


def test_the_lock_of_a_closed_tab_is_gone(bench, checkout, phone, phone_context, open_ready, until):
    open_ready(phone, bench.url)
    pouring = phone_context.new_page()
    open_ready(pouring, bench.url)
    pouring.evaluate("bench.holdPourLock('pour-1'), null")
    until(phone, f"async () => (await ({HELD})()).includes('pour')")
    pouring.close()
    until(phone, f"async () => !(await ({HELD})()).includes('pour')")


def test_a_busy_page_is_neither_asked_nor_reloaded(
    bench, checkout, phone, phone_context, open_ready
):
    open_ready(phone, bench.url)
    busy = phone_context.new_page()
    open_ready(busy, bench.url)
    busy.evaluate("bench.busy = true")
    checkout.edition("two")
    assert phone.evaluate(UPDATE) == "installed"
    assert busy.evaluate("bench.takeOver()") is False

    assert phone.evaluate("bench.takeOver()") is True
    phone.wait_for_function("() => globalThis.bench?.edition === 'two'")
    assert busy.evaluate("bench.loads") == 1
    # Its next free moment brings the reload that is due.
    busy.evaluate("bench.busy = false, bench.holdPourLock('short')()")
    busy.wait_for_function("() => globalThis.bench?.edition === 'two'")


def test_without_web_locks_a_pour_is_still_not_reloaded(
    bench, checkout, phone, phone_context, open_ready
):
    open_ready(phone, bench.url)
    pouring = phone_context.new_page()
    open_ready(pouring, bench.url)
    pouring.evaluate("Object.defineProperty(navigator, 'locks', { value: undefined }), null")
    pouring.evaluate("globalThis.done = bench.holdPourLock('pour-1'), null")
    checkout.edition("two")
    assert phone.evaluate(UPDATE) == "installed"
    pouring.evaluate(
        "navigator.serviceWorker.addEventListener('controllerchange', () => bench.changed = true)"
    )
    assert phone.evaluate("bench.takeOver()") is True
    phone.wait_for_function("() => globalThis.bench?.edition === 'two'")
    pouring.wait_for_function("() => bench.changed")
    assert pouring.evaluate("bench.loads") == 1
    pouring.evaluate("globalThis.done()")
    pouring.wait_for_function("() => globalThis.bench?.edition === 'two'")


def test_holding_one_pour_twice_is_holding_it_once(bench, phone, open_ready, until):
    open_ready(phone, bench.url)
    same = "bench.holdPourLock('a') === bench.holdPourLock('a')"
    assert phone.evaluate(same) is True
    phone.evaluate("globalThis.other = bench.holdPourLock('b'), null")
    until(phone, f"async () => (await ({HELD})()).length === 2")
    phone.evaluate("other(), other()")
    until(phone, f"async () => (await ({HELD})()).length === 1")
    phone.evaluate("bench.holdPourLock('a')()")
    until(phone, f"async () => (await ({HELD})()).length === 0")
