"""What a formula refuses with passes the door for words, whole: sentence, names and examples."""

from collections.abc import Iterator

import pytest

from benchapp.formulas import checks, fill, units
from benchapp.words import ENGLISH, InputError, Message, message, speak_in
from benchapp.words.extract import catalogue
from benchapp.words.pseudo import PSEUDO
from tests.formulas.questions import cases
from tests.formulas.twin import METHODS, module, real


def refusals() -> Iterator[InputError]:
    """The errors behind the hand-picked questions."""
    for case in cases():
        if case["fn"] in METHODS:
            continue
        home, _, name = case["fn"].rpartition(".")
        try:
            getattr(module(home), name)(*real(case["args"]), **real(case.get("kwargs", {})))
        except InputError as error:
            yield error


def templates(said: Message) -> Iterator[str]:
    yield said.template
    for value in said.values.values():
        if isinstance(value, Message):
            yield from templates(value)


def test_every_refusal_can_be_translated() -> None:
    collected = {each.id for each in catalogue() if isinstance(each.id, str)}
    said = {template for error in refusals() for template in templates(error.said)}
    assert len(said) > 100
    assert said <= collected


@pytest.fixture
def _pseudo() -> Iterator[None]:
    speak_in(PSEUDO)
    yield
    speak_in(ENGLISH)


@pytest.mark.usefixtures("_pseudo")
@pytest.mark.parametrize(
    ("refused", "argument", "plain"),
    [
        (lambda: checks.within(2, message("The load"), 0, 1, "load"), "load", ("The", "must")),
        (lambda: fill.water_density(99), "temp_c", ("water", "must")),
        (lambda: units.parse_quantity("5 stone", "mass"), "text", ("unit", "write", " or ")),
    ],
)
def test_a_refusal_is_worded_where_it_is_shown(refused, argument, plain) -> None:
    with pytest.raises(InputError) as caught:
        refused()
    assert caught.value.about == argument
    for word in plain:
        assert word not in str(caught.value)
