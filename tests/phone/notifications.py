"""Real notifications on a real desk: a session bus, a stand-in for the desktop, and push by hand.

Chromium hands what a worker shows to ``org.freedesktop.Notifications`` (Desktop Notifications
Specification 1.2). Here that name belongs to a `Desk`, which keeps what it gets and can touch it,
so a click is as trusted as a finger's. Found with Chromium 150, headless, classic and module
workers alike:

- It needs a persistent context; in an ordinary one the notification is shown and a click is lost.
- A push wakes a stopped worker, also after the browser was started anew, with the app's server
  gone and no page of it opened since.
- A click wakes a stopped worker and ``clients.openWindow`` opens a page, also with no page open at
  all: the browser of a persistent context lives on. The page is a 'page' event of the context, has
  the phone's size, and may still be loading. With a page open, ``focus()`` and ``navigate()`` work.
- Buttons are counted through: those of a notification that takes the place of another go on where
  the other's ended. `Desk.press` finds the right one; the worker gets the action's own name.
- What the app takes back before the desk has answered may lie there for good, or never come.
- A second push of the same tag takes the first one's place only once that one is at the desk
  (`Desk.next`); sent at once after it, both lie there.
- A touch of what was shown before the browser was started anew is lost.
- The body arrives below the site's host and port. Chromium adds the buttons 'default' (a click)
  and 'settings' of its own.
- ``notificationclose`` may fire after a click too, before or after ``notificationclick``, or not.
- IndexedDB and fetch work in ``notificationclick``; ``context.set_offline`` cuts the worker's
  fetches too.
- A push that shows nothing goes unpunished here. Phones punish it.
"""

import asyncio
import json
import os
import shutil
import subprocess
import tempfile
import threading
from collections.abc import Callable, Coroutine, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Protocol

from dbus_fast import Message, MessageType
from dbus_fast.aio import MessageBus
from playwright.sync_api import Browser

from tests.waits import PATIENCE_S, until

HOW_TO_INSTALL = (
    "dbus-run-session was not found on PATH; the tests of notifications need a session bus. "
    "On Debian: apt-get install dbus-daemon."
)

_NAME = "org.freedesktop.Notifications"
_PATH = "/org/freedesktop/Notifications"
_BY_THE_USER, _BY_THE_APP = 2, 3  # why a notification was closed

# Without the machine's service folders: nothing else can be started on it, such as its own desk.
_BUS = """<!DOCTYPE busconfig PUBLIC "-//freedesktop//DTD D-Bus Bus Configuration 1.0//EN"
 "http://www.freedesktop.org/standards/dbus/1.0/busconfig.dtd">
<busconfig>
  <type>session</type>
  <listen>unix:tmpdir={scratch}</listen>
  <auth>EXTERNAL</auth>
  <policy context="default">
    <allow send_destination="*"/>
    <allow receive_sender="*"/>
    <allow own="*"/>
  </policy>
</busconfig>
"""

# It waits for the end of its input, which comes when the tests end, however they end. The bus
# ends with it.
_KEEPER = 'echo "$DBUS_SESSION_BUS_ADDRESS"; exec cat >/dev/null'


def has_bus() -> bool:
    """Return whether a desk can be set up on this machine."""
    return shutil.which("dbus-run-session") is not None


@dataclass(frozen=True)
class Shown:
    """A notification as it came to the desk."""

    id: int  # one that takes the place of another has the other's
    title: str
    body: str
    actions: tuple[str, ...]  # the labels of its buttons
    site: str  # host and port that it says it is from
    replaces: bool  # it took the place of another, of the same tag
    silent: bool
    keys: tuple[str, ...]  # what the desktop calls the buttons


class Desk:
    """Where notifications lie. Its methods are for the thread of the test."""

    def __init__(self, address: str) -> None:
        self.env: dict[str, str | float | bool] = {
            **os.environ,
            "DBUS_SESSION_BUS_ADDRESS": address,
        }
        self._all: list[Shown] = []
        self._given = 0
        self._count = 0
        self._lying: dict[int, Shown] = {}
        self._changed = threading.Condition()
        self._loop = asyncio.new_event_loop()
        self._thread = threading.Thread(target=self._loop.run_forever, daemon=True)
        self._thread.start()
        self._bus: MessageBus = self._run(self._sit_down(address))

    def next(self) -> Shown:
        """Wait for the next one that is shown; each is given once, the oldest first.

        Raises:
            AssertionError: none comes.
        """
        self._until(lambda: len(self._all) > self._given)
        assert len(self._all) > self._given, f"None came after these: {self._all}"
        self._given += 1
        return self._all[self._given - 1]

    def wait_gone(self, shown: Shown) -> None:
        """Wait until it no longer lies there: touched, taken back by the app, or replaced.

        Raises:
            AssertionError: it stays there.
        """
        self._until(lambda: self._lying.get(shown.id) != shown)
        assert self._lying.get(shown.id) != shown, f"It still lies there: {shown}"

    def click(self, shown: Shown) -> None:
        """Tap the notification itself."""
        self._touch(shown, "default")

    def press(self, shown: Shown, button: int) -> None:
        """Press a button, counted from 0."""
        self._touch(shown, shown.keys[button])

    def dismiss(self, shown: Shown) -> None:
        """Swipe it away."""
        assert self._lying.get(shown.id) == shown, f"It lies there no longer: {shown}"
        self._run(self._take_away(shown.id, _BY_THE_USER))

    def leave(self) -> None:
        """Go from the bus. Nothing can be shown or touched any more."""
        self._run(self._get_up())
        self._loop.call_soon_threadsafe(self._loop.stop)
        self._thread.join()
        self._loop.close()

    def _until(self, true: Callable[[], bool]) -> None:
        with self._changed:
            self._changed.wait_for(true, PATIENCE_S)

    def _touch(self, shown: Shown, key: str) -> None:
        assert self._lying.get(shown.id) == shown, f"It lies there no longer: {shown}"
        self._run(self._tell("ActionInvoked", "us", shown.id, key))
        self._run(self._take_away(shown.id, _BY_THE_USER))

    def _run(self, work: Coroutine[Any, Any, Any]) -> Any:
        return asyncio.run_coroutine_threadsafe(work, self._loop).result(10)

    # ---- in the thread of the bus ----

    async def _sit_down(self, address: str) -> MessageBus:
        bus = await MessageBus(bus_address=address).connect()
        bus.add_message_handler(self._answer)
        await bus.request_name(_NAME)
        return bus

    async def _get_up(self) -> None:
        self._bus.disconnect()
        await self._bus.wait_for_disconnect()  # type: ignore[no-untyped-call]

    async def _tell(self, signal: str, signature: str, *body: Any) -> None:
        await self._bus.send(Message.new_signal(_PATH, _NAME, signal, signature, list(body)))

    async def _take_away(self, id_: int, why: int) -> None:
        with self._changed:
            gone = self._lying.pop(id_, None)
            self._changed.notify_all()
        if gone:
            await self._tell("NotificationClosed", "uu", id_, why)

    def _answer(self, asked: Message) -> Message | bool | None:
        if asked.message_type != MessageType.METHOD_CALL or asked.interface != _NAME:
            return None
        match asked.member:
            case "Notify":
                shown = self._lay(*asked.body)
                self._loop.create_task(self._announce(shown, asked.sender))
                return Message.new_method_return(asked, "u", [shown.id])
            case "CloseNotification":
                self._loop.create_task(self._take_away(asked.body[0], _BY_THE_APP))
                return Message.new_method_return(asked)
            case "GetCapabilities":
                return Message.new_method_return(asked, "as", [["body", "actions"]])
            case "GetServerInformation":
                return Message.new_method_return(asked, "ssss", ["desk", "tests", "1", "1.2"])
        return None

    def _lay(
        self,
        _app: str,
        replaces: int,
        _icon: str,
        title: str,
        text: str,
        actions: list[str],
        hints: dict[str, Any],
        _expires_ms: int,
    ) -> Shown:
        site, _, body = text.partition("\n\n")
        buttons = [
            (key, label)
            for key, label in zip(actions[::2], actions[1::2], strict=True)
            if key.isdigit()
        ]
        self._count += 1
        shown = Shown(
            id=replaces or self._count,
            title=title,
            body=body,
            actions=tuple(label for _, label in buttons),
            site=site,
            replaces=bool(replaces),
            silent="suppress-sound" in hints,
            keys=tuple(key for key, _ in buttons),
        )
        with self._changed:
            self._lying[shown.id] = shown
            self._changed.notify_all()
        return shown

    async def _announce(self, shown: Shown, browser: str | None) -> None:
        """Tell of it once the browser knows that it lies there: it hears so before the ping."""
        ping = Message(
            destination=browser, path="/", interface="org.freedesktop.DBus.Peer", member="Ping"
        )
        await self._bus.call(ping)
        with self._changed:
            self._all.append(shown)
            self._changed.notify_all()


@contextmanager
def notification_desk() -> Iterator[Desk]:
    """Set up a desk on a bus of its own, for browsers that are started with its ``env``.

    Close the browsers first.

    Raises:
        RuntimeError: the bus did not start; with what it said.
    """
    with tempfile.TemporaryDirectory(prefix="bench-bus-") as scratch:
        config, said = Path(scratch) / "bus.conf", Path(scratch) / "said"
        config.write_text(_BUS.format(scratch=scratch))
        with said.open("w") as err:
            bus = subprocess.Popen(
                ["dbus-run-session", f"--config-file={config}", "--", "sh", "-c", _KEEPER],
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=err,
                text=True,
                start_new_session=True,
            )
        try:
            address = bus.stdout.readline().strip() if bus.stdout else ""
            if not address:
                raise RuntimeError(f"The session bus did not start: {said.read_text()}")
            desk = Desk(address)
            try:
                yield desk
            finally:
                desk.leave()
        finally:
            bus.communicate()


def permit(browser: Browser, url: str, setting: str = "granted") -> None:
    """Answer for her whether the app at ``url`` may notify: 'granted', 'denied' or 'prompt'.

    It holds in the browser's own profile, which is that of a persistent context. Unlike
    `BrowserContext.grant_permissions` it leaves all other permissions alone. A browser that is
    started anew has to be told again.
    """
    # Through a page's session it would be forgotten as soon as that page is closed.
    browser.new_browser_cdp_session().send(
        "Browser.setPermission",
        {"permission": {"name": "notifications"}, "setting": setting, "origin": url},
    )


class Session(Protocol):
    """What the DevTools protocol is spoken through: Playwright's CDPSession, or a `BarePage`."""

    def send(self, method: str, params: dict[str, Any] | None = None) -> dict[str, Any]: ...
    def on(self, event: str, f: Callable[[dict[str, Any]], None]) -> Any: ...


class BarePage:
    """A page that Playwright did not make: unlike Playwright's own it can be hidden.

    It is of the browser's own profile. In a persistent context Playwright takes it for its own.
    """

    def __init__(self, browser: Browser, url: str) -> None:
        self._browser = browser.new_browser_cdp_session()
        self._browser.on("Target.receivedMessageFromTarget", self._take)
        self._hear: dict[str, Callable[[dict[str, Any]], None]] = {}
        self._answers: dict[int, dict[str, Any]] = {}
        self._target = self._browser.send("Target.createTarget", {"url": url})["targetId"]
        attached = {"targetId": self._target, "flatten": False}
        self._session = self._browser.send("Target.attachToTarget", attached)["sessionId"]
        self._asked = 0

    def send(self, method: str, params: dict[str, Any] | None = None) -> dict[str, Any]:
        self._asked += 1
        message = json.dumps({"id": self._asked, "method": method, "params": params or {}})
        told = {"sessionId": self._session, "message": message}
        self._browser.send("Target.sendMessageToTarget", told)
        wait_until(self._browser, lambda: self._asked in self._answers, f"No answer to {method}")
        answer = self._answers.pop(self._asked)
        assert "error" not in answer, answer
        found: dict[str, Any] = answer["result"]
        return found

    def on(self, event: str, f: Callable[[dict[str, Any]], None]) -> None:
        self._hear[event] = f

    def wait_for(self, expression: str) -> Any:
        """Wait until the expression is true in the page; what it then is."""
        found: list[Any] = []

        def is_true() -> bool:
            asked = {"expression": expression, "awaitPromise": True, "returnByValue": True}
            found.append(self.send("Runtime.evaluate", asked)["result"].get("value"))
            return bool(found[-1])

        wait_until(self._browser, is_true, f"It never came true: {expression}")
        return found[-1]

    def hide(self) -> None:
        """Bring another page before it."""
        other = self._browser.send("Target.createTarget", {"url": "about:blank"})["targetId"]
        self._browser.send("Target.activateTarget", {"targetId": other})
        self.wait_for("document.visibilityState === 'hidden'")

    def _take(self, event: dict[str, Any]) -> None:
        if event["sessionId"] != self._session:
            return
        message = json.loads(event["message"])
        if "id" in message:
            self._answers[message["id"]] = message
        elif heard := self._hear.get(message["method"]):
            heard(message["params"])


class PushService:
    """Delivers pushes to the workers of a browser, past any network. It lives as long as its page.

    Give it the session of a page that the test does not need, such as the blank one that a
    persistent context starts with: with that alone, no page of the app is open.
    """

    def __init__(self, session: Session) -> None:
        self._cdp = session
        self._registrations: dict[str, str] = {}  # by address
        self._workers: dict[str, dict[str, Any]] = {}  # by version
        self._cdp.on("ServiceWorker.workerRegistrationUpdated", self._take_registrations)
        self._cdp.on("ServiceWorker.workerVersionUpdated", self._take_versions)
        self._cdp.send("ServiceWorker.enable")

    def deliver(self, url: str, message: str | dict[str, Any]) -> None:
        """Push a text, or what is to be JSON, to the worker whose scope is ``url``.

        Raises:
            AssertionError: no worker is at work there. What came before would be lost.
        """
        wait_until(self._cdp, lambda: self._is_at_work(url), f"No worker is at work at {url}")
        self._cdp.send(
            "ServiceWorker.deliverPushMessage",
            {
                "origin": url.rstrip("/"),
                "registrationId": self._registrations[url],
                "data": message if isinstance(message, str) else json.dumps(message),
            },
        )

    def stop_workers(self) -> None:
        """Stop all workers of the browser, as a phone does between two pushes.

        A handler still at work is cut off: one may be when its notification is at the desk. What
        is asked of a worker while it stops starts it again, so it is stopped until it rests.
        """

        def are_stopped() -> bool:
            self._cdp.send("ServiceWorker.stopAllWorkers")
            return all(each["runningStatus"] == "stopped" for each in self._workers.values())

        wait_until(self._cdp, are_stopped, "A worker did not stop")

    def _is_at_work(self, url: str) -> bool:
        registration = self._registrations.get(url)
        return any(
            each["registrationId"] == registration and each["status"] == "activated"
            for each in self._workers.values()
        )

    def _take_registrations(self, event: dict[str, Any]) -> None:
        for found in event["registrations"]:
            if found["isDeleted"]:
                self._registrations.pop(found["scopeURL"], None)
            else:
                self._registrations[found["scopeURL"]] = found["registrationId"]

    def _take_versions(self, event: dict[str, Any]) -> None:
        for version in event["versions"]:
            self._workers[version["versionId"]] = version


def wait_until(session: Session, true: Callable[[], bool], otherwise: str) -> None:
    """Wait until it is true, and hear what comes through ``session`` meanwhile.

    Raises:
        AssertionError: it does not come true; with what is ``otherwise`` so.
    """
    # Playwright passes events on while it waits for an answer, to whatever question.
    until(true, otherwise, lambda: session.send("Target.getTargetInfo"))
