"""What can't be meant is answered with a sentence beside its box, and nothing typed is lost."""

import re
from typing import Any

import pytest
from playwright.sync_api import Locator, Page, expect

from tests.phone.maker import (
    at,
    board,
    go_to,
    kept,
    open_pad,
    press,
    read_off,
    slot,
    start,
    step,
    tap,
    title,
    until_kept,
)


def box(page: Page, name: str) -> Locator:
    """The box of a form's field."""
    return page.locator(f"#screen [data-field={name}]").locator("input, select, textarea").first


def sentence_beside(a_box: Locator) -> Locator:
    """What the page says to the box by `aria-describedby`, after its help."""
    return a_box.page.locator(f"#{str(a_box.get_attribute('aria-describedby')).split()[-1]}")


def refused(page: Page, a_box: Locator, typed: str, sentence: str, button: str) -> None:
    """Typed into the box it is refused in words, stays there, and changes nothing kept."""
    before = kept(page)
    a_box.fill(typed)
    tap(page, button)
    expect(sentence_beside(a_box)).to_be_visible()
    expect(sentence_beside(a_box)).to_contain_text(sentence)
    expect(a_box).to_have_attribute("aria-invalid", "true")
    expect(a_box).to_have_value(typed)
    assert kept(page) == before


# ---- forms ----------------------------------------------------------------------------------

WEIGHT = [
    ("", "Water to the fill line is needed."),
    ("-5 g", "can't be less than zero"),
    ("0", "must be from 1 g to 20"),
    ("999999 kg", "check"),
    ("NaN", "Can't read “NaN”"),
    ("Infinity", "Can't read"),
    ("1e308", "is not a unit that the bench knows"),
    ("1" * 400, "too long"),
    ("1,400", "could be 1.400 or 1400"),
    ("1.2.3", "Can't read the number"),
    ("heavy", "Can't read"),
    ("10 fl oz", "A fluid ounce is a volume"),
    ("158 °F", "is not a weight"),
    ("=1+1", "Can't read"),
    ("<b>5</b>", "Can't read"),
]


def test_weights_that_cannot_be_meant(server, phone):
    at(phone, server(demo=True).url, "edit/vessel/demo-tin")
    for typed, sentence in WEIGHT:
        refused(phone, box(phone, "water_g"), typed, sentence, "Save")
    # The sentence goes once the box is right, and then all is kept.
    box(phone, "water_g").fill("118 g")
    tap(phone, "Save")
    expect(title(phone)).to_have_text("Vessels")


OTHERS = [
    (
        "edit/wax/demo-wax-dune",
        "highest_load",
        [("-1", "must be from 0 % to 30 %"), ("50 %", "must be from"), ("ten", "Can't read")],
    ),
    (
        "edit/fragrance/demo-oil-plum",
        "flash_c",
        [("400 °C", "must be from"), ("-300", "check"), ("62 g", "is not a temperature")],
    ),
    (
        "edit/wax/demo-wax-dune",
        "cure_least_days",
        [("2.5", "must be a whole number"), ("-1", "must be from"), ("1e308", "Can't read")],
    ),
    (
        "edit/wax/demo-wax-dune",
        "molten_density",
        [("0", "must be from 0.5 to 2"), ("860", "must be from"), ("NaN", "Can't read")],
    ),
    (
        "edit/recipe/demo-recipe-slate",
        "load",
        [("", "is needed"), ("45", "must be from 0 % to 33 %"), ("-8", "must be from")],
    ),
    (
        "edit/recipe/demo-recipe-slate",
        "stir_s",
        [("0", "must be from"), ("99999", "must be from"), ("two", "Can't read")],
    ),
    (
        "edit/jug/demo-jug",
        "volume_ml",
        [("0", "must be from"), ("8 oz", "An ounce (oz) is a weight"), ("", "is needed")],
    ),
    (
        "edit/scale/demo-scale",
        "step_g",
        [("0", "must be from"), ("-0.1", "can't be less than zero"), ("", "is needed")],
    ),
    (
        "edit/workshop/workshop",
        "room_c",
        [("75 °C", "must be from 5 °C to 45 °C"), ("-5", "must be from"), ("1e9", "unit")],
    ),
    ("edit/wick/demo-wick-a", "name", [("", "is needed"), ("   ", "is needed")]),
]


def test_other_boxes_of_the_forms(server, phone):
    bench = server(demo=True)
    for path, field, cases in OTHERS:
        at(phone, bench.url, path)
        for folded in phone.locator("#screen form details").all():
            folded.evaluate("details => { details.open = true }")
        expect(box(phone, field)).not_to_have_value("")
        for typed, sentence in cases:
            refused(phone, box(phone, field), typed, sentence, "Save")


def test_a_wrong_box_that_is_folded_away_is_shown(server, phone):
    at(phone, server(demo=True).url, "edit/wax/demo-wax-dune")
    phone.locator("#screen form details summary").click()
    box(phone, "highest_c").fill("hot")
    phone.locator("#screen form details summary").click()
    tap(phone, "Save")
    expect(box(phone, "highest_c")).to_be_focused()
    expect(sentence_beside(box(phone, "highest_c"))).to_be_visible()


UNDERSTOOD = [
    # Exact by definition: 1 lb = 453.59237 g, 1 oz = 28.349523125 g (NIST SP 811, app. B.8);
    # a US fluid ounce is 29.5735295625 ml (NIST SP 811, app. B.8, rounded there).
    ("jug/demo-jug", "empty_g", "1,5 kg", 1500, "1500 g"),
    ("jug/demo-jug", "empty_g", "1 lb 4 oz", 453.59237 + 4 * 28.349523125, "566.9904625 g"),
    ("jug/demo-jug", "empty_g", "1 400 g", 1400, "1400 g"),
    ("jug/demo-jug", "volume_ml", "10 fl oz", 295.735295625, "295.7352956 ml"),
    ("fragrance/demo-oil-plum", "flash_c", "158 °F", 70, "70 °C"),
    ("vessel/demo-tumbler", "height_mm", "8,5 cm", 85, "85 mm"),
]


def test_pasted_units_and_decimal_commas_are_understood(server, phone):
    bench = server(demo=True)
    for record, field, typed, base, shown in UNDERSTOOD:
        at(phone, bench.url, f"edit/{record}")
        box(phone, field).fill(typed)
        tap(phone, "Save")
        expect(phone.locator("body[data-screen=list]")).to_be_visible()
        kind, id_ = record.split("/")
        [found] = [r for r in kept(phone)["records"] if (r["kind"], r["id"]) == (kind, id_)]
        assert found["fields"][field]["value"] == pytest.approx(base, rel=1e-9)
        at(phone, bench.url, f"edit/{record}")
        expect(box(phone, field)).to_have_value(shown)


def test_measures_of_a_vessel_that_do_not_go_together(server, phone):
    at(phone, server(demo=True).url, "edit/vessel/demo-tumbler")
    box(phone, "diameter_mm").fill("80 mm")
    box(phone, "top_diameter_mm").fill("70 mm")
    preview = slot(phone, "preview")
    expect(preview).to_contain_text("was it measured upside down?")
    refused(phone, box(phone, "headspace_mm"), "85 mm", "as high as the vessel", "Save")
    refused(phone, box(phone, "headspace_mm"), "9 cm", "as high as the vessel", "Save")
    expect(box(phone, "top_diameter_mm")).to_have_value("70 mm")


def test_less_water_to_the_brim_than_to_the_line(server, phone):
    at(phone, server(demo=True).url, "edit/vessel/demo-tin")
    phone.locator("#screen form details summary").click()
    refused(phone, box(phone, "brim_g"), "100 g", "weighs less than the water to the line", "Save")


# ---- recipes and plans ----------------------------------------------------------------------


def test_more_fragrance_than_wax_or_oil_allow_is_warned_of_with_the_numbers(server, phone):
    at(phone, server(demo=True).url, "edit/recipe/demo-recipe-slate")
    box(phone, "load").fill("14,5")
    preview = slot(phone, "preview")
    expect(preview).to_contain_text("14.5 % of the wax is more than the 10.0 % that this wax holds")
    # 14.5 % of the wax is 0.145 / 1.145 = 12.7 % of the candle.
    expect(preview).to_contain_text("Wet slate would be 12.7 % of the candle")
    expect(preview).to_contain_text("highest use level is 12.0 %")
    box(phone, "load").fill("8")
    expect(preview.locator(".beware")).to_have_count(0)


def test_a_flash_point_under_the_mixing_temperature_is_a_caution(server, phone):
    at(phone, server(demo=True).url, "plan/demo-recipe-plum")
    caution = phone.locator(".beware.caution")
    expect(caution).to_contain_text("Plum stone has a flash point of 62 °C, below the 72 °C")
    expect(caution).to_contain_text("safety data sheet")


PLAN = [
    ("count", "", "number"),
    ("count", "0", "must be from 1 to"),
    ("count", "-3", "must be from 1 to"),
    ("count", "2.5", "must be a whole number"),
    ("count", "99999", "must be from 1 to"),
    ("count", "NaN", "Can't read"),
    ("count", "1e308", "Can't read"),
    ("count", "a dozen", "Can't read"),
    ("count", "1,400", "could be 1.400 or 1400"),
    ("wax", "50 g", "not enough wax for one vessel"),
    ("wax", "0", "not enough wax"),
    ("wax", "-1 kg", "can't be less than zero"),
    ("wax", "10 fl oz", "A fluid ounce is a volume"),
    ("wax", "1,400 g", "could be 1.400 or 1400"),
    ("wax", "999999 kg", "check"),
    ("room", "", "temperature"),
    ("room", "95 °C", "room"),
    ("room", "warm", "Can't read"),
    ("allowance", "-5 g", "can't be less than zero"),
    ("allowance", "3 fl oz", "A fluid ounce is a volume"),
]


def test_a_plan_that_cannot_be_poured(server, phone):
    at(phone, server(demo=True).url, "plan/demo-recipe-slate")
    phone.locator("details[data-slot=tools] summary").click()
    before = kept(phone)
    for name, typed, sentence in PLAN:
        a_box = slot(phone, name)
        good = "" if name == "wax" else a_box.input_value()
        a_box.fill(typed)
        said = sentence_beside(a_box)
        expect(said).to_be_visible()
        expect(said).to_contain_text(re.compile(re.escape(sentence), re.IGNORECASE))
        expect(phone.get_by_role("button", name="Start this pour")).to_be_disabled()
        expect(a_box).to_have_value(typed)
        a_box.fill(good)
        if name == "wax":
            slot(phone, "count").fill("12")
        expect(slot(phone, "error")).to_be_hidden()
    assert kept(phone) == before
    expect(phone.get_by_role("button", name="Start this pour")).to_be_enabled()


def test_wax_to_hand_in_pounds_says_how_many(server, phone):
    at(phone, server(demo=True).url, "plan/demo-recipe-slate")
    slot(phone, "wax").fill("1 lb 4 oz")
    # 567 g, less what stays in the jug, at 97 g for one (118.2 ml of a mix near 0.886 g/ml).
    expect(slot(phone, "count")).to_have_value("5")
    slot(phone, "wax").fill("1,5 kg")
    expect(slot(phone, "count")).to_have_value("15")


def test_a_jug_too_small_for_one_vessel(server, phone):
    bench = server(demo=True)
    at(phone, bench.url, "edit/jug/new")
    box(phone, "name").fill("thimble")
    box(phone, "empty_g").fill("50 g")
    box(phone, "volume_ml").fill("60 ml")
    tap(phone, "Save")
    expect(phone.get_by_role("link", name="thimble")).to_be_visible()
    at(phone, bench.url, "plan/demo-recipe-slate")
    phone.locator("details[data-slot=tools] summary").click()
    slot(phone, "jug").select_option(label="thimble")
    expect(slot(phone, "error")).to_contain_text("the jug holds 60 ml: use a larger jug")
    expect(phone.get_by_role("button", name="Start this pour")).to_be_disabled()


def test_a_scale_too_coarse_for_the_fragrance(server, phone):
    at(phone, server(demo=True).url, "plan/demo-recipe-slate")
    phone.locator("details[data-slot=tools] summary").click()
    slot(phone, "fine").select_option(label="bench scale")
    warning = phone.locator(".beware.warning")
    expect(warning).to_contain_text(
        re.compile(r"On a 1\sg scale your 8\.0\s% could be .+\s%: use a finer scale or pour \d+\.")
    )
    # 7.76 g on the 97 g for one and 5 g more is weighed as 8 g: 8/102.
    expect(slot(phone, "sheet")).to_contain_text(
        re.compile(r"7\.8\s% by the scale's step, not 8\.0\s%")
    )
    enough = re.search(r"or pour (\d+)", warning.inner_text())
    assert enough
    slot(phone, "count").fill(enough[1])
    expect(warning).to_have_count(0)
    slot(phone, "count").fill(str(int(enough[1]) - 1))
    expect(warning).to_have_count(1)


def test_what_neither_jug_nor_vessel_holds_is_said_at_the_plan(server, phone):
    bench = server(demo=True)
    at(phone, bench.url, "recipes")
    # Her jugs are not entered, and the tin has little more room than to its line, when set.
    phone.evaluate(
        """async () => {
          const store = await import('/static/records/store.js');
          for (const { id } of await store.all('jug')) await store.remove('jug', id);
          await store.save('vessel', 'demo-tin', { line: 'set', brim_g: 119 });
        }"""
    )
    at(phone, bench.url, "plan/demo-recipe-slate")
    slot(phone, "count").fill("36")
    warnings = phone.locator(".beware.warning")
    expect(warnings.nth(0)).to_contain_text("Poured hot, this runs over the brim")
    expect(warnings.nth(1)).to_contain_text(re.compile(r"One jug would hold \d\s\d+\sml"))
    slot(phone, "count").fill("12")
    expect(warnings).to_have_count(1)


# ---- the pad --------------------------------------------------------------------------------


def questioned(page: Page, text: str, sentence: str) -> None:
    """On the open pad the reading is asked about, stays on it, and nothing is kept yet."""
    before = kept(page)
    press(page, text)
    tap(page, "Enter")
    pad = page.locator("dialog.pad")
    expect(pad.locator("[data-slot=question]")).to_be_visible()
    expect(pad.locator("[data-slot=question]")).to_contain_text(sentence)
    expect(pad.locator("[data-slot=typed]")).to_contain_text(text)
    assert kept(page) == before


def clear(page: Page) -> None:
    typed = page.locator("dialog.pad [data-slot=typed]")
    for _ in range(len(typed.inner_text())):
        page.get_by_role("button", name="delete").click()


def test_weights_on_the_pad_that_can_hardly_be_meant(server, phone):
    start(phone, server(demo=True).url)
    go_to(phone, "Weigh wax")
    open_pad(phone)
    for typed, sentence in [
        ("", "Type what it shows first."),
        (".", "Can't read"),
        ("0", "is far from"),
        ("5", "is far from"),
        ("999999999999", "check"),
        ("9999", "is far from"),
    ]:
        questioned(phone, typed, sentence)
        clear(phone)
    # With the jug on it, unzeroed: 412 g of jug and all the wax.
    questioned(phone, "1580", "nothing zeroed?")
    clear(phone)
    # Questioned once only: yes means yes.
    questioned(phone, "100", "is far from")
    phone.get_by_role("button", name="Yes, 100").click()
    expect(phone.locator(".doing")).to_contain_text("more, to")
    assert [e["read_g"] for e in kept(phone)["events"] if e.get("read_g") == 100] == [100]


def test_going_back_from_the_pad_keeps_nothing(server, phone):
    start(phone, server(demo=True).url)
    go_to(phone, "Weigh wax")
    before = kept(phone)
    open_pad(phone)
    press(phone, "1234")
    tap(phone, "Back")
    expect(phone.locator("dialog.pad")).to_have_count(0)
    open_pad(phone)
    phone.keyboard.press("Escape")
    expect(phone.locator("dialog.pad")).to_have_count(0)
    assert kept(phone) == before


def test_temperatures_on_the_pad_that_can_hardly_be_meant(server, phone):
    start(phone, server(demo=True).url)
    go_to(phone, "Cool to fragrance")
    open_pad(phone)
    for typed, sentence in [
        ("", "Type what it shows first."),
        ("95", "is hotter than this wax may get. Heat off."),
        ("999999", "check"),
        ("151", "Wax is never at 151"),
        ("19.5", "is no warmer than the room"),
        ("0", "is no warmer than the room"),
    ]:
        questioned(phone, typed, sentence)
        clear(phone)
    # A reading below the room that she stands by makes no forecast, and says why.
    questioned(phone, "15", "is no warmer than the room")
    phone.get_by_role("button", name="Yes, 15").click()
    expect(phone.locator(".doing")).to_contain_text("Too cool")
    says_what_to_do(phone)


def says_what_to_do(page: Page) -> None:
    """The board has words and a number, never 'NaN', and a way on."""
    said = board(page)
    assert said["doing"]
    assert said["num"]
    everything = " ".join(said.values())
    assert not re.search(r"NaN|Infinity|undefined|null", everything), everything
    assert page.locator(".act .go").is_enabled()


def dip(page: Page, text: str) -> dict[str, Any]:
    before = len(kept(page)["events"])
    read_off(page, text)
    until_kept(page, before + 1)
    page.reload()  # drawn from what is on disk, however late the live board may be
    expect(page.locator(".board .act .go")).to_be_visible()
    says_what_to_do(page)
    return board(page)


def test_readings_that_rise_while_it_cools(server, phone, phone_context):
    phone_context.clock.install()
    start(phone, server(demo=True).url)
    go_to(phone, "Cool to fragrance")
    dip(phone, "80")
    phone_context.clock.fast_forward(180_000)
    said = dip(phone, "84")
    assert "It rose in between: only what came after that counts." in said["lines"]
    assert re.fullmatch(r"[\d:]+", said["num"])


def test_two_readings_at_one_moment(server, phone, phone_context):
    phone_context.clock.install()
    phone_context.clock.pause_at("2030-05-01T12:00:00")
    start(phone, server(demo=True).url)
    go_to(phone, "Cool to fragrance")
    dip(phone, "82.4")
    for again in ("82.4", "82.3", "82.5"):
        said = dip(phone, again)
        assert re.fullmatch(r"[\d:]+", said["num"])
    times = [e["at"] for e in kept(phone)["events"] if e.get("temp_c") in (82.3, 82.4, 82.5)]
    assert len(times) == 4
    assert len(set(times)) == 1


def test_a_target_below_the_room(server, phone):
    bench = server(demo=True)
    at(phone, bench.url, "edit/recipe/demo-recipe-slate")
    phone.locator("#screen form details summary").click()
    box(phone, "fragrance_c").fill("25 °C")
    tap(phone, "Save")
    expect(phone.locator("body[data-screen=recipe]")).to_be_visible()
    start(phone, bench.url, room="30 °C")
    go_to(phone, "Cool to fragrance")
    said = dip(phone, "60")
    assert "The target is not above the room" in said["lines"]
    # Within reach of the target but under the room: asked about, and still no dead end.
    open_pad(phone)
    questioned(phone, "26", "is no warmer than the room")
    count = len(kept(phone)["events"])
    phone.get_by_role("button", name="Yes, 26").click()
    until_kept(phone, count + 1)
    phone.reload()
    expect(phone.locator(".lines")).to_contain_text("not above the room")
    says_what_to_do(phone)
    tap(phone, "Fragrance now")
    expect(title(phone)).to_have_text("Weigh fragrance")
    step(phone)


def test_a_room_hotter_than_the_wax(server, phone):
    start(phone, server(demo=True).url, room="45 °C")
    go_to(phone, "Cool to fragrance")
    open_pad(phone)
    questioned(phone, "40", "is no warmer than the room")
    phone.get_by_role("button", name="Yes, 40").click()
    expect(phone.locator(".doing")).to_contain_text("Too cool")
    says_what_to_do(phone)


def test_a_dip_far_from_the_ones_before_is_questioned(server, phone: Page) -> None:
    start(phone, server(demo=True).url, count="2")
    go_to(phone, "Cool to fragrance")
    read_off(phone, "84")
    expect(slot(phone, "doing")).to_have_text("70\u00a0°C in")
    read_off(phone, "48")
    pad = phone.locator("dialog.pad")
    expect(pad.locator("[data-slot=question]")).to_contain_text("far from what the dips before say")
    tap(phone, "Back")
    expect(phone.locator(".curve .dip")).to_have_count(1)
