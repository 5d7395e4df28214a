"""The plain page that hands the certificate authority to a phone, on a port of its own.

A phone that does not trust the bench yet can only come over plain HTTP, so nothing else is there.
"""

import base64
import contextlib
import hashlib
import html
import plistlib
import socket
import socketserver
import sys
import threading
import uuid
from collections.abc import Sequence
from datetime import UTC, datetime
from http.server import BaseHTTPRequestHandler
from ipaddress import ip_address
from pathlib import Path
from typing import Any

from cryptography import x509
from cryptography.hazmat.primitives.serialization import Encoding

from benchapp.web import certificates

_MOST_CALLERS = 64
_LONGEST_SILENCE_S = 10

_STYLE = """
:root { color-scheme: light dark; --ink: #17211c; --paper: #f6f4ec; --line: #b9c2b8;
  --button: #17503a; --label: #fff; }
@media (prefers-color-scheme: dark) { :root { --ink: #eef1ea; --paper: #101a15;
  --line: #46574d; --button: #f3c614; --label: #17211c; } }
body { margin: 0 auto; padding: 1.25rem; max-width: 34rem; background: var(--paper);
  color: var(--ink); font: 1.0625rem/1.5 system-ui, sans-serif; overflow-wrap: anywhere; }
h1 { margin: 0 0 .75rem; font-size: 1.75rem; line-height: 1.15; }
h2 { margin: 2rem 0 .5rem; padding-top: 1rem; border-top: 1px solid var(--line);
  font-size: 1.25rem; }
ol { padding-left: 1.4rem; }
li { margin: .6rem 0; }
a { color: inherit; }
a.take { display: block; margin: .5rem 0; padding: .8rem 1rem; border-radius: .5rem;
  background: var(--button); color: var(--label); font-weight: 600; text-align: center;
  text-decoration: none; }
code { font: .9375rem/1.5 ui-monospace, monospace; }
"""

_PAGE = """<!doctype html>
<html lang="en-GB">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>Trust the bench</title>
<style>{style}</style>
</head>
<body>
<h1>Let this phone trust the bench</h1>
<p>A browser keeps the bench for use with no signal only when the phone trusts the computer that
serves it. You do this once on each phone.</p>

<h2>Android</h2>
<ol>
<li><a class="take" href="/bench-ca.crt">Save the certificate</a></li>
<li>Open <b>Settings</b> and search for <b>CA certificate</b>. It is under Security, Encryption
and credentials, Install a certificate. Choose <b>CA certificate</b>: not Wi-Fi, and not VPN and
app user. The phone needs a screen lock.</li>
<li>Android warns you. Tap <b>Install anyway</b> and choose <b>bench-ca.crt</b> among the
downloads.</li>
<li>Open the bench in Chrome: {links}.</li>
</ol>
<p>Android goes on telling you that the network may be watched, for as long as the certificate is
there. Firefox takes no notice of the certificate unless its own settings say so.</p>

<h2>iPhone and iPad</h2>
<ol>
<li>In Safari: <a class="take" href="/bench-ca.mobileconfig">Get the profile</a> Tap
<b>Allow</b>.</li>
<li>Open <b>Settings</b>, tap <b>Profile Downloaded</b>, then <b>Install</b>.</li>
<li><b>The step that people miss:</b> Settings, General, About, <b>Certificate Trust
Settings</b>. Switch on <b>{name}</b>.</li>
<li>Open the bench in Safari: {links}.</li>
</ol>

<h2>How to tell that it worked</h2>
<p>Open the bench and choose <b>Workshop</b>. Under <b>On this phone</b> it says that it works with
no signal. If the browser warned you and you went on all the same, the bench opens but never says
that.</p>
<p>Stay with one address: what the phone keeps belongs to the address that you opened.</p>

<h2>What you trust</h2>
<p>The phone will believe a certificate that was signed with this computer's key. Whoever steals
that key could pose as something on your house network: this bench, a printer, the router. The
certificate says that it is good for such names and addresses only (ending in .local, or private):
a phone that keeps to that will not take it for a bank, a shop or anything else on the internet.
It lets nobody read what is on your
phone.</p>
<p>Anyone on the network could have changed this page on its way to you. Before you switch the
certificate on, compare its SHA-256 fingerprint in the phone's settings with the one that the
computer shows where the bench was started:</p>
<p><code>{fingerprint}</code></p>

<h2>To remove it later</h2>
<p>Android: in Settings search for <b>User credentials</b>, tap the bench's, then Remove. iPhone
and iPad: Settings, General, VPN and Device Management, the bench's profile, <b>Remove
Profile</b>.</p>
</body>
</html>
"""


_STYLE_HASH = base64.b64encode(hashlib.sha256(_STYLE.encode()).digest()).decode()

HEADERS = {
    "Content-Security-Policy": (
        f"default-src 'none'; style-src 'sha256-{_STYLE_HASH}'; base-uri 'none'; "
        "form-action 'none'; frame-ancestors 'none'"
    ),
    "Referrer-Policy": "no-referrer",
    "X-Content-Type-Options": "nosniff",
    "Cache-Control": "no-store",
}


def page(authority: x509.Certificate, addresses: Sequence[str]) -> str:
    """The guide as HTML. `addresses` are those of the bench, the best one first."""
    links = " or ".join(
        f'<a href="{html.escape(address)}">{html.escape(address)}</a>' for address in addresses
    )
    pairs = certificates.fingerprint(authority).split(":")
    lines = [" ".join(pairs[start : start + 8]) for start in range(0, len(pairs), 8)]
    return _PAGE.format(
        style=_STYLE,
        links=links,
        name=html.escape(certificates.common_name(authority)),
        fingerprint="<br>".join(lines),
    )


def profile(authority: x509.Certificate) -> bytes:
    """The authority as a configuration profile, which is how an iPhone takes one.

    Its identifiers come from the certificate, so that installing twice replaces.
    Source: Apple, Configuration Profile Reference, payload com.apple.security.root.
    """
    name = certificates.common_name(authority)
    print_ = certificates.fingerprint(authority)
    inner, outer = (
        str(uuid.uuid5(uuid.NAMESPACE_OID, f"{part} {print_}")).upper()
        for part in ("certificate", "profile")
    )
    payload = {
        "PayloadType": "com.apple.security.root",
        "PayloadVersion": 1,
        "PayloadIdentifier": f"bench.{outer}.root",
        "PayloadUUID": inner,
        "PayloadDisplayName": name,
        "PayloadCertificateFileName": "bench-ca.crt",
        "PayloadContent": authority.public_bytes(Encoding.DER),
    }
    whole = {
        "PayloadType": "Configuration",
        "PayloadVersion": 1,
        "PayloadIdentifier": f"bench.{outer}",
        "PayloadUUID": outer,
        "PayloadDisplayName": name,
        "PayloadDescription": "Lets this phone trust the pour bench on the house network.",
        "PayloadContent": [payload],
    }
    return plistlib.dumps(whole)


class House:
    """The certificates of a bench on the house network, its addresses, and the guide to it."""

    def __init__(self, guide: "Guide", host: str, port: int, folder: Path) -> None:
        """Look around for a server that listens at `host` and keeps certificates in `folder`.

        Raises as `look` does, and ValueError where `host` is no address in a house.
        """
        self.guide = guide
        self._port, self._folder = port, folder
        self._listens_at = read_host(host)
        self.look()

    def look(self) -> None:
        """Take the machine's names and addresses as they are now; renew and show what is due.

        Raises OSError and ValueError as `certificates.keep` does.
        """
        names = certificates.house_names(socket.gethostname())
        addresses = certificates.house_addresses([*machine_addresses(), self._listens_at])
        self.kept = certificates.keep(
            self._folder, names=names, addresses=addresses, now=datetime.now(UTC)
        )
        hosts = reachable_at(self._listens_at, names, addresses)
        self.urls = [f"https://{host}:{self._port}/" for host in hosts]
        # Older phones do not find names that end in .local.
        plain = next((host for host in hosts if not host.endswith(".local")), hosts[0])
        self.guide_url = f"http://{plain}:{self.guide.server_address[1]}/"
        self.fingerprint = certificates.fingerprint(self.kept.authority)
        self.guide.show(self.kept.authority, self.urls)


def read_host(host: str) -> certificates.Address:
    """An address of the house network, or the one that stands for all of this machine's.

    Raises ValueError with a sentence for anything else.
    """
    with contextlib.suppress(ValueError):
        address = ip_address(host)
        if address.is_unspecified or certificates.is_house_address(address):
            return address
    raise ValueError(
        f"With --lan the bench listens at an address of the house network, and {host} is none. "
        "Give one like 192.168.1.20 with --host, or leave --host out."
    )


def reachable_at(
    listens_at: certificates.Address,
    names: Sequence[str],
    addresses: Sequence[certificates.Address],
) -> list[str]:
    """The hosts to print in URLs: the machine's .local name, then addresses.

    The name comes first because it outlives a new address: what a phone keeps belongs to the
    host that it opened.
    """
    if listens_at.is_loopback:
        shown = [listens_at]
    elif listens_at.is_unspecified:
        shown = [
            address
            for address in addresses
            if not address.is_loopback and (address.version == 4 or listens_at.version == 6)
        ]
    else:
        shown = [listens_at]
    named = [name for name in names if name.endswith(".local") and not listens_at.is_loopback]
    hosts = named + [f"[{item}]" if item.version == 6 else str(item) for item in shown]
    return hosts or ["localhost"]


def machine_addresses() -> list[certificates.Address]:
    """The addresses under which this machine would call others: its networks' as far as its
    routes tell. A connected datagram socket has one; nothing is sent.
    """
    found: list[certificates.Address] = []
    # Somewhere on the internet (RFC 5737, RFC 3849), then somewhere in each private range.
    for target in (
        *("192.0.2.1", "192.168.255.253", "172.31.255.253", "10.255.255.253", "169.254.255.253"),
        *("2001:db8::1", "fdff::1"),
    ):
        family = socket.AF_INET6 if ":" in target else socket.AF_INET
        with contextlib.suppress(OSError), socket.socket(family, socket.SOCK_DGRAM) as probe:
            probe.connect((target, 9))
            address = ip_address(probe.getsockname()[0])
            # No browser takes a link-local IPv6 address: it needs the interface's name as well.
            if not (address.version == 6 and address.is_link_local):
                found.append(address)
    return list(dict.fromkeys(found))


class Guide(socketserver.ThreadingTCPServer):
    """Serves the guide and the authority, and nothing else.

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
        self._room = threading.BoundedSemaphore(_MOST_CALLERS)
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
        if self._room.acquire(blocking=False):
            super().process_request(request, client_address)
        else:
            self.shutdown_request(request)

    def process_request_thread(self, request: Any, client_address: Any) -> None:
        try:
            super().process_request_thread(request, client_address)
        finally:
            self._room.release()

    def handle_error(self, request: Any, client_address: Any) -> None:
        """A phone that walks away in the middle is nothing to print."""


class _Caller(BaseHTTPRequestHandler):
    server: Guide
    timeout = _LONGEST_SILENCE_S

    def do_GET(self) -> None:
        found = self.server.files.get(self.path.partition("?")[0])
        if found is None:
            self._answer(404, "text/plain; charset=utf-8", b"There is nothing at this address.\n")
        else:
            self._answer(200, *found)

    do_HEAD = do_GET

    def send_error(self, code: int, message: str | None = None, explain: str | None = None) -> None:
        # Methods without a do_ of their own arrive here as 501.
        status = 405 if code == 501 else code
        self._answer(status, "text/plain; charset=utf-8", b"This page can only be read.\n")

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
