"""The official texts of H, EUH and P statements, word for word, in 24 languages.

``statements/*.json``: Regulation (EC) No 1272/2008 (CLP), Annexes III and IV, consolidated text of
2025-09-01; texts © European Union, EUR-Lex, CC BY 4.0 (each file has its attribution and says how
it was read). A text that is not there is not there: nothing is translated, and no other language
stands in for it. What stands in <> or is … is to be filled in, a slash offers a choice.
"""

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from benchapp.words import InputError

_DIRECTORY = Path(__file__).with_name("statements")


@dataclass(frozen=True)
class Statements:
    """The texts in one language.

    Attributes:
        language: ISO 639-1.
        texts: code -> text, as printed.
        choices: code -> what it may be once its choices are made; English alone has them.
    """

    language: str
    edition: str
    attribution: str
    status: str
    texts: Mapping[str, str]
    choices: Mapping[str, tuple[str, ...]]

    def missing(self, codes: Iterable[str]) -> tuple[str, ...]:
        """Those of the codes for which there is no text in this language."""
        return tuple(code for code in codes if code not in self.texts)


def languages() -> tuple[str, ...]:
    """The languages that there are texts in."""
    return tuple(sorted(file.stem for file in _DIRECTORY.glob("*.json")))


@cache
def statements_in(language: str) -> Statements:
    """The texts in a language.

    Raises:
        InputError: there are none in it.
    """
    if language not in languages():
        raise InputError(
            "There are no statements in the language “{language}”.",
            language=language,
            about="language",
        )
    data = json.loads((_DIRECTORY / f"{language}.json").read_text(encoding="utf-8"))
    return Statements(
        language=data["language"],
        edition=data["edition"],
        attribution=data["attribution"],
        status=data["status"],
        texts=data["texts"],
        choices={code: tuple(forms) for code, forms in data.get("choices", {}).items()},
    )
