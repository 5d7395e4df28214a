"""Every screen for everyone: axe-core finds nothing, nothing scrolls sideways, targets are large.

axe-core 4.14.1 (Deque Systems, MPL 2.0) checks against WCAG 2.2 A and AA, and the board's letters
against AAA (1.4.6, 7 to 1); it is fetched from the npm registry for the test and not kept here.
"""

import os
import re
import shutil
import subprocess
import tarfile
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from tests.phone.burn_steps import every_burn_step
from tests.phone.listening import RECORD_SPEECH, TO_COOL, add
from tests.phone.maker import (
    ROOT,
    at,
    dont_wait,
    go_to,
    make_small_jug,
    new_code,
    open_pad,
    press,
    read_off,
    slot,
    start,
    step,
    tap,
    title,
)
from tests.phone.screens import (
    DENIED,
    MAKE_LABEL,
    OF_A_BURN,
    OF_A_POUR,
    SCREENS,
    SET_APART,
    WHILE_EMPTY,
    all_screens,
)

AXE = "axe-core@4.14.1"

# Lists are alike.
LOOKED_AT = [
    path
    for path in SCREENS
    if not path.startswith("list/") or path in ("list/wax", "list/thermometer")
]

# Where all of a page is in sight, what axe could not tell because something lies over it counts.
_RUN = """async ([board, coloursAlone]) => {
  const enhanced = { 'color-contrast-enhanced': { enabled: board } };
  const { violations, incomplete } = await axe.run(document, {
    ...(coloursAlone
      ? { runOnly: ['color-contrast', ...(board ? Object.keys(enhanced) : [])] }
      : {
        runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'],
        rules: enhanced,
      }),
    resultTypes: ['violations', 'incomplete'],
  });
  const covered = ({ any, html }) => !html.startsWith('<text') &&
    any.some(({ data }) => /bgOverlap|elmPartiallyObscur/.test(data?.messageKey));
  const untold = innerHeight < 6000 ? [] : incomplete
    .map(({ nodes, ...rule }) => ({ ...rule, nodes: nodes.filter(covered) }))
    .filter(({ nodes }) => nodes.length > 0);
  return [...violations, ...untold].map(({ id, help, nodes }) => [
    id, help, nodes.map(({ html, failureSummary }) => `${html} ${failureSummary ?? ''}`),
  ]);
}"""

SIDEWAYS = """() => {
  const page = document.scrollingElement;
  const wide = [...document.querySelectorAll('#screen *, #strip, #rooms, dialog *')].filter(
    (part) => part.checkVisibility() && part.getBoundingClientRect().right > page.clientWidth + 1 &&
      !part.closest('.way, #strip'));
  return [page.scrollWidth - page.clientWidth, wide.slice(0, 3).map((part) => part.outerHTML)];
}"""

SMALL = """() => [...document.querySelectorAll('button, a, input, select, summary')]
  .filter((part) => part.checkVisibility())
  .map((part) => [part.closest('label') ?? part, part])
  .map(([target, part]) => [target.getBoundingClientRect(), part.outerHTML])
  .filter(([{ width, height }]) => width < 64 || height < 64)
  .map(([{ width, height }, html]) => `${width} × ${height}: ${html}`)"""


@pytest.fixture(scope="session")
def axe(tmp_path_factory: pytest.TempPathFactory) -> str:
    """The source of axe-core, from the npm registry."""
    npm = shutil.which("npm")
    place = tmp_path_factory.mktemp("axe")
    why = "npm is not on this machine"
    if npm:
        packed = subprocess.run(
            [npm, "pack", AXE, "--silent"], cwd=place, capture_output=True, text=True, check=False
        )
        why = f"npm could not fetch it: {packed.stderr.strip()[-200:]}"
        for archive in Path(place).glob("axe-core-*.tgz"):
            with tarfile.open(archive) as files:
                source = files.extractfile("package/axe.min.js")
                assert source is not None
                return source.read().decode()
    reason = f"The checks with {AXE} need it from the npm registry, and {why}."
    if os.environ.get("CI"):
        pytest.fail(reason, pytrace=False)
    pytest.skip(reason)


def violations(
    page: Page, axe: str, *, board: bool = False, colours_alone: bool = False
) -> list[Any]:
    """What axe finds, in light and in dark; on the `board` with letters at 7 to 1.

    Light and dark differ in colours, so all else is looked at once.
    """
    if not page.evaluate("() => 'axe' in globalThis"):
        page.evaluate(axe)
    found = []
    for scheme in ("light", "dark"):
        page.emulate_media(color_scheme=scheme)
        where = f"{page.url.partition('#')[2]}, {scheme}"
        asked = [board, colours_alone or scheme == "dark"]
        found += [[where, *each] for each in page.evaluate(_RUN, asked)]
    return found


def at_the_board(page: Page, axe: str, name: str) -> list[Any]:
    """What axe finds on the board, in the sun too."""
    found = []
    for sun in (True, False):
        page.evaluate("sun => document.documentElement.toggleAttribute('data-sun', sun)", sun)
        where = f"{name}{', in the sun' if sun else ''}"
        seen = violations(page, axe, board=True, colours_alone=not sun)
        found += [[where, *each[1:]] for each in seen]
    return found


def told(found: list[Any]) -> str:
    return "\n".join(
        f"{where}: {rule}: {words}\n    " + "\n    ".join(nodes[:3])
        for where, rule, words, nodes in found
    )


def every_step(page: Page) -> Any:
    """Each step of a pour in turn, with its troubles, each pad open once."""
    yield "Make ready"
    step(page)
    for name in ("Weigh wax", "Cool to fragrance"):
        go_to(page, name)
        open_pad(page)
        yield f"{name}, pad"
        tap(page, "Enter")
        yield f"{name}, pad that asks"
        tap(page, "Back")
        yield name
    read_off(page, "60")
    expect(page.locator(".doing")).to_contain_text("Too cool")
    yield "too cool"
    tap(page, "Undo")
    expect(page.locator(".doing")).to_contain_text("Stir, dip")
    read_off(page, "80")
    expect(page.locator(".doing")).to_have_text("70 °C in")
    yield "countdown"
    dont_wait(page)
    expect(title(page)).to_have_text("Weigh fragrance")
    yield "Weigh fragrance"
    read_off(page, "21")
    expect(title(page)).to_have_text("Too much fragrance")
    yield "Too much fragrance"
    page.locator(".act .quiet", has_text="Leave it at").click()
    expect(title(page)).to_have_text("Add fragrance")
    yield "Add fragrance"
    for name in ("Stir", "Pour · 1 of 2", "Leave to set"):
        go_to(page, name)
        yield name


@pytest.fixture
def tall(phone: Page) -> Page:
    """A phone so high that no box lies under the foot of the page, where axe sees it covered."""
    phone.set_viewport_size({"width": 390, "height": 16000})
    return phone


def unfold(page: Page) -> None:
    page.evaluate(
        "for (const one of document.querySelectorAll('#screen details')) one.open = true;"
    )


def test_no_screen_is_forgotten():
    assert len(all_screens()) > 10
    assert all_screens() == {path.partition("/")[0] for path in LOOKED_AT} | OF_A_POUR | OF_A_BURN


def test_dark_and_the_sun_change_colours_alone():
    """What is looked at in the light alone is the same in the dark."""
    told = "".join(
        path.read_text(encoding="utf-8") for path in sorted((ROOT / "static/look").glob("*.css"))
    )
    bodies = re.findall(r"@media [^{]*prefers-color-scheme[^{]*\{(.*?)\n\}", told, re.DOTALL)
    bodies += re.findall(r"^[^{}\n]*\[data-sun\][^{]*(\{.*?\})", told, re.DOTALL | re.MULTILINE)
    assert len(bodies) == told.count("prefers-color-scheme") + told.count("[data-sun]") > 1
    said = [line for body in bodies for line in re.findall(r"[^{};]+:[^{};]+;", body)]
    assert len(said) > 20
    colour = r"(?:#[0-9a-f]{3,8}|var\(--[a-z-]+\))"
    coloured = rf"(--[a-z-]+|color|background): {colour}|border: 2px solid {colour}"
    for line in said:
        assert re.fullmatch(rf"\s*({coloured}|color-scheme: dark);", line), line


def test_axe_finds_nothing_on_any_screen(server, tall, axe):
    bench = server(demo=True)
    found = []
    at(tall, bench.url, "today")
    tall.evaluate(MAKE_LABEL, "Wet slate")
    for path in LOOKED_AT:
        at(tall, bench.url, path)
        unfold(tall)
        found += violations(tall, axe)
    # What is refused, and what is asked twice.
    at(tall, bench.url, "edit/vessel/new")
    tap(tall, "Save")
    expect(tall.locator("[data-error]:visible").first).to_be_visible()
    found += violations(tall, axe)
    at(tall, bench.url, "plan/demo-recipe-plum")
    slot(tall, "count").fill("none")
    expect(slot(tall, "error")).to_be_visible()
    found += violations(tall, axe)
    at(tall, bench.url, "hazard/demo-recipe-slate")
    tap(tall, "Work it out")
    expect(slot(tall, "found")).to_contain_text("For the label")
    unfold(tall)
    found += violations(tall, axe)
    at(tall, bench.url, "entry/demo-pour-1")
    tap(tall, "Delete")
    found += violations(tall, axe)
    # Its dialogs: a number, one that is doubted, a day.
    happened = slot(tall, "happened").locator("li")
    happened.filter(has_text="The thermometer showed").first.get_by_role("button").click()
    found += violations(tall, axe)
    press(tall, "11")
    tap(tall, "Enter")
    expect(tall.locator("[data-slot=question]")).to_contain_text("far from what you read")
    found += violations(tall, axe)
    tap(tall, "Back")
    happened.filter(has_text="Left to set").get_by_role("button", name="Correct").click()
    expect(tall.locator("dialog.ask")).to_be_visible()
    found += violations(tall, axe)
    # What a batch may state.
    tap(tall, "Back")
    at(tall, bench.url, "net/demo-pour-1")
    tall.locator("[data-field=stated] input").fill("104 g")
    tap(tall, "Work it out")
    expect(tall.locator(".verdict")).to_be_visible()
    found += violations(tall, axe)
    assert not found, told(found)


def test_axe_finds_nothing_while_there_is_nothing_yet(server, tall, axe):
    url = server().url
    found = []
    for path in WHILE_EMPTY:
        at(tall, url, path)
        found += violations(tall, axe)
    at(tall, url, "today")
    tall.locator(".foot .go").click()
    for kind in ("vessel", "wax", "fragrance"):
        expect(title(tall)).to_have_text(f"New {kind}")
        expect(slot(tall, "step")).to_be_visible()
        found += violations(tall, axe)
        tall.get_by_label("Name", exact=True).fill("one")
        if kind == "vessel":
            tall.get_by_label("Water to the fill line").fill("118")
        tap(tall, "Save")
    expect(title(tall)).to_have_text("New recipe")
    found += violations(tall, axe)
    at(tall, url, "today")
    found += violations(tall, axe)
    assert not found, told(found)


def test_axe_finds_nothing_beside_a_server(server, tall, axe, page_errors):
    bench = server(demo=True)
    found = []
    tall.goto(bench.url)
    at(tall, bench.url, f"pair/{new_code(bench.data)}")
    found += violations(tall, axe)
    tap(tall, "Join")
    expect(title(tall)).to_have_text("Workshop")
    expect(tall.locator("#said")).to_be_visible()
    found += violations(tall, axe)
    at(tall, bench.url, "devices")
    tap(tall, "Rename")
    tap(tall, "Shut out")
    tap(tall, "Add a device")
    expect(slot(tall, "code")).to_be_visible()
    found += violations(tall, axe)
    at(tall, bench.url, "reminders")
    tap(tall, "Make an address")
    expect(slot(tall, "fresh")).to_be_visible()
    expect(slot(tall, "cards").locator(".card")).to_be_visible()
    found += violations(tall, axe)
    at(tall, bench.url, "tables/lot")
    sheet = b"What came;Came on;How much;Lot number;Supplier\nBog;03/04/2026;5 kg;1;Fen\n;;7;;\n"
    file = {"name": "sheet.csv", "mimeType": "text/csv", "buffer": sheet}
    slot(tall, "file").set_input_files(files=[file])
    slot(tall, "order").select_option("day")
    slot(tall, "make").check()
    expect(slot(tall, "counts").locator("li")).to_have_text(["1 row is new.", "1 row is refused:"])
    found += violations(tall, axe)
    # Written apart, refused, deleted.
    tall.evaluate(SET_APART, ["001760000000000.0000.other", "Other dune"])
    for path, words in {
        "today": "changed on two devices",
        "workshop": "refused",
        "history/wax/demo-wax-dune": "Use this",
        "list/wick/deleted": "flat cotton",
        "history/wick/demo-wick-a": "Bring it back",
    }.items():
        at(tall, bench.url, path)
        expect(tall.locator("#screen")).to_contain_text(words)
        expect(tall.locator("#server")).to_contain_text("refused")
        found += violations(tall, axe)
    tall.context.set_offline(True)
    at(tall, bench.url, "devices")
    expect(slot(tall, "trouble")).to_contain_text("no signal")
    found += violations(tall, axe)
    page_errors.clear()  # the browser logs what it can't fetch
    assert not found, told(found)


def test_axe_finds_nothing_where_the_phone_lacks_something(server, tall, axe):
    url = server(demo=True).url
    found = []
    tall.add_init_script(RECORD_SPEECH + DENIED)
    at(tall, url, "bench")
    tap(tall, "Connect a thermometer")
    expect(slot(tall, "instruments")).to_contain_text("Bluetooth is off")
    tall.get_by_role("switch", name="Two claps").click()
    expect(slot(tall, "clap")).to_contain_text("The microphone is blocked")
    expect(slot(tall, "agree")).to_be_visible()
    expect(slot(tall, "choice")).to_be_visible()
    found += violations(tall, axe)
    bare = tall.context.new_page()
    bare.set_viewport_size({"width": 390, "height": 6000})
    bare.add_init_script("delete globalThis.DeviceMotionEvent")
    bare.add_init_script("delete globalThis.AudioWorkletNode")
    at(bare, url, "bench")
    expect(slot(bare, "knock")).to_contain_text("can't feel knocks")
    expect(slot(bare, "voiceless")).to_be_visible()
    found += violations(bare, axe)
    # No storage at all.
    bare.add_init_script("Object.defineProperty(globalThis, 'indexedDB', { value: undefined })")
    bare.reload()
    expect(title(bare)).to_have_text("Nothing can be saved here")
    found += violations(bare, axe)
    assert not found, told(found)


def test_axe_finds_nothing_at_any_step(server, phone, axe):
    bench = server(demo=True)
    start(phone, bench.url, count="2")
    found, seen = [], set()
    for name in every_step(phone):
        seen.add(phone.evaluate("document.body.dataset.screen"))
        found += at_the_board(phone, axe, name)
    tap(phone, "Set aside")
    phone.get_by_role("link", name="setting").click()
    expect(phone.get_by_role("button", name="Put away to cure")).to_be_visible()
    seen.add(phone.evaluate("document.body.dataset.screen"))
    phone.set_viewport_size({"width": 390, "height": 6000})
    found += violations(phone, axe)
    assert seen == OF_A_POUR
    assert not found, told(found)


def test_axe_finds_nothing_at_any_step_of_a_burn(server, phone, axe):
    bench = server(demo=True)
    at(phone, bench.url, "tests")
    found = []
    for name in every_burn_step(phone, bench.url):
        found += at_the_board(phone, axe, name)
        if name != "what else":
            continue
        for way in (["More"], ["Something", "Mushroom"]):
            for each in way:
                tap(phone, each)
            found += violations(phone, axe)
            tap(phone, "Back")
    assert not found, told(found)


def test_axe_finds_nothing_beside_other_jugs(server, phone, axe):
    """Four jugs, their alarms, the other hand, no voice, a phone that falls asleep."""
    url = server(demo=True).url
    phone.clock.install()
    phone.add_init_script("delete Navigator.prototype.wakeLock")
    make_small_jug(phone, url)
    at(phone, url, "bench")
    for switch in ("Dark on white", "Buttons on the left"):
        phone.get_by_role("switch", name=switch).check()
    pour = start(phone, url, count="20", jug="small jug")
    expect(phone.locator(":root[data-sun] .board[data-left]")).to_be_visible()
    expect(slot(phone, "awake")).to_be_visible()
    found = []

    def look(name: str) -> None:
        for width, height in ((390, 844), (844, 390)):
            phone.set_viewport_size({"width": width, "height": height})
            found.extend(at_the_board(phone, axe, f"{name}, {width} wide"))

    tap(phone, "Did you hear that?")
    expect(slot(phone, "caption")).to_have_text("Did you hear that?")
    look("did you hear that")
    slot(phone, "mute").click()
    expect(slot(phone, "silent")).to_contain_text("off")
    look("muted")
    add(phone, pour, {"type": "ready"})
    for jug, celsius in enumerate((84, 80, 78, 76)):
        for event in (*TO_COOL, {"type": "read", "temp_c": celsius}):
            add(phone, pour, event, jug=jug)
    chips = phone.locator("#strip a")
    expect(chips).to_have_count(4)
    chips.nth(1).click()
    expect(slot(phone, "place")).to_contain_text("jug 2 of 4")
    expect(phone.locator(".doing")).to_have_text("70 °C in")
    expect(slot(phone, "caption")).to_contain_text("Jug two: 70 degrees in")
    look("four jugs")
    tap(phone, "Weigh fragrance")
    expect(title(phone)).to_have_text("Weigh fragrance")
    look("fragrance ahead")
    chips.first.click()
    expect(slot(phone, "place")).to_contain_text("jug 1 of 4")
    phone.clock.fast_forward(420_000)
    expect(slot(phone, "place")).not_to_contain_text("jug 1 of 4")
    expect(slot(phone, "alarm")).to_have_text("At temperature?")
    expect(phone.locator("#strip .due").first).to_be_visible()
    look("its own alarm")
    chips.first.click()
    expect(slot(phone, "alarm").get_by_role("link")).to_contain_text("Dip: jug")
    look("the alarm of another")
    at(phone, url, "today")
    found += violations(phone, axe)
    assert not found, told(found)


def test_nothing_scrolls_sideways(server, phone):
    bench = server(demo=True)
    found = {}
    at(phone, bench.url, "today")
    phone.evaluate(MAKE_LABEL, "Wet slate")
    for path in LOOKED_AT:
        at(phone, bench.url, path)
        unfold(phone)
        for width in (390, 320):
            phone.set_viewport_size({"width": width, "height": 640})
            found[f"{path} at {width} px"] = phone.evaluate(SIDEWAYS)
    start(phone, bench.url, count="2")
    for name in every_step(phone):
        found[name] = phone.evaluate(SIDEWAYS)
    assert sideways(found) == {}


def sideways(found: dict[str, Any]) -> dict[str, Any]:
    """What scrolls sideways, of all that was looked at."""
    return {name: over for name, over in found.items() if over != [0, []]}


@pytest.mark.parametrize("size", [(390, 844), (844, 390)], ids=["upright", "on its side"])
def test_every_target_on_the_board_can_be_hit_with_an_elbow(server, phone, size):
    phone.set_viewport_size({"width": size[0], "height": size[1]})
    start(phone, server(demo=True).url, count="2")
    small, found = {}, {}
    for name in every_step(phone):
        # 64 by 64 CSS pixels; WCAG 2.2, success criterion 2.5.5 (AAA), asks for 44.
        small[name] = phone.evaluate(SMALL)
        found[name] = phone.evaluate(SIDEWAYS)
    assert {name: those for name, those in small.items() if those} == {}
    assert sideways(found) == {}
