"""The app can be put on a phone's home screen."""

import struct

import pytest

from benchapp import paths
from benchapp.web import icons, shell


def test_the_browser_finds_nothing_against_installing(
    playwright, chromium_path, server, checkout, open_ready, tmp_path
):
    running = server(checkout=checkout.path)
    # Ordinary test contexts are private windows, which never install.
    context = playwright.chromium.launch_persistent_context(
        tmp_path / "profile", executable_path=chromium_path
    )
    page = context.new_page()
    open_ready(page, running.url)
    session = context.new_cdp_session(page)
    errors = session.send("Page.getInstallabilityErrors")["installabilityErrors"]
    manifest = session.send("Page.getAppManifest")
    context.close()
    assert errors == []
    assert manifest["errors"] == []
    assert manifest["url"] == running.url + "manifest.webmanifest"


def test_the_icons_are_what_the_manifest_says():
    for icon in shell.MANIFEST["icons"]:
        body = (paths.STATIC / icon["src"].removeprefix("/static/")).read_bytes()
        if icon["type"] == "image/png":
            # W3C PNG: the header chunk holds width and height at byte 16.
            width, height = struct.unpack(">II", body[16:24])
            assert icon["sizes"] == f"{width}x{height}"
        else:
            assert body.startswith(b"<svg ")


@pytest.mark.parametrize("name", ["icon-192.png", "maskable-512.png"])
def test_the_icons_come_from_the_drawing(browser, name):
    """The PNG shows what the SVG draws: compared point by point in the browser."""
    side, rounded, scale = icons.ICONS[name]
    page = browser.new_page()
    svg = (paths.STATIC / "icons" / "icon.svg").read_text(encoding="utf-8")
    drawn = icons.pixels(page, svg, side, rounded, scale)
    stored = icons.decode(page, (paths.STATIC / "icons" / name).read_bytes())
    page.close()
    assert len(stored) == len(drawn) == side * side
    pairs = zip(drawn, stored, strict=True)
    off = [max(abs(a - b) for a, b in zip(p, q, strict=True)) for p, q in pairs]
    # Sixteen colours cannot hold every shade of an edge, but every flat face is exact.
    assert sum(difference > 0 for difference in off) < 0.03 * len(off)
    assert sum(difference > 64 for difference in off) == 0
