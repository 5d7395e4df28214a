"""How soon Today, Plan, the shelf and looking back open after years:
``python -m tests.benchmarks.shelf``.

A phone is given an invented small business of half a year, and of five: 200 pours with 150
deliveries, and 2,000 with 1,500, of which most are long past. Then the real app opens each screen,
its own thread slowed four times, until what it shows of the shelf is there: out of another screen
of the app, and from a cold page; and looking back goes on from twelve months to all. Printed are
medians, and how they grow. Nothing else should run meanwhile.
"""

import argparse
import statistics
import tempfile
from pathlib import Path
from typing import Any

from playwright.sync_api import Page, sync_playwright

from tests.browser import find_chromium
from tests.server import serving

GROW = Path(__file__).with_name("grow.js").read_text(encoding="utf-8")
SLOWER = 4
OPENINGS = 5

#: Each screen's address, and what is there once it is whole.
SCREENS = {
    "Today": ("today", '[data-slot="cards"] .card'),
    "Today with what is wanted": ("today", "bench-wanted .wanted .card"),
    "Plan": ("plan/demo-recipe-slate", "bench-lots .drawn li"),
    "The shelf": ("shelf", '[data-slot="cards"] .card'),
    "Looking back": ("back", '[data-slot="months"] svg'),
}

#: Ends when what was asked for is painted.
_ALL_YEARS = """(period) => new Promise((resolve) => {
  const begun = performance.now();
  const select = document.querySelector('#screen [data-slot="period"]');
  const span = () => document.querySelector('#screen [data-slot="span"]').textContent;
  const before = span();
  select.value = period;
  select.dispatchEvent(new Event('change'));
  const look = () => span() !== before
    ? requestAnimationFrame(() => setTimeout(() => resolve(performance.now() - begun)))
    : requestAnimationFrame(look);
  look();
})"""

_SHOWN = """(selector) => new Promise((resolve) => {
  const look = () => document.querySelector(`#screen ${selector}`)
    ? requestAnimationFrame(() => setTimeout(() => resolve(performance.now())))
    : requestAnimationFrame(look);
  look();
})"""


def main() -> None:
    """Measure, and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--openings", type=int, default=OPENINGS)
    parser.add_argument("--pours", type=int, default=2_000, help="in years, 400 a year")
    given = parser.parse_args()
    openings = given.openings
    sizes = ((200, 150), (given.pours, given.pours * 3 // 4))
    found: dict[int, dict[str, dict[str, float]]] = {}
    with sync_playwright() as playwright:
        browser = find_chromium(playwright)
        for size in sizes:
            with (
                tempfile.TemporaryDirectory() as folder,
                serving(Path(folder), "--demo") as running,
            ):
                profile = str(Path(folder) / "profile")
                context = playwright.chromium.launch_persistent_context(
                    profile, executable_path=browser, viewport={"width": 390, "height": 844}
                )
                page = context.new_page()
                page.goto(running.url)
                page.locator("text=Start a pour").wait_for()
                pours, lots = size
                given_to = {"pours": pours, "lots": lots, "years": pours / 400}
                events = page.evaluate(GROW, given_to)
                found[size[0]] = measure(page, running.url, openings)
                found[size[0]] |= all_years(page, running.url, openings)
                context.close()
            for way, took in found[size[0]].items():
                told = ", ".join(f"{name} {ms:.0f} ms" for name, ms in took.items())
                print(f"{size[0]} pours, {size[1]} deliveries, {events} events, {way}: {told}")
    small, large = (found[size[0]] for size in sizes)
    for way, took in large.items():
        grown = ", ".join(f"{name} {ms / small[way][name]:.2f}" for name, ms in took.items())
        print(f"{way}, times as long with ten times as much: {grown}")


def all_years(page: Page, url: str, openings: int) -> dict[str, dict[str, float]]:
    """Milliseconds from the last twelve months to all years, still slowed; the median."""
    took = []
    for _ in range(openings):
        page.goto("about:blank")
        page.goto(f"{url}#/back")
        page.evaluate(_SHOWN, SCREENS["Looking back"][1])
        took.append(page.evaluate(_ALL_YEARS, "all"))
    return {"on the same screen": {"All years": statistics.median(took)}}


def measure(page: Page, url: str, openings: int) -> dict[str, dict[str, float]]:
    """Milliseconds to each whole screen, by the way to it, the page's thread slowed; medians."""
    session: Any = page.context.new_cdp_session(page)
    session.send("Emulation.setCPUThrottlingRate", {"rate": SLOWER})
    found: dict[str, dict[str, float]] = {"from another screen": {}, "from a cold page": {}}
    for name, (address, selector) in SCREENS.items():
        warm, cold = [], []
        for _ in range(openings + 1):
            page.goto("about:blank")
            page.goto(f"{url}#/{address}")
            cold.append(page.evaluate(_SHOWN, selector))
            page.evaluate("location.hash = '#/workshop'")
            page.locator("#screen > .workshop").wait_for()
            begun = page.evaluate(
                "(address) => { location.hash = `#/${address}`; return performance.now(); }",
                address,
            )
            page.locator("#screen > .workshop").wait_for(state="detached")
            warm.append(page.evaluate(_SHOWN, selector) - begun)
        # The first opening may still tidy up after what came in.
        found["from another screen"][name] = statistics.median(warm[1:])
        found["from a cold page"][name] = statistics.median(cold[1:])
    return found


if __name__ == "__main__":
    main()
