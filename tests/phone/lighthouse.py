"""What Lighthouse says of the shell and the bench: ``python -m tests.phone.lighthouse``.

Runs Lighthouse 13, which npx fetches from npm (Node 22.19 or newer is what it asks for), with its
mobile settings (a small screen, slow 4G and a CPU slowed four times, both simulated) in a browser
of its own: on the shell at the first visit and when it is kept on the phone, and on the bench of a
running pour. Prints the scores, what they are made of and each audit that is not passed.
"""

import json
import shutil
import socket
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Any

from playwright.sync_api import Playwright, sync_playwright

from tests.browser import find_chromium
from tests.phone.running import COOLING, begin, open_phone
from tests.server import serving

LIGHTHOUSE = "lighthouse@13"
CATEGORIES = ("performance", "accessibility", "best-practices")
TIMES = ("first-contentful-paint", "largest-contentful-paint", "speed-index", "total-blocking-time")
WEIGHED = (*TIMES, "cumulative-layout-shift")


def main() -> None:
    times = int(sys.argv[1]) if len(sys.argv) > 1 else 1
    if shutil.which("npx") is None:
        raise SystemExit("Lighthouse comes from npm: install Node.js 22.19 or newer.")
    with (
        sync_playwright() as playwright,
        tempfile.TemporaryDirectory() as folder,
        serving(Path(folder) / "data", "--demo") as running,
    ):
        audit(playwright, Path(folder), running.url, times)


def audit(playwright: Playwright, folder: Path, url: str, times: int) -> None:
    """Each run in a browser of its own: what another page left in it is not the bench's."""
    profile = folder / "profile"
    chromium = find_chromium(playwright)

    def look(name: str, path: str, where: Path, *, fresh: bool = False) -> None:
        port = free_port()
        context = open_phone(playwright, chromium, where, [f"--remote-debugging-port={port}"])
        tell(name, run(url + path, port, folder, fresh=fresh))
        context.close()

    for turn in range(times):
        look("the shell, first visit", "#/today", folder / f"new {turn}", fresh=True)
    context = open_phone(playwright, chromium, profile)
    page = context.new_page()
    page.goto(url)
    page.wait_for_selector("#screen h1")
    bench = begin(page, 1, COOLING)
    context.close()
    for _ in range(times):
        look("the shell, kept on the phone", "#/today", profile)
        look("the bench, kept on the phone", bench, profile)


def free_port() -> int:
    with socket.socket() as found:
        found.bind(("127.0.0.1", 0))
        port: int = found.getsockname()[1]
    return port


def run(url: str, port: int, folder: Path, *, fresh: bool = False) -> dict[str, Any]:
    """Lighthouse's report on `url` in the browser that listens at `port`.

    `fresh` empties its storage and caches before.
    """
    told = folder / "report.json"
    options = ["--form-factor=mobile", f"--port={port}"]
    options += [f"--only-categories={','.join(CATEGORIES)}"]
    options += ["--output=json", f"--output-path={told}", "--quiet"]
    if not fresh:
        options.append("--disable-storage-reset")
    command = ["npx", "--yes", LIGHTHOUSE, url, *options]
    done = subprocess.run(command, cwd=folder, capture_output=True, text=True, check=False)
    if done.returncode != 0:
        raise SystemExit(done.stderr)
    report: dict[str, Any] = json.loads(told.read_text())
    return report


def tell(name: str, report: dict[str, Any]) -> None:
    audits = report["audits"]
    scores = [f"{each} {100 * report['categories'][each]['score']:.0f}" for each in CATEGORIES]
    print(f"\n{name}, Lighthouse {report['lighthouseVersion']}: {', '.join(scores)}")
    heaviest = [f"{audits[each]['title']} {audits[each]['displayValue']}" for each in WEIGHED]
    print("  " + ", ".join(heaviest))
    for warning in report["runWarnings"]:
        print(f"  warned: {warning}")
    for category in CATEGORIES:
        for weighed in report["categories"][category]["auditRefs"]:
            one = audits[weighed["id"]]
            if one["score"] is not None and one["score"] < 1:
                value = one.get("displayValue", "")
                print(f"  {category}: {one['id']} {100 * one['score']:.0f} {value}".rstrip())
    sys.stdout.flush()


if __name__ == "__main__":
    main()
