"""The hop from a push service to Firefox, which its maker runs: a WebSocket that the browser keeps.

It speaks as much of that protocol as a subscription and a message need, on this machine. What a
server sends comes to a `PushService`, and goes on from there as it came: Firefox decrypts it.
"""

import json
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from websockets.exceptions import ConnectionClosed
from websockets.sync.server import ServerConnection, serve

from tests.reminders.push_service import PushService, b64u
from tests.waits import until


class PushHop:
    """`preferences` are what a Firefox needs to listen here; `service` may be given later."""

    def __init__(self) -> None:
        self.service: PushService | None = None
        self.preferences: dict[str, Any] = {
            "dom.push.testing.allowInsecureServerURL": True,
            # Those that a driven Firefox sets of itself turn push off.
            "remote.prefs.recommended": False,
        }

    def talk(self, browser: ServerConnection) -> None:
        """Answer one browser until it goes."""
        try:
            for text in browser:
                asked = json.loads(text)
                match asked.get("messageType"):
                    case "hello":
                        self._say(browser, asked, uaid="of-the-tests", use_webpush=True, status=200)
                    case "register":
                        self._register(browser, asked)
                    case "unregister":
                        self._say(browser, asked, channelID=asked["channelID"], status=200)
        except ConnectionClosed:
            pass  # the browser ends with its test

    def _register(self, browser: ServerConnection, asked: dict[str, Any]) -> None:
        assert self.service is not None, "No push service stands behind this hop"
        subscriber = self.service.subscribe(asked["key"])
        channel = asked["channelID"]
        given = {"channelID": channel, "pushEndpoint": subscriber.endpoint, "status": 200}
        self._say(browser, asked, **given)
        threading.Thread(target=self._hand_on, args=(browser, channel), daemon=True).start()

    def _hand_on(self, browser: ServerConnection, channel: str) -> None:
        service = self.service
        assert service is not None
        [push] = until(lambda: list(service.received), "No push came to the service.")
        told = {"messageType": "notification", "channelID": channel, "version": "1"}
        told |= {"data": b64u(push.data), "headers": {"encoding": "aes128gcm"}}
        browser.send(json.dumps(told))

    @staticmethod
    def _say(browser: ServerConnection, asked: dict[str, Any], **values: Any) -> None:
        browser.send(json.dumps({"messageType": asked["messageType"], **values}))


@contextmanager
def push_hop() -> Iterator[PushHop]:
    """Run one until the end of the block."""
    hop = PushHop()
    with serve(hop.talk, "127.0.0.1", 0) as server:
        hop.preferences["dom.push.serverURL"] = f"ws://127.0.0.1:{server.socket.getsockname()[1]}/"
        threading.Thread(target=server.serve_forever, daemon=True).start()
        yield hop
        server.shutdown()
