"""Measure the phone's side: ``python -m tests.phone.measure``.

Prints the shell's size over the wire, the time from a cold start with the server stopped to the
first usable screen (beside a bare page from the same cache, as a ratio), and the touches of a
whole pour of twelve with two dips when everything reads as shown.
"""

import statistics
import subprocess
import sys
import tempfile
from pathlib import Path

from playwright.sync_api import BrowserContext, Page, Playwright, expect, sync_playwright

from ..conftest import _find_chromium
from .steps import Maker

ROOT = Path(__file__).resolve().parents[2]
STARTS = 7
SLOWER = 4

USABLE = """() => new Promise((resolve) => {
  const look = () => document.querySelector('#screen h1') ? resolve(performance.now())
    : requestAnimationFrame(look);
  look();
})"""


def main() -> None:
    with sync_playwright() as playwright, tempfile.TemporaryDirectory() as folder:
        process, url = serve(Path(folder) / "data")
        try:
            chromium = _find_chromium(playwright)
            profile = Path(folder) / "profile"
            context = open_phone(playwright, chromium, profile)
            page = context.new_page()
            wire = first_visit(page, url)
            context.close()
        finally:
            process.terminate()
            process.wait()
        print(
            f"first visit, headers and all: {wire[0]} requests, {wire[1] / 1000:.1f} KB on the wire"
        )
        print(f"of that the shell as stored, bodies packed: {packed_shell() / 1000:.1f} KB")
        for slower in (1, SLOWER):
            bench, bare = cold_starts(playwright, chromium, profile, url, slower)
            took, floor = statistics.median(bench), statistics.median(bare)
            print(
                f"cold start, server stopped, CPU slowed {slower} times: usable after "
                f"{took:.0f} ms, {took / floor:.1f} times a bare file from the same cache "
                f"({floor:.0f} ms), median of {STARTS}"
            )
        context = open_phone(playwright, chromium, profile)
        page = context.new_page()
        page.clock.install()
        page.goto(url)
        print(f"touches of a whole pour of twelve, two dips, all as shown: {touches(page)}")
        context.close()


def serve(data: Path) -> tuple[subprocess.Popen[str], str]:
    command = [
        sys.executable,
        "-m",
        "benchapp",
        "serve",
        "--demo",
        "--port",
        "0",
        "--data",
        str(data),
    ]
    process = subprocess.Popen(command, cwd=ROOT, stdout=subprocess.PIPE, text=True)
    for line in process.stdout or ():
        if line.startswith("Bench ready at "):
            return process, line.removeprefix("Bench ready at ").strip()
    raise SystemExit("The server did not start.")


def open_phone(playwright: Playwright, chromium: str | None, profile: Path) -> BrowserContext:
    return playwright.chromium.launch_persistent_context(
        profile,
        executable_path=chromium,
        viewport={"width": 390, "height": 844},
        has_touch=True,
        is_mobile=True,
    )


def first_visit(page: Page, url: str) -> tuple[int, int]:
    """Requests and bytes until the bench is whole on the phone: the page's and the worker's."""
    finished: list[int] = []
    context = page.context
    context.on("requestfinished", lambda request: finished.append(sum_of(request.sizes())))
    page.goto(url)
    page.wait_for_function("() => navigator.serviceWorker.controller !== null")
    page.wait_for_timeout(1500)
    return len(finished), sum(finished)


def sum_of(sizes: dict[str, int]) -> int:
    return sizes["responseBodySize"] + sizes["responseHeadersSize"]


def packed_shell() -> int:
    from benchapp.web import shell
    from benchapp.web.app import create_app

    with tempfile.TemporaryDirectory() as folder:
        built = shell.build(create_app(data_dir=Path(folder)))
    return sum(len(each.brotli or each.body) for each in (built.pack, built.worker))


def cold_starts(
    playwright: Playwright, chromium: str | None, profile: Path, url: str, slower: int
) -> tuple[list[float], list[float]]:
    """Milliseconds from navigation to the first screen, each in a browser of its own; and the same
    for a file of the shell opened by itself."""
    bench, bare = [], []
    for _ in range(STARTS):
        context = open_phone(playwright, chromium, profile)
        page = context.new_page()
        context.new_cdp_session(page).send("Emulation.setCPUThrottlingRate", {"rate": slower})
        page.goto(url + "static/icons/icon.svg")
        bare.append(
            page.evaluate("() => performance.getEntriesByType('navigation')[0].responseEnd")
        )
        page.goto(url)
        bench.append(page.evaluate(USABLE))
        context.close()
    return bench, bare


def touches(page: Page) -> int:
    maker = Maker(page)
    maker.go("plan/demo-recipe-slate")
    page.locator('[data-slot="count"]').fill("12")
    maker.tap(page.locator('[data-slot="start"]'))
    maker.expect_step("Make ready")
    maker.main()
    maker.as_shown()
    maker.expect_step("Melt")
    maker.main()
    maker.reads("75")
    # So long the demo's jug takes from 75 to 70 °C.
    page.clock.fast_forward(283_000)
    maker.reads("70")
    maker.main()
    maker.expect_step("Weigh fragrance")
    maker.as_shown()
    maker.expect_step("Add fragrance")
    maker.main()
    maker.expect_step("Stir")
    maker.main()
    for vessel in range(1, 13):
        maker.expect_step(f"Pour · {vessel} of 12")
        maker.main()
    maker.expect_step("Leave to set")
    maker.main()
    expect(page.get_by_role("heading", name="Today")).to_be_visible()
    return maker.touches


if __name__ == "__main__":
    main()
