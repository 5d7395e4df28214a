"""WebKitGTK, driven over WebDriver (W3C) by its own driver, on a screen that nobody sees."""

import json
import os
import socket
import subprocess
import urllib.error
import urllib.request
from contextlib import ExitStack, suppress
from pathlib import Path
from typing import Any

from tests.engines.engine import Engine, Handle
from tests.waits import PATIENCE_S, until

_ELEMENT = "element-6066-11e4-a52e-4f735466cecf"
"""By this name the standard marks an element (WebDriver, section 12.2)."""

_LISTEN = """() => {
  const errors = (globalThis.errors = []);
  const before = console.error;
  console.error = (...said) => { errors.push(said.join(' ')); before(...said); };
  const told = (event) => errors.push(String(event.message ?? event.reason ?? event.target?.src));
  addEventListener('error', told, true);
  addEventListener('unhandledrejection', told);
  addEventListener('securitypolicyviolation', ({ violatedDirective, blockedURI }) =>
    errors.push(`policy: ${violatedDirective} refused ${blockedURI}`));
}"""


class WebKit(Engine):
    """Its smallest browser, which keeps its storage only while it runs.

    Its driver tells nothing of the console, so each page is listened to from within, once it has
    been loaded: of what goes wrong before, only what is seen on the screen is known.
    """

    name = "WebKitGTK"

    def __init__(self, program: str, folder: Path) -> None:
        self._errors: list[str] = []
        self._folder = folder
        self.downloads.mkdir()
        settings = folder / "settings"
        settings.mkdir()
        (settings / "user-dirs.dirs").write_text(f'XDG_DOWNLOAD_DIR="{self.downloads}"\n')
        self._stack = ExitStack()
        try:
            self._launch(program, settings)
        except BaseException:
            self._stack.close()
            raise

    def _launch(self, program: str, settings: Path) -> None:
        folder = self._folder
        screen = subprocess.Popen(
            ["Xvfb", "-displayfd", "1", "-screen", "0", "420x900x24", "-nolisten", "tcp"],
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            text=True,
        )
        self._stack.callback(_end, screen)
        assert screen.stdout is not None
        with screen.stdout as said:
            number = said.readline().strip()
        env = {
            **os.environ,
            "DISPLAY": f":{number}",
            # Nobody sees it: drawing it by layers only takes time.
            "WEBKIT_DISABLE_COMPOSITING_MODE": "1",
            "XDG_CONFIG_HOME": str(settings),
            "XDG_DATA_HOME": str(folder / "data"),
            "XDG_CACHE_HOME": str(folder / "cache"),
        }
        port = _free_port()
        with (folder / "driver.log").open("w") as log:
            command = [program, f"--port={port}"]
            driver = subprocess.Popen(command, env=env, stdout=log, stderr=subprocess.STDOUT)
        self._stack.callback(_end, driver)
        self._url = f"http://127.0.0.1:{port}"
        until(self._answers, "WebKit's driver did not start.")
        begun = self._call("POST", "/session", {"capabilities": {}})
        self._url += f"/session/{begun['sessionId']}"
        self._call("POST", "/timeouts", {"script": int(1000 * PATIENCE_S)})

    @property
    def downloads(self) -> Path:
        return self._folder / "downloads"

    def _answers(self) -> bool:
        try:
            return bool(self._call("GET", "/status")["ready"])
        except OSError:
            return False

    def _call(self, method: str, path: str, given: Any = None) -> Any:
        request = urllib.request.Request(  # noqa: S310
            self._url + path,
            None if method == "GET" else json.dumps(given or {}).encode(),
            {"Content-Type": "application/json"},
            method=method,
        )
        try:
            with urllib.request.urlopen(request, timeout=2 * PATIENCE_S) as answer:  # noqa: S310
                return json.load(answer)["value"]
        except urllib.error.HTTPError as error:
            told = json.load(error)["value"]
            raise AssertionError(f"{path}: {told['error']}: {told['message']}") from None

    def open(self, url: str) -> None:
        self._take_errors()
        self._call("POST", "/url", {"url": url})
        self._listen()

    def reload(self) -> None:
        self._take_errors()
        self._call("POST", "/refresh")
        self._listen()

    def _listen(self) -> None:
        self._call("POST", "/execute/sync", {"script": f"({_LISTEN})()", "args": []})

    def reopen(self, url: str) -> None:
        """Its page goes, and a new one comes in its place."""
        self._take_errors()
        handle = self._call("POST", "/window/new", {"type": "window"})["handle"]
        self._call("DELETE", "/window")
        self._call("POST", "/window", {"handle": handle})
        self.open(url)

    def _take_errors(self) -> None:
        """What the page that goes has logged."""
        self._errors += self.run("() => globalThis.errors?.splice(0) ?? []")

    @property
    def errors(self) -> list[str]:
        self._take_errors()
        return self._errors

    def run(self, function: str, *values: Any) -> Any:
        script = f"""const [text, done] = arguments;
          (async () => ({function})(...JSON.parse(text)))()
            .then((value) => done({{ value: value ?? null }}))
            .catch((error) => done({{ error: String(error) }}));"""
        told = self._call(
            "POST", "/execute/async", {"script": script, "args": [json.dumps(values)]}
        )
        assert "error" not in told, told["error"]
        return told["value"]

    def find(self, function: str, *values: Any) -> Handle | None:
        script = f"return ({function})(...JSON.parse(arguments[0])) ?? null;"
        given = {"script": script, "args": [json.dumps(values)]}
        found: Handle | None = self._call("POST", "/execute/sync", given)
        return found

    def tap(self, handle: Handle) -> None:
        self._call("POST", f"/element/{handle[_ELEMENT]}/click")

    def type(self, handle: Handle, text: str) -> None:
        self._call("POST", f"/element/{handle[_ELEMENT]}/clear")
        self._call("POST", f"/element/{handle[_ELEMENT]}/value", {"text": text})

    def close(self) -> None:
        with self._stack, suppress(OSError, AssertionError):
            self._call("DELETE", "")


def _end(process: subprocess.Popen[Any]) -> None:
    process.terminate()
    process.wait(PATIENCE_S)


def _free_port() -> int:
    """Its driver does not say which port it took."""
    with socket.create_server(("127.0.0.1", 0)) as found:
        return int(found.getsockname()[1])
