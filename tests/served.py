"""A blank page on an address of its own, beside the folder of JavaScript and a test's helpers."""

import threading
from collections.abc import Iterator
from contextlib import contextmanager
from functools import partial
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any

from playwright.sync_api import Browser

Json = Any

ROOT = Path(__file__).resolve().parents[1]


class _Static(SimpleHTTPRequestHandler):
    extensions_map = {".js": "text/javascript"}  # noqa: RUF012

    def __init__(self, *args: Any, helpers: tuple[Path, ...], **given: Any) -> None:
        self.helpers = helpers
        super().__init__(*args, directory=str(ROOT / "static"), **given)

    def translate_path(self, path: str) -> str:
        if path.startswith("/helpers/"):
            for folder in self.helpers:
                if (folder / Path(path).name).exists():
                    return str(folder / Path(path).name)
        return super().translate_path(path)

    def do_GET(self) -> None:
        if self.path != "/":
            return super().do_GET()
        self.send_response(200)
        self.send_header("Content-Type", "text/html; charset=utf-8")
        self.end_headers()
        self.wfile.write(b"<!doctype html><title>Bench</title><link rel=icon href=data:,>")
        return None

    def log_message(self, format: str, *args: object) -> None:
        """Say nothing: the tests tell what failed."""


@contextmanager
def static_files(*helpers: Path) -> Iterator[str]:
    """Serve static/ and a blank page at '/', and what lies in ``helpers`` at '/helpers/'; give the
    address."""
    with ThreadingHTTPServer(("127.0.0.1", 0), partial(_Static, helpers=helpers)) as server:
        threading.Thread(target=server.serve_forever, daemon=True).start()
        yield f"http://127.0.0.1:{server.server_port}/"
        server.shutdown()


def played(browser: Browser, helper: Path, given: list[Json], *, runs: int) -> list[Json]:
    """What ``play(seed, *given)`` of a helper tells for each seed, on a phone with empty storage.

    What more it imports from '/helpers/' lies beside it, or in ``tests/shelf``. None of them had a
    problem.
    """
    found = []
    with static_files(helper.parent, ROOT / "tests" / "shelf") as url:
        for seed in range(runs):
            context = browser.new_context(timezone_id="Europe/London")
            page = context.new_page()
            page.goto(url)
            told = page.evaluate(
                "async ([helper, ...given]) => (await import(`/helpers/${helper}`)).play(...given)",
                [helper.name, seed, *given],
            )
            assert told["problem"] is None, f"seed {seed}: {told['problem']}"
            found.append(told)
            context.close()
    return found
