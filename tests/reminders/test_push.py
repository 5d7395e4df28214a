"""Sending a push: how it is made, over which connection, and what each answer means.

The service at the other end is real HTTPS on this machine; see push_service.py.
"""

import http.client
import logging
import socket
import ssl
import subprocess
import sys
import threading
import time
import tracemalloc
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime
from email.utils import format_datetime
from ipaddress import ip_address

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from py_vapid import Vapid02
from pywebpush import WebPusher

from benchapp.reminders import push, push_connection, vapid_keys
from benchapp.reminders.push import Message, Sender, Target
from benchapp.reminders.push_address import Trial
from benchapp.reminders.push_connection import Timeouts
from tests.reminders.push_service import FLOODS, b64u, push_service, unb64u
from tests.waits import until

CONTACT = "mailto:studio@example.net"
HELLO = Message(b'{"web_push": 8030}', ttl_s=60, urgency="high", topic="pour-1")
PUBLIC = "93.184.216.34"  # any address that everybody can reach; nothing is sent to it


@pytest.fixture(scope="module")
def key(tmp_path_factory):
    return vapid_keys.load(tmp_path_factory.mktemp("data"))


@pytest.fixture(scope="module")
def service():
    with push_service(names=["push.test", "other.test"]) as running:
        yield running


@pytest.fixture(autouse=True)
def _clean(service):
    service.received.clear()
    service.problems.clear()
    yield
    service.now = time.time


@pytest.fixture(scope="module")
def sender(key, service):
    with Sender(key, CONTACT, trial=service.trial) as made:
        yield made


@pytest.fixture
def phone(key, service):
    return service.subscribe(key.public)


def target(subscriber) -> Target:
    return Target(subscriber.endpoint, subscriber.p256dh, subscriber.auth)


def send(sender, subscriber, message=HELLO, now_s=None):
    return sender.send(target(subscriber), message, time.time() if now_s is None else now_s)


# ---- addresses at work --------------------------------------------------------------------------


class FakeSocket(socket.socket):
    """A socket that notes where it is asked to go, and goes to `leads_to` instead."""

    asked: list[tuple] = []  # noqa: RUF012
    leads_to: tuple | None = None
    peer: tuple | None = None

    def connect(self, address):
        self.asked.append(address)
        if self.leads_to is None:
            raise ConnectionRefusedError
        super().connect(self.leads_to)

    def getpeername(self):
        return self.peer or super().getpeername()


@pytest.fixture
def fake(monkeypatch):
    made = type("Fake", (FakeSocket,), {"asked": []})
    monkeypatch.setattr(push_connection.socket, "socket", made)
    return made


def resolver(monkeypatch, *answers):
    """Let the names be found at these addresses, one answer a look-up, the last for good."""
    left = [[ip_address(text) for text in answer] for answer in answers]
    asked = []

    def resolve(host, port):
        asked.append(host)
        return left.pop(0) if len(left) > 1 else left[0]

    monkeypatch.setattr(push_connection, "resolve", resolve)
    return asked


@pytest.mark.parametrize(
    "answer",
    [["127.0.0.1"], [PUBLIC, "127.0.0.1"], ["10.0.0.1", PUBLIC], [PUBLIC, "::ffff:10.0.0.1"]],
    ids=["private", "private last", "private first", "hidden"],
)
def test_one_address_that_is_not_public_is_enough(monkeypatch, fake, key, phone, answer):
    resolver(monkeypatch, answer)
    with Sender(key, CONTACT) as sender:
        outcome = send(sender, phone)
    assert (outcome.kind, outcome.status) == ("failed", None)
    assert "not public" in outcome.why
    assert fake.asked == []


def test_the_machine_itself_is_never_called(monkeypatch, key, service, phone):
    # It listens, its certificate is trusted, and it would take the message.
    monkeypatch.setenv("SSL_CERT_FILE", str(service.trial.ca_file))
    resolver(monkeypatch, ["127.0.0.1"])
    before = service.connections
    with Sender(key, CONTACT) as sender:
        assert send(sender, phone).kind == "failed"
    assert service.connections == before


def test_a_name_is_looked_up_once_for_a_connection(monkeypatch, fake, key, phone):
    asked = resolver(monkeypatch, [PUBLIC], ["127.0.0.1"])
    with Sender(key, CONTACT) as sender:
        assert send(sender, phone).kind == "retry"  # the fake refuses
        assert fake.asked == [(PUBLIC, int(phone.endpoint.split(":")[2].split("/")[0]))]
        assert send(sender, phone).kind == "failed"
    assert len(asked) == 2
    assert len(fake.asked) == 1


def test_a_connection_that_ends_elsewhere_is_dropped(monkeypatch, fake, key, service, phone):
    monkeypatch.setenv("SSL_CERT_FILE", str(service.trial.ca_file))
    resolver(monkeypatch, [PUBLIC])
    fake.leads_to = ("127.0.0.1", service.port)
    with Sender(key, CONTACT) as sender:
        outcome = send(sender, phone)
    assert (outcome.kind, len(service.received)) == ("failed", 0)
    assert "another address" in outcome.why


def test_the_next_address_is_tried(monkeypatch, fake, key, phone):
    resolver(monkeypatch, ["2606:2800:220:1::1", PUBLIC])
    with Sender(key, CONTACT) as sender:
        assert send(sender, phone).why == "push.test could not be reached."
    assert [place[0] for place in fake.asked] == ["2606:2800:220:1::1", PUBLIC]


@pytest.mark.parametrize("name", ["push.test", "wrong.test"])
def test_the_certificate_must_fit_the_name_not_the_address(monkeypatch, fake, key, service, name):
    monkeypatch.setenv("SSL_CERT_FILE", str(service.trial.ca_file))
    resolver(monkeypatch, [PUBLIC])
    fake.leads_to, fake.peer = ("127.0.0.1", service.port), (PUBLIC, service.port)
    with Sender(key, CONTACT) as sender:
        outcome = send(sender, service.subscribe(key.public, name))
    assert outcome.kind == ("sent" if name == "push.test" else "retry")
    if name != "push.test":
        assert "no safe connection to wrong.test: Hostname mismatch" in outcome.why


def test_an_unknown_authority_is_not_trusted(key, service, phone, tmp_path):
    with push_service(tmp_path) as other:
        trial = Trial("127.0.0.1", service.port, other.trial.ca_file)
        with Sender(key, CONTACT, trial=trial) as sender:
            outcome = send(sender, phone)
    assert outcome.kind == "retry"
    assert "no safe connection to push.test: " in outcome.why


def test_a_name_that_nobody_has(monkeypatch, key, phone):
    def resolve(host, port):
        raise socket.gaierror(socket.EAI_NONAME, "Name or service not known")

    monkeypatch.setattr(push_connection, "resolve", resolve)
    with Sender(key, CONTACT) as sender:
        assert send(sender, phone) == push.Outcome(
            "retry", None, "The name push.test was not found."
        )


def test_a_look_up_that_takes_for_ever(monkeypatch, key, phone):
    is_over = threading.Event()

    def resolve(host, port):
        is_over.wait()
        return []

    monkeypatch.setattr(push_connection, "resolve", resolve)
    with Sender(key, CONTACT, timeouts=Timeouts(connect_s=0.2)) as sender:
        assert send(sender, phone).why == "The name push.test was not found in time."
    is_over.set()


# ---- subscriptions, keys, settings -------------------------------------------------------------


def test_a_subscription_that_is_damaged_fails_with_a_sentence(sender, phone):
    good = target(phone)
    for bad in (
        Target("http://push.test/x", good.p256dh, good.auth),
        Target(good.endpoint, good.auth, good.auth),
        Target(good.endpoint, good.p256dh, good.p256dh),
    ):
        outcome = sender.send(bad, HELLO, time.time())
        assert (outcome.kind, outcome.status) == ("failed", None)


def test_the_keys_of_a_subscription(phone):
    push.check_keys(phone.p256dh, phone.auth)
    push.check_keys(phone.p256dh + "=", phone.auth + "==")
    off_the_curve = phone.p256dh[:-4] + ("AAAA" if phone.p256dh[-4:] != "AAAA" else "BBBB")
    half = b64u(b"\x02" + unb64u(phone.p256dh)[1:33])  # a compressed point, SEC 1 section 2.3.3
    wrong = (off_the_curve, half, phone.p256dh[:-2], phone.p256dh + "AA", "A" * 87, "", "!", None)
    for p256dh in wrong:
        with pytest.raises(ValueError, match="p256dh"):
            push.check_keys(p256dh, phone.auth)
    for auth in ("", "AAAA", phone.auth + "AA", phone.auth[:-1], phone.auth[:-1] + "+", None):
        with pytest.raises(ValueError, match="auth"):
            push.check_keys(phone.p256dh, auth)


def test_a_service_that_is_not_allowed_hears_nothing(key, service, phone):
    before = service.connections
    with Sender(key, CONTACT, trial=service.trial, allow=["other.test"]) as sender:
        outcome = send(sender, phone)
        assert outcome.why == "push.test is not among the allowed push services."
        assert service.connections == before
        assert send(sender, service.subscribe(key.public, "other.test")).kind == "sent"


@pytest.mark.parametrize("name", ["https://push.example", "push.example/x", "*", "", "example"])
def test_an_allow_list_that_cannot_be_one(key, name):
    with pytest.raises(ValueError, match="not the name of a push service"):
        Sender(key, CONTACT, allow=[name])


@pytest.mark.parametrize("contact", ["https://bench.example:8443/about", "mailto:a+b@example.net"])
def test_whom_a_push_service_may_write_to(key, service, phone, contact):
    with Sender(key, contact, trial=service.trial) as sender:
        assert send(sender, phone).kind == "sent"
    assert service.problems == []


@pytest.mark.parametrize("contact", ["", "studio@example.net", "mailto:", "mailto:a b@example.net"])
def test_a_contact_that_cannot_be_one(key, contact):
    with pytest.raises(ValueError, match="mailto:you@"):
        Sender(key, contact)


@pytest.mark.parametrize(
    "settings_",
    [
        {"payload": b""},
        {"payload": b"x" * 3994},
        {"ttl_s": -1},
        {"ttl_s": 1.5},
        {"ttl_s": 29 * 24 * 3600},
        {"urgency": "soon"},
        {"topic": "a" * 33},
        {"topic": "a b"},
        {"topic": "a\n"},
    ],
    ids=str,
)
def test_a_message_that_cannot_be_one(settings_):
    with pytest.raises(ValueError, match=r"push.*\.$"):
        Message(**{"payload": b"x", "ttl_s": 60, **settings_})


# ---- the exception for tests -------------------------------------------------------------------


def test_a_trial_without_its_authority(key, tmp_path):
    (tmp_path / "empty.pem").write_text("")
    for name in ("missing.pem", "empty.pem"):
        with pytest.raises(ValueError, match="cannot be read"):
            Sender(key, CONTACT, trial=Trial("127.0.0.1", 1, tmp_path / name))


def test_with_a_trial_nothing_else_can_be_reached(key, service, tmp_path):
    with push_service(tmp_path) as other, Sender(key, CONTACT, trial=service.trial) as sender:
        elsewhere = other.subscribe(key.public)
        outcome = send(sender, elsewhere)  # the trial's service does not know this subscription
        assert (outcome.kind, outcome.status) == ("gone", 404)
        assert other.connections == 0


# ---- a message on its way ----------------------------------------------------------------------


def test_a_message_arrives_whole(sender, service, phone):
    assert send(sender, phone).kind == "sent"
    [got] = service.wait(1)
    assert (got.subscriber, got.data) == (phone, HELLO.payload)
    assert (got.ttl, got.urgency, got.topic) == (60, "high", "pour-1")
    longest = Message((bytes(range(256)) * 16)[: push.MOST_OCTETS], 0)
    assert send(sender, phone, longest).kind == "sent"
    assert service.wait(2)[1].data == longest.payload
    assert service.problems == []


def test_a_hundred_messages_share_few_connections(key, service):
    phones = [service.subscribe(key.public) for _ in range(10)]
    before = service.connections
    with Sender(key, CONTACT, trial=service.trial) as sender, ThreadPoolExecutor(8) as pool:
        outcomes = list(pool.map(lambda i: send(sender, phones[i % 10]), range(100)))
    assert {outcome.kind for outcome in outcomes} == {"sent"}
    assert service.problems == []
    counts = [sum(got.subscriber is one for got in service.received) for one in phones]
    assert counts == [10] * 10
    assert service.connections - before <= 8


def test_a_connection_that_the_service_ended_is_made_anew(key, tmp_path):
    with push_service(tmp_path) as service, Sender(key, CONTACT, trial=service.trial) as sender:
        phone = service.subscribe(key.public)
        service.answer(phone, b"HTTP/1.1 201 X\r\nContent-Length: 0\r\n\r\n")  # and hangs up
        assert send(sender, phone).kind == "sent"
        until(lambda: not service.open_connections())
        assert send(sender, phone).kind == "sent"
        assert send(sender, phone).kind == "sent"
        assert service.connections == 2


def test_no_more_connections_are_kept_than_asked(key, tmp_path):
    all_at_once = threading.Barrier(4)
    with push_service(tmp_path) as service:
        phone = service.subscribe(key.public)
        with Sender(key, CONTACT, trial=service.trial, connections=1) as sender:

            def one(_):
                all_at_once.wait(20)
                return send(sender, phone).kind

            for _ in range(3):
                with ThreadPoolExecutor(4) as pool:
                    assert set(pool.map(one, range(4))) == {"sent"}
                until(lambda: service.open_connections() <= 1)


def test_many_services_do_not_pile_up_connections(key, tmp_path):
    names = [f"push-{number}.test" for number in range(70)]
    with push_service(tmp_path, names=names) as service:
        with Sender(key, CONTACT, trial=service.trial) as sender:
            for name in names:
                assert send(sender, service.subscribe(key.public, name)).kind == "sent"
            assert service.connections == 70
            assert send(sender, service.subscribe(key.public, names[-1])).kind == "sent"
            assert service.connections == 70
            assert send(sender, service.subscribe(key.public, names[0])).kind == "sent"
            assert service.connections == 71
        assert service.problems == []


def test_a_proxy_of_the_machine_is_passed_by(monkeypatch, key, service, phone):
    for name in ("HTTPS_PROXY", "https_proxy", "ALL_PROXY"):
        monkeypatch.setenv(name, "http://127.0.0.1:9")
    with Sender(key, CONTACT, trial=service.trial) as sender:
        assert send(sender, phone).kind == "sent"


def test_each_service_gets_a_token_of_its_own(sender, service, key):
    for name in ("push.test", "other.test", "push.test"):
        assert send(sender, service.subscribe(key.public, name)).kind == "sent"
    assert service.problems == []


def test_the_token_is_renewed_well_before_it_ends(key, service, phone):
    start = 1_800_000_000.0
    hours = [0, 5.9, 6.1, 12, 12.2, 100, 1]  # the last: the clock was set back
    tokens = []
    with Sender(key, CONTACT, trial=service.trial) as sender:
        for hour in hours:
            now_s = start + hour * 3600
            for skew_h in (0, 5, -5):  # a service whose clock is hours off takes it too
                service.now = lambda now_s=now_s, skew_h=skew_h: now_s + skew_h * 3600
                service.tokens.clear()
                assert send(sender, phone, now_s=now_s).kind == "sent"
            tokens.append(service.tokens.pop())
    assert service.problems == []
    assert [tokens[i] == tokens[i - 1] for i in range(1, 7)] == [
        True, False, True, False, False, False,
    ]  # fmt: skip


# ---- answers -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("status", "kind"),
    [
        *((200, "sent"), (201, "sent"), (202, "sent"), (204, "sent")),
        *((404, "gone"), (410, "gone"), (413, "too long")),
        *((400, "failed"), (401, "failed"), (403, "failed"), (405, "failed"), (418, "failed")),
        *((301, "failed"), (302, "failed"), (307, "failed"), (308, "failed"), (206, "failed")),
        *((408, "retry"), (429, "retry"), (500, "retry"), (502, "retry"), (503, "retry")),
    ],
)
def test_each_answer_has_its_meaning(sender, service, phone, status, kind):
    service.answer(phone, status)
    outcome = send(sender, phone)
    assert (outcome.kind, outcome.status, outcome.retry_after_s) == (kind, status, None)
    assert outcome.why.startswith("push.test ")
    assert send(sender, phone).kind == "sent"


def test_a_redirect_is_not_followed(sender, service, key, phone):
    other = service.subscribe(key.public, "other.test")
    for status in (301, 302, 303, 307, 308):
        service.answer(phone, status, headers={"Location": other.endpoint})
        assert send(sender, phone).kind == "failed"
    assert service.received == []
    assert service.problems == []


@pytest.mark.parametrize(
    ("said", "wait_s"),
    [
        *(
            ("2", 2),
            ("0", 0),
            ("86400", 86400),
            ("86401", 86400),
            ("9" * 5000, 86400),
            (None, None),
        ),
        *(("", None), ("soon", None), ("-5", None), ("1.5", None), ("٣", None), ("NaN", None)),
        ("Sun, 06 Nov 1994 08:49:37 GMT", 0),
        ("Sunday, 06-Nov-94 08:49:37 GMT", 0),  # both forms: RFC 9110 section 5.6.7
        ("Fri, 31 Dec 9999 23:59:59 GMT", 86400),
        ("Fri, 31 Feb 2027 23:59:59 GMT", None),
    ],
)
def test_how_long_to_wait(said, wait_s):
    assert push.read_retry_after(said, 1_800_000_000.0) == wait_s


@given(st.text(max_size=40))
def test_any_wait_is_in_range_or_none(text):
    wait_s = push.read_retry_after(text, 1_800_000_000.0)
    assert wait_s is None or 0 <= wait_s <= 86400


def test_the_service_says_how_long_to_wait(sender, service, phone):
    now_s = time.time()
    later = format_datetime(datetime.fromtimestamp(int(now_s) + 90, UTC), usegmt=True)
    service.answer(phone, 429, headers={"Retry-After": "7"})
    service.answer(phone, 503, headers={"Retry-After": later})
    assert send(sender, phone, now_s=now_s).retry_after_s == 7
    assert send(sender, phone, now_s=now_s).retry_after_s == pytest.approx(90, abs=1)


def test_a_cut_and_nonsense_are_tried_again(sender, service, phone):
    why = "push.test cut the connection or gave no answer that can be read."
    for how in ("cut", b"", b"HTTP/1.1 2", b"SSH-2.0-x\r\n"):
        service.answer(phone, how)
        assert send(sender, phone) == push.Outcome("retry", None, why)
    assert send(sender, phone).kind == "sent"


def test_silence_is_tried_again(key, service, phone):
    service.answer(phone, "silence")
    with Sender(key, CONTACT, trial=service.trial, timeouts=Timeouts(read_s=0.3)) as sender:
        outcome = send(sender, phone)
    assert outcome == push.Outcome("retry", None, "push.test did not answer in time.")


def test_a_service_that_never_greets(key, phone, service):
    with socket.create_server(("127.0.0.1", 0)) as listening:
        trial = Trial("127.0.0.1", listening.getsockname()[1], service.trial.ca_file)
        with Sender(key, CONTACT, trial=trial, timeouts=Timeouts(connect_s=0.2)) as sender:
            assert send(sender, phone).why == "push.test did not answer in time."
    with Sender(key, CONTACT, trial=trial) as sender:  # nobody listens any more
        assert send(sender, phone).why == "push.test could not be reached."


def test_a_service_that_drips_is_cut_off(key, service, phone):
    # Each octet comes in time, and they never end: without the cut this would wait for ever.
    timeouts = Timeouts(read_s=5, total_s=1.5)
    with Sender(key, CONTACT, trial=service.trial, timeouts=timeouts) as sender:
        with ThreadPoolExecutor(3) as pool:
            for how in ("drip", "drip head", "drip body"):
                service.answer(phone, how)
            running = [pool.submit(send, sender, phone) for _ in range(3)]
            outcomes = [one.result(timeout=20) for one in running]
        assert sorted(outcome.kind for outcome in outcomes) == ["retry", "retry", "sent"]
        late = "push.test did not answer in time."
        assert [one.why for one in outcomes if one.kind == "retry"] == [late, late]
        assert send(sender, phone).kind == "sent"  # and the next is not cut


def test_an_answer_without_end_is_not_read(sender, service, phone):
    service.answer(phone, b"HTTP/1.1 201 X\r\nContent-Length: 9000000\r\n\r\n" + b"x" * 9_000_000)
    assert send(sender, phone).kind == "sent"
    assert send(sender, phone).kind == "sent"


@pytest.mark.parametrize("how", FLOODS)
def test_ten_gigabytes_cost_neither_memory_nor_more_than_the_time(key, service, phone, how):
    service.answer(phone, how)
    timeouts = Timeouts(total_s=0.8)
    with Sender(key, CONTACT, trial=service.trial, timeouts=timeouts) as sender:
        tracemalloc.start()
        try:
            began = time.monotonic()
            outcome = send(sender, phone)
            took_s = time.monotonic() - began
            _, peak = tracemalloc.get_traced_memory()
        finally:
            tracemalloc.stop()
        # Where the head had come, the service has the message.
        assert outcome.kind == ("retry" if how in ("head", "line", "continue") else "sent")
        assert took_s < 3
        assert peak < 4_000_000
        assert send(sender, phone).kind == "sent"


@settings(max_examples=60, deadline=None)
@given(
    st.one_of(
        st.binary(max_size=80),
        st.binary(max_size=80).map(lambda tail: b"HTTP/1.1 " + tail),
        st.binary(max_size=80).map(lambda tail: b"HTTP/1.1 201 X\r\n" + tail),
        st.sampled_from(
            [
                *(b"Content-Length: x", b"Content-Length: -1", b"Content-Length: 1, 2", b": x"),
                *(b"x" * 70000, b"x: y\r\n" * 200, b"Transfer-Encoding: chunked\r\n\r\nzz"),
                *(b"Location: https://[", b"Content-Encoding: br"),
            ]
        ).map(lambda line: b"HTTP/1.1 201 X\r\n" + line + b"\r\n\r\n"),
    )
)
def test_no_answer_makes_it_raise(sender, service, key, octets):
    phone = service.subscribe(key.public)
    service.answer(phone, octets)
    assert send(sender, phone).kind in {"sent", "retry", "failed", "gone", "too long"}


def test_no_secret_is_said_or_logged(key, service, phone, caplog, monkeypatch):
    caplog.set_level(logging.DEBUG)
    kept = [target(phone), HELLO, key, send]
    said = [repr(one) for one in kept[:3]]
    broken = b"HTTP/1.1 500 X\r\nno colon here\r\nContent-Length: 0\r\n\r\n"
    answers = [201, 307, 400, 404, 413, 429, 500, "silence", "cut", "drip", b"nonsense", broken]
    timeouts = Timeouts(read_s=0.2, total_s=0.5)
    with Sender(key, CONTACT, trial=service.trial, timeouts=timeouts) as sender:
        for how in answers:
            service.answer(phone, how, headers={"Location": phone.endpoint})
            said.append(repr(send(sender, phone)))
    resolver(monkeypatch, ["10.0.0.1"])
    for allow in ([], ["other.test"]):
        with Sender(key, CONTACT, allow=allow) as sender:
            said.append(repr(send(sender, phone)))
    text = "\n".join([*said, caplog.text])
    secrets = [phone.endpoint.rpartition("/")[2], phone.p256dh, phone.auth, "vapid t="]
    assert [secret for secret in secrets if secret in text] == []
    assert len(said) == len(answers) + 5


def test_the_heavy_libraries_are_loaded_late():
    code = (
        "import sys; from benchapp.reminders import push; "
        "print({'pywebpush', 'py_vapid', 'aiohttp', 'requests'} & set(sys.modules))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout == "set()\n"


# ---- the service at the other end is strict ----------------------------------------------------


def post(service, path: str, headers: dict[str, str], body: bytes) -> int:
    """A request made by hand, past everything that is tested above."""
    trusted = ssl.create_default_context(cafile=str(service.trial.ca_file))
    caller = http.client.HTTPSConnection("push.test", service.port, context=trusted)
    plain = socket.create_connection(("127.0.0.1", service.port), 5)
    caller.sock = trusted.wrap_socket(plain, server_hostname="push.test")
    try:
        caller.request("POST", path, body, headers)
        return caller.getresponse().status
    finally:
        caller.close()


@pytest.mark.parametrize(
    ("broken", "status"),
    [
        ({}, 201),
        ({"ttl": None}, 400),
        ({"ttl": "soon"}, 400),
        ({"urgency": "asap"}, 400),
        ({"topic": "a" * 33}, 400),
        ({"coding": "aesgcm"}, 400),
        ({"body": b"x" * 4097}, 413),
        ({"body": b"x" * 200}, 400),
        ({"for_another": True}, 400),
        ({"exp": -1}, 401),
        ({"exp": 86_500}, 401),
        ({"aud": "https://other.test"}, 401),
        ({"sub": "nobody"}, 401),
        ({"scheme": "WebPush"}, 401),
        ({"forged": True}, 401),
        ({"stranger": True}, 403),
        ({"unknown": True}, 404),
    ],
    ids=str,
)
def test_what_the_service_refuses(service, key, phone, tmp_path, broken, status):
    now_s = int(time.time())
    signer = vapid_keys.load(tmp_path) if "stranger" in broken else key
    claims = {
        "aud": broken.get("aud", phone.endpoint.partition("/push/")[0]),
        "exp": now_s + broken.get("exp", 3600),
        "sub": broken.get("sub", CONTACT),
    }
    authorization = Vapid02(signer.private, conf={"no-strict": True}).sign(claims)["Authorization"]
    if "forged" in broken:
        token = authorization.index(".") + 5
        other = "A" if authorization[token] != "A" else "B"
        authorization = authorization[:token] + other + authorization[token + 1 :]
    reader = service.subscribe(key.public) if "for_another" in broken else phone
    info = {"endpoint": phone.endpoint, "keys": {"p256dh": reader.p256dh, "auth": reader.auth}}
    headers = {
        "TTL": broken.get("ttl", "60"),
        "Urgency": broken.get("urgency", "normal"),
        "Topic": broken.get("topic", "t"),
        "Content-Encoding": broken.get("coding", "aes128gcm"),
        "Authorization": authorization.replace("vapid", broken.get("scheme", "vapid")),
    }
    body = broken.get("body") or WebPusher(info).encode(b"hello")["body"]
    path = "/push/" + ("unknown" if "unknown" in broken else phone.endpoint.rpartition("/")[2])
    given_ = {name: value for name, value in headers.items() if value is not None}
    assert post(service, path, given_, body) == status
    assert len(service.received) == (status == 201)
    assert len(service.problems) == (status not in {201, 404})
