"""The server that hands the certificate authority to a phone, on a port of its own.

A phone that does not trust the bench yet can only come over plain HTTP, so nothing else is there.
"""

import socket
import socketserver
import sys
import threading
from collections import Counter
from collections.abc import Sequence
from http.server import BaseHTTPRequestHandler
from typing import Any

from cryptography import x509
from cryptography.hazmat.primitives.serialization import Encoding

from benchapp.records.network_source import source_of
from benchapp.web.trust import HEADERS, page, profile
from benchapp.words import t

_MOST_CALLERS = 64
_MOST_OF_ADDRESS = 48
_LONGEST_SILENCE_S = 10


class TrustServer(socketserver.ThreadingTCPServer):
    """Serves the page and the authority, and nothing else.

    A caller that falls silent is dropped after a few seconds, and holds up nobody meanwhile.
    Raises OSError where the port cannot be had.
    """

    daemon_threads = True
    block_on_close = False
    # On Windows this would share a port that another program holds.
    allow_reuse_address = sys.platform != "win32"
    request_queue_size = _MOST_CALLERS

    def __init__(self, host: str, port: int) -> None:
        self.address_family = socket.AF_INET6 if ":" in host else socket.AF_INET
        self.files: dict[str, tuple[str, bytes]] = {}  # path: type and content
        self._callers: Counter[str] = Counter()
        self._lock = threading.Lock()
        super().__init__((host, port), _Caller)

    def show(self, authority: x509.Certificate, addresses: Sequence[str]) -> None:
        """Hand over `authority`, for the bench at `addresses`, the best one first."""
        self.files = {
            "/": ("text/html; charset=utf-8", page(authority, addresses).encode()),
            "/bench-ca.crt": ("application/x-x509-ca-cert", authority.public_bytes(Encoding.DER)),
            "/bench-ca.mobileconfig": ("application/x-apple-aspen-config", profile(authority)),
        }

    def start(self) -> None:
        """Answer from now on, in a thread that ends with the process."""
        threading.Thread(target=self.serve_forever, daemon=True).start()

    def process_request(self, request: Any, client_address: Any) -> None:
        source = source_of(client_address[0])
        with self._lock:
            is_room = self._callers.total() < _MOST_CALLERS
            is_room = is_room and self._callers[source] < _MOST_OF_ADDRESS
            self._callers[source] += is_room
        if is_room:
            super().process_request(request, client_address)
        else:
            self.shutdown_request(request)

    def process_request_thread(self, request: Any, client_address: Any) -> None:
        try:
            super().process_request_thread(request, client_address)
        finally:
            with self._lock:
                # Those that are not there count for nothing.
                self._callers -= Counter({source_of(client_address[0]): 1})

    def handle_error(self, request: Any, client_address: Any) -> None:
        """A phone that walks away in the middle is nothing to print."""


class _Caller(BaseHTTPRequestHandler):
    server: TrustServer
    timeout = _LONGEST_SILENCE_S

    def do_GET(self) -> None:
        found = self.server.files.get(self.path.partition("?")[0])
        if found is None:
            self._say(404, t("There is nothing at this address."))
        else:
            self._answer(200, *found)

    do_HEAD = do_GET

    def send_error(self, code: int, message: str | None = None, explain: str | None = None) -> None:
        # Methods without a do_ of their own arrive here as 501.
        status = 405 if code == 501 else code
        self._say(status, t("This page can only be read."))

    def _say(self, status: int, sentence: str) -> None:
        self._answer(status, "text/plain; charset=utf-8", f"{sentence}\n".encode())

    def _answer(self, status: int, kind: str, body: bytes) -> None:
        self.close_connection = True
        self.send_response_only(status)
        for name, value in HEADERS.items():
            self.send_header(name, value)
        if status == 405:
            self.send_header("Allow", "GET, HEAD")
        self.send_header("Content-Type", kind)
        self.send_header("Content-Length", str(len(body)))
        self.send_header("Connection", "close")
        self.end_headers()
        if self.command != "HEAD":
            self.wfile.write(body)

    def log_message(self, format: str, *args: object) -> None:
        pass
