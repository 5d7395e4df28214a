"""Measure the phone's side: ``python -m tests.phone.measure``.

Prints the sizes of the two packs over the wire, and when each is kept on a first visit; then,
with the server stopped, how long a cold start takes to the first
usable screen and to the bench of a running pour (beside a bare page from the same cache, as a
ratio), how long a tap at the bench takes, and what a running countdown costs; and last the touches
of a whole pour of twelve with two dips typed on the pad and weights as shown.

The browser slows only the page's own thread, which is where the app's code runs; the service
worker, the store and the drawing of pixels go at the machine's speed.
"""

import statistics
import tempfile
import time
from collections import Counter
from pathlib import Path
from typing import Any

from playwright.sync_api import CDPSession, Page, Playwright, expect, sync_playwright

from tests.browser import find_chromium
from tests.phone.maker import (
    as_shown,
    at,
    count_touches,
    expect_step,
    read_off,
    slot,
    tap_main,
)
from tests.phone.running import COOL, COOLING, begin, open_phone
from tests.server import serving

STARTS = 7
SLOWER = 4
TAPS = 120
COUNTED_S = 30

#: Both end when the screen that was asked for has been painted.
_PAINTED = """(selector) => new Promise((resolve) => {
  const look = () => document.querySelector(selector)
    ? requestAnimationFrame(() => setTimeout(() => resolve(performance.now())))
    : requestAnimationFrame(look);
  look();
})"""
#: Ends when a pack is kept, whole.
_KEPT = """async (path) => {
  while (!(await caches.match(path))) await new Promise((resolve) => setTimeout(resolve, 5));
  return performance.now();
}"""
SCREEN = "#screen h1"
BENCH = ".board .act .go"

# Event Timing (W3C): from the touch to the next paint after its handlers, in steps of 8 ms; what
# is shorter than 16 ms is not told. Beside it the time to the frame that shows what the tap
# changed, which may wait for the store: clocks that tick by themselves do not count as a change.
_WATCH = """() => {
  if (globalThis.taps) return;
  globalThis.taps = { paints: new Map(), changes: [], open: null };
  new PerformanceObserver((list) => {
    for (const { interactionId, duration } of list.getEntries()) {
      if (!interactionId) continue;
      taps.paints.set(interactionId, Math.max(duration, taps.paints.get(interactionId) ?? 0));
    }
  }).observe({ type: 'event', durationThreshold: 16 });
  addEventListener('click', ({ timeStamp }) => (taps.open = timeStamp), true);
  const ticking = '#strip, [data-slot="number"], [data-slot="doing"], [data-slot="chart"]';
  new MutationObserver((changes) => {
    const begun = taps.open;
    const ours = ({ target }) => !(target.closest ?? (() => false)).call(target, ticking);
    if (begun === null || !changes.some(ours)) return;
    taps.open = null;
    requestAnimationFrame(() => setTimeout(() => taps.changes.push(performance.now() - begun)));
  }).observe(document.body, { subtree: true, childList: true, attributes: true });
}"""

# What can be touched at the bench without leaving it: where, which kind, and whether it undoes.
_CONTROLS = """() => {
  const place = document.querySelector('dialog[open]') ?? document.querySelector('.board');
  return [...(place?.querySelectorAll('button:enabled, input') ?? [])].flatMap((part) => {
    if (!part.checkVisibility()) return [];
    part.scrollIntoView({ block: 'nearest' });
    const { x, y, width, height } = part.getBoundingClientRect();
    const at = [x + width / 2, y + height / 2];
    const top = document.elementFromPoint(...at);
    if (top === null || !(part.contains(top) || top.contains(part))) return [];
    const words = (part.ariaLabel ?? part.innerText).replace(/[\\d.,:\\s]+/g, ' ').trim();
    const kind = [place.tagName, part.className || part.dataset.slot || part.type].join(' ');
    return [{ at, kind, key: `${kind} ${words}`, undo: /undo/i.test(part.className + words) }];
  });
}"""


def main() -> None:
    with sync_playwright() as playwright, tempfile.TemporaryDirectory() as folder:
        chromium = find_chromium(playwright)
        profile = Path(folder) / "profile"
        with serving(Path(folder) / "data", "--demo") as running:
            url = running.url
            context = open_phone(playwright, chromium, profile)
            page = context.new_page()
            requests, size, when = first_visit(page, url)
            bench = begin(page, 1, COOLING)
            context.close()
        say(f"first visit, headers and all: {requests} requests, {size / 1000:.1f} KB on the wire")
        for name, (brotli, gzip) in packed_shell().items():
            say(f"{name}: {brotli / 1000:.1f} KB (Brotli), {gzip / 1000:.1f} (gzip)")
        for path, after_ms in when.items():
            say(f"first visit: {path} is kept after {after_ms:.0f} ms")
        say("From here on with the server stopped.")
        for slower in (1, SLOWER):
            starts = cold_starts(playwright, chromium, profile, url, bench, slower)
            bare = starts.pop("a bare file")
            for name, took in starts.items():
                say(
                    f"cold start, CPU slowed {slower} times: {name} usable after {took:.0f} ms, "
                    f"{took / bare:.1f} times a bare file ({bare:.0f} ms), median of {STARTS}"
                )
        context = open_phone(playwright, chromium, profile)
        page = context.new_page()
        session = context.new_cdp_session(page)
        for jugs in (1, 4):
            page.goto(url)
            page.wait_for_selector(SCREEN)
            if jugs > 1:
                bench = begin(page, jugs - 1, COOLING)
            page.goto(url + bench)
            page.wait_for_selector(BENCH)
            slow(session, SLOWER)
            shares = countdown(page, session)
            slow(session, 1)
            told = ", ".join(f"{name} {100 * share:.2f}" for name, share in shares.items())
            say(f"a running countdown, {jugs} cooling, slowed {SLOWER} times, % of a CPU: {told}")
        tell_taps(page, session, url)
        context.close()
        context = open_phone(playwright, chromium, profile)
        page = context.new_page()
        page.clock.install()
        page.goto(url)
        touches = touches_of_a_pour(page, url)
        say(f"touches of a whole pour of twelve, two dips typed, weights as shown: {touches}")
        context.close()


def say(line: str) -> None:
    print(line, flush=True)


def slow(session: CDPSession, times: int) -> None:
    session.send("Emulation.setCPUThrottlingRate", {"rate": times})


# ---- the shell ---------------------------------------------------------------------------------


def first_visit(page: Page, url: str) -> tuple[int, int, dict[str, float]]:
    """Requests and bytes until the app is whole on the phone, the page's and the worker's; and the
    milliseconds from navigation until each pack is kept."""
    finished: list[int] = []
    context = page.context
    context.on("requestfinished", lambda request: finished.append(sum_of(request.sizes())))
    page.goto(url, wait_until="commit")
    when = {path: page.evaluate(_KEPT, path) for path in ("/bench.pack", "/desk.pack")}
    page.wait_for_function("() => navigator.serviceWorker.controller !== null")
    page.wait_for_timeout(1500)
    return len(finished), sum(finished), when


def sum_of(sizes: dict[str, int]) -> int:
    return sizes["responseBodySize"] + sizes["responseHeadersSize"]


def packed_shell() -> dict[str, tuple[int, int]]:
    """Bytes of each pack, as Brotli and as gzip; of the bench's with the worker's own scripts."""
    from benchapp.web import shell
    from benchapp.web.app import create_app

    with tempfile.TemporaryDirectory() as folder:
        built = shell.build(create_app(data_dir=Path(folder)))
    parts = {
        "the bench pack and the worker": [built.packs["/bench.pack"], *built.worker.values()],
        "the desk pack": [built.packs["/desk.pack"]],
    }
    return {
        name: (
            sum(len(each.brotli or each.body) for each in assets),
            sum(len(each.gzipped or each.body) for each in assets),
        )
        for name, assets in parts.items()
    }


# ---- speed -------------------------------------------------------------------------------------


def cold_starts(
    playwright: Playwright, chromium: str | None, profile: Path, url: str, bench: str, slower: int
) -> dict[str, float]:
    """Median milliseconds from navigation until a screen is painted, each in a browser of its own;
    and the same for a file of the shell opened by itself."""
    goals = {"a bare file": "static/icons/icon.svg", "the first screen": "", "the bench": bench}
    took: dict[str, list[float]] = {name: [] for name in goals}
    for _ in range(STARTS):
        for name, path in goals.items():
            context = open_phone(playwright, chromium, profile)
            page = context.new_page()
            slow(context.new_cdp_session(page), slower)
            page.goto(url + path, wait_until="commit")
            if name == "a bare file":
                page.wait_for_load_state()
                read = "() => performance.getEntriesByType('navigation')[0].responseEnd"
                took[name].append(page.evaluate(read))
            else:
                took[name].append(page.evaluate(_PAINTED, BENCH if path else SCREEN))
            context.close()
    return {name: statistics.median(each) for name, each in took.items()}


def countdown(page: Page, session: CDPSession) -> dict[str, float]:
    """Shares of the page's thread, while nobody touches anything: in all its tasks, and of those
    in scripts, in reckoning styles and in laying out."""
    names = {
        "in all": "TaskDuration",
        "script": "ScriptDuration",
        "style": "RecalcStyleDuration",
        "layout": "LayoutDuration",
    }
    session.send("Performance.enable", {"timeDomain": "timeTicks"})

    def read() -> dict[str, float]:
        told = session.send("Performance.getMetrics")["metrics"]
        return {each["name"]: each["value"] for each in told}

    page.wait_for_timeout(3000)
    before, begun = read(), time.monotonic()
    time.sleep(COUNTED_S)
    after, took_s = read(), time.monotonic() - begun
    return {said: (after[name] - before[name]) / took_s for said, name in names.items()}


def tell_taps(page: Page, session: CDPSession, url: str) -> None:
    """Walk through pours, touching the kind of control that was touched least so far."""
    touched: Counter[str] = Counter()
    kinds: Counter[str] = Counter()
    done: dict[str, list[float]] = {"paints": [], "changes": []}
    for dips, most in ((None, TAPS // 2), (COOLING, TAPS // 4), (COOL, TAPS)):
        page.goto(url)
        page.wait_for_selector(SCREEN)
        page.goto(url + begin(page, 1, dips))
        page.wait_for_selector(BENCH)
        page.evaluate(_WATCH)
        page.evaluate("taps.paints.clear(), taps.changes.length = 0")
        slow(session, SLOWER)
        taps = 0
        while taps < most and sum(kinds.values()) < TAPS:
            controls: list[dict[str, Any]] = page.evaluate(_CONTROLS)
            if not controls:
                break
            # To undo all the time leads nowhere.
            chosen = min(controls, key=lambda each: touched[each["key"]] + 8 * each["undo"])
            touched[chosen["key"]] += 1
            kinds[chosen["kind"]] += 1
            page.touchscreen.tap(*chosen["at"])
            page.wait_for_timeout(350)
            taps += 1
        slow(session, 1)
        found = page.evaluate(
            "() => ({ paints: [...taps.paints.values()], changes: taps.changes })"
        )
        # Not told of: painted sooner than the shortest that is.
        done["paints"] += [*found["paints"], *[16.0] * (taps - len(found["paints"]))]
        done["changes"] += found["changes"]
    said = {"paints": "to the next paint", "changes": "to what it changed"}
    for name, times in done.items():
        cut = statistics.quantiles(times, n=100, method="inclusive")
        say(
            f"a tap at the bench, slowed {SLOWER} times, {said[name]}: {cut[49]:.0f} ms at the "
            f"median, {cut[94]:.0f} at the 95th percentile, {max(times):.0f} at most "
            f"({len(times)} taps)"
        )
    say("kinds of controls: " + ", ".join(f"{kind} ({n})" for kind, n in kinds.most_common()))


# ---- touches -----------------------------------------------------------------------------------


def touches_of_a_pour(page: Page, url: str) -> int:
    at(page, url, "plan/demo-recipe-slate")
    touches = count_touches(page)
    page.locator('[data-slot="count"]').fill("12")
    slot(page, "start").tap()
    expect_step(page, "Make ready")
    tap_main(page)
    as_shown(page)
    expect_step(page, "Melt")
    tap_main(page)
    read_off(page, "75")
    # So long the demo's jug takes from 75 to 70 °C.
    page.clock.fast_forward(283_000)
    read_off(page, "70")
    tap_main(page)
    expect_step(page, "Weigh fragrance")
    as_shown(page)
    expect_step(page, "Add fragrance")
    tap_main(page)
    expect_step(page, "Stir")
    tap_main(page)
    for vessel in range(1, 13):
        expect_step(page, f"Pour · {vessel} of 12")
        tap_main(page)
    expect_step(page, "Leave to set")
    tap_main(page)
    expect(page.get_by_role("heading", name="Today")).to_be_visible()
    return touches()


if __name__ == "__main__":
    main()
