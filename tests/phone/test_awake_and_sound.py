"""The screen stays on during a pour, and the bell rings when a countdown ends."""

import pytest
from playwright.sync_api import expect

from .hands import go_to, read_off, slot, start, tap, title

# Remembers what was asked of the phone, and asks it all the same.
_REMEMBER_LOCKS = """
globalThis.locks = [];
const request = WakeLock.prototype.request;
WakeLock.prototype.request = async function (kind) {
  const lock = { kind, held: null };
  locks.push(lock);
  const sentinel = await request.call(this, kind);
  lock.held = true;
  sentinel.addEventListener('release', () => (lock.held = false));
  return sentinel;
};
"""
_REMEMBER_SOUND = """
globalThis.audios = [];
globalThis.tones = [];
globalThis.AudioContext = class extends AudioContext {
  constructor() { super(); audios.push(this); }
};
const start = OscillatorNode.prototype.start;
OscillatorNode.prototype.start = function (at) {
  tones.push({ in_s: at - this.context.currentTime, hertz: this.frequency.value });
  return start.call(this, at);
};
const stop = OscillatorNode.prototype.stop;
OscillatorNode.prototype.stop = function (at) {
  if (at === undefined) globalThis.hushed = (globalThis.hushed ?? 0) + 1;
  return stop.call(this, at);
};
"""


def test_the_screen_is_kept_on_during_a_pour_only(server, phone):
    phone.add_init_script(_REMEMBER_LOCKS)
    bench = server(demo=True)
    phone.goto(bench.url)
    expect(title(phone)).to_have_text("Today")
    assert phone.evaluate("locks") == []
    start(phone, bench.url)
    phone.wait_for_function("() => locks.length === 1 && locks[0].held")
    expect(slot(phone, "awake")).to_be_hidden()
    phone.get_by_role("link", name="Leave the board").click()
    expect(title(phone)).to_have_text("Today")
    phone.wait_for_function("() => locks.every((lock) => lock.held === false)")
    phone.get_by_role("link", name="on the bench").first.click()
    expect(title(phone)).to_have_text("Make ready")
    phone.wait_for_function("() => locks.filter((lock) => lock.held).length === 1")


def test_a_refused_wake_lock_is_said_on_the_board(server, browser, phone, phone_context):
    bench = server(demo=True)
    target = phone_context.new_cdp_session(phone).send("Target.getTargetInfo")["targetInfo"]
    browser.new_browser_cdp_session().send(
        "Browser.setPermission",
        {
            "permission": {"name": "screen-wake-lock"},
            "setting": "denied",
            "origin": bench.url.rstrip("/"),
            "browserContextId": target["browserContextId"],
        },
    )
    start(phone, bench.url)
    expect(slot(phone, "awake")).to_be_visible()
    expect(slot(phone, "awake")).to_contain_text("set its screen time-out to never")


def test_the_tap_that_starts_a_pour_lets_sound_begin(server, phone):
    phone.add_init_script(_REMEMBER_SOUND)
    bench = server(demo=True)
    phone.goto(bench.url)
    expect(title(phone)).to_have_text("Today")
    assert phone.evaluate("audios.length") == 0
    start(phone, bench.url)
    phone.wait_for_function("() => audios.length === 1 && audios[0].state === 'running'")


@pytest.mark.parametrize("kind", ["stir", "temperature"])
def test_the_bell_rings_when_a_countdown_ends(server, phone, phone_context, kind):
    phone.add_init_script(_REMEMBER_SOUND)
    phone_context.clock.install()
    phone_context.clock.pause_at("2030-05-01T12:00:00")
    start(phone, server(demo=True).url)
    phone.wait_for_function("() => audios.length === 1 && audios[0].state === 'running'")
    if kind == "stir":
        go_to(phone, "Stir")
        left_s = 120
    else:
        go_to(phone, "Cool to fragrance")
        read_off(phone, "74")
        expect(phone.locator(".doing")).to_have_text("70 °C in")
        minutes, seconds = slot(phone, "number").inner_text().split(":")
        left_s = int(minutes) * 60 + int(seconds)
    phone_context.clock.run_for((left_s - 10) * 1000)
    assert phone.evaluate("tones") == []
    phone_context.clock.run_for(9000)
    tones = phone.evaluate("tones")
    # Scheduled ahead on the audio clock, rising, for the moment the countdown ends.
    assert len(tones) == 12
    assert 0 < tones[0]["in_s"] < 2
    assert tones[0]["hertz"] < tones[1]["hertz"] < tones[2]["hertz"]
    phone_context.clock.run_for(30_000)
    assert len(phone.evaluate("tones")) == 12  # once only
    expect(slot(phone, "alarm")).to_be_visible()

    # Answered, it is hushed.
    if kind == "stir":
        tap(phone, "Stirred")
    else:
        read_off(phone, "69.8")
    expect(slot(phone, "alarm")).to_be_hidden()
    phone.wait_for_function("() => globalThis.hushed === 12")


def test_a_bell_that_rang_does_not_ring_again_after_a_reload(server, phone, phone_context):
    phone.add_init_script(_REMEMBER_SOUND)
    phone_context.clock.install()
    phone_context.clock.pause_at("2030-05-01T12:00:00")
    start(phone, server(demo=True).url)
    go_to(phone, "Stir")
    phone.wait_for_function("() => audios[0].state === 'running'")
    phone_context.clock.run_for(121_000)
    assert len(phone.evaluate("tones")) == 12
    phone.reload()
    expect(slot(phone, "alarm")).to_be_visible()
    phone.locator(".board main").click()  # any tap lets sound begin again
    phone.wait_for_function("() => audios[0]?.state === 'running'")
    phone_context.clock.run_for(1000)
    assert phone.evaluate("tones") == []
