"""What is due, overdue and coming, on the phone alone: the server is stopped before anything is
touched. The invented workshop holds a batch poured 20 days ago and one poured 3 days ago.
"""

from datetime import date, timedelta
from pathlib import Path

import icalendar
import pytest
from playwright.sync_api import Page, expect

from tests.phone.maker import at, kept, slot, tap

OLD, NEW = "Wet slate, 12 × tin 120", "Plum & kelp, 4 × tumbler 300"


@pytest.fixture
def today(server, phone, open_ready) -> Page:
    bench = server(demo=True)
    open_ready(phone, bench.url)
    expect(phone.locator(".card", has_text=NEW)).to_be_visible()
    # What the shelf adds has read all that it needs.
    expect(phone.locator("bench-wanted .shelf .card")).to_be_visible()
    bench.stop()
    return phone


def groups(page: Page) -> dict[str, list[str]]:
    """Under each heading its batches: what counts and the state, of each thing that it asks."""
    found: dict[str, list[str]] = page.evaluate(
        """() => {
          const text = (root, what) => root.querySelector(what)?.textContent ?? '';
          const batch = (card) => {
            const asks = [...card.parentElement.querySelectorAll('.asks')];
            const name = text(card, '.name') + text(card, '.what .line');
            return (asks.length ? asks : [card])
              .map((asked) => [name, text(asked, 'b'), text(asked, '.chip')].join(' | '));
          };
          const groups = [...document.querySelectorAll('[data-slot=cards] > section')];
          return Object.fromEntries(groups.map((group) =>
            [text(group, 'h2'), [...group.querySelectorAll('.card')].flatMap(batch)]));
        }"""
    )
    return found


def events(page: Page, pour: str) -> list[str]:
    return [
        each["type"]
        for each in sorted(kept(page)["events"], key=lambda each: each["id"])
        if each["of"] == ["pour", pour]
    ]


def test_what_is_due_is_answered_with_done_or_tomorrow(today):
    assert groups(today) == {
        "Due": [f"{OLD} | fully cured | ", f"{OLD} | test burn due | overdue"],
        "Coming up": [f"{NEW} | 4 days | curing"],
    }
    today.locator(".asks", has_text="fully cured").get_by_role("button", name="OK").click()
    today.locator(".asks", has_text="test burn").get_by_role("button", name="Tomorrow").click()
    expect(today.locator(".asks")).to_have_count(0)
    coming = [f"{OLD} | tomorrow | cured", f"{NEW} | 4 days | curing"]
    assert groups(today) == {"Coming up": coming}
    today.reload()
    expect(today.locator(".card", has_text=OLD)).to_be_visible()
    assert groups(today) == {"Coming up": coming}
    assert events(today, "demo-pour-1")[-2:] == ["seen_to", "put_off"]


def test_a_batch_says_what_comes_and_takes_back_what_was_said(today):
    at(today, today.url.split("#")[0], "entry/demo-pour-1")
    lines = slot(today, "coming").locator(".comes")
    expect(lines).to_have_count(5)
    assert [line.split(": ")[1] for line in lines.all_inner_texts()] == [
        *("ready to trim ✓", "trim and label ✓", "cured ✓"),
        *("fully cured\nOK\nTomorrow", "test burn due\nOK\nTomorrow"),
    ]
    lines.nth(3).get_by_role("button", name="OK").click()
    expect(lines.nth(3)).to_contain_text("fully cured ✓")
    happened = slot(today, "happened").locator("li", has_text="Ticked off: fully cured")
    happened.get_by_role("button", name="Undo").click()
    expect(lines.nth(3)).to_contain_text("OK")
    assert events(today, "demo-pour-1")[-2:] == ["seen_to", "undone"]


def test_a_corrected_day_moves_all_of_it(today):
    at(today, today.url.split("#")[0], "entry/demo-pour-2")
    before = slot(today, "coming").inner_text()
    happened = slot(today, "happened").locator("li", has_text="Left to set")
    happened.get_by_role("button", name="Correct").click()
    # Cured yesterday: what falls due today does so at a time of day.
    today.get_by_label("Poured on").fill(str(date.today() - timedelta(days=8)))  # noqa: DTZ011
    tap(today, "Save")
    expect(slot(today, "coming")).not_to_have_text(before)
    today.locator("#rooms a", has_text="Today").click()
    expect(today.locator(".batch", has_text=NEW)).to_contain_text("cured")


def test_a_test_burn_ends_its_reminder_and_names_the_next(today):
    at(today, today.url.split("#")[0], "entry/demo-pour-1")
    today.get_by_text("I made a test burn").click()
    today.get_by_label("What you saw").fill("melt pool to the edge after 2 h")
    today.get_by_label("Burn it again on").fill(str(date.today() + timedelta(days=3)))  # noqa: DTZ011
    today.reload()
    # Half-typed, it is still there.
    expect(today.get_by_label("What you saw")).to_have_value("melt pool to the edge after 2 h")
    today.get_by_text("I made a test burn").click()
    tap(today, "Save the test burn")
    expect(slot(today, "coming")).to_contain_text("test burn due ✓")
    expect(slot(today, "happened")).to_contain_text("Test burn: melt pool to the edge after 2 h")
    today.locator("#rooms a", has_text="Today").click()
    expect(today.locator(".asks")).to_have_count(1)
    assert groups(today)["Due"] == [f"{OLD} | fully cured | "]
    today.locator(".asks").get_by_role("button", name="OK").click()
    expect(today.locator(".card", has_text="next test burn due")).to_contain_text("3 days")


def test_a_calendar_file_is_made_with_no_signal(today, tmp_path: Path):
    at(today, today.url.split("#")[0], "entry/demo-pour-2")
    with today.expect_download() as caught:
        tap(today, "Save a calendar file")
    caught.value.save_as(tmp_path / "batch.ics")
    assert caught.value.suggested_filename == "Plum & kelp.ics"
    calendar = icalendar.Calendar.from_ical((tmp_path / "batch.ics").read_bytes())
    assert [str(each["SUMMARY"]) for each in calendar.walk("VEVENT")] == [
        f"{NEW}: cured",
        f"{NEW}: fully cured",
        f"{NEW}: test burn due",
    ]


def test_a_time_of_day_is_read_and_refused_in_words(today):
    url = today.url.split("#")[0]
    at(today, url, "edit/workshop/workshop")
    today.locator("summary").click()
    today.get_by_label("Remind me at").fill("25:00")
    today.get_by_label("Time zone").fill("Atlantis")
    tap(today, "Save")
    said = [text for text in today.locator(".error").all_inner_texts() if text]
    assert said == [
        "Remind me at must be a time of day, such as 9:00 or 21:30.",
        "“Atlantis” is not a time zone: write it as Europe/Lisbon.",
    ]
    today.get_by_label("Remind me at").fill("7.30")
    today.get_by_label("Time zone").fill("Asia/Kathmandu")
    tap(today, "Save")
    expect(today.locator("body[data-screen=workshop]")).to_be_visible()
    (record,) = [each for each in kept(today)["records"] if each["kind"] == "workshop"]
    assert record["fields"]["remind_at"]["value"] == 450
    assert record["fields"]["time_zone"]["value"] == "Asia/Kathmandu"


COUNT_READ = """() => {
  globalThis.recordsRead = 0;
  const { getAll } = IDBObjectStore.prototype;
  IDBObjectStore.prototype.getAll = function (...which) {
    const asked = getAll.apply(this, which);
    if (this.name === 'records') {
      asked.addEventListener('success', () => (recordsRead += asked.result.length));
    }
    return asked;
  };
}"""

BRING_TWO = """async () => {
  const { bringIn } = await import('/static/records/store.js');
  const stamp = (number) => `00176407040000${number}.0000.afar`;
  const past = [{ value: 'Braid, 3', stamp: stamp(1) }];
  const apart = { value: 'Braid, 4', stamp: stamp(2), past };
  await bringIn([
    { kind: 'wick', id: 'apart', fields: { name: apart } },
    { kind: 'wick', id: 'other', fields: { name: { value: 'Other', stamp: stamp(3) } } },
  ], []);
}"""


def test_what_comes_from_others_is_read_and_not_all_that_is_kept(today):
    kept_here = today.evaluate("async () => (await import('/static/records/store.js')).count()")
    today.evaluate(COUNT_READ)
    today.evaluate(BRING_TWO)
    expect(today.locator(".card", has_text="Braid, 4")).to_contain_text("changed on two devices")
    assert today.evaluate("recordsRead") == 2 < kept_here
    # What is settled elsewhere is not asked about any more.
    today.evaluate("""async () => {
      const { settle } = await import('/static/records/settle.js');
      await settle('wick', 'apart', 'name', 'Braid, 4');
    }""")
    expect(today.locator(".card", has_text="Braid, 4")).to_have_count(0)
