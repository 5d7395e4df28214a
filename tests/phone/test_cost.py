"""What a pour cost, on its page, and the price that follows from it."""

import re
from fractions import Fraction
from math import floor

from playwright.sync_api import Locator, Page, expect

from tests.phone.maker import at, kept, slot, title

USED_UP = """async () => {
  const store = await import('/static/records/store.js');
  const { settle } = await import('/static/records/settling.js');
  const row = (await store.unsettled('lot')).find(({ id }) => id === 'demo-lot-dune-1');
  await settle([{ row, told: { of: [['wax,demo-wax-dune', -1]] } }]);
  for (const { id, lots } of await store.living('pour'))
    await store.save('pour', id, { lots: lots.filter(({ kind }) => kind !== 'wax') });
}"""
"""The lot that the pours came from is out of sight, and they do not know which it was."""

GONE = """async () => {
  const store = await import('/static/records/store.js');
  for (const { id } of await store.living('lot')) await store.remove('lot', id);
}"""


def euros(cents: Fraction) -> str:
    return f"€{floor(cents + Fraction(1, 2)) / 100:.2f}"


def row(page: Page, name: str) -> list[str]:
    """A line of the table: what it cost, and what was expected."""
    line = slot(page, "cost").get_by_role("row").filter(has_text=name)
    return line.get_by_role("cell").all_inner_texts()


def facts(page: Page, name: str) -> dict[str, str]:
    texts = slot(page, name).locator("div").all_inner_texts()
    return dict(re.split(r"\n+", each, maxsplit=1) for each in texts)


def box(page: Page, name: str) -> Locator:
    return page.locator(f"[data-field={name}]").locator("input, select")


def problem(page: Page, name: str) -> Locator:
    return page.locator(f"[data-field={name}] [data-error]")


def test_what_a_pour_cost_and_at_what_price_it_leaves_something(server, phone):
    at(phone, server(demo=True).url, "entry/demo-pour-1")
    expect(slot(phone, "cost")).to_be_visible()
    weighed = [each for each in kept(phone)["events"] if each["of"] == ["pour", "demo-pour-1"]]
    wax = [each for each in weighed if each["type"] == "weighed" and each["part"] == "wax"]
    grams = sum((Fraction(repr(each["read_g"])) for each in wax), Fraction(0))
    # The demo's lot: 2800 g for 21.56 and 4.90 of delivery.
    cost = grams * Fraction(2646, 2800)
    assert row(phone, "Dune, soft vegetable")[0] == euros(cost)
    # Sixty tins for 54.00, and 35 cents of overhead a candle.
    assert row(phone, "tin 120") == ["€10.80", "€10.80"]
    assert row(phone, "Overhead") == ["€4.20", "€4.20"]
    each = Fraction(row(phone, "One candle")[0].removeprefix("€"))
    together = Fraction(row(phone, "Together")[0].removeprefix("€"))
    assert abs(each - together / 12) < Fraction(1, 100)

    phone.evaluate(USED_UP)
    expect(slot(phone, "cost")).to_contain_text("at the average price")
    # By the day of the pour nothing else had come; what came since was dearer.
    assert row(phone, "Dune, soft vegetable")[0] == euros(cost)

    phone.get_by_role("link", name="Reckon a price").tap()
    expect(title(phone)).to_have_text("Reckon a price")
    # What she wants of a candle, and the tax, come from her record of money.
    expect(box(phone, "margin")).to_have_value("60")
    expect(box(phone, "tax_rate")).to_have_value("20")
    box(phone, "way").select_option(label="what I set")
    expect(problem(phone, "price")).to_have_text("Price with tax is needed.")
    expect(slot(phone, "result")).to_be_hidden()
    box(phone, "price").fill("12.60")
    assert facts(phone, "price") == {
        **{"Price with tax": "€12.60", "Tax in it": "€2.10", "Price before tax": "€10.50"}
    }
    margin = facts(phone, "left")["Margin"]
    assert (
        abs(float(margin.removesuffix("\u00a0%")) - float(100 - 100 * each / Fraction("10.5")))
        < 0.1
    )

    box(phone, "discount").fill("10 %")
    box(phone, "share").fill("15")
    box(phone, "fee").fill("0,30")
    left = facts(phone, "left")
    assert (left["The buyer pays"], left["The marketplace keeps"]) == ("€11.34", "€2.00")
    after = Fraction("11.34") / Fraction("1.2") - Fraction("2.001") - each
    assert abs(Fraction(left["Left after its cost"].removeprefix("€")) - after) < Fraction(2, 100)
    box(phone, "price").fill("5")
    expect(slot(phone, "loss")).to_contain_text("You would lose money")

    refuses(phone)
    phone.reload()
    expect(box(phone, "price")).to_have_value("5")
    in_another_money(phone)
    # Where nothing has a price, none is made up.
    phone.evaluate(GONE)
    expect(slot(phone, "cost")).to_contain_text("it is not known")
    expect(slot(phone, "form")).to_be_hidden()
    slot(phone, "back").tap()
    expect(title(phone)).to_contain_text("Wet slate")
    expect(slot(phone, "happened").locator("li").first).to_be_visible()
    expect(slot(phone, "cost")).to_be_hidden()


def refuses(phone: Page) -> None:
    """What can't be taken is said beside its box, and stays to be set right."""
    for name, typed, said in [
        ("price", "12.605", "“12.605” has more than 2 decimals: write it with 2 at most."),
        ("price", "-3", "“-3” is below nothing: write it without the minus."),
        ("discount", "120", "Discount must be from 0 % to 100 %: check it."),
        ("fee", "a few", "Can't read “a few”: write an amount, such as 84.50."),
    ]:
        before = box(phone, name).input_value()
        box(phone, name).fill(typed)
        expect(problem(phone, name)).to_have_text(said)
        expect(box(phone, name)).to_have_value(typed)
        expect(slot(phone, "result")).to_be_hidden()
        box(phone, name).fill(before)
        expect(problem(phone, name)).to_be_hidden()


def in_another_money(phone: Page) -> None:
    """One that has no decimals."""
    phone.evaluate(
        """async () => (await import('/static/records/store.js'))
          .save('prices', 'prices', { currency: 'JPY' })"""
    )
    box(phone, "fee").fill("30")
    box(phone, "price").fill("1260.50")
    expect(problem(phone, "price")).to_have_text(
        "“1260.50” has decimals, and this money has none: write a whole number."
    )
    box(phone, "price").fill("1260")
    expect(slot(phone, "price")).to_contain_text("¥1,260")
