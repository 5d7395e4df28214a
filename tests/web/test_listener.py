"""What callers can do to the listener over real sockets, and what they can't."""

import socket
import ssl
import sys
from contextlib import ExitStack, closing
from datetime import UTC, datetime

import pytest
from cryptography.hazmat.primitives.serialization import Encoding

from benchapp.web import certificates
from benchapp.web.connections import Connections
from benchapp.web.listener import MOST_HEAD, HttpConnection, Patience
from tests.waits import PATIENCE_S, until
from tests.web.caller import bench
from tests.web.listening import Listening
from tests.web.own_listener import FOREVER, LARGE, Echo, Line, listening
from tests.web.wire import Phone

pytestmark = pytest.mark.slow

HEAD = b"HTTP/1.1\r\nHost: bench\r\n"
ASKED = b"GET / " + HEAD + b"\r\n"
KNOWN = b"GET / " + HEAD + b"Cookie: known\r\n\r\n"
ANSWERED = b"GET /? host ."
SHORT_END = Patience(head=PATIENCE_S, idle=PATIENCE_S, linger=PATIENCE_S, end=0.05)
SOON = Patience(head=0.05, idle=60, linger=0.05)

several_addresses = pytest.mark.skipif(
    sys.platform != "linux", reason="has one loopback address (RFC 1122, 3.2.1.3, has more)"
)


@pytest.fixture(scope="module")
def echo():
    with listening(Echo()) as port:
        yield port


@pytest.fixture
def call():
    """Call the listener at a port: `call(port, said)`."""
    with ExitStack() as lines:
        yield lambda *given: lines.enter_context(closing(Line(*given)))


# ---- what is read ------------------------------------------------------------------------------

REFUSED = {
    "no host": b"GET / HTTP/1.1\r\n\r\n",
    "two hosts": b"GET / " + HEAD + b"Host: other\r\n\r\n",
    "two lengths": b"POST / " + HEAD + b"Content-Length: 2\r\nContent-Length: 2\r\n\r\n{}",
    "other lengths": b"POST / " + HEAD + b"Content-Length: 2\r\nContent-Length: 3\r\n\r\n{}",
    "a list of lengths": b"POST / " + HEAD + b"Content-Length: 2, 2\r\n\r\n{}",
    "a signed length": b"POST / " + HEAD + b"Content-Length: +2\r\n\r\n{}",
    "a negative length": b"POST / " + HEAD + b"Content-Length: -2\r\n\r\n{}",
    "a huge length": b"POST / " + HEAD + b"Content-Length: 99999999999999999999\r\n\r\n{}",
    "length and chunks": b"POST / "
    + HEAD
    + b"Content-Length: 5\r\nTransfer-Encoding: chunked\r\n\r\n0\r\n\r\n"
    + ASKED,
    "chunks and length": b"POST / "
    + HEAD
    + b"Transfer-Encoding: chunked\r\nContent-Length: 5\r\n\r\n0\r\n\r\n",
    "space before the colon": b"POST / " + HEAD + b"Transfer-Encoding : chunked\r\n\r\n0\r\n\r\n",
    "chunked twice": b"POST / " + HEAD + b"Transfer-Encoding: chunked\r\n" * 2 + b"\r\n0\r\n\r\n",
    "chunked, then not": b"POST / "
    + HEAD
    + b"Transfer-Encoding: chunked, identity\r\n\r\n0\r\n\r\n",
    "a folded header": b"GET / " + HEAD + b"X: a\r\n b\r\n\r\n",
    "bare line feeds": b"GET / HTTP/1.1\nHost: bench\n\n",
    "a zero in a header": b"GET / " + HEAD + b"X: a\0b\r\n\r\n",
    "a zero in the path": b"GET /\0 " + HEAD + b"\r\n",
    "a zero in the query": b"GET /?\0 " + HEAD + b"\r\n",
    "no ASCII in the path": "GET /é ".encode() + HEAD + b"\r\n",
    "no ASCII in the query": "GET /?é ".encode() + HEAD + b"\r\n",
    "a tunnel": b"CONNECT elsewhere:443 " + HEAD + b"\r\n",
    "HTTP/2": b"PRI * HTTP/2.0\r\n\r\nSM\r\n\r\n",
    "TLS": b"\x16\x03\x01\x02\x00\x01\x00",
}


@pytest.mark.parametrize("said", REFUSED.values(), ids=list(REFUSED))
def test_what_is_wrong_or_can_be_read_in_two_ways_is_refused(echo, said, call):
    line = call(echo, said)
    heard = line.hear_all()
    assert heard.startswith(b"HTTP/1.1 400 Bad Request\r\n")
    assert heard.endswith(b"Reload the page and try again.\n")
    assert heard.count(b"HTTP/1.1") == 1


@pytest.mark.parametrize("coding", [b"identity", b"gzip", b"xchunked", b"chunked\r\n\r\nz"])
def test_a_body_whose_end_can_not_be_told_gets_no_answer(echo, coding, call):
    line = call(echo, b"POST / " + HEAD + b"Transfer-Encoding: %b\r\n\r\n{}" % coding)
    assert line.hear_all() == b""


def test_headers_after_a_body_are_none(echo, call):
    chunks = b"2\r\n{}\r\n0\r\nCookie: known\r\n\r\n"
    said = b"POST / " + HEAD + b"Transfer-Encoding: chunked\r\n\r\n" + chunks
    line = call(echo, said)
    assert line.hear(b"{}.").endswith(b"POST /? host,transfer-encoding {}.")


def test_where_it_is_said_to_go_is_not_where_it_goes(echo, call):
    line = call(echo, b"GET http://elsewhere/a%00b?c " + HEAD + b"\r\n")
    assert b"GET /a\0b?c host ." in line.hear(b" .")
    line.say(b"GET //elsewhere/a " + HEAD + b"\r\n")
    assert b"GET //elsewhere/a? host ." in line.hear(b" .")


def test_no_part_of_an_answer_waits_for_an_acknowledgement(call, monkeypatch):
    made = []
    really = HttpConnection.connection_made

    def connection_made(self, transport):
        connected = transport.get_extra_info("socket")
        made.append(connected.getsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY))
        really(self, transport)

    monkeypatch.setattr(HttpConnection, "connection_made", connection_made)
    with listening(Echo()) as port:
        call(port, ASKED).hear(ANSWERED)
    assert made == [1]


def test_an_old_caller_is_answered_and_closed(echo, call):
    line = call(echo, b"GET / HTTP/1.0\r\nConnection: keep-alive\r\n\r\n")
    assert line.hear_all().endswith(b"GET /? connection .")


def test_requests_in_line_are_answered_in_order(echo, call):
    line = call(echo, b"\r\n" + b"".join(b"GET /%d %b\r\n" % (n, HEAD) for n in range(5)))
    for number in range(5):
        assert b"GET /%d? host ." % number in line.hear(b" .")
    assert line.is_open()


def test_too_many_in_line_are_not_taken(echo, call):
    line = call(echo, ASKED * 30)
    assert line.hear_all().count(b"HTTP/1.1 200") < 30


def test_a_body_is_sent_when_it_is_asked_for(echo, call):
    head = b"POST / " + HEAD + b"Content-Length: 2\r\nExpect: 100-continue\r\n\r\n"
    line = call(echo, head)
    assert line.hear(b"\r\n\r\n") == b"HTTP/1.1 100 Continue\r\n\r\n"
    line.say(b"{}")
    assert line.hear(b"{}.").startswith(b"HTTP/1.1 200 OK\r\n")


def test_another_protocol_is_not_taken_up(echo, call):
    said = b"GET / " + HEAD + b"Connection: Upgrade\r\nUpgrade: h2c\r\n\r\n"
    line = call(echo, said)
    heard = line.hear_all()
    # The end is told, as nothing after it would be read.
    assert heard.startswith(b"HTTP/1.1 200 OK\r\n")
    assert b"\r\nconnection: close\r\n" in heard


# ---- how long a head may be --------------------------------------------------------------------


@pytest.mark.parametrize(
    "said",
    [
        b"GET / " + HEAD + b"X: " + b"x" * MOST_HEAD + b"\r\n\r\n",
        b"GET / " + HEAD + b"X: x\r\n" * 101 + b"\r\n",
        b"GET / " + HEAD + b"X: " + b"x" * 500_000,
        b"GET /" + b"x" * 500_000,
        b"GET / " + HEAD + b"X: x\r\n" * 80_000,
    ],
    ids=["long", "many", "one header without end", "a path without end", "headers without end"],
)
def test_too_long_a_head_is_told_so(echo, said, call):
    line = call(echo, said)
    assert line.hear_all().startswith(b"HTTP/1.1 431 Request Header Fields Too Large\r\n")


@pytest.mark.parametrize("after", [b"0\r\nX: ", b"2;"], ids=["a last header", "a chunk's head"])
def test_what_is_no_body_ends_as_well(echo, after, call):
    said = b"POST / " + HEAD + b"Transfer-Encoding: chunked\r\n\r\n2\r\n{}\r\n" + after
    line = call(echo, said)
    try:
        line.say(b"x" * 500_000)
    except ConnectionError:
        return
    assert line.hear_all() == b""


def test_a_long_head_is_read(echo, call):
    line = call(echo, b"GET / " + HEAD + b"X: " + b"x" * 30_000 + b"\r\n\r\n")
    assert line.hear(b" .").startswith(b"HTTP/1.1 200 OK\r\n")


# ---- how long it may take ----------------------------------------------------------------------


def in_time(ask, come):
    """A line whose request was not too late: on a busy machine it may be."""

    def asked():
        try:
            line = ask()
            come(line)
        except (AssertionError, ConnectionError):
            return None
        return line

    return until(asked)


@pytest.mark.parametrize("said", [b"", b"GET / HT", b"\r\n"], ids=["silent", "half", "a line"])
def test_a_head_that_does_not_come_ends_it(said, call):
    with listening(Echo(), patience=SOON) as port:
        line = call(port, said)
        assert line.hear_all() == b""


def test_a_head_that_comes_a_byte_at_a_time_ends_it(call):
    with listening(Echo(), patience=SOON) as port:
        line = call(port)
        with pytest.raises(ConnectionError):  # noqa: PT012
            while True:
                line.say(b"x")


def test_the_next_head_has_its_time_as_well(call):
    with listening(Echo(), patience=SOON) as port:
        line = in_time(lambda: call(port, ASKED), lambda line: line.hear(ANSWERED))
        line.say(b"G")
        assert line.hear_all() == b""


def test_who_asks_no_more_is_not_waited_for(call):
    patience = Patience(head=60, idle=0.05)
    with listening(Echo(), patience=patience) as port:
        line = call(port, ASKED)
        line.hear(ANSWERED)
        assert line.hear_all() == b""


@pytest.mark.parametrize("more", [b"", b"Connection: close\r\n"], ids=["kept", "closed"])
def test_who_does_not_read_what_he_asked_for_is_not_waited_for(more, call):
    with listening(Echo(), patience=Patience(head=60, idle=0.05)) as port:
        line = call(port, b"GET /large " + HEAD + more + b"\r\n")
        line.hear(b"\r\n\r\n")
        call(port, ASKED).hear_all()
        assert 0 < len(line.hear_all()) < LARGE


def test_a_half_head_behind_a_request_leaves_that_its_answer(call):
    front = Echo()
    with listening(front, patience=SOON) as port:
        line = in_time(
            lambda: call(port, b"GET /wait " + HEAD + b"\r\nG"),
            lambda line: line.stay(front.is_waiting),
        )
        line.say(b"E")
        call(port).hear_all()  # so long has the half one been waited for
        front.go_on.set()
        assert b"GET /wait? host ." in line.hear_all()


# ---- how many ----------------------------------------------------------------------------------


def test_the_newest_caller_is_answered_whoever_takes_the_room(call):
    with listening(Echo(), Connections(most_of_address=8), SHORT_END) as port:
        known = call(port, KNOWN)
        known.hear(b" .")
        half = b"POST / " + HEAD + b"Content-Length: 9\r\n\r\n{"
        listener = call(port, b"GET /listen " + HEAD + b"Cookie: known\r\n\r\n")
        others = [call(port, (b"", b"GET / HT", half)[n % 3]) for n in range(100)]
        until(lambda: sum(line.is_open() for line in others) == 7)
        newest = call(port, ASKED)
        newest.hear(ANSWERED)
        # The one whose cookie was right is there yet, and so is the one who listens.
        known.say(ASKED)
        known.hear(ANSWERED)
        assert listener.is_open()


@several_addresses
def test_one_address_can_not_take_the_room_of_others(call):
    with listening(Echo(), Connections(most=40, most_of_address=8)) as port:
        first = call(port, ASKED, "127.0.0.2")
        first.hear(ANSWERED)
        others = [call(port) for _ in range(100)]
        for line in others[:-8]:
            assert line.hear_all() == b""
        assert first.is_open()


@pytest.fixture(scope="module")
def contexts(tmp_path_factory):
    """Of a server, and of a caller that trusts it."""
    made = certificates.load_or_make(
        tmp_path_factory.mktemp("tls"), names=["localhost"], addresses=[], now=datetime.now(UTC)
    )
    here = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    here.load_cert_chain(made.server_file)
    return here, ssl.create_default_context(cadata=made.authority.public_bytes(Encoding.DER))


@pytest.mark.parametrize("said", [b"", b"\x16\x03\x01\x02\x00\x01\x00"], ids=["silent", "half"])
def test_a_handshake_that_does_not_end_is_ended(contexts, said, call):
    here, _ = contexts
    with listening(Echo(), patience=SOON, context=here) as port:
        line = call(port, said)
        assert line.hear_all() == b""


def test_handshakes_give_way_to_the_newest_caller(contexts, call):
    here, trusting = contexts
    with listening(Echo(), Connections(most_of_address=8), context=here) as port:
        others = [call(port, b"\x16\x03\x01\x02\x00\x01\x00" if n % 2 else b"") for n in range(40)]
        for line in others[:-8]:
            assert line.hear_all() == b""
        newest = call(port)
        newest.socket = trusting.wrap_socket(newest.socket, server_hostname="localhost")
        newest.say(ASKED)
        newest.hear(ANSWERED)


@several_addresses
def test_fifteen_hundred_silent_callers_hold_nobody_up(tmp_path, call):
    """Half of them are at the phone's own address, as behind one router."""
    with bench(tmp_path) as running:
        phone = Phone(running.paired(), "k3v9q2ax")
        phone.exchange_all()
        news = Listening(phone.caller)
        assert news.heard() == f"{phone.era} {phone.cursor}"
        port = int(running.url.rstrip("/").rpartition(":")[2])
        silent = []
        for number in range(1500):
            source = "127.0.0.1" if number % 2 else f"127.0.0.{number % 16 + 2}"
            silent.append(call(port, b"", source))
        phone.note("p1", "poured")
        assert phone.exchange().status == 200
        assert news.heard() == f"{phone.era} {phone.cursor}"
        assert any(line.is_open() for line in silent)
        assert running.caller().get("/").status == 200
        news.close()


# ---- its end -----------------------------------------------------------------------------------


def test_at_the_end_what_is_under_way_is_answered(call):
    front = Echo()
    with listening(front, patience=FOREVER) as port:
        asked = call(port, b"GET /wait " + HEAD + b"\r\n")
        kept, silent = call(port, ASKED), call(port)
        kept.hear(ANSWERED)
    assert b"GET /wait? host ." in asked.hear_all()
    assert kept.hear_all() == b""
    assert silent.hear_all() == b""


def test_at_the_end_nobody_is_waited_for_without_end(contexts, call):
    here, trusting = contexts
    with listening(Echo(), patience=SHORT_END, context=here) as port:
        handshake = call(port, b"\x16\x03\x01\x02\x00\x01\x00")
        listens = call(port)
        listens.socket = trusting.wrap_socket(listens.socket, server_hostname="localhost")
        listens.say(b"GET /listen " + HEAD + b"\r\n")
    assert listens.hear_all() == handshake.hear_all() == b""
