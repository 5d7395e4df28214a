"""The countdown followed as she would: dip when the board says so, and be there when it rings.

The jug is simulated from physics (tests/benchmarks/jugs.py), not from the law under test; the
phone's clock is moved on.
"""

import datetime as dt
import re

import numpy as np
import pytest
from playwright.sync_api import Page, expect

from tests.benchmarks.jugs import Cooling, Vessel, cool
from tests.phone.maker import as_shown, at, expect_step, make, read_off, seconds_on, slot, tap_main

JUG = Vessel(
    width_m=0.13,
    wall_j_per_k_m2=0.0008 * 7900 * 470,
    emissivity=0.35,
    base_w_per_k_m2=4.0,
    draught=1.2,
)


def to_the_wait(phone: Page, url: str, open_ready, jug: str | None = None) -> None:
    """A pour of twelve, up to the wait for the fragrance; with ``jug``, in a new one."""
    phone.clock.install(time=dt.datetime(2026, 11, 25, 9, 0, tzinfo=dt.UTC))
    open_ready(phone, url)
    if jug is not None:
        make(phone, url, "jug", name=jug, empty_g="300 g", volume_ml="2 l")
    at(phone, url, "plan/demo-recipe-slate")
    phone.locator('[data-slot="count"]').fill("12")
    if jug is not None:
        slot(phone, "with").click()
        phone.locator('[data-slot="jug"]').select_option(label=jug)
    slot(phone, "start").tap()
    tap_main(phone)
    as_shown(phone)
    expect_step(phone, "Melt")
    tap_main(phone)
    expect_step(phone, "Cool to fragrance")


def follow(phone: Page, curve: Cooling, reads_high_c: float, random: np.random.Generator) -> float:
    """Dip as the board asks; answer the jug's seconds at which the countdown stands at zero."""
    begun = phone.evaluate("() => Date.now()")

    def seconds() -> float:
        return (phone.evaluate("() => Date.now()") - begun) / 1000

    dips = 0
    while True:
        reading = curve.temp_at(seconds()) + reads_high_c + random.normal(0, 0.05)
        read_off(phone, f"{reading:.1f}")
        dips += 1
        expect(slot(phone, "doing")).to_have_text("70\u00a0°C in")
        expect(slot(phone, "say")).not_to_contain_text("Dip now")
        asked = re.search(r"Dip again in (?:(\d+):)?(\d+):(\d+)", slot(phone, "say").inner_text())
        if asked is None:
            break
        hours, minutes, secs = (int(part or 0) for part in asked.groups())
        phone.clock.fast_forward((hours * 3600 + minutes * 60 + secs) * 1000)
        expect(slot(phone, "say")).to_contain_text("Dip now")
    assert dips <= 3
    expect(slot(phone, "say")).to_have_text("No need to dip again before it rings")
    left = seconds_on(phone)
    phone.clock.fast_forward(left * 1000)
    expect(slot(phone, "alarm")).to_have_text("At temperature?")
    return seconds()


@pytest.mark.parametrize("reads_high_c", [0.0, 1.0])
def test_the_alarm_comes_within_the_stated_doubt(
    server, phone: Page, open_ready, reads_high_c: float
) -> None:
    # A jug of its own, so that no past pour speaks for it.
    to_the_wait(phone, server(demo=True).url, open_ready, "jug in a draught")
    curve = cool(JUG, 1168, 85.0, 20.0, 2.25, 0.0008)
    rung_s = follow(phone, curve, reads_high_c, np.random.default_rng(4))
    # What her thermometer would read as it rings: the target, within what the countdown needs.
    # A thermometer that reads high reads the target high as well, so she lands by her own reading.
    assert abs(curve.temp_at(rung_s) + reads_high_c - 70) < 0.4
    expect(slot(phone, "doing")).to_have_text("Dip to be sure. It should be at about")


def test_from_the_third_pour_on_the_first_dip_is_enough(server, phone: Page, open_ready) -> None:
    """Two pours in the demo's jug have been kept; the first dip of the next is not a guess."""
    to_the_wait(phone, server(demo=True).url, open_ready)
    read_off(phone, "84.0")
    expect(slot(phone, "doing")).to_have_text("70\u00a0°C in")
    expect(slot(phone, "say")).not_to_contain_text("A first guess")
    # The demo's jug cools with k = 1.15e-4 and 1.3e-4 at n = 5/4: 64 °C of excess to 50 °C.
    fastest, slowest = ((50**-0.25 - 64**-0.25) * 4 / k for k in (1.3e-4, 1.15e-4))
    assert fastest * 0.9 < seconds_on(phone) < slowest * 1.1
