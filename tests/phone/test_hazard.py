"""The hazard class of the invented recipe: worked out with the server, read without it, and older
once something under it has changed. A sheet is pasted and checked.
"""

import json
import re

import pytest
from playwright.sync_api import Locator, Page, expect

from tests.phone.maker import at, fill, kept, slot, tap, title
from tests.phone.test_access import SIDEWAYS

SLATE = "demo-recipe-slate"
OLDER = "It is older than what it rests on: "

LOAD = """(load) => import('/static/records/store.js')
  .then((store) => store.save('recipe', 'demo-recipe-slate', { load }))"""
LATER_SHEET = """async () => {
  const store = await import('/static/records/store.js');
  const { kind, id, ...sheet } = await store.get('safety_sheet', 'demo-sheet-slate');
  await store.save('safety_sheet', 'newer', { ...sheet, name: 'Wet slate QS 82', edition: '3' });
}"""


OTHER_EDITION = """async () => {
  const { findings, keepFinding } = await import('/static/records/findings.js');
  const [{ kind, id, ...finding }] = await findings('hazard_finding');
  const found = { ...finding.found, edition: 'a text of last year' };
  await keepFinding('hazard_finding', 'other', { ...finding, made_at: finding.made_at + 1, found });
}"""


@pytest.fixture
def bench(server, phone, open_ready):
    """A phone with the invented workshop, and its server."""
    running = server(demo=True)
    open_ready(phone, running.url)
    expect(phone.locator("bench-wanted .wanted .card", has_text="Harbour market")).to_be_visible()
    return running


def section(page: Page, heading: str) -> Locator:
    found = page.locator("#screen section")
    return found.filter(has=page.get_by_role("heading", name=heading, exact=True))


def forget_refused(page_errors: list[str]) -> None:
    """The browser reports what it could not fetch from a server that is gone."""
    assert [each for each in page_errors if "CONNECTION_REFUSED" not in each] == []
    page_errors.clear()


def findings(page: Page) -> list[dict]:
    return [each for each in kept(page)["records"] if each["kind"] == "hazard_finding"]


def test_a_stranger_finds_the_class_and_the_load_at_which_it_changes(bench, phone, page_errors):
    at(phone, bench.url, f"recipe/{SLATE}")
    expect(slot(phone, "hazard_told")).to_have_text("Not worked out yet.")
    phone.get_by_role("link", name="See the hazard class").tap()
    expect(title(phone)).to_have_text("Hazard class")
    expect(slot(phone, "sheets")).to_contain_text("Wet slate QS 81")
    tap(phone, "Work it out")

    expect(section(phone, "Class")).to_contain_text(
        "Linalool has 1.1111… %, and the limit is 1 % (Annex I, table 3.4.5; read second-hand)."
    )
    expect(section(phone, "Undecided")).to_contain_text("What decides it: ")
    label = section(phone, "For the label")
    expect(label).to_contain_text("H317 May cause an allergic skin reaction.")
    expect(label.get_by_role("img", name="GHS07, exclamation mark")).to_be_visible()
    over = section(phone, "Over the load")
    expect(over).to_contain_text("At 7.1 % of the wax this candle needs no pictogram")
    chart = over.get_by_role("img")
    expect(chart).to_have_attribute("aria-label", re.compile("From 7.1428… % to 10 %: Skin Sens"))

    phone.set_viewport_size({"width": 320, "height": 640})
    assert phone.evaluate(SIDEWAYS) == [0, []]

    # It is kept: with the server gone and the page opened anew, it is still read.
    [finding] = findings(phone)
    asked = json.loads(finding["fields"]["asked"]["value"])
    assert asked["recipe"]["load"] == 0.08
    bench.stop()
    phone.reload()
    expect(slot(phone, "age")).to_have_text(re.compile("^Worked out on "))
    expect(section(phone, "Class")).to_contain_text("Linalool has 1.1111… %")
    expect(slot(phone, "older")).to_be_hidden()
    tap(phone, "Work it out again")
    expect(slot(phone, "failed")).to_have_text("There is no signal, or the server does not answer.")
    forget_refused(page_errors)

    # What it rests on changes: it says what, and stays as it was.
    phone.evaluate(LOAD, 0.07)
    expect(slot(phone, "older")).to_contain_text(f"{OLDER}the recipe.")
    phone.evaluate(LATER_SHEET)
    expect(slot(phone, "older")).to_contain_text("the recipe and a new sheet, Wet slate QS 82")
    expect(section(phone, "Class")).to_contain_text("Linalool has 1.1111… %")
    assert len(findings(phone)) == 1
    phone.evaluate(LOAD, 0.08)
    expect(slot(phone, "older")).to_contain_text(f"{OLDER}a new sheet, Wet slate QS 82.")
    phone.evaluate(OTHER_EDITION)
    expect(slot(phone, "older")).to_contain_text("and the rules, which have a newer text.")
    at(phone, bench.url, f"recipe/{SLATE}")
    expect(slot(phone, "hazard_told")).to_contain_text("Since then has changed: a new sheet")


def cell(page: Page, row: int, name: str) -> Locator:
    rows = page.locator('[data-field="substances"] > [data-rows] > [data-row]')
    return rows.nth(row).locator(f'[data-field="{name}"]')


TABLE = """Name\tCAS\tEC\t%\tClassification
Linalool\t78-70-6\t201-134-4\t5 - 10\tSkin Sens. 1B, H317
Coumarin\t91-64-6\t\t5 - 1\tAcute Tox. 4, H302
"""


def test_a_sheet_is_pasted_checked_and_set_right(bench, phone, page_errors):
    at(phone, bench.url, "hazard/demo-recipe-plum")
    phone.get_by_role("link", name="Put in the sheet of Kelp smoke").tap()
    expect(title(phone)).to_have_text("New safety data sheet")
    expect(phone.locator('[data-field="material"] select')).to_have_value("fragrance,demo-oil-kelp")
    fill(phone, name="Kelp smoke QS 83")
    phone.locator("details.paste > summary").tap()
    phone.locator("details.paste textarea").fill(TABLE)
    tap(phone, "Make lines of it")
    expect(cell(phone, 0, "cas").locator("input")).to_have_value("78-70-6")
    expect(phone.locator(".understood")).to_contain_text("Linalool, 5 to 10 %: Skin Sens. 1B")
    expect(cell(phone, 1, "share").locator(".error")).to_contain_text("upside down")
    expect(cell(phone, 1, "cas").locator(".error")).to_contain_text("last digit does not fit")
    # What was typed is there after a reload, and is checked again once it is set right.
    phone.reload()
    expect(cell(phone, 1, "share").locator("input")).to_have_value("5 - 1")
    cell(phone, 1, "share").locator("input").fill("1 - 5")
    cell(phone, 1, "cas").locator("input").fill("91-64-5")
    tap(phone, "Check with the desk")
    expect(phone.locator(".understood")).to_have_count(2)
    expect(cell(phone, 1, "cas").locator(".error")).to_be_hidden()
    bench.stop()
    tap(phone, "Check with the desk")
    expect(phone.locator(".read")).to_contain_text("There is no signal")
    forget_refused(page_errors)
    slot(phone, "save").tap()
    expect(title(phone)).to_have_text("Hazard class")
    expect(slot(phone, "sheets")).to_contain_text("Kelp smoke QS 83")
    [made] = [
        each
        for each in kept(phone)["records"]
        if each["kind"] == "safety_sheet" and not each["id"].startswith("demo-")
    ]
    assert [row["cas"] for row in made["fields"]["substances"]["value"]] == ["78-70-6", "91-64-5"]
