"""A lot must not be used any more: what was made of it, who has it, and the letter to them, with no
signal."""

import re

import pytest
from playwright.sync_api import Locator, Page, expect

from tests.phone.maker import at, slot, tap


@pytest.fixture
def alone(server, phone, open_ready) -> tuple[Page, str]:
    bench = server(demo=True)
    open_ready(phone, bench.url)
    expect(phone.locator("bench-wanted .wanted .card", has_text="Harbour market")).to_be_visible()
    bench.stop()
    return phone, bench.url


def code_of(page: Page, pour: str) -> str:
    code: str = page.evaluate(
        """async (id) => {
          const [{ codeOf }, { readPour }] = await Promise.all(
            ['shelf/batches', 'bench/pours'].map((name) => import(`/static/${name}.js`)));
          return codeOf(await readPour(id));
        }""",
        pour,
    )
    return code


def facts(page: Page) -> dict[str, str]:
    names = slot(page, "facts").locator("dt").all_inner_texts()
    return dict(zip(names, slot(page, "facts").locator("dd").all_inner_texts(), strict=True))


def answer(page: Page, text: str, button: str = "Save") -> None:
    page.locator("dialog input").fill(text)
    page.locator("dialog").get_by_role("button", name=button).tap()


def test_a_jar_cracked_and_everybody_is_told(alone):
    """From a label's code, with no signal, to the list of who must be told and the letter."""
    page, url = alone
    code = code_of(page, "demo-pour-1")
    at(page, url, "candle")
    wrong = code[:-1] + ("7" if code[-1] != "7" else "9")
    slot(page, "code").fill(wrong)
    tap(page, "Find")
    expect(slot(page, "error")).to_contain_text("a sign is wrong, or two have changed places")
    expect(slot(page, "code")).to_have_value(wrong)
    # As it is heard on the telephone.
    slot(page, "code").fill(code.replace("-", " ").lower())
    tap(page, "Find")

    # All that was in it.
    expect(slot(page, "name")).to_have_text("Wet slate")
    inside = slot(page, "inside")
    for said in ("FF-2609", "QS 81-3", "Dune, soft vegetable: 1", "Fen & Furrow Waxes"):
        expect(inside).to_contain_text(said)
    expect(slot(page, "where")).to_contain_text("6 sold on")
    expect(slot(page, "where")).to_contain_text("autumn fair")
    expect(slot(page, "where")).to_contain_text("Brackwater Gift Shop")

    inside.locator("li", has_text="FF-2609").get_by_role("link", name="Withdraw it").tap()
    called_back(page)

    # Who must be told, and the letter to tell them.
    expect(slot(page, "holders").locator(".holder")).to_have_count(3)
    shop = slot(page, "holders").locator(".holder", has_text="Brackwater Gift Shop")
    expect(shop).to_contain_text(f"5 candles; {code}")
    mail = shop.get_by_role("link", name="Mail the notice").get_attribute("href") or ""
    assert mail.startswith(
        "mailto:shop%40brackwater.example?subject=Product%20safety%20recall&body="
    )
    letter = slot(page, "letter")
    plum = code_of(page, "demo-pour-2")
    for said in (
        "Product safety recall",
        "Maker: Salt Lane Candles",
        f"Batch codes: {plum} and {code}",
        "Sold at: autumn fair and Brackwater Gift Shop",
        "The danger: The tin can crack while the candle burns.",
        "Stop using the candle at once",
        "What we offer: Your money back.",
        "Salt Lane Candles, 3 Salt Lane, Harbour Town, hello@saltlane.example, 01632 960 177",
    ):
        expect(letter).to_contain_text(said)
    expect(letter).not_to_contain_text("Oda")
    expect(letter).to_have_text(re.compile(r"Sold (on|from) \w{3} \d+ \w{3}"))

    told_and_taken_back(page, shop, code)
    recall = page.url.partition("#/")[2]

    # What is still here is not for sale.
    at(page, url, "sell")
    button = page.get_by_role("button", name=f"Sell one of {plum}")
    expect(button).to_be_disabled()
    expect(slot(page, "products")).to_contain_text("Do not sell it: it is called back")
    at(page, url, f"candle/{plum}")
    # For the same reason it was withdrawn: that is said once.
    expect(slot(page, "blocked").locator(".beware")).to_have_text(
        [re.compile(r"called back \(.*FF-2609\)\. The tin can crack while the candle burns\.$")]
    )
    at(page, url, "trace/demo-lot-dune-1")
    expect(slot(page, "facts")).to_contain_text("The tin can crack while the candle burns.")
    # Once the recall is over, the wax is withdrawn all the same.
    at(page, url, recall)
    slot(page, "close").tap()
    answer(page, "All are back or told.")
    expect(slot(page, "facts")).to_contain_text("closed")
    at(page, url, f"candle/{plum}")
    expect(slot(page, "blocked")).to_contain_text("FF-2609 that is in it was withdrawn")
    expect(slot(page, "blocked")).not_to_contain_text("called back")

    # A delivery of which nothing was made says so.
    at(page, url, "trace/demo-lot-dune-2")
    expect(slot(page, "empty")).to_be_visible()
    expect(slot(page, "recall")).to_be_hidden()


def called_back(page: Page) -> None:
    """The wax is withdrawn: the other batch of it is reached too."""
    expect(slot(page, "name")).to_contain_text("FF-2609")
    expect(slot(page, "holders").locator("li")).to_have_text(
        ["6 autumn fair", "5 Brackwater Gift Shop", "1 Oda from the choir"]
    )
    tap(page, "Withdraw and recall")
    expect(slot(page, "missing")).to_be_visible()
    slot(page, "risk").fill("In rare cases the tin may crack.")
    expect(slot(page, "soft")).to_contain_text("rare")
    slot(page, "risk").fill("The tin can crack while the candle burns.")
    expect(slot(page, "soft")).to_be_hidden()
    slot(page, "remedy").fill("Your money back.")
    # What is half written is still there later.
    page.reload()
    expect(slot(page, "remedy")).to_have_value("Your money back.")
    tap(page, "Withdraw and recall")


def told_and_taken_back(page: Page, shop: Locator, code: str) -> None:
    """One is told, two come back and are destroyed."""
    shop.get_by_role("button", name="I told them").tap()
    expect(shop.locator(".chip")).to_contain_text("told")
    shop.get_by_role("button", name="Some came back").tap()
    answer(page, "6")
    expect(page.locator("dialog")).to_contain_text("Write a whole number from 1 to 5.")
    answer(page, "2")
    expect(shop).to_contain_text("3 candles; 2 came back")
    here = slot(page, "batches").locator(".traced", has_text=code).locator("xpath=..")
    expect(here).to_contain_text("2 came back. Held back: they can't be sold here.")
    here.get_by_role("button", name="Some were destroyed").tap()
    answer(page, "2")
    expect(here).to_have_count(0)
    found = facts(page)
    assert found["Still out"] == "10"
    assert (found["Came back"], found["Destroyed"]) == ("2", "2")
    assert found["Told"] == "1 of 2 who are known"


def test_a_rehearsal_changes_nothing(alone):
    page, url = alone
    at(page, url, "recall/new/lot/demo-lot-dune-1")
    slot(page, "risk").fill("The tin can crack.")
    tap(page, "Rehearse it")
    expect(slot(page, "rehearsal")).to_be_visible()
    expect(slot(page, "letter")).to_contain_text("The tin can crack.")
    expect(slot(page, "holders").locator(".holder")).to_have_count(3)
    expect(page.get_by_role("button", name="Some came back")).to_have_count(0)
    at(page, url, "lot/demo-lot-dune-1")
    expect(slot(page, "happened")).not_to_contain_text("Withdrawn")
    at(page, url, "sell")
    expect(page.get_by_role("button", name="Sell one of").first).to_be_enabled()


def test_a_candle_is_sold_by_one_touch(alone):
    page, url = alone
    plum = code_of(page, "demo-pour-2")
    at(page, url, "sell")
    slot(page, "where").fill("harbour market")
    # It is three days old, and nobody worked out its class.
    expect(slot(page, "products")).to_contain_text("It is not cured yet")
    expect(slot(page, "products")).to_contain_text("No hazard class was worked out for it")
    price = slot(page, "products").get_by_label("Price of one")
    price.fill("a lot")
    button = page.get_by_role("button", name=f"Sell one of {plum}")
    button.tap()
    expect(page.locator(".offer .error")).to_be_visible()
    price.fill("14,50")
    button.tap()
    expect(slot(page, "products")).to_contain_text("3 on the shelf")
    button.tap()
    expect(slot(page, "products")).to_contain_text("2 on the shelf")
    expect(slot(page, "sum")).to_have_text("2 candles, €29.00")
    slot(page, "sales").get_by_role("button", name="Undo").first.tap()
    expect(slot(page, "sum")).to_have_text("1 candle, €14.50")
    expect(slot(page, "sales").locator("li")).to_have_text(re.compile("harbour market"))

    # The rest of their life is said on their own page.
    slot(page, "products").get_by_role("link", name="3 on the shelf").tap()
    slot(page, "what").select_option("set_aside")
    slot(page, "n").fill("2.5")
    tap(page, "Save")
    expect(slot(page, "error")).to_contain_text("Write a whole number")
    slot(page, "n").fill("2")
    tap(page, "Save")
    slot(page, "what").select_option("broken")
    slot(page, "n").fill("1")
    slot(page, "why").fill("it fell")
    tap(page, "Save")
    expect(slot(page, "happened")).to_contain_text("Broken, it fell")
    found = facts(page)
    assert (found["Made"], found["On the shelf"], found["Out with others"]) == ("4", "0", "1")
    assert (found["Set aside"], found["Broken"], found["Sold"]) == ("2", "1", "1")
    slot(page, "happened").locator("li", has_text="Set aside").get_by_role(
        "button", name="Undo"
    ).tap()
    expect(slot(page, "facts").locator("dd").nth(1)).to_have_text("2")
    at(page, url, f"candle/{plum}")
    expect(slot(page, "where")).to_contain_text("harbour market")


def test_what_was_left_and_melted_again_keeps_its_parents(alone):
    page, url = alone
    page.evaluate(
        """async () => {
          const store = await import('/static/records/store.js');
          const put_away = { type: 'finished', tops: 'smooth', rest: 'kept' };
          await store.append('pour', 'demo-pour-1', put_away);
        }"""
    )
    at(page, url, "entry/demo-pour-1")
    page.get_by_role("button", name="Put what was left on the shelf").tap()
    answer(page, "180 g")
    page.get_by_role("link", name="What was left of it").tap()
    expect(slot(page, "cautions")).to_contain_text("its fragrance is in it already")
    # The other pour took of it, too.
    page.evaluate(
        """async () => {
          const store = await import('/static/records/store.js');
          const lot = location.hash.split('/').at(-1);
          const { sheet } = await store.get('pour', 'demo-pour-2');
          const from = { type: 'came_from', kind: 'wax', material: sheet.waxes[0].id, lot };
          await store.append('pour', 'demo-pour-2', from);
        }"""
    )
    at(page, url, "trace/demo-lot-slate")
    expect(slot(page, "batches").locator(".card")).to_have_count(2)
    expect(slot(page, "batches")).to_contain_text("by way of")
    at(page, url, "candle/demo-pour-2")
    expect(slot(page, "inside").locator("li", has_text="QS 81-3")).to_contain_text(
        "in what was melted again"
    )


@pytest.mark.parametrize("rests", [False, True], ids=["open", "settled"])
def test_what_was_deleted_is_called_back_all_the_same(alone, rests: bool):
    page, url = alone
    code = code_of(page, "demo-pour-1")
    page.evaluate(
        """async (rests) => {
          const store = await import('/static/records/store.js');
          await store.remove('pour', 'demo-pour-1', { deleted_why: 'written twice' });
          const { sheet } = await store.get('pour', 'demo-pour-1');
          await store.remove('recipe', sheet.recipe, {});
          await store.remove('lot', 'demo-lot-slate', {});
          if (!rests) return;
          localStorage.removeItem('tidied');
          const { tidy } = await import('/static/shelf/tidy.js');
          const late = Date.now() + 400 * 86_400_000;
          await tidy(late, new Date(late).toISOString().slice(0, 10), async () => undefined);
        }""",
        rests,
    )
    at(page, url, "candle")
    slot(page, "code").fill(code)
    tap(page, "Find")
    expect(slot(page, "blocked")).to_contain_text("Its record was deleted: written twice")
    expect(slot(page, "inside").locator("li", has_text="QS 81-3")).to_contain_text("deleted")
    slot(page, "inside").locator("li", has_text="QS 81-3").get_by_role(
        "link", name="Others of it"
    ).tap()
    expect(slot(page, "name")).to_contain_text("QS 81-3")
    batch = slot(page, "batches").locator(".traced", has_text=code)
    expect(batch.locator(".chip")).to_have_text("deleted")
    for what in ("lot/demo-lot-slate", "pour/demo-pour-1", "recipe/demo-recipe-slate"):
        at(page, url, f"recall/new/{what}")
        expect(slot(page, "holders").locator("li")).not_to_have_count(0)
