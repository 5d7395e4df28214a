"""Reminders are turned on and off; the server is kept told, of the bells on the bench too."""

import json
import re
from urllib.parse import urlsplit

import pytest
from playwright.sync_api import Browser, expect
from sqlalchemy import select

from benchapp.records import pairing_codes, tables, workshops
from benchapp.records.database import Database, sqlite_url
from benchapp.reminders.vapid_keys import NAME as KEY_FILE
from benchapp.web.clock import now_ms
from tests.burns.conftest import sheet
from tests.phone.burning import begin
from tests.phone.maker import (
    at,
    dont_wait,
    go_to,
    press,
    read_off,
    seconds_on,
    slot,
    start,
    tap,
    title,
)
from tests.waits import resting, until


@pytest.fixture(scope="session")
def browser(whole_browser: Browser) -> Browser:
    """It has notifications."""
    return whole_browser


# A browser's push without a push service: the subscription outlives the page. Its keys are those
# of RFC 8291, Appendix A.
_STAND_IN = """
globalThis.permissionAsked = 0;
const request = Notification.requestPermission.bind(Notification);
Notification.requestPermission = () => {
  permissionAsked += 1;
  return request();
};
const made = () => localStorage.made ? {
  toJSON: () => JSON.parse(localStorage.made),
  unsubscribe: async () => { delete localStorage.made; return true; },
} : null;
PushManager.prototype.getSubscription = async () => made();
PushManager.prototype.subscribe = async ({ userVisibleOnly, applicationServerKey }) => {
  if (!userVisibleOnly || made()) throw new DOMException('', 'InvalidStateError');
  localStorage.count = Number(localStorage.count ?? 0) + 1;
  localStorage.madeFor = applicationServerKey;
  localStorage.made = JSON.stringify({
    endpoint: `https://push.example.net/${localStorage.count}`,
    expirationTime: null,
    keys: {
      p256dh: 'BCVxsr7N_eNgVRqvHtD0zTZsEc6-VV-JvLexhqUzORcxaOzi6-AYWXvTBHm4bjyPjs7Vd8pZGH6SRpkNto' +
        'IAiw4',
      auth: 'BTBZMqHH6r4Tts7J_aSIgg',
    },
  });
  return made();
};
"""

# An iPhone's browser outside the home screen has none of it.
_IN_A_TAB = """
delete globalThis.PushManager;
delete globalThis.Notification;
navigator.standalone = false;
"""

_CONTACT = {"BENCHAPP_SERVE_CONTACT": "mailto:maker@example.net"}

_ASKED_OR_IN = """() => location.hash === '#/workshop' ||
  Boolean(document.querySelector('#screen [data-slot="along"]')?.textContent)"""


class Bench:
    """A server, what it holds, and the phone in front of it."""

    def __init__(self, server, phone, **given):
        self.running = server(**given)
        self.url, self.phone = self.running.url, phone
        self.database = Database(sqlite_url(self.running.data / "bench.sqlite3"))
        self.posted = []
        phone.on("request", self._note)

    def _note(self, request):
        if request.method == "POST":
            self.posted.append((urlsplit(request.url).path, request.post_data_json))

    def pair(self):
        with self.database.write() as connection:
            shop = workshops.first_workshop(connection, now_ms())
            code, _ = pairing_codes.make_code(connection, shop["id"], now_ms())
        self.phone.goto(f"{self.url}#/pair/{code}")
        # A phone that keeps nothing goes in by itself.
        self.phone.wait_for_function(_ASKED_OR_IN)
        if "#/pair/" in self.phone.url:
            tap(self.phone, "Join")
        expect(self.phone.locator("#said")).to_contain_text("This device is in “")

    def turn_on(self):
        at(self.phone, self.url, "reminders")
        tap(self.phone, "Turn on")
        expect(slot(self.phone, "turn")).to_have_text("Turn off")

    def rows(self, table, *names):
        with self.database.read() as connection:
            found = connection.execute(select(*(table.c[name] for name in names))).all()
        return [tuple(row) for row in found]

    def posts(self, path):
        return [body for where, body in self.posted if where == path]

    def until(self, true):
        """Wait until `true()` of what the server holds or was sent, and answer it."""
        return until(
            true,
            lambda: f"It never came true. Posted: {[path for path, _ in self.posted]}",
            resting(self.phone),
        )


@pytest.fixture
def bench(server, phone):
    made = []

    def make(*, contact=True, **given):
        made.append(Bench(server, phone, environment=_CONTACT if contact else {}, **given))
        return made[-1]

    phone.add_init_script(_STAND_IN)
    yield make
    for each in made:
        each.database.close()


@pytest.fixture
def permit(browser, phone):
    """Answer for her whether the app may notify."""

    def permit_(url, setting):
        info = phone.context.new_cdp_session(phone).send("Target.getTargetInfo")["targetInfo"]
        browser.new_browser_cdp_session().send(
            "Browser.setPermission",
            {
                "permission": {"name": "notifications"},
                "setting": setting,
                "origin": url,
                "browserContextId": info["browserContextId"],
            },
        )

    return permit_


# ---- on and off --------------------------------------------------------------------------------


def test_one_tap_turns_them_on_and_one_off(bench, phone, permit):
    here = bench()
    at(phone, here.url, "reminders")
    expect(slot(phone, "stands")).to_contain_text("Pair this device")
    expect(phone.get_by_role("link", name="Pair this device")).to_be_visible()
    expect(slot(phone, "turn")).to_be_hidden()
    expect(slot(phone, "calendar")).to_be_hidden()
    here.pair()
    phone.get_by_role("link", name="Reminders").click()
    expect(slot(phone, "stands")).to_contain_text("Reminders are off.")
    # The times are her settings; the zone is what the phone told.
    zone = phone.evaluate("Intl.DateTimeFormat().resolvedOptions().timeZone")
    expect(slot(phone, "when")).to_have_text(
        f"Reminders come at 9:00, not between 21:00 and 8:00, in {zone}."
    )
    assert phone.evaluate("permissionAsked") == 0

    # She looks away from the browser's question, then answers no.
    permit(here.url, "prompt")
    tap(phone, "Turn on")
    expect(slot(phone, "trouble")).to_contain_text("allow it when the browser asks")
    permit(here.url, "denied")
    tap(phone, "Turn on")
    expect(slot(phone, "trouble")).to_contain_text("Allow them at the sign left of the address")
    expect(slot(phone, "turn")).to_be_hidden()
    assert here.rows(tables.subscription, "endpoint") == []

    permit(here.url, "granted")
    here.turn_on()
    expect(slot(phone, "stands")).to_contain_text("Reminders are on.")
    expect(slot(phone, "trouble")).to_be_hidden()
    kept = here.rows(tables.subscription, "endpoint", "app_key", "auth")
    key = phone.evaluate("localStorage.madeFor")
    assert kept == [("https://push.example.net/1", key, "BTBZMqHH6r4Tts7J_aSIgg")]

    # No push service is there: what becomes of a test is said.
    tap(phone, "Send a test")
    here.until(lambda: here.rows(tables.delivery, "id"))

    tap(phone, "Turn off")
    expect(slot(phone, "turn")).to_have_text("Turn on")
    expect(slot(phone, "test")).to_be_hidden()
    assert here.rows(tables.subscription, "endpoint") == []
    assert phone.evaluate("localStorage.made ?? null") is None
    phone.reload()
    expect(slot(phone, "stands")).to_contain_text("Reminders are off.")
    assert phone.evaluate("permissionAsked") == 0


def test_a_browser_that_can_not_says_what_could(bench, phone, permit):
    phone.add_init_script(
        "PushManager.prototype.subscribe = () => new Promise(() => { globalThis.waits = true; });"
    )
    phone.clock.install()
    here = bench()
    here.pair()
    permit(here.url, "granted")
    at(phone, here.url, "reminders")
    tap(phone, "Turn on")
    expect(slot(phone, "turn")).to_have_text("Turning on…")
    phone.wait_for_function("() => globalThis.waits")
    phone.clock.fast_forward(21_000)
    expect(slot(phone, "trouble")).to_contain_text("push service does not answer")
    expect(slot(phone, "stands")).to_contain_text("Reminders are off.")

    phone.evaluate(_IN_A_TAB)
    at(phone, here.url, "workshop")
    at(phone, here.url, "reminders")
    expect(slot(phone, "stands")).to_contain_text("Add to Home Screen")
    expect(slot(phone, "turn")).to_be_hidden()
    phone.evaluate("delete navigator.standalone")
    at(phone, here.url, "workshop")
    at(phone, here.url, "reminders")
    expect(slot(phone, "stands")).to_contain_text("from iOS 16.4 on")
    expect(slot(phone, "calendar")).to_be_visible()


# ---- kept told ---------------------------------------------------------------------------------


def test_the_server_is_told_anew_where_key_zone_or_pairing_changed(
    bench, phone, permit, page_errors
):
    here = bench()
    here.pair()
    permit(here.url, "granted")
    here.turn_on()
    before = phone.evaluate("localStorage.madeFor")

    # At each start: the same subscription.
    phone.reload()
    here.until(lambda: len(here.posts("/api/push")) == 2)
    assert here.rows(tables.subscription, "endpoint") == [("https://push.example.net/1",)]

    # The key file was lost.
    data, port = here.running.data, int(re.findall(r":(\d+)/", here.url)[0])
    here.running.stop()
    (data / KEY_FILE).unlink()
    bench(data=data, port=port)
    phone.reload()
    kept = here.until(
        lambda: [
            row for row in here.rows(tables.subscription, "endpoint", "app_key") if row[1] != before
        ]
    )
    assert kept == [("https://push.example.net/2", phone.evaluate("localStorage.madeFor"))]

    # She flies, with the bench open.
    # Once more where it came back before she looked again.
    here.until(lambda: len(here.posts("/api/push")) >= 3)
    phone.context.new_cdp_session(phone).send(
        "Emulation.setTimezoneOverride", {"timezoneId": "Pacific/Auckland"}
    )
    phone.evaluate("() => void dispatchEvent(new Event('focus'))")
    here.until(lambda: ("Pacific/Auckland",) in here.rows(tables.planned, "zone"))
    page_errors.clear()  # the browser logs what the stopped server did not answer

    # The browser drops the subscription: what the worker then does.
    phone.evaluate("delete localStorage.made")
    phone.evaluate(
        """async () => (await import('/static/records/push.js')).resubscribe(
          await navigator.serviceWorker.ready)"""
    )
    assert here.rows(tables.subscription, "endpoint") == [("https://push.example.net/3",)]

    # Paired anew it is another device, which listens all the same.
    here.pair()
    fresh = ("https://push.example.net/4",)
    here.until(lambda: fresh in here.rows(tables.subscription, "endpoint"))


# ---- the bells of the bench --------------------------------------------------------------------


def bells(here):
    """The bells that the server holds: what is shown, and when."""
    rows = here.rows(tables.delivery, "about", "payload", "next_ms")
    return [
        (json.loads(payload)["notification"], next_ms)
        for about, payload, next_ms in rows
        if about.startswith("bell ")
    ]


def test_a_countdown_leaves_a_bell_that_moves_with_it_and_goes(bench, phone, permit, page_errors):
    here = bench(demo=True)
    here.pair()
    permit(here.url, "granted")
    here.turn_on()
    pour = start(phone, here.url, count="2")
    go_to(phone, "Cool to fragrance")
    read_off(phone, "80")
    ((shown, first_ms),) = here.until(lambda: bells(here))
    assert shown["title"] == "Wet slate: it should have cooled enough"
    assert shown["body"] == "Dip to be sure."
    assert shown["navigate"] == f"{here.url}#/pour/{pour}/0"
    # It rings when the countdown that she sees is over.
    until(lambda: abs(first_ms - now_ms() - seconds_on(phone) * 1000) < 3000)

    # No signal: the next dip is told once there is.
    phone.context.set_offline(True)
    read_off(phone, "79")
    count = len(here.posts("/api/bells"))
    here.until(lambda: len(here.posts("/api/bells")) > count)
    assert bells(here) == [(shown, first_ms)]
    phone.context.set_offline(False)
    ((_, second_ms),) = here.until(
        lambda: first_ms not in [ms for _, ms in bells(here)] and bells(here)
    )
    assert second_ms != first_ms
    page_errors.clear()  # the browser logs what had no signal

    # It is told once without signal and once with it, not at every tick. (The server may know of it
    # before the test hears that it was told.)
    phone.wait_for_timeout(2500)
    told = [bell["at_ms"] for post in here.posts("/api/bells") for bell in post["bells"]]
    assert 1 <= told.count(second_ms) <= 2

    dont_wait(phone)
    expect(title(phone)).to_have_text("Weigh fragrance")
    here.until(lambda: here.posts("/api/bells")[-1] == {"bells": []})
    here.until(lambda: not bells(here))


def test_a_burning_candle_leaves_a_bell_for_its_mark(bench, phone, permit):
    here = bench(demo=True)
    here.pair()
    permit(here.url, "granted")
    here.turn_on()
    at(phone, here.url, "tests")  # the desk has come
    she = begin(phone, here.url, sheet())
    phone.goto(f"{here.url}#/burn/{she.test}/1")
    tap(phone, "What the scale shows")
    press(phone, "210.4")
    tap(phone, "Enter")
    tap(phone, "It is lit")
    ((shown, at_ms),) = here.until(lambda: bells(here))
    assert shown["title"] == "Wet slate in tin 120, candle 2: a mark is due"
    assert shown["navigate"] == f"{here.url}#/burn/{she.test}/1"
    until(lambda: abs(at_ms - now_ms() - seconds_on(phone) * 1000) < 3000)
    tap(phone, "Second flame")
    here.until(lambda: not bells(here))


# ---- the calendar's address --------------------------------------------------------------------


def test_a_server_that_sends_none_says_why_and_has_a_calendar(bench, phone, page_errors):
    here = bench(contact=False)
    here.pair()
    phone.context.grant_permissions(["clipboard-read", "clipboard-write"], origin=here.url)
    at(phone, here.url, "reminders")
    phone.reload()  # with what it says at its foot gone
    expect(slot(phone, "stands")).to_contain_text("Start it with --contact")
    expect(slot(phone, "turn")).to_be_hidden()
    # The days in the calendar go by her zone.
    assert here.until(lambda: here.posts("/api/zone"))

    # Shown once.
    tap(phone, "Make an address")
    expect(slot(phone, "url")).to_have_value(re.compile(r"^http://.*/calendar/.{20,}\.ics$"))
    # Its card comes a moment later, and moves what is below it.
    expect(slot(phone, "cards")).to_contain_text("not read yet")
    tap(phone, "Copy")
    expect(phone.locator("#said")).to_have_text("Copied.")
    url = phone.evaluate("navigator.clipboard.readText()")
    assert url == slot(phone, "url").input_value()
    assert phone.request.get(url).text().startswith("BEGIN:VCALENDAR")

    phone.reload()
    expect(slot(phone, "cards")).to_contain_text("last read")
    expect(slot(phone, "url")).to_be_hidden()
    tap(phone, "End it")
    tap(phone, "Really end it?")
    expect(slot(phone, "cards")).to_be_empty()
    assert phone.request.get(url).status == 404

    here.running.stop()
    tap(phone, "Make an address")
    expect(slot(phone, "trouble")).to_contain_text("no signal")
    expect(slot(phone, "stands")).to_contain_text("--contact")
    page_errors.clear()  # the browser logs what was not answered
