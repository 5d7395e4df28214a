"""A pour of two jugs by ear: all she knows of the screen is what was said and digits of 80 px.

She knocks on the bench to go on, and touches only the pad: what the scale and the thermometer read.
"""

import math
import re
from dataclasses import dataclass, field

from playwright.sync_api import Page, expect

from tests.phone.listening import RECORD_SPEECH
from tests.phone.maker import kept, make_small_jug, open_pad, slot, start, title
from tests.phone.test_board import glyph_height

# Two knocks as a phone on the bench feels them, sixty times a second, with gravity. Invented.
KNOCK = """() => {
  let n = 0;
  const timer = setInterval(() => {
    const since = [60, 90].map((knock) => n - knock).filter((frames) => frames >= 0).at(-1) ?? 99;
    const z = 9.8 + 4 * Math.exp(-since / 2);
    dispatchEvent(new DeviceMotionEvent('devicemotion', {
      accelerationIncludingGravity: { x: 0, y: 0, z }, interval: 16,
    }));
    if ((n += 1) > 160) clearInterval(timer);
  }, 16);
}"""
KNOCK_MS = 3200
ROOM_C, CLEAR_C = 21.0, 81.0
WAITS = re.compile("Melt|70 degrees in|Stir for|.* left to stir")
ASIDE = ("Did you hear that?", "A reading needs a touch.")
TELLS = re.compile("70 degrees in|Too cool in|.* left to stir")
RINGS = re.compile("70 degrees now|Dip again now|Stirred long enough")


def named(news: list[dict[str, str]]) -> list[tuple[str, str]]:
    """Of which jug each spoke, and what it said; without what is said by the way."""
    found = [re.fullmatch("(?:Jug (one|two): )?(.*)", each["text"]) for each in news]
    return [(each[1] or "", each[2]) for each in found if each and each[2] not in ASIDE]


@dataclass
class Jug:
    """A jug as it really is: how fast it melts (ms) and cools (1/s)."""

    melts_ms: int
    rate: float
    clear_ms: float = math.inf

    def celsius(self, now_ms: int) -> float:
        """Newton's law of cooling."""
        return ROOM_C + (CLEAR_C - ROOM_C) * math.exp(-self.rate * (now_ms - self.clear_ms) / 1000)


@dataclass
class Maker:
    """One who hears, sees from two metres, knocks, and touches the pad. Times in ms."""

    page: Page
    jugs: dict[str, Jug]
    at: str = "one"
    asked: str = ""
    rang: dict[str, str] = field(default_factory=dict)
    now_ms: int = 0
    heard: int = 0
    dips: list[tuple[str, float]] = field(default_factory=list)
    touches: int = 0
    readings: int = 0
    knocks: int = 0
    diary: list[str] = field(default_factory=list)

    def wait(self, ms: int) -> None:
        self.page.clock.run_for(ms)
        self.now_ms += ms

    def listen(self) -> list[tuple[str, str]]:
        """What was said since last she listened: to which jug, and what."""
        news = self.page.evaluate("h => spoken.slice(h)", self.heard)
        self.heard += len(news)
        self.diary += [f"{self.now_ms / 60_000:5.1f} min  {each['text']}" for each in news]
        return named(news)

    def is_answered(self) -> bool:
        """Whatever she does is answered in words; the page's clock waits for its store."""
        for _ in range(100):
            self.wait(100)
            for name, words in named(self.page.evaluate("h => spoken.slice(h)", self.heard)):
                # A clock that comes between is no answer.
                if not RINGS.match(words) and not (
                    TELLS.match(words) and name not in ("", self.at)
                ):
                    return True
            kept(self.page)  # what is being written comes first
        return False

    def answered(self) -> None:
        if not self.is_answered():
            last = kept(self.page)["events"][-2:]
            shown = self.page.locator("body").inner_text()
            raise AssertionError(f"nothing was said: {shown} {last}")

    def look(self) -> str:
        """The one number, if it can be read from where she stands."""
        assert glyph_height(self.page) >= 80
        return slot(self.page, "number").inner_text().replace("\u202f", "")

    def knock(self) -> None:
        """Twice; and again, where a bell shook the phone meanwhile."""
        for _ in range(3):
            self.page.evaluate(KNOCK)
            self.wait(KNOCK_MS)
            self.diary.append(f"{self.now_ms / 60_000:5.1f} min      (knock, knock)")
            if self.asked.startswith("All poured") or self.is_answered():
                self.knocks += 1
                return
        raise AssertionError("three times knocked, and nothing was said")

    def agree(self) -> None:
        """The scale reads what was asked for: one touch on the largest button."""
        self.page.locator(".act .go").click()
        self.touches += 1
        self.readings += 1
        self.diary.append(f"{self.now_ms / 60_000:5.1f} min      [touch]")
        self.answered()

    def enter(self, reading: str) -> None:
        """A reading, key by key on the pad."""
        open_pad(self.page)
        for key in reading:
            self.page.locator(".pad .keys").get_by_role("button", name=key, exact=True).click()
        self.page.locator(".pad .go").click()
        expect(self.page.locator("dialog.pad")).to_have_count(0)
        self.touches += 2 + len(reading)
        self.readings += 1
        self.diary.append(f"{self.now_ms / 60_000:5.1f} min      [{reading}]")
        self.answered()

    def turn_to(self, name: str) -> None:
        """To the jug that was named; the phone is there when she is."""
        before, self.at = self.at, name or self.at
        if self.at == before:
            return
        which = 1 + list(self.jugs).index(name)
        expect(slot(self.page, "place")).to_contain_text(f"jug {which} of 2")
        self.wait(1000)

    def do(self, words: str) -> bool:
        """What is asked at the jug that the board shows; whether it was the last of all."""
        jug = self.jugs[self.at]
        if not TELLS.match(words):
            self.rang.pop(self.at, None)
        if re.search("Dip the thermometer|Dip again now|Dip to be sure", words):
            celsius = round(jug.celsius(self.now_ms), 1)
            self.dips.append((self.at, celsius))
            self.enter(str(celsius))
        elif re.search(r"(Wax|in a cup|of \d+)[,:] .*grams", words):
            target = self.look()
            assert f" {target} grams" in words
            self.agree()
            if "Wax" in words:
                jug.melts_ms += self.now_ms
        elif re.match("70 degrees in", words):
            # Nothing to do here: is there at the other?
            if math.isinf(max(each.clear_ms for each in self.jugs.values())):
                self.at = "two"
                self.knock()
        elif re.match("Make ready|In the window|Fragrance in,|Stirred|Jug empty|All poured", words):
            if words.startswith("Jug empty"):
                self.at = "two" if self.at == "one" else "one"
            self.knock()
        return words.startswith("All poured")

    def work(self) -> None:
        """Do as is said, until all is left to set."""
        for _ in range(2000):
            for name, words in self.listen():
                if TELLS.match(words) and name != self.at:
                    continue
                if RINGS.match(words) and name != self.at and not WAITS.match(self.asked):
                    # Her hands are full, and the board stays.
                    self.rang[name] = words
                    continue
                self.turn_to(name)
                self.asked = words
                if self.do(words):
                    return
            jug = self.jugs[self.at]
            if self.asked.startswith("Melt") and self.now_ms >= jug.melts_ms:
                jug.clear_ms, self.asked = self.now_ms, ""
                self.knock()
            elif WAITS.match(self.asked) and self.rang:
                # Now the board comes over, if it is not there yet.
                name = self.at if self.at in self.rang else next(iter(self.rang))
                self.turn_to(name)
                # It may be said once more as the board comes over: that is one call, not two.
                news = self.listen()
                again = [each for of, each in news if of in ("", name) and not TELLS.match(each)]
                self.asked = again[-1] if again else self.rang[name]
                self.do(self.asked)
            else:
                self.wait(2000)
        raise AssertionError("it never ended")


def test_two_jugs_by_ear(server, phone):
    phone.add_init_script(RECORD_SPEECH)
    phone.context.clock.install()
    phone.context.clock.pause_at("2030-05-01T12:00:00")
    url = server(demo=True).url
    make_small_jug(phone, url)
    phone.evaluate("localStorage.setItem('at the bench', JSON.stringify({ knock: true }))")
    phone.reload()
    pour = start(phone, url, count="10", jug="small jug")
    maker = Maker(phone, {"one": Jug(900_000, 0.0006), "two": Jug(120_000, 0.0007)})
    try:
        maker.work()
    finally:
        print("\n".join(maker.diary))
        print(f"{maker.touches} touches for {maker.readings} readings, {maker.knocks} knocks")
    expect(title(phone)).to_have_text("Today")

    # What was read was kept, each in its jug, and nothing was taken back.
    events = [each for each in kept(phone)["events"] if each["of"] == ["pour", pour]]
    names = list(maker.jugs)
    assert [
        (names[each["jug"]], each["temp_c"]) for each in events if each["type"] == "read"
    ] == maker.dips
    poured = [each["jug"] for each in events if each["type"] == "poured"]
    assert poured.count(0) == poured.count(1) == 5
    assert not any(each["type"] == "undone" for each in events)
    readings = [each for each in events if each["type"] in ("read", "weighed", "poured")]
    assert len(readings) == maker.readings
    # All else was knocked: beside it, to the other jug and back.
    assert len(events) - len(readings) == maker.knocks - 2
