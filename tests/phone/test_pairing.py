"""A phone comes into a workshop, lets another in, and shuts a lost one out."""

import re
import time
from dataclasses import dataclass

import pytest
import segno
from playwright.sync_api import expect

from benchapp.records import pairing_codes, workshops
from benchapp.records.database import Database, sqlite_url
from tests.browser import PHONE
from tests.phone.maker import at, slot, tap
from tests.server import Server, serving

IPHONE = "Mozilla/5.0 (iPhone; CPU iPhone OS 17_5 like Mac OS X) AppleWebKit/605.1.15"
ANDROID = "Mozilla/5.0 (Linux; Android 14; K) AppleWebKit/537.36 Chrome/126.0 Mobile Safari/537.36"


@dataclass
class Bench:
    """A server whose address is not that of the phone itself."""

    running: Server

    @property
    def url(self) -> str:
        # Browsers look no further than the machine itself for names that end so (RFC 6761, 6.3).
        return self.running.url.replace("127.0.0.1", "bench.localhost")

    def code(self, name: str = "Workshop") -> str:
        """Make a code of a new workshop."""
        now_ms = time.time_ns() // 1_000_000
        database = Database(sqlite_url(self.running.data / "bench.sqlite3"))
        with database.write() as connection:
            shop = workshops.make_workshop(connection, name, now_ms)
            made = pairing_codes.make_code(connection, shop["id"], now_ms)[0]
        database.close()
        return made


@pytest.fixture(scope="module")
def bench(tmp_path_factory):
    """One server for all: each test is in a workshop of its own."""
    with serving(tmp_path_factory.mktemp("data")) as running:
        yield Bench(running)


@pytest.fixture
def code(bench):
    return bench.code


@pytest.fixture
def another(browser):
    """Open another device with empty storage: `another(IPHONE)`."""
    opened = []

    def open_(agent):
        context = browser.new_context(**PHONE, user_agent=agent)
        opened.append(context)
        return context.new_page()

    yield open_
    for context in opened:
        context.close()


def is_in(page):
    expect(page.locator("body[data-screen=workshop]")).to_be_visible()
    expect(page.locator("#said")).to_contain_text("This device is in “")
    return page.evaluate("async () => (await fetch('/api/me')).json()")


def test_an_empty_phone_that_opens_the_address_is_in(bench, code, another):
    phone = another(ANDROID)
    phone.goto(f"{bench.url}#/pair/{code()}")
    me = is_in(phone)
    assert me["paired"] is True
    assert me["device"]["name"] == "Android phone"
    # The code is not gone back to.
    assert phone.url == f"{bench.url}#/workshop"
    assert phone.evaluate("document.cookie") == ""


def test_a_phone_with_records_says_that_it_brings_them(bench, code, phone):
    phone.goto(bench.url)
    at(phone, bench.url, "edit/jug/new")
    phone.get_by_label("Name").fill("Blue jug")
    phone.get_by_label("Empty weight").fill("400 g")
    phone.get_by_label("Holds up to").fill("2 l")
    tap(phone, "Save")
    expect(phone.locator("body[data-screen=list]")).to_be_visible()
    at(phone, bench.url, f"pair/{code()}")
    expect(slot(phone, "along")).to_contain_text("come along into the workshop")
    slot(phone, "name").fill("<img src=x onerror=alert(1)>")
    tap(phone, "Join")
    assert is_in(phone)["device"]["name"] == "<img src=x onerror=alert(1)>"
    at(phone, bench.url, "devices")
    expect(phone.locator(".device .name")).to_have_text("<img src=x onerror=alert(1)>")
    # To another workshop it goes only after the words that say so.
    at(phone, bench.url, f"pair/{code('Barn')}")
    expect(slot(phone, "along")).to_contain_text("This device is in “Workshop”")
    tap(phone, "Join")
    assert is_in(phone)["workshop"]["name"] == "Barn"


def test_a_wrong_code_is_told_beside_it_and_stays(bench, code, phone, page_errors):
    phone.goto(bench.url)
    at(phone, bench.url, "pair")
    slot(phone, "name").fill("Shed")
    for typed, sentence in (("AAAA-AAAA", "not known"), ("AB", "8 letters and digits")):
        slot(phone, "code").fill(typed)
        tap(phone, "Join")
        expect(slot(phone, "wrong")).to_contain_text(sentence)
        expect(slot(phone, "code")).to_have_value(typed)
        expect(slot(phone, "code")).to_have_attribute("aria-invalid", "true")
    slot(phone, "name").fill("")
    good = code()
    slot(phone, "code").fill(good)
    tap(phone, "Join")
    expect(slot(phone, "wrong")).to_contain_text("A name is needed")
    expect(slot(phone, "name")).to_have_attribute("aria-invalid", "true")
    slot(phone, "name").fill("Shed")
    slot(phone, "code").fill(good.lower().replace("-", " "))
    slot(phone, "code").press("Enter")
    assert is_in(phone)["device"]["name"] == "Shed"
    page_errors.clear()  # the browser logs each 400


def test_each_wrong_code_is_one_try(server, phone, page_errors):
    bench = Bench(server())  # of its own: it lets nobody in for a while
    phone.goto(bench.url)
    at(phone, bench.url, "pair")
    for number in range(10):
        slot(phone, "code").fill(f"AAAA-AAA{number}")
        tap(phone, "Join")
        expect(slot(phone, "wrong")).to_contain_text("not known")
    slot(phone, "code").fill(bench.code())
    tap(phone, "Join")
    expect(slot(phone, "wrong")).to_contain_text("Too many wrong codes")
    page_errors.clear()


def test_an_iphone_is_sent_to_its_home_screen_first(bench, code, another):
    phone = another(IPHONE)
    made = code()
    phone.goto(f"{bench.url}#/pair/{made}")
    expect(slot(phone, "home")).to_contain_text("Add to Home Screen")
    # The code is still good, and there to be typed into the other one.
    expect(slot(phone, "code")).to_have_value(made)
    expect(slot(phone, "name")).to_have_value("iPhone")
    assert phone.evaluate("async () => (await (await fetch('/api/me')).json()).paired") is False
    tap(phone, "Join")
    assert is_in(phone)["paired"] is True


def test_one_device_lets_another_in_and_shuts_it_out(bench, code, another):
    first, second = another(ANDROID), another(IPHONE)
    first.goto(f"{bench.url}#/pair/{code()}")
    is_in(first)
    at(first, bench.url, "devices")
    tap(first, "Add a device")
    shown = slot(first, "code")
    expect(shown).to_have_text(re.compile(r"^[0-9A-Z]{4}-[0-9A-Z]{4}$"))
    made = shown.inner_text()
    address = f"{bench.url}#/pair/{made}"
    expect(slot(first, "url")).to_have_text(address)
    expect(slot(first, "lives")).to_have_text("The code works once, for 10 minutes.")
    # What is drawn is the QR code of the address, with the four light modules that it needs
    # around it (ISO/IEC 18004).
    path = first.locator("svg.qr path").get_attribute("d")
    drawn = {(int(x), int(y)) for x, y in re.findall(r"M(\d+) (\d+)h1v1h-1z", path)}
    matrix = segno.make(address, error="m", micro=False).matrix
    assert drawn == {
        (x + 4, y + 4) for y, row in enumerate(matrix) for x, dark in enumerate(row) if dark
    }
    side = len(matrix) + 8
    assert first.locator("svg.qr").get_attribute("viewBox") == f"0 0 {side} {side}"

    second.goto(address)
    tap(second, "Join")
    is_in(second)
    expect(first.locator("#said")).to_have_text("“iPhone” is paired now.")
    expect(slot(first, "invited")).to_be_hidden()

    row = first.locator(".device", has_text="iPhone")
    expect(row).to_contain_text("seen just now")
    expect(first.locator(".device", has_text="this device")).to_contain_text("Android phone")
    row.get_by_role("button", name="Rename").click()
    first.get_by_role("textbox", name="Name").fill("Shed phone")
    tap(first, "Save")
    row = first.locator(".device", has_text="Shed phone")
    row.get_by_role("button", name="Shut out").click()
    expect(row).to_contain_text("stays there until you wipe it")
    row.get_by_role("button", name="Really shut it out?").click()
    expect(row).to_contain_text("shut out since")
    expect(row.get_by_role("button")).to_have_count(0)

    at(second, bench.url, "devices")
    expect(slot(second, "trouble")).to_contain_text("not paired with the workshop")
    expect(second.get_by_role("link", name="Pair this device")).to_be_visible()
    expect(second.locator(".device")).to_have_count(0)


def test_without_signal_both_screens_say_so(
    bench, code, phone, phone_context, open_ready, page_errors
):
    open_ready(phone, bench.url)
    at(phone, bench.url, "devices")
    expect(slot(phone, "trouble")).to_contain_text("not paired with a server")
    phone.goto(f"{bench.url}#/pair/{code()}")  # it is in at once, and shows Workshop
    is_in(phone)
    made = code()
    phone_context.set_offline(True)
    at(phone, bench.url, f"pair/{made}")
    tap(phone, "Join")
    expect(slot(phone, "wrong")).to_contain_text("no signal")
    expect(slot(phone, "code")).to_have_value(made)
    at(phone, bench.url, "devices")
    expect(slot(phone, "trouble")).to_contain_text("no signal")
    page_errors.clear()  # the browser logs each request that failed
    phone_context.set_offline(False)
    tap(phone, "Add a device")
    expect(slot(phone, "code")).to_be_visible()
    page_errors.clear()


def test_the_machines_own_address_is_given_to_no_phone(bench, code, phone):
    url = bench.url.replace("bench.localhost", "127.0.0.1")
    phone.goto(f"{url}#/pair/{code()}")
    is_in(phone)
    at(phone, url, "devices")
    tap(phone, "Add a device")
    expect(slot(phone, "qr")).to_contain_text("Only this computer")
    expect(phone.locator("svg.qr")).to_have_count(0)
