"""What is on the bench is read once a change, whatever screen is shown."""

import re

import pytest
from playwright.sync_api import Page, expect

from tests.phone.maker import at, go_to, read_off, remove, start, step, tap, title

# Counts every read of a stream of events.
COUNT_READS = """
globalThis.streamReads = 0;
for (const kind of [IDBIndex, IDBObjectStore]) {
  const getAll = kind.prototype.getAll;
  kind.prototype.getAll = function (...given) {
    if ((this.objectStore ?? this).name === 'events') streamReads += 1;
    return getAll.apply(this, given);
  };
}
"""


def reads_of(page: Page) -> int:
    return int(page.evaluate("streamReads"))


@pytest.fixture
def counted(phone: Page) -> Page:
    phone.add_init_script(COUNT_READS)
    return phone


def test_a_touch_at_the_board_reads_its_pour_once(server, counted):
    bench = server(demo=True)
    start(counted, bench.url)
    go_to(counted, "Weigh wax")
    # The shelf is read once, when the board is opened.
    expect(counted.locator("bench-bag p")).to_be_visible()
    before = reads_of(counted)
    for count in (1, 2):
        step(counted)
        assert reads_of(counted) == before + count


def test_a_change_elsewhere_is_read_once_on_today(server, counted, phone_context):
    bench = server(demo=True)
    pour = start(counted, bench.url)
    at(counted, bench.url, "today")
    card = counted.locator(f".card[href='#/pour/{pour}']")
    expect(card).to_contain_text("go on")
    expect(counted.locator("bench-wanted .shelf .card")).to_be_visible()
    before = reads_of(counted)
    other = phone_context.new_page()
    at_once = f"{bench.url}#/pour/{pour}/0"
    other.goto(at_once)
    expect(title(other)).to_have_text("Make ready")
    other.locator(".act .go").click()
    expect(title(other)).to_have_text("Weigh wax")
    expect(card).to_contain_text("Weigh wax")
    assert reads_of(counted) == before + 1


def test_today_says_what_a_clock_runs_for_and_what_it_is_time_for(server, phone):
    bench = server(demo=True)
    phone.clock.install()
    pour = start(phone, bench.url, count="2")
    go_to(phone, "Cool to fragrance")
    read_off(phone, "86")
    expect(phone.locator(".doing")).to_have_text("70 °C in")
    at(phone, bench.url, "today")
    card = phone.locator(f".card[href='#/pour/{pour}']")
    expect(card).to_contain_text("cooling for fragrance")
    expect(card.locator("b").last).to_have_text(re.compile(r"^\d+:\d\d"))
    phone.clock.fast_forward("02:00:00")
    expect(card).to_contain_text("time for fragrance")
    expect(card.locator("b").last).to_have_text("now")


def test_two_boards_of_a_pour_show_the_same(server, phone, phone_context):
    bench = server(demo=True)
    pour = start(phone, bench.url)
    other = phone_context.new_page()
    other.goto(f"{bench.url}#/pour/{pour}/0")
    expect(title(other)).to_have_text("Make ready")
    step(phone)
    expect(title(other)).to_have_text("Weigh wax")
    other.get_by_role("button", name="Undo").click()
    expect(title(phone)).to_have_text("Make ready")
    # Deleted in the log of one, it is gone from the board of the other.
    at(other, bench.url, f"entry/{pour}")
    remove(other)
    expect(title(other)).to_have_text("Log")
    expect(phone.locator("dialog")).to_contain_text("deleted while it is on your bench")
    tap(phone, "Leave it")
    expect(title(phone)).to_have_text("Today")
