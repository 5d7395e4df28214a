"""Make the pictures of the main screens: ``python -m tests.phone.pictures``.

A real browser, the app, invented data and a clock that stands still: the pictures change only
where the screens do. They are WebP files in ``tests/phone/pictures``.
"""

import base64
import json
import os
import tempfile
import time
from datetime import date
from pathlib import Path
from typing import Any

from playwright.sync_api import Page, expect, sync_playwright

from benchapp.records import demo
from tests.browser import find_chromium
from tests.phone.maker import at, go_to, read_off, slot, start, title
from tests.server import serving

PLACE = Path(__file__).parent / "pictures"
MOST_BYTES = 300_000
UPRIGHT, ON_ITS_SIDE, WIDE = (390, 844), (844, 390), (1280, 800)
QUALITY = 62

DAY = date(2030, 5, 2)
DAY_MS = 86_400_000

# The demo is dated from the server's own today: here it gets a day that stays.
_DEMO = """(() => {
  const real = globalThis.fetch;
  globalThis.fetch = (what, ...how) =>
    what === '/demo.json' ? Promise.resolve(Response.json(DEMO)) : real(what, ...how);
})()"""


def workshop() -> dict[str, Any]:
    """The demo's workshop with two recipes more, and a season of pours."""
    made = demo.workshop(DAY)
    slate = next(each for each in made["records"] if each["id"] == "demo-recipe-slate")
    for name in ("fern", "hearth"):
        fields = {**slate["fields"], "name": name.title()}
        made["records"].append({**slate, "id": f"demo-recipe-{name}", "fields": fields})
    last = made["pours"][0]
    recipes = ("fern", "slate", "hearth", "plum", "slate", "fern", "plum")
    for number, recipe in enumerate(recipes):
        made["pours"].append(
            {
                **last,
                "id": f"demo-pour-{number + 3}",
                "recipe": f"demo-recipe-{recipe}",
                "count": (6, 12, 8, 4)[number % 4],
                "begun_at": last["begun_at"] - (5 + 6 * number) * DAY_MS,
                "start_c": 80 + number % 3,
            }
        )
    return made


def main() -> None:
    # What is dated here and what is shown there are of the same zone.
    os.environ["TZ"] = "UTC"
    time.tzset()
    PLACE.mkdir(exist_ok=True)
    with sync_playwright() as playwright, tempfile.TemporaryDirectory() as folder:
        browser = playwright.chromium.launch(executable_path=find_chromium(playwright))
        with serving(Path(folder), "--demo") as running:
            context = browser.new_context(
                viewport={"width": UPRIGHT[0], "height": UPRIGHT[1]},
                device_scale_factor=2,
                has_touch=True,
                is_mobile=True,
                locale="en-GB",
                timezone_id="UTC",
            )
            context.add_init_script(_DEMO.replace("DEMO", json.dumps(workshop())))
            context.clock.install(time=f"{DAY}T09:30:00Z")
            context.clock.pause_at(f"{DAY}T09:40:00Z")
            page = context.new_page()
            page.goto(running.url)
            page.evaluate("navigator.serviceWorker.ready")
            page.reload()
            every_screen(page, running.url)
            context.close()
            browser.close()
    sizes = {each.name: each.stat().st_size for each in sorted(PLACE.glob("*.webp"))}
    for name, size in sizes.items():
        print(f"{size / 1000:6.1f} KB  {name}")
    print(f"{sum(sizes.values()) / 1000:6.1f} KB in all")
    if sum(sizes.values()) > MOST_BYTES:
        raise SystemExit(f"That is more than {MOST_BYTES / 1000:.0f} KB.")


def every_screen(page: Page, url: str) -> None:
    """Work through a morning, and take a picture of each screen on the way."""
    at(page, url, "recipe/demo-recipe-plum")
    picture(page, "recipe")
    at(page, url, "plan/demo-recipe-slate")
    slot(page, "count").fill("12")
    picture(page, "plan")
    at(page, url, "log")
    picture(page, "log", WIDE)
    at(page, url, "today")
    done = page.get_by_role("button", name="OK")
    for left in range(done.count() - 1, 1, -1):
        done.first.click()
        expect(done).to_have_count(left)

    start(page, url, recipe="slate")
    slate = page.url.removeprefix(url).removeprefix("#/")
    go_to(page, "Weigh wax")
    picture(page, "board-weighing")
    start(page, url, recipe="plum", count="4")
    cool(page, "86.2", "83.6")
    start(page, url, recipe="hearth", count="8")
    cool(page, "85.4")
    at(page, url, slate)
    cool(page, "84.0", "80.2")
    start(page, url, recipe="fern", count="6")
    go_to(page, "Stir")
    page.clock.run_for(20_000)
    at(page, url, slate)
    picture(page, "board-cooling")
    picture(page, "board-cooling-wide", ON_ITS_SIDE)
    at(page, url, "today")
    picture(page, "today")
    picture(page, "today-wide", WIDE)
    at(page, url, slate)
    read_off(page, "70")
    go_to(page, "Pour")
    for vessel in range(1, 5):
        expect(title(page)).to_have_text(f"Pour · {vessel} of 12")
        page.locator(".act .go").click()
    expect(title(page)).to_have_text("Pour · 5 of 12")
    # What was said last is shown for a while.
    page.clock.run_for(10_000)
    picture(page, "board-pouring")


def cool(page: Page, *dips: str) -> None:
    """Weigh and melt the wax of the jug on the board, and dip in it every three minutes."""
    go_to(page, "Cool to fragrance")
    for reads in dips:
        page.clock.run_for(180_000)
        read_off(page, reads)
        expect(title(page)).to_have_text("Cool to fragrance")
        page.clock.run_for(1000)


def picture(page: Page, name: str, size: tuple[int, int] = UPRIGHT) -> None:
    page.set_viewport_size({"width": size[0], "height": size[1]})
    # What is said below goes after a while.
    page.clock.run_for(10)
    expect(page.locator("#said")).to_be_hidden()
    page.evaluate("document.fonts.ready.then(() => document.activeElement?.blur())")
    session = page.context.new_cdp_session(page)
    # A wide window is shown at a pixel to the point, a phone at two.
    clip = {
        "x": 0,
        "y": 0,
        "width": size[0],
        "height": size[1],
        "scale": 0.5 if size == WIDE else 1,
    }
    taken = session.send(
        "Page.captureScreenshot", {"format": "webp", "quality": QUALITY, "clip": clip}
    )
    session.detach()
    (PLACE / f"{name}.webp").write_bytes(base64.b64decode(taken["data"]))
    page.set_viewport_size({"width": UPRIGHT[0], "height": UPRIGHT[1]})


if __name__ == "__main__":
    main()
