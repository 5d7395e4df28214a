"""A simulated thermometer and scale in the real page: found, read, lost, found again, forgotten."""

import re
import struct
from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, CDPSession, Page, Playwright, expect

from tests.browser import PLAIN
from tests.phone.bluetooth import FLAGS, Instrument, air, choose, renew
from tests.phone.maker import at, board, go_to, kept, slot, start, tap, title

ADDRESS = "09:09:09:09:09:0"


@pytest.fixture(scope="module")
def browser(playwright: Playwright, chromium_path: str) -> Iterator[Browser]:
    launched = playwright.chromium.launch(executable_path=chromium_path, args=[*PLAIN, *FLAGS])
    yield launched
    launched.close()


@pytest.fixture
def around(browser: Browser) -> Iterator[CDPSession]:
    with air(browser) as session:
        yield session


def probe(around: CDPSession, celsius: float) -> Instrument:
    """A thermometer that must be asked; the emulation can't tell by itself."""
    made = Instrument(around, f"{ADDRESS}1", "Probe 7", 0x181A, 0x2A6E)
    made.data = hundredths(celsius)
    made.switch_on(read=True, notify=True)
    return made


def hundredths(celsius: float) -> bytes:
    return struct.pack("<h", round(celsius * 100))


def connect(page: Page, url: str, name: str = "Connect a thermometer") -> None:
    """Connect what there is, on the screen for it."""
    at(page, url, "bench")
    chooser = choose(page)
    tap(page, name)
    expect(slot(page, "instruments")).to_contain_text("connected")
    chooser.detach()


def pass_time(page: Page, probe: Instrument, seconds: int) -> None:
    """Let time pass in the page, until the probe was asked as often as it is in that time."""
    for _ in range(seconds // 2):
        before = len(probe.asked)
        page.clock.run_for(2000)
        # It is not asked where it has just told by itself.
        for _ in range(200):
            if len(probe.asked) > before:
                break
            page.wait_for_timeout(5)
        page.wait_for_timeout(20)  # the answer's way back


def dips(page: Page, pour: str) -> list[tuple[float, str]]:
    return [
        (event["temp_c"], event.get("source", ""))
        for event in kept(page)["events"]
        if event["type"] == "read" and event["of"] == ["pour", pour]
    ]


def test_a_thermometer_is_connected_lost_found_again_and_forgotten(server, phone, around):
    url = server().url
    phone.clock.install()
    seven = probe(around, 85)
    connect(phone, url)
    place = slot(phone, "instruments")
    expect(place).to_contain_text(
        re.compile(r"Probe 7\s*Thermometer, connected\s*85\.00\s°C\s*now")
    )

    seven.data = hundredths(65.5)
    pass_time(phone, seven, 2)
    phone.clock.run_for(500)
    expect(place).to_contain_text(re.compile(r"65\.50\s°C"))

    # Nonsense is told as such; the last that was understood grows old beside it.
    seven.data = b"\x01\x02\x03\x04"
    pass_time(phone, seven, 8)
    phone.clock.run_for(500)
    expect(place).to_contain_text("It sent 4 bytes instead of 2, so the bench can't read it.")
    expect(place).to_contain_text(re.compile(r"65\.50\s°C\s*\d+ s ago"))

    seven.go_away()
    phone.clock.run_for(500)
    expect(place).to_contain_text("Thermometer, connection lost, trying again")
    phone.clock.run_for(1500)
    expect(place).to_contain_text("It can't be reached")
    attempts = seven.asked.count("connection")
    for _ in range(20):
        phone.clock.run_for(500)
    # Pauses grow: of 1, 2, 4 and 8 s, not one a second.
    assert seven.asked.count("connection") - attempts <= 3

    seven.data = hundredths(70)
    seven.come_back()
    phone.clock.run_for(17_000)
    expect(place).to_contain_text("Thermometer, connected")
    phone.clock.run_for(500)
    expect(place).to_contain_text(re.compile(r"70\.00\s°C"))
    expect(place).not_to_contain_text("can't be reached")

    tap(phone, "Forget")
    expect(place).to_contain_text(re.compile(r"none\s*Thermometer"))
    asked = len(seven.asked)
    phone.clock.run_for(5000)
    assert len(seven.asked) == asked
    assert phone.evaluate("localStorage.instruments") == "{}"


def test_it_is_found_again_by_itself_after_a_reload(server, phone, around):
    url = server().url
    seven = probe(around, 71)
    connect(phone, url)
    phone.reload()
    renew(around)
    seven.data = hundredths(72)
    seven.switch_on(read=True, notify=True)
    place = slot(phone, "instruments")
    expect(place).to_contain_text(re.compile(r"Probe 7\s*Thermometer, connected\s*72\.00\s°C"))


def test_she_may_choose_none_and_is_told_where_there_is_no_bluetooth(server, phone, around):
    probe(around, 71)
    at(phone, server().url, "bench")
    place = slot(phone, "instruments")
    before = place.inner_text()
    choose(phone, cancel=True)
    tap(phone, "Connect a thermometer")
    phone.wait_for_timeout(300)
    assert place.inner_text() == before
    phone.evaluate("navigator.bluetooth.getAvailability = async () => false")
    tap(phone, "Connect a thermometer")
    expect(place).to_contain_text("Bluetooth is off")

    # A browser that knows nothing of Bluetooth.
    phone.add_init_script("delete Navigator.prototype.bluetooth")
    phone.reload()
    expect(place).to_contain_text("Firefox and the iPhone's browsers can't")
    expect(place).to_contain_text("You can always use the number pad")
    expect(place.get_by_role("button")).to_have_count(0)


def test_a_probe_left_in_keeps_a_dip_in_half_a_minute_and_only_of_the_wax(server, phone, around):
    url = server(demo=True).url
    phone.clock.install()
    seven = probe(around, 78)
    connect(phone, url)
    pour = start(phone, url, count="3")
    go_to(phone, "Cool to fragrance")
    assert dips(phone, pour) == []

    # Put in, it is taken once it has stood; left in, half a minute apart.
    pass_time(phone, seven, 20)
    assert dips(phone, pour) == [(78, "Probe 7")]
    seven.data = hundredths(77.4)
    pass_time(phone, seven, 30)
    assert dips(phone, pour) == [(78, "Probe 7"), (77.4, "Probe 7")]
    expect(slot(phone, "act")).to_contain_text(re.compile(r"Probe 7 shows\s*77\.4\s°C"))

    # Nonsense, no value, and the air of the room are not of the wax.
    for data in (b"\x01\x02\x03\x04", b"\x00\x80", hundredths(22)):
        seven.data = data
        pass_time(phone, seven, 40)
        assert len(dips(phone, pour)) == 2
    assert "Another number" in board(phone)["act"]

    at(phone, url, f"entry/{pour}")
    expect(slot(phone, "happened")).to_contain_text(
        re.compile(r"The thermometer showed: 77\.4\s°C, from Probe 7")
    )


def test_a_scale_that_goes_by_5_g_is_not_offered_at_a_finer_weighing(server, phone, around):
    url = server(demo=True).url
    scale = Instrument(around, f"{ADDRESS}2", "Bench\u202escale\n3", 0x181D, 0x2A9D)
    scale.data = bytes.fromhex("002c00")
    phone.clock.install()
    # Its readings would come by themselves; here they can only be asked for.
    scale.switch_on(read=True, indicate=True)
    connect(phone, url, "Connect a scale")
    place = slot(phone, "instruments")
    expect(place).to_contain_text(re.compile(r"Benchscale3\s*Scale, connected\s*220\sg"))
    expect(place).to_contain_text("too coarse for fragrance")
    start(phone, url, count="3")
    go_to(phone, "Weigh wax")
    pass_time(phone, scale, 2)
    expect(title(phone)).to_have_text(re.compile("Weigh wax"))
    expect(slot(phone, "act")).not_to_contain_text("220")
    expect(slot(phone, "act")).not_to_contain_text("Benchscale3")
