"""Dye and additives as records: chosen in a recipe, and words of an older recipe as they were."""

from typing import Any

from playwright.sync_api import Locator, Page, expect

from tests.phone.maker import at, kept, slot, start, tap, title

PLUM = "demo-recipe-plum"


def rows(page: Page) -> Locator:
    return page.locator("[data-field=additives] [data-row]")


def chosen(row: Locator) -> Locator:
    return row.locator("select").first.locator("option:checked")


def write_words(page: Page) -> None:
    """Give the recipe a row as one of before this kind has it: in words alone."""
    page.evaluate(
        """async (id) => {
          const store = await import('/static/records/store.js');
          await store.save('recipe', id, {
            additives: [{ name: 'grated peel', rate: 2, per: 'percent' }],
          });
        }""",
        PLUM,
    )


def kept_rows(page: Page) -> Any:
    (recipe,) = [each for each in kept(page)["records"] if each["id"] == PLUM]
    return recipe["fields"]["additives"]["value"]


def test_words_of_an_older_recipe_stand_until_a_record_is_chosen(server, phone):
    bench = server(demo=True)
    at(phone, bench.url, "recipes")
    write_words(phone)
    # Shown and planned as before.
    at(phone, bench.url, f"recipe/{PLUM}")
    expect(slot(phone, "facts")).to_contain_text("grated peel 2.00\u00a0%")
    at(phone, bench.url, f"plan/{PLUM}")
    expect(slot(phone, "sheet")).to_contain_text("grated peel")
    # In the form they are what is chosen, also after a reload of what is half typed.
    at(phone, bench.url, f"edit/recipe/{PLUM}")
    phone.get_by_text("More settings (filled in)").tap()
    expect(chosen(rows(phone).first)).to_have_text("grated peel")
    rows(phone).first.locator("[data-field=rate] input").fill("3")
    phone.reload()
    phone.get_by_text("More settings (filled in)").tap()
    expect(chosen(rows(phone).first)).to_have_text("grated peel")
    expect(rows(phone).first.locator("[data-field=rate] input")).to_have_value("3")
    tap(phone, "Save")
    expect(phone.locator("body[data-screen=recipe]")).to_be_visible()
    expect(slot(phone, "facts")).to_contain_text("grated peel 3.00\u00a0%")
    (row,) = kept_rows(phone)
    assert (row["additive"], row["name"], row["rate"]) == (None, "grated peel", 3)
    # What was before, in words.
    at(phone, bench.url, f"history/recipe/{PLUM}")
    expect(slot(phone, "versions")).to_contain_text("grated peel 2 % of the wax")
    expect(slot(phone, "versions")).to_contain_text("dye, heather 0.6 g per kg of wax")

    at(phone, bench.url, f"edit/recipe/{PLUM}")
    phone.get_by_text("More settings (filled in)").tap()
    rows(phone).first.locator("select").first.select_option(label="dye, heather")
    tap(phone, "Save")
    expect(slot(phone, "facts")).to_contain_text("dye, heather 3.00\u00a0%")
    (row,) = kept_rows(phone)
    assert (row["additive"], row["name"]) == ("demo-dye", "dye, heather")


def test_one_is_made_on_the_way_and_can_be_traced_from_the_pour(server, phone):
    bench = server(demo=True)
    at(phone, bench.url, "edit/recipe/demo-recipe-slate")
    phone.get_by_text("More settings (filled in)").tap()
    expect(rows(phone)).to_have_count(0)
    phone.locator("[data-field=additives] [data-add]").tap()
    rows(phone).first.locator("select").first.select_option(label="choose")
    rows(phone).first.get_by_role("link", name="New additive").tap()
    expect(title(phone)).to_have_text("New additive")
    phone.locator("[data-field=name] input").fill("shade")
    phone.locator("[data-field=what] select").select_option(label="a UV stabiliser")
    phone.locator("[data-field=rate] input").fill("0.3")
    tap(phone, "Save")
    # Back in the recipe it is chosen.
    expect(phone.locator("[data-field=additives]")).to_be_attached()
    phone.get_by_text("More settings (filled in)").tap()
    expect(chosen(rows(phone).first)).to_have_text("shade")
    rows(phone).first.locator("[data-field=rate] input").fill("0.3")
    tap(phone, "Save")
    expect(slot(phone, "facts")).to_contain_text("shade 0.30\u00a0%")
    at(phone, bench.url, "list/additive")
    expect(phone.locator(".card", has_text="shade")).to_contain_text("0.3 % of the wax")
    expect(phone.locator(".card", has_text="dye, heather")).to_contain_text("0.6 g per kg")

    start(phone, bench.url)
    records = kept(phone)["records"]
    ((id_, fields),) = [
        (each["id"], each["fields"])
        for each in records
        if each["kind"] == "additive" and each["fields"]["name"]["value"] == "shade"
    ]
    assert fields["what"]["value"] == "uv"
    sheets = [each["fields"]["sheet"]["value"] for each in records if each["kind"] == "pour"]
    (extra,) = [extra for sheet in sheets for extra in sheet["extras"] if extra["name"] == "shade"]
    assert extra == {"id": id_, "name": "shade", "fraction": 0.003}
    # Deleted, it is still planned by the name it had.
    phone.evaluate(
        """async (id) => {
          const store = await import('/static/records/store.js');
          await store.remove('additive', id);
        }""",
        id_,
    )
    at(phone, bench.url, "plan/demo-recipe-slate")
    expect(slot(phone, "sheet")).to_contain_text("shade")
