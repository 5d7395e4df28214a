"""The board is read from two metres and worked with an elbow: sizes, contrast, touches."""

import base64
import re
from collections.abc import Iterator
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from tests.phone.burn_steps import every_burn_step
from tests.phone.maker import (
    THERMOMETER,
    as_shown,
    at,
    count_touches,
    dont_wait,
    expect_step,
    go_to,
    kept,
    make_small_jug,
    nudge,
    open_pad,
    press,
    read_off,
    read_on_ladder,
    seconds_on,
    slot,
    start,
    tap,
    tap_main,
    title,
)
from tests.phone.test_access import SIDEWAYS, SMALL, every_step

PORTRAIT, LANDSCAPE = (390, 844), (844, 390)

# Rows of the picture of the number that hold ink: from the top of its digits to their foot.
_GLYPHS = """async ([picture, sun]) => {
  const image = new Image();
  image.src = `data:image/png;base64,${picture}`;
  await image.decode();
  const canvas = document.createElement('canvas');
  [canvas.width, canvas.height] = [image.width, image.height];
  const pen = canvas.getContext('2d');
  pen.drawImage(image, 0, 0);
  const rows = [];
  for (let y = 0; y < image.height; y += 1) {
    const row = pen.getImageData(0, y, image.width, 1).data;
    for (let x = 0; x < row.length; x += 4) if ((row[x] > 200) !== sun) { rows.push(y); break; }
  }
  return rows.at(-1) - rows[0] + 1;
}"""

_READ = """() => {
  const pen = document.createElement('canvas').getContext('2d');
  const light = (colour) => {
    const [r, g, b] = colour.match(/[\\d.]+/g).map((part) => part / 255)
      .map((part) => (part <= 0.04045 ? part / 12.92 : ((part + 0.055) / 1.055) ** 2.4));
    return 0.2126 * r + 0.7152 * g + 0.0722 * b;
  };
  const ground = (part) => {
    for (let each = part; each; each = each.parentElement) {
      const { backgroundColor } = getComputedStyle(each);
      if (!/^rgba.*, 0\\)|transparent/.test(backgroundColor)) return backgroundColor;
    }
    return 'rgb(255, 255, 255)';
  };
  const found = [];
  for (const part of document.querySelectorAll('.board *, #strip *, dialog[open] *')) {
    const own = [...part.childNodes].some(({ data }) => data?.trim());
    if (!own || !part.checkVisibility({ visibilityProperty: true })) continue;
    if (part.closest('.sr, svg, :disabled')) continue;
    const style = getComputedStyle(part);
    pen.font = `${style.fontWeight} ${style.fontSize} ${style.fontFamily}`;
    const [one, two] = [light(style.color), light(ground(part))].sort((a, b) => b - a);
    found.push({
      text: part.textContent.trim(),
      size: parseFloat(style.fontSize),
      x_height: pen.measureText('x').actualBoundingBoxAscent,
      contrast: (one + 0.05) / (two + 0.05),
      stands: Boolean(part.closest('.doing, .num, .go, .alarm')) && !part.matches('.over'),
    });
  }
  return found;
}"""


def glyph_height(page: Page) -> int:
    sun = page.evaluate("document.documentElement.hasAttribute('data-sun')")
    # A pixel of the picture is one of the page, whatever the screen makes of it.
    picture = base64.b64encode(slot(page, "number").screenshot(scale="css")).decode()
    return int(page.evaluate(_GLYPHS, [picture, sun]))


def assert_in_sight(page: Page, part: str = "num") -> None:
    """All of the number is in sight, above what lies under it: with its unit, or the digits."""
    box = slot(page, part).bounding_box()
    main = page.locator(".board main").bounding_box()
    assert box
    assert main
    assert box["y"] >= main["y"] - 1
    assert box["y"] + box["height"] <= main["y"] + main["height"] + 1


def turned(page: Page, size: tuple[int, int]) -> None:
    page.set_viewport_size({"width": size[0], "height": size[1]})


def everywhere(page: Page) -> Iterator[str]:
    """Upright and on its side, dark and in the sun."""
    for size in (LANDSCAPE, PORTRAIT):
        turned(page, size)
        for sun in (True, False):
            page.evaluate("sun => document.documentElement.toggleAttribute('data-sun', sun)", sun)
            yield f"{size[0]} wide{', in the sun' if sun else ''}"


def test_five_characters_are_80_px_high(server, phone):
    """At two metres 22 minutes of arc are 12.8 mm, which are 80 px with 160 to the inch
    (NUREG-0700, 1.3.1-4: height = 6.283 · D · MA / 21600)."""
    height_mm = 6.283 * 2000 * 22 / 21600
    assert height_mm / 25.4 * 160 == pytest.approx(80, abs=1)
    bench = server(demo=True)
    start(phone, bench.url, count="15")
    low: list[tuple[str, str, int]] = []
    lengths: set[int] = set()

    def look() -> None:
        for where in everywhere(phone):
            number, height = slot(phone, "number").inner_text(), glyph_height(phone)
            lengths.add(len(number))
            low.extend([(where, number, height)] if height < 80 else [])
            assert_in_sight(phone)

    go_to(phone, "Weigh wax")
    look()
    go_to(phone, "Cool to fragrance")
    look()
    read_off(phone, "86")
    expect(phone.locator(".doing")).to_have_text("70 °C in")
    look()
    dont_wait(phone)
    expect(title(phone)).to_have_text("Weigh fragrance")
    look()
    go_to(phone, "Stir")
    look()
    go_to(phone, "Pour")
    look()
    assert low == []
    assert lengths == {2, 3, 4, 5}


def test_what_is_read_while_standing_is_large_and_plain(server, phone):
    """x-height 20 px for what she needs while she stands, 20 px letters for the rest, contrast 7:1
    (WCAG 2.2, 1.4.6)."""
    start(phone, server(demo=True).url, count="2")
    bad = []
    for name in every_step(phone):
        for where in everywhere(phone):
            texts: list[Any] = phone.evaluate(_READ)
            assert texts
            bad += [
                (name, where, each)
                for each in texts
                if each["size"] < 20
                or each["contrast"] < 7
                or (each["stands"] and round(each["x_height"], 1) < 20)
            ]
    assert bad == []


def test_a_burn_is_read_and_touched_as_a_pour_is(server, phone):
    """As large, as plain and as easy to hit, upright and on its side, dark and in the sun; and what
    is asked is in sight."""
    url = server(demo=True).url
    at(phone, url, "tests")
    bad: list[object] = []
    for name in every_burn_step(phone, url):
        for where in everywhere(phone):
            bad += [
                (name, where, each)
                for each in phone.evaluate(_READ)
                if each["size"] < 20 or each["contrast"] < 7
            ]
            bad += [(name, where, each) for each in phone.evaluate(SMALL)]
            over = phone.evaluate(SIDEWAYS)
            bad += [(name, where, over)] if over != [0, []] else []
            if not phone.evaluate(_ASKED_IN_SIGHT):
                bad.append((name, where, "what is asked is cut off"))
    assert bad == []


_ASKED_IN_SIGHT = """() => {
  const asked = document.querySelector('.board .doing').getBoundingClientRect();
  const room = document.querySelector('.board main').getBoundingClientRect();
  return asked.top >= room.top - 1 && asked.bottom <= room.bottom + 1;
}"""


_AT_THE_EDGE = """() => {
  const { left, right, bottom, height } = document.querySelector('.go').getBoundingClientRect();
  const [from_right, from_bottom] = [innerWidth - right, innerHeight - bottom];
  return { height, left, from_right, from_bottom, wide: innerWidth };
}"""


def test_the_main_action_is_where_the_hand_is(server, phone):
    start(phone, server(demo=True).url, count="2")
    for _ in every_step(phone):
        if phone.locator("dialog.pad").count():
            continue
        turned(phone, LANDSCAPE)
        found = phone.evaluate(_AT_THE_EDGE)
        assert found["height"] >= 84
        assert found["from_right"] <= 20
        assert found["left"] > found["wide"] / 2
        turned(phone, PORTRAIT)
        found = phone.evaluate(_AT_THE_EDGE)
        assert found["height"] >= 84
        assert found["from_bottom"] <= 20


def test_the_other_hand(server, phone):
    bench = server(demo=True)
    at(phone, bench.url, "bench")
    phone.get_by_role("switch", name="Buttons on the left").check()
    start(phone, bench.url, count="2")
    turned(phone, LANDSCAPE)
    go_to(phone, "Weigh wax")
    found = phone.evaluate(_AT_THE_EDGE)
    assert found["left"] <= 20
    assert found["from_right"] > found["wide"] / 2


# ---- touches -----------------------------------------------------------------------------------


def pour_twelve(phone: Page) -> None:
    """From 'start' to 'set' with three dips: one key by key, two on the ladder."""
    slot(phone, "start").tap()
    expect_step(phone, "Make ready")
    tap_main(phone)
    expect_step(phone, "Weigh wax")
    as_shown(phone)
    expect_step(phone, "Melt")
    tap_main(phone)
    expect_step(phone, "Cool to fragrance")
    read_off(phone, "78")
    expect(slot(phone, "doing")).to_have_text("70\u00a0°C in")
    for dips, below in ((2, 1), (3, 0)):
        phone.clock.fast_forward(60_000)
        read_on_ladder(phone, below)
        # Kept: while it was being kept, the board takes no other touch.
        expect(phone.locator(".curve .dip")).to_have_count(dips)
    tap(phone, "Weigh fragrance")
    expect_step(phone, "Weigh fragrance")
    as_shown(phone)
    expect_step(phone, "Cool to fragrance")
    phone.clock.fast_forward(seconds_on(phone) * 1000)
    # Nobody has read it yet, and the board does not say so.
    expect(slot(phone, "doing")).to_have_text("Dip to be sure. It should be at about")
    tap_main(phone)
    expect_step(phone, "Add fragrance")
    tap_main(phone)
    expect_step(phone, "Stir")
    phone.clock.fast_forward(121_000)
    tap_main(phone)


def test_touches_of_a_pour_of_twelve(server, phone):
    bench = server(demo=True)
    phone.clock.install()
    at(phone, bench.url, "plan/demo-recipe-slate")
    slot(phone, "count").fill("12")
    touches = count_touches(phone)
    pour_twelve(phone)
    for vessel in range(1, 13):
        expect_step(phone, f"Pour · {vessel} of 12")
        as_shown(phone)
    expect_step(phone, "Leave to set")
    tap_main(phone)
    expect(title(phone)).to_have_text("Today")
    print(f"touches, vessel by vessel: {touches()}")
    assert touches() <= 30


def test_touches_with_vessels_not_counted(server, phone):
    bench = server(demo=True)
    phone.clock.install()
    at(phone, bench.url, "bench")
    phone.get_by_role("switch", name="Count the vessels").uncheck()
    at(phone, bench.url, "plan/demo-recipe-slate")
    slot(phone, "count").fill("12")
    touches = count_touches(phone)
    pour_twelve(phone)
    expect_step(phone, "Pour")
    tap_main(phone)
    expect_step(phone, "Leave to set")
    tap_main(phone)
    expect(title(phone)).to_have_text("Today")
    print(f"touches, jug by jug: {touches()}")
    assert touches() <= 19


# ---- nothing jumps -------------------------------------------------------------------------------


_PAINTED = "() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))"


def test_nothing_moves_when_the_numbers_change(server, phone):
    """No layout shift (Layout Instability, WICG) while a countdown loses a digit."""
    bench = server(demo=True)
    phone.clock.install()
    start(phone, bench.url, count="12")
    go_to(phone, "Cool to fragrance")
    phone.evaluate(
        """() => {
          globalThis.shifts = [];
          globalThis.tell = ({ value, sources }) =>
            shifts.push([value, sources.map(({ node }) => node?.outerHTML)]);
          globalThis.observer = new PerformanceObserver((list) => list.getEntries().forEach(tell));
          observer.observe({ type: 'layout-shift' });
        }"""
    )
    read_off(phone, "86")
    expect(phone.locator(".doing")).to_have_text("70 °C in")
    expect(phone.locator("dialog.pad")).to_have_count(0)
    expect(slot(phone, "number")).to_have_text(re.compile(r"^\d\d:\d\d$"))
    phone.evaluate(_PAINTED)
    phone.evaluate("() => { observer.takeRecords(); globalThis.shifts = []; }")
    shown = slot(phone, "number").inner_text()
    assert len(shown) == 5
    while len(shown) == 5:
        phone.clock.fast_forward(60_000)
        expect(slot(phone, "number")).not_to_have_text(shown)
        shown = slot(phone, "number").inner_text()
    assert len(shown) == 4
    phone.evaluate(_PAINTED)
    phone.evaluate("() => observer.takeRecords().forEach(tell)")
    assert phone.evaluate("shifts") == []


def test_one_touch_is_silence_and_words_are_shown(server, phone):
    bench = server(demo=True)
    start(phone, bench.url, count="2")
    mute = slot(phone, "mute")
    expect(mute).to_have_accessible_name("Voice and bells on")
    mute.click()
    expect(mute).to_have_accessible_name("Voice and bells off")
    expect(slot(phone, "silent")).to_contain_text("off")
    go_to(phone, "Weigh wax")
    # What nobody says is shown, and told to readers aloud.
    expect(slot(phone, "caption")).to_have_text("Jug on, zero the scale. Wax, 199 grams.")
    expect(slot(phone, "caption")).to_have_attribute("role", "status")
    # It lies over no button and not over the number, and takes no touch.
    for width, height in ((390, 844), (320, 568), (844, 390), (1280, 800)):
        phone.set_viewport_size({"width": width, "height": height})
        words, number, act = (
            phone.locator(each).bounding_box() for each in (".caption", ".num", ".act")
        )
        assert words is not None
        assert number is not None
        assert act is not None
        assert number["y"] + number["height"] <= words["y"]
        assert words["y"] + words["height"] <= act["y"] or words["x"] + words["width"] <= act["x"]
    assert slot(phone, "caption").evaluate("e => getComputedStyle(e).pointerEvents") == "none"
    mute.click()
    expect(mute).to_have_accessible_name("Voice and bells on")


def test_a_nudged_reading_that_can_hardly_be_meant_is_questioned_in_place(server, phone):
    start(phone, server(demo=True).url, count="2")
    go_to(phone, "Weigh wax")
    nudges = phone.locator(".nudges")
    for _ in range(21):
        nudges.get_by_role("button", name="10 more").click()
    expect(slot(phone, "draft")).to_have_text("409\u00a0g")
    phone.locator(".act .go").click()
    expect(phone.locator("dialog.pad [data-slot=question]")).to_contain_text("far from 199")
    tap(phone, "Back")
    # Nothing that she entered is lost.
    expect(slot(phone, "draft")).to_have_text("409\u00a0g")


def test_the_number_reads_as_a_sentence(server, phone):
    start(phone, server(demo=True).url, count="12")
    go_to(phone, "Weigh wax")
    expect(phone.locator(".task")).to_match_aria_snapshot(
        "- paragraph: Jug on, zero, then wax to 1168 grams"
    )


def test_four_jugs_cool_and_the_number_stays_in_sight(server, phone):
    """Every clock is on the strip, the one that is due takes the number, and no alarm hides it."""
    bench = server(demo=True)
    phone.clock.install()
    make_small_jug(phone, bench.url)
    start(phone, bench.url, count="20", jug="small jug")
    chips = phone.locator("#strip a")
    go_to(phone, "Cool to fragrance")
    read_off(phone, "84")
    # The others come due together: each that came later would take the board once more.
    for jug, celsius in ((1, "76"), (2, "76"), (3, "76")):
        chips.nth(jug).click()
        expect(slot(phone, "place")).to_contain_text(f"jug {jug + 1} of 4")
        go_to(phone, "Cool to fragrance")
        read_off(phone, celsius)
    expect(chips).to_have_count(4)
    low: list[tuple[str, int]] = []

    def look() -> None:
        for size in (LANDSCAPE, PORTRAIT):
            turned(phone, size)
            height = glyph_height(phone)
            # Beside four clocks and an alarm it has half of what it has alone.
            low.extend([(slot(phone, "number").inner_text(), height)] if height < 40 else [])
            assert_in_sight(phone, "number")

    look()
    # Its clock comes: the board goes over to it, whoever stands there.
    chips.first.click()
    expect(slot(phone, "place")).to_contain_text("jug 1 of 4")
    phone.clock.fast_forward(420_000)
    expect(slot(phone, "place")).not_to_contain_text("jug 1 of 4")
    expect(slot(phone, "alarm")).to_have_text("At temperature?")
    # On a slow machine they were read far apart: until the last is due, the board may move on.
    expect(phone.locator("#strip .due")).to_have_count(3)
    look()
    chips.first.click()
    expect(slot(phone, "place")).to_contain_text("jug 1 of 4")
    expect(slot(phone, "alarm").get_by_role("link")).to_contain_text("Dip: jug")
    look()
    assert low == []


def test_too_hot_takes_the_whole_board_until_a_reading_says_less(server, phone):
    start(phone, server(demo=True).url, count="2")
    go_to(phone, "Melt")
    read_off(phone, "95")
    phone.get_by_role("button", name="Yes, 95").tap()
    expect(slot(phone, "doing")).to_have_text("Too hot. Heat off, lid on. It showed")
    expect(slot(phone, "number")).to_have_text("95.0")
    for size in (PORTRAIT, LANDSCAPE):
        turned(phone, size)
        smoke = slot(phone, "cautions").locator("li").first
        expect(smoke).to_have_text("If it smokes: heat off, lid on. Never water.")
        expect(smoke).to_be_in_viewport(ratio=1)
    # The large button asks what it shows, and offers nothing as read.
    expect(phone.locator(".act .go")).to_have_text(THERMOMETER)
    read_off(phone, "85")
    expect(slot(phone, "doing")).to_have_text("Gently, until clear. Never over")
    expect(slot(phone, "lines")).to_contain_text("It showed 85.0\u00a0°C at")


def test_blind_touches_keep_no_temperature(server, phone):
    """A hand that rests on the large button reads no thermometer, before the first dip or after."""
    pour = start(phone, server(demo=True).url, count="2")
    go_to(phone, "Cool to fragrance")

    def touch_blindly() -> list[float]:
        box = phone.locator(".act .go").bounding_box()
        assert box
        for _ in range(4):
            phone.touchscreen.tap(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
        expect(phone.locator("dialog.pad [data-slot=question]")).to_be_visible()
        phone.locator("dialog.pad [data-slot=back]").tap()
        events = [each for each in kept(phone)["events"] if each["of"] == ["pour", pour]]
        return [each["temp_c"] for each in events if each["type"] == "read"]

    assert touch_blindly() == []
    read_off(phone, "84")
    expect(slot(phone, "doing")).to_have_text("70\u00a0°C in")
    assert touch_blindly() == [84]


def test_what_was_filled_to_the_mark_is_no_reading_of_its_own(server, phone):
    pour = start(phone, server(demo=True).url, count="2")
    go_to(phone, "Weigh wax")
    as_shown(phone)
    expect_step(phone, "Melt")
    tap(phone, "Undo")
    expect_step(phone, "Weigh wax")
    nudge(phone, "1 more")
    tap_main(phone)
    expect_step(phone, "Melt")
    events = [each for each in kept(phone)["events"] if each["of"] == ["pour", pour]]
    weighed = [each for each in events if each["type"] == "weighed"]
    assert [each.get("how") for each in weighed] == ["mark", None]
    phone.evaluate("pour => { location.hash = `#/entry/${pour}`; }", pour)
    told = phone.get_by_role("listitem").filter(has_text="Weighed")
    expect(told.first).to_contain_text("199\u00a0g, on target")
    expect(told.last).not_to_contain_text("on target")


_OVER = """([one, other]) => {
  const [a, b] = [one, other].map((name) => [...document.querySelectorAll(name)]
    .map((each) => each.getBoundingClientRect()).filter(({ width }) => width > 0));
  return a.flatMap((p) => b.filter((q) => p.left < q.right - 1 && q.left < p.right - 1 &&
    p.top < q.bottom - 1 && q.top < p.bottom - 1)).length;
}"""


def test_no_button_lies_over_a_caution(server, phone):
    """Three cautions beside other jugs, on phones upright and on their side."""
    url = server(demo=True).url
    start(phone, url, count="20")
    go_to(phone, "Melt")
    for size in ((390, 844), (320, 568), (844, 390), (667, 375), (640, 400)):
        turned(phone, size)
        expect(phone.locator(".care li")).to_have_count(3)
        assert phone.evaluate(_OVER, [".care li", ".act button"]) == 0, size
        assert phone.evaluate(_OVER, [".care li", ".num"]) == 0, size
        for caution in phone.locator(".care li").all():
            expect(caution).to_be_in_viewport(ratio=1)


def test_no_key_lies_under_another_while_the_pad_asks(server, phone):
    phone.set_viewport_size({"width": 320, "height": 568})
    start(phone, server(demo=True).url, count="2")
    go_to(phone, "Weigh wax")
    open_pad(phone)
    press(phone, "9")
    tap(phone, "Enter")
    expect(phone.locator("dialog.pad [data-slot=question]")).to_be_visible()
    keys, others = "dialog.pad .keys button", "dialog.pad :is(.ends, .answers) button"
    assert phone.evaluate(_OVER, [keys, others]) == 0
    press(phone, "0")
    expect(phone.locator("dialog.pad [data-slot=typed]")).to_contain_text("90")
