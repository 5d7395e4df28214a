"""Waits for a thing, and never for a time.

The one deadline stands here: it is there to end a test of what will never come, and is so generous
that it measures no machine, however busy.
"""

import time
from collections.abc import Callable
from typing import TypeVar

from playwright.sync_api import Error, Page

PATIENCE_S = 60.0

T = TypeVar("T")


def until(
    come: Callable[[], T],
    otherwise: str | Callable[[], str] = "It never came true.",
    pause: Callable[[], object] = lambda: time.sleep(0.01),
) -> T:
    """Ask again and again until the answer is true; return it.

    `pause` is done between two questions. What Playwright tells of arrives only while one of its
    functions waits, so a test that listens to a page passes `resting(page)`.

    Raises:
        AssertionError: it does not come true; with what is `otherwise` so.
    """
    ends = time.monotonic() + PATIENCE_S
    while not (answer := come()):
        assert time.monotonic() < ends, otherwise if isinstance(otherwise, str) else otherwise()
        pause()
    return answer


def resting(page: Page) -> Callable[[], None]:
    """A pause for `until` in which the page's events arrive."""
    return lambda: page.wait_for_timeout(20)


def until_in_page(page: Page, function: str) -> None:
    """Wait until an async function in the page answers something true.

    `page.wait_for_function` does not ask again where its function is async: the promise itself
    counts as true. A reload in between is waited out.
    """

    def is_true() -> bool:
        try:
            return bool(page.evaluate(function))
        except Error as error:
            if "context was destroyed" not in str(error):
                raise
            return False

    until(is_true, f"It never came true in the page: {function}", resting(page))
