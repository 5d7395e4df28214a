"""Firefox, driven over WebDriver BiDi (W3C), which it speaks by itself."""

import json
import queue
import re
import subprocess
import threading
from contextlib import ExitStack, suppress
from pathlib import Path
from typing import Any

from websockets.exceptions import ConnectionClosed
from websockets.sync.client import connect

from tests.engines.engine import Engine, Handle
from tests.waits import PATIENCE_S, until

_LISTENS = re.compile(r"WebDriver BiDi listening on (ws://\S+)")

_PREFERENCES = {
    "browser.download.folderList": 2,
    "browser.download.useDownloadDir": True,
    # Nothing is asked of the browser's maker, and nothing is shown instead of the page.
    "browser.aboutwelcome.enabled": False,
    "browser.newtabpage.enabled": False,
    "browser.region.network.url": "",
    "browser.shell.checkDefaultBrowser": False,
    "browser.startup.homepage_override.mstone": "ignore",
    "browser.startup.page": 0,
    "extensions.update.enabled": False,
    "extensions.systemAddon.update.enabled": False,
    "datareporting.policy.dataSubmissionEnabled": False,
    "app.normandy.enabled": False,
    "network.captive-portal-service.enabled": False,
    "network.connectivity-service.enabled": False,
    # A sound card of its own making: without one nothing sounds.
    "media.cubeb.force_mock_context": True,
    # Notifications that it shows by itself: there is no desktop to show them.
    "alerts.useSystemBackend": False,
    # Asked of her, it would wait for an answer.
    "permissions.default.desktop-notification": 1,
}


class Firefox(Engine):
    """A headless Firefox with a profile of its own, which `reopen` keeps."""

    name = "Firefox"

    def __init__(self, program: str, folder: Path, preferences: dict[str, Any]) -> None:
        self._errors: list[str] = []
        self._program = program
        self._profile = folder / "profile"
        self._profile.mkdir()
        self.downloads.mkdir()
        given = _PREFERENCES | {"browser.download.dir": str(self.downloads)} | preferences
        lines = [f"user_pref({json.dumps(k)}, {json.dumps(v)});\n" for k, v in given.items()]
        (self._profile / "user.js").write_text("".join(lines))
        self._launch()

    @property
    def errors(self) -> list[str]:
        return self._errors

    @property
    def downloads(self) -> Path:
        return self._profile.parent / "downloads"

    def _launch(self) -> None:
        self._stack = ExitStack()
        self._count = 0
        self._answers: queue.Queue[dict[str, Any]] = queue.Queue()
        said = self._profile.parent / "said.log"
        command = [self._program, "--headless", "--no-remote", "--profile", str(self._profile)]
        command += ["--remote-debugging-port", "0"]
        with said.open("w") as log:
            self._process = subprocess.Popen(command, stdout=log, stderr=log)
        try:
            self._connect(said)
        except BaseException:
            self._process.kill()
            raise

    def _connect(self, said: Path) -> None:
        found = until(
            lambda: _LISTENS.search(said.read_text()),
            lambda: "Firefox did not start:\n" + said.read_text(),
        )
        self._socket = self._stack.enter_context(connect(f"{found[1]}/session", max_size=None))
        threading.Thread(target=self._read, daemon=True).start()
        self._call("session.new", {"capabilities": {}})
        self._call("session.subscribe", {"events": ["log.entryAdded"]})
        self._page = self._call("browsingContext.getTree", {})["contexts"][0]["context"]

    def _read(self) -> None:
        for text in self._socket:
            told = json.loads(text)
            if "id" in told:
                self._answers.put(told)
            elif told["method"] == "log.entryAdded" and told["params"]["level"] == "error":
                self._errors.append(str(told["params"].get("text")))

    def _call(self, method: str, given: dict[str, Any]) -> dict[str, Any]:
        self._count += 1
        self._socket.send(json.dumps({"id": self._count, "method": method, "params": given}))
        told = self._answers.get(timeout=PATIENCE_S)
        if told["type"] == "error":
            raise AssertionError(f"{method}: {told['error']}: {told['message']}")
        result: dict[str, Any] = told["result"]
        return result

    def open(self, url: str) -> None:
        given = {"context": self._page, "url": url, "wait": "complete"}
        self._call("browsingContext.navigate", given)

    def reload(self) -> None:
        self._call("browsingContext.reload", {"context": self._page, "wait": "complete"})

    def reopen(self, url: str) -> None:
        self.close()
        self._launch()
        self.open(url)

    def _evaluate(self, function: str, given: list[dict[str, Any]], ownership: str) -> Any:
        told = self._call(
            "script.callFunction",
            {
                "functionDeclaration": function,
                "arguments": given,
                "awaitPromise": True,
                "target": {"context": self._page},
                "resultOwnership": ownership,
                # What a finger may do, as a sound, is begun by a finger alone.
                "userActivation": False,
            },
        )
        if told["type"] == "exception":
            raise AssertionError(told["exceptionDetails"]["text"])
        return told["result"]

    def run(self, function: str, *values: Any) -> Any:
        whole = f"async (text) => JSON.stringify(await ({function})(...JSON.parse(text))) ?? 'null'"
        text = {"type": "string", "value": json.dumps(values)}
        return json.loads(self._evaluate(whole, [text], "none")["value"])

    def find(self, function: str, *values: Any) -> Handle | None:
        whole = f"(text) => ({function})(...JSON.parse(text))"
        found = self._evaluate(whole, [{"type": "string", "value": json.dumps(values)}], "root")
        return {"sharedId": found["sharedId"]} if found["type"] == "node" else None

    def tap(self, handle: Handle) -> None:
        move = {"type": "pointerMove", "x": 0, "y": 0}
        move["origin"] = {"type": "element", "element": handle}
        touch = [move, {"type": "pointerDown", "button": 0}, {"type": "pointerUp", "button": 0}]
        finger = {"type": "pointer", "id": "finger", "parameters": {"pointerType": "mouse"}}
        self._call(
            "input.performActions",
            {"context": self._page, "actions": [{**finger, "actions": touch}]},
        )

    def type(self, handle: Handle, text: str) -> None:
        self._evaluate("(box) => { box.focus(); box.select(); }", [handle], "none")
        strokes = [
            {"type": kind, "value": letter} for letter in text for kind in ("keyDown", "keyUp")
        ]
        keys = {"type": "key", "id": "keys", "actions": strokes}
        self._call("input.performActions", {"context": self._page, "actions": [keys]})

    def close(self) -> None:
        try:
            # Of itself it goes once all is on the disk. It may be gone before it has answered.
            with suppress(queue.Empty, ConnectionClosed):
                self._call("browser.close", {})
            self._process.wait(PATIENCE_S)
        except subprocess.TimeoutExpired:
            self._process.kill()
            self._process.wait()
        finally:
            self._stack.close()
