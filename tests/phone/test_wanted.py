"""Wanted by a day, worked backwards, with the server stopped: in the invented workshop, with 12 of
Wet slate that are cured, a market that wants 24 of them in 35 days, and one jug.
"""

import re
from datetime import date, timedelta
from pathlib import Path

import icalendar
import pytest
from playwright.sync_api import Locator, Page, expect

from tests.phone.maker import at, fill, kept, slot, tap, title

#: The twelve that the demo has sold are here after all.
HERE_AFTER_ALL = """async () => {
  const store = await import('/static/records/store.js');
  await store.append('pour', 'demo-pour-1', { type: 'candles_counted', n: 12 });
}"""


@pytest.fixture
def alone(server, phone, open_ready) -> Page:
    bench = server(demo=True)
    open_ready(phone, bench.url)
    expect(phone.locator("bench-wanted .wanted .card", has_text="Harbour market")).to_be_visible()
    phone.evaluate(HERE_AFTER_ALL)
    bench.stop()
    return phone


def day(days: int) -> date:
    return date.today() + timedelta(days=days)  # noqa: DTZ011


def said(days: int) -> str:
    """The day as the bench says it in this year and the next."""
    there = day(days)
    return f"{there:%a} {there.day} " + ("Sept" if there.month == 9 else f"{there:%b}")


def todo(page: Page, name: str) -> list[str]:
    """What there is to do for one of them, on the list of all."""
    return page.locator(".wants", has_text=name).locator(".todo li").all_inner_texts()


def error(page: Page, name: str) -> Locator:
    return page.locator(f'[data-field="{name}"] .error')


def tap_link(page: Page, name: str) -> None:
    page.get_by_role("link", name=name, exact=True).tap()


def test_a_market_is_worked_backwards_to_the_days_to_pour_and_to_order(alone, tmp_path: Path):
    url = alone.url.split("#")[0]
    # 12 cure or stand; the other 12 need 14 days of cure before the 35th.
    card = alone.locator("bench-wanted .wanted .card")
    expect(card).to_contain_text(f"24 × Wet slate by {said(35)}. Pour 12 by {said(21)}.")
    card.tap()
    expect(title(alone)).to_have_text("Harbour market")
    at(alone, url, "wanted")
    expect(alone.locator(".wants")).to_contain_text("12 are there or will be cured in time.")

    # She wants more of them, sooner than the wax and the lids last.
    tap_link(alone, "Something is wanted")
    fill(alone, name="Rosa", recipe="Wet slate", count="0", by=str(day(-1)))
    slot(alone, "save").tap()
    expect(error(alone, "count")).to_have_text("How many must be from 1 to 100000: check it.")
    expect(error(alone, "by")).to_have_text("That day is over: choose one that is still to come.")
    fill(alone, count="30")
    fill(alone, by=str(day(30)))
    slot(alone, "save").tap()
    expect(title(alone)).to_have_text("Wanted")
    # The candles that are there go to the sooner of the two; a jug of hers takes 15 tins.
    assert todo(alone, "Rosa")[-2:] == [f"Pour 9 by {said(15)}.", f"Pour 9 by {said(16)}."]
    assert todo(alone, "Harbour")[-2:] == [f"Pour 12 by {said(20)}.", f"Pour 12 by {said(21)}."]

    # What is missing can be bought in time, and says where.
    tap_link(alone, "Shopping list")
    expect(slot(alone, "lists")).to_contain_text("Dune, soft vegetable")
    alone.evaluate("() => { navigator.share = async ({ text }) => { document.title = text; }; }")
    tap(alone, "Share the list")
    shared = re.compile("^Shopping list of .*Dune, soft vegetable: .* order by")
    expect(alone).to_have_title(shared)
    # Where a browser can't hand it on, it is copied.
    alone.context.grant_permissions(["clipboard-read", "clipboard-write"])
    alone.evaluate("() => { navigator.share = undefined; }")
    tap(alone, "Share the list")
    expect(alone.locator("#said")).to_have_text("It is copied: paste it into a message or a note.")
    copied = alone.evaluate("navigator.clipboard.readText()")
    assert shared.match(copied.replace("\n", " "))

    # The last day to pour is a day at the bench, whose pour is planned at a touch.
    at(alone, url, f"day/{day(21)}")
    expect(slot(alone, "cards").locator(".card")).to_contain_text("12 × Wet slate")
    tap_link(alone, "Start the first pour")
    expect(slot(alone, "count")).to_have_value("12")
    at(alone, url, "day/2026-02-30")
    expect(slot(alone, "error")).to_contain_text("“2026-02-30” is not a date")

    at(alone, url, "wanted")
    with alone.expect_download() as caught:
        tap(alone, "Save a calendar file")
    file = tmp_path / "wanted.ics"
    caught.value.save_as(file)
    events = icalendar.Calendar.from_ical(file.read_bytes()).walk("VEVENT")
    told = {(str(each["SUMMARY"]), each["DTSTART"].dt) for each in events}
    assert ("Harbour market: 24 × Wet slate wanted", day(35)) in told
    assert ("Rosa: pour 9 at the latest", day(15)) in told
    assert any(summary.startswith("Harbour market: order ") for summary, _ in told)


REST = """async () => {
  const { tidy } = await import('/static/shelf/tidy.js');
  const { unsettled } = await import('/static/records/store.js');
  const later_ms = Date.now() + 60 * 86_400_000;
  localStorage.removeItem('tidied');
  await tidy(later_ms, new Date(later_ms).toISOString().slice(0, 10), async () => {});
  const open = await unsettled('pour');
  if (open.some(({ id }) => id === 'demo-pour-1')) throw new Error('it did not come to rest');
}"""


def test_it_is_ticked_off_with_the_batches_that_went(alone):
    url = alone.url.split("#")[0]
    at(alone, url, "wanted/demo-market")
    box = slot(alone, "batches").locator("input")
    box.fill("13")
    tap(alone, "Save; the rest comes later")
    expect(slot(alone, "batches").locator(".error")).to_contain_text("Only 12 of this batch are")
    expect(box).to_have_value("13")
    box.fill("5")
    tap(alone, "Save; the rest comes later")
    expect(slot(alone, "todo")).to_contain_text("5 of them went out already.")
    expect(slot(alone, "batches")).to_contain_text("7 are here. 7 are set aside for this.")
    # Once the batch has come to rest, what went out of it and what is left are known all the same.
    alone.evaluate(REST)
    at(alone, url, "wanted/demo-market")
    expect(slot(alone, "todo")).to_contain_text("5 of them went out already.")
    expect(slot(alone, "batches")).to_contain_text("7 are here. 7 are set aside for this.")
    # Nothing is promised twice: 24 - 5 - 7 are still to be poured.
    expect(slot(alone, "todo")).to_contain_text(f"Pour 12 by {said(21)}.")
    # It asks of which batch they are before it takes that for done.
    tap(alone, "It is done")
    without = alone.get_by_role("button", name="Done, without saying of which batch", exact=True)
    expect(without).to_be_visible()
    tap(alone, "The 7 set aside went out")
    expect(slot(alone, "todo")).to_contain_text("12 of them went out already.")
    expect(slot(alone, "handing")).to_be_hidden()
    without.tap()
    expect(title(alone)).to_have_text("Wanted")
    expect(alone.locator(".wants")).to_have_count(0)
    expect(slot(alone, "many")).to_have_text("1 that is done")
    out = [each for each in kept(alone)["events"] if each.get("wanted")]
    told = [(each["of"], each["n"], each["wanted"]) for each in sorted(out, key=lambda e: e["id"])]
    assert told == [(["pour", "demo-pour-1"], n, "demo-market") for n in (5, 7)]
    at(alone, url, "today")
    expect(alone.locator("bench-wanted")).to_be_attached()
    expect(alone.locator("bench-wanted .wanted .card")).to_have_count(0)


def test_what_is_too_late_or_lost_its_recipe_is_said_at_once(alone):
    url = alone.url.split("#")[0]
    at(alone, url, "edit/wanted/demo-market")
    fill(alone, by=str(day(9)), count="60")
    slot(alone, "save").tap()
    # Full cure takes 14 days, the least 7: a jug of 15 today, tomorrow and the day after.
    warned = alone.locator(".wants .beware")
    expect(warned.nth(0)).to_contain_text("45 can only be cured, not at their best")
    expect(warned.nth(1)).to_contain_text("It is too late for 3 of them to be cured by then.")
    at(alone, url, "today")
    expect(alone.locator("bench-wanted .wanted .chip")).to_have_text("too late for some")
    alone.evaluate(
        """async () => (await import('/static/records/store.js')).remove(
             'recipe', 'demo-recipe-slate')"""
    )
    expect(alone.locator("bench-wanted .wanted .chip")).to_have_text("look at it")
    at(alone, url, "wanted")
    expect(warned).to_contain_text("Its recipe was deleted.")
