"""One message to one push service: encrypted, signed, sent, and what became of it.

RFC 8030 (Web Push), RFC 8188 and 8291 (encryption), RFC 8292 (VAPID, the signed header). What an
endpoint may be is in `push_address`, how it is reached in `push_connection`.
"""

import base64
import re
import ssl
from collections.abc import Collection
from dataclasses import dataclass, field
from datetime import UTC
from email.utils import parsedate_to_datetime
from functools import lru_cache
from http.client import HTTPException
from types import TracebackType
from typing import Literal

from cryptography.hazmat.primitives.asymmetric import ec

from benchapp.reminders.push_address import Trial, check_allow, check_endpoint, is_allowed
from benchapp.reminders.push_connection import Connections, Flight, Stopped, Timeouts
from benchapp.reminders.vapid_keys import VapidKey
from benchapp.words import InputError, t

MOST_OCTETS = 3993
"""Of a message: all that fits into the 4096 that a service must take (RFC 8291 section 4)."""

TOKEN_LIFE_S = 12 * 3600
"""What the signed header is made for: a service takes at most 24 hours (RFC 8292 section 2)."""
TOKEN_RENEWED_S = 6 * 3600
"""Made anew once so little is left: the clocks of both sides may differ by hours."""

MOST_WAIT_S = 24 * 3600.0
"""The longest wait that a service is granted."""

_MOST_TOKENS = 1000
_SENT = frozenset({200, 201, 202, 204})
_GONE = frozenset({404, 410})

# ---- what is sent ------------------------------------------------------------------------------


@dataclass(frozen=True)
class Target:
    """A device's push subscription, as its browser gave it. All three are secrets."""

    endpoint: str = field(repr=False)
    p256dh: str = field(repr=False)
    auth: str = field(repr=False)


@dataclass(frozen=True)
class Message:
    """What a device shall be told, and how a service treats it (RFC 8030 section 5).

    `payload`: 1 to 3993 octets. `ttl_s`: seconds that it may wait for a device that is off, 0 to
    28 days. `topic`: '' or up to 32 characters of base64url; a newer message of a topic replaces
    the older one. Raises InputError.
    """

    payload: bytes = field(repr=False)
    ttl_s: int
    urgency: str = "normal"
    topic: str = ""

    def __post_init__(self) -> None:
        if not 1 <= len(self.payload) <= MOST_OCTETS:
            raise InputError(
                "A push message has 1 to {most} octets: shorten its text.", most=MOST_OCTETS
            )
        if not isinstance(self.ttl_s, int) or not 0 <= self.ttl_s <= 28 * 24 * 3600:
            raise InputError("A push message waits 0 seconds to 28 days, in whole seconds.")
        if self.urgency not in {"very-low", "low", "normal", "high"}:
            raise InputError("The urgency of a push is very-low, low, normal or high.")
        if not re.fullmatch(r"[A-Za-z0-9_-]{0,32}", self.topic):
            raise InputError("The topic of a push has at most 32 characters of base64url.")


@dataclass(frozen=True)
class Outcome:
    """What became of a message.

    `sent`: the service has it. `gone`: the subscription has ended; forget it. `retry`: try again,
    after `retry_after_s` where the service named a wait (0 to 86 400 s). `too long`: send less.
    `failed`: trying again does not help. `why` is a sentence without any secret.
    """

    kind: Literal["sent", "gone", "retry", "failed", "too long"]
    status: int | None
    why: str
    retry_after_s: float | None = None


@lru_cache(maxsize=4096)
def check_keys(p256dh: str, auth: str) -> None:
    """Raise InputError unless these are a subscription's keys (RFC 8291 section 3, base64url):
    65 octets, a point of the curve P-256, and 16 octets."""
    point, secret = _octets(p256dh), _octets(auth)
    if len(secret) != 16:
        raise InputError("The key 'auth' of a push subscription has 16 octets in base64url.")
    try:
        if len(point) != 65:
            raise ValueError
        ec.EllipticCurvePublicKey.from_encoded_point(ec.SECP256R1(), point)
    except ValueError:
        raise InputError(
            "The key 'p256dh' of a push subscription is a point of the curve P-256, "
            "65 octets in base64url."
        ) from None


def _octets(text: str) -> bytes:
    """The octets of base64url, with or without padding; none where it is something else."""
    found = re.fullmatch(r"([A-Za-z0-9_-]{1,200})={0,2}", text) if isinstance(text, str) else None
    if found is None or len(found[1]) % 4 == 1:
        return b""
    return base64.urlsafe_b64decode(found[1] + "=" * (-len(found[1]) % 4))


def check_contact(contact: str) -> str:
    """Return whom a push service may write to (RFC 8292 section 2.1); raise InputError if it
    is neither mailto: with an address nor an https: address."""
    if not re.fullmatch(
        r"mailto:[^\s@<>,]{1,64}@[A-Za-z0-9.-]{1,253}|https://[A-Za-z0-9.-]{1,253}(?::\d+)?(?:/\S*)?",
        contact,
        re.ASCII,
    ):
        raise InputError(
            "Push services want a contact: write it like mailto:you@example.net, "
            "or https://example.net."
        )
    return contact


# ---- sending -----------------------------------------------------------------------------------


class Sender:
    """Sends messages from any number of threads, over connections that are kept.

    `contact` is whom a push service may write to. `allow` names the services that may be used
    (`push_address.is_allowed`), all where it is empty. At most so many `connections` are kept for
    one service. Raises InputError for settings that cannot be used.
    """

    def __init__(
        self,
        key: VapidKey,
        contact: str,
        *,
        allow: Collection[str] = (),
        trial: Trial | None = None,
        timeouts: Timeouts | None = None,
        connections: int = 16,
    ) -> None:
        self._key = key
        self._contact = check_contact(contact)
        self._allow = check_allow(allow)
        self._connections = Connections(
            trial=trial, timeouts=timeouts or Timeouts(), most=connections
        )
        self._tokens: dict[str, tuple[float, str]] = {}

    def __enter__(self) -> "Sender":
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def close(self) -> None:
        """Close what is kept. A further message opens it again."""
        self._connections.close()

    def send(self, target: Target, message: Message, now_s: float) -> Outcome:
        """Send `message` to `target` at `now_s` (seconds since 1970), and say what became of it.

        Never raises for anything that an endpoint, a service or the network does.
        """
        try:
            endpoint = check_endpoint(target.endpoint)
            check_keys(target.p256dh, target.auth)
        except ValueError as error:
            return Outcome("failed", None, str(error))
        host = endpoint.host
        if not is_allowed(host, self._allow):
            why = t("{host} is not among the allowed push services.", host=host)
            return Outcome("failed", None, why)
        body = _encrypt(target, message.payload)
        headers = {
            "Authorization": self._authorization(endpoint.origin, now_s),
            "Content-Encoding": "aes128gcm",
            "Content-Type": "application/octet-stream",
            "TTL": str(message.ttl_s),
            "Urgency": message.urgency,
            **({"Topic": message.topic} if message.topic else {}),
        }
        with self._connections.watch.flight() as flight:
            connection = self._connections.take(endpoint)
            try:
                status, retry_after = connection.post(endpoint.path, body, headers)
            except Stopped as stopped:
                return Outcome(stopped.kind, None, str(stopped))
            except (OSError, HTTPException, ValueError) as error:
                return Outcome("retry", None, _why(host, flight, error))
        self._connections.give_back(endpoint, connection)
        return judge(host, status, retry_after, now_s)

    def _authorization(self, origin: str, now_s: float) -> str:
        """The signed header for `origin`, kept until half of its life is over."""
        ends_s, header = self._tokens.get(origin, (0.0, ""))
        if not TOKEN_RENEWED_S < ends_s - now_s <= TOKEN_LIFE_S:
            from py_vapid import Vapid02  # type: ignore[import-untyped]  # noqa: PLC0415

            ends_s = int(now_s) + TOKEN_LIFE_S
            # Its own check of the contact knows fewer forms than `check_contact`.
            vapid = Vapid02(self._key.private, conf={"no-strict": True})
            claims = {"aud": origin, "exp": ends_s, "sub": self._contact}
            header = vapid.sign(claims)["Authorization"]
            if len(self._tokens) >= _MOST_TOKENS:
                self._tokens.clear()
            self._tokens[origin] = ends_s, header
        return header


def _encrypt(target: Target, payload: bytes) -> bytes:
    """The body of RFC 8291, with a fresh key and salt."""
    from pywebpush import WebPusher  # type: ignore[import-untyped]  # noqa: PLC0415

    keys = {"p256dh": target.p256dh.rstrip("="), "auth": target.auth.rstrip("=")}
    pusher = WebPusher({"endpoint": target.endpoint, "keys": keys})
    body: bytes = pusher.encode(payload, "aes128gcm")["body"]
    return body


def _why(host: str, flight: Flight, error: Exception) -> str:
    """A sentence for what the network did. The error's own text may name the endpoint."""
    if flight.is_over or isinstance(error, TimeoutError):
        return t("{host} did not answer in time.", host=host)
    if isinstance(error, ssl.SSLError):
        reason = getattr(error, "verify_message", "")
        if reason:
            return t("There was no safe connection to {host}: {why}.", host=host, why=reason)
        return t("There was no safe connection to {host}.", host=host)
    return t("{host} cut the connection or gave no answer that can be read.", host=host)


# ---- answers -----------------------------------------------------------------------------------


def judge(host: str, status: int, retry_after: str | None, now_s: float) -> Outcome:
    """What an HTTP status means for a message (RFC 8030 sections 5 to 8, RFC 9110 section 15)."""
    if status in _SENT:
        return Outcome("sent", status, t("{host} took it.", host=host))
    told: dict[str, object] = {"host": host, "status": status}
    if status in _GONE:
        why = t("{host} answered {status}: the device no longer listens there.", **told)
        return Outcome("gone", status, why)
    if status == 413:
        why = t("{host} answered {status}: the message is too long for it.", **told)
        return Outcome("too long", status, why)
    if status in {408, 429} or 500 <= status <= 599:
        why = t("{host} answered {status}: it asks to try again later.", **told)
        return Outcome("retry", status, why, read_retry_after(retry_after, now_s))
    if 300 <= status <= 399:
        why = t("{host} answered {status}: it points elsewhere, which is not followed.", **told)
    else:
        why = t("{host} answered {status}: it does not take the message.", **told)
    return Outcome("failed", status, why)


def read_retry_after(text: str | None, now_s: float) -> float | None:
    """Seconds to wait by a Retry-After header (RFC 9110 section 10.2.3), 0 to 86 400.

    It holds seconds or a date. None where it is absent or neither.
    """
    text = (text or "").strip()
    if re.fullmatch(r"[0-9]+", text):
        return min(float(text), MOST_WAIT_S)
    try:
        date = parsedate_to_datetime(text)
        wait_s = (date if date.tzinfo else date.replace(tzinfo=UTC)).timestamp() - now_s
    except (ValueError, TypeError, IndexError, OverflowError):
        return None
    return min(max(wait_s, 0.0), MOST_WAIT_S)
