"""Two people pour one batch with a phone each, one of the phones six minutes slow.

Both tap the same steps, out of hearing of each other and in it. It comes out right, and each board
says what the other hand did.
"""

import re
from collections.abc import Iterator
from typing import Any

import pytest
from playwright.sync_api import Browser, Locator, Page, expect

from tests.phone.maker import (
    as_shown,
    at,
    dont_wait,
    go_to,
    new_code,
    nudge,
    read_off,
    slot,
    start,
    tap,
    tap_main,
    title,
)
from tests.phone.test_two_phones import Phone
from tests.waits import until_in_page

SIX_MINUTES_MS = 6 * 60_000

_SLOW = """
// A clock behind the server's, in the page.
const Right = Date;
const off_ms = -BEHIND_MS;
globalThis.Date = class extends Right {
  constructor(...given) {
    if (given.length > 0) super(...given);
    else super(Right.now() + off_ms);
  }
  static now() { return Right.now() + off_ms; }
};
"""


def fall_behind(phone: Phone, by_ms: int) -> None:
    """Set its clock back."""
    phone.context.add_init_script(_SLOW.replace("BEHIND_MS", str(by_ms)))
    phone.page.reload()
    phone.settle()


@pytest.fixture
def hands(server: Any, browser: Browser) -> Iterator[list[Phone]]:
    bench = server(demo=True)
    made = [Phone(browser, bench.url, new_code(bench.data), name) for name in ("Ann", "Bea")]
    fall_behind(made[1], SIX_MINUTES_MS)
    yield made
    for phone in made:
        phone.close()


def hear(*phones: Phone) -> None:
    """All have signal, and each has heard what the others did."""
    for phone in phones:
        phone.offline(False)
    for phone in [*phones, *phones]:
        phone.settle()


def apart(*phones: Phone) -> None:
    for phone in phones:
        phone.offline(True)


def said(phone: Phone) -> Locator:
    return phone.page.locator("#said")


def ready_to_tap(page: Page) -> None:
    """A board that another hand has moved takes no touch at first."""
    expect(page.locator(".act[data-arriving]")).to_have_count(0)


def seconds_left(page: Page) -> int:
    shown = slot(page, "num").inner_text()
    minutes, seconds = re.findall(r"\d+", shown)[:2]
    return int(minutes) * 60 + int(seconds)


def test_two_hands_at_one_jug(hands: list[Phone]) -> None:  # noqa: PLR0915
    ann, bea = hands
    pour = start(ann.page, ann.url, count="2")
    hear(*hands)
    at(bea.page, bea.url, f"pour/{pour}/0")
    # Told at the board, not only in the workshop.
    expect(said(bea)).to_contain_text("This phone's clock is 6 minutes behind the server's")

    # At once: the other board goes on with it, and says who did it.
    tap_main(ann.page)
    expect(title(bea.page)).to_have_text("Weigh wax")
    expect(said(bea)).to_contain_text("From Ann: Made everything ready.")

    # One weighing, read differently: both are shown, and one touch says which is right.
    apart(*hands)
    as_shown(ann.page)
    nudge(bea.page, "1 more")
    as_shown(bea.page)
    for phone in hands:
        expect(title(phone.page)).to_have_text("Melt")
    hear(*hands)
    for phone in hands:
        expect(title(phone.page)).to_have_text("Two phones differ")
        expect(slot(phone.page, "lines")).to_contain_text("says Ann")
        expect(slot(phone.page, "lines")).to_contain_text("says Bea")
        ready_to_tap(phone.page)
    tap_main(bea.page)
    for phone in hands:
        expect(title(phone.page)).to_have_text("Melt")

    # One countdown for both, though one clock is six minutes slow.
    ready_to_tap(ann.page)
    tap(ann.page, "All melted")
    for reading in ("84", "80"):
        expect(title(ann.page)).to_have_text("Cool to fragrance")
        read_off(ann.page, reading)
    hear(*hands)
    lines = slot(ann.page, "lines").inner_text()
    expect(slot(bea.page, "lines")).to_have_text(re.compile(re.escape(lines.split(",")[0][:12])))

    # A wait that both end is over once.
    apart(*hands)
    for phone in hands:
        dont_wait(phone.page)
        expect(title(phone.page)).to_have_text("Weigh fragrance")
    hear(*hands)
    for phone in hands:
        expect(title(phone.page)).to_have_text("Weigh fragrance")
        ready_to_tap(phone.page)
    go_to(ann.page, "Pour · 1 of 2")
    expect(title(bea.page)).to_have_text("Pour · 1 of 2")

    # The same vessel, tapped on both: it is filled once.
    apart(*hands)
    for phone in hands:
        ready_to_tap(phone.page)
        as_shown(phone.page)
        expect(title(phone.page)).to_have_text("Pour · 2 of 2")
    hear(*hands)
    for phone in hands:
        expect(title(phone.page)).to_have_text("Pour · 2 of 2")
    # One undo takes it back for both.
    ready_to_tap(bea.page)
    tap(bea.page, "Undo")
    for phone in hands:
        expect(title(phone.page)).to_have_text("Pour · 1 of 2")
    ready_to_tap(ann.page)
    go_to(ann.page, "Leave to set")
    expect(title(bea.page)).to_have_text("Leave to set")

    # It leaves the bench on both, and the one who did not do it is told why.
    ready_to_tap(ann.page)
    tap_main(ann.page)
    expect(title(bea.page)).to_have_text("Today")
    expect(said(bea)).to_contain_text("Ann has set this pour aside")
    expect(bea.page.locator("#server")).to_contain_text("6 minutes behind the server's")
    hear(*hands)
    for phone in hands:
        at(phone.page, phone.url, f"entry/{pour}")
        expect(slot(phone.page, "jugs").get_by_role("row", name="vessel 2")).to_be_visible()
        expect(slot(phone.page, "jugs").get_by_role("row", name="vessel 3")).to_have_count(0)
    assert ann.state() == bea.state()


def test_a_pour_that_another_took_from_the_bench_is_asked_about(hands: list[Phone]) -> None:
    ann, bea = hands
    pour = start(ann.page, ann.url, count="2")
    tap_main(ann.page)
    hear(*hands)
    at(bea.page, bea.url, f"pour/{pour}/0")
    tap(bea.page, "More")
    tap(bea.page, "Give up this pour")
    tap(bea.page, "Give up this pour: sure?")
    expect(ann.page.locator("dialog")).to_contain_text("Bea gave up this pour while it is on your")
    tap(ann.page, "Go on with it")
    expect(title(ann.page)).to_have_text("Weigh wax")
    hear(*hands)

    at(bea.page, bea.url, "today")
    until_in_page(
        bea.page,
        f"""async () => {{
          const store = await import('/static/records/store.js');
          await store.remove('pour', '{pour}');
          return true;
        }}""",
    )
    expect(ann.page.locator("dialog")).to_contain_text("This pour was deleted")
    tap(ann.page, "Bring it back")
    expect(title(ann.page)).to_have_text("Weigh wax")
    hear(*hands)
    at(bea.page, bea.url, f"pour/{pour}/0")
    expect(title(bea.page)).to_have_text("Weigh wax")


_OTHER_READING = """async (pour) => {
  const store = await import('/static/records/store.js');
  const events = await store.events('pour', pour);
  const first = events.find(({ type }) => type === 'weighed');
  const id = first.id.replace(/[^.]+$/, 'another');
  const other = { ...first, id, by: 'Bea', read_g: first.read_g + 9 };
  await store.bringIn([], [other]);
}"""


def test_what_is_heard_after_the_pour_is_asked_on_today_and_in_its_entry(
    server: Any, phone: Page
) -> None:
    bench = server(demo=True)
    pour = start(phone, bench.url, count="1")
    go_to(phone, "Leave to set")
    tap_main(phone)
    expect(title(phone)).to_have_text("Today")
    phone.evaluate(_OTHER_READING, pour)
    told = phone.locator(".card", has_text="two phones said it differently")
    expect(told).to_contain_text("choose")
    told.tap()
    notice = slot(phone, "gone")
    expect(notice).to_contain_text("What did the scale show of")
    expect(notice).to_contain_text("says Bea")
    right = notice.get_by_role("button").last
    weight = right.inner_text()
    right.tap()
    expect(notice).not_to_contain_text("What did the scale show of")
    row = slot(phone, "jugs").get_by_role("row").nth(1)
    expect(row.locator("td").last).to_have_text(weight)
    at(phone, bench.url, "today")
    expect(told).to_have_count(0)
