"""A newer version of the app waits until nothing is on the bench."""

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from .hands import board, go_to, start, tap, title

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

    phone.get_by_role("link", name="on the bench").first.click()
    expect(title(phone)).to_have_text("Melt")
    go_to(phone, "Leave to set")
    tap(phone, "Set aside")
    expect(title(phone)).to_have_text("Today")
    is_edition(phone, "one")
    phone.reload()
    is_edition(phone, "two")
    until(phone, "async () => (await caches.keys()).length === 1")
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
