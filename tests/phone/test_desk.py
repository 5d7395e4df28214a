"""The desk: a first run, by touch and by keyboard alone; on paper; in large letters; in a narrow
window and a wide one; in the system's own colours; and what each screen says while it is empty.
"""

from typing import Any

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.phone.maker import at, slot, tap, title

PLUM = "demo-recipe-plum"
SCREENS = [
    *("today", "recipes", f"recipe/{PLUM}", f"plan/{PLUM}", "log", "entry/demo-pour-1"),
    *("workshop", "list/wax", f"edit/recipe/{PLUM}", "edit/vessel/new", "edit/workshop/workshop"),
    *("copies", "tables", "devices", "reminders", "pair", "history/wax/demo-wax-dune"),
]
EMPTY = {
    "today": "First: a vessel",
    "recipes": "First: a vessel",
    "log": "First: a vessel",
    "list/wax": "New wax",
    "list/jug": "New jug",
}


@pytest.fixture
def desk(browser: Browser, page_errors: list[str]) -> Any:
    """A window of 1280 × 800 with a keyboard, and no touch."""
    context = browser.new_context(
        viewport={"width": 1280, "height": 800}, permissions=["screen-wake-lock"]
    )
    page = context.new_page()
    page.on("pageerror", lambda error: page_errors.append(f"{page.url}: {error}"))
    yield page
    context.close()


# ---- the first run -----------------------------------------------------------------------------

VESSEL, WATER, WAX, FRAGRANCE = "tin 120", "118", "rapeseed", "fig"

KEY_S, POINT_S, THINK_S = 1.2, 1.1, 1.35
"""Operator times of the keystroke-level model (Card, Moran and Newell 1980), from memory: a key by
someone who does not know the keyboard, a pointing, a decision."""


def test_a_first_pour_is_a_minute_away(server, phone):
    phone.goto(server().url)
    touches, typed = 0, 0

    def touch(target):
        nonlocal touches
        target.tap()
        touches += 1

    def write(label: str, text: str):
        nonlocal typed
        box = phone.get_by_label(label, exact=True)
        touch(box)
        phone.keyboard.type(text)
        typed += len(text)

    def go(name: str):
        touch(phone.locator(".foot .go", has_text=name))

    go("First: a vessel")
    expect(title(phone)).to_have_text("New vessel")
    write("Name", VESSEL)
    write("Water to the fill line", WATER)
    go("Save")
    for kind, name in (("wax", WAX), ("fragrance", FRAGRANCE)):
        expect(title(phone)).to_have_text(f"New {kind}")
        write("Name", name)
        go("Save")
    expect(title(phone)).to_have_text("New recipe")
    # One of each is there, so the recipe is there too.
    go("Save")
    expect(title(phone)).to_have_text("fig in tin 120")
    go("Start this pour")
    expect(title(phone)).to_have_text("Make ready")
    # 21 × 1.2 s + 10 × (1.1 s + 1.35 s) = 50 s, the weighing of the water not counted.
    assert (touches, typed) == (10, 21)
    assert typed * KEY_S + touches * (POINT_S + THINK_S) < 60


_FOCUS = """() => {
  const here = document.activeElement;
  const { outlineStyle, outlineWidth } = getComputedStyle(here);
  const { left, top, width, height } = here.getBoundingClientRect();
  const over = document.elementFromPoint(left + width / 2, top + height / 2);
  return {
    name: (here.getAttribute('aria-label') ?? here.labels?.[0]?.querySelector('.name')?.textContent
      ?? here.textContent).trim(),
    tag: here.tagName,
    ring: outlineStyle !== 'none' && parseFloat(outlineWidth) >= 2,
    seen: here.contains(over) || Boolean(over?.closest('label')?.contains(here)),
  };
}"""


def tab_to(page: Page, name: str) -> None:
    """Press Tab until what is called `name` has the focus; each stop shows that it has it."""
    for _ in range(30):
        page.keyboard.press("Tab")
        stop = page.evaluate(_FOCUS)
        assert (stop["ring"], stop["seen"]) == (True, True), stop
        if stop["name"] == name:
            return
    raise AssertionError(f"Tab never comes to “{name}”.")


def arrive(page: Page, heading: str) -> None:
    """A new screen: the focus is on its heading, which names the page."""
    expect(title(page)).to_have_text(heading)
    expect(title(page)).to_be_focused()
    expect(page).to_have_title(f"{heading} · Pour bench")


def test_a_first_run_by_keyboard_alone(server, desk):
    desk.goto(server().url)
    expect(title(desk)).to_have_text("Today")
    keys = desk.keyboard
    tab_to(desk, "A vessel, and how much it takes")
    keys.press("Enter")
    arrive(desk, "New vessel")
    tab_to(desk, "Name")
    keys.type(VESSEL)
    tab_to(desk, "Water to the fill line")
    keys.type(WATER)
    keys.press("Enter")
    for kind, name in (("wax", WAX), ("fragrance", FRAGRANCE)):
        arrive(desk, f"New {kind}")
        tab_to(desk, "Name")
        keys.type(name)
        keys.press("Enter")
    arrive(desk, "New recipe")
    # Enter with something missing goes to what is missing.
    tab_to(desk, "Fragrance load")
    keys.press("Control+a")
    keys.press("Delete")
    keys.press("Enter")
    assert desk.evaluate(_FOCUS)["name"] == "Fragrance load"
    keys.type("8")
    tab_to(desk, "Save")
    keys.press("Enter")
    arrive(desk, "fig in tin 120")
    tab_to(desk, "How many")
    keys.press("Enter")
    assert desk.evaluate(_FOCUS)["name"] == "Start this pour"
    keys.press("Enter")
    expect(title(desk)).to_have_text("Make ready")


def test_a_thing_that_is_missing_is_made_on_the_way(server, phone):
    at(phone, server(demo=True).url, "edit/recipe/new")
    phone.get_by_label("Fragrance load").fill("6")
    phone.locator("[data-field=vessel]").get_by_label("New vessel").click()
    expect(title(phone)).to_have_text("New vessel")
    phone.get_by_label("Name", exact=True).fill("bowl")
    phone.get_by_label("Water to the fill line").fill("200")
    tap(phone, "Save")
    expect(title(phone)).to_have_text("New recipe")
    expect(phone.locator("[data-field=vessel] option:checked")).to_have_text("bowl")
    expect(phone.get_by_label("Fragrance load")).to_have_value("6")
    expect(phone.locator("[data-field=wax] select")).to_have_value("")


def test_the_focus_comes_back_to_where_it_was(server, desk):
    bench = server(demo=True)
    at(desk, bench.url, "entry/demo-pour-1")
    first = slot(desk, "happened").get_by_role("button", name="Correct").first
    first.focus()
    for text, done in (("", "Escape"), ("1160", "Enter")):
        desk.keyboard.press("Enter")
        expect(desk.locator("dialog")).to_be_visible()
        desk.keyboard.type(text)
        desk.keyboard.press(done)
        expect(desk.locator("dialog")).to_have_count(0)
        expect(first).to_be_focused()
    expect(slot(desk, "happened")).to_contain_text("corrected")
    # A row that goes leaves the focus on its button's next neighbour.
    at(desk, bench.url, f"edit/recipe/{PLUM}")
    oils = desk.locator("[data-field=oils]")
    oils.get_by_role("button", name="Remove").first.focus()
    desk.keyboard.press("Enter")
    expect(oils.locator("[data-add]")).to_be_focused()
    desk.keyboard.press("Enter")
    expect(oils.locator("select").nth(1)).to_be_focused()


# ---- on paper ----------------------------------------------------------------------------------

_PRINTED = """() => {
  const shown = (each) => each.checkVisibility() && each.getBoundingClientRect().height > 0;
  const places = [...document.querySelectorAll('#screen *')].filter(shown);
  const words = places.filter((each) =>
    [...each.childNodes].some((node) => node.nodeType === 3 && node.data.trim()));
  return {
    text: document.querySelector('#screen').innerText,
    ink: [...new Set(words.map((each) => getComputedStyle(each).color))],
    ground: [...new Set(places.filter((each) => !(each instanceof SVGElement))
      .map((each) => getComputedStyle(each).backgroundColor))],
    pressed: [...document.querySelectorAll(
      'button, input, select, textarea, .go, .quiet, #rooms, #strip, .back')]
      .filter(shown).map((each) => each.outerHTML),
    cut: [document.body, ...document.querySelectorAll('#screen, .screen')]
      .filter((each) => each.scrollHeight > each.clientHeight + 1 &&
        getComputedStyle(each).overflowY !== 'visible').length,
    broken: places.filter((each) => each.matches('tr, .beware, svg') &&
      getComputedStyle(each).breakInside !== 'avoid').length,
  };
}"""


@pytest.mark.parametrize(
    ("path", "there"),
    [
        (f"plan/{PLUM}", ["Caution.", "Poured on", "Fragrance in at", "One jug: 1 vessel"]),
        (f"recipe/{PLUM}", ["Caution.", "at least 7 days"]),
        ("entry/demo-pour-1", ["Started", "Target", "Load 8.0", "Made everything ready"]),
        ("list/fragrance", ["Kelp smoke", "flash point 101"]),
    ],
)
def test_what_is_printed_is_black_on_white_and_whole(server, desk, path, there):
    desk.emulate_media(color_scheme="dark")
    at(desk, server(demo=True).url, path)
    desk.emulate_media(media="print", color_scheme="dark")
    # A4, 210 mm less margins of 16 mm on either side.
    desk.set_viewport_size({"width": 672, "height": 1000})
    found = desk.evaluate(_PRINTED)
    for words in there:
        assert words in found["text"].replace("\u00a0", " ")
    assert set(found["ink"]) <= {"rgb(0, 0, 0)", "rgb(51, 51, 51)"}
    assert set(found["ground"]) <= {"rgba(0, 0, 0, 0)", "rgb(255, 255, 255)"}
    assert (found["pressed"], found["cut"], found["broken"]) == ([], 0, 0)
    assert desk.pdf(format="A4").startswith(b"%PDF")


# ---- large letters, little room ----------------------------------------------------------------

_TWICE = """() => {
  // What stands on every screen is that large already.
  const all = [...document.querySelectorAll('.screen, .screen *, #rooms a')]
    .filter((each) => each.style.fontSize === '');
  const sizes = all.map((each) => parseFloat(getComputedStyle(each).fontSize));
  all.forEach((each, index) => { each.style.fontSize = `${2 * sizes[index]}px`; });
}"""

# WCAG 2.2, success criterion 1.4.12.
_SPACED = """() => {
  const sheet = new CSSStyleSheet();
  sheet.replaceSync(`* { line-height: 1.5 !important; letter-spacing: 0.12em !important;
    word-spacing: 0.16em !important } p { margin-bottom: 2em !important }`);
  document.adoptedStyleSheets = [sheet];
}"""

_LOST = """() => {
  for (const each of document.querySelectorAll('#screen details')) each.open = true;
  const wide = document.documentElement.clientWidth;
  const lost = [];
  const texts = [];
  const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  for (let node = walk.nextNode(); node; node = walk.nextNode()) {
    const holder = node.parentElement;
    if (!node.data.trim() || !holder.checkVisibility() || holder.closest('option, .sr')) continue;
    const range = document.createRange();
    range.selectNodeContents(node);
    for (const box of range.getClientRects()) {
      if (box.left < -1 || box.right > wide + 1) lost.push(`outside: ${node.data}`);
      // The foot and the rooms lie over what is scrolled under them.
      if (!holder.closest('.foot, #rooms, #strip')) texts.push([node, box]);
    }
  }
  texts.forEach(([one, a], index) => {
    for (const [other, b] of texts.slice(index + 1)) {
      if (one === other) continue;
      const [x, y] = [Math.min(a.right, b.right) - Math.max(a.left, b.left),
        Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top)];
      // Neighbouring lines share the space above their letters.
      const low = Math.min(a.height, b.height);
      if (x > 2 && y > 0.3 * low) lost.push(`${one.data} over ${other.data}`);
    }
  });
  for (const each of document.querySelectorAll('body *')) {
    if (!each.checkVisibility() || each.closest('svg, input, select, .sr, #strip')) continue;
    const { overflowX, animationName, transitionDuration } = getComputedStyle(each);
    const name = each.className || each.tagName;
    const over = each.scrollWidth - each.clientWidth;
    if (overflowX !== 'visible' && over > 1) lost.push(`cut: ${name}`);
    if (animationName !== 'none' || transitionDuration !== '0s') lost.push(`moves: ${name}`);
  }
  const screen = document.querySelector('.screen');
  const foot = document.querySelector('.foot')?.offsetHeight ?? 0;
  if (screen.clientHeight - foot < 120) lost.push(`room for ${screen.clientHeight - foot} px`);
  return lost;
}"""


@pytest.mark.parametrize(
    ("width", "height", "change"),
    [(320, 640, "() => 0"), (390, 844, _TWICE), (390, 844, _SPACED)],
    ids=["320 px", "text twice as large", "text spaced"],
)
def test_nothing_is_lost(server, phone, width, height, change):
    phone.set_viewport_size({"width": width, "height": height})
    url = server(demo=True).url
    lost = {}
    for path in SCREENS:
        at(phone, url, path)
        phone.evaluate(change)
        lost[path] = phone.evaluate(_LOST)
    assert {path: those[:5] for path, those in lost.items() if those} == {}


# ---- colours -----------------------------------------------------------------------------------

_CONTRAST = """() => {
  const light = (colour) => {
    const [r, g, b] = colour.match(/[\\d.]+/g).slice(0, 3).map((each) => {
      const part = each / 255;
      return part <= 0.04045 ? part / 12.92 : ((part + 0.055) / 1.055) ** 2.4;
    });
    return 0.2126 * r + 0.7152 * g + 0.0722 * b;
  };
  const contrast = (one, other) => {
    const [a, b] = [light(one), light(other)];
    return (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05);
  };
  const ground = (each) => {
    for (let up = each; up; up = up.parentElement) {
      const colour = getComputedStyle(up).backgroundColor;
      if (!/^rgba\\(.*, 0\\)$/.test(colour)) return colour;
    }
  };
  const low = [];
  for (const each of document.querySelectorAll('body *')) {
    if (!each.checkVisibility() || each.closest('svg, option, :disabled')) continue;
    const { color, borderTopColor } = getComputedStyle(each);
    const says = [...each.childNodes].some((node) => node.nodeType === 3 && node.data.trim());
    if (says) low.push([contrast(color, ground(each)) / 6, each.outerHTML]);
    if (each.matches('input[type=text], select, textarea, .quiet')) {
      const edge = contrast(borderTopColor, ground(each.parentElement));
      low.push([edge / 3, `edge of ${each.outerHTML}`]);
    }
  }
  return low.filter(([part]) => part < 1);
}"""


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_words_and_boxes_stand_out(server, desk, scheme):
    """Letters at 6 to 1 (WCAG 2.2 asks 4.5), boxes at 3 to 1 (success criterion 1.4.11)."""
    desk.emulate_media(color_scheme=scheme)
    url = server(demo=True).url
    low = []
    for path in SCREENS:
        at(desk, url, path)
        low += desk.evaluate(_CONTRAST)
    assert low == []


_EDGES = """() => {
  const edge = (each) => {
    const { borderLeftStyle, borderLeftColor, borderTopColor } = getComputedStyle(each);
    return [borderLeftStyle, borderLeftColor, borderTopColor].join();
  };
  const all = (what) =>
    [...document.querySelectorAll(what)].filter((each) => each.checkVisibility());
  const [here, ...more] = all('#rooms [aria-current]').map(edge);
  return {
    bare: all('button, .go, .quiet, input, select')
      .filter((each) => getComputedStyle(each).borderTopStyle === 'none')
      .map((each) => each.outerHTML),
    rooms: more.length + 1,
    alike: all('#rooms a:not([aria-current])').map(edge).includes(here),
  };
}"""


def test_the_systems_own_colours_keep_buttons_and_the_room_apart(server, desk):
    url = server(demo=True).url
    desk.emulate_media(forced_colors="active")
    for path, width in ((f"recipe/{PLUM}", 1280), (f"edit/recipe/{PLUM}", 390)):
        desk.set_viewport_size({"width": width, "height": 844})
        at(desk, url, path)
        assert desk.evaluate(_EDGES) == {"bare": [], "rooms": 1, "alike": False}


# ---- the wide window ---------------------------------------------------------------------------


def test_a_wide_window_is_used(server, desk):
    url = server(demo=True).url
    beside = {
        f"plan/{PLUM}": ("[data-slot=form]", "[data-slot=sheet]"),
        "entry/demo-pour-1": ("[data-slot=facts]", ".curve"),
        f"edit/recipe/{PLUM}": ("[data-slot=form]", "[data-slot=preview]"),
        "list/wax": (".card:first-child", ".card:last-child"),
        "workshop": ("#rooms", ".screen"),
    }
    for path, (left, right) in beside.items():
        at(desk, url, path)
        one, other = (desk.locator(each).bounding_box() for each in (left, right))
        assert one is not None
        assert other is not None
        assert one["x"] + one["width"] <= other["x"], path
        assert one["y"] < other["y"] + other["height"], path


def test_a_list_stands_beside_what_is_opened_out_of_it(server, desk):
    url = server(demo=True).url
    at(desk, url, f"recipe/{PLUM}")
    beside = desk.locator("#beside")
    here = beside.locator("[aria-current]")
    expect(here).to_contain_text("Plum & kelp")
    beside.get_by_role("link", name="Wet slate").click()
    expect(title(desk)).to_have_text("Wet slate")
    expect(here).to_have_count(1)
    expect(here).to_contain_text("Wet slate")
    list_, opened = beside.bounding_box(), desk.locator("#screen").bounding_box()
    assert list_ is not None
    assert opened is not None
    assert list_["x"] + list_["width"] <= opened["x"]
    # It follows what changes, goes with its screen, and does not come where there is no room.
    desk.evaluate(
        """async () => (await import('/static/records/store.js'))
          .save('recipe', 'demo-recipe-plum', { name: 'Damson' })"""
    )
    expect(beside).to_contain_text("Damson")
    at(desk, url, "entry/demo-pour-1")
    expect(here).to_contain_text("12 × tin 120")
    at(desk, url, "today")
    expect(beside).to_have_count(0)
    at(desk, url, "list/wax")
    expect(beside).to_have_count(0)
    at(desk, url, "edit/wax/demo-wax-dune")
    expect(here).to_contain_text("Dune")
    desk.set_viewport_size({"width": 1100, "height": 800})
    expect(beside).to_have_count(0)


# ---- a colour of her own -------------------------------------------------------------------------


def test_a_scent_has_the_colour_that_she_gave_it(server, phone):
    """In the list, and on whatever was or will be made with it; without one, none."""
    url = server(demo=True).url

    def colours(path: str, name: str) -> list[str]:
        at(phone, url, path)
        drawn = phone.locator("#screen .card", has_text=name).locator(".wax")
        expect(drawn.first).to_be_visible()
        fills = "all => all.map((each) => each.getAttribute('fill'))"
        return sorted(set(drawn.evaluate_all(fills)))

    assert colours("list/fragrance", "Wet slate") == ["#3f7fc0"]
    at(phone, url, "edit/fragrance/demo-oil-slate")
    phone.get_by_label("Colour in the pictures").select_option(label="orange")
    expect(slot(phone, "preview").locator(".wax")).to_have_attribute("fill", "#d2691e")
    tap(phone, "Save")
    expect(title(phone)).to_have_text("Fragrances")
    for path in ("list/fragrance", "recipes", "log", "today"):
        assert colours(path, "Wet slate") == ["#d2691e"], path
    assert colours("log", "Plum & kelp") == ["#8a63c4"]
    assert colours("list/vessel", "tin 120") == ["var(--hair)"]


# ---- what to beware of ---------------------------------------------------------------------------


def test_many_things_to_beware_of_leave_the_numbers_of_a_plan_in_sight(server, phone):
    url = server(demo=True).url
    at(phone, url, "recipes")
    phone.evaluate(
        """async () => (await import('/static/records/store.js'))
          .save('recipe', 'demo-recipe-slate', { load: 0.2, fragrance_c: 95 })"""
    )
    at(phone, url, "plan/demo-recipe-slate")
    caution, warning = (phone.locator(f".beware.{each}") for each in ("caution", "warning"))
    expect(caution.or_(warning)).to_have_count(5)
    heed = slot(phone, "heed")
    expect(heed).to_have_text("2 cautions3 things to check")
    foot = phone.locator(".foot").bounding_box()
    assert foot is not None
    for number in slot(phone, "total").locator("b").all():
        box = number.bounding_box()
        assert box is not None
        assert box["y"] + box["height"] < foot["y"], number.inner_text()
    # Told apart without colour too: a frame and a sign, or a bar.
    look = """each => [
      getComputedStyle(each).borderTopStyle, getComputedStyle(each, '::before').content]"""
    assert caution.first.evaluate(look) == ["solid", '"!" / ""']
    assert warning.first.evaluate(look) == ["none", "none"]
    everything = caution.or_(warning)
    expect(everything.last).not_to_be_in_viewport()
    heed.click()
    expect(everything.last).to_be_in_viewport()


# ---- while there is nothing --------------------------------------------------------------------


def test_an_empty_screen_teaches_and_leads_on(server, desk):
    url = server().url
    for path, button in EMPTY.items():
        at(desk, url, path)
        link = desk.locator(".foot .go")
        expect(link).to_have_text(button)
        assert "/new" in str(link.get_attribute("href"))
        said = desk.locator("main").inner_text()
        assert 20 < len(said) < 400, said
