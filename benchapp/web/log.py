"""The log: one JSON object a line, with no secret and nothing that a maker has written."""

import json
import logging
from datetime import UTC, datetime


class JsonLines(logging.Formatter):
    """A record as JSON: when, how grave, where from, what, and the facts given as ``told``."""

    def format(self, record: logging.LogRecord) -> str:
        line = {
            "at": datetime.fromtimestamp(record.created, UTC).isoformat(timespec="milliseconds"),
            "level": record.levelname.lower(),
            "from": record.name,
            "what": record.getMessage(),
            **getattr(record, "told", {}),
        }
        if record.exc_info:
            line["trace"] = self.formatException(record.exc_info)
        return json.dumps(line)


def to_stderr() -> None:
    """Write the log of everything of ours to the standard error stream."""
    handler = logging.StreamHandler()
    handler.setFormatter(JsonLines())
    ours = logging.getLogger("benchapp")
    ours.handlers[:] = [handler]
    ours.setLevel(logging.INFO)
    ours.propagate = False
