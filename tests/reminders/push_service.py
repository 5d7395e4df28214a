"""A push service on this machine: real HTTPS, and strict about every RFC that it serves.

It keeps what RFC 8030 asks of a service, checks the signature of RFC 8292 with `cryptography`
alone, and decrypts the message of RFC 8291 with the subscriber's own key and `http_ece`. Nothing
of it is shared with the sender that it tests.

    with push_service(tmp_path) as service:
        phone = service.subscribe(key.public)
        service.answer(phone, 429, headers={"Retry-After": "2"})   # once; then 201 again
        ...                                                        # send through service.trial
        [push] = service.wait(1)
        assert push.data == b"..." and service.problems == []
"""

import base64
import binascii
import contextlib
import json
import re
import secrets
import socket
import ssl
import tempfile
import threading
import time
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any, BinaryIO

import http_ece
from cryptography import x509
from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec, utils
from cryptography.x509.oid import NameOID

from benchapp.reminders.push_address import Trial
from tests.waits import PATIENCE_S

NAME = "push.test"
"""No machine on the internet has a name below .test (RFC 2606)."""

MOST_OCTETS = 4096  # what a service must take (RFC 8030 section 7.2)
DAY_S = 24 * 3600


def b64u(octets: bytes) -> str:
    return base64.urlsafe_b64encode(octets).decode().rstrip("=")


def unb64u(text: str) -> bytes:
    """Raises ValueError for what is not base64url without padding."""
    if not re.fullmatch(r"[A-Za-z0-9_-]*", text):
        raise ValueError("not base64url")
    return base64.urlsafe_b64decode(text + "=" * (-len(text) % 4))


def point(key: ec.EllipticCurvePublicKey) -> bytes:
    return key.public_bytes(
        serialization.Encoding.X962, serialization.PublicFormat.UncompressedPoint
    )


# ---- what it knows and keeps -------------------------------------------------------------------


@dataclass(eq=False)
class Subscriber:
    """A device's subscription, with the keys that only the device has."""

    endpoint: str
    p256dh: str
    auth: str
    app_key: str
    private: ec.EllipticCurvePrivateKey = field(repr=False)


@dataclass(frozen=True)
class Push:
    """A message that was taken."""

    subscriber: Subscriber
    data: bytes  # plain; as it came where the service does not check
    ttl: int
    urgency: str
    topic: str
    at: float  # time.time()


Answer = int | str | bytes
"""A status; 'silence'; 'cut' (within the head of a 201); 'drip', 'drip head' or 'drip body' (no end
of interim answers, of a 201's head, of its body); or octets to say instead of an answer."""


DRIPS = {
    "drip": (b"", b"HTTP/1.1 100 Continue\r\n\r\n"),
    "drip head": (b"HTTP/1.1 201 Created\r\nX-Drip: ", b"x"),
    "drip body": (b"HTTP/1.1 201 Created\r\nContent-Length: 9999\r\n\r\n", b"x"),
}

_TEN_GB = 10_000_000_000
FLOODS = {
    "body": (f"HTTP/1.1 201 X\r\nContent-Length: {_TEN_GB}\r\n\r\n".encode(), b"x" * 65_536),
    "body without end": (b"HTTP/1.1 201 X\r\n\r\n", b"x" * 65_536),
    "chunk": (
        f"HTTP/1.1 201 X\r\nTransfer-Encoding: chunked\r\n\r\n{_TEN_GB:x}\r\n".encode(),
        b"x" * 65_536,
    ),
    "trailer": (
        b"HTTP/1.1 201 X\r\nTransfer-Encoding: chunked\r\n\r\n0\r\n",
        b"x: y\r\n" * 10_000,
    ),
    "head": (b"HTTP/1.1 201 X\r\n", b"x: y\r\n" * 10_000),
    "line": (b"HTTP/1.1 201 X\r\nx: ", b"y" * 65_536),
    "continue": (b"", b"HTTP/1.1 100 Continue\r\n\r\n" * 3_000),
}
"""An answer without end, as fast as the line takes it."""


class Refused(Exception):
    """What a strict service answers to a request that breaks a rule."""

    def __init__(self, status: int, why: str) -> None:
        super().__init__(why)
        self.status = status


class PushService:
    """The running service. `received`, `problems` and `answered` may be read at any time."""

    def __init__(self, folder: Path, *, names: Iterable[str], check: bool) -> None:
        self.check = check
        self.now: Callable[[], float] = time.time
        self.received: list[Push] = []
        self.problems: list[str] = []
        self.answered: list[tuple[Subscriber, Answer]] = []
        self.tokens: set[str] = set()
        self.connections = 0
        self._names = tuple(names)
        self._subscribers: dict[str, Subscriber] = {}
        self._script: dict[Subscriber, deque[tuple[Answer, dict[str, str]]]] = {}
        self._changed = threading.Condition()
        self._is_closing = threading.Event()
        self._open: set[socket.socket] = set()
        self._threads: list[threading.Thread] = []
        ca_file, server_file = make_certificates(folder, self._names)
        self._tls = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
        self._tls.load_cert_chain(server_file)
        self._listening = socket.create_server(("127.0.0.1", 0), backlog=256)
        self.port: int = self._listening.getsockname()[1]
        self.trial = Trial("127.0.0.1", self.port, ca_file)
        self._start(self._accept)

    # ---- what tests ask of it

    def subscribe(self, app_key: str, name: str | None = None) -> Subscriber:
        """A new subscription made with the page's `app_key`, at the host `name`."""
        private = ec.generate_private_key(ec.SECP256R1())
        path = f"/push/{secrets.token_urlsafe(24)}"
        subscriber = Subscriber(
            endpoint=f"https://{name or self._names[0]}:{self.port}{path}",
            p256dh=b64u(point(private.public_key())),
            auth=b64u(secrets.token_bytes(16)),
            app_key=app_key,
            private=private,
        )
        self._subscribers[path] = subscriber
        return subscriber

    def answer(
        self,
        subscriber: Subscriber,
        how: Answer,
        *,
        headers: dict[str, str] | None = None,
        times: int = 1,
    ) -> None:
        """Answer the subscriber's next request so; further calls queue; then 201 again."""
        queue = self._script.setdefault(subscriber, deque())
        queue.extend([(how, headers or {})] * times)

    def wait(self, count: int) -> list[Push]:
        """All that was received, once it is `count` or more."""
        with self._changed:
            came = self._changed.wait_for(lambda: len(self.received) >= count, PATIENCE_S)
            assert came, f"{len(self.received)} of {count} pushes came. Problems: {self.problems}"
            return list(self.received)

    def open_connections(self) -> int:
        return len(self._open)

    def close(self) -> None:
        self._is_closing.set()
        with contextlib.suppress(OSError), socket.create_connection(("127.0.0.1", self.port), 1):
            pass  # wakes the one that accepts
        self._threads[0].join()
        self._listening.close()
        with self._changed:
            held = list(self._open)
        for connection in held:
            with contextlib.suppress(OSError):
                socket.socket.shutdown(connection, socket.SHUT_RDWR)
        for thread in self._threads:
            thread.join()

    # ---- connections

    def _start(self, work: Callable[..., None], *given: Any) -> None:
        thread = threading.Thread(target=work, args=given, daemon=True)
        self._threads.append(thread)
        thread.start()

    def _accept(self) -> None:
        while True:
            connection, _ = self._listening.accept()
            if self._is_closing.is_set():
                connection.close()
                return
            connection.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
            self._start(self._serve, connection)

    def _serve(self, plain: socket.socket) -> None:
        """Answer the requests of one connection, one after the other."""
        with self._changed:
            self.connections += 1
            self._open.add(plain)
        held = plain
        try:
            held = self._tls.wrap_socket(plain, server_side=True)
            with self._changed:
                self._open.discard(plain)
                self._open.add(held)
            if self._is_closing.is_set():
                return
            with held.makefile("rb") as reader:
                while self._serve_one(held, reader):
                    pass
        except (OSError, ValueError):
            pass  # the other side went away
        finally:
            with self._changed:
                self._open.discard(plain)
                self._open.discard(held)
            held.close()

    def _serve_one(self, connection: socket.socket, reader: BinaryIO) -> bool:
        """Take one request and answer it; return whether a further one may follow."""
        line = reader.readline()
        if not line:
            return False
        method, path, _ = line.decode("ascii").split(" ", 2)
        headers: dict[str, str] = {}
        while (line := reader.readline()) not in {b"\r\n", b""}:
            name, _, value = line.decode("latin-1").partition(":")
            headers[name.lower()] = value.strip()
        length = int(headers.get("content-length", "0"))
        body = reader.read(length)
        if len(body) < length:
            return False  # its sender is gone
        subscriber = self._subscribers.get(path)
        if subscriber is None:
            return self._say(connection, 404, {})
        script = self._script.get(subscriber)
        how, extra = script.popleft() if script else (201, {})
        try:
            push = self._take(subscriber, method, headers, body)
        except Refused as refused:
            self.problems.append(f"{refused.status}: {refused}")
            how, extra = refused.status, {}
        else:
            if how == "drip body" or (isinstance(how, int) and 200 <= how < 300):
                with self._changed:
                    self.received.append(push)
                    self._changed.notify_all()
        self.answered.append((subscriber, how))
        return self._say(connection, how, extra)

    def _say(self, connection: socket.socket, how: Answer, headers: dict[str, str]) -> bool:
        if isinstance(how, int):
            said = "".join(f"{name}: {value}\r\n" for name, value in headers.items())
            connection.sendall(f"HTTP/1.1 {how} X\r\n{said}Content-Length: 0\r\n\r\n".encode())
            return True
        if isinstance(how, bytes):
            connection.sendall(how)
        elif how == "silence":
            connection.recv(1)  # until the other side has had enough, or the service closes
        elif how == "cut":
            connection.sendall(b"HTTP/1.1 201 Crea")
        elif how in DRIPS:
            begins, goes_on = DRIPS[how]
            connection.sendall(begins)
            while not self._is_closing.wait(0.05):
                connection.sendall(goes_on)
        elif how in FLOODS:
            begins, goes_on = FLOODS[how]
            connection.sendall(begins)
            while not self._is_closing.is_set():
                connection.sendall(goes_on)
        else:
            raise AssertionError(f"{how!r} is no way to answer")
        return False

    # ---- the rules

    def _take(
        self, subscriber: Subscriber, method: str, headers: dict[str, str], body: bytes
    ) -> Push:
        """The message of a request that keeps every rule. Raises Refused."""
        ttl, urgency = headers.get("ttl", ""), headers.get("urgency", "normal")
        topic = headers.get("topic", "")
        if self.check:
            if method != "POST":
                raise Refused(405, "RFC 8030 section 5: a message is posted")
            if not re.fullmatch(r"[0-9]{1,9}", ttl):
                raise Refused(400, "RFC 8030 section 5.2: TTL is seconds, and needed")
            if urgency not in {"very-low", "low", "normal", "high"}:
                raise Refused(400, "RFC 8030 section 5.3: no such urgency")
            if "topic" in headers and not re.fullmatch(r"[A-Za-z0-9_-]{1,32}", topic):
                raise Refused(400, "RFC 8030 section 5.4: a topic is 1 to 32 of base64url")
            if len(body) > MOST_OCTETS:
                raise Refused(413, "RFC 8030 section 7.2: over 4096 octets")
            if headers.get("content-encoding") != "aes128gcm":
                raise Refused(400, "RFC 8291 section 4: the coding is aes128gcm")
            self._check_sender(subscriber, headers.get("authorization", ""))
            body = self._decrypt(subscriber, body)
        return Push(subscriber, body, int(ttl), urgency, topic, time.time())

    def _check_sender(self, subscriber: Subscriber, authorization: str) -> None:
        self.tokens.add(authorization)
        try:
            key = verify_vapid(
                authorization,
                audience=subscriber.endpoint.partition("/push/")[0],
                now_s=self.now(),
            )
        except ValueError as error:
            raise Refused(401, f"RFC 8292: {error}") from None
        if key != subscriber.app_key:
            raise Refused(403, "RFC 8292 section 4.2: not the key of the subscription")

    def _decrypt(self, subscriber: Subscriber, body: bytes) -> bytes:
        try:
            plain: bytes = http_ece.decrypt(
                body,
                private_key=subscriber.private,
                auth_secret=unb64u(subscriber.auth),
                version="aes128gcm",
            )
        except (http_ece.ECEException, ValueError) as error:
            raise Refused(400, f"RFC 8291: {error}") from None
        return plain


def verify_vapid(authorization: str, *, audience: str, now_s: float) -> str:
    """Return the key of a valid Authorization header (RFC 8292). Raises ValueError."""
    scheme, _, rest = authorization.partition(" ")
    if scheme.lower() != "vapid":
        raise ValueError("section 3: the scheme is vapid")
    given = dict(part.strip().partition("=")[::2] for part in rest.split(","))
    token, key = given.get("t", ""), given.get("k", "")
    try:
        header, claims, signature = token.split(".")
        head, claimed = json.loads(unb64u(header)), json.loads(unb64u(claims))
        r_and_s = unb64u(signature)
        public = ec.EllipticCurvePublicKey.from_encoded_point(ec.SECP256R1(), unb64u(key))
    except (ValueError, binascii.Error):
        raise ValueError("section 3: t or k cannot be read") from None
    if head.get("alg") != "ES256" or head.get("typ", "JWT") != "JWT" or len(r_and_s) != 64:
        raise ValueError("section 2: signed with ES256")
    r, s = int.from_bytes(r_and_s[:32], "big"), int.from_bytes(r_and_s[32:], "big")
    try:
        public.verify(
            utils.encode_dss_signature(r, s),
            f"{header}.{claims}".encode(),
            ec.ECDSA(hashes.SHA256()),
        )
    except InvalidSignature:
        raise ValueError("section 2: the signature is not the key's") from None
    if claimed.get("aud") != audience:
        raise ValueError("section 2: aud is the origin of the push resource")
    ends_s = claimed.get("exp")
    if not isinstance(ends_s, int) or not now_s < ends_s <= now_s + DAY_S:
        raise ValueError("section 2: exp is ahead, by 24 hours at most")
    if not re.match(r"mailto:[^@]+@[^@]+$|https://.", str(claimed.get("sub"))):
        raise ValueError("section 2.1: sub is a mailto: or https: address")
    return key


# ---- its certificates --------------------------------------------------------------------------


def make_certificates(folder: Path, names: Iterable[str]) -> tuple[Path, Path]:
    """Write an authority's certificate, and key and certificate of a server that it signed."""
    start = datetime.now(UTC) - timedelta(days=1)

    def made(subject: str, issuer: str, key: ec.EllipticCurvePrivateKey) -> x509.CertificateBuilder:
        return (
            x509.CertificateBuilder()
            .subject_name(x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, subject)]))
            .issuer_name(x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, issuer)]))
            .public_key(key.public_key())
            .serial_number(x509.random_serial_number())
            .not_valid_before(start)
            .not_valid_after(start + timedelta(days=30))
        )

    usage = dict.fromkeys(
        ["digital_signature", "content_commitment", "key_encipherment", "data_encipherment",
         "key_agreement", "key_cert_sign", "crl_sign", "encipher_only", "decipher_only"],
        False,
    )  # fmt: skip
    authority_key = ec.generate_private_key(ec.SECP256R1())
    identifier = x509.SubjectKeyIdentifier.from_public_key(authority_key.public_key())
    authority = (
        made("push authority", "push authority", authority_key)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(x509.KeyUsage(**{**usage, "key_cert_sign": True}), critical=True)
        .add_extension(identifier, critical=False)
        .sign(authority_key, hashes.SHA256())
    )
    server_key = ec.generate_private_key(ec.SECP256R1())
    server = (
        made("push service", "push authority", server_key)
        .add_extension(
            x509.SubjectAlternativeName([x509.DNSName(name) for name in names]), critical=False
        )
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(x509.KeyUsage(**{**usage, "digital_signature": True}), critical=True)
        .add_extension(
            x509.AuthorityKeyIdentifier.from_issuer_subject_key_identifier(identifier),
            critical=False,
        )
        .add_extension(
            x509.SubjectKeyIdentifier.from_public_key(server_key.public_key()), critical=False
        )
        .sign(authority_key, hashes.SHA256())
    )
    ca_file, server_file = folder / "push-ca.pem", folder / "push-server.pem"
    ca_file.write_bytes(authority.public_bytes(serialization.Encoding.PEM))
    server_file.write_bytes(
        server_key.private_bytes(
            serialization.Encoding.PEM,
            serialization.PrivateFormat.PKCS8,
            serialization.NoEncryption(),
        )
        + server.public_bytes(serialization.Encoding.PEM)
    )
    return ca_file, server_file


@contextlib.contextmanager
def push_service(
    folder: Path | None = None, *, names: Iterable[str] = (NAME,), check: bool = True
) -> Iterator[PushService]:
    """A service under `names`, its certificates in `folder` (or one that goes with it).

    Without `check` it takes anything and decrypts nothing: for measuring how fast a sender is.
    """
    with contextlib.ExitStack() as stack:
        kept = folder or Path(stack.enter_context(tempfile.TemporaryDirectory()))
        service = PushService(kept, names=names, check=check)
        stack.callback(service.close)
        yield service
