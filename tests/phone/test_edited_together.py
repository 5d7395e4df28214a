"""Two phones at one record: a form left open undoes nothing, and what is open follows what changes.

Both are real browsers, paired through the real programs with a real server.
"""

from collections.abc import Iterator
from typing import Any

import pytest
from playwright.sync_api import Browser, Locator, Page, expect

from tests.browser import PHONE
from tests.phone.maker import at, new_code, say_why, slot, start, tap, title
from tests.phone.test_two_phones import Phone
from tests.server import serving

POUR = "demo-pour-1"

Pair = tuple[Phone, Phone]


@pytest.fixture(scope="module")
def phones(browser: Browser, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Pair]:
    """Two phones of one workshop, both with the demo: no test spoils the records of another."""
    with serving(tmp_path_factory.mktemp("data"), "--demo") as bench:
        one, other = (
            Phone(browser, bench.url, new_code(bench.data), name) for name in ("Shed", "Desk")
        )
        yield one, other
        one.close()
        other.close()


@pytest.fixture
def pair(phones: Pair) -> Iterator[Pair]:
    yield phones
    for phone in phones:
        phone.offline(False)
        phone.page.set_viewport_size(PHONE["viewport"])
        at(phone.page, phone.url, "today")


_COPY = """async ([kind, from]) => {
  const { get, save } = await import('/static/records/store.js');
  const { kind: _, id, ...fields } = await get(kind, from);
  const made = `${from}-${performance.timeOrigin + performance.now()}`;
  await save(kind, made, fields);
  return made;
}"""


def copied(pair: Pair, kind: str, demo: str) -> str:
    """A record of the test's own, as the demo's; both phones have it. Answers its id."""
    made = str(pair[0].page.evaluate(_COPY, [kind, demo]))
    exchange(*pair)
    return made


@pytest.fixture
def wax(pair: Pair) -> str:
    return copied(pair, "wax", "demo-wax-dune")


@pytest.fixture
def recipe(pair: Pair) -> str:
    return copied(pair, "recipe", "demo-recipe-plum")


def box(phone: Phone, name: str) -> Locator:
    return phone.page.locator(f"[data-field={name}]").locator("input, select, textarea").first


def elsewhere(phone: Phone, name: str) -> Locator:
    """What a field says of a change that was made elsewhere."""
    return phone.page.locator(f"[data-field={name}] [data-elsewhere]")


def open_form(phone: Phone, id_: str, kind: str = "wax") -> None:
    at(phone.page, phone.url, f"edit/{kind}/{id_}")
    unfold(phone.page)


def unfold(page: Page) -> None:
    page.evaluate(
        "document.querySelectorAll('#screen details').forEach((each) => each.open = true)"
    )


def save(phone: Phone) -> None:
    tap(phone.page, "Save")
    expect(slot(phone.page, "form")).to_have_count(0)


def set_box(phone: Phone, id_: str, name: str, text: str, kind: str = "wax") -> None:
    """Open the form, change one box, save, and let the server have it."""
    open_form(phone, id_, kind)
    if box(phone, name).evaluate("box => box.tagName") == "SELECT":
        box(phone, name).select_option(label=text)
    else:
        box(phone, name).fill(text)
    save(phone)
    phone.settle()


def exchange(*phones: Phone) -> None:
    """Until each has what the others have."""
    for phone in [*phones, *phones]:
        phone.settle()


def value(phone: Phone, id_: str, name: str, kind: str = "wax") -> Any:
    return phone.state()["records"][f"{kind} {id_}"][name]["value"]


def clashes(phone: Phone, wax: str) -> Locator:
    at(phone.page, phone.url, f"history/wax/{wax}")
    return phone.page.locator(".card", has_text="the other one")


# ---- a form that is left open ------------------------------------------------------------------


@pytest.mark.parametrize("hears", [True, False], ids=["it hears of it", "it hears of nothing"])
def test_a_form_left_open_does_not_undo_what_another_phone_wrote(
    pair: Pair, hears: bool, wax: str
) -> None:
    a, b = pair
    open_form(b, wax)
    b.offline(not hears)
    set_box(a, wax, "highest_load", "6")
    if hears:
        b.settle()
    box(b, "name").fill("Dune 2")
    save(b)
    b.offline(False)
    exchange(b, a)
    for phone in pair:
        assert value(phone, wax, "highest_load") == 0.06
        assert value(phone, wax, "name") == "Dune 2"
        expect(clashes(phone, wax)).to_have_count(0)
    assert a.state() == b.state()


def test_the_same_box_written_on_both_is_a_clash_that_shows(pair: Pair, wax: str) -> None:
    a, b = pair
    open_form(b, wax)
    box(b, "highest_load").fill("8")
    set_box(a, wax, "highest_load", "6")
    b.settle()
    # What she types stays, and beside it stands what it is by now.
    expect(box(b, "highest_load")).to_have_value("8")
    expect(elsewhere(b, "highest_load")).to_contain_text("It is now: 6 %")
    save(b)
    exchange(b, a)
    for phone in pair:
        assert value(phone, wax, "highest_load") == 0.08
        expect(clashes(phone, wax)).to_contain_text("6 %")
        expect(clashes(phone, wax)).to_have_count(1)


def test_a_touch_takes_what_was_written_elsewhere(pair: Pair, wax: str) -> None:
    a, b = pair
    open_form(b, wax)
    box(b, "highest_load").fill("8")
    set_box(a, wax, "highest_load", "6")
    b.settle()
    elsewhere(b, "highest_load").get_by_role("button", name="Use it").click()
    expect(elsewhere(b, "highest_load")).to_have_count(0)
    expect(box(b, "highest_load")).to_have_value("6")
    expect(box(b, "highest_load")).to_be_focused()
    save(b)
    exchange(b, a)
    for phone in pair:
        assert value(phone, wax, "highest_load") == 0.06
        expect(clashes(phone, wax)).to_have_count(0)


def test_an_open_form_follows_but_for_what_is_typed_and_chosen(
    pair: Pair, wax: str, recipe: str
) -> None:
    a, b = pair
    open_form(b, recipe, "recipe")
    box(b, "notes").fill("half a sen")
    set_box(a, recipe, "load", "5.5", "recipe")
    set_box(a, wax, "name", "Dune, renamed")
    b.settle()
    expect(box(b, "load")).to_have_value("5.5")
    # The cursor stays where it is, and so do the words before it.
    expect(box(b, "notes")).to_be_focused()
    b.page.keyboard.type("tence")
    expect(box(b, "notes")).to_have_value("half a sentence")
    expect(b.page.locator("[data-field=wax] option", has_text="Dune, renamed")).to_have_count(1)
    expect(slot(b.page, "preview")).to_contain_text("5.5")


def test_a_draft_is_kept_against_what_it_was_typed_over(pair: Pair, wax: str) -> None:
    a, b = pair
    open_form(b, wax)
    box(b, "highest_load").fill("8")
    at(b.page, b.url, "today")
    set_box(a, wax, "highest_load", "6")
    set_box(a, wax, "name", "Dune 2")
    b.settle()
    open_form(b, wax)
    expect(box(b, "name")).to_have_value("Dune 2")
    expect(box(b, "highest_load")).to_have_value("8")
    expect(elsewhere(b, "highest_load")).to_contain_text("6 %")
    save(b)
    exchange(b, a)
    expect(clashes(a, wax)).to_contain_text("6 %")
    assert value(a, wax, "name") == "Dune 2"


def test_a_record_deleted_elsewhere_says_so_in_its_form(pair: Pair, wax: str) -> None:
    a, b = pair
    open_form(b, wax)
    open_form(a, wax)
    tap(a.page, "Delete")
    a.page.get_by_role("button", name="Really delete this wax?").click()
    expect(title(a.page)).to_have_text("Waxes")
    exchange(a, b)
    expect(slot(b.page, "gone")).to_be_visible()

    # She saves all the same: the later one stands, and the delete can still be chosen.
    box(b, "highest_load").fill("8")
    save(b)
    exchange(b, a)
    for phone in pair:
        at(phone.page, phone.url, "list/wax")
        expect(phone.page.locator(f'a[href="#/edit/wax/{wax}"]')).to_be_visible()
        expect(clashes(phone, wax)).to_contain_text("Deleted")
    tap(a.page, "Use this")
    expect(a.page.locator(".card", has_text="the other one")).to_have_count(0)
    exchange(a, b)
    for phone in pair:
        expect(clashes(phone, wax)).to_have_count(0)
        at(phone.page, phone.url, "list/wax/deleted")
        expect(phone.page.locator(f'[href$="wax/{wax}"]').first).to_be_visible()


# ---- lists, recipe, log and log entry ----------------------------------------------------------


def test_lists_and_recipe_follow(pair: Pair, wax: str, recipe: str) -> None:
    a, b = pair
    at(b.page, b.url, "list/wax")
    card = b.page.locator(f'a[href="#/edit/wax/{wax}"]')
    card.focus()
    set_box(a, wax, "highest_load", "6")
    set_box(a, wax, "name", "A wax renamed")
    b.settle()
    expect(card).to_contain_text("A wax renamed")
    expect(card).to_contain_text("up to 6.0")
    # It is another one in the row by now, and the keyboard is still on it.
    expect(card).to_be_focused()

    at(b.page, b.url, f"recipe/{recipe}")
    set_box(a, recipe, "load", "5.5", "recipe")
    b.settle()
    expect(slot(b.page, "facts")).to_contain_text("5.5")
    at(b.page, b.url, "recipes")
    set_box(a, recipe, "name", "Plum, renamed", "recipe")
    b.settle()
    expect(slot(b.page, "cards")).to_contain_text("Plum, renamed")


def test_log_and_log_entry_follow_and_keep_what_is_typed(pair: Pair) -> None:
    a, b = pair
    at(b.page, b.url, f"entry/{POUR}")
    slot(b.page, "note").fill("half a note")
    before = b.page.locator("#screen > *").evaluate("screen => screen.scrollTop")
    at(a.page, a.url, f"entry/{POUR}")
    slot(a.page, "note").fill("written on the other phone")
    tap(a.page, "Save the note")
    expect(slot(a.page, "notes")).to_contain_text("written on the other phone")
    exchange(a, b)
    expect(slot(b.page, "notes")).to_contain_text("written on the other phone")
    expect(slot(b.page, "happened")).to_contain_text("Note: written on the other phone")
    expect(slot(b.page, "note")).to_have_value("half a note")
    expect(slot(b.page, "note")).to_be_focused()
    assert b.page.locator("#screen > *").evaluate("screen => screen.scrollTop") >= before

    at(b.page, b.url, "log")
    expect(b.page.locator(f'a[href="#/entry/{POUR}"]')).to_have_count(1)
    at(a.page, a.url, f"entry/{POUR}")
    tap(a.page, "Delete")
    tap(a.page, "Really delete this pour?")
    say_why(a.page)
    expect(title(a.page)).to_have_text("Log")
    exchange(a, b)
    expect(b.page.locator(f'a[href="#/entry/{POUR}"]')).to_have_count(0)


_DOWN = """(card) => {
  const screen = document.querySelector('#screen > *');
  return card.getBoundingClientRect().top - screen.getBoundingClientRect().top;
}"""


def test_what_is_in_sight_stays_where_it_is(pair: Pair) -> None:
    a, b = pair
    # More than the window shows: where nothing is scrolled, what comes above pushes down the rest.
    for _ in range(3):
        start(a.page, a.url)
    exchange(a, b)
    b.page.set_viewport_size({"width": 390, "height": 300})
    at(b.page, b.url, "log")
    cards = slot(b.page, "cards").locator(".card")
    count = cards.count()
    screen = b.page.locator("#screen > *")
    screen.evaluate("screen => { screen.scrollTop = screen.scrollHeight; }")
    assert screen.evaluate("screen => screen.scrollTop") > 0
    last = b.page.locator(f'a[href="{cards.last.get_attribute("href")}"]')
    before = last.evaluate(_DOWN)
    # The newest pour stands first, above what she looks at.
    start(a.page, a.url)
    exchange(a, b)
    expect(cards).to_have_count(count + 1)
    assert last.evaluate(_DOWN) == pytest.approx(before, abs=1)


def test_a_change_of_one_unit_leaves_the_others_to_the_other_phone(pair: Pair) -> None:
    a, b = pair
    of = "workshop"
    exchange(a, b)
    open_form(b, of, of)
    set_box(a, of, "mass_unit", "ounces", of)
    b.settle()
    expect(box(b, "mass_unit")).to_have_value("oz")
    box(b, "length_unit").select_option(value="in")
    save(b)
    exchange(b, a)
    for phone in pair:
        assert value(phone, of, "mass_unit", of) == "oz"
        assert value(phone, of, "length_unit", of) == "in"
    assert a.state() == b.state()
