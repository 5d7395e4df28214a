"""No kept pour, however odd its events, keeps a screen from opening: not its own board, and not
Today, the strip or another pour's board. An error that is only logged fails these tests too.
"""

import re

import pytest
from playwright.sync_api import Page, expect

from tests.phone.maker import at, slot, start, title
from tests.phone.odd_pours import ELSEWHERE, FILLED_TWICE, UNKNOWN, any_events, happen
from tests.phone.running import COOLING, begin

_SHOWN = """async (pour) => {
  const store = await import('/static/records/store.js');
  const events = await store.events('pour', pour);
  return events.filter(({ type }) => type !== 'undone' && type !== 'corrected').length;
}"""

ODD = {
    "a vessel is filled twice": FILLED_TWICE,
    "events of another jug": ELSEWHERE,
    "types that nobody knows": UNKNOWN,
}


#: What no word of a screen is.
NONSENSE = re.compile(r"NaN|undefined|Infinity|\[object|\{\w+\}")


def looked_at(phone: Page, url: str, pour: str) -> None:
    """Every screen that shows a pour opens, and says something sensible."""
    at(phone, url, f"entry/{pour}")
    # Its table, what happened and the line that ends the page are drawn.
    happened = slot(phone, "happened").locator("li")
    shown = phone.evaluate(_SHOWN, pour)
    expect(happened).to_have_count(shown)
    expect(phone.locator("#screen main")).not_to_have_text(NONSENSE)
    at(phone, url, "log")
    expect(phone.locator(f".card[href='#/entry/{pour}']")).to_be_visible()
    expect(slot(phone, "unread")).to_be_hidden()
    expect(phone.locator("#screen main")).not_to_have_text(NONSENSE)
    at(phone, url, "today")
    expect(phone.locator(f".card[href='#/pour/{pour}']")).to_be_visible()
    at(phone, url, f"pour/{pour}/0")
    expect(title(phone)).not_to_be_empty()
    expect(phone.locator(".act .go")).to_be_visible()
    expect(phone.locator("#screen main")).not_to_have_text(NONSENSE)


@pytest.mark.parametrize("odd", ODD)
def test_an_odd_pour_is_shown(server, phone, odd):
    bench = server(demo=True)
    phone.goto(bench.url)
    expect(title(phone)).to_have_text("Today")
    pour = begin(phone, 1, COOLING).split("/")[2]
    happen(phone, pour, ODD[odd])
    looked_at(phone, bench.url, pour)
    # It goes on, and what was done last is taken back.
    phone.get_by_role("button", name="Undo").click()
    expect(phone.locator(".act .go")).to_be_visible()


def test_pours_of_any_events_are_shown(server, phone):
    bench = server(demo=True)
    phone.goto(bench.url)
    expect(title(phone)).to_have_text("Today")
    for seed in range(15):
        pour = begin(phone, 1 + seed % 2, COOLING if seed % 3 else None).split("/")[2]
        happen(phone, pour, [{"type": "ready"}, *any_events(seed)])
        looked_at(phone, bench.url, pour)


def test_an_odd_pour_is_trimmed(server, phone):
    bench = server(demo=True)
    phone.goto(bench.url)
    expect(title(phone)).to_have_text("Today")
    pour = begin(phone, 1, COOLING).split("/")[2]
    happen(phone, pour, [*FILLED_TWICE, *ELSEWHERE, *UNKNOWN])
    happen(phone, pour, [{"type": "set", "on": "2026-11-20"}])
    expect(phone.locator(f".card[href='#/trim/{pour}']").first).to_be_visible()
    at(phone, bench.url, f"trim/{pour}")
    expect(slot(phone, "cured")).to_contain_text("Poured")
    expect(phone.get_by_role("button", name="Put away to cure")).to_be_enabled()


def test_one_that_cannot_be_read_hides_no_other(server, phone):
    bench = server(demo=True)
    good = start(phone, bench.url)
    # A sheet that no version wrote.
    phone.evaluate(
        """async () => {
          const store = await import('/static/records/store.js');
          await store.save('pour', 'broken', { name: 'Broken', sheet: {}, started_at: 1 });
        }"""
    )
    at(phone, bench.url, "today")
    expect(phone.locator(f".card[href='#/pour/{good}']")).to_be_visible()
    at(phone, bench.url, f"pour/{good}/0")
    expect(title(phone)).to_have_text("Make ready")
