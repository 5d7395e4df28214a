"""Two people watch one candle with a phone each: they agree, or are asked."""

from playwright.sync_api import expect

from tests.burns.conftest import sheet
from tests.phone.burning import begin
from tests.phone.maker import at, press, slot, tap, tap_main, title
from tests.phone.test_two_hands import apart, hands, hear, ready_to_tap
from tests.phone.test_two_phones import Phone

__all__ = ["hands"]


def test_two_phones_at_one_candle(hands: list[Phone]) -> None:
    ann, bea = hands
    # Its only mark comes after two seconds.
    burner = begin(ann.page, ann.url, sheet(marks_h=[0.0005]))
    hear(*hands)
    for phone in hands:
        at(phone.page, phone.url, f"burn/{burner.test}/0")
    tap(ann.page, "What the scale shows")
    press(ann.page, "210.4")
    tap(ann.page, "Enter")
    # The other board goes on with it.
    expect(title(bea.page)).to_have_text("Light it")
    ready_to_tap(bea.page)
    tap(bea.page, "It is lit")
    for phone in hands:
        expect(slot(phone.page, "doing")).to_have_text("How far is the pool?")
        ready_to_tap(phone.page)

    # Out of hearing they see it differently: both are asked, and one touch says which is right.
    apart(*hands)
    tap(ann.page, "Measure it")
    press(ann.page, "50")
    tap(ann.page, "Enter")
    expect(slot(ann.page, "doing")).to_have_text("How wide is it the other way?")
    tap(bea.page, "To the wall all round")
    expect(slot(bea.page, "doing")).to_have_text("How high is the flame?")
    hear(*hands)
    for phone in hands:
        expect(title(phone.page)).to_have_text("Two phones differ")
        expect(slot(phone.page, "lines")).to_contain_text("says Ann")
        expect(slot(phone.page, "lines")).to_contain_text("says Bea")
        ready_to_tap(phone.page)
    said = slot(bea.page, "act").locator(".go").inner_text()
    tap_main(bea.page)
    hear(*hands)
    for phone in hands:
        expect(title(phone.page)).not_to_have_text("Two phones differ")
        expect(slot(phone.page, "lines")).to_contain_text("50" if "50" in said else "to the wall")

    # The same said twice is one: a second flame ends it on both, and once.
    apart(*hands)
    for phone in hands:
        ready_to_tap(phone.page)
        tap(phone.page, "Second flame")
        expect(title(phone.page)).to_have_text("Done")
    hear(*hands)
    for phone in hands:
        expect(slot(phone.page, "doing")).to_contain_text("Candle 1 failed: a second flame")
