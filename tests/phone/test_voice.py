"""What the phone says aloud: recorded where the browser would have spoken it."""

from collections.abc import Iterator
from typing import Any

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect

from tests.phone.listening import (
    RECORD_SOUND,
    RECORD_SPEECH,
    TO_STIR,
    forget,
    keep,
    touch,
    weighed,
    words,
)
from tests.phone.maker import at, start, title
from tests.served import static_files


@pytest.fixture(scope="session")
def browser(whole_browser: Browser) -> Browser:
    """It has voices of its own."""
    return whole_browser


@pytest.fixture
def listener(phone: Page, phone_context: BrowserContext) -> Page:
    """A phone whose voice, sounds and clock are the test's."""
    phone.add_init_script(RECORD_SPEECH)
    phone.add_init_script(RECORD_SOUND)
    phone_context.clock.install()
    phone_context.clock.pause_at("2030-05-01T12:00:00")
    return phone


def test_a_pour_is_spoken_and_told_on_any_screen(server, listener: Page) -> None:
    url = server(demo=True).url
    pour = start(listener, url, count="2")
    touch(listener)
    forget(listener)
    keep(listener, pour, {"type": "ready"}, weighed("wax", -17), *TO_STIR[:3])
    said = words(listener)
    assert said == [
        "Jug on, zero the scale. Wax, 199 grams.",
        "17 grams more.",
        "Melt. Never hotter than 90 degrees. Never leave it.",
        "Off the heat. Stir. Dip the thermometer.",
        "In the window. Fragrance now.",
    ]
    # By an offline voice in her own English; never by one that sends the words away.
    assert {(each["voice"], each["lang"]) for each in listener.evaluate("spoken")} == {
        ("Other", "en-US")
    }
    keep(listener, pour, *TO_STIR[3:])
    assert words(listener)[-1] == "Stir for two minutes."

    at(listener, url, "log")
    touch(listener)
    forget(listener)
    listener.context.clock.run_for(106_000)
    spoken, tones = listener.evaluate("[spoken, tones]")
    assert [each["text"] for each in spoken] == [
        "One minute left to stir.",
        "30 seconds left to stir.",
        "Stirred long enough.",
    ]
    one, half, now = (each["at"] for each in spoken)
    assert half - one == pytest.approx(30_000, abs=300)
    # Two level notes and the words after them; three rising ones, and again until she answers.
    assert len({tone["hertz"] for tone in tones[:4]}) == 1
    assert tones[0]["at"] < tones[1]["at"] < one
    rising = tones[4:7]
    assert [tone["hertz"] for tone in rising] == sorted({tone["hertz"] for tone in rising})
    assert rising[2]["at"] < now < tones[7]["at"]

    # After a reload none of it comes again.
    listener.reload()
    expect(title(listener)).to_have_text("Log")
    touch(listener)
    listener.context.clock.run_for(2000)
    assert listener.evaluate("[spoken, tones]") == [[], []]


def test_each_of_two_pours_is_named_and_after_a_sleep_how_late_it_is(
    server, listener: Page
) -> None:
    url = server(demo=True).url
    slate = start(listener, url, count="2")
    touch(listener)
    keep(listener, slate, {"type": "ready"}, *TO_STIR)
    plum = start(listener, url, recipe="plum", count="2")
    touch(listener)
    keep(listener, plum, {"type": "ready"})
    listener.context.clock.fast_forward(260_000)
    listener.context.clock.run_for(3000)
    jug_on, late = words(listener)[-2:]
    assert jug_on.startswith("Plum and kelp: Jug on, zero the scale.")
    assert late == "Wet slate: Stirred long enough, 2 minutes 40 ago."

    # Muted, it keeps its words to itself.
    listener.evaluate(
        """async () => {
          spoken.length = tones.length = 0;
          const { prefer } = await import('/static/bench/preferences.js');
          prefer({ voice: false, sound: false });
        }"""
    )
    keep(listener, plum, weighed("wax"))
    listener.context.clock.run_for(3000)
    assert listener.evaluate("[spoken, tones]") == [[], []]
    found = "async () => { const v = await import('/static/bench/voice.js'); return V; }"
    state, said = listener.evaluate(found.replace("V", "[v.voiceState(), v.said]"))
    assert state == "muted"
    assert said.startswith(("Plum & kelp: ", "Wet slate: "))  # to be read


def test_she_is_asked_whether_she_heard_it(server, listener: Page) -> None:
    listener.goto(server(demo=True).url)
    listener.evaluate("async () => (await import('/static/screens/announcer.js')).soundCheck()")
    listener.context.clock.run_for(2000)
    assert words(listener) == ["Did you hear that?"]
    assert len(listener.evaluate("tones")) == 3


# ---- the voice alone ---------------------------------------------------------------------------


@pytest.fixture
def page(phone_context: BrowserContext, phone: Page) -> Iterator[Page]:
    """A blank page beside the modules, and a clock of its own."""
    phone_context.clock.install()
    phone_context.clock.pause_at("2030-05-01T12:00:00")
    with static_files() as url:
        phone.add_init_script("globalThis.address = 0;")
        phone.goto(url)
        yield phone


def voice(page: Page, body: str, before: str = "") -> Any:
    """Run `body` with the voice as `v`, unlocked, after `before` has set the scene."""
    page.evaluate(f"() => {{ {before}; {RECORD_SPEECH} }}")
    script = "async () => { const v = await import('/bench/voice.js'); v.unlockVoice(); BODY }"
    return page.evaluate(script.replace("BODY", body))


def test_a_voice_that_never_ends_holds_nothing_up(page: Page) -> None:
    voice(page, "v.speak('one.'); v.speak('two.'); v.speak('three.');", "globalThis.fate = 'hangs'")
    page.clock.run_for(12_000)
    assert words(page) == ["one.", "two.", "three."]
    assert page.evaluate("cancelled") == 3


def test_no_more_than_two_wait_and_what_is_urgent_cuts_in(page: Page) -> None:
    voice(page, "for (const word of ['one.', 'two.', 'three.', 'four.']) v.speak(word);")
    page.clock.run_for(5000)
    assert words(page) == ["one.", "three.", "four."]
    voice(
        page,
        """spoken.length = 0; v.speak('Vessel 2 of 12: 106 grams.', { about: 'a' });
        v.speak('later.'); v.speak('Now.', { urgent: true, about: 'b' });""",
    )
    page.clock.run_for(9000)
    # What was cut off comes again; more than two do not wait.
    assert words(page) == [
        *("Vessel 2 of 12: 106 grams.", "Now."),
        *("Vessel 2 of 12: 106 grams.",),
    ]


def test_a_remark_is_not_what_is_said_again(page: Page) -> None:
    voice(
        page,
        """v.speak('Wax, 1186 grams.', { about: 'a' }); v.speak('77.4\u00a0°C?');
        globalThis.told = []; v.onSpeech((ms) => told.push(ms));""",
    )
    page.clock.run_for(5000)
    assert words(page) == ["Wax, 1186 grams.", "77.4 degrees?"]
    assert 1000 < page.evaluate("told[0]") < 5000
    page.evaluate("async () => (await import('/bench/voice.js')).again()")
    page.clock.run_for(100)
    assert words(page)[2:] == ["Wax, 1186 grams."]


def test_newer_words_about_the_same_jug_replace_the_older(page: Page) -> None:
    voice(
        page,
        """v.speak('Jug one.', { about: 'a' }); v.speak('Wax.', { about: 'b' });
        v.speak('Jug two.', { about: 'c' }); v.speak('Fragrance.', { about: 'b' });""",
    )
    page.clock.run_for(9000)
    assert words(page) == ["Jug one.", "Jug two.", "Fragrance."]


def test_with_no_voice_of_its_own_the_phone_says_nothing(page: Page) -> None:
    away = "globalThis.voices = [{ name: 'Away', lang: 'en-GB', localService: false }]"
    found = voice(page, "v.speak('Wax.'); return [v.voiceState(), v.said, v.voices()]", away)
    page.clock.run_for(3000)
    assert found == ["none", "Wax.", []]
    assert words(page) == []
    # Some phones know their voices only after a while.
    page.evaluate(
        """() => {
          voices.push({ name: 'Here', lang: 'en-GB', localService: true });
          speechSynthesis.dispatchEvent(new Event('voiceschanged'));
        }"""
    )
    assert (
        voice(page, "v.speak('Fragrance.'); return v.voiceState()", "const kept = voices")
        == "spoken"
    )
    assert words(page) == ["Fragrance."]


def test_a_voice_that_fails_is_known_by_it(page: Page) -> None:
    voice(
        page,
        "globalThis.heard = []; v.onVoice(() => heard.push(v.voiceState())); v.speak('Wax.');",
        "globalThis.fate = 'fails'",
    )
    page.clock.run_for(100)
    assert page.evaluate("heard.at(-1)") == "failed"
    voice(page, "v.speak('Wax.');", "globalThis.fate = 'ends'")
    page.clock.run_for(100)
    assert page.evaluate("heard.at(-1)") == "spoken"
    # Not even a start: some phones drop what they are asked to say.
    voice(page, "v.speak('Fragrance.');", "globalThis.fate = 'dropped'")
    page.clock.run_for(9000)
    assert page.evaluate("heard.at(-1)") == "failed"


def test_of_thousands_of_voices_few_are_offered(page: Page) -> None:
    many = """globalThis.voices = Array.from({ length: 13000 }, (_, n) => (
      { name: `v${n}`, lang: n % 7 ? 'fr-FR' : n % 2 ? 'en-US' : 'en-GB', localService: true }))"""
    page.evaluate("() => Object.defineProperty(navigator, 'language', { value: 'en-GB' })")
    offered = voice(page, "return v.voices().map(({ lang }) => lang)", many)
    assert len(offered) == 40
    assert set(offered) == {"en-GB"}
