"""Official sentences with their choices made: nothing but what is left open may differ."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from benchapp.desk.label.filled import is_open, may_stand_for
from benchapp.desk.statements import languages, statements_in

OPEN = [
    (language, code, text)
    for language in languages()
    for code, text in statements_in(language).texts.items()
    if is_open(text)
]


def official(language: str, code: str) -> str:
    return statements_in(language).texts[code]


@pytest.mark.parametrize(
    ("language", "code", "text"),
    [
        ("en", "P280", "Wear protective gloves."),
        ("en", "P280", "Wear face protection."),
        ("de", "P280", "Schutzhandschuhe tragen."),
        ("fr", "P280", "Porter des gants de protection."),
        ("pl", "P280", "Stosować rękawice ochronne."),
        ("de", "P261", "Einatmen von Dampf vermeiden."),
        ("fi", "P261", "Vältä höyryn hengittämistä."),
        ("en", "P302+P352", "IF ON SKIN: Wash with plenty of water"),
        ("de", "P302+P352", "BEI BERÜHRUNG MIT DER HAUT: Mit viel Wasser waschen."),
        ("de", "P333+P313", "Bei Hautreizung oder -ausschlag: Ärztlichen Rat einholen."),
        ("de", "P333+P313", "Bei Hautreizung oder -ausschlag: ärztliche Hilfe hinzuziehen."),
        ("en", "P501", "Dispose of contents to a collection point for household chemicals."),
        ("de", "P501", "Inhalt einer Sammelstelle zuführen."),
        ("fr", "P501", "Éliminer le contenu dans un point de collecte."),
        ("pl", "P501", "Zawartość usuwać do punktu zbiórki."),
        ("en", "P301+P310", "IF SWALLOWED: Immediately call a doctor"),
        ("en", "P264", "Wash hands thoroughly after handling."),
    ],
)
def test_a_choice_that_is_made_is_taken(language: str, code: str, text: str) -> None:
    forms = statements_in(language).choices.get(code, ())
    assert may_stand_for(text, official(language, code), forms)


@pytest.mark.parametrize(
    ("language", "code", "text"),
    [
        ("en", "P280", "Protective gloves."),
        ("en", "P280", "Wear warm gloves."),
        ("en", "P280", "Wear protective gloves if you like."),
        ("en", "P280", "Wear protective gloves/protective clothing."),
        ("en", "P260", "Do breathe dust."),
        ("en", "P260", "Breathe fume."),
        ("en", "P333+P313", "If a rash occurs: Get medical advice."),
        ("en", "P501", "Dispose of contents to …"),
        ("de", "P501", "Inhalt zuführen."),
        ("de", "P333+P313", "Ärztlichen Rat einholen."),
        ("de", "P261", "Einatmen vermeiden."),
        ("lv", "P302+P352", "SASKARĒ AR ĀDU: nomazgāt ar lielu .. daudzumu."),
    ],
)
def test_what_says_something_else_is_not(language: str, code: str, text: str) -> None:
    assert not may_stand_for(text, official(language, code))


@pytest.mark.parametrize(("language", "code", "text"), OPEN)
def test_an_open_sentence_never_stands_for_itself(language: str, code: str, text: str) -> None:
    assert not may_stand_for(text, text)


@pytest.mark.parametrize("language", languages())
def test_a_sentence_without_choices_is_only_itself(language: str) -> None:
    for code, text in statements_in(language).texts.items():
        if not is_open(text):
            assert may_stand_for(text, text), code
            assert not may_stand_for(f"{text} x", text), code
            assert not may_stand_for(text[1:], text), code


@settings(max_examples=200, deadline=None, derandomize=True, database=None)
@given(
    head=st.integers(1, 3),
    lengths=st.lists(st.integers(1, 3), min_size=3, max_size=5),
    rest=st.integers(0, 3),
    at=st.integers(0, 4),
)
def test_each_of_several_phrases_can_be_chosen(
    head: int, lengths: list[int], rest: int, at: int
) -> None:
    """Where one between is as long as the longest, whose length then tells the others'."""
    lengths = [lengths[0], max(lengths), *lengths[1:]]
    phrases = [[f"p{n}w{w}" for w in range(length)] for n, length in enumerate(lengths)]
    before, after = [f"h{n}" for n in range(head)], [f"r{n}" for n in range(rest)]
    text = " ".join([*before, "/".join(" ".join(each) for each in phrases), *after]) + "."
    chosen = phrases[at % len(phrases)]
    assert may_stand_for(" ".join([*before, *chosen, *after]) + ".", text)
    assert not may_stand_for(" ".join([*before, "other", *after]) + ".", text)
    assert not may_stand_for(" ".join([*chosen, *after]) + ".", text)
