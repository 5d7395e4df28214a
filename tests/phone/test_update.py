"""A newer version of the app waits until nothing is on the bench, and nothing waiting is lost."""

import re
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from tests.phone.maker import board, go_to, new_code, start, tap, title

ROOT = Path(__file__).resolve().parents[2]

# Ask for a newer version and wait until it is on the phone.
_FETCH = """async () => {
  const registration = await navigator.serviceWorker.ready;
  const there = new Promise((resolve) => registration.addEventListener('updatefound', () => {
    const { installing } = registration;
    installing.addEventListener('statechange', () => {
      if (['installed', 'redundant'].includes(installing.state)) resolve(installing.state);
    });
  }, { once: true }));
  await registration.update();
  return there;
}"""

# Ends after the attempt at the page's start, which was first.
_TAKE_OVER = "async () => (await import('/static/offline.js')).takeOver()"

_EDITION = "() => getComputedStyle(document.documentElement).getPropertyValue('--edition').trim()"


@pytest.fixture
def checkout(tmp_path) -> Path:
    """A copy of the whole code, so that a file of the shell can be changed."""
    copy = tmp_path / "checkout"
    for name in ("benchapp", "static", "templates", "service_worker"):
        shutil.copytree(ROOT / name, copy / name, ignore=shutil.ignore_patterns("__pycache__"))
    edition(copy, "one")
    return copy


def edition(checkout: Path, name: str) -> None:
    tokens = checkout / "static" / "look" / "tokens.css"
    before = tokens.read_text(encoding="utf-8").split("\n/* edition */")[0]
    tokens.write_text(f"{before}\n/* edition */ :root {{ --edition: {name} }}\n", encoding="utf-8")


def is_edition(page: Page, name: str) -> None:
    page.wait_for_function(f"(name) => ({_EDITION})() === name", arg=name)


def test_no_newer_version_while_a_pour_is_on_the_bench(
    server: Callable, phone, checkout, open_ready, until
):
    bench = server(demo=True, checkout=checkout, environment={"BENCHAPP_DEBUG": "1"})
    open_ready(phone, bench.url)
    start(phone, bench.url, count="1")
    go_to(phone, "Melt")
    is_edition(phone, "one")
    edition(checkout, "two")
    assert phone.evaluate(_FETCH) == "installed"

    before = board(phone)
    phone.reload()
    expect(title(phone)).to_have_text("Melt")
    assert phone.evaluate(_TAKE_OVER) is False
    is_edition(phone, "one")
    assert board(phone) == before

    # Nor from another room, while the pour stands on the bench.
    phone.get_by_role("link", name="Leave the board").click()
    expect(title(phone)).to_have_text("Today")
    phone.reload()
    assert phone.evaluate(_TAKE_OVER) is False
    is_edition(phone, "one")

    phone.locator(".running .card").first.click()
    expect(title(phone)).to_have_text("Melt")
    go_to(phone, "Leave to set")
    tap(phone, "Set aside")
    expect(title(phone)).to_have_text("Today")
    is_edition(phone, "one")
    phone.reload()
    is_edition(phone, "two")
    until(phone, "async () => (await caches.keys()).length === 2")
    expect(phone.get_by_role("link", name="setting")).to_be_visible()


def test_a_newer_version_can_be_taken_from_the_workshop(server, phone, checkout, open_ready):
    bench = server(demo=True, checkout=checkout, environment={"BENCHAPP_DEBUG": "1"})
    open_ready(phone, bench.url)
    phone.goto(f"{bench.url}#/workshop")
    expect(title(phone)).to_have_text("Workshop")
    expect(phone.get_by_role("button", name="Use the newer version now")).to_be_hidden()
    edition(checkout, "two")
    assert phone.evaluate(_FETCH) == "installed"
    tap(phone, "Use the newer version now")
    is_edition(phone, "two")


# How it stands with the server, after an exchange.
_EXCHANGE = """async () => {
  const { exchangeNow, syncStatus } = await import('/static/records/exchange.js');
  await exchangeNow();
  return [syncStatus.state, syncStatus.count];
}"""


def other_protocol(checkout: Path, number: int) -> None:
    """Publish a bench and a server of another protocol."""
    for name, before in (
        ("benchapp/records/exchange.py", r"^PROTOCOL = \d+$"),
        ("static/records/outbox.js", r"^export const PROTOCOL = \d+;$"),
    ):
        file = checkout / name
        old = file.read_text(encoding="utf-8")
        line = re.search(before, old, re.MULTILINE)
        assert line
        new = re.sub(r"\d+", str(number), line[0])
        file.write_text(old.replace(line[0], new), encoding="utf-8")


def test_a_bench_of_an_older_protocol_keeps_all_and_goes_on_with_the_newer_one(
    server: Callable, phone, page_errors, checkout, open_ready, until
):
    bench = server(demo=True, checkout=checkout)
    open_ready(phone, bench.url)
    phone.goto(f"{bench.url}#/pair/{new_code(bench.data)}")
    tap(phone, "Join")
    expect(title(phone)).to_have_text("Workshop")
    assert phone.evaluate(_EXCHANGE) == ["resting", 0]

    # In the middle of a pour the server is updated; the bench on the phone is still the old one.
    start(phone, bench.url, count="1")
    go_to(phone, "Melt")
    assert phone.evaluate(_EXCHANGE) == ["resting", 0]
    port = int(bench.url.rstrip("/").rsplit(":", 1)[1])
    bench.stop()
    other_protocol(checkout, 99)
    edition(checkout, "two")
    server(demo=True, checkout=checkout, data=bench.data, port=port)
    tap(phone, "All melted")
    expect(title(phone)).to_have_text("Cool to fragrance")
    state, count = phone.evaluate(_EXCHANGE)
    assert state == "update"
    assert count > 0
    phone.get_by_role("link", name="Leave the board").click()
    expect(phone.locator("#server")).to_contain_text("Nothing is lost: it goes on when the newer")

    # The pour is finished with the old one; then the newer one comes, and sends what waited.
    assert phone.evaluate(_FETCH) == "installed"
    phone.locator(".running .card").first.click()
    expect(title(phone)).to_have_text("Cool to fragrance")
    go_to(phone, "Leave to set")
    tap(phone, "Set aside")
    expect(title(phone)).to_have_text("Today")
    is_edition(phone, "one")
    phone.reload()
    is_edition(phone, "two")
    until(phone, f"async () => JSON.stringify(await ({_EXCHANGE})()) === '[\"resting\",0]'")
    expect(phone.locator("#server")).to_be_hidden()
    page_errors.clear()  # the browser logs each refused request
