"""Draw the PNG icons from static/icons/icon.svg: `python -m benchapp.web.icons`.

Needs a Chromium and the test extra; run it after changing the drawing and commit what it writes.
The icons have three flat colours; a palette of 16 holds those and their edges, small on the wire.
"""

import base64
import shutil
import struct
import sys
import zlib
from collections import Counter
from pathlib import Path

from playwright.sync_api import Page, sync_playwright

from benchapp import paths

_COLOURS = 16

# name: (side in px, whether the ground keeps its round corners, scale of the motif). The system
# rounds the last two itself. A maskable icon may be cut to a circle of 80 % of its side (W3C Web
# Application Manifest, "icon masks"), so there the motif shrinks into that circle.
ICONS = {
    "icon-192.png": (192, True, 1.0),
    "icon-512.png": (512, True, 1.0),
    "maskable-512.png": (512, False, 0.78),
    "apple-touch-icon.png": (180, False, 0.92),
}

# The pixels of an image as base64 of RGBA bytes.
_PIXELS = """async ([address, side]) => {
  const image = new Image();
  image.src = address;
  await image.decode();
  const canvas = document.createElement('canvas');
  canvas.width = canvas.height = side;
  const context = canvas.getContext('2d');
  context.drawImage(image, 0, 0, side, side);
  const pixels = context.getImageData(0, 0, side, side).data;
  let text = '';
  for (let i = 0; i < pixels.length; i += 8192) {
    text += String.fromCharCode(...pixels.subarray(i, i + 8192));
  }
  return btoa(text);
}"""

# The drawing, changed for one icon, as a data address.
_DRAW = """([svg, side, round, scale]) => {
  const drawing = new DOMParser().parseFromString(svg, 'image/svg+xml').documentElement;
  drawing.setAttribute('width', side);
  drawing.setAttribute('height', side);
  if (!round) drawing.querySelector('#ground').removeAttribute('rx');
  const middle = 256 * (1 - scale);
  drawing.querySelector('#motif')
    .setAttribute('transform', `translate(${middle} ${middle}) scale(${scale})`);
  return 'data:image/svg+xml,' +
    encodeURIComponent(new XMLSerializer().serializeToString(drawing));
}"""


def pixels(page: Page, svg: str, side: int, rounded: bool, scale: float) -> list[bytes]:
    """Draw `svg` in the browser, `side` px square: RGBA of each pixel, row by row."""
    return _read(page, page.evaluate(_DRAW, [svg, side, rounded, scale]), side)


def decode(page: Page, png: bytes) -> list[bytes]:
    """The RGBA pixels of a square PNG, as the browser reads it."""
    side = struct.unpack(">I", png[16:20])[0]
    return _read(page, "data:image/png;base64," + base64.b64encode(png).decode(), side)


def _read(page: Page, address: str, side: int) -> list[bytes]:
    rgba = base64.b64decode(page.evaluate(_PIXELS, [address, side]))
    return [rgba[i : i + 4] for i in range(0, len(rgba), 4)]


def _palette_png(points: list[bytes], side: int) -> bytes:
    """Encode RGBA pixels as an indexed PNG (W3C PNG, third edition)."""
    palette = [colour for colour, _ in Counter(points).most_common(_COLOURS)]
    # Transparent entries first, so that the transparency chunk ends after them.
    palette.sort(key=lambda colour: colour[3])
    nearest = {
        colour: min(
            range(len(palette)),
            key=lambda i: sum((a - b) ** 2 for a, b in zip(colour, palette[i], strict=True)),
        )
        for colour in set(points)
    }
    # Four bits a pixel: two neighbours share a byte. Every side is even.
    pairs = zip(points[::2], points[1::2], strict=True)
    packed = bytes(nearest[left] << 4 | nearest[right] for left, right in pairs)
    row = side // 2
    rows = b"".join(b"\0" + packed[i : i + row] for i in range(0, len(packed), row))
    chunks = [
        (b"IHDR", struct.pack(">IIBBBBB", side, side, 4, 3, 0, 0, 0)),
        (b"PLTE", b"".join(colour[:3] for colour in palette)),
        (b"tRNS", bytes(colour[3] for colour in palette if colour[3] < 255)),
        (b"IDAT", zlib.compress(rows, 9)),
        (b"IEND", b""),
    ]
    return b"\x89PNG\r\n\x1a\n" + b"".join(
        struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))
        for kind, data in chunks
        if data or kind == b"IEND"
    )


def draw(folder: Path, chromium: str | None) -> None:
    """Write every icon into `folder`; `chromium` None uses Playwright's own browser."""
    svg = (paths.STATIC / "icons" / "icon.svg").read_text(encoding="utf-8")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium)
        page = browser.new_page()
        for name, (side, rounded, scale) in ICONS.items():
            points = pixels(page, svg, side, rounded, scale)
            (folder / name).write_bytes(_palette_png(points, side))
        browser.close()


if __name__ == "__main__":
    icons = paths.STATIC / "icons"
    draw(icons, shutil.which("chromium") or shutil.which("google-chrome"))
    for path in sorted(icons.iterdir()):
        sys.stdout.write(f"{path.name} {path.stat().st_size} bytes\n")
