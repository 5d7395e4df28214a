"""The door of the phone says what the door of the server says."""

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from datetime import date
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from playwright.sync_api import Page

from benchapp import words
from benchapp.words import ENGLISH, InputError, Language, Message
from benchapp.words.dates import day_text
from benchapp.words.numbers import number_text
from benchapp.words.pseudo import PSEUDO

FRENCH = Language("fr-FR")
"""Its templates are English here: what is tried is how it counts, lists and writes numbers."""
GERMAN = Language("de-DE")

FEW = settings(max_examples=25, deadline=None, derandomize=True, database=None)

_ASK = """async ([tag, cases]) => {
  const door = await import('/words/door.js');
  const { translate } = await import('/words/pseudo.js');
  const { dayText } = await import('/words/dates.js');
  const { numberText } = await import('/words/numbers.js');
  const meant = (value) => value?.template === undefined ? value
    : door.message(value.template, all(value.values));
  const all = (values) =>
    Object.fromEntries(Object.entries(values).map(([name, value]) => [name, meant(value)]));
  const told = ({ message, said, about }) => ({ message, said, about });
  const ask = {
    t: (template, values) => door.t(template, all(values)),
    plural: (n, one, other, values) => door.plural(n, one, other, all(values)),
    listed: (items) => door.listed(items),
    error: (template, values, about) => told(new door.InputError(template, all(values), about)),
    again: (template, values, about) =>
      told(new door.InputError(door.message(template, all(values)), {}, about)),
    day: dayText,
    number: numberText,
  };
  door.speakIn({ tag, translate: tag === 'en-XA' ? translate : (template) => template });
  return cases.map(([name, ...given]) => ask[name](...given));
}"""


@contextmanager
def spoken(language: Language) -> Iterator[None]:
    words.speak_in(language)
    try:
        yield
    finally:
        words.speak_in(ENGLISH)


def asked(page: Page, language: Language, cases: list[Any]) -> list[Any]:
    """What the phone's door answers."""
    found: list[Any] = page.evaluate(_ASK, [language.tag, cases])
    return found


def plain(value: Any) -> Any:
    """A value, or a sentence in it, as JSON."""
    if isinstance(value, Message):
        return {"template": value.template, "values": plain(value.values)}
    if isinstance(value, Mapping):
        return {name: plain(each) for name, each in value.items()}
    return value


NAMES = st.sampled_from(["wax", "n", "weight", "a_1"])
PIECES = st.one_of(
    st.text("aZm .,:~é“”°\u00a0{}[]*", max_size=6),
    NAMES.map(lambda name: f"{{{name}}}"),
    st.sampled_from(["Weigh ", "{n", "n}", "{{n}}", "{}", "{ n }", "{constructor}", "$&", "\\1"]),
)
TEMPLATES = st.lists(PIECES, max_size=6).map("".join)
TEXTS = st.text(st.characters(codec="utf-8", exclude_categories=["Cs"]), max_size=8)
PLAIN_VALUES = st.one_of(TEXTS, st.integers(-(10**6), 10**6))


def messages(inside: st.SearchStrategy[Any]) -> st.SearchStrategy[Message]:
    return st.builds(Message, TEMPLATES, st.dictionaries(NAMES, inside, max_size=3))


VALUES = st.dictionaries(NAMES, PLAIN_VALUES | messages(PLAIN_VALUES | messages(PLAIN_VALUES)))


@pytest.mark.parametrize("language", [ENGLISH, PSEUDO], ids=lambda each: each.tag)
def test_a_sentence_is_worded_alike(twin: Page, language: Language) -> None:
    @FEW
    @given(st.lists(st.tuples(TEMPLATES, VALUES), min_size=20, max_size=40))
    def same(cases: list[tuple[str, dict[str, Any]]]) -> None:
        with spoken(language):
            here = [words.t(template, **values) for template, values in cases]
        there = asked(twin, language, [["t", each, plain(values)] for each, values in cases])
        assert here == there

    same()


@pytest.mark.parametrize("language", [ENGLISH, PSEUDO, FRENCH], ids=lambda each: each.tag)
def test_what_is_counted_is_worded_alike(twin: Page, language: Language) -> None:
    counts = [*range(-3, 30), 100, 101, 1_000_000]
    with spoken(language):
        here = [words.plural(n, "{n} vessel, {w}", "{n} vessels, {w}", w="here") for n in counts]
    there = asked(
        twin,
        language,
        [["plural", n, "{n} vessel, {w}", "{n} vessels, {w}", {"w": "here"}] for n in counts],
    )
    assert here == there
    assert here[3 + 1] != here[3 + 2]


@pytest.mark.parametrize("language", [ENGLISH, PSEUDO, FRENCH, GERMAN], ids=lambda each: each.tag)
def test_lists_days_and_numbers_are_written_alike(twin: Page, language: Language) -> None:
    lists = [["wax", "oil", "dye", "wick"][:count] for count in range(5)]
    days = [date(2026, month, 3 + month) for month in range(1, 13)]
    numbers = ["0", "12", "12.5", "-0.25", "1 lb 4.5 oz"]
    with spoken(language):
        here = [
            *(words.listed(items) for items in lists),
            *(day_text(day) for day in days),
            *(number_text(number) for number in numbers),
        ]
    there = asked(
        twin,
        language,
        [
            *(["listed", items] for items in lists),
            *(["day", str(day)] for day in days),
            *(["number", number] for number in numbers),
        ],
    )
    assert here == there


def test_a_decimal_sign_is_the_languages_own(twin: Page) -> None:
    assert asked(twin, GERMAN, [["number", "12.5"]]) == ["12,5"]
    assert asked(twin, ENGLISH, [["number", "12.5"]]) == ["12.5"]


@pytest.mark.parametrize("language", [ENGLISH, PSEUDO], ids=lambda each: each.tag)
def test_an_error_carries_its_sentence_and_its_values_apart(twin: Page, language: Language) -> None:
    @FEW
    @given(st.lists(st.tuples(TEMPLATES, VALUES), min_size=5, max_size=20))
    def same(cases: list[tuple[str, dict[str, Any]]]) -> None:
        here = []
        with spoken(language):
            for template, values in cases:
                error = InputError(template, about="wax", **values)
                again = InputError(Message(template, values), about="wax")
                assert (again.said, str(again)) == (error.said, str(error))
                said = plain(error.said)
                here.append({"message": str(error), "said": said, "about": error.about})
        for name in ("error", "again"):
            asks = [[name, template, plain(values), "wax"] for template, values in cases]
            assert asked(twin, language, asks) == here

    same()
