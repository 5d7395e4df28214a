"""Two people make one label with a phone each: one out of hearing, her clock off, a form open."""

from playwright.sync_api import expect

from tests.phone.maker import at, slot, tap
from tests.phone.test_two_hands import apart, hands, hear
from tests.phone.test_two_phones import Phone

__all__ = ["hands"]

LABEL = "demo-label-slate"


def test_two_phones_at_one_label(hands: list[Phone]) -> None:
    ann, bea = hands
    # What one has had worked out, the other reads out of hearing.
    at(ann.page, ann.url, "hazard/demo-recipe-slate")
    tap(ann.page, "Work it out")
    expect(slot(ann.page, "found")).to_contain_text("H317")
    at(ann.page, ann.url, f"label/{LABEL}")
    tap(ann.page, "Lay it out")
    slot(ann.page, "report").locator("[data-key=tag]").tap()
    expect(slot(ann.page, "report").locator("figure.piece")).to_have_count(2)
    tap(ann.page, "Keep it, to print")
    expect(slot(ann.page, "look").locator("figure img")).to_have_count(2)
    made = ann.page.url.partition("#/")[2]
    hear(*hands)
    apart(bea)
    at(bea.page, bea.url, made)
    expect(slot(bea.page, "look").locator("figure img")).to_have_count(2)
    at(bea.page, bea.url, "hazard/demo-recipe-slate")
    expect(slot(bea.page, "found")).to_contain_text("H317")

    # A form left open keeps what is typed and hears the rest; both changes stand.
    at(bea.page, bea.url, f"edit/label/{LABEL}")
    width = bea.page.locator("[data-field=width_mm] input")
    bea.page.locator("[data-field=states_g] input").fill("104 g")
    ann.page.evaluate(
        f"""() => import('/static/records/store.js').then((store) =>
          store.save('label', '{LABEL}', {{ width_mm: 70 }}))"""
    )
    hear(*hands)
    expect(width).to_have_value("70 mm")
    expect(bea.page.locator("[data-field=states_g] input")).to_have_value("104 g")
    tap(bea.page, "Save")
    hear(*hands)
    for phone in hands:
        at(phone.page, phone.url, f"label/{LABEL}")
        expect(slot(phone.page, "facts")).to_contain_text("70 × 34 mm")
        expect(slot(phone.page, "facts")).to_contain_text("104.0 g")
        # The label that was made says on both what is other now.
        at(phone.page, phone.url, made)
        expect(slot(phone.page, "gone")).to_contain_text("the net content and the size")
