"""A blank page beside the formulas, as the phone would load them."""

import threading
from collections.abc import Iterator
from functools import partial
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer

import pytest
from hypothesis import settings
from playwright.sync_api import Browser, Page

from tests.formulas.twin import ROOT

# The same examples at every run: a test that fails fails again.
settings.register_profile("formulas", derandomize=True, database=None, deadline=None)
settings.load_profile("formulas")


class _Static(SimpleHTTPRequestHandler):
    """The folder of JavaScript, and a page with nothing on it."""

    extensions_map = {".js": "text/javascript"}  # noqa: RUF012

    def do_GET(self) -> None:
        if self.path != "/":
            return super().do_GET()
        self.send_response(200)
        self.send_header("Content-Type", "text/html; charset=utf-8")
        self.end_headers()
        self.wfile.write(b"<!doctype html><title>Formulas</title><link rel=icon href=data:,>")
        return None

    def log_message(self, format: str, *args: object) -> None:
        """Say nothing: the tests tell what failed."""


@pytest.fixture(scope="session")
def twin(browser: Browser) -> Iterator[Page]:
    """A page from which every formula's JavaScript can be imported."""
    handler = partial(_Static, directory=str(ROOT / "static"))
    with ThreadingHTTPServer(("127.0.0.1", 0), handler) as server:
        threading.Thread(target=server.serve_forever, daemon=True).start()
        page = browser.new_page()
        page.goto(f"http://127.0.0.1:{server.server_port}/")
        yield page
        page.close()
        server.shutdown()
