"""The browser that the tests and the measurements drive, and the phone that it stands for."""

import os
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

from playwright.sync_api import Playwright

PLAIN = ["--disable-features=WebUIOmniboxPopup,WebUIOmniboxAimPopup,SpareRendererForSitePerProcess"]
"""A browser that prepares neither suggestions below its address field nor a process for a page that
may come.

The suggestions are two pages of its own in every window, and took a third of the processor's time
of a visit; the process a fifth of that of opening an empty page (measured with version 156).
"""

PHONE: dict[str, Any] = {
    "viewport": {"width": 390, "height": 844},
    "has_touch": True,
    "is_mobile": True,
}
"""A context with a phone's screen."""


def find_chromium(playwright: Playwright) -> str | None:
    for name in ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable"):
        if path := shutil.which(name):
            return path
    apps = [
        "/Applications/Google Chrome.app/Contents/MacOS/Google Chrome",
        "/Applications/Chromium.app/Contents/MacOS/Chromium",
        r"C:\Program Files\Google\Chrome\Application\chrome.exe",
        playwright.chromium.executable_path,
    ]
    return next((path for path in apps if Path(path).is_file()), None)


def find_shell() -> str | None:
    """The headless shell: Chromium's engine without the windows around it.

    Chromium draws its own tabs, address field and icons for every page also where nobody sees
    them. The shell shows and does the same in the page, and takes a fifth less of the processor's
    time (measured with version 156).
    """
    names = ("chromium-headless-shell", "chrome-headless-shell")
    return next((path for name in names if (path := shutil.which(name))), None)


SHELL = [*PLAIN, "--disable-blink-features=OnDeviceWebSpeechAvailable"]
"""The shell has no speech recognition of its own, and ends a page that asks for it."""


def install_chromium() -> list[str]:
    """Try to install a Chromium; return a sentence for each way that failed."""
    ways = [("Playwright", [[sys.executable, "-m", "playwright", "install", "chromium"]])]
    if shutil.which("apt-get") and hasattr(os, "geteuid") and os.geteuid() == 0:
        apt = ["apt-get", "install", "-y", "--no-install-recommends", "chromium"]
        ways.insert(0, ("apt-get", [["apt-get", "update"], apt]))
    said = []
    for name, commands in ways:
        for command in commands:
            done = subprocess.run(command, capture_output=True, text=True, check=False)
            if done.returncode != 0:
                last = (done.stderr.strip() or done.stdout.strip() or "no reason given").split("\n")
                said.append(f"Installing it with {name} did not work: {last[-1]}")
                break
        else:
            return said
    return said
