"""The screen stays on during a pour, and the bell rings when a countdown ends."""

from itertools import pairwise

import pytest
from playwright.sync_api import Browser, expect

from tests.phone.listening import RECORD_SOUND, TO_COOL, keep
from tests.phone.maker import slot, start, title
from tests.served import static_files


@pytest.fixture(scope="session")
def browser(whole_browser: Browser) -> Browser:
    """It keeps a screen on."""
    return whole_browser


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
# An audio clock that renders at once what was scheduled, to be looked at sample by sample.
_RENDER_SOUND = """
globalThis.AudioContext = class extends OfflineAudioContext {
  constructor() { super(1, 20 * 44100, 44100); globalThis.rendering = this; }
  get state() { return 'running'; }
};
"""
_SHAPE = """async () => {
  const heard = (await rendering.startRendering()).getChannelData(0);
  let loudest = 0;
  let jump = 0;
  for (let n = 1; n < heard.length; n += 1) {
    loudest = Math.max(loudest, Math.abs(heard[n]));
    jump = Math.max(jump, Math.abs(heard[n] - heard[n - 1]));
  }
  return { loudest, jump };
}"""


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
    phone.locator(".running .card").first.click()
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


def test_a_wake_lock_that_would_do_nothing_is_not_trusted(server, phone):
    """As before iOS 18.4 on the home screen (https://bugs.webkit.org/show_bug.cgi?id=254545)."""
    phone.add_init_script(_REMEMBER_LOCKS)
    phone.add_init_script("navigator.standalone = true")
    start(phone, server(demo=True).url)
    expect(slot(phone, "awake")).to_contain_text("set its screen time-out to never")
    assert phone.evaluate("locks") == []


def test_the_tap_that_starts_a_pour_lets_sound_begin(server, phone):
    phone.add_init_script(RECORD_SOUND)
    bench = server(demo=True)
    phone.goto(bench.url)
    expect(title(phone)).to_have_text("Today")
    assert phone.evaluate("audios.length") == 0
    start(phone, bench.url)
    phone.wait_for_function("() => audios.length === 1 && audios[0].state === 'running'")


def test_the_bell_rings_when_a_countdown_ends(server, phone, phone_context):
    phone.add_init_script(RECORD_SOUND)
    phone_context.clock.install()
    phone_context.clock.pause_at("2030-05-01T12:00:00")
    pour = start(phone, server(demo=True).url, count="2")
    phone.wait_for_function("() => audios.length === 1 && audios[0].state === 'running'")
    keep(phone, pour, {"type": "ready"}, *TO_COOL, {"type": "read", "temp_c": 74})
    expect(phone.locator(".doing")).to_have_text("70 °C in")
    minutes, seconds = slot(phone, "number").inner_text().split(":")
    left_s = int(minutes) * 60 + int(seconds)
    phone_context.clock.fast_forward((left_s - 10) * 1000)
    phone_context.clock.run_for(5000)
    phone.evaluate("tones.length = 0")
    phone_context.clock.run_for(4000)
    tones = phone.evaluate("tones")
    # Scheduled ahead on the audio clock, rising, for the moment the countdown ends.
    assert len(tones) == 12
    assert 0 < tones[0]["at"] - phone.evaluate("Date.now()") < 1500
    assert tones[0]["hertz"] < tones[1]["hertz"] < tones[2]["hertz"]
    phone_context.clock.run_for(15_000)
    bells = "tones.filter(({ hertz }) => hertz !== 784)"
    assert len(phone.evaluate(bells)) == 12  # once only
    expect(slot(phone, "alarm")).to_be_visible()

    # Answered, it is hushed: its tones end before their time.
    keep(phone, pour, {"type": "read", "temp_c": 69.8})
    expect(slot(phone, "alarm")).to_be_hidden()
    assert phone.evaluate(f"{bells}.map(({{ stops }}) => stops)") == [2] * 12


# ---- the sounds alone --------------------------------------------------------------------------


@pytest.fixture
def page(phone):
    """A blank page beside the modules."""
    with static_files() as url:
        phone.goto(url)
        yield phone


def sound(page, body, before=RECORD_SOUND):
    page.evaluate(f"() => {{ {before} }}")
    script = "async () => { const s = await import('/bench/sound.js'); BODY }"
    return page.evaluate(script.replace("BODY", body))


def test_the_sounds_differ_in_rhythm_and_direction(page):
    sound(
        page, "s.unlock(); for (const what of ['soon', 'now', 'late', 'kept', 'no']) s.play(what)"
    )
    tones = page.evaluate("tones")
    first = {}
    for what, count, notes in (("soon", 2, 2), ("now", 12, 3), ("late", 12, 4), ("kept", 1, 1)):
        first[what] = tones[:notes]
        tones = tones[count:]
    first["no"] = tones
    directions = {
        what: [
            (after["hertz"] > before["hertz"]) - (after["hertz"] < before["hertz"])
            for before, after in pairwise(notes)
        ]
        for what, notes in first.items()
    }
    assert directions == {
        "soon": [0],
        "now": [1, 1],
        "late": [-1, 1, -1],
        "kept": [],
        "no": [-1],
    }
    gaps = [
        tuple(round((after["at"] - before["at"]) / 10) for before, after in pairwise(notes))
        for notes in first.values()
    ]
    assert len(set(gaps)) == len(gaps)
    # A phone's small speaker gives little under 400 Hz (common practice, no source).
    assert all(tone["hertz"] >= 400 for notes in first.values() for tone in notes)


def test_who_listens_is_told_what_the_phone_itself_sounds(page):
    sound(
        page,
        """globalThis.told = []; s.unlock();
        s.onSound((ms, shakes) => told.push([Math.round(ms), shakes]));
        s.ring('a', 0, 'now', 1); s.play('kept'); s.ring('b', 60, 'late'); s.hush('b');""",
    )
    page.wait_for_function("() => told.length === 2")
    assert page.evaluate("told") == [[880, True], [70, False]]


@pytest.mark.parametrize("sounds", [["now"], ["late"], ["now", "late", "soon"]])
def test_it_is_loud_and_neither_clips_nor_clicks(page, sounds):
    body = f"s.unlock(); for (const what of {sounds}) s.ring(what, 0.5, what)"
    sound(page, body, _RENDER_SOUND)
    shape = page.evaluate(_SHAPE)
    assert 0.5 < shape["loudest"] <= 1
    # A triangle of 1175 Hz and full swing moves by 4 × 1175 / 44100 from sample to sample.
    assert shape["jump"] < len(sounds) * 4 * 1175 / 44100


def test_what_an_iphone_interrupted_goes_on(page):
    """It says 'interrupted' after a lock or a call; sometimes only a new context helps."""
    interrupted = """globalThis.stuck = true;
      const { resume } = AudioContext.prototype; globalThis.resumes = 0;
      Object.defineProperty(AudioContext.prototype, 'state', {
        get() { return globalThis.stuck ? 'interrupted' : 'running'; } });
      AudioContext.prototype.resume = function () { resumes += 1; return resume.call(this); };"""
    told = sound(
        page,
        """s.unlock(); const told = [[s.canRing(), resumes, audios.length]];
        document.dispatchEvent(new Event('visibilitychange'));
        told.push([s.canRing(), resumes, audios.length]);
        s.unlock(); globalThis.stuck = false;
        told.push([s.canRing(), resumes, audios.length]);
        s.unlock(); told.push([s.canRing(), resumes, audios.length]);
        return told""",
        RECORD_SOUND + interrupted,
    )
    assert told == [[False, 1, 1], [False, 2, 1], [True, 3, 2], [True, 3, 2]]
