"""Knocks, claps and words: off until wanted, and none of them keeps a weight or a reading."""

import json
import math
import random
import wave
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, Playwright, expect

from tests.browser import PLAIN
from tests.phone.listening import RECORD_SPEECH, TO_STIR, keep, touch, words
from tests.phone.maker import (
    THERMOMETER,
    at,
    kept,
    moved,
    open_pad,
    read_off,
    slot,
    start,
    step,
    tap,
    title,
    until_kept,
    where,
)
from tests.phone.test_by_ear import KNOCK, KNOCK_MS
from tests.waits import until


@pytest.fixture(scope="session")
def browser(whole_browser: Browser) -> Browser:
    """It has microphones, sensors and recognises speech."""
    return whole_browser


# Remembers what was listened to or asked for, and whether in a tap; and lets it be asked.
_REMEMBER = """
globalThis.asked = [];
const ask = (what) => asked.push([what, navigator.userActivation.isActive]);
const add = EventTarget.prototype.addEventListener;
EventTarget.prototype.addEventListener = function (type, ...rest) {
  if (type.startsWith('device')) ask(type);
  return add.call(this ?? globalThis, type, ...rest);
};
const lend = MediaDevices.prototype.getUserMedia;
MediaDevices.prototype.getUserMedia = function (wanted) {
  ask('microphone');
  return lend.call(this, wanted);
};
const Real = SpeechRecognition;
globalThis.SpeechRecognition = class extends Real {
  constructor() { super(); ask('recognition'); }
};
"""
# An iPhone's question, and a phone that may feel; invented.
_ASKS = """
globalThis.answer = 'granted';
DeviceMotionEvent.requestPermission = async () => {
  asked.push(['permission', navigator.userActivation.isActive]);
  return answer;
};
"""
# Stands in for a browser's speech recognition. `able`, `fetches`: what it answers when asked.
_RECOGNISE = """
globalThis.able = 'available';
globalThis.fetches = true;
globalThis.wanted = [];
globalThis.sessions = [];
globalThis.SpeechRecognition = class {
  static async available(given) { wanted.push(['available', given]); return able; }
  static async install(given) {
    wanted.push(['install', given]);
    if (fetches) able = 'available';
    return fetches;
  }
  results = [];
  state = 'new';
  constructor() { sessions.push(this); }
  start() {
    if (this.state !== 'new') throw new DOMException('again', 'InvalidStateError');
    this.state = 'listens';
    queueMicrotask(() => this.onstart?.());
  }
  abort() {
    this.state = 'over';
    queueMicrotask(() => { this.onerror?.({ error: 'aborted' }); this.onend?.(); });
  }
  hear(...said) {
    const heard = said.map((transcript) => ({ transcript, confidence: 0.9 }));
    this.results.push(Object.assign(heard, { isFinal: true }));
    const { results } = this;
    this.onresult?.({ resultIndex: results.length - 1, results });
  }
};
globalThis.listening = () => sessions.filter(({ state }) => state === 'listens');
MediaDevices.prototype.getUserMedia = async () => ({ getTracks: () => [{ stop() {} }] });
"""
_HIDE = """(state) => {
  Object.defineProperty(document, 'visibilityState', { configurable: true, value: state });
  Object.defineProperty(document, 'hidden', { configurable: true, value: state === 'hidden' });
  document.dispatchEvent(new Event('visibilitychange'));
}"""

READINGS = {"weighed", "accepted", "read", "poured", "emptied"}
REFUSED = "A reading needs a touch."


def switch(page: Page, name: str) -> Any:
    return page.get_by_role("switch", name=name)


KNOCKS, CLAPS, SPEECH = "Two knocks on the bench", "Two claps or loud", "Numbers and words"


def liked(page: Page) -> dict[str, Any]:
    """What is kept of how she likes this phone to be."""
    found: dict[str, Any] = json.loads(
        page.evaluate("localStorage.getItem('at the bench')") or "{}"
    )
    return found


def like(page: Page, **how: bool) -> None:
    """As if she had switched it on here before the page is first opened."""
    kept_so = json.dumps(json.dumps(how))
    page.add_init_script(f"localStorage['at the bench'] ??= {kept_so};")


def events(page: Page, pour: str) -> list[dict[str, Any]]:
    """What is kept of a pour, in order."""
    found = [each for each in kept(page)["events"] if each["of"] == ["pour", pour]]
    return sorted(found, key=lambda each: str(each["id"]))


def knock(page: Page) -> None:
    """Twice, by the test's clock."""
    page.evaluate(KNOCK)
    page.clock.run_for(KNOCK_MS)


@pytest.fixture
def still(phone_context: BrowserContext) -> None:
    phone_context.clock.install()
    phone_context.clock.pause_at("2030-05-01T12:00:00")


# ---- off until wanted ----------------------------------------------------------------------------


def test_nothing_listens_until_it_is_switched_on_in_a_tap(server, phone: Page, still: None) -> None:
    phone.add_init_script(_REMEMBER)
    phone.add_init_script(_ASKS)
    url = server(demo=True).url
    at(phone, url, "bench")
    for name in (KNOCKS, CLAPS, SPEECH):
        expect(switch(phone, name)).not_to_be_checked()
    pour = start(phone, url, count="2")
    knock(phone)
    tap(phone, "All ready")
    expect(title(phone)).to_have_text("Weigh wax")
    phone.clock.run_for(10_000)
    assert phone.evaluate("asked") == []
    assert [each["type"] for each in events(phone, pour)] == ["ready"]

    at(phone, url, "bench")
    assert phone.evaluate("asked") == []
    switch(phone, KNOCKS).tap()
    expect(switch(phone, KNOCKS)).to_be_checked()
    phone.wait_for_function("() => asked.length === 2")
    assert phone.evaluate("asked") == [["permission", True], ["devicemotion", True]]
    knock(phone)
    expect(slot(phone, "heard")).to_have_text("Heard two knocks: next (1)")

    switch(phone, KNOCKS).tap()
    expect(switch(phone, KNOCKS)).not_to_be_checked()
    knock(phone)
    phone.evaluate("() => { asked.length = 0; }")
    at(phone, url, f"pour/{pour}/0")
    knock(phone)
    assert phone.evaluate("asked") == []
    assert [each["type"] for each in events(phone, pour)] == ["ready"]


def test_what_was_refused_is_said_and_stays_off(server, phone: Page) -> None:
    phone.add_init_script(_REMEMBER)
    phone.add_init_script(_ASKS)
    at(phone, server(demo=True).url, "bench")
    phone.evaluate("() => { answer = 'denied'; }")
    switch(phone, KNOCKS).tap()
    expect(slot(phone, "knock")).to_contain_text(
        "told not to report movement. Allow motion for this page"
    )
    # There is no microphone in this browser.
    switch(phone, CLAPS).tap()
    expect(slot(phone, "clap")).to_have_text("No microphone was found.")
    for name in (KNOCKS, CLAPS):
        expect(switch(phone, name)).not_to_be_checked()
    assert phone.evaluate("asked") == [["permission", True], ["microphone", True]]
    assert not any(liked(phone).get(each) for each in ("knock", "clap", "hear"))

    phone.evaluate("() => { answer = 'granted'; }")
    switch(phone, KNOCKS).tap()
    expect(switch(phone, KNOCKS)).to_be_checked()
    expect(slot(phone, "knock")).to_be_hidden()


# ---- two knocks ----------------------------------------------------------------------------------


def shown(page: Page) -> tuple[str, str]:
    """The step, and what the main button says."""
    return title(page).inner_text(), page.locator(".act .go").inner_text()


def is_reading(page: Page) -> bool:
    """Whether the main button enters, or keeps, what a scale or thermometer reads."""
    main = page.locator(".act .go")
    label = main.inner_text()
    return bool(
        main.locator("[data-slot=draft]").count()
        or label.startswith(("Keep ", THERMOMETER))
        or label == "All poured"
    )


def test_a_knock_does_what_undo_takes_back_and_keeps_no_reading(
    server, phone: Page, still: None
) -> None:
    """A whole pour; at the first weighing too much, which she may keep."""
    phone.add_init_script(RECORD_SPEECH)
    url = server(demo=True).url
    like(phone, knock=True)
    pour = start(phone, url, recipe="plum", count="2")
    # What she is asked to hear shakes the phone.
    phone.clock.run_for(2000)
    knocked: list[str] = []
    refused: list[tuple[str, str]] = []
    while True:
        here, count, before = shown(phone), len(kept(phone)["events"]), where(phone)
        reading = is_reading(phone)
        phone.evaluate("() => { spoken.length = 0; }")
        knock(phone)
        if reading:
            assert not {REFUSED, "This needs a touch."}.isdisjoint(words(phone))
            assert len(kept(phone)["events"]) == count
            refused.append(here)
            if len(refused) == 1:
                read_off(phone, "600")
                moved(phone, before)
            else:
                step(phone)
            continue
        until_kept(phone, count + 1)
        # That it can be felt is nothing to be told of.
        expect(phone.locator("#said")).to_be_hidden()
        done = events(phone, pour)[-1]
        assert done["type"] not in READINGS
        if done["type"] == "set":
            expect(title(phone)).to_have_text("Today")
            at(phone, url, f"trim/{pour}")
        tap(phone, "Undo")
        until_kept(phone, count + 2)
        assert events(phone, pour)[-1]["event"] == done["id"]
        expect(phone.locator(".act .go")).to_have_text(here[1])
        assert shown(phone) == here
        knocked.append(done["type"])
        if done["type"] == "set":
            break
        knock(phone)
        until_kept(phone, count + 3)
        expect(phone.locator(".act .go")).not_to_have_text(here[1])
    assert knocked == ["ready", "melted", "went_on", "added", "stirred", "set"]
    assert [step for step, _ in refused] == [
        *("Weigh wax", "Weigh wax", "Dye and additives", "Cool to fragrance"),
        *("Weigh fragrance", "Weigh fragrance", "Pour · 1 of 2", "Pour · 2 of 2"),
    ]
    assert refused[1][1].startswith("Keep 600")


def test_the_sensors_of_the_phone_are_felt(server, phone: Page, phone_context: Any) -> None:
    """Readings go in where the browser has them from the machine, not as events of the page."""
    sensors = phone_context.new_cdp_session(phone)
    kinds = ("accelerometer", "linear-acceleration", "gyroscope")
    for kind in kinds:
        sensors.send("Emulation.setSensorOverrideEnabled", {"enabled": True, "type": kind})

    def lies(z: float) -> None:
        for kind, value in zip(kinds, (z, z - 9.8, 0), strict=True):
            reading = {"xyz": {"x": 0, "y": 0, "z": value}}
            sensors.send("Emulation.setSensorOverrideReadings", {"type": kind, "reading": reading})

    def hit(times: int) -> None:
        for _ in range(times):
            lies(14)
            phone.wait_for_timeout(35)
            lies(9.8)
            phone.wait_for_timeout(300)

    lies(9.8)
    at(phone, server(demo=True).url, "bench")
    switch(phone, KNOCKS).tap()
    expect(switch(phone, KNOCKS)).to_be_checked()
    phone.wait_for_timeout(600)
    expect(slot(phone, "heard")).to_have_text("")

    def is_heard() -> bool:
        hit(2)
        phone.wait_for_timeout(800)
        return bool(slot(phone, "heard").inner_text())

    # A busy machine may let one come too late, or last too long.
    until(is_heard)
    expect(slot(phone, "heard")).to_have_text("Heard two knocks: next (1)")
    expect(slot(phone, "knock")).to_be_hidden()


def test_who_listened_last_is_told_alone(server, phone: Page, still: None) -> None:
    """A screen that is left late must not go on doing what a knock asks of the next."""
    like(phone, knock=True)
    phone.goto(server(demo=True).url)
    expect(title(phone)).to_have_text("Today")
    phone.evaluate(
        """async () => {
          const { startHandsFree } = await import('/static/bench/hands_free.js');
          globalThis.told = [];
          const start = (who) => startHandsFree({ onWord: () => told.push(who), onTrouble() {} });
          globalThis.stops = [start('first'), start('second')];
          // What feels knocks comes by itself, and then begins.
          await import('/static/bench/accelerometer.js');
          await new Promise((resolve) => {
            const { port1, port2 } = new MessageChannel();
            port1.onmessage = resolve;
            port2.postMessage(null);
          });
        }"""
    )
    knock(phone)
    assert phone.evaluate("told") == ["second"]
    phone.evaluate("stops[0]()")
    knock(phone)
    assert phone.evaluate("told") == ["second", "second"]
    phone.evaluate("stops[1]()")
    knock(phone)
    assert len(phone.evaluate("told")) == 2


def test_its_own_shaking_is_no_knock_and_no_knock_pours_a_whole_jug(
    server, phone: Page, still: None
) -> None:
    phone.add_init_script(RECORD_SPEECH)
    phone.add_init_script(
        """globalThis.shaken = [];
        navigator.vibrate = (how) => shaken.push([how, performance.now()]);"""
    )
    url = server(demo=True).url
    like(phone, knock=True, whole=True)
    pour = start(phone, url, count="2")
    touch(phone)
    keep(phone, pour, {"type": "ready"}, *TO_STIR)
    expect(phone.locator(".act .go")).to_have_text("Stirred")
    phone.evaluate("() => { shaken.length = 0; }")
    added = events(phone, pour)[-1]
    rings_ms = added["at"] + 120_000
    phone.clock.fast_forward(100_000)
    phone.clock.run_for(rings_ms - 760 - phone.evaluate("Date.now()"))
    assert phone.evaluate("shaken") == []
    # The two come 200 and 680 ms after the bell: it shakes for 750.
    knock(phone)
    assert [how for how, _ in phone.evaluate("shaken")] == [[300, 150, 300]]
    assert events(phone, pour)[-1] == added
    count = len(kept(phone)["events"])
    knock(phone)
    until_kept(phone, count + 1)
    assert events(phone, pour)[-1]["type"] == "stirred"

    # It would put a weight into each vessel that no scale has told.
    expect(phone.locator(".act .go")).to_have_text("All poured")
    knock(phone)
    assert words(phone)[-1] == "This needs a touch."
    assert len(kept(phone)["events"]) == count + 1


# ---- two claps -----------------------------------------------------------------------------------

RATE = 16_000


def noise(seconds: float, loud: float, chance: random.Random) -> list[float]:
    return [loud * chance.uniform(-1, 1) for _ in range(int(seconds * RATE))]


def clap(chance: random.Random) -> list[float]:
    """Invented: noise that is there at once and fades within 15 ms."""
    return [
        0.8 * math.exp(-n / (0.015 * RATE)) * chance.uniform(-1, 1) for n in range(int(0.1 * RATE))
    ]


def syllable(long_s: float, hertz: float, loud: float) -> list[float]:
    """Invented: a voice's overtones that swell and fade."""
    sound = []
    for n in range(int(long_s * RATE)):
        t = n / RATE
        tone = sum(math.sin(2 * math.pi * k * hertz * t) / k for k in range(1, 8))
        sound.append(loud * tone * math.sin(math.pi * t / long_s) ** 0.5)
    return sound


def talk(chance: random.Random) -> list[float]:
    """Many syllables with short rests; then, after quiet, two alike, as far apart as two claps."""
    sound: list[float] = []
    for rest_s in (0.03, 0.1, 0.2, 0.03, 0.3):
        long_s, hertz = chance.uniform(0.12, 0.3), chance.uniform(110, 220)
        sound += syllable(long_s, hertz, chance.uniform(0.1, 0.25))
        sound += noise(rest_s, 0.003, chance)
    two = [*syllable(0.14, 150, 0.12), *noise(0.4, 0.003, chance), *syllable(0.14, 150, 0.12)]
    return [*sound, *noise(1.0, 0.003, chance), *two]


def write_sound(path: Path, sound: list[float]) -> None:
    with wave.open(str(path), "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(RATE)
        whole = [max(-32767, min(32767, round(32767 * each))) for each in sound]
        file.writeframes(b"".join(each.to_bytes(2, "little", signed=True) for each in whole))


@pytest.fixture
def microphone(
    playwright: Playwright, chromium_path: str, tmp_path: Path, page_errors: list[str]
) -> Iterator[Callable[[list[float]], Page]]:
    """A phone whose microphone hears a sound over and over, once it may."""
    launched: list[Browser] = []

    def launch(sound: list[float]) -> Page:
        write_sound(tmp_path / "heard.wav", sound)
        arguments = [
            *PLAIN,
            "--use-fake-device-for-media-stream",
            f"--use-file-for-fake-audio-capture={tmp_path / 'heard.wav'}",
        ]
        browser = playwright.chromium.launch(executable_path=chromium_path, args=arguments)
        launched.append(browser)
        page = browser.new_page(viewport={"width": 390, "height": 844}, has_touch=True)
        page.on("pageerror", lambda error: page_errors.append(str(error)))
        return page

    yield launch
    for browser in launched:
        browser.close()


# Remembers what the microphone lent, and each word between the page and the sound's thread.
_OVERHEAR = """
globalThis.streams = [];
globalThis.twos = [];
globalThis.deafened = [];
const lend = MediaDevices.prototype.getUserMedia;
MediaDevices.prototype.getUserMedia = async function (wanted) {
  const stream = await lend.call(this, wanted);
  streams.push({ wanted, stream });
  return stream;
};
const post = MessagePort.prototype.postMessage;
MessagePort.prototype.postMessage = function (given, ...rest) {
  if (typeof given === 'number') deafened.push(given);
  return post.call(this, given, ...rest);
};
globalThis.AudioWorkletNode = class extends AudioWorkletNode {
  constructor(context, ...rest) {
    super(context, ...rest);
    this.port.addEventListener('message', () => twos.push(context.currentTime));
  }
};
"""
LENT = """() => streams.map(({ stream }) =>
  stream.getTracks().map(({ readyState }) => readyState).join())"""


def test_two_claps_are_next_and_talk_is_not(server, microphone: Any) -> None:
    chance = random.Random(1)
    before = [*noise(0.6, 0.003, chance), *talk(chance), *noise(1.3, 0.003, chance)]
    claps = [*clap(chance), *noise(0.25, 0.003, chance), *clap(chance)]
    page = microphone([*before, *claps, *noise(1.1, 0.003, chance)])
    page.add_init_script(_OVERHEAR)
    url = server(demo=True).url
    at(page, url, "bench")

    # Refused by the browser, then allowed; and a stream that was only asked for is given back.
    switch(page, CLAPS).click()
    expect(slot(page, "clap")).to_contain_text("The microphone is blocked. Allow it for this page")
    expect(switch(page, CLAPS)).not_to_be_checked()
    page.context.grant_permissions(["microphone"])
    switch(page, CLAPS).click()
    expect(switch(page, CLAPS)).to_be_checked()
    expect(slot(page, "clap")).to_be_hidden()
    page.wait_for_function("() => streams.length === 2")
    assert page.evaluate(LENT) == ["ended", "live"]
    off = {"echoCancellation": False, "noiseSuppression": False, "autoGainControl": False}
    assert page.evaluate("streams[1].wanted") == {"audio": off}

    pour = start(page, url)
    page.evaluate("() => { deafened.length = 0; }")
    expect(title(page)).to_have_text("Weigh wax")
    assert [each["type"] for each in events(page, pour)] == ["ready"]
    [heard_s] = page.evaluate("twos")
    # Two are known when quiet has followed: of the talk before the claps began, of these after.
    assert heard_s > (len(before) + len(claps)) / RATE
    # What the phone then sounds and says is not for it.
    assert max(page.evaluate("deafened")) > 0

    assert page.evaluate(LENT)[-1] == "live"
    page.evaluate(_HIDE, "hidden")
    page.wait_for_function(f"() => ({LENT})().every((state) => state === 'ended')")
    page.evaluate(_HIDE, "visible")
    page.wait_for_function("() => streams.at(-1).stream.active")
    page.evaluate("location.hash = '#/today'")
    expect(title(page)).to_have_text("Today")
    assert set(page.evaluate(LENT)) == {"ended"}


# ---- numbers and words ---------------------------------------------------------------------------


@pytest.fixture
def talker(phone: Page, still: None) -> Page:
    """A phone whose voice, ear and clock are the test's."""
    phone.add_init_script(RECORD_SPEECH)
    phone.add_init_script(_RECOGNISE)
    return phone


def hear(page: Page, *said: str) -> None:
    """Say it to the phone, once it has said what it has to; it may be taken for several things."""
    page.clock.run_for(9000)
    page.evaluate("() => { spoken.length = 0; }")
    assert page.evaluate("listening().length") == 1
    page.evaluate("(said) => listening()[0].hear(...said)", said)
    page.clock.run_for(200)


def test_a_spoken_number_waits_for_a_touch(server, talker: Page) -> None:
    url = server(demo=True).url
    like(talker, hear=True)
    pour = start(talker, url)
    touch(talker)
    hear(talker, "Next.")
    expect(title(talker)).to_have_text("Weigh wax")
    draft, go = slot(talker, "draft"), talker.locator(".act .go")
    [ready] = events(talker, pour)
    assert ready["type"] == "ready"

    hear(talker, "the wax", "eleven ninety")
    expect(draft).to_have_text("1\u202f190\u00a0g")
    assert words(talker)[-1] == "1190 grams? Touch, if that is it."
    hear(talker, "next")
    assert words(talker) == [REFUSED]
    hear(talker, "twelve o")
    hear(talker, "seventy degrees celsius")
    assert "is not a weight" in words(talker)[0]
    hear(talker, "minus five")
    assert "can't be less than zero" in words(talker)[0]
    hear(talker, "nine hundred thousand million")
    assert words(talker) == []
    expect(draft).to_have_text("1\u202f190\u00a0g")
    talker.clock.fast_forward(80_000)
    talker.clock.run_for(20_000)
    assert events(talker, pour) == [ready]
    hear(talker, "again")
    assert words(talker) == ["Jug on, zero the scale. Wax, 1168 grams."]

    # While she types, nothing else is taken.
    open_pad(talker)
    hear(talker, "undo")
    hear(talker, "nine hundred")
    assert words(talker) == []
    assert events(talker, pour) == [ready]
    talker.keyboard.press("Escape")
    expect(talker.locator("dialog.pad")).to_have_count(0)

    count = len(kept(talker)["events"])
    go.tap()
    until_kept(talker, count + 1)
    weighed = events(talker, pour)[-1]
    assert (weighed["type"], weighed["read_g"]) == ("weighed", 1190)
    hear(talker, "undo")
    until_kept(talker, count + 2)
    assert events(talker, pour)[-1]["event"] == weighed["id"]
    expect(draft).to_be_visible()
    hear(talker, "undo")
    expect(title(talker)).to_have_text("Make ready")
    hear(talker, "ninety")
    assert words(talker) == ["Nothing to read now."]


def test_on_the_device_or_with_her_agreement(server, talker: Page) -> None:
    talker.add_init_script("able = 'unavailable'")
    url = server(demo=True).url
    # As if she had agreed to it on a phone that could.
    like(talker, hear=True)
    start(talker, url)
    expect(talker.locator("#said")).to_contain_text("can't recognise English on the device")
    talker.clock.fast_forward(40_000)
    talker.clock.run_for(20_000)
    assert talker.evaluate("sessions") == []

    at(talker, url, "bench")
    agree = talker.get_by_label("I agree that what the microphone hears is sent")
    expect(agree).not_to_be_checked()
    expect(switch(talker, SPEECH)).to_be_hidden()
    agree.check()
    expect(switch(talker, SPEECH)).to_be_visible()
    talker.wait_for_function("() => listening().length === 1")
    assert talker.evaluate("listening()[0].processLocally") is False
    agree.uncheck()
    expect(switch(talker, SPEECH)).to_be_hidden()
    assert talker.evaluate("listening()") == []
    assert not liked(talker)["hear"]


def test_what_recognises_is_fetched_when_first_wanted(server, talker: Page) -> None:
    talker.add_init_script("able = 'downloadable'; fetches = false")
    at(talker, server(demo=True).url, "bench")
    asks = "wanted.map(([what, { processLocally }]) => [what, processLocally])"
    assert talker.evaluate(asks) == [["available", True]]
    switch(talker, SPEECH).tap()
    expect(slot(talker, "hear")).to_have_text("It could not be loaded.")
    expect(slot(talker, "agree")).to_be_visible()
    expect(slot(talker, "agree").locator("input")).not_to_be_checked()
    assert talker.evaluate("sessions") == []
    assert not liked(talker).get("hear")

    talker.reload()
    talker.evaluate("() => { fetches = true; }")
    switch(talker, SPEECH).tap()
    expect(switch(talker, SPEECH)).to_be_checked()
    talker.wait_for_function("() => listening().length === 1")
    assert talker.evaluate("listening()[0].processLocally") is True
    assert ["install", True] in talker.evaluate(asks)
    hear(talker, "a hundred and six point five")
    expect(slot(talker, "heard")).to_have_text("Heard your voice: 106.5 (1)")


def test_hidden_or_speaking_it_hears_nothing(server, talker: Page) -> None:
    url = server(demo=True).url
    like(talker, hear=True)
    pour = start(talker, url)
    touch(talker)
    hear(talker, "next")
    expect(title(talker)).to_have_text("Weigh wax")
    listens = "listening().length"
    late = "(said) => sessions.at(-1).hear(said)"

    # What it is about to say it heard is its own voice.
    hear(talker, "again")
    assert len(words(talker)) == 1
    assert talker.evaluate(listens) == 0
    talker.evaluate(late, "undo")
    talker.clock.run_for(1000)
    assert talker.evaluate(listens) == 0
    talker.clock.run_for(8000)
    assert talker.evaluate(listens) == 1

    talker.evaluate(_HIDE, "hidden")
    assert talker.evaluate(listens) == 0
    talker.evaluate(late, "undo")
    talker.clock.fast_forward(40_000)
    talker.clock.run_for(20_000)
    assert talker.evaluate(listens) == 0
    talker.evaluate(_HIDE, "visible")
    talker.clock.run_for(1000)
    assert talker.evaluate(listens) == 1
    assert [each["type"] for each in events(talker, pour)] == ["ready"]

    talker.get_by_role("link", name="Leave the board").click()
    expect(title(talker)).to_have_text("Today")
    assert talker.evaluate(listens) == 0
