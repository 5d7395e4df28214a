"""Nothing that the bench shows or says is in plain English where another language is spoken."""

import re
from datetime import date, timedelta
from typing import Any

from babel.dates import format_date

from tests.bench.conftest import Bench, Json, asked, fields_of
from tests.bench.test_walks import TRY, WALKS, made_up

WORDING = "return import('/helpers/wording.js').then((w) => { BODY })"

#: What is no word: units and the names that a maker gave, and the days as a locale writes them.
UNITS = {"g", "oz", "lb", "ml", "C", "F", "US", "imp", "fl"}
DAYS = {
    word
    for day in range(400)
    for word in re.findall(
        "[A-Za-z]+",
        format_date(date(2026, 1, 1) + timedelta(days=day), "EEE d MMM", locale="en_GB"),
    )
}


def names_in(value: Json) -> set[str]:
    """Every word of every name in a record, or in anything that holds records."""
    if isinstance(value, dict):
        found = names_in(list(value.values()))
        return found | set(re.findall("[A-Za-z]+", str(value.get("name", ""))))
    if isinstance(value, list):
        return {word for each in value for word in names_in(each)}
    return set()


def plain(texts: list[str], data: Json) -> dict[str, list[str]]:
    """The texts with words in plain letters that are nobody's name."""
    known = UNITS | DAYS | {word for name in names_in(data) for word in (name, name.capitalize())}
    found = {text: [w for w in re.findall("[A-Za-z]+", text) if w not in known] for text in texts}
    return {text: words for text, words in found.items() if words}


def test_the_board_and_the_voice_pass_the_door(bench: Bench) -> None:
    walks = made_up(WALKS, 80)
    work = TRY.replace("WORK", "({ texts: w.allTexts(each) })")
    answers = bench.ask(WORDING.replace("BODY", work), walks)
    shown = 0
    for walk, answer in zip(walks, answers, strict=True):
        assert "problem" not in answer, answer
        texts = answer.get("texts", [])
        assert plain(texts, walk["asked"]) == {}
        shown += len(texts)
    assert shown > 5000


def test_cautions_and_reminders_pass_the_door(bench: Bench) -> None:
    plum = fields_of("demo-recipe-plum")
    hot = asked({**plum, "load": 0.3, "fragrance_c": 95.0})
    bad = {"method": "round", "diameter_mm": 80, "top_diameter_mm": 70, "height_mm": 60}
    body = """const said = [];
      w.inPseudo(() => {
        said.push(...b.cautionsFor(g.asked).map(({ text }) => text));
        said.push(...b.sizeVessel(g.bad, b.mixFrom(g.asked)).warnings);
        const { SAYS, TELLS } = b.dues;
        for (const kind of Object.keys(SAYS)) said.push(w.t(SAYS[kind]), w.worded(TELLS[kind]));
      });
      return said;"""
    texts: Any = bench.ask(WORDING.replace("BODY", body), {"asked": hot, "bad": bad})
    assert len(texts) > 16
    assert plain(texts, hot) == {}
