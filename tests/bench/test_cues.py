"""What is said aloud: short, in her units, once, and with the numbers that the board shows."""

from typing import Any

import pytest

from tests.bench.conftest import Bench, Json, asked, fields_of
from tests.bench.test_walks import TRY, WALKS, made_up, told

SLATE = fields_of("demo-recipe-slate")
LISTEN = "return import('/helpers/calls.js').then((c) => { BODY })"
PLAY = """const play = new c.Play(c.sheetOf(g.asked), c.displayUnits(g.units ?? {}));
  const call = (way = {}, jug = 0) =>
    c.stepCue(play.sheet, play.state, jug, play.at, play.units, way);
  const say = (way = {}, jug = 0) => call(way, jug).words;
  const marks = (jug = 0) =>
    c.timedCues({id: 'p', sheet: play.sheet, state: play.state}, jug, play.at, play.units);
  const left = () => marks().map((m) => [Math.round((m.at_ms - play.at) / 1000), m.words, m.sound]);
  const dip = (temp_c, after_s) => play.keep({type: 'read', jug: 0, temp_c}, after_s);
  BODY"""
OUNCES = {"mass_unit": "lb oz", "temperature_unit": "°F"}
IN_OUNCES = {"scale": {"name": "scale", "step_g": 2.8349523125, "capacity_g": 5000}}


def ask(bench: Bench, body: str, **given: object) -> Any:
    script = LISTEN.replace("BODY", PLAY).replace("BODY", body)
    return bench.ask(script, {"asked": asked(SLATE, count=12), **given})


def test_every_word_of_a_walked_pour_can_be_said(bench: Bench) -> None:
    walks = made_up(WALKS, 70)
    work = LISTEN.replace("BODY", TRY.replace("WORK", "c.listen(each)"))
    answers = bench.ask(work, walks)
    found = told(walks, answers)
    assert not found, f"{len(found)} of {len(walks)}:\n" + "\n".join(found[:4])
    said: Json = {words for answer in answers for words in answer.get("said", [])}
    for part in (
        *("more.", "over. Take", "in a cup", "Dip again now.", "in two minutes.", "Too cool"),
        *("left to stir.", " ago.", "Too hot", "pounds", "ounces", "vessels,", "In the window."),
    ):
        assert any(part in words for words in said), part


def test_a_whole_pour_as_it_is_heard(bench: Bench) -> None:
    said = ask(
        bench,
        """const said = []; let key = '';
        play.honest(() => {
          const now = call();
          if (now.key !== key) said.push(now.words);
          key = now.key;
        });
        return said""",
        asked=asked(SLATE, count=2),
    )
    assert said == SAID_OF_TWO


SAID_OF_TWO = [
    "Make ready: vessels clean, wicks centred, a lid and a fire blanket within reach.",
    "Jug on, zero the scale. Wax, 199 grams.",
    "Melt. Never hotter than 90 degrees. Never leave it.",
    "Off the heat. Stir. Dip the thermometer.",
    "70 degrees in 5 minutes 50.",
    "70 degrees in 6 minutes 50.",
    "70 degrees in five minutes.",
    "70 degrees in 2 minutes 30.",
    "In the window. Fragrance now.",
    "Fragrance, in a cup: 15.9 grams. No flame near.",
    "Fragrance in, slowly, stirring: 15.9 grams. No flame near.",
    "Stir for two minutes.",
    "Vessel on, zero. Vessel 1 of 2: 105 grams.",
    "Vessel 2 of 2: 105 grams.",
    "All poured. Heat off. Leave them to set.",
]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("1\u202f186\u00a0g", "1186 grams"),
        ("1\u00a0g", "1 gram"),
        ("1.0\u00a0g", "1.0 grams"),
        ("0.05\u00a0oz", "0.05 ounces"),
        ("2\u00a0lb\u00a09.2\u00a0oz", "2 pounds 9.2 ounces"),
        ("1\u00a0lb\u00a01\u00a0oz", "1 pound 1 ounce"),
        ("70\u00a0°C", "70 degrees"),
        ("1\u00a0°F", "1 degree"),
        ("-1.5\u00a0°C", "-1.5 degrees"),
        ("1186 grams", "1186 grams"),
    ],
)
def test_quantities_in_words(bench: Bench, text: str, words: str) -> None:
    assert bench.ask(LISTEN.replace("BODY", "return c.spoken(g)"), text) == words


@pytest.mark.parametrize(
    ("seconds", "words"),
    [
        *((0, "5 seconds"), (30, "30 seconds"), (59, "one minute"), (60, "one minute")),
        *(
            (65, "1 minute 10"),
            (119.6, "two minutes"),
            (400, "6 minutes 40"),
            (596, "ten minutes"),
            (3594, "59 minutes 50"),
        ),
        *((660, "11 minutes"), (3600, "1 hour"), (3725, "1 hour 2 minutes"), (7229, "2 hours")),
        (7170, "2 hours"),
    ],
)
def test_times_in_words(bench: Bench, seconds: float, words: str) -> None:
    assert bench.ask(LISTEN.replace("BODY", "return c.timeWords(g)"), seconds) == words


def test_a_weighing_in_words(bench: Bench) -> None:
    found = ask(
        bench,
        """play.keep({type: 'ready'}); const said = [say()];
        const target = play.jug().current.target_g;
        play.weigh('wax', 0, target - 17); said.push(say());
        play.weigh('wax', 0, target - 17); const again = call().key;
        play.weigh('wax', 0, target - 17);
        if (call().key !== again) said.push('again');
        play.weigh('wax', 0, target + 40); said.push(say());
        return said""",
    )
    assert found[0].startswith("Jug on, zero the scale. Wax, 1")
    assert found[1:] == ["17 grams more.", "again", "40 grams over. Take some out, or keep it."]


def test_a_weighing_in_pounds_and_ounces(bench: Bench) -> None:
    body = "play.keep({type: 'ready'}); return [say(), play.prompt().number]"
    said, shown = ask(bench, body, units=OUNCES, asked=asked(SLATE, count=12, tools=IN_OUNCES))
    in_words = shown.replace(" lb ", " pounds ").replace(" oz", " ounces")
    assert said == f"Jug on, zero the scale. Wax, {in_words}."


def test_vessels_counted_or_not(bench: Bench) -> None:
    found = ask(bench, "play.to('pour'); return [say(), say({whole: true}), play.prompt().number]")
    shown = found.pop()
    assert found == [
        f"Vessel on, zero. Vessel 1 of 12: {shown} grams.",
        f"Pour 12 vessels, {shown} grams each.",
    ]


def test_the_fragrance_weighed_while_it_cools(bench: Bench) -> None:
    found = ask(bench, "play.to('cool'); dip(84, 60); return [say(), say({ahead: true})]")
    assert found[0].startswith("70 degrees in ")
    assert found[1].startswith("Fragrance, in a cup: ")
    assert found[1].endswith("No flame near.")


def test_the_marks_of_a_countdown(bench: Bench) -> None:
    marks, wait = ask(
        bench,
        "play.to('cool'); dip(84, 60); dip(81, 240);"
        "return [left(), c.waitOf(play.sheet, play.jug(), play.at)]",
    )
    said = [(words, sound) for _, words, sound in marks if words != "Dip again now."]
    assert said == [
        ("70 degrees in five minutes.", "soon"),
        ("70 degrees in two minutes.", "soon"),
        ("70 degrees in one minute.", "soon"),
        ("70 degrees in 30 seconds.", "soon"),
        ("70 degrees now. Dip to be sure.", "now"),
        ("Too cool in two minutes.", "soon"),
        ("Too cool in one minute.", "soon"),
        ("Too cool in 30 seconds.", "soon"),
        ("Too cool now. Warm it back.", "late"),
    ]
    at = {words: seconds for seconds, words, _ in marks}
    now = at["70 degrees now. Dip to be sure."]
    assert at["70 degrees in five minutes."] == now - 300
    assert wait["phase"] == "hot"
    assert at["Too cool now. Warm it back."] > now


def test_the_marks_of_stirring_and_of_heat(bench: Bench) -> None:
    stir, heat = ask(
        bench,
        """play.to('melt'); dip(60, 60); dip(70, 120); const heat = left(); play.to('stir');
        return [left(), heat]""",
    )
    assert stir == [
        [60, "One minute left to stir.", "soon"],
        [90, "30 seconds left to stir.", "soon"],
        [120, "Stirred long enough.", "now"],
    ]
    assert [words for _, words, _ in heat] == [
        "90 degrees in one minute. Heat down.",
        "Too hot. Heat off.",
    ]
    assert heat[1][0] - heat[0][0] == 60


def test_a_countdown_that_moves_says_nothing_twice(bench: Bench) -> None:
    """The wax is dipped 40 s before the moment: the dip moves it away by minutes."""
    found = ask(
        bench,
        """play.to('cool'); dip(75, 60); const told = new Map(); const said = [];
        const tick = (ms) => c.due(marks(), told, ms).forEach(({words}) => said.push(words));
        const until = (ms) => { for (let at = play.at; at < ms; at += 250) tick(at); };
        const first = marks().find(({sound}) => sound === 'now').at_ms;
        until(first - 40_000);
        dip(73, (first - 40_000 - play.at) / 1000); said.push('dip');
        const second = marks().find(({sound}) => sound === 'now').at_ms;
        until(second + 1000);
        return [said.filter((words) => words !== 'Dip again now.'), second - first]""",
    )
    said, moved = found
    assert moved > 120_000
    dipped = said.index("dip")
    assert said[dipped - 1] == "70 degrees in one minute."
    assert said[dipped + 1 :] == [
        "70 degrees in 30 seconds.",
        "70 degrees now. Dip to be sure.",
    ]


def test_an_instrument_that_dips_by_itself_does_not_chatter(bench: Bench) -> None:
    found = ask(
        bench,
        """play.to('cool'); const said = []; let key = '';
        for (const temp_c of [84, 83.2, 82.4, 76, 71.9, 71.5, 69.9, 67.5, 67]) {
          play.keep({type: 'read', jug: 0, temp_c, source: 'Probe'}, 60);
          if (call().key !== key) said.push(say());
          key = call().key;
          if (temp_c === 82.4) said.push(...marks().map(({words}) => words).slice(-5));
        }
        return said""",
    )
    assert found[0].startswith("70 degrees in ")
    assert "70 degrees now." in found
    assert "Dip again now." not in found
    assert [words for words in found[1:] if not words.startswith(("70 ", "Too cool "))] == [
        "In the window. Fragrance now.",
        "Too cool: warm it back by 2.4 degrees.",
    ]


def test_after_a_sleep_only_what_still_matters_is_said(bench: Bench) -> None:
    found = ask(
        bench,
        """play.to('cool'); dip(84, 60); dip(81, 240);
        const all = marks(); const told = () => new Map();
        const at = (words) => all.find((m) => m.words.startsWith(words)).at_ms;
        const wake = (ms) => c.due(all, told(), ms).map(({words}) => words);
        const now = at('70 degrees now');
        return [wake(now - 100_000), wake(at('Too cool in one') + 100),
          wake(now + 30_000), wake(at('Too cool now') + 185_000)]""",
    )
    late = found.pop(1)
    assert len(late) == 1  # and not how long the window is open
    assert late[0].startswith("70 degrees, ")
    assert found == [
        [],
        ["70 degrees, 30 seconds ago. Dip to be sure."],
        ["Too cool, 3 minutes 10 ago. Warm it back."],
    ]


@pytest.mark.parametrize(
    ("pours", "jug", "name"),
    [
        ([("a", "Wet slate", 1)], 0, ""),
        ([("a", "Wet slate", 2)], 1, "Jug two"),
        ([("a", "Wet slate", 2)], None, ""),
        ([("a", "Wet slate", 1), ("b", "Plum", 1)], 0, "Wet slate"),
        ([("a", "Wet slate", 2), ("b", "Plum", 1)], 0, "Wet slate, jug one"),
        ([("b", "wet slate", 1), ("a", "Wet slate", 1)], 0, "Wet slate two"),
    ],
)
def test_the_shortest_name_that_tells_them_apart(
    bench: Bench, pours: list[tuple[str, str, int]], jug: int | None, name: str
) -> None:
    on_bench = [
        {"id": id_, "sheet": {"title": title, "jugs": [{}] * jugs}} for id_, title, jugs in pours
    ]
    body = LISTEN.replace("BODY", "return c.nameOf(g[0], 'a', g[1])")
    assert bench.ask(body, [on_bench, jug]) == name
