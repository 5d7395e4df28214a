"""Notifications as they come to a desk and are touched there, with the app closed."""

import json
import os
import queue
import threading
import time
from collections import defaultdict
from contextlib import closing, contextmanager
from datetime import datetime, timedelta
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from types import SimpleNamespace

import pytest
from playwright.sync_api import expect
from sqlalchemy import select

from benchapp.formulas.cure import ready
from benchapp.records import pairing_codes, tables, workshops
from benchapp.records.database import Database, sqlite_url
from benchapp.reminders import due, notifications
from benchapp.web.clock import now_ms
from tests.phone.maker import at, go_to, kept, slot, start, step, tap, title
from tests.phone.notifications import (
    HOW_TO_INSTALL,
    BarePage,
    PushService,
    has_bus,
    notification_desk,
    permit,
)
from tests.reminders.push_service import push_service
from tests.waits import PATIENCE_S, resting, until

# ---- the desk itself, with a tiny app ------------------------------------------------------------

KEEP = """function keep(row) {
  return new Promise((resolve, reject) => {
    const asked = indexedDB.open('kept', 1);
    asked.onupgradeneeded = () => asked.result.createObjectStore('rows', { autoIncrement: true });
    asked.onerror = () => reject(asked.error);
    asked.onsuccess = () => {
      const writing = asked.result.transaction('rows', 'readwrite');
      writing.objectStore('rows').add(row);
      writing.oncomplete = () => { asked.result.close(); resolve(); };
    };
  });
}"""

WORKER = """
const tell = (body) => fetch('/heard', { method: 'POST', body: JSON.stringify(body) });
self.addEventListener('push', (event) => {
  const { title, body, tag } = event.data.json();
  const actions = [{ action: 'done', title: 'OK' }, { action: 'tomorrow', title: 'Tomorrow' }];
  event.waitUntil(self.registration.showNotification(title, { body, tag, actions }));
});
self.addEventListener('notificationclick', (event) => {
  event.notification.close();
  event.waitUntil(act(event));
});
self.addEventListener('message', async () => {
  for (const shown of await self.registration.getNotifications()) shown.close();
});
async function act({ action, isTrusted, notification }) {
  const { title } = notification;
  await keep({ action, title });
  const pages = await self.clients.matchAll({ includeUncontrolled: true });
  await tell({ action, title, isTrusted, pages: pages.length });
  if (!action) await self.clients.openWindow(`/#${title}`);
}
"""

FILES = {
    "/": ("text/html", "<!doctype html><title>Tiny</title><link rel=icon href=data:,>"),
    "/classic.js": ("text/javascript", WORKER + KEEP),
    "/module.js": ("text/javascript", "import { keep } from './keep.js';" + WORKER),
    "/keep.js": ("text/javascript", f"export {KEEP}"),
}

REGISTER = """async (type) => {
  await navigator.serviceWorker.register(`/${type}.js`, { type });
  await navigator.serviceWorker.ready;
  return Notification.permission;
}"""

ROWS = """() => new Promise((resolve) => {
  indexedDB.open('kept').onsuccess = ({ target: { result: db } }) => {
    const reading = db.transaction('rows').objectStore('rows').getAll();
    reading.onsuccess = () => { db.close(); resolve(reading.result); };
  };
})"""


@pytest.fixture
def desk():
    if not has_bus():
        if os.environ.get("CI"):
            pytest.fail(HOW_TO_INSTALL, pytrace=False)
        pytest.skip(HOW_TO_INSTALL)
    with notification_desk() as set_up:
        yield set_up


@pytest.fixture
def phone_at_desk(own_phone, desk):
    """A phone of its own whose notifications come to the desk; it starts with a blank page."""
    return own_phone(desk.env)


@pytest.fixture
def tiny():
    """The tiny app's address, and what its worker told the server."""
    heard = queue.Queue()

    class Answer(BaseHTTPRequestHandler):
        def do_GET(self):
            kind, text = FILES[self.path]
            self.send_response(200)
            self.send_header("Content-Type", kind)
            self.end_headers()
            self.wfile.write(text.encode())

        def do_POST(self):
            heard.put(json.loads(self.rfile.read(int(self.headers["Content-Length"]))))
            self.send_response(204)
            self.end_headers()

        def log_message(self, *_):
            """Say nothing: the tests tell what failed."""

    with ThreadingHTTPServer(("127.0.0.1", 0), Answer) as server:
        threading.Thread(target=server.serve_forever, daemon=True).start()
        yield SimpleNamespace(url=f"http://127.0.0.1:{server.server_port}/", heard=heard)
        server.shutdown()


def test_a_worker_hears_every_touch_with_no_page_open(phone_at_desk, desk, tiny):
    blank = phone_at_desk.pages[0]
    push = PushService(phone_at_desk.new_cdp_session(blank))
    permit(phone_at_desk.browser, tiny.url)
    page = phone_at_desk.new_page()
    page.goto(tiny.url)
    assert page.evaluate(REGISTER, "module") == "granted"
    page.close()

    def show(title):
        push.stop_workers()
        push.deliver(tiny.url, {"title": title, "body": "Twelve tins"})
        shown = desk.next()
        push.stop_workers()
        return shown

    fig = show("Fig")
    assert (fig.title, fig.body, fig.actions) == ("Fig", "Twelve tins", ("OK", "Tomorrow"))
    assert fig.site in tiny.url
    told = {"title": "Fig", "isTrusted": True, "pages": 0}
    desk.press(fig, 1)
    assert tiny.heard.get(timeout=PATIENCE_S) == told | {"action": "tomorrow"}
    desk.press(show("Fig"), 0)
    assert tiny.heard.get(timeout=PATIENCE_S) == told | {"action": "done"}

    cedar = show("Cedar")
    blank.close()
    assert phone_at_desk.pages == []
    with phone_at_desk.expect_page() as opening:
        desk.click(cedar)
    assert tiny.heard.get(timeout=PATIENCE_S) == told | {"title": "Cedar", "action": ""}
    opened = opening.value
    expect(opened).to_have_url(f"{tiny.url}#Cedar")
    assert [(row["title"], row["action"]) for row in opened.evaluate(ROWS)] == [
        ("Fig", "tomorrow"),
        ("Fig", "done"),
        ("Cedar", ""),
    ]


def test_a_notification_is_replaced_taken_back_and_swiped_away(phone_at_desk, desk, tiny):
    push = PushService(phone_at_desk.new_cdp_session(phone_at_desk.pages[0]))
    permit(phone_at_desk.browser, tiny.url)
    page = phone_at_desk.new_page()
    page.goto(tiny.url)
    page.evaluate(REGISTER, "classic")

    push.deliver(tiny.url, {"title": "Fig", "tag": "one"})
    older = desk.next()
    push.deliver(tiny.url, {"title": "Fig again", "tag": "one"})
    newer = desk.next()
    desk.wait_gone(older)
    assert newer.replaces
    # The buttons of the newer have other keys, and still their own names.
    desk.press(newer, 0)
    assert tiny.heard.get(timeout=PATIENCE_S)["action"] == "done"

    push.deliver(tiny.url, {"title": "Cedar"})
    desk.dismiss(desk.next())
    push.deliver(tiny.url, {"title": "Rose"})
    rose = desk.next()
    assert page.evaluate(
        """async () => {
          const registration = await navigator.serviceWorker.ready;
          return (await registration.getNotifications()).map(({ title }) => title);
        }"""
    ) == ["Rose"]
    page.evaluate("async () => (await navigator.serviceWorker.ready).active.postMessage('clear')")
    desk.wait_gone(rose)
    with pytest.raises(AssertionError, match="no longer"):
        desk.click(rose)


# ---- the bench ---------------------------------------------------------------------------------

DAY_S = 1
LEAST, BEST = 2, 6

SLATE = "Wet slate, 12 × tin 120"
"""A batch of the demo's, poured 20 days ago: at its best after 14, to be burned after 15."""

# Push as a browser would have it whose maker runs the tests' push service. It outlives the page.
SUBSCRIBE_AT_THE_TESTS = """
const made = () => localStorage.made ? {
  toJSON: () => JSON.parse(localStorage.made),
  unsubscribe: async () => { delete localStorage.made; return true; },
} : null;
PushManager.prototype.getSubscription = async () => made();
PushManager.prototype.subscribe = async ({ applicationServerKey }) => {
  localStorage.made = JSON.stringify(await makeSubscription(applicationServerKey));
  return made();
};
document.addEventListener('securitypolicyviolation', (event) => {
  console.error(`policy: ${event.violatedDirective} refused ${event.blockedURI || event.sample}`);
});
"""

# The event is not the browser's own, so what the worker asks to wait for is waited for here.
LOSE_SUBSCRIPTION = """async (made) => {
  PushManager.prototype.getSubscription = async () => null;
  PushManager.prototype.subscribe = async ({ userVisibleOnly, applicationServerKey }) => {
    if (!userVisibleOnly || !applicationServerKey) throw new TypeError();
    return made;
  };
  const event = new Event('pushsubscriptionchange');
  let over = null;
  event.waitUntil = (promise) => { over = promise; };
  self.dispatchEvent(event);
  await over;
}"""

SETTLE = """async () => {
  const { exchangeNow, syncStatus } = await import('/static/records/exchange.js');
  do await exchangeNow(); while (syncStatus.state !== 'resting' || syncStatus.count > 0);
}"""

NOT_ANSWERED = "Failed to load resource: net::ERR_"
"""What the browser logs where the server is stopped, or stops."""


class Bench:
    """A server that sends to the push service of the tests, and nowhere else."""

    def __init__(self, start_server, trial):
        self.trial = trial
        self._start_server = start_server
        self._running = self._start()
        self.url = self._running.url

    def stop(self):
        self._running.stop()

    def start_again(self):
        port = int(self.url.rstrip("/").rpartition(":")[2])
        self._running = self._start(port=port, data=self._running.data)

    def pair(self, page):
        """Let the device in front of the page in."""
        with self._writing() as connection:
            shop = workshops.first_workshop(connection, now_ms())
            code, _ = pairing_codes.make_code(connection, shop["id"], now_ms())
        at(page, self.url, f"pair/{code}")
        tap(page, "Join")
        expect(page.locator("#said")).to_contain_text("This device is in “")

    def send_test(self):
        """What 'Send a test' does, for the one device that listens."""
        with self._writing() as connection:
            device = connection.scalar(select(tables.subscription.c.device_id))
            notifications.send_trial(connection, device, now_ms())

    @contextmanager
    def _writing(self):
        database = Database(sqlite_url(self._running.data / "bench.sqlite3"))
        with closing(database), database.write() as connection:
            yield connection

    def _start(self, **given):
        environment = {
            "BENCHAPP_SERVE_CONTACT": "maker@example.net",
            "BENCHAPP_TRIAL_PUSH_SERVICE": str(self.trial.trial),
            "BENCHAPP_DEVELOPER_DAY_S": str(DAY_S),
        }
        return self._start_server(demo=True, environment=environment, **given)


class Phone:
    """A phone with the bench on it, whose notifications come to the desk.

    Between a push service and the phone stands the browser's maker. That one hop is the test's: it
    hands on what the push service has decrypted.
    """

    def __init__(self, context, desk, bench, errors):
        self.context, self.desk, self.bench = context, desk, bench
        self.blank = context.pages[0]
        self.push = PushService(context.new_cdp_session(self.blank))
        permit(context.browser, bench.url)
        self.subscribers = []
        context.expose_function("makeSubscription", self._subscribe)
        context.add_init_script(SUBSCRIBE_AT_THE_TESTS)
        context.on("weberror", lambda error: errors.append(str(error.error)))
        context.on("console", self._note)
        self._errors = errors

    def _subscribe(self, app_key):
        self.subscribers.append(self.bench.trial.subscribe(app_key))
        return subscription(self.subscribers[-1])

    def _note(self, said):
        if said.type == "error" and not said.text.startswith(NOT_ANSWERED):
            self._errors.append(said.text)

    def open(self):
        """A page of the bench, which is then wholly on the phone."""
        page = self.context.new_page()
        page.goto(self.bench.url)
        expect(title(page)).to_have_text("Today")
        page.wait_for_function("() => navigator.serviceWorker.controller?.state === 'activated'")
        return page

    def close_all(self):
        """Close every page of the bench, and let its worker sleep."""
        for page in self.context.pages:
            if page != self.blank:
                page.close()
        assert self.context.pages == [self.blank]
        self.push.stop_workers()

    def turn_on(self, page):
        at(page, self.bench.url, "reminders")
        tap(page, "Turn on")
        expect(slot(page, "stands")).to_contain_text("Reminders are on.")

    def shows(self, message):
        """Push a message, and answer what then comes to the desk."""
        self.push.deliver(self.bench.url, message)
        return self.desk.next()

    def opens(self, shown):
        """Touch what lies there, and answer the page that it opens."""
        with self.context.expect_page() as opening:
            self.desk.click(shown)
        return opening.value


@pytest.fixture
def bench(server, tmp_path):
    with push_service(tmp_path) as trial:
        yield Bench(server, trial)
    assert trial.problems == []


@pytest.fixture
def phone_with_bench(phone_at_desk, desk, bench, page_errors):
    return Phone(phone_at_desk, desk, bench, page_errors)


def subscription(subscriber):
    """As a browser gives it to a page."""
    keys = {"p256dh": subscriber.p256dh, "auth": subscriber.auth}
    return {"endpoint": subscriber.endpoint, "expirationTime": None, "keys": keys}


def reminder(url, pour, kind, day, title_, name=None):
    """A message as the server sends it; before the name was told apart, without it."""
    shown = {
        "title": title_,
        "body": due.TELLS[kind],
        "navigate": f"{url}#/entry/{pour}",
        "tag": f"pour {pour}",
        "data": {
            **{"pour": pour, "reminder": kind, "day": day, "on": day},
            **({"name": name} if name else {}),
        },
    }
    return {"web_push": 8030, "notification": shown, "app_badge": 1}


def bell(url, pour):
    """A message as the server sends it."""
    shown = {
        "title": "Wet slate: you have stirred long enough",
        "body": "",
        "navigate": f"{url}#/pour/{pour}/0",
        "tag": f"bell {pour} 0",
        "data": {"pour": pour, "jug": 0, "bell": True},
    }
    return {"web_push": 8030, "notification": shown}


def pushed(trial, pour):
    """What the push service was told of a pour (None: of none): the pushes by reminder."""
    found = defaultdict(list)
    for push in trial.received:
        about = json.loads(push.data)["notification"].get("data", {})
        if about.get("pour") == pour:
            found[about.get("reminder")].append(push)
    return found


def test_a_batch_poured_in_the_app_is_told_of_with_the_app_closed(bench, phone_with_bench):
    phone, trial = phone_with_bench, bench.trial
    page = phone.open()
    bench.pair(page)
    phone.turn_on(page)
    at(page, bench.url, "edit/recipe/demo-recipe-slate")
    page.locator("summary").click()
    page.locator("[data-field=cure_least_days] input").fill(str(LEAST))
    page.locator("[data-field=cure_best_days] input").fill(str(BEST))
    tap(page, "Save")
    expect(page.locator("body[data-screen=recipe]")).to_be_visible()
    pour, name = start(page, bench.url, count="2"), "Wet slate, 2 × tin 120"
    go_to(page, "Leave to set")
    step(page)
    at(page, bench.url, f"trim/{pour}")
    page.get_by_label("Labelled").check()
    tap(page, "Put away to cure")
    expect(title(page)).to_have_text(name)
    page.evaluate(SETTLE)
    (aside,) = [
        each
        for each in kept(page)["events"]
        if (each["of"], each["type"]) == (["pour", pour], "set")
    ]
    phone.close_all()

    (push,) = until(lambda: pushed(trial, pour)["cured"], pause=resting(phone.blank))
    assert push.at >= aside["at"] / 1000 + LEAST * DAY_S
    assert (push.urgency, push.ttl) == ("normal", 14 * 86_400)
    message = json.loads(push.data)
    day = str(ready(aside["on"], LEAST))
    assert message == reminder(bench.url, pour, "cured", day, f"{name}: cured today", name) | {
        "app_badge": message["app_badge"]
    }

    # The server goes down, past the day on which the batch is at its best. The phone needs none.
    bench.stop()
    assert pushed(trial, pour)["best"] == []
    shown = phone.shows(push.data.decode())
    assert (shown.title, shown.body) == (f"{name}: cured today", due.TELLS["cured"])
    assert shown.actions == ("OK", "Tomorrow")
    assert shown.site in bench.url
    page = phone.opens(shown)
    expect(page).to_have_url(f"{bench.url}#/entry/{pour}")
    expect(title(page)).to_have_text(name)

    best_at = aside["at"] / 1000 + BEST * DAY_S
    until(lambda: time.time() > best_at, pause=resting(page))
    bench.start_again()
    until(lambda: {"best", "burn"} <= pushed(trial, pour).keys(), pause=resting(page))
    # What comes after them is the proof that they came once.
    bench.send_test()
    until(lambda: pushed(trial, None)[None], pause=resting(page))
    counts = {kind: len(pushes) for kind, pushes in pushed(trial, pour).items()}
    assert (counts["cured"], counts["best"], counts["burn"]) == (1, 1, 1)
    assert len({each.topic for pushes in pushed(trial, pour).values() for each in pushes}) == 1


def test_the_buttons_work_with_no_page_open_and_the_server_stopped(
    bench, phone_with_bench, phone, page_errors
):
    hers, other, pour = phone_with_bench, phone, "demo-pour-1"
    page = hers.open()
    other.goto(bench.url)
    for each in (page, other):
        bench.pair(each)
        each.evaluate(SETTLE)
    at(other, bench.url, "today")
    asks = other.locator("#screen .batch", has_text=SLATE).locator(".asks")
    expect(asks).to_have_count(2)
    (aside,) = [
        each
        for each in kept(page)["events"]
        if (each["of"], each["type"]) == (["pour", pour], "set")
    ]
    best, burn = (str(ready(aside["on"], days)) for days in (14, 15))
    hers.close_all()
    bench.stop()

    # Both were due in the morning; she comes to them one after the other.
    shown = hers.shows(reminder(bench.url, pour, "best", best, f"{SLATE}: fully cured today"))
    hers.desk.press(shown, shown.actions.index("OK"))
    page = hers.open()
    (done,) = until(lambda: answers(page, pour), pause=resting(page))
    assert (done["type"], done["reminder"], done["on"]) == ("seen_to", "best", best)
    hers.close_all()
    shown = hers.shows(reminder(bench.url, pour, "burn", burn, f"{SLATE}: test burn due"))
    hers.desk.press(shown, shown.actions.index("Tomorrow"))
    page = hers.open()
    (later,) = until(lambda: answers(page, pour)[1:], pause=resting(page))
    assert (later["type"], later["reminder"], later["on"]) == ("put_off", "burn", burn)
    assert later["until"] == str(day_of(later["at"]) + timedelta(1))
    # It is not asked again, here or there.
    expect(page.locator("#screen .batch", has_text=SLATE)).to_have_count(0)
    expect(asks).to_have_count(2)

    bench.start_again()
    page.reload()
    page.evaluate(SETTLE)
    other.evaluate(SETTLE)
    page_errors.clear()  # the browser logs what the stopped server did not answer
    expect(asks).to_have_count(0)
    assert answers(other, pour) == [done, later]
    expect(other.locator("h2.group ~ .card", has_text=SLATE)).to_contain_text("test burn due")


def day_of(at_ms):
    """The day here, where the browser is too."""
    return datetime.fromtimestamp(at_ms / 1000).astimezone().date()


def answers(page, pour):
    """What she said to the reminders of a pour."""
    said = [each for each in kept(page)["events"] if each["type"] in ("seen_to", "put_off")]
    return [each for each in said if each["of"] == ["pour", pour]]


def test_a_bell_rings_unless_the_page_is_in_view(bench, playwright, chromium_path, desk):
    with playwright.chromium.launch(executable_path=chromium_path, env=desk.env) as browser:
        permit(browser, bench.url)
        page = BarePage(browser, bench.url)
        push = PushService(page)
        push.deliver(bench.url, bell(bench.url, "demo-pour-1"))
        # In view the bench rings by itself. What is pushed has to be shown, so it is taken back.
        shown = desk.next()
        assert shown.silent
        desk.wait_gone(shown)
        page.hide()
        push.deliver(bench.url, bell(bench.url, "demo-pour-1"))
        shown = desk.next()
        assert not shown.silent
        desk.click(shown)
        page.wait_for("document.visibilityState === 'visible'")
        # It is on the bench no longer, so its board sends on to what was kept of it.
        page.wait_for("location.hash.endsWith('/demo-pour-1')")


def test_a_touch_opens_what_it_is_about(bench, phone_with_bench, desk):
    phone = phone_with_bench
    page = phone.open()
    pour = start(page, bench.url, count="2")
    phone.close_all()
    shown = phone.shows(bell(bench.url, pour))
    assert (shown.title, shown.actions) == ("Wet slate: you have stirred long enough", ())
    page = phone.opens(shown)
    expect(page).to_have_url(f"{bench.url}#/pour/{pour}/0")
    expect(title(page)).to_have_text("Make ready")
    phone.close_all()
    # Whatever the server says, nothing but the bench is opened.
    away = bell(bench.url, pour)
    away["notification"]["navigate"] = "https://away.example//away.example/x#/log"
    page = phone.opens(phone.shows(away))
    expect(page).to_have_url(f"{bench.url}#/log")
    phone.close_all()
    page = phone.opens(phone.shows(""))
    expect(title(page)).to_have_text("Today")

    # From now on a page is open, on another screen, and is not loaded anew.
    page.evaluate("globalThis.isSameVisit = true")
    unreadable = ["nonsense", {"web_push": 8030}, {"notification": {"title": "Odd", "data": None}}]
    for message in unreadable:
        at_log(page)
        shown = phone.shows(message)
        assert (shown.title, shown.body) == (
            "Something is due",
            "Open Today to see what it is.",
        )
        desk.click(shown)
        expect(title(page)).to_have_text("Today")

    # Read by a phone that was off for a week.
    at_log(page)
    day = day_of(now_ms()) - timedelta(7)
    message = reminder(bench.url, "demo-pour-1", "cured", str(day), f"{SLATE}: cured today", SLATE)
    shown = phone.shows(message)
    assert shown.title == f"{SLATE}: cured since {due.day_text(day)}"
    desk.click(shown)
    expect(title(page)).to_have_text(SLATE)
    assert page.url == f"{bench.url}#/entry/demo-pour-1"
    assert page.evaluate("globalThis.isSameVisit")
    assert phone.context.pages == [phone.blank, page]


def at_log(page):
    page.evaluate("location.hash = '#/log'")
    expect(title(page)).to_have_text("Log")


def test_a_lost_subscription_is_made_anew_with_no_page_open(bench, phone_with_bench):
    phone, trial = phone_with_bench, bench.trial
    page = phone.open()
    bench.pair(page)
    phone.turn_on(page)
    page.close()
    (lost,) = phone.subscribers
    fresh = trial.subscribe(lost.app_key)
    (worker,) = phone.context.service_workers
    worker.evaluate(LOSE_SUBSCRIPTION, subscription(fresh))

    bench.send_test()
    # In these short days the demo's own batches may fall due as well.
    (push,) = until(lambda: pushed(trial, None)[None], pause=resting(phone.blank))
    assert push.subscriber == fresh
    shown = phone.shows(push.data.decode())
    assert shown.title == "This is how a reminder looks"
    expect(phone.opens(shown)).to_have_url(f"{bench.url}#/reminders")
