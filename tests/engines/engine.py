"""What the tests do with a browser, whichever it is."""

import time
from abc import ABC, abstractmethod
from pathlib import Path
from typing import Any

from tests.waits import until

Handle = dict[str, Any]
"""A place in the page, as the driver names it."""


class Engine(ABC):
    """A browser with one page. What its page logged as an error is in `errors`."""

    name: str

    @property
    @abstractmethod
    def errors(self) -> list[str]: ...

    @property
    @abstractmethod
    def downloads(self) -> Path:
        """Where it puts what the page saves."""

    @abstractmethod
    def open(self, url: str) -> None:
        """Open an address, and wait until it is loaded."""

    @abstractmethod
    def reload(self) -> None: ...

    @abstractmethod
    def reopen(self, url: str) -> None:
        """Close the page, the browser too where its storage outlives it, and open it anew."""

    @abstractmethod
    def run(self, function: str, *values: Any) -> Any:
        """What a function in the page answers, async or not; values and answer are JSON."""

    @abstractmethod
    def find(self, function: str, *values: Any) -> Handle | None:
        """The element that a function in the page answers."""

    @abstractmethod
    def tap(self, handle: Handle) -> None:
        """Touch what is in view, as a finger would: the page can't tell the difference."""

    @abstractmethod
    def type(self, handle: Handle, text: str) -> None:
        """Type into a box, instead of what is in it."""

    @abstractmethod
    def close(self) -> None: ...

    def wait(self, function: str, *values: Any) -> Any:
        """Wait until a function in the page answers something true; answer that."""

        last = ""

        def asked() -> Any:
            nonlocal last
            try:
                return self.run(function, *values)
            except AssertionError as error:  # a page may be going just now
                last = str(error)
                return None

        return until(
            asked, lambda: f"{self.name}: never true: {function}{values} {last}", self._rest
        )

    def wait_for(self, function: str, *values: Any) -> Handle:
        """Wait until a function in the page answers an element; answer that."""
        return until(
            lambda: self.find(function, *values), f"{self.name}: no {function}{values}", self._rest
        )

    @staticmethod
    def _rest() -> None:
        """Each question costs a browser more than it costs a page that Playwright drives."""
        time.sleep(0.04)
