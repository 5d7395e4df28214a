"""How large a product's file is, how long it takes, and how much memory:
``python -m tests.benchmarks.product_file``.

A phone is given the invented workshop and more batches of its product, each with the events of a
real pour, and asks as it does; photos lie on the server. Each number of batches has a server of its
own, so that its highest memory is its own. Linux only: memory is read from /proc.
"""

import argparse
import copy
import hashlib
import io
import json
import tempfile
import time
from pathlib import Path
from typing import Any

from PIL import Image
from playwright.sync_api import Page, sync_playwright

from tests.browser import find_chromium
from tests.web.caller import Bench, Caller, bench

CASES = ((1, 0), (50, 75), (200, 300))
"""Batches, and photos."""
PHOTO_SIZE = (720, 720)
"""Of noise, which takes 300 kB or so."""

_MORE = """async (count) => {
  const store = await import('/static/records/store.js');
  const pour = await store.getStored('pour', 'demo-pour-1');
  const events = await store.events('pour', 'demo-pour-1');
  const began = pour.fields.started_at.value;
  const records = [];
  const happened = [];
  for (let number = 1; number < count; number += 1) {
    const id = `many-${number}`;
    const started_at = { ...pour.fields.started_at, value: began - number * 86400000 };
    records.push({ kind: 'pour', id, fields: { ...pour.fields, started_at } });
    for (const event of events) {
      const own = `${event.id.slice(0, 21)}m${number}`;
      happened.push({ ...event, id: own, of: ['pour', id], at: event.at - number * 86400000 });
    }
  }
  await store.bringIn(records, happened);
}"""

_ASKED = """async () => {
  const real = window.fetch;
  let asked = '';
  window.fetch = (path, given) => {
    if (path !== '/api/desk/file') return real(path, given);
    asked = given.body;
    return Promise.resolve(new Response('{}'));
  };
  const { readProduct } = await import('/static/screens/product_sources.js');
  const { fileOf } = await import('/static/screens/product_file.js');
  const { context } = await import('/static/screens/screen.js');
  const { units } = await context();
  const begun = performance.now();
  await fileOf(await readProduct('demo-product-slate'), units, 'zip');
  window.fetch = real;
  return [performance.now() - begun, asked];
}"""


def asked_for(page: Page, url: str, batches: int) -> tuple[float, dict[str, Any]]:
    """Seconds that the phone took to gather it, and what it asks."""
    page.goto(f"{url}#/product/demo-product-slate")
    page.locator('#screen .product [data-slot="parts"] .part').first.wait_for()
    page.evaluate(_MORE, batches)
    took_ms, text = page.evaluate(_ASKED)
    return took_ms / 1000, json.loads(text)


def photos(caller: Caller, count: int) -> list[dict[str, Any]]:
    """So many on the server, and how the phone tells of them."""
    told = []
    for number in range(count):
        held = io.BytesIO()
        Image.effect_noise(PHOTO_SIZE, 40 + number / 10).save(held, "JPEG", quality=85)
        content = held.getvalue()
        name = hashlib.sha256(content).hexdigest()
        at = 0
        while at < len(content):
            answered = caller.call(
                "POST",
                f"/api/attachments/{name}?at={at}&of={len(content)}",
                raw=content[at : at + 262_144],
                headers={"Content-Type": "application/octet-stream"},
            )
            assert answered.status == 200, answered.body
            at = answered.json["have"]
        told.append(
            {
                **{"of": ["pour", "demo-pour-1"], "what": "top", "sha256": name},
                **{"bytes": len(content), "type": "image/jpeg", "name": f"photo {number}"},
            }
        )
    return told


def most_mb(server: Bench, name: str = "VmHWM") -> float:
    """The memory of the server: the most that it ever held, or what it holds now (VmRSS)."""
    told = Path(f"/proc/{server.process.pid}/status").read_text()
    return float(told.split(f"{name}:")[1].split()[0]) / 1024


def main() -> None:
    """Measure, and print."""
    argparse.ArgumentParser(description=__doc__).parse_args()
    print(
        f"{'batches':>7} {'photos':>6} {'gather s':>8} {'asked MB':>8} {'PDF s':>6} {'PDF kB':>7} "
        f"{'ZIP s':>6} {'ZIP MB':>7} {'MB before':>9} {'MB most':>8}"
    )
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=find_chromium(playwright))
        for batches, count in CASES:
            row = measured(browser.new_page(), batches, count)
            print(
                f"{batches:>7} {count:>6} {row['gather_s']:>8.2f} {row['asked_mb']:>8.2f} "
                f"{row['pdf_s']:>6.2f} {row['pdf_kb']:>7.0f} {row['zip_s']:>6.2f} "
                f"{row['zip_mb']:>7.1f} {row['before_mb']:>9.0f} {row['most_mb']:>8.0f}"
            )
        browser.close()


def measured(page: Page, batches: int, count: int) -> dict[str, float]:
    """Of one case: seconds, sizes, memory."""
    directory = tempfile.mkdtemp()
    environment = {"BENCHAPP_REQUESTS_A_MINUTE": "1000000"}
    with bench(Path(directory), "--demo", **environment) as server:
        gather_s, body = asked_for(page, server.url, batches)
        caller = server.paired()
        body["attachments"] = photos(caller, count)
        small = copy.deepcopy(body) | {"want": "pdf"}
        begun = time.perf_counter()
        pdf = caller.post("/api/desk/file", small)
        pdf_s = time.perf_counter() - begun
        assert pdf.status == 200, pdf.body[:500]
        before = most_mb(server, "VmRSS")
        begun = time.perf_counter()
        answered = caller.post("/api/desk/file", body)
        zip_s = time.perf_counter() - begun
        assert answered.status == 200, answered.body[:500]
        return {
            **{"gather_s": gather_s, "asked_mb": len(json.dumps(body)) / 1e6},
            **{"pdf_s": pdf_s, "pdf_kb": len(pdf.body) / 1000},
            **{"zip_s": zip_s, "zip_mb": len(answered.body) / 1e6},
            **{"before_mb": before, "most_mb": most_mb(server)},
        }


if __name__ == "__main__":
    main()
