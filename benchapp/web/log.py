"""The log: one JSON object a line, with no secret and nothing that a maker has written."""

import json
import logging
import traceback
from datetime import UTC, datetime
from types import TracebackType
from typing import Any


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

    def formatException(self, ei: Any) -> str:
        """Where it happened and what kind it was, the last first.

        What an exception says is left out: a database's quotes the row that it refused.
        """
        error: BaseException | None = ei[1]
        told = []
        while error is not None:
            told.append(_frames(error.__traceback__) + _kind(error))
            suppressed = error.__suppress_context__
            error = error.__cause__ or (None if suppressed else error.__context__)
        return "\nwhich came of\n".join(told)


def _frames(trace: TracebackType | None) -> str:
    return "".join(traceback.format_tb(trace))


def _kind(error: BaseException) -> str:
    """The name of its class, and the code that a database or the system gave."""
    codes = (getattr(error, name, None) for name in ("sqlstate", "sqlite_errorname", "errno"))
    code = next((code for code in codes if code is not None), None)
    return type(error).__qualname__ + (f" {code}" if code is not None else "")


def to_stderr() -> None:
    """Write the log of everything of ours to the standard error stream, and errors below us."""
    handler = logging.StreamHandler()
    handler.setFormatter(JsonLines())
    # What strangers do wrong is no error.
    levels = {"benchapp": logging.INFO, "uvicorn": logging.ERROR, "asyncio": logging.ERROR}
    for name, level in levels.items():
        logger = logging.getLogger(name)
        logger.handlers[:] = [handler]
        logger.setLevel(level)
        logger.propagate = False
