"""The bench on the house network and behind a proxy, over real sockets and real TLS."""

import base64
import hashlib
import http.client
import http.server
import json
import os
import plistlib
import re
import select
import shutil
import socket
import ssl
import subprocess
import sys
import threading
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from ipaddress import ip_address
from urllib.parse import urlsplit

import pytest
import segno
from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID
from flask import session
from playwright.sync_api import Error

from benchapp.web import certificates, local_network, terminal, trust
from benchapp.web.app import create_app
from benchapp.web.connections import MOST_OF_ADDRESS
from benchapp.web.trust_server import TrustServer
from tests.conftest import WHOLE
from tests.waits import PATIENCE_S

FALLEN_SILENT = 31


@dataclass
class Bench:
    """A server that was started with --lan, and what it printed."""

    running: object
    port: int
    guide_url: str
    said: str

    @property
    def guide(self) -> tuple[str, int]:
        address = urlsplit(self.guide_url)
        return str(address.hostname), int(address.port or 0)

    def authority(self) -> bytes:
        return fetch(http.client.HTTPConnection(*self.guide), "/bench-ca.crt").body

    def trusting(self) -> ssl.SSLContext:
        """A client that trusts what the guide hands over, and nothing else."""
        context = ssl.create_default_context(cadata=self.authority())
        context.verify_flags |= ssl.VERIFY_X509_STRICT
        return context

    def connect(self, name: str, context: ssl.SSLContext) -> ssl.SSLSocket:
        plain = socket.create_connection(("127.0.0.1", self.port))
        try:
            return context.wrap_socket(plain, server_hostname=name)
        except ssl.SSLError:
            plain.close()
            raise

    def serial(self) -> int:
        """The serial number of the certificate that is served now."""
        with self.connect("localhost", self.trusting()) as connected:
            return x509.load_der_x509_certificate(connected.getpeercert(True)).serial_number


@dataclass
class Answer:
    status: int
    headers: http.client.HTTPMessage
    body: bytes


def fetch(connection, path, method="GET", headers=None) -> Answer:
    try:
        connection.request(method, path, headers=headers or {})
        response = connection.getresponse()
        return Answer(response.status, response.headers, response.read())
    finally:
        connection.close()


@pytest.fixture
def bench(server):
    def start(**more) -> Bench:
        environment = {
            "BENCHAPP_SERVE_LAN": "1",
            "BENCHAPP_SERVE_HOST": "127.0.0.1",
            "BENCHAPP_SERVE_TRUST_PORT": "0",
        }
        running = server(environment=environment, **more)
        running.wait_for(re.compile("^(The fingerprint)"))
        text = "".join(running.said)
        guide = re.search(r"http://\S+", text)[0]
        return Bench(running, urlsplit(running.url).port, guide, text)

    return start


def pem(key, certificate) -> bytes:
    text = key.private_bytes(
        serialization.Encoding.PEM,
        serialization.PrivateFormat.PKCS8,
        serialization.NoEncryption(),
    )
    return text + certificate.public_bytes(serialization.Encoding.PEM)


def run(*arguments, cwd):
    return subprocess.run(
        [sys.executable, "-m", "benchapp", "serve", *arguments],
        cwd=cwd,
        capture_output=True,
        text=True,
        check=False,
    )


# ---- TLS ---------------------------------------------------------------------------------------


def test_a_phone_that_trusts_the_authority_gets_the_app(bench):
    started = bench()
    assert urlsplit(started.running.url).scheme == "https"
    context = started.trusting()
    for name in (*local_network.machine_names(socket.gethostname()), "127.0.0.1"):
        with started.connect(name, context) as connected:
            connected.sendall(b"GET /sw.js HTTP/1.0\r\nHost: bench\r\n\r\n")
            assert connected.recv(64).startswith(b"HTTP/1.1 200 ")
    for name in ("bank.example", "192.168.255.1"):
        with pytest.raises(ssl.SSLCertVerificationError):
            started.connect(name, context)
    with pytest.raises(ssl.SSLCertVerificationError):
        started.connect("localhost", ssl.create_default_context())

    # Old phones speak TLS 1.2.
    old = started.trusting()
    old.maximum_version = ssl.TLSVersion.TLSv1_2
    with started.connect("localhost", old) as connected:
        assert connected.version() == "TLSv1.2"
    new = started.trusting()
    new.set_alpn_protocols(["h2", "http/1.1"])
    with started.connect("localhost", new) as connected:
        assert connected.version() == "TLSv1.3"
        assert connected.selected_alpn_protocol() == "http/1.1"

    before = started.authority()
    assert started.running.stop() == 0
    assert bench(data=started.running.data).authority() == before


def test_callers_who_fall_silent_hold_up_nobody(bench):
    started = bench()
    context = started.trusting()
    # Half have said nothing, half walked away in the middle of the handshake (RFC 8446, 5.1).
    callers = [
        (started.port, b"" if one % 2 else b"\x16\x03\x01\x02\x00\x01\x00")
        for one in range(FALLEN_SILENT)
    ]
    callers += [(started.guide[1], b"" if one % 2 else b"GET / HT") for one in range(FALLEN_SILENT)]
    silent = []
    try:
        for port, said in callers:
            silent.append(socket.create_connection(("127.0.0.1", port)))
            silent[-1].sendall(said)
        app = http.client.HTTPSConnection("127.0.0.1", started.port, context=context)
        assert fetch(app, "/sw.js").status == 200
        assert fetch(http.client.HTTPConnection(*started.guide), "/").status == 200
        # None of them was got rid of to answer these two.
        for connection in silent:
            connection.setblocking(False)
            with pytest.raises(BlockingIOError):
                connection.recv(1)
    finally:
        for connection in silent:
            connection.close()


def test_a_running_server_takes_up_a_new_certificate(bench, own_checkout):
    file = own_checkout.path / "benchapp" / "web" / "serving.py"
    file.write_text(file.read_text(encoding="utf-8") + "\nCHECK_EVERY_S = 0.2\n", encoding="utf-8")
    started = bench(checkout=own_checkout.path)
    first = started.serial()
    folder = started.running.data / "tls"
    # One that is about to run out, in the place of the good one.
    keys = (folder / "authority.pem").read_bytes()
    authority = certificates.Signed(
        serialization.load_pem_private_key(keys, None), x509.load_pem_x509_certificate(keys)
    )
    names = local_network.machine_names(socket.gethostname())
    addresses = local_network.private_addresses(local_network.machine_addresses())
    then = datetime.now(UTC) - timedelta(days=380)
    old = certificates.make_server(authority, names, addresses, then)
    old_file = folder / "server.new"
    old_file.write_bytes(pem(old.key, old.certificate))
    old_file.replace(folder / "server.pem")
    while started.serial() == first:
        pass
    assert started.serial() != old.certificate.serial_number
    assert started.running.stop() == 0


def test_a_cookie_is_for_tls_only_where_there_is_tls(tmp_path, small_shell):
    def cookie(**settings):
        app = create_app(data_dir=tmp_path / "data", **settings)

        @app.get("/counts")
        def counts():
            session["count"] = 1
            return "counted"

        return app.test_client().get("/counts").headers["Set-Cookie"]

    assert "Secure" not in cookie()
    assert "Secure" in cookie(tls=True)
    assert "Secure" in cookie(behind_proxy=True)


# ---- what is printed, and what is refused ------------------------------------------------------


def test_the_terminal_shows_the_guide_as_a_qr_code(bench):
    started = bench()
    halves = {" ": (1, 1), "▀": (0, 1), "▄": (1, 0), "█": (0, 0)}
    lines = [line for line in started.said.splitlines() if line and set(line) <= set(halves)]
    rows = [[halves[mark][half] for mark in line] for line in lines for half in (0, 1)]
    code = segno.make(started.guide_url, micro=False)
    border = 4  # ISO/IEC 18004: the quiet zone is four modules wide
    drawn = [row[border:-border] for row in rows[border : border + len(code.matrix)]]
    assert drawn == [list(row) for row in code.matrix]
    digest = hashlib.sha256(started.authority()).digest().hex(":").upper()
    assert digest in started.said


def test_the_qr_code_is_white_on_black_in_any_terminal(monkeypatch):
    class Terminal:
        encoding = "utf-8"

        def isatty(self):
            return True

    monkeypatch.setattr("sys.stdout", Terminal())
    if os.name == "posix":
        for row in terminal.qr("http://192.168.1.20:8001/").splitlines():
            assert re.fullmatch("\033\\[38;5;231;48;5;16m[ ▀▄█]+\033\\[0m", row)
    Terminal.encoding = "latin-1"
    assert terminal.qr("http://192.168.1.20:8001/") == ""


@pytest.mark.parametrize(
    ("listens_at", "hosts"),
    [
        ("0.0.0.0", ["bench-2.local", "192.168.1.20"]),  # noqa: S104
        ("::", ["bench-2.local", "192.168.1.20", "[fd00::2]"]),
        ("192.168.1.20", ["bench-2.local", "192.168.1.20"]),
        ("127.0.0.1", ["127.0.0.1"]),
        ("::1", ["[::1]"]),
    ],
)
def test_the_name_is_printed_before_the_addresses(listens_at, hosts):
    names = local_network.machine_names("bench-2")
    addresses = local_network.private_addresses([ip_address("192.168.1.20"), ip_address("fd00::2")])
    assert (
        local_network.reachable_at(local_network.read_host(listens_at), names, addresses) == hosts
    )


@pytest.mark.parametrize("host", ["8.8.8.8", "2001:db8::1", "bench.example", ""])
def test_lan_is_for_the_house_network(host):
    with pytest.raises(ValueError, match=r"like 192\.168\.1\.20"):
        local_network.read_host(host)


@pytest.mark.slow
def test_what_does_not_go_together_is_one_sentence(checkout, tmp_path):
    data = ["--data", str(tmp_path / "d")]
    with socket.create_server(("127.0.0.1", 0)) as other:
        taken = str(other.getsockname()[1])
        refused = [
            (["--lan", "--behind-proxy"], "do not go together"),
            (["--lan", "--port", "8001"], "are the same"),
            (
                ["--lan", "--host", "127.0.0.1", "--port", "0", "--trust-port", taken],
                f"Port {taken} is taken",
            ),
        ]
        for options, sentence in refused:
            done = run(*data, *options, cwd=checkout.path)
            assert done.returncode == 2
            assert sentence in done.stderr
            assert len(done.stderr.splitlines()) == 1
    (tmp_path / "d" / "tls").mkdir(parents=True)
    (tmp_path / "d" / "tls" / "authority.pem").write_text("damaged")
    options = ["--lan", "--host", "127.0.0.1", "--port", "0", "--trust-port", "0"]
    done = run(*data, *options, cwd=checkout.path)
    assert done.returncode == 2
    assert "authority.pem is damaged" in done.stderr
    assert "Traceback" not in done.stderr


# ---- the guide ---------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def authority():
    names = local_network.machine_names("bench-2")
    return certificates.make_authority(names, datetime.now(UTC)).certificate


@pytest.fixture(scope="module")
def guide(authority):
    served = TrustServer("127.0.0.1", 0)
    served.show(authority, ["https://bench-2.local:8000/", "https://192.168.1.20:8000/"])
    served.start()
    yield served
    served.shutdown()
    served.server_close()


def ask(guide, path, method="GET") -> Answer:
    return fetch(http.client.HTTPConnection(*guide.server_address), path, method)


def test_the_guide_says_what_to_do(guide, authority):
    answer = ask(guide, "/")
    assert answer.status == 200
    assert answer.headers["Content-Type"] == "text/html; charset=utf-8"
    text = " ".join(answer.body.decode().split())
    for needed in (
        "https://bench-2.local:8000/",
        "https://192.168.1.20:8000/",
        "CA certificate",
        "Install anyway",
        "Profile Downloaded",
        "Certificate Trust Settings",
        "and switch on <b>Pour bench on bench-2</b>",
        "works offline",
        "To remove it later",
    ):
        assert needed in text
    pairs = certificates.fingerprint(authority).replace(":", " ")
    assert pairs in re.sub("<br>", " ", text)
    assert "<script" not in text
    assert not re.search(r"\sstyle=|\son[a-z]+=", text)


def test_the_guide_hands_over_the_authority_for_both_phones(guide, authority):
    der = authority.public_bytes(serialization.Encoding.DER)
    certificate = ask(guide, "/bench-ca.crt")
    # The type that Android and iOS take: from memory.
    assert certificate.headers["Content-Type"] == "application/x-x509-ca-cert"
    assert certificate.body == der
    profile = ask(guide, "/bench-ca.mobileconfig")
    assert profile.headers["Content-Type"] == "application/x-apple-aspen-config"
    whole = plistlib.loads(profile.body)
    assert whole["PayloadType"] == "Configuration"
    (payload,) = whole["PayloadContent"]
    assert payload["PayloadType"] == "com.apple.security.root"
    assert payload["PayloadContent"] == der
    for part in (whole, payload):
        assert part["PayloadVersion"] == 1
        assert part["PayloadUUID"]
        assert part["PayloadIdentifier"]
    assert whole["PayloadUUID"] != payload["PayloadUUID"]
    assert trust.profile(authority) == profile.body


@pytest.mark.parametrize(
    "path",
    [
        "/sw.js",
        "/static/app.js",
        "/api/me",
        "/authority.pem",
        "/../tls/authority.pem",
        "/bench-ca.crt/",
        "/index.html",
    ],
)
def test_nothing_else_is_there(guide, path):
    assert ask(guide, path).status == 404


@pytest.mark.parametrize("method", ["POST", "PUT", "DELETE", "OPTIONS", "TRACE", "X"])
def test_the_guide_can_only_be_read(guide, method):
    answer = ask(guide, "/", method)
    assert (answer.status, answer.headers["Allow"]) == (405, "GET, HEAD")


def test_head_has_the_length_and_no_body(guide):
    whole, head = ask(guide, "/"), ask(guide, "/", "HEAD")
    assert head.body == b""
    assert head.headers["Content-Length"] == str(len(whole.body))


@pytest.mark.parametrize(("path", "method"), [("/", "GET"), ("/no", "GET"), ("/", "POST")])
def test_every_answer_of_the_guide_has_the_headers(guide, path, method):
    answer = ask(guide, path, method)
    for name, value in trust.HEADERS.items():
        assert answer.headers.get_all(name) == [value]
    assert "default-src 'none'" in answer.headers["Content-Security-Policy"]
    assert "unsafe" not in answer.headers["Content-Security-Policy"]
    assert "Server" not in answer.headers


def test_more_callers_than_there_is_room_for_do_not_stop_it(guide, monkeypatch):
    with socket.create_connection(guide.server_address) as rude:
        rude.sendall(b"GET /" + b"x" * 70_000 + b" HTTP/1.1\r\n\r\n")
        assert rude.recv(64).startswith(b"HTTP/1.0 414 ")
    crowd = [socket.create_connection(guide.server_address) for _ in range(80)]
    for caller in crowd:
        caller.close()
    while True:
        try:
            assert ask(guide, "/").status == 200
            break
        except (ConnectionError, http.client.RemoteDisconnected):
            continue


@pytest.mark.skipif(sys.platform != "linux", reason="has no second loopback address")
def test_one_address_does_not_take_all_the_room_of_the_guide(guide):
    crowd = [socket.create_connection(guide.server_address) for _ in range(64)]
    turned_away, _, _ = select.select(crowd, [], [], PATIENCE_S)
    assert turned_away
    elsewhere = http.client.HTTPConnection(
        *guide.server_address, timeout=PATIENCE_S, source_address=("127.0.0.2", 0)
    )
    assert fetch(elsewhere, "/").status == 200
    for caller in crowd:
        caller.close()


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_guide_reads_on_a_phone(guide, phone, scheme):
    phone.emulate_media(color_scheme=scheme)
    host, port = guide.server_address
    phone.goto(f"http://{host}:{port}/")
    # The policy lets its own style in: the buttons are painted.
    painted = "() => getComputedStyle(document.querySelector('a.take')).backgroundColor"
    assert phone.evaluate(painted) != "rgba(0, 0, 0, 0)"
    assert phone.evaluate("() => document.documentElement.scrollWidth <= innerWidth")
    heights = phone.evaluate(
        "() => [...document.querySelectorAll('a.take')].map((link) => link.offsetHeight)"
    )
    assert len(heights) == 2
    # WCAG 2.2, 2.5.5 target size (enhanced).
    assert min(heights) >= 44


# ---- in a browser ------------------------------------------------------------------------------


def test_the_app_works_with_no_signal_over_https(bench, playwright, chromium_path, until):
    started = bench()
    certificate = x509.load_pem_x509_certificate(
        (started.running.data / "tls" / "server.pem").read_bytes()
    )
    key = certificate.public_key().public_bytes(
        serialization.Encoding.DER, serialization.PublicFormat.SubjectPublicKeyInfo
    )
    pin = base64.b64encode(hashlib.sha256(key).digest()).decode()
    browser = playwright.chromium.launch(
        executable_path=chromium_path, args=[f"--ignore-certificate-errors-spki-list={pin}"]
    )
    try:
        page = browser.new_page(viewport={"width": 390, "height": 844})
        page.goto(started.running.url)
        assert page.evaluate("() => isSecureContext")
        until(page, WHOLE)
        shown = page.locator("h1").first.inner_text()
        assert started.running.stop() == 0
        page.reload()
        assert page.locator("h1").first.inner_text() == shown
    finally:
        browser.close()


@pytest.fixture
def imposter(tmp_path):
    """Serve with a certificate that the stolen key signed for `name`; return the port."""
    listeners = []

    def start(folder, name) -> int:
        keys = (folder / "authority.pem").read_bytes()
        authority = x509.load_pem_x509_certificate(keys)
        key = ec.generate_private_key(ec.SECP256R1())
        identifier = authority.extensions.get_extension_for_class(x509.SubjectKeyIdentifier).value
        certificate = (
            x509.CertificateBuilder()
            .subject_name(x509.Name([]))
            .issuer_name(authority.subject)
            .public_key(key.public_key())
            .serial_number(x509.random_serial_number())
            .not_valid_before(datetime.now(UTC) - timedelta(days=1))
            .not_valid_after(datetime.now(UTC) + timedelta(days=1))
            .add_extension(x509.SubjectAlternativeName([x509.DNSName(name)]), critical=True)
            .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
            .add_extension(
                x509.AuthorityKeyIdentifier.from_issuer_subject_key_identifier(identifier), False
            )
            .sign(serialization.load_pem_private_key(keys, None), hashes.SHA256())
        )
        file = tmp_path / f"{name}.pem"
        file.write_bytes(pem(key, certificate))
        context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
        context.load_cert_chain(file)
        listener = http.server.ThreadingHTTPServer(("127.0.0.1", 0), Hello)
        listener.socket = context.wrap_socket(listener.socket, server_side=True)
        listener.daemon_threads = True
        listener.handle_error = lambda *_: None
        threading.Thread(target=listener.serve_forever, daemon=True).start()
        listeners.append(listener)
        return listener.server_address[1]

    yield start
    for listener in listeners:
        listener.shutdown()
        listener.server_close()


class Hello(http.server.BaseHTTPRequestHandler):
    def do_GET(self):
        self.send_response(200)
        self.send_header("Content-Length", "5")
        self.end_headers()
        self.wfile.write(b"hello")

    def log_message(self, format, *args):
        pass


def test_chromium_trusts_the_authority_with_the_house_alone(
    bench, imposter, playwright, chromium_path, until, tmp_path
):
    certutil = shutil.which("certutil")
    if certutil is None or sys.platform != "linux":
        pytest.skip("certutil (libnss3-tools), which tells Chromium whom to trust, is not there.")
    started = bench()
    store = tmp_path / ".pki" / "nssdb"
    store.mkdir(parents=True)
    file = tmp_path / "authority.crt"
    file.write_bytes(started.authority())
    database = ["-d", f"sql:{store}"]
    subprocess.run([certutil, *database, "-N", "--empty-password"], check=True)
    subprocess.run([certutil, *database, "-A", "-t", "C,,", "-n", "a", "-i", file], check=True)
    folder = started.running.data / "tls"
    browser = playwright.chromium.launch(
        executable_path=chromium_path,
        env=os.environ | {"HOME": str(tmp_path)},
        args=["--host-resolver-rules=MAP *.local 127.0.0.1, MAP bank.example 127.0.0.1"],
    )
    try:
        page = browser.new_page()
        for host in (local_network.machine_names(socket.gethostname())[-1], "127.0.0.1"):
            page.goto(f"https://{host}:{started.port}/")
            until(page, "async () => navigator.serviceWorker.controller?.state === 'activated'")
        page.goto(f"https://other.local:{imposter(folder, 'other.local')}/")
        assert page.inner_text("body") == "hello"
        with pytest.raises(Error, match="ERR_CERT_INVALID"):
            page.goto(f"https://bank.example:{imposter(folder, 'bank.example')}/")
    finally:
        browser.close()


# ---- behind a proxy ----------------------------------------------------------------------------

_ECHO = """

_make = create_app


def create_app(**settings):
    from flask import request

    app = _make(**settings)

    @app.get("/seen")
    def seen():
        return {"from": request.remote_addr, "at": request.host_url}

    return app
"""


@pytest.fixture
def echo(own_checkout):
    """A copy of the code that tells what it takes a request for."""
    file = own_checkout.path / "benchapp" / "web" / "app.py"
    file.write_text(file.read_text(encoding="utf-8") + _ECHO, encoding="utf-8")
    return own_checkout.path


FORWARDED = {
    # The caller wrote the first address, the proxy the second.
    "X-Forwarded-For": "203.0.113.66, 198.51.100.7",
    "X-Forwarded-Proto": "https",
    "X-Forwarded-Host": "bench.example",
    "X-Forwarded-Prefix": "/elsewhere",
    "Forwarded": "for=203.0.113.66;proto=https;host=evil.example",
}


def test_one_proxy_is_believed_when_told_so(server, echo):
    running = server(checkout=echo, environment={"BENCHAPP_SERVE_BEHIND_PROXY": "1"})
    address = urlsplit(running.url)
    # All connections are the proxy's own: none of them gives way to another.
    kept = [
        socket.create_connection((address.hostname, address.port))
        for _ in range(MOST_OF_ADDRESS + 1)
    ]
    connection = http.client.HTTPConnection(address.hostname, address.port)
    seen = json.loads(fetch(connection, "/seen", headers=FORWARDED).body)
    assert seen == {"from": "198.51.100.7", "at": "https://bench.example/"}
    assert not select.select(kept, [], [], 0)[0]
    for each in kept:
        each.close()


def test_no_proxy_is_believed_otherwise(server, bench, echo):
    plain = server(checkout=echo)
    address = urlsplit(plain.url)
    connection = http.client.HTTPConnection(address.hostname, address.port)
    seen = json.loads(fetch(connection, "/seen", headers=FORWARDED).body)
    assert seen == {"from": "127.0.0.1", "at": plain.url}

    house = bench(checkout=echo)
    connection = http.client.HTTPSConnection("127.0.0.1", house.port, context=house.trusting())
    seen = json.loads(fetch(connection, "/seen", headers=FORWARDED).body)
    assert seen == {"from": "127.0.0.1", "at": house.running.url}
