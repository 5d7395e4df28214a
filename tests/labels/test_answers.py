"""What the desk can't know of a label is for her to answer; only then it may look finished."""

from typing import Any

import pytest
from playwright.sync_api import Page

Json = dict[str, Any]

UFI: Json = {"template": "Does it carry {what}?", "values": {"what": "its UFI"}}
WORD: Json = {"template": "Look up “{word}”.", "values": {"word": "Achtung"}}
WHOLE: Json = {"fits": True, "missing": [], "look_up": [WORD], "questions": [UFI]}


def ask(page: Page, what: str, *given: Any) -> Any:
    return page.evaluate(
        "async ([what, given]) => (await import('/labels/answers.js'))[what](...given)",
        [what, list(given)],
    )


def answers(page: Page, *asked: Json) -> Json:
    return {ask(page, "keyOf", each): {"text": "Yes.", "at": 1} for each in asked}


def test_it_is_finished_once_all_is_answered(twin: Page) -> None:
    assert not ask(twin, "isFinished", WHOLE)
    assert not ask(twin, "isFinished", WHOLE, answers(twin, UFI))
    assert ask(twin, "isFinished", WHOLE, answers(twin, UFI, WORD))


@pytest.mark.parametrize("lacks", [{"fits": False}, {"missing": [WORD]}])
def test_no_answer_stands_for_what_is_owed(twin: Page, lacks: Json) -> None:
    assert not ask(twin, "isFinished", WHOLE | lacks, answers(twin, UFI, WORD))


def test_an_answer_belongs_to_its_question_alone(twin: Page) -> None:
    other = {**WORD, "values": {"word": "Gefahr"}}
    said = answers(twin, UFI, other)
    assert not ask(twin, "isFinished", WHOLE, said)
    assert ask(twin, "answersTo", WHOLE, said) == answers(twin, UFI)


def test_what_can_t_be_read_is_not_finished(twin: Page) -> None:
    assert not ask(twin, "isFinished", None)
