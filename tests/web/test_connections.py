"""Who is let in, and who gives way."""

import subprocess
import sys

import pytest

from benchapp.web.connections import MOST, Connection, Connections


class Crowd:
    """Connections by name, and who was ended."""

    def __init__(self, **limits):
        self.all = Connections(**limits)
        self.ended = []
        self.named = {}

    def come(self, name, address="192.0.2.1", **state):
        made = Connection(self.all, address, lambda: self.ended.append(name))
        self.named[name] = made
        is_in = self.all.enter(made)
        made.become(**state)
        return is_in


def test_the_longest_idle_stranger_of_an_address_gives_way():
    crowd = Crowd(most_of_address=3)
    for name in ("one", "two", "three"):
        assert crowd.come(name)
    assert crowd.come("other", "192.0.2.2")
    assert crowd.come("four")
    assert crowd.ended == ["one"]
    # Who has asked and was answered is the last again.
    crowd.named["two"].become(busy=True)
    crowd.named["two"].become(busy=False)
    crowd.come("five")
    crowd.come("six")
    assert crowd.ended == ["one", "three", "four"]
    assert crowd.all.count == 4


def test_devices_that_are_known_give_way_last():
    crowd = Crowd(most=4)
    crowd.come("known", "192.0.2.1", known=True)
    crowd.come("idle", "192.0.2.3")
    crowd.come("asking", "192.0.2.2", busy=True)
    crowd.come("listening", "192.0.2.4", known=True, listening=True)
    crowd.come("known and asking", "192.0.2.5", known=True, busy=True)
    crowd.come("last", "192.0.2.6", known=True, busy=True)
    crowd.come("stranger", "192.0.2.7")
    assert crowd.ended == ["idle", "asking", "known"]
    assert crowd.come("next", "192.0.2.8")
    assert crowd.ended[3:] == ["stranger"]


def test_where_nobody_can_give_way_nobody_is_let_in():
    crowd = Crowd(most=2)
    crowd.come("one", known=True, busy=True)
    crowd.come("two", known=True, listening=True)
    assert not crowd.come("three")
    assert crowd.ended == []
    assert crowd.all.count == 2
    crowd.all.leave(crowd.named["one"])
    assert crowd.come("four")


def test_those_who_listen_do_not_count_for_their_address():
    crowd = Crowd(most_of_address=1)
    crowd.come("one", listening=True)
    crowd.come("two", listening=True)
    crowd.come("three")
    assert crowd.ended == []
    crowd.come("four")
    assert crowd.ended == ["three"]


def test_a_network_of_ipv6_addresses_is_one_address():
    # 2001:db8::/32 is for documentation (RFC 3849).
    crowd = Crowd(most_of_address=1)
    crowd.come("one", "2001:db8::1")
    crowd.come("two", "2001:db8:0:1::1")
    assert crowd.ended == []
    crowd.come("three", "2001:db8::2")
    assert crowd.ended == ["one"]


def test_behind_a_proxy_an_address_has_no_limit_of_its_own():
    crowd = Crowd(most_of_address=None)
    for number in range(MOST):
        crowd.come(number)
    assert crowd.ended == []
    crowd.come("one more")
    assert crowd.ended == [0]


def test_what_becomes_of_one_that_is_gone_counts_for_nothing():
    crowd = Crowd(most_of_address=1)
    crowd.come("one")
    crowd.come("two")
    crowd.named["one"].become(busy=True, known=True)
    crowd.named["one"].become(listening=True)
    assert crowd.all.count == 1
    assert not crowd.all.leave(crowd.named["one"])


@pytest.mark.slow
@pytest.mark.skipif(sys.platform == "win32", reason="has no such limit")
@pytest.mark.parametrize(("hard", "room"), [(4096, MOST), (1000, 744), (100, 1)])
def test_as_many_files_as_the_system_allows(hard, room):
    program = (
        "import resource; from benchapp.web.connections import room_for_connections\n"
        f"resource.setrlimit(resource.RLIMIT_NOFILE, (64, {hard}))\n"
        "print(room_for_connections(), resource.getrlimit(resource.RLIMIT_NOFILE)[0])"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, check=True)
    found, soft = map(int, done.stdout.split())
    assert (found, soft) == (room, min(hard, MOST + 256))
