"""The phone's clock is put back while wax cools: the bench goes on by the time before."""

import re

from playwright.sync_api import Page, expect

from tests.phone.maker import at, go_to, kept, read_off, slot, start, tap, title

# The wall clock alone is put back; the monotonic one goes on.
PUT_BACK = """(() => {
  const now = Date.now.bind(Date);
  Date.now = () => now() - Number(localStorage.putBack ?? 0);
})()"""
HOUR_MS = 3_600_000


def left_s(page: Page) -> int:
    """What the countdown says."""
    minutes, seconds = re.findall(r"\d+", slot(page, "num").inner_text())[:2]
    return int(minutes) * 60 + int(seconds)


def test_a_clock_put_back_moves_no_countdown_and_is_told(server, phone):
    bench = server(demo=True)
    phone.add_init_script(PUT_BACK)
    pour = start(phone, bench.url, count="12")
    go_to(phone, "Cool to fragrance")
    read_off(phone, "84")
    expect(slot(phone, "num")).to_have_text(re.compile(r"\d:\d\d"))
    before = left_s(phone)
    phone.evaluate(f"localStorage.putBack = {HOUR_MS}")
    said = phone.locator("#said")
    expect(said).to_contain_text("clock was set back 60 minutes during this pour")

    def still(page: Page) -> None:
        assert before - 60 < left_s(page) <= before
        # The wax is where it is by its curve, not an hour before its first dip.
        shown = re.search(r"about ([\d.]+)", slot(page, "lines").inner_text())
        assert shown
        assert 83.8 <= float(shown[1]) <= 84.1

    still(phone)
    phone.reload()
    expect(slot(phone, "num")).to_have_text(re.compile(r"\d:\d\d"))
    still(phone)
    read_off(phone, "83.5")
    expect(phone.locator("#screen svg.curve .dip")).to_have_count(2)
    dips = [each for each in kept(phone)["events"] if each["type"] == "read"]
    first, second = (each["at"] for each in dips if each["of"][1] == pour)
    assert 0 < second - first < 60_000

    # Put back again while the page is closed: it goes on where it stopped.
    phone.evaluate(f"addEventListener('pagehide', () => localStorage.putBack = {3 * HOUR_MS})")
    phone.goto("about:blank")
    at(phone, bench.url, "today")
    line = phone.locator("#server")
    expect(line).to_contain_text("clock was set back 3 hours")
    at(phone, bench.url, f"pour/{pour}/0")
    expect(slot(phone, "num")).to_have_text(re.compile(r"\d:\d\d"))
    assert before - 90 < left_s(phone) < before

    # With nothing on the bench, its time is the phone's again.
    at(phone, bench.url, f"entry/{pour}")
    tap(phone, "Delete")
    tap(phone, "Really delete this pour?")
    expect(title(phone)).to_have_text("Log")
    expect(line).to_be_hidden()
    assert phone.evaluate("localStorage.getItem('bench clock')") is None
    assert phone.evaluate(
        "async () => Math.abs((await import('/static/bench/clock.js')).now() - Date.now()) < 50"
    )
