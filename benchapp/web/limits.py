"""How much, how often and how deep: limits that hold for every route.

They stand before the check of the token: whoever floods the server gets no further than here.
"""

import hashlib
import json
import math
import os
import threading
import time
from collections import Counter, OrderedDict
from enum import Enum
from typing import Any

from flask import Flask, abort, current_app, request

from benchapp.records import table_reading
from benchapp.records.network_source import source_of
from benchapp.web.errors import Refused
from benchapp.web.rate import Rate
from benchapp.words import plural

LARGE = 2_000_000
"""Bytes of the body of an exchange, and of what the desk is to reckon."""
TABLE = table_reading.MOST_BYTES
"""Bytes of a table."""
FILE = 16_000_000
"""Bytes of all that stands in a product's file, with the records of some hundred batches."""

PIECE = 262_144
"""Bytes of a piece of an attachment."""
SMALL = 16_000
"""Bytes of any other body."""
DEEPEST = 12
"""Objects and lists within one another."""

AT_ONCE = 8
"""Requests with a body that one device or address may have under way."""
HELD = 64_000_000
"""Bytes of all bodies under way together."""
API_A_MINUTE = 600
STATIC_A_MINUTE = 6000

_MOST_OF = {"/api/exchange": LARGE, "/api/table": TABLE, "/api/desk/file": FILE}
#: What begins so may have so much.
_MOST_UNDER = {"/api/desk/": LARGE, "/api/attachments/": PIECE}
_MOST_KNOWN = 20_000
"""Cookies, of 0.25 kB each: more than come by turns on a server of thousands of workshops. One that
is not known costs a look more at the database, and is counted with its address."""
_DEVICE = "device "

BODY = "benchapp.body"
"""Where the ASGI scope says why a body was not read; it says nothing where it was."""


class Unread(Enum):
    """Why a body was not read to its end."""

    TOO_MANY = "too many"
    LATE = "late"


def register(app: Flask) -> None:
    """Put the limits in front of every route of `app`. To be done before anything reads a body."""
    app.config["MAX_CONTENT_LENGTH"] = SMALL
    # A path with a slash too many is none: no redirect, which would repeat what Host says.
    app.url_map.merge_slashes = False
    app.extensions["limits"] = _Limits()
    app.before_request(_check)


class _Limits:
    """Who asks how often, in this process's memory, and which cookies are known."""

    def __init__(self) -> None:
        # A benchmark asks more of one address than any workshop does.
        api = int(os.environ.get("BENCHAPP_REQUESTS_A_MINUTE") or API_A_MINUTE)
        # With fewer nobody would be let in at all.
        self._api = Rate(max(2, api))
        self._static = Rate(STATIC_A_MINUTE)
        self._known: OrderedDict[str, str] = OrderedDict()
        self._under_way: Counter[str] = Counter()
        self._held = 0
        self._lock = threading.Lock()

    def caller(self, cookie: str, address: str) -> str:
        """Whose request this is: a device's, where the cookie is known, or an address's."""
        with self._lock:
            device = self._known.get(_hash(cookie)) if cookie else None
        return f"{_DEVICE}{device}" if device else source_of(address)

    def wait_s(self, caller: str, address: str) -> int | None:
        """Seconds until this request would be taken, or None: it is taken, and counted."""
        if request.path.startswith("/api/"):
            return self._api.wait_s(caller, time.monotonic())
        return self._static.wait_s(source_of(address), time.monotonic())

    def begin(self, caller: str, kept: int) -> bool:
        """Whether one more body, of which so many bytes are kept, may be under way; it is counted
        until `end`.

        Half of the room is kept for devices that are known.
        """
        most = HELD if caller.startswith(_DEVICE) else HELD // 2
        with self._lock:
            if self._under_way[caller] >= AT_ONCE or self._held + kept > most:
                return False
            self._under_way[caller] += 1
            self._held += kept
            return True

    def end(self, caller: str, kept: int) -> None:
        with self._lock:
            self._held -= kept
            self._under_way[caller] -= 1
            if self._under_way[caller] == 0:
                del self._under_way[caller]

    def is_known(self, cookie: str) -> bool:
        """Whether this cookie was right when it was looked at last."""
        with self._lock:
            return _hash(cookie) in self._known

    def know(self, cookie: str, device_id: str) -> None:
        """Count what comes with this cookie, which is right, for its device."""
        with self._lock:
            self._known[_hash(cookie)] = device_id
            self._known.move_to_end(_hash(cookie))
            if len(self._known) > _MOST_KNOWN:
                self._known.popitem(last=False)

    def forget(self, cookie: str) -> None:
        """Count what comes with this cookie, which is wrong, for its address."""
        with self._lock:
            self._known.pop(_hash(cookie), None)


def _hash(cookie: str) -> str:
    return hashlib.sha256(cookie.encode("utf-8", "surrogatepass")).hexdigest()


def of(app: Flask) -> _Limits:
    """The limits of an app."""
    found: _Limits = app.extensions["limits"]
    return found


def of_app() -> _Limits:
    """The limits of the running app."""
    return of(current_app)


def most_of(path: str) -> int:
    """Bytes that the body of a request to this path may have."""
    if path in _MOST_OF:
        return _MOST_OF[path]
    for begin, most in _MOST_UNDER.items():
        if path.startswith(begin):
            return most
    return SMALL


def _check() -> None:
    cookie = request.cookies.get(current_app.config["DEVICE_COOKIE_NAME"], "")
    address = request.remote_addr or ""
    unread = request.environ.get("asgi.scope", {}).get(BODY)
    wait_s = of_app().wait_s(of_app().caller(cookie, address), address)
    if wait_s is None and unread == Unread.TOO_MANY:
        wait_s = 1
    if wait_s is not None:
        raise Refused(
            "The server was asked too often. Try again in {span}.",
            status=429,
            retry_s=wait_s,
            span=plural(wait_s, "{n} second", "{n} seconds"),
        )
    # PostgreSQL can't even look for it, and no id has one.
    if "\0" in request.path:
        abort(404)
    request.max_content_length = most_of(request.path)
    if "Transfer-Encoding" in request.headers:
        raise Refused("The server takes nothing that does not say how long it is.", status=411)
    if (request.content_length or 0) > request.max_content_length:
        raise Refused("That is too much to send in one go. Send less at a time.", status=413)
    if unread == Unread.LATE:
        raise Refused("Not all of that has arrived in time. Send it again.", status=408)
    changes = request.path.startswith("/api/") and request.method not in ("GET", "HEAD", "OPTIONS")
    # Browsers say where a request comes from (W3C Fetch Metadata), and no page can forge it.
    if changes and request.headers.get("Sec-Fetch-Site", "same-origin") != "same-origin":
        raise Refused("Only the bench's own pages may ask for this.", status=403)


# ---- what is in a body -------------------------------------------------------------------------


def json_body() -> dict[str, Any]:
    """The JSON object that the request carries. Raises Refused, with a sentence, where it is none.

    No deeper than DEEPEST, no number that is none, numbers as a phone reads them: whole ones of
    more than 16 digits become floats. A name given twice counts once, the last, as in a browser.
    Text may hold half of a surrogate pair, as a phone's may: it can be written as JSON, not as
    UTF-8.
    """
    if request.mimetype != "application/json":
        raise Refused("The server takes JSON here, as application/json.", status=415)
    sent = request.get_data(cache=False)
    if len(sent) != (request.content_length or 0):
        raise Refused("Not all of that has arrived. Send it again.", status=400)
    try:
        text = sent.decode("utf-8")
        body = json.loads(text, parse_float=_float, parse_int=_int, parse_constant=_no_constant)
    except (ValueError, RecursionError) as error:
        raise Refused(
            "The server could not read that: it is not whole JSON.", status=400
        ) from error
    if not isinstance(body, dict):
        raise Refused("The server takes one JSON object here.", status=400)
    if _is_deeper(body, DEEPEST):
        raise Refused("That is nested more than {most} deep.", status=400, most=DEEPEST)
    return body


def _float(text: str) -> float:
    value = float(text)
    if math.isinf(value):
        raise ValueError("too large a number")
    return value


def _int(text: str) -> int | float:
    return int(text) if len(text) <= 16 else _float(text)


def _no_constant(text: str) -> None:
    raise ValueError(f"{text} is no number")


def _is_deeper(body: Any, deepest: int) -> bool:
    level = [body]
    for _ in range(deepest):
        level = [
            each
            for holder in level
            for each in (holder.values() if isinstance(holder, dict) else holder)
            if isinstance(each, (dict, list))
        ]
        if not level:
            return False
    return True
