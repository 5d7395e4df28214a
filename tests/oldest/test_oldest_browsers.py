"""The oldest browsers that can run the bench: what the code uses, looked up in MDN's table.

The table is `@mdn/browser-compat-data`, at the version named here, so that the answer is the same
tomorrow. What the bench asks for first, or can do without, stands below with the reason; all else
is needed, and the newest of it makes the oldest browser. No browser of that age is run here.
"""

import json
import os
import re
import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).resolve().parents[2]
PACKAGES = ("typescript@5.9.3", "css-tree@3.2.1", "@mdn/browser-compat-data@8.1.9")

OLDEST = {
    **{"chrome": 108, "chrome_android": 108},
    **{"firefox": 147, "firefox_android": 147},
    **{"safari": 16, "safari_ios": 16},
}

WITHOUT = {
    # What the bench asks for first, and says so where it is not there.
    r"api\.(WakeLock|Navigator\.wakeLock)": "the board says that the screen goes dark by itself",
    r"api\.(Push|Notification|ServiceWorkerRegistration\.(pushManager|showN|getN)|"
    r"ServiceWorkerGlobalScope\.(push|notification))": "Reminders says that it can't give any",
    r"api\.ServiceWorkerGlobalScope\.sync_event": "the next page sends what waits",
    r"api\.Navigator\.(set|clear)AppBadge": "a number on the icon, and no more",
    r"api\.Navigator\.(canS|s)hare": "the button is there only where a file can be sent",
    r"api\.Navigator\.vibrate": "the bells are heard",
    r"api\.StorageManager\.estimate": "how much room there is in all is not said",
    r"api\.(Navigator\.userActivation|UserActivation)": "taken to be so where it is not told",
    r"api\.(DeviceMotionEvent|Window\.devicemotion)": "hands-free says that no movement is felt",
    # What is only nicer with it.
    r"css\.properties\.(text-wrap|scrollbar-gutter|overscroll-behavior|forced-color-adjust|paint-order|"
    r"print-color-adjust|line-clamp|break-after|cursor)|css\.at-rules\.page": "looks, paper",
    r"css\.properties\.justify-content\.safe": "what is too high begins at the middle: it scrolls",
    r"css\.types\.color\.color-mix": "the tint of the beam, whose edge is drawn",
    r"html\.elements\.(meta\.name|link\.rel)": "a hint that may be passed over",
    r"html\.global_attributes\.auto": "the keyboard's manners",
    r"html\.elements\.input\.capture": "a picture is chosen instead of taken",
}

PARTLY = {
    # There before, but for what the bench does not use of it.
    r"api\.AbortSignal\.timeout_static": "the error had another name; none is asked for",
    r"api\.AudioParam\.": "the curve between two moments is a little other",
    r"api\.CanvasRenderingContext2D\.font": "some keywords are not read; it has none of them",
    r"css\.properties\.(accent-color|outline)": "the colour of a tick; corners of the focus ring",
}


@pytest.fixture(scope="module")
def uses(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    """By root: what is `used` (key -> where, and since when), and what is `unknown`."""
    npx = shutil.which("npx")
    if npx is None:
        reason = "What the code uses is looked up by npx (Node.js): none was found."
        if os.environ.get("CI"):
            pytest.fail(reason, pytrace=False)
        pytest.skip(reason)
    new = tmp_path_factory.mktemp("new")
    for name, text in NEW.items():
        (new / name).parent.mkdir(exist_ok=True)
        (new / name).write_text(text)
    script = Path(__file__).with_name("uses.cjs")
    with_packages = [f"--package={each}" for each in PACKAGES]
    done = subprocess.run(
        [npx, "--yes", *with_packages, "node", str(script), str(ROOT), str(new)],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    ours, others = json.loads(done.stdout).values()
    return {"ours": ours, "new": others}


def matching(rules: dict[str, str], key: str) -> str | None:
    return next((rule for rule in rules if re.match(rule, key)), None)


def needs(found: dict[str, Any], browser: str) -> Iterator[tuple[float, str]]:
    """Of what can't be done without: since when it is there, and what and where it is."""
    for key, use in found["used"].items():
        if matching(WITHOUT, key) is None:
            whole, partly = use["since"][browser]
            since = partly if matching(PARTLY, key) else whole
            yield (float("inf") if since is None else since, f"{key} at {use['where']}")


def test_all_that_is_used_is_in_the_table(uses: dict[str, Any]) -> None:
    assert uses["ours"]["unknown"] == {}
    assert len(uses["ours"]["used"]) > 500


@pytest.mark.parametrize("browser", OLDEST)
def test_the_oldest_browser_has_all_that_is_needed(uses: dict[str, Any], browser: str) -> None:
    found = sorted(needs(uses["ours"], browser), reverse=True)
    too_new = [f"{since:g}: {what}" for since, what in found if since > OLDEST[browser]]
    assert too_new == []
    # Nor is an older one turned away.
    assert found[0][0] == OLDEST[browser], found[0]


def test_each_exception_is_needed(uses: dict[str, Any]) -> None:
    """One that nothing falls under any more would hide the next."""
    for rules, which in ((WITHOUT, 0), (PARTLY, 0)):
        late = {
            matching(rules, key)
            for key, use in uses["ours"]["used"].items()
            for browser, oldest in OLDEST.items()
            if (use["since"][browser][which] or float("inf")) > oldest
        }
        assert set(rules) <= late


def test_an_older_one_is_known_by_what_it_lacks(uses: dict[str, Any]) -> None:
    """The page asks for these (`offline.js` and `offline_state.js`), and tells her."""
    marks = {
        "css.types.length.viewport_percentage_units_dynamic": ("chrome", "chrome_android"),
        "css.properties.container-type.size": ("safari", "safari_ios"),
        "api.ServiceWorker.ecmascript_modules": ("firefox", "firefox_android"),
    }
    for mark, browsers in marks.items():
        for browser in browsers:
            assert uses["ours"]["used"][mark]["since"][browser][0] == OLDEST[browser]


def test_they_are_told_where_she_reads_it() -> None:
    page = (ROOT / "templates" / "shell.html").read_text(encoding="utf-8")
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    names = {"chrome": "Chrome", "firefox": "Firefox", "safari_ios": "iOS"}
    told = [f"{name} {OLDEST[browser]}" for browser, name in names.items()]
    assert f'oldest = "{", ".join(told)}"' in page
    assert all(each in readme for each in [*told, f"Safari {OLDEST['safari']}"])


# ---- the check can fail --------------------------------------------------------------------------

NEW = {
    "static/new.js": """
export const joined = (/** @type {string} */ text) => text.replace(/(?<=a)b/, "");
export const both = new Set([1]).union(new Set([2]));
export const view = document.startViewTransition(() => undefined);
document.addEventListener("scrollend", () => view.skipTransition());
document.createElement("div").popover = "auto";
export const later = await Promise.withResolvers().promise;
""",
    "static/new.css": "@scope (.a) { p { inset: 1dvh; color: oklch(0 0 0); &:open { zoom: 2; } } }",
    "templates/new.html": '<search><button popovertarget="a"></button></search>',
    "service_worker/new.js": "self.addEventListener('backgroundfetchsuccess', () => undefined);",
}


def test_what_is_new_is_found(uses: dict[str, Any]) -> None:
    assert set(uses["new"]["used"]) >= {
        "javascript.regular_expressions.lookbehind_assertion",
        "javascript.builtins.Set.union",
        "api.Document.startViewTransition",
        "api.ViewTransition.skipTransition",
        "api.Document.scrollend_event",
        "api.HTMLElement.popover",
        "javascript.operators.await.top_level",
        "javascript.builtins.Promise.withResolvers",
        "css.at-rules.scope",
        "css.properties.zoom",
        "css.selectors.nesting",
        "css.selectors.open",
        "css.types.color.oklch",
        "css.types.length.viewport_percentage_units_dynamic",
        "html.elements.button.popovertarget",
        "html.elements.search",
        "api.ServiceWorkerGlobalScope.backgroundfetchsuccess_event",
    }
    # The lookbehind alone would keep an iPhone before iOS 16.4 from the screen that it is in.
    since = {what.partition(" at ")[0]: since for since, what in needs(uses["new"], "safari_ios")}
    assert since["javascript.regular_expressions.lookbehind_assertion"] == 16.4
