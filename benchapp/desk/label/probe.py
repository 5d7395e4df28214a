"""A picture from a person drawn once in a process of its own, before the server draws it.

The typesetter's picture library gives up on some pictures by ending its whole process, and others
may take it too long: ``python -m benchapp.desk.label.probe`` reads one from its standard input.
"""

import subprocess
import sys
from contextlib import suppress
from functools import lru_cache
from typing import Any

WAIT_S = 20.0
_MOST_MEMORY = 2_000_000_000
_SIDE_MM = 40.0


@lru_cache(maxsize=16)
def can_be_drawn(svg: str) -> bool:
    """Whether a picture can be drawn, as page and as dots; what was found is kept."""
    try:
        done = subprocess.run(
            [sys.executable, "-m", "benchapp.desk.label.probe"],
            input=svg.encode(),
            capture_output=True,
            timeout=WAIT_S,
            check=False,
        )
    except subprocess.TimeoutExpired:
        return False
    return done.returncode == 0


def main() -> None:
    """Draw what comes in; the status is 0 where that could be done."""
    _limit_memory()
    from benchapp.desk.label import typesetter  # noqa: PLC0415 - after the limit

    item = {"is": "picture", "name": "logo", "x": 0, "y": 0, "width": _SIDE_MM, "height": _SIDE_MM}
    data: dict[str, Any] = {
        "title": "",
        "width": _SIDE_MM,
        "height": _SIDE_MM,
        "pictures": {"logo": sys.stdin.buffer.read().decode()},
        "piece": [item],
        "ready": None,
        "places": [[(0, 0)]],
        "extra": [],
    }
    typesetter.pages(data, "pdf")
    typesetter.pages(data, "png", 300.0)


def _limit_memory() -> None:
    with suppress(ImportError, OSError, ValueError):
        import resource  # noqa: PLC0415 - not everywhere

        resource.setrlimit(resource.RLIMIT_AS, (_MOST_MEMORY, _MOST_MEMORY))


if __name__ == "__main__":
    main()
