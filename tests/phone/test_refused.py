"""What the server does not take is shown with its reason and mended; what is deleted comes back."""

import pytest
from playwright.sync_api import expect

from tests.phone.maker import at, new_code, say_why, slot, tap, title

# An older bench might have let it through: this one's own form would not.
_SAVE = """async ([kind, id, values]) => {
  const store = await import('/static/records/store.js');
  await store.save(kind, id, values);
  await (await import('/static/records/exchange.js')).exchangeNow();
}"""


@pytest.fixture
def bench(server, phone):
    """A server and a phone that is paired with it."""
    running = server(demo=True)
    phone.goto(running.url)
    expect(title(phone)).to_have_text("Today")
    at(phone, running.url, f"pair/{new_code(running.data)}")
    tap(phone, "Join")
    expect(title(phone)).to_have_text("Workshop")
    return running


def test_a_refused_record_says_why_and_is_mended(bench, phone):
    phone.evaluate(_SAVE, ["wax", "demo-wax-dune", {"highest_load": 0.9, "notes": "creamy"}])
    at(phone, bench.url, "today")
    expect(phone.locator("#server")).to_contain_text("The server refused one change: see why.")
    phone.locator("#server").click()
    why = "Highest fragrance load must be from 0 to 30 % of the wax."
    expect(slot(phone, "refused")).to_contain_text(f"“Dune, soft vegetable”: {why}")
    phone.get_by_role("link", name="refused: wax").click()
    field = phone.locator("[data-field=highest_load]")
    expect(field.locator("[data-error]")).to_have_text(why)
    field.locator("input").fill("12")
    tap(phone, "Save")
    expect(title(phone)).to_have_text("Waxes")
    expect(phone.locator("#server")).to_be_hidden()
    at(phone, bench.url, "workshop")
    expect(slot(phone, "server")).to_contain_text("Everything is on the server too")
    # Nothing of it is lost, the refused number neither.
    at(phone, bench.url, "history/wax/demo-wax-dune")
    for text in ("Highest fragrance load: 12 %", "Highest fragrance load: 90 %", "Notes: creamy"):
        expect(slot(phone, "versions")).to_contain_text(text)


def test_a_deleted_record_is_brought_back(bench, phone):
    at(phone, bench.url, "edit/wick/demo-wick-a")
    tap(phone, "Delete")
    tap(phone, "Really delete this wick? 1 recipe uses it.")
    say_why(phone)
    expect(title(phone)).to_have_text("Wicks")
    expect(phone.get_by_role("link", name="flat cotton, 4")).to_have_count(0)
    phone.get_by_role("link", name="What was deleted").click()
    phone.get_by_role("link", name="flat cotton, 4").click()
    tap(phone, "Bring it back")
    expect(phone.get_by_role("button", name="Bring it back")).to_be_hidden()
    at(phone, bench.url, "list/wick")
    expect(phone.get_by_role("link", name="flat cotton, 4")).to_be_visible()
    expect(phone.get_by_role("link", name="What was deleted")).to_be_hidden()
