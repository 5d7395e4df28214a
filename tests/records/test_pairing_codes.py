"""Codes that let a device in once, secrets that nobody keeps, and how far guessing gets."""

import subprocess
import sys
import threading
from collections import Counter
from concurrent.futures import ThreadPoolExecutor

import pytest
from sqlalchemy import select

from benchapp.records import devices, pairing_codes, tables, workshops
from benchapp.records.database import Database
from benchapp.records.pairing_codes import Paired, TurnedAway
from tests.records.conftest import NOW

MINUTE = 60_000


def come_in(store, code, now_ms=NOW, *, address="192.0.2.7", name="Android phone"):
    return pairing_codes.pair(store, code, name=name, agent="x", address=address, now_ms=now_ms)


def cookie(paired):
    return f"{paired.device.id}.{paired.secret}"


# ---- codes -------------------------------------------------------------------------------------


def test_a_code_lets_one_device_in_once(store, shop):
    code, expires_ms = pairing_codes.make_code(store, shop, NOW)
    assert expires_ms == NOW + 10 * MINUTE
    assert (len(code), code[4]) == (9, "-")
    first = come_in(store, code)
    assert isinstance(first, Paired)
    assert (first.device.workshop_id, first.device.name) == (shop, "Android phone")
    assert isinstance(come_in(store, code), TurnedAway)


@pytest.mark.parametrize(
    ("after_ms", "is_let_in"), [(10 * MINUTE - 1, True), (10 * MINUTE, False), (99 * MINUTE, False)]
)
def test_a_code_lives_ten_minutes(store, shop, after_ms, is_let_in):
    code, _ = pairing_codes.make_code(store, shop, NOW)
    assert isinstance(come_in(store, code, NOW + after_ms), Paired) is is_let_in


def test_a_code_is_read_as_people_write_it(store, shop):
    # The look-alikes are those of Crockford's base 32 (crockford.com/base32.html).
    assert pairing_codes.read_code("oOiI lL-0z") == "0011110Z"
    assert pairing_codes.read_code("ABCDEFGU") is None
    assert pairing_codes.read_code("ABCDEFG") is None
    assert pairing_codes.read_code("ABCDEFGHJ") is None
    assert pairing_codes.read_code("ＡBCDEFGH") is None
    code, _ = pairing_codes.make_code(store, shop, NOW)
    assert isinstance(come_in(store, f"  {code.lower().replace('-', ' ')} "), Paired)


def test_the_fourth_code_ends_the_first(store, shop):
    codes = [
        pairing_codes.make_code(store, shop, NOW + at)[0]
        for at in range(pairing_codes.MOST_CODES + 1)
    ]
    let_in = [isinstance(come_in(store, code, NOW + 9), Paired) for code in codes]
    assert let_in == [False, True, True, True]


def test_the_codes_of_one_workshop_do_not_end_those_of_another(store, shop):
    other = workshops.make_workshop(store, "Second", NOW)["id"]
    code, _ = pairing_codes.make_code(store, shop, NOW)
    for _ in range(10):
        pairing_codes.make_code(store, other, NOW + 1)
    found = come_in(store, code, NOW + 2)
    assert isinstance(found, Paired)
    assert found.device.workshop_id == shop


def test_two_at_once_and_one_wins(database):
    """Both have read the code before either has used it: as close together as threads get."""
    with database.write() as connection:
        shop = workshops.first_workshop(connection, NOW)["id"]
    for turn in range(10):
        with database.write() as connection:
            code, _ = pairing_codes.make_code(connection, shop, NOW + turn)
        gate = threading.Barrier(4)

        def try_it(number, code=code, turn=turn, gate=gate):
            gate.wait()
            with database.write() as connection:
                return come_in(connection, code, NOW + turn, address=f"192.0.2.{number}")

        with ThreadPoolExecutor(4) as pool:
            found = list(pool.map(try_it, range(4)))
        assert Counter(type(each) for each in found) == {Paired: 1, TurnedAway: 3}
        with database.write() as connection:
            connection.execute(tables.attempt.delete())


def test_two_codes_made_at_once_both_let_a_device_in(postgres):
    """Neither takes the other for one of the codes that a further one ends. PostgreSQL lets two
    transactions write at once; a SQLite file has one writer."""
    database = Database(postgres.new_database())
    with database.write() as connection:
        shop = workshops.first_workshop(connection, NOW)["id"]
    at_once = threading.Barrier(2)

    def invite(now_ms):
        with database.write() as connection:
            at_once.wait()
            return pairing_codes.make_code(connection, shop, now_ms)[0]

    refused = []
    with ThreadPoolExecutor(2) as pool:
        for turn in range(200):
            now_ms = NOW + turn * MINUTE
            for code in pool.map(invite, [now_ms, now_ms]):
                with database.write() as connection:
                    if isinstance(come_in(connection, code, now_ms), TurnedAway):
                        refused.append(turn)
    database.close()
    assert refused == []


def test_no_secret_is_kept(store, shop):
    code, _ = pairing_codes.make_code(store, shop, NOW)
    unused, _ = pairing_codes.make_code(store, shop, NOW)
    paired = come_in(store, code)
    kept = [list(store.execute(select(table))) for table in tables.metadata.sorted_tables]
    for secret in (code, unused, code.replace("-", ""), unused.replace("-", ""), paired.secret):
        assert secret not in str(kept)
    assert len(paired.secret) == 43  # 32 bytes in base64url, RFC 4648


@pytest.mark.parametrize("name", ["", "  ", "a\nb", "x" * 61, "a\u202eb", "a\x00b", "\ud800", None])
def test_what_is_no_name_is_refused_and_the_code_still_works(store, shop, name):
    code, _ = pairing_codes.make_code(store, shop, NOW)
    with pytest.raises(ValueError, match=r"name .*\.$"):
        come_in(store, code, name=name)
    assert isinstance(come_in(store, code, name=" Shed's iPhone ✨ "), Paired)
    assert devices.list_devices(store, shop, NOW)[0].name == "Shed's iPhone ✨"


# ---- guessing ----------------------------------------------------------------------------------


def test_the_arithmetic_of_guessing():
    """What the module says: at most one guess in 600 million is right while a code lives."""
    guesses = pairing_codes.MOST_WRONG * pairing_codes.LIFE_MS // pairing_codes.WINDOW_MS
    assert guesses == 600
    codes = len(pairing_codes.ALPHABET) ** pairing_codes.LENGTH
    assert codes == 1_099_511_627_776
    assert codes // (pairing_codes.MOST_CODES * guesses) == 610_839_793
    assert len(set(pairing_codes.ALPHABET)) == 32


def test_no_more_is_guessed_than_the_arithmetic_says(store, shop):
    """A whole code's life of guessing from everywhere, twice a second."""
    taken = 0
    for at in range(0, pairing_codes.LIFE_MS, 500):
        found = come_in(store, "AAAAAAAA", NOW + at, address=f"192.0.2.{at // 500 % 250}")
        taken += found.wait_s is None
    assert taken == 600


def test_one_address_is_stopped_at_ten_and_others_go_on(store, shop):
    for _ in range(10):
        assert come_in(store, "AAAAAAAA").wait_s is None
    code, _ = pairing_codes.make_code(store, shop, NOW)
    turned = come_in(store, code, NOW + 1000)
    assert turned.wait_s == 59
    assert "59 seconds" in str(turned.why)
    assert isinstance(come_in(store, code, NOW + 1000, address="192.0.2.8"), Paired)
    again, _ = pairing_codes.make_code(store, shop, NOW)
    assert come_in(store, again, NOW + 59_999).wait_s == 1
    assert isinstance(come_in(store, again, NOW + 60_000), Paired)


def test_a_network_of_ipv6_addresses_is_one(store, shop):
    # 2001:db8::/32 is for documentation (RFC 3849).
    for number in range(10):
        assert come_in(store, "AAAAAAAA", address=f"2001:db8:0:1:{number:x}::1").wait_s is None
    assert come_in(store, "AAAAAAAA", address="2001:db8:0:1:ffff::9%eth0").wait_s == 60
    assert come_in(store, "AAAAAAAA", address="2001:db8:0:2::1").wait_s is None
    for _ in range(9):
        come_in(store, "AAAAAAAA", address="::ffff:192.0.2.1")
    assert come_in(store, "AAAAAAAA", address="192.0.2.1").wait_s is None
    assert come_in(store, "AAAAAAAA", address="::ffff:192.0.2.1").wait_s == 60


def test_a_slip_that_is_no_code_is_not_counted(store, shop):
    for _ in range(30):
        turned = come_in(store, "ABC")
        assert turned.wait_s is None
        assert "8 letters and digits" in str(turned.why)


def test_a_clock_set_back_shuts_nobody_out(store, shop):
    for _ in range(10):
        come_in(store, "AAAAAAAA", NOW + 999 * MINUTE)
    code, _ = pairing_codes.make_code(store, shop, NOW)
    assert isinstance(come_in(store, code), Paired)


def test_the_limit_holds_across_processes(database, database_url):
    """Two processes guess at the same moment, each from addresses of its own."""
    code = (
        "import sys\n"
        "from collections import Counter\n"
        "from benchapp.records import pairing_codes\n"
        "from benchapp.records.database import Database\n"
        "database = Database(sys.argv[1])\n"
        "print('up', flush=True); sys.stdin.readline()\n"
        "counted = 0\n"
        "for number in range(50):\n"
        "    with database.write() as connection:\n"
        "        found = pairing_codes.pair(connection, 'AAAAAAAA', name='x', agent='',\n"
        f"            now_ms={NOW},"
        " address=f'192.0.{sys.argv[2]}.{number}')\n"
        "    counted += found.wait_s is None\n"
        "print(counted)\n"
    )
    running = [
        subprocess.Popen(
            [sys.executable, "-c", code, database_url, number],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )
        for number in ("2", "3")
    ]
    for process in running:
        assert process.stdout.readline() == "up\n"
    for process in running:
        process.stdin.write("go\n")
        process.stdin.flush()
    assert sum(int(process.communicate()[0]) for process in running) == pairing_codes.MOST_WRONG
