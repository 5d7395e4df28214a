"""Reload, crash, two tabs, no room: the pour is where it was, and nothing is silently lost."""

import os
import signal
import subprocess
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from tests.phone.maker import (
    at,
    board,
    go_to,
    kept,
    open_pad,
    press,
    read_off,
    slot,
    start,
    step,
    tap,
    title,
)

NOON = "2030-05-01T12:00:00"


def shown_again(page: Page) -> dict[str, str]:
    page.reload()
    expect(page.locator(".board .act .go")).to_be_visible()
    return board(page)


# ---- the same phone, looked at again --------------------------------------------------------


def test_a_reload_at_any_step_changes_nothing(server, phone, phone_context):
    phone_context.clock.install()
    phone_context.clock.pause_at(NOON)
    start(phone, server(demo=True).url, recipe="plum", count="2")
    passed = []
    while title(phone).inner_text() != "Leave to set":
        before = board(phone)
        assert shown_again(phone) == before
        passed.append(before["title"])
        if before["title"] == "Cool to fragrance" and "Enter what" in before["lines"]:
            read_off(phone, "83.4")  # the countdown itself, once
            expect(phone.locator(".doing")).to_have_text("70 °C in")
            before = board(phone)
            assert shown_again(phone) == before
        step(phone)
    assert shown_again(phone)["title"] == "Leave to set"
    assert len(set(passed)) == 10


def test_a_countdown_is_right_to_the_second_after_a_reload(server, phone, phone_context):
    phone_context.clock.install()
    phone_context.clock.pause_at(NOON)
    start(phone, server(demo=True).url)
    go_to(phone, "Cool to fragrance")
    read_off(phone, "83.4")
    expect(phone.locator(".doing")).to_have_text("70 °C in")
    left_s = seconds(board(phone)["num"])
    assert left_s > 300
    for passed_s in (1, 90, 137):
        phone_context.clock.fast_forward(passed_s * 1000)
        left_s -= passed_s
        phone.reload()
        expect(phone.locator(".doing")).to_have_text("70 °C in")
        assert seconds(board(phone)["num"]) == left_s


def test_a_form_half_typed_is_there_after_a_reload(server, phone):
    bench = server(demo=True)
    at(phone, bench.url, "edit/vessel/new")
    phone.locator("[data-field=name] input").fill("bowl, odd")
    phone.locator("[data-field=method] select").select_option("round")
    phone.locator("[data-field=diameter_mm] input").fill("7 cm, or")  # not even readable yet
    phone.reload()
    expect(phone.locator("[data-field=name] input")).to_have_value("bowl, odd")
    expect(phone.locator("[data-field=diameter_mm] input")).to_have_value("7 cm, or")
    expect(phone.locator("[data-field=diameter_mm] input")).to_be_visible()

    at(phone, bench.url, "edit/recipe/demo-recipe-plum")
    rows = phone.locator("[data-field=oils] [data-row]")
    expect(rows).to_have_count(2)
    phone.locator("[data-field=oils] [data-add]").click()
    rows.nth(2).locator("[data-field=share] input").fill("15")
    phone.locator("[data-field=load] input").fill("6,5")
    phone.reload()
    expect(rows).to_have_count(3)
    expect(rows.nth(2).locator("[data-field=share] input")).to_have_value("15")
    expect(phone.locator("[data-field=load] input")).to_have_value("6,5")
    # And once it is saved, the draft is gone.
    rows.nth(2).get_by_role("button", name="Remove").click()
    tap(phone, "Save")
    expect(phone.locator("body[data-screen=recipe]")).to_be_visible()
    at(phone, bench.url, "edit/recipe/demo-recipe-plum")
    expect(phone.locator("[data-field=load] input")).to_have_value("6.5")


def seconds(clock: str) -> int:
    """'4:05' or '1:04:05' in seconds."""
    total = 0
    for part in clock.split(":"):
        total = 60 * total + int(part)
    return total


# ---- the browser gone -----------------------------------------------------------------------


def kill(directory: Path) -> None:
    """SIGKILL the one browser whose storage is in `directory`."""
    listed = subprocess.run(
        ["ps", "-A", "-ww", "-o", "pid=,args="], capture_output=True, text=True, check=True
    )
    mark = f"--user-data-dir={directory}"
    for line in listed.stdout.splitlines():
        pid, _, command = line.strip().partition(" ")
        if mark in command and "--type=" not in command:
            os.kill(int(pid), signal.SIGKILL)
            return
    raise AssertionError(f"No browser has its storage in {directory}.")


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="Windows has no SIGKILL")
def test_a_browser_killed_right_after_a_tap_loses_nothing(server, own_phone, tmp_path):
    bench = server(demo=True)
    context = own_phone()
    page = context.pages[0]
    start(page, bench.url)
    go_to(page, "Weigh wax")
    read_off(page, "1100")
    expect(page.locator(".doing")).to_contain_text("more, to")
    before = board(page)
    with context.expect_event("close"):
        kill(tmp_path / "phone")

    page = own_phone().pages[0]
    at(page, bench.url, "today")
    page.get_by_role("link", name="Wet slate, 12").first.click()
    expect(page.locator(".lines")).to_contain_text("The scale showed 1 100 g")
    assert board(page) == before


def test_a_countdown_goes_on_while_the_browser_is_closed(server, own_phone):
    bench = server(demo=True)
    context = own_phone()
    context.clock.install()
    context.clock.pause_at(NOON)
    page = context.pages[0]
    start(page, bench.url)
    go_to(page, "Cool to fragrance")
    read_off(page, "83.4")
    expect(page.locator(".doing")).to_have_text("70 °C in")
    left_s = seconds(board(page)["num"])
    here = page.url
    context.close()

    context = own_phone()
    context.clock.install()
    context.clock.pause_at("2030-05-01T12:07:30")
    page = context.pages[0]
    page.goto(here)
    expect(page.locator(".doing")).to_have_text("70 °C in")
    assert seconds(board(page)["num"]) == left_s - 450


# ---- the server gone ------------------------------------------------------------------------


def test_every_screen_opens_with_the_server_stopped(
    server, phone, phone_context, open_ready, page_errors
):
    bench = server(demo=True)
    open_ready(phone, bench.url)
    pour = start(phone, bench.url)
    bench.stop()
    phone.close()
    for path, heading in [
        ("today", "Today"),
        ("recipes", "Recipes"),
        ("recipe/demo-recipe-plum", "Plum & kelp"),
        ("plan/demo-recipe-plum", "Plum & kelp"),
        (f"pour/{pour}/0", "Make ready"),
        ("log", "Log"),
        ("entry/demo-pour-1", "Wet slate, 12 × tin 120"),
        ("workshop", "Workshop"),
        ("list/wax", "Waxes"),
        ("edit/wax/demo-wax-dune", "Dune, soft vegetable"),
        ("edit/workshop/workshop", "Units and room"),
    ]:
        # A fresh tab: nothing of the screen was loaded by another one before it.
        page = phone_context.new_page()
        page.goto(f"{bench.url}#/{path}")
        expect(title(page)).to_have_text(heading)
        page.close()
    page = phone_context.new_page()
    page.goto(f"{bench.url}some/old/link?from=reminder")
    expect(title(page)).to_have_text("Today")
    page_errors.clear()  # the browser logs that a newer version could not be asked for


# ---- two tabs -------------------------------------------------------------------------------


def test_a_stale_tap_writes_nothing_and_says_so(server, phone, phone_context):
    start(phone, server(demo=True).url)
    go_to(phone, "Weigh wax")
    second = phone_context.new_page()
    second.goto(phone.url)
    expect(title(second)).to_have_text("Weigh wax")
    open_pad(second)  # while the pad is open, the board behind it stays as it was

    step(phone)
    expect(title(phone)).to_have_text("Melt")
    before = kept(phone)
    press(second, "1301")
    tap(second, "Enter")
    expect(second.locator("#said")).to_contain_text("This pour has moved on elsewhere")
    expect(title(second)).to_have_text("Melt")
    assert kept(phone) == before


# ---- nowhere to keep it ---------------------------------------------------------------------

# Fills what is left to the last bytes. Chromium asks for the quota only when a write could pass
# what it last heard was free, so the room must really be gone.
_FILL_UP = """async () => {
  const db = await new Promise((resolve, reject) => {
    const asked = indexedDB.open('ballast', 1);
    asked.onupgradeneeded = () => asked.result.createObjectStore('lumps', { autoIncrement: true });
    asked.onsuccess = () => resolve(asked.result);
    asked.onerror = () => reject(asked.error);
  });
  const put = (size) => new Promise((resolve) => {
    const writing = db.transaction('lumps', 'readwrite');
    const bytes = new Uint8Array(size);
    for (let at = 0; at < size; at += 65536) crypto.getRandomValues(bytes.subarray(at, at + 65536));
    writing.objectStore('lumps').add(bytes);
    writing.oncomplete = () => resolve(true);
    writing.onabort = () => resolve(false);
  });
  for (let size = 1 << 20; size >= 1; size >>= 1) while (await put(size));
  db.close();
}"""


class Room:
    """The room on a phone: set narrow before the first write, filled up, and made wide again."""

    def __init__(self, page: Page, url: str) -> None:
        self.page = page
        self.origin = url.rstrip("/")
        self.devtools = page.context.new_cdp_session(page)
        quota = {"origin": self.origin, "quotaSize": 4_000_000}
        self.devtools.send("Storage.overrideQuotaForOrigin", quota)

    def fill_up(self) -> None:
        self.page.evaluate(_FILL_UP)

    def free(self) -> None:
        self.devtools.send("Storage.overrideQuotaForOrigin", {"origin": self.origin})


def test_a_full_phone_says_so_and_goes_on_when_there_is_room(server, phone):
    bench = server(demo=True)
    room = Room(phone, bench.url)
    start(phone, bench.url)
    go_to(phone, "Melt")
    before = kept(phone)
    here = board(phone)
    room.fill_up()

    tap(phone, "All melted")
    expect(phone.locator("#said")).to_contain_text("The phone has no room left")
    assert board(phone) == here
    assert kept(phone) == before

    room.free()
    tap(phone, "All melted")
    expect(title(phone)).to_have_text("Cool to fragrance")
    assert len(kept(phone)["events"]) == len(before["events"]) + 1


def test_a_full_phone_keeps_what_was_typed_in_a_form(server, phone):
    bench = server(demo=True)
    room = Room(phone, bench.url)
    at(phone, bench.url, "edit/vessel/new")
    before = kept(phone)
    phone.locator("[data-field=name] input").fill("jam jar")
    phone.locator("[data-field=water_g] input").fill("210 g")
    room.fill_up()
    tap(phone, "Save")
    expect(phone.locator("#said")).to_contain_text("The phone has no room left")
    expect(phone.locator("[data-field=name] input")).to_have_value("jam jar")
    expect(phone.locator("[data-field=water_g] input")).to_have_value("210 g")
    assert kept(phone) == before

    room.free()
    tap(phone, "Save")
    expect(title(phone)).to_have_text("Vessels")
    expect(phone.get_by_role("link", name="jam jar")).to_be_visible()


def test_a_full_phone_starts_no_pour(server, phone):
    bench = server(demo=True)
    room = Room(phone, bench.url)
    at(phone, bench.url, "plan/demo-recipe-slate")
    slot(phone, "count").fill("7")
    before = kept(phone)
    room.fill_up()
    tap(phone, "Start this pour")
    expect(slot(phone, "error")).to_contain_text("The phone has no room left")
    expect(slot(phone, "count")).to_have_value("7")
    assert kept(phone) == before
    room.free()
    tap(phone, "Start this pour")
    expect(title(phone)).to_have_text("Make ready")


@pytest.mark.parametrize(
    "missing",
    [
        pytest.param("Object.defineProperty(window, 'indexedDB', { value: undefined })", id="none"),
        pytest.param(
            "IDBFactory.prototype.open = () => { throw new DOMException('no', 'SecurityError') }",
            id="forbidden",
        ),
        pytest.param(
            "const real = IDBFactory.prototype.open;"
            "IDBFactory.prototype.open = function () {"
            "  const asked = real.call(this, 'x', 1);"
            "  asked.addEventListener('upgradeneeded', (event) => {"
            "    event.stopImmediatePropagation(); asked.transaction.abort(); });"
            "  return asked; }",
            id="refused later",
        ),
    ],
)
def test_nowhere_to_keep_anything_is_said_in_words(server, phone, missing):
    bench = server(demo=True)
    phone.add_init_script(f"if (sessionStorage.getItem('ok') === null) {{ {missing} }}")
    phone.goto(bench.url)
    expect(title(phone)).to_have_text("Nothing can be saved here")
    expect(phone.get_by_role("alert")).to_contain_text("Open the bench in an ordinary window")
    # No dead end: once it is allowed, the same page goes on.
    phone.evaluate("sessionStorage.setItem('ok', 'yes')")
    tap(phone, "Try again")
    expect(title(phone)).to_have_text("Today")
    expect(phone.get_by_role("link", name="Wet slate").first).to_be_visible()


@pytest.mark.parametrize("path", ["nonsense/7", "%E0", "__proto__", "constructor"])
def test_an_address_that_means_nothing_shows_today(server, phone, path):
    phone.goto(f"{server(demo=True).url}#/{path}")
    expect(title(phone)).to_have_text("Today")
    expect(phone.locator("#rooms [aria-current]")).to_have_text("Today")
