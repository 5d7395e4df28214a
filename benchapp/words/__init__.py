"""The one door for words: every sentence that is read passes ``t`` or ``plural``.

A sentence is written out where it is used, in English, with named places for values:
``t("Weigh {wax} of wax.", wax=text)``. ``python -m benchapp.words.extract`` collects all of them,
of the phone's too. A value may be a sentence that is still to be worded (``Message``), and so may
what an error says. Its twin is ``static/words/door.js``.
"""

import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field

from babel import Locale
from babel.lists import format_list

_PLACE = re.compile(r"\{(\w+)\}", re.ASCII)


@dataclass(frozen=True)
class Message:
    """A sentence and its values, not yet worded."""

    template: str
    values: Mapping[str, object] = field(default_factory=dict)

    def __str__(self) -> str:
        return t(self.template, **self.values)


@dataclass(frozen=True)
class Language:
    """A language that is spoken.

    Attributes:
        tag: as in BCP 47.
        translate: from a template in English to one in this language.
    """

    tag: str
    translate: Callable[[str], str] = str


ENGLISH = Language("en-GB")
_spoken = ENGLISH


def speak_in(language: Language) -> None:
    """Speak another language from now on, in the whole process."""
    global _spoken  # noqa: PLW0603  (a process speaks one language)
    _spoken = language


def language_tag() -> str:
    """The language that is spoken, BCP 47."""
    return _spoken.tag


def locale() -> Locale:
    """The language that is spoken, for Babel."""
    return Locale.parse(_spoken.tag, sep="-") if _spoken.tag != "en-XA" else Locale("en", "GB")


def t(template: str, /, **values: object) -> str:
    """A sentence in words. A place that is given no value stays as it is written."""
    return _PLACE.sub(
        lambda place: str(values.get(place[1], place[0])), _spoken.translate(template)
    )


def plural(n: int, one: str, other: str, /, **values: object) -> str:
    """The sentence for so many: ``{n}`` stands for the number itself."""
    template = one if locale().plural_form(n) == "one" else other
    return t(template, **{"n": n, **values})


def message(template: str, /, **values: object) -> Message:
    """A sentence to be worded later, where it is shown."""
    return Message(template, values)


def n_(template: str, /) -> str:
    """Mark a sentence that is worded elsewhere, such as a form's label."""
    return template


def literal(text: str, /) -> Message:
    """What is in words already, such as another program's, where a message is asked for."""
    return Message("{text}", {"text": text})


def unworded(value: object) -> object:
    """A message as JSON, which the phone words (``worded`` of ``static/words/door.js``).

    Messages among its values stay unworded, numbers stay numbers, anything else becomes its text.
    """
    match value:
        case Message():
            values = {name: unworded(each) for name, each in value.values.items()}
            return {"template": value.template, "values": values}
        case int() | float() | None:
            return value
        case _:
            return str(value)


def listed(items: Iterable[str]) -> str:
    """'wax', 'wax and oil', 'wax, oil and dye'."""
    return format_list(list(items), locale=locale())


class WordedError(Exception):
    """An error that a person reads: a sentence and its values, worded where it is shown.

    Attributes:
        said: the sentence; ``str`` of the error words it.
    """

    def __init__(self, sentence: str | Message | Exception, /, **values: object) -> None:
        """``sentence`` is a template with its values, a message, or an error that says the same."""
        self.said = _message_of(sentence, values)
        super().__init__(self.said.template)

    def __str__(self) -> str:
        return str(self.said)


def _message_of(sentence: str | Message | Exception, values: Mapping[str, object]) -> Message:
    match sentence:
        case Message():
            return sentence
        case WordedError():
            return sentence.said
        case Exception():
            return literal(str(sentence))
        case _:
            return Message(sentence, values)


class InputError(WordedError, ValueError):
    """What was typed or read can't be taken.

    Attributes:
        about: the value it is about, as its formula's argument is called; None: all of it.
    """

    def __init__(
        self, sentence: str | Message | Exception, /, *, about: str | None = None, **values: object
    ) -> None:
        super().__init__(sentence, **values)
        self.about = about
