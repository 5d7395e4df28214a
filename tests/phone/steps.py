"""Working the app as a maker does: with a finger, on what the screen shows."""

import re
from dataclasses import dataclass, field

from playwright.sync_api import Locator, Page, expect


@dataclass
class Maker:
    """A maker with the phone in front of her; ``touches`` counts what her finger does."""

    page: Page
    touches: int = field(default=0)

    def tap(self, target: Locator) -> None:
        target.tap()
        self.touches += 1

    # ---- the desk ----

    def go(self, path: str) -> None:
        """Open a screen by its address, which costs no touch."""
        self.page.evaluate("path => { location.hash = `#/${path}`; }", path)

    def box(self, name: str) -> Locator:
        """The control of a form field."""
        return self.page.locator(f'[data-field="{name}"]').locator("input, select, textarea").first

    def fill(self, **values: str) -> None:
        for name, text in values.items():
            box = self.box(name)
            if box.evaluate("box => box.tagName") == "SELECT":
                box.select_option(label=text)
            else:
                box.fill(text)

    def save(self) -> None:
        self.page.locator('[data-slot="save"]').click()

    def make(self, kind: str, **values: str) -> None:
        """Make a record of ``kind`` in its form."""
        self.go(f"edit/{kind}/new")
        expect(self.page.locator('[data-slot="title"]')).to_have_text(re.compile("^New "))
        self.fill(**values)
        self.save()
        expect(self.page.locator('[data-slot="form"]')).to_have_count(0)

    # ---- the board ----

    def slot(self, name: str) -> Locator:
        return self.page.locator(f'.board [data-slot="{name}"]')

    def expect_step(self, title: str, number: str | None = None) -> None:
        expect(self.slot("title")).to_have_text(re.compile(title))
        if number is not None:
            expect(self.slot("number")).to_have_text(number)

    def main(self) -> None:
        """Touch the main action."""
        self.tap(self.page.locator(".act .go"))

    def other(self, label: str) -> None:
        self.tap(self.page.locator(".act button", has_text=label))

    def undo(self) -> None:
        self.other("Undo")

    def reads(self, text: str) -> None:
        """Enter a reading on the pad, key by key."""
        self.other("It reads…")
        for key in text:
            self.tap(self.page.locator(".pad .keys").get_by_role("button", name=key, exact=True))
        self.tap(self.page.locator(".pad .go"))

    def as_shown(self) -> None:
        """Accept the reading that is expected."""
        expect(self.page.locator(".act .go [data-slot=draft]")).to_be_visible()
        self.main()

    def nudge(self, *words: str) -> None:
        """Move the expected reading, such as by ``"0.1 less"``."""
        for each in words:
            self.tap(self.page.locator(".nudges").get_by_role("button", name=each, exact=True))


def number_on(page: Page) -> str:
    """The giant number as text, without the narrow spaces between thousands."""
    text = page.locator('.board [data-slot="number"]').inner_text()
    return text.replace("\u202f", "")


def seconds_on(page: Page) -> int:
    """The giant number read as a countdown."""
    total = 0
    for part in number_on(page).split(":"):
        total = total * 60 + int(part)
    return total
