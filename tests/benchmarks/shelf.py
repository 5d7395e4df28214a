"""How a phone fares after years of work: ``python -m tests.benchmarks.shelf``.

A phone is given an invented small business of half a year, of five years and of ten: 4,000 pours,
60,000 candles, 300,000 events. Then the real app opens each screen, its own thread slowed four
times, until what it shows is there: out of another screen of the app, and from a cold page; words
are typed into the box that finds, key by key; and looking back goes on from twelve months to all.
With ``--exchange`` that phone joins a server, a new one gets all of it, and one change more goes to
the server. Printed are medians,
and how they grow. Nothing else should run meanwhile; where something does, ``--cpu`` prints four
times what the page's own thread needed of a processor in place of what a clock showed, which leaves
out what the browser's other threads and the disk take.
"""

import argparse
import statistics
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from playwright.sync_api import BrowserContext, Page, Playwright, sync_playwright

from tests.browser import find_chromium
from tests.phone.maker import new_code
from tests.server import Server, serving

GROW = Path(__file__).with_name("grow.js").read_text(encoding="utf-8")
SLOWER = 4
OPENINGS = 5


@dataclass(frozen=True)
class Size:
    """How much there is of a workshop."""

    years: float
    pours: int
    lots: int


SIZES = (Size(0.5, 200, 150), Size(5, 2_000, 1_500), Size(10, 4_000, 3_000))

#: Each screen's address, and what is there once it is whole.
SCREENS = {
    "Today": ("today", '[data-slot="cards"] .card'),
    "Today with what is wanted": ("today", "bench-wanted .wanted .card"),
    "Plan": ("plan/demo-recipe-slate", "bench-lots .drawn li"),
    "The shelf": ("shelf", '[data-slot="cards"] .card'),
    "Log": ("log", '[data-slot="cards"] .card'),
    "Log with its count": ("log", '[data-slot="count"]:not(:empty)'),
    "A pour": ("entry/grown-7", '[data-slot="jugs"] .jug'),
    "Trace of a delivery": ("trace/grown-lot-6", '[data-slot="batches"] > *'),
    "Looking back": ("back", '[data-slot="months"] svg'),
}

#: Typed key by key: names, one with accents, a delivery, a day, two words, and what is not there.
TYPED = ("juniper", "Łąka", "q1500", "14.5.2024", "order 33", "rain fjord", "zzz")

#: Ends when what was asked for is painted.
_SHOWN = """(selector) => new Promise((resolve) => {
  const look = () => document.querySelector(`#screen ${selector}`)
    ? requestAnimationFrame(() => setTimeout(resolve))
    : requestAnimationFrame(look);
  look();
})"""

_ALL_YEARS = """(period) => new Promise((resolve) => {
  const select = document.querySelector('#screen [data-slot="period"]');
  const span = () => document.querySelector('#screen [data-slot="span"]').textContent;
  const before = span();
  select.value = period;
  select.dispatchEvent(new Event('change'));
  const look = () => span() !== before
    ? requestAnimationFrame(() => setTimeout(resolve))
    : requestAnimationFrame(look);
  look();
})"""

#: A key's text into the box, until what it finds is painted; nothing: what a frame costs anyway.
_KEY = """(text) => new Promise((resolve) => {
  const box = document.querySelector('#screen [data-slot="box"]');
  if (text !== null) {
    box.value = text;
    box.dispatchEvent(new Event('input', { bubbles: true }));
  }
  requestAnimationFrame(() => {
    const { port1, port2 } = new MessageChannel();
    port1.onmessage = resolve;
    port2.postMessage(0);
  });
})"""

_RESTS = """async () => {
  const { exchangeNow, syncStatus } = await import('/static/records/exchange.js');
  await exchangeNow();
  return syncStatus.state === 'resting' && syncStatus.count === 0;
}"""

#: Something happens to a pour: milliseconds until the server has it, and no more is to be heard.
_ONE_CHANGE = """async () => {
  const [store, { exchangeNow }] = await Promise.all(
    ['store', 'exchange'].map((name) => import(`/static/records/${name}.js`)));
  await store.append('pour', 'grown-7', { type: 'noted', text: 'rain', at: Date.now() });
  const begun = performance.now();
  await exchangeNow();
  return performance.now() - begun;
}"""

_HOW_MANY = """async () => {
  const { read, answer } = await import('/static/records/database.js');
  return read(['records', 'events'], async ({ records, events }) =>
    [await answer(records.count()), await answer(events.count())]);
}"""


def main() -> None:
    """Measure, and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--openings", type=int, default=OPENINGS)
    parser.add_argument("--years", type=float, nargs="*", help="only these sizes")
    parser.add_argument("--cpu", action="store_true", help="processor time instead of the clock's")
    parser.add_argument("--exchange", action="store_true", help="the exchange, and nothing else")
    given = parser.parse_args()
    sizes = [size for size in SIZES if not given.years or size.years in given.years]
    found: list[dict[str, dict[str, float]]] = []
    with sync_playwright() as playwright:
        for size in sizes:
            with tempfile.TemporaryDirectory() as folder:
                if given.exchange:
                    found.append(exchanged(playwright, Path(folder), size))
                else:
                    how = Processor if given.cpu else Clock
                    found.append(opened(playwright, Path(folder), size, given.openings, how))
            for way, took in found[-1].items():
                told = ", ".join(f"{name} {each:,.0f}" for name, each in took.items())
                print(f"{size.years:g} years, {way}: {told}", flush=True)
    for size, before, after in zip(sizes[1:], found, found[1:], strict=False):
        for way, took in after.items():
            grown = ", ".join(
                f"{name} {each / before[way][name]:.2f}" for name, each in took.items()
            )
            print(f"{size.years:g} years, times as much as the size before, {way}: {grown}")


@contextmanager
def phone(playwright: Playwright, folder: Path, url: str) -> Iterator[BrowserContext]:
    """A phone whose storage lies in a folder, with the app open."""
    context = playwright.chromium.launch_persistent_context(
        str(folder),
        executable_path=find_chromium(playwright),
        viewport={"width": 390, "height": 844},
    )
    context.set_default_timeout(0)
    page = context.new_page()
    page.goto(url)
    page.locator("text=Start a pour").wait_for()
    yield context
    context.close()


def grow(page: Page, size: Size) -> None:
    """Give a phone that much, and say how much it is."""
    begun = time.perf_counter()
    asked = {"pours": size.pours, "lots": size.lots, "years": size.years}
    page.evaluate(GROW, asked)
    records, events = page.evaluate(_HOW_MANY)
    took_s = time.perf_counter() - begun
    print(
        f"{size.years:g} years: {size.pours:,} pours, {size.lots:,} deliveries, {records:,} "
        f"records, {events:,} events; settled and indexed after {took_s:.0f} s",
        flush=True,
    )


class Clock:
    """Milliseconds by the clock, the page's thread slowed."""

    def __init__(self, context: BrowserContext) -> None:
        self.page = context.pages[-1]
        self.session: Any = context.new_cdp_session(self.page)
        self.session.send("Emulation.setCPUThrottlingRate", {"rate": SLOWER})

    def now(self) -> float:
        return float(self.page.evaluate("performance.timeOrigin + performance.now()"))


class Processor(Clock):
    """Milliseconds that the page's thread had of a processor, as many times as a slow one needs."""

    def __init__(self, context: BrowserContext) -> None:
        self.session = context.new_cdp_session(context.pages[-1])
        self.session.send("Performance.enable", {"timeDomain": "threadTicks"})

    def now(self) -> float:
        told = self.session.send("Performance.getMetrics")["metrics"]
        (spent_s,) = (each["value"] for each in told if each["name"] == "TaskDuration")
        return float(spent_s) * 1000 * SLOWER


def opened(
    playwright: Playwright, folder: Path, size: Size, openings: int, how: type[Clock]
) -> dict[str, dict[str, float]]:
    """Milliseconds to each whole screen and for each key."""
    with (
        serving(folder / "data", "--demo") as running,
        phone(playwright, folder / "phone", running.url) as context,
    ):
        page = context.pages[-1]
        grow(page, size)
        clock = how(context)
        return {
            **measure(page, running.url, openings, clock),
            **all_years(page, running.url, openings, clock),
            **keys(page, running.url, clock),
        }


def all_years(page: Page, url: str, openings: int, clock: Clock) -> dict[str, dict[str, float]]:
    """Milliseconds from the last twelve months to all years; the median."""
    took = []
    for _ in range(openings):
        page.goto("about:blank")
        page.goto(f"{url}#/back")
        page.evaluate(_SHOWN, SCREENS["Looking back"][1])
        begun = clock.now()
        page.evaluate(_ALL_YEARS, "all")
        took.append(clock.now() - begun)
    return {"ms on the same screen": {"All years": statistics.median(took)}}


def keys(page: Page, url: str, clock: Clock) -> dict[str, dict[str, float]]:
    """Milliseconds from a key in the box until what it finds is painted."""

    def took_for(text: str | None) -> float:
        page.wait_for_timeout(300)
        begun = clock.now()
        page.evaluate(_KEY, text)
        return clock.now() - begun

    page.goto("about:blank")
    page.goto(f"{url}#/log")
    page.evaluate(_SHOWN, '[data-slot="count"]:not(:empty)')
    # As long as a hand takes to the box, and from one key to the next.
    page.wait_for_timeout(3000)
    typed = [words[:end] for words in TYPED for end in range(1, len(words) + 1)]
    anyway = statistics.median(took_for(None) for _ in range(9))
    took = sorted(took_for(each) - anyway for each in typed)
    return {
        "ms for a key": {
            "median": statistics.median(took),
            "95th percentile": took[int(0.95 * len(took))],
            "worst": took[-1],
        }
    }


def measure(page: Page, url: str, openings: int, clock: Clock) -> dict[str, dict[str, float]]:
    """Milliseconds to each whole screen, by the way to it; medians."""
    found: dict[str, dict[str, float]] = {"ms from another screen": {}, "ms from a cold page": {}}
    for name, (address, selector) in SCREENS.items():
        warm, cold = [], []
        for _ in range(openings + 1):
            page.goto("about:blank")
            begun = clock.now()
            page.goto(f"{url}#/{address}")
            page.evaluate(_SHOWN, selector)
            cold.append(clock.now() - begun)
            page.evaluate("location.hash = '#/workshop'")
            page.locator("#screen > .workshop").wait_for()
            begun = clock.now()
            page.evaluate("(address) => { location.hash = `#/${address}`; }", address)
            page.evaluate(_SHOWN, f"> :not(.workshop) {selector}")
            warm.append(clock.now() - begun)
        # The first opening may still tidy up after what came in.
        found["ms from another screen"][name] = statistics.median(warm[1:])
        found["ms from a cold page"][name] = statistics.median(cold[1:])
    return found


def exchanged(playwright: Playwright, folder: Path, size: Size) -> dict[str, dict[str, float]]:
    """Seconds and kilobytes of all that there is, to a server and on to a new phone."""
    found: dict[str, float] = {}
    # All of it comes from one address, and is more than a workshop sends in a minute.
    many = {"BENCHAPP_REQUESTS_A_MINUTE": "1000000"}
    with serving(folder / "data", "--demo", environment=many) as running:
        with phone(playwright, folder / "phone", running.url) as context:
            grow(context.pages[-1], size)
            found |= joined(context, running, "sent")
        with phone(playwright, folder / "new", running.url) as context:
            found |= joined(context, running, "got")
            one = [context.pages[-1].evaluate(_ONE_CHANGE) for _ in range(3 * OPENINGS)]
            found["ms for one change"] = statistics.median(one)
    return {"exchange": found}


def joined(context: BrowserContext, running: Server, what: str) -> dict[str, float]:
    """Join the server's workshop; seconds until nothing waits any more, and kilobytes both ways."""
    page = context.pages[-1]
    session: Any = context.new_cdp_session(page)
    session.send("Emulation.setCPUThrottlingRate", {"rate": SLOWER})
    session.send("Network.enable")
    bytes_got = [0]
    session.on(
        "Network.dataReceived",
        lambda event: bytes_got.append(event["encodedDataLength"] or event["dataLength"]),
    )
    page.goto(f"{running.url}#/pair/{new_code(running.data)}")
    begun = time.perf_counter()
    page.get_by_role("button", name="Join", exact=True).click()
    page.locator("#said", has_text="This device is in").wait_for()
    while not page.evaluate(_RESTS):
        page.wait_for_timeout(200)
    took_s = time.perf_counter() - begun
    records, events = page.evaluate(_HOW_MANY)
    return {
        f"{what} s": took_s,
        f"{what} kB over the wire": sum(bytes_got) / 1000,
        f"{what} records": records,
        f"{what} events": events,
    }


if __name__ == "__main__":
    main()
