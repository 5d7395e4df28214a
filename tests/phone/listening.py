"""Listening at the bench: what was spoken and sounded, and events kept as the board keeps them."""

from typing import Any

from playwright.sync_api import Page

# Stands in for the phone's voice. `voices` and `fate` may be set before the app asks.
RECORD_SPEECH = """
globalThis.spoken = [];
globalThis.cancelled = 0;
globalThis.voices ??= [
  { name: 'Away', lang: 'en-GB', localService: false, default: true },
  { name: 'Hier', lang: 'de-DE', localService: true, default: false },
  { name: 'Other', lang: 'en-US', localService: true, default: true },
  { name: 'Here+variant', lang: 'en-GB', localService: true, default: false },
  { name: 'Here', lang: 'en_GB', localService: true, default: false },
];
globalThis.fate ??= 'ends';
globalThis.SpeechSynthesisUtterance = class { constructor(text) { this.text = text; } };
const speech = SpeechSynthesis.prototype;
speech.getVoices = () => voices;
speech.cancel = () => { cancelled += 1; };
speech.resume = () => { globalThis.resumed = (globalThis.resumed ?? 0) + 1; };
speech.speak = (utterance) => {
  if (utterance.volume !== 0) {
    const at = Date.now();
    spoken.push({ text: utterance.text, voice: utterance.voice?.name, lang: utterance.lang, at });
  }
  const after = (ms, name, given) => setTimeout(() => utterance[name]?.(given), ms);
  if (fate === 'fails') after(1, 'onerror', { error: 'synthesis-failed' });
  if (fate === 'ends' || fate === 'hangs') after(1, 'onstart', {});
  if (fate === 'ends') after(60 * utterance.text.length, 'onend', {});
};
"""
# Remembers every tone with the moment, by the page's clock, at which it sounds.
RECORD_SOUND = """
globalThis.tones = [];
globalThis.audios = [];
globalThis.AudioContext = class extends AudioContext {
  constructor() { super(); audios.push(this); }
};
const begin = OscillatorNode.prototype.start;
OscillatorNode.prototype.start = function (at) {
  const in_ms = 1000 * (at - this.context.currentTime);
  this.tone = { at: Date.now() + in_ms, hertz: this.frequency.value, stops: 0 };
  tones.push(this.tone);
  return begin.call(this, at);
};
const stop = OscillatorNode.prototype.stop;
OscillatorNode.prototype.stop = function (at) {
  this.tone.stops += 1;
  return stop.call(this, at);
};
"""
# What the board does: an event, and after the repaint the step is called.
_KEEP = """async ([id, jug, event]) => {
  const { addEvent, readPour } = await import('/static/bench/pours.js');
  const { now } = await import('/static/bench/clock.js');
  const pour = await readPour(id);
  const { target_g } = pour.state.jugs[jug].current ?? {};
  if (event.read_g !== undefined && target_g) event.read_g += target_g;
  await addEvent(pour, event, now());
}"""
_CALL = """async ([id, jug]) => {
  const { readPour } = await import('/static/bench/pours.js');
  const { callStep } = await import('/static/screens/announcer.js');
  const { stepCue } = await import('/static/bench/cues.js');
  const { sheet, state, ...pour } = await readPour(id);
  callStep({ ...pour, sheet, state }, jug, {
    view: '',
    isWhole: pour.stage !== 'jugs',
    cue: (now_ms, units) => stepCue(sheet, state, jug, now_ms, units),
  });
}"""


def words(page: Page) -> list[str]:
    return [each["text"] for each in page.evaluate("spoken")]


def add(page: Page, pour: str, event: dict[str, Any], jug: int = 0) -> None:
    """Keep an event of a jug; `read_g` is how far from the mark it reads."""
    page.evaluate(_KEEP, [pour, jug, {"jug": jug, **event}])


def keep(page: Page, pour: str, *events: dict[str, Any], jug: int = 0) -> None:
    """Keep events of a jug, and let each be said."""
    for event in events:
        add(page, pour, event, jug)
        page.context.clock.run_for(300)
        page.evaluate(_CALL, [pour, jug])
        page.context.clock.run_for(9000)


def weighed(part: str, off_g: float = 0) -> dict[str, Any]:
    return {"type": "weighed", "part": part, "index": 0, "read_g": off_g}


TO_COOL = [weighed("wax"), {"type": "melted"}]
TO_STIR = [
    *TO_COOL,
    {"type": "read", "temp_c": 70.5},
    {"type": "went_on"},
    weighed("fragrance"),
    {"type": "added"},
]


def touch(page: Page) -> None:
    """A tap, which lets the phone be heard."""
    page.locator("#screen main").click(position={"x": 2, "y": 2})


def forget(page: Page) -> None:
    """Let all be said that is to be said, and forget it."""
    page.context.clock.run_for(9000)
    page.evaluate("() => { spoken.length = tones.length = 0; }")
