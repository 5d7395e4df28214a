"""A product and its answers, as they are taken."""

import re
from typing import Any

import pytest

from benchapp.records import kinds
from benchapp.records.products import MOST_ANSWERED, RISKS

WHOLE = {"name": "Wet slate", "recipe": "r1"}


def answered(answer: Any) -> dict[str, list[str]]:
    return kinds.check("product", {**WHOLE, "risk_tips": answer})


@pytest.mark.parametrize(
    "answer",
    [
        {"applies": "open"},
        {"applies": "open", "why": "It may be so."},
        {"applies": "no", "why": "It is wider than high."},
        {"applies": "yes", "done": "A wider foot.", "shows": "It was tilted."},
        {"applies": "yes", "done": "x" * MOST_ANSWERED, "asked_later": "by a newer bench"},
    ],
)
def test_an_answer_is_taken(answer: dict[str, str]) -> None:
    assert answered(answer) == {}


@pytest.mark.parametrize(
    ("answer", "says"),
    [
        ({"applies": "yes"}, "What you did about it is needed"),
        ({"applies": "no"}, "Why not is needed"),
        ({"applies": "perhaps"}, "Your answer: choose one"),
        ({"applies": "yes", "done": "x" * 10_000}, "too long"),
        ({"applies": "yes", "done": 5}, "must be text"),
        ("yes", "can't be read"),
        ([], "can't be read"),
    ],
)
def test_another_is_refused_in_a_sentence_that_names_the_question(answer: Any, says: str) -> None:
    [[line]] = answered(answer).values()
    assert says in line
    assert line.startswith("Can it tip over?")


def test_each_question_is_one_and_is_answered_by_yes_or_no() -> None:
    assert len({risk.key for risk in RISKS}) == len(RISKS)
    assert len({risk.asks for risk in RISKS}) == len(RISKS)
    for risk in RISKS:
        assert re.fullmatch(r"(Can|Does|Is) .*\?", risk.asks), risk.asks
        assert set(risk.shown_by) <= {"burn_test", "finding", "sheet", "label"}


def test_a_complaint_needs_what_happened_and_no_more_than_a_box_holds() -> None:
    whole = {"name": "Soot", "what": "Its rim grew black."}
    assert kinds.check("complaint", whole) == {}
    assert set(kinds.check("complaint", {"name": "Soot"})) == {"what"}
    assert set(kinds.check("complaint", {**whole, "what": "x" * 10_000})) == {"what"}
    assert set(kinds.check("complaint", {**whole, "harm": "some"})) == {"harm"}
    assert set(kinds.check("complaint", {**whole, "n": 0})) == {"n"}
