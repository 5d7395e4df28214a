"""The way from a request as the server has read it (ASGI 3.0) to the Flask app (PEP 3333) and back.

Request and answer are each in memory as a whole, but for an answer that says that it is large: of
that a piece at a time.
"""

import io
import sys
from collections.abc import Callable, Generator, Iterable
from dataclasses import dataclass
from typing import Any
from urllib.parse import quote

from flask import Flask

_VISIBLE = bytes(range(0x21, 0x7F))

LARGE = 4_000_000
"""An answer that says that it has more bytes than this is not gathered."""


@dataclass(frozen=True)
class Answer:
    """What the app answers. Names of headers are in lower case."""

    status: int
    headers: list[tuple[bytes, bytes]]
    body: bytes
    rest: Generator[bytes] | None = None
    """What comes after the body, where the answer is large. It has to be closed."""


def environ_of(scope: dict[str, Any]) -> dict[str, Any]:
    """What the app is told of a request, without its body.

    A header whose name has an underscore is left out: it would pass for the one with a hyphen, such
    as one that only the proxy may set.
    """
    environ: dict[str, Any] = {}
    for name, value in scope["headers"]:
        if b"_" not in name:
            key = "HTTP_" + name.decode("latin-1").upper().replace("-", "_")
            text = value.decode("latin-1")
            if key in environ:
                # A browser sends its cookies in one (RFC 6265, 5.4), others may not.
                text = f"{environ[key]}{'; ' if name == b'cookie' else ','}{text}"
            environ[key] = text
    for name in ("CONTENT_TYPE", "CONTENT_LENGTH"):
        if (found := environ.pop(f"HTTP_{name}", None)) is not None:
            environ[name] = found
    server, port = scope["server"]
    environ |= {
        "REQUEST_METHOD": scope["method"],
        "SCRIPT_NAME": "",
        "PATH_INFO": scope["path"].encode().decode("latin-1"),
        # What is no ASCII is not allowed there (RFC 3986), but sent all the same.
        "QUERY_STRING": quote(scope["query_string"], safe=_VISIBLE),
        "SERVER_NAME": server,
        "SERVER_PORT": str(port),
        "SERVER_PROTOCOL": f"HTTP/{scope['http_version']}",
        "REMOTE_ADDR": (scope["client"] or ("",))[0],
        "wsgi.version": (1, 0),
        "wsgi.url_scheme": scope["scheme"],
        "wsgi.errors": sys.stderr,
        "wsgi.multithread": True,
        "wsgi.multiprocess": False,
        "wsgi.run_once": False,
        "asgi.scope": scope,
    }
    return environ


def answer(app: Flask, environ: dict[str, Any], body: bytes) -> Answer:
    """Let the app answer a request with this body; return what it answers."""
    begun: list[tuple[str, list[tuple[str, str]]]] = []
    written: list[bytes] = []

    def start_response(
        status: str, headers: list[tuple[str, str]], exc_info: object = None
    ) -> Callable[[bytes], object]:
        begun.append((status, headers))
        return written.append

    parts = app(environ | {"wsgi.input": io.BytesIO(body)}, start_response)
    rest: Generator[bytes] | None = None
    try:
        if begun and _is_large(begun[-1][1]):
            rest = _closing(parts)
        else:
            written += parts
    finally:
        if rest is None and hasattr(parts, "close"):
            parts.close()
    status, headers = begun[-1]
    return Answer(
        int(status.split(maxsplit=1)[0]),
        [(name.lower().encode("latin-1"), value.encode("latin-1")) for name, value in headers],
        b"".join(written),
        rest,
    )


def _is_large(headers: list[tuple[str, str]]) -> bool:
    told = next((value for name, value in headers if name.lower() == "content-length"), "")
    return told.isascii() and told.isdigit() and int(told) > LARGE


def _closing(parts: Iterable[bytes]) -> Generator[bytes]:
    """The parts, and their end: also where they are not taken to it."""
    try:
        yield from parts
    finally:
        if hasattr(parts, "close"):
            parts.close()
