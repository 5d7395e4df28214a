"""What she is told where a file of the app does not come, and that *Try again* really tries."""

from collections.abc import Callable

import pytest
from playwright.sync_api import Locator, Page, expect

from tests.conftest import WHOLE
from tests.web.conftest import CUT

Spoil = Callable[[int, bytes], tuple[int, bytes]]

SPOILS: dict[str, Spoil] = {
    "404": lambda status, body: (404, b""),
    "a syntax error": lambda status, body: (200, b"export const = ;"),
    "a cut network": lambda status, body: (CUT, b""),
}
MISSING = "A part of the bench did not load. What was saved is safe."
NOT_FETCHED = (
    "This screen could not be loaded. It comes when you have signal. What was saved is safe."
)


def screen(page: Page) -> Locator:
    return page.locator("#screen")


def heading(page: Page) -> Locator:
    return page.locator("#screen h1")


@pytest.fixture
def front(server, door):
    """A door in front of a server, behind which no bench can be kept on the phone: its files are
    asked for one by one."""
    opened = door(server().url)
    opened.spoiled["/bench.pack"] = SPOILS["404"]
    return opened


@pytest.mark.parametrize(
    ("file", "how"),
    [
        ("/static/addresses.js", "404"),  # which start itself imports
        ("/static/app.js", "a syntax error"),
        ("/static/records/store.js", "a cut network"),  # which the app imports
        ("/static/records/store.js", "404"),
    ],
)
def test_a_part_that_does_not_come_is_told_and_tried_again(front, phone, page_errors, file, how):
    front.spoiled[file] = SPOILS[how]
    phone.goto(f"{front.url}#/recipes")
    expect(screen(phone).get_by_role("alert")).to_have_text(MISSING)
    expect(screen(phone).get_by_text("Opening the bench…")).to_be_hidden()
    # It tries, and says so again.
    phone.evaluate("globalThis.isBefore = true")
    phone.get_by_role("link", name="Try again").click()
    phone.wait_for_function("() => globalThis.isBefore === undefined")
    # Without its style sheet a page shows at once what it should show later.
    expect(screen(phone).locator(".failed")).to_be_attached()
    expect(screen(phone).get_by_role("alert")).to_have_text(MISSING)

    del front.spoiled[file]
    phone.get_by_role("link", name="Try again").click()
    expect(heading(phone)).to_have_text("Recipes")
    page_errors.clear()  # the browser logs what did not come


def test_even_the_first_script_may_not_come(front, phone, page_errors, phone_context):
    """Then no script can say so: the page does, after 20 s. The clock of its style sheet is the
    browser's own, which its tools make run faster."""
    session = phone_context.new_cdp_session(phone)
    front.spoiled["/static/start.js"] = SPOILS["a cut network"]
    phone.goto(front.url)
    session.send("Animation.enable")
    late = screen(phone).get_by_text(MISSING)
    again = phone.get_by_role("link", name="Try again")
    expect(screen(phone)).to_contain_text("Opening the bench…")
    expect(late).to_be_hidden()
    expect(again).to_be_hidden()
    session.send("Animation.setPlaybackRate", {"playbackRate": 1000})
    expect(late).to_be_visible()
    del front.spoiled["/static/start.js"]
    again.click()
    expect(heading(phone)).to_have_text("Today")
    page_errors.clear()  # the browser logs what did not come


@pytest.mark.parametrize(
    ("file", "how"),
    [
        ("/desk.html", "404"),
        ("/static/look/log.css", "a cut network"),
        ("/static/screens/log.js", "a syntax error"),
        ("/static/screens/log.js", "a cut network"),
    ],
)
def test_a_screen_that_is_loaded_later_may_not_come(front, phone, page_errors, file, how):
    phone.goto(front.url)
    expect(heading(phone)).to_have_text("Today")
    front.spoiled[file] = SPOILS[how]
    phone.get_by_role("link", name="Log", exact=True).click()
    expect(screen(phone).get_by_role("alert")).to_have_text(NOT_FETCHED)
    # The rest goes on.
    phone.get_by_role("link", name="Recipes").click()
    expect(heading(phone)).to_have_text("Recipes")
    phone.get_by_role("link", name="Log", exact=True).click()
    expect(screen(phone).get_by_role("alert")).to_have_text(NOT_FETCHED)

    del front.spoiled[file]
    phone.get_by_role("button", name="Try again").click()
    expect(heading(phone)).to_have_text("Log")
    page_errors.clear()  # the browser logs what did not come


def test_a_screen_that_takes_too_long_is_not_waited_for(front, phone, page_errors):
    phone.clock.install()
    phone.goto(front.url)
    expect(heading(phone)).to_have_text("Today")
    come = front.hold("/desk.html")
    try:
        with phone.expect_request("**/desk.html"):
            phone.get_by_role("link", name="Log", exact=True).click()
        phone.clock.fast_forward(20_000)
        expect(screen(phone).get_by_role("alert")).to_have_text(NOT_FETCHED)
    finally:
        come.set()
    phone.get_by_role("button", name="Try again").click()
    expect(heading(phone)).to_have_text("Log")
    page_errors.clear()  # the app logs what did not come


def test_a_network_that_goes_between_the_packs_leaves_the_bench_to_work_with(
    server, door, phone, page_errors, until
):
    """As in a cellar, whose signal ended at the door."""
    running = server()
    front = door(running.url)
    front.spoiled["/desk.pack"] = SPOILS["a cut network"]
    phone.goto(front.url)
    expect(heading(phone)).to_have_text("Today")
    notice = phone.locator('[data-slot="notices"]')
    expect(notice).to_contain_text("still loading on to this phone")
    running.stop()
    phone.reload()
    expect(heading(phone)).to_have_text("Today")
    expect(notice).to_contain_text("still loading on to this phone")
    phone.get_by_role("link", name="Workshop").click()
    expect(screen(phone).get_by_role("alert")).to_have_text(NOT_FETCHED)
    phone.get_by_role("link", name="Recipes").click()
    expect(heading(phone)).to_have_text("Recipes")

    # It comes with the signal, also while the page stays open.
    port = int(running.url.rstrip("/").rsplit(":", 1)[1])
    server(port=port, data=running.data)
    front.spoiled.clear()
    phone.evaluate("dispatchEvent(new Event('online'))")
    phone.get_by_role("link", name="Workshop").click()
    expect(heading(phone)).to_have_text("Workshop")
    expect(screen(phone)).to_contain_text("Works offline")
    until(phone, WHOLE)
    phone.get_by_role("link", name="Today").click()
    expect(heading(phone)).to_have_text("Today")
    expect(notice).to_have_text("")
    page_errors.clear()  # the browser logs each failed fetch


def test_a_page_shows_no_desk_of_another_version(front, phone, page_errors):
    phone.goto(front.url)
    expect(heading(phone)).to_have_text("Today")
    mark = phone.locator("html").get_attribute("data-edition")
    assert mark is not None
    assert len(mark) == 12
    front.spoiled["/desk.html"] = lambda status, body: (
        status,
        body.replace(mark.encode(), b"another"),
    )
    phone.get_by_role("link", name="Log", exact=True).click()
    expect(screen(phone).get_by_role("alert")).to_have_text(NOT_FETCHED)
    # As the page is loaded anew, it is the newer one's.
    del front.spoiled["/desk.html"]
    phone.get_by_role("button", name="Try again").click()
    expect(heading(phone)).to_have_text("Log")
    page_errors.clear()  # the app logs it


def test_the_desk_is_not_shown_before_its_style_sheets_are_there(front, phone):
    come = front.hold("/static/look/log.css")
    phone.goto(front.url)
    expect(heading(phone)).to_have_text("Today")
    try:
        with phone.expect_request("**/log.css"):
            phone.get_by_role("link", name="Log", exact=True).click()
        expect(heading(phone)).to_have_text("Today")
    finally:
        come.set()
    expect(heading(phone)).to_have_text("Log")
    order = phone.evaluate("""() => [...document.querySelectorAll('link[rel=stylesheet]')]
      .map((link) => link.getAttribute('href').split('/').at(-1))""")
    assert order == [
        *("tokens.css", "paper.css", "pours.css", "desk.css", "forms.css", "log.css"),
        *("settings.css", "shelf.css", "wanted.css", "burn_board.css", "burn_tests.css"),
        *("labels.css", "hazard.css", "products.css", "attachments.css", "back.css"),
        *("board.css", "print.css"),
    ]
