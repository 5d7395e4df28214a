"""What a maker does with the app in any browser: by finger and keys, and what she sees there."""

import re
from typing import Any

from tests.engines.engine import Engine, Handle
from tests.phone.maker import _KEPT as KEPT

_FIND = """(css, text) => {
  const open = document.querySelector('dialog[open]') ?? document;
  const said = (box) => box.innerText.replace(/\\s+/g, ' ').trim();
  const seen = (box) => box.getClientRects().length > 0 && !box.disabled;
  return [...open.querySelectorAll(css)].find(
    (box) => seen(box) && (text === null || said(box) === text)) ?? null;
}"""

# It stays where it is, and nothing lies over it.
_STEADY = f"""async (css, text) => {{
  const box = ({_FIND})(css, text);
  if (box === null) return false;
  box.scrollIntoView({{ block: 'center' }});
  const place = () => {{
    const {{ x, y, width, height }} = box.getBoundingClientRect();
    return [x + width / 2, y + height / 2];
  }};
  const before = place();
  for (const _ of [1, 2]) await new Promise(requestAnimationFrame);
  const [x, y] = place();
  return before.join() === [x, y].join() && box.contains(document.elementFromPoint(x, y));
}}"""

_SHOWN = """(css, pattern) => {
  const said = (box) => box.innerText.replace(/\\s+/g, ' ').trim();
  return [...document.querySelectorAll(css)].some(
    (box) => box.getClientRects().length > 0 && new RegExp(pattern).test(said(box)));
}"""

_FORWARD = """(ms) => {
  const before = Date.now;
  Date.now = () => before() + ms;
  // As a phone does that has slept.
  dispatchEvent(new Event('focus'));
}"""

_WHERE = """() => {
  const said = (box) => box?.innerText.replace(/\\s+/g, ' ').trim() ?? '';
  return ['h1', '.act .go', '[data-slot=doing]'].map(
    (css) => said(document.querySelector(`#screen ${css}`)));
}"""


class Maker:
    """At the bench with one browser."""

    def __init__(self, engine: Engine, url: str) -> None:
        self.engine = engine
        self.url = url

    # ---- what she does

    def touch(self, css: str, text: str | None = None) -> None:
        """Touch what can be seen there, once it is at rest; the first that says `text`."""
        self.engine.wait(_STEADY, css, text)
        self.engine.tap(self.engine.wait_for(_FIND, css, text))

    def tap(self, name: str) -> None:
        """Touch the button of this name."""
        self.touch("button, a.go, a.quiet", name)

    def main(self) -> None:
        """Touch the board's main action."""
        self.touch(".act .go")

    def fill(self, css: str, text: str) -> None:
        box: Handle = self.engine.wait_for(_FIND, css, None)
        self.engine.type(box, text)

    def at(self, path: str) -> None:
        """Open a screen, such as 'log', and wait until it is drawn."""
        name = path.partition("/")[0]
        self.engine.run(
            """(path) => {
              document.querySelector('#screen > *')?.setAttribute('data-before', '');
              location.hash = `#/${path}`;
            }""",
            path,
        )
        self.engine.wait(
            "(name) => document.body.dataset.screen === name"
            " && document.querySelector(`#screen > .screen.${name}:not([data-before])`) !== null",
            name,
        )

    def read_off(self, text: str) -> None:
        """Open the number pad, press what the thermometer shows, and enter it."""
        asks = "^(Another number|Thermometer shows…|Dip again|Dip)$"
        self.engine.wait(_SHOWN, ".act button", asks)
        self.touch_one(".act button", asks)
        self.engine.wait("() => document.querySelector('dialog[open]') !== null")
        if self.engine.run("() => document.querySelector('dialog.ladder') !== null"):
            self.tap("Another number")
            self.engine.wait("() => document.querySelector('dialog.pad[open]') !== null")
        for key in text:
            self.touch("dialog.pad .keys button", key)
        self.tap("Enter")

    def go_to(self, step: str) -> None:
        """Do what the board says until its heading begins with `step`."""
        for _ in range(20):
            here = self.engine.run(_WHERE)
            if here[0].startswith(step):
                return
            if here[0].startswith("Cool to") and here[1] == "Thermometer shows…":
                self.read_off("70")
            else:
                self.main()
            self.engine.wait(f"(before) => ({_WHERE})().join() !== before", ",".join(here))
        raise AssertionError(f"The board never came to “{step}”: {self.text('#screen')}")

    def touch_one(self, css: str, pattern: str) -> None:
        """Touch the first there that says something of this pattern."""
        text = self.engine.run(
            "(css, pattern) => [...document.querySelectorAll(css)]"
            ".map((box) => box.innerText.replace(/\\s+/g, ' ').trim())"
            ".find((text) => new RegExp(pattern).test(text))",
            css,
            pattern,
        )
        self.touch(css, text)

    def forward(self, seconds: float) -> None:
        """Let the phone's clock go on, as if it had slept."""
        self.engine.run(_FORWARD, int(1000 * seconds))

    # ---- what she sees

    def sees(self, pattern: str, css: str = "#screen") -> None:
        """Wait until something of this pattern can be read there."""
        self.engine.wait(_SHOWN, css, pattern)

    def is_at(self, step: str) -> None:
        """Wait until the board, or a screen, has this in its heading."""
        self.sees(re.escape(step), "#screen h1")

    def text(self, css: str) -> str:
        return str(self.engine.run("(css) => document.querySelector(css)?.innerText ?? ''", css))

    def seconds_left(self) -> int:
        """The giant number read as a countdown."""
        total = 0
        for part in self.text('#screen [data-slot="number"]').split(":"):
            total = total * 60 + int(part)
        return total

    # ---- what is kept

    def kept(self) -> dict[str, list[dict[str, Any]]]:
        """Everything in IndexedDB, read without the app's own code."""
        found: dict[str, list[dict[str, Any]]] = self.engine.run(KEPT)
        return found
