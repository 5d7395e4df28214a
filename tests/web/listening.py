"""A phone that listens for news, as its page does."""

import http.client
from urllib.parse import urlsplit

from benchapp.web import live
from tests.waits import PATIENCE_S
from tests.web.caller import Caller


class Listening:
    """A stream that a phone has open. `heard` waits for its next event."""

    def __init__(self, caller: Caller) -> None:
        at = urlsplit(caller.url)
        self._line = http.client.HTTPConnection(str(at.hostname), at.port, timeout=PATIENCE_S)
        cookie = "; ".join(f"{name}={value}" for name, value in caller.cookies.items())
        self._line.request("GET", live.PATH, headers={"Cookie": cookie})
        self.answer = self._line.getresponse()

    def close(self) -> None:
        self.answer.close()
        self._line.close()

    def heard(self) -> str:
        """What the next event says; empty where the server has ended the stream."""
        line = self.answer.readline().decode()
        if line:
            assert self.answer.readline() == b"\n"
            assert line.startswith("data: ")
        return line.removeprefix("data: ").strip()
