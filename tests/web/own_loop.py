"""An event loop of a test's own."""

import asyncio
from collections.abc import Coroutine
from concurrent.futures import ThreadPoolExecutor
from typing import Any


def run(story: Coroutine[Any, Any, None]) -> None:
    """Run it to its end, in a thread: in this one, the browser's loop may be running."""
    with ThreadPoolExecutor(1) as pool:
        pool.submit(asyncio.run, story).result()
