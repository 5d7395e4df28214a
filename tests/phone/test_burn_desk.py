"""Burn tests at the desk, with the server stopped: planning one, what its page says and does, and
where else it is said. The invented workshop has one closed test, of two wicks.
"""

import re

import pytest
from playwright.sync_api import Locator, Page, expect

from tests.phone.maker import at, fill, kept, say_why, slot, tap, title

TEST = "test/demo-test-1"
SLATE = "demo-recipe-slate"

#: The twelve that the demo has sold are here after all.
HERE_AFTER_ALL = """async () => {
  const store = await import('/static/records/store.js');
  await store.append('pour', 'demo-pour-1', { type: 'candles_counted', n: 12 });
}"""


#: What happened to the demo's first three candles happens to the newest test's; answers its id.
BURN = """async () => {
  const store = await import('/static/records/store.js');
  const [test] = (await store.all('burn_test')).sort((a, b) => b.started_at - a.started_at);
  const told = await store.events('burn_test', 'demo-test-1');
  const since = test.started_at - told[0].at + 60_000;
  const events = told.filter(({ candle, type }) => candle < 3 && type !== 'rated')
    .map(({ id, of, at, ...rest }) => ({ ...rest, at: at + since }));
  await store.appendAll('burn_test', test.id, events);
  return test.id;
}"""

DELETED = """(deleted) => import('/static/records/store.js')
  .then((store) => store.save('pour', 'demo-pour-1', { deleted }))"""

CHANGE = """(recipe) => import('/static/records/store.js')
  .then((store) => store.save('recipe', recipe, { wick: 'demo-wick-c', load: 0.09 }))"""


@pytest.fixture
def alone(server, phone, open_ready) -> Page:
    bench = server(demo=True)
    open_ready(phone, bench.url)
    expect(phone.locator("bench-wanted .wanted .card", has_text="Harbour market")).to_be_visible()
    bench.stop()
    return phone


def home(page: Page) -> str:
    return page.url.split("#")[0]


def link(page: Page, name: str) -> Locator:
    return page.locator("#screen").get_by_role("link", name=name, exact=True)


def error(page: Page, name: str) -> Locator:
    """What is said beside a box, or beside all rows of a field."""
    return page.locator(f'[data-field="{name}"] > .error')


def row(page: Page, number: int, name: str) -> Locator:
    rows = page.locator('[data-field="wicks"] > [data-rows] > [data-row]')
    return rows.nth(number).locator(f'[data-field="{name}"] select')


def of_kind(page: Page, kind: str) -> list[dict[str, object]]:
    return [each for each in kept(page)["events"] if each["of"][0] == kind]


def refuse_what_makes_no_sense(page: Page) -> None:
    """Each is said beside its box, and nothing typed is lost."""
    row(page, 1, "wick").select_option("demo-wick-a")
    fill(page, width_mm="wide", marks="1, 3, 2", candles_each="2")
    expect(slot(page, "cautions")).to_contain_text("Two say almost nothing")
    tap(page, "Begin the test")
    expect(error(page, "width_mm")).to_contain_text("wide")
    fill(page, width_mm="62")
    tap(page, "Begin the test")
    expect(error(page, "wicks")).to_have_text(
        "flat cotton, 4 is there twice: choose each wick once."
    )
    row(page, 1, "wick").select_option("demo-wick-c")
    row(page, 1, "batch").select_option("demo-pour-1")
    tap(page, "Begin the test")
    expect(error(page, "marks")).to_have_text("The marks must rise, and 2 comes after 3.")
    page.reload()
    expect(page.locator('[data-field="width_mm"] input')).to_have_value("62")
    expect(row(page, 1, "batch")).to_have_value("demo-pour-1")
    fill(page, marks="1 2 3 4", candles_each="7")
    tap(page, "Begin the test")
    expect(error(page, "wicks")).to_contain_text("has 12 candles for a test, and 14 are asked for")


def test_a_test_is_planned_of_a_batch_and_the_batch_leads_to_it(alone):  # noqa: PLR0915
    alone.evaluate(HERE_AFTER_ALL)
    url = home(alone)
    # The reminder of a test burn opens a new test, of this batch's candles.
    at(alone, url, "today")
    alone.locator(".asks", has_text="test burn due").get_by_role("link", name="Burn").tap()
    expect(title(alone)).to_have_text("New burn test")
    expect(row(alone, 0, "wick")).to_have_value("demo-wick-a")
    expect(row(alone, 0, "batch")).to_have_value("demo-pour-1")
    expect(row(alone, 1, "wick")).to_have_value("demo-wick-c")
    expect(link(alone, "Plan to pour 3")).to_have_attribute("href", f"#/plan/{SLATE}/3")

    refuse_what_makes_no_sense(alone)
    alone.locator("details", has_text="No place of the vessel hotter than").locator("summary").tap()
    fill(alone, hottest_c="600")
    tap(alone, "Begin the test")
    expect(error(alone, "hottest_c")).to_contain_text("200")
    fill(alone, hottest_c="")
    fill(alone, candles_each="3")
    expect(slot(alone, "cautions")).to_contain_text("was poured with flat cotton, 4, not with flat")
    expect(slot(alone, "facts")).to_contain_text("Dune, soft vegetable FF-2609")

    # A wick that is made on the way is chosen there.
    alone.get_by_role("button", name="Add").tap()
    alone.get_by_role("link", name="New wick").last.tap()
    expect(title(alone)).to_have_text("New wick")
    fill(alone, name="flat cotton, 8", series="flat cotton", size="8")
    slot(alone, "save").tap()
    expect(title(alone)).to_have_text("New burn test")
    expect(row(alone, 2, "wick").locator("option:checked")).to_have_text("flat cotton, 8")
    alone.get_by_role("button", name="Remove").last.tap()
    tap(alone, "Begin the test")
    expect(title(alone)).to_have_text("Wet slate in tin 120: flat cotton 4, 6")
    expect(slot(alone, "facts")).to_contain_text("next: candle 1, flat cotton, 4, sitting 1")
    expect(slot(alone, "candles")).to_contain_text("vessel 4")
    expect(slot(alone, "candles")).to_contain_text("From Dune, soft vegetable FF-2609")

    # Its candles are no longer counted as there, and the batch leads to it.
    out = [each for each in of_kind(alone, "batch") if each["type"] == "test_burned"]
    assert [each["n"] for each in out][-1] == 6
    at(alone, url, "entry/demo-pour-1")
    link(alone, "Burn test").tap()
    expect(title(alone)).to_have_text("Wet slate in tin 120: flat cotton 4, 6")
    at(alone, url, "tests")
    expect(alone.locator(".card", has_text="3 of each wick; next: candle 1")).to_be_visible()

    # Burned like those of the demo's smaller wick, they pass; the recipe says from which lots.
    test = alone.evaluate(BURN)
    at(alone, url, f"test/{test}")
    expect(alone.locator(".wick .chip").first).to_have_text("right")
    expect(alone.locator(".wick", has_text="flat cotton, 6")).to_contain_text("not known yet")
    at(alone, url, f"recipe/{SLATE}")
    expect(slot(alone, "told")).to_contain_text(
        "They were poured from Dune, soft vegetable FF-2609"
    )

    # A batch that is deleted is said to be, at its candles.
    at(alone, url, f"test/{test}")
    alone.evaluate(DELETED, True)
    expect(slot(alone, "candles")).to_contain_text("This batch was deleted.")
    alone.evaluate(DELETED, False)
    expect(slot(alone, "candles")).not_to_contain_text("This batch was deleted.")
    # Closed, a test asks no more, and its batch has had its test burn.
    tap(alone, "Close the test")
    expect(slot(alone, "facts")).to_contain_text("closed on")
    expect(slot(alone, "burn")).to_be_hidden()
    at(alone, url, "today")
    expect(alone.locator(".asks", has_text="fully cured")).to_be_visible()
    expect(alone.locator(".asks", has_text="test burn due")).to_have_count(0)


def delete_and_bring_back(page: Page) -> None:
    """As a pour is."""
    at(page, home(page), TEST)
    slot(page, "remove").tap()
    tap(page, "Really delete this test?")
    say_why(page)
    expect(title(page)).to_have_text("Burn tests")
    link(page, "Deleted burn tests").tap()
    page.locator(".card", has_text="Wet slate in tin 120").tap()
    expect(slot(page, "gone")).to_contain_text("This burn test was deleted.")
    tap(page, "Bring it back")
    expect(slot(page, "gone")).to_be_empty()


def test_a_test_says_what_it_proves_and_is_set_right(alone):
    url = home(alone)
    at(alone, url, TEST)
    small = alone.locator(".wick", has_text="flat cotton, 4").first
    large = alone.locator(".wick", has_text="flat cotton, 6").first
    expect(small.locator(".chip")).to_have_text("right")
    expect(large.locator(".chip")).to_have_text("too large")
    expect(small).to_contain_text("A label may claim")
    # No hours are claimed of a wick that is not right.
    expect(large).not_to_contain_text("A label may claim")
    expect(small.locator("svg")).to_have_count(3)
    assert "the wall at 62" in str(small.locator("svg").nth(1).get_attribute("aria-label"))
    expect(slot(alone, "no_certificate")).to_contain_text("have the last word")
    alone.locator(".limits summary").tap()
    expect(slot(alone, "limits").locator("li").first).to_contain_text("(second-hand)")

    # A number that was wrong is set right: no pool is wider than the vessel.
    alone.locator(".all summary").tap()
    tap(alone, "Show all 155")
    line = alone.locator(".happened li", has_text="Candle 1, flat cotton, 4, sitting 1, after 1 h")
    pool = line.filter(has_text="melt pool, one way")
    pool.get_by_role("button", name="Correct").tap()
    box = alone.locator("dialog.ask input")
    box.fill("70 mm")
    tap(alone, "Save")
    expect(alone.locator("dialog.ask .error")).to_contain_text("wider than the vessel, which is 62")
    box.fill("44 mm")
    tap(alone, "Save")
    expect(pool).to_contain_text("corrected")
    alone.locator(".candle", has_text="Candle 1,").locator("summary").tap()
    expect(slot(alone, "candles")).to_contain_text(re.compile("After 1.h: pool 44.mm, flame 24.mm"))

    # The recipe says what came of it, and what was changed since.
    at(alone, url, f"recipe/{SLATE}")
    told = slot(alone, "told")
    expect(told).to_contain_text("Tested: 3 candles with flat cotton, 4 passed on")
    alone.evaluate(CHANGE, SLATE)
    expect(told).to_have_text("It was changed since it was tested: the load, which is higher.")
    at(alone, url, f"plan/{SLATE}")
    expect(alone.locator("bench-tested")).to_contain_text("It was changed since it was tested")
    alone.locator("bench-tested").get_by_role("link", name="See the test").tap()

    # The wick that is right goes into the recipe, once that is sure.
    use = alone.locator(".wick", has_text="flat cotton, 4").get_by_role("button")
    expect(use).to_have_text("Use this wick in the recipe")
    use.tap()
    expect(use).to_have_text("Really give Wet slate the wick flat cotton, 4?")
    use.tap()
    expect(use).to_have_count(0)
    at(alone, url, "plan/demo-recipe-plum")
    expect(alone.locator("bench-tested")).to_contain_text("How it burns was never tested.")
    delete_and_bring_back(alone)


def test_noses_rate_blind(alone):
    url = home(alone)
    at(alone, url, "scent/demo-test-1")
    expect(slot(alone, "scent")).to_contain_text("5 of 5, by 3 noses")
    tap(alone, "Hide which is which")
    expect(slot(alone, "candles")).to_contain_text("Letter A")
    # What was rated would tell which is which.
    expect(slot(alone, "scent")).to_have_text(
        "Rated3 noses have rated. Which letter is which is not told yet."
    )
    tap(alone, "Show the letters to who sets them out")
    expect(slot(alone, "key")).to_contain_text(re.compile("A is candle [14], flat cotton, [46]"))
    tap(alone, "Save the ratings")
    expect(slot(alone, "nose_error")).to_have_text("Write whose nose it is.")
    slot(alone, "nose").fill("Wren")
    alone.get_by_label("Letter A").select_option("2")
    alone.get_by_label("Letter B").select_option("4")
    tap(alone, "Save the ratings")
    expect(slot(alone, "scent")).to_contain_text("4 noses have rated.")
    expect(slot(alone, "nose")).to_have_value("")
    rated = [each for each in of_kind(alone, "burn_test") if each["type"] == "rated"][-2:]
    assert {each["letter"] for each in rated} == {"A", "B"}
    assert {each["candle"] for each in rated} == {0, 3}
    at(alone, url, TEST)
    expect(slot(alone, "scent")).to_contain_text("not told yet")
    alone.locator(".all summary").tap()
    expect(alone.locator(".happened")).to_contain_text("Letter A: Wren rated it 2")
    at(alone, url, "scent/demo-test-1")
    tap(alone, "Tell which is which")
    expect(slot(alone, "scent")).to_contain_text("by 3 noses")
