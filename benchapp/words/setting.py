"""The language that the environment asks for."""

import os

from benchapp.words import ENGLISH, InputError, speak_in
from benchapp.words.pseudo import PSEUDO

VARIABLE = "BENCHAPP_LANGUAGE"
LANGUAGES = {language.tag: language for language in (ENGLISH, PSEUDO)}


def speak_as_set() -> None:
    """Speak what ``BENCHAPP_LANGUAGE`` names, English where it names nothing.

    ``en-XA`` is the pseudo-language, for developers. Raises InputError where there is no such
    language.
    """
    wanted = os.environ.get(VARIABLE) or ENGLISH.tag
    if wanted not in LANGUAGES:
        raise InputError(
            "{variable} is {wanted}, which is not spoken here. Write {english}, or leave it out.",
            variable=VARIABLE,
            wanted=wanted,
            english=ENGLISH.tag,
        )
    speak_in(LANGUAGES[wanted])
