"""What a label says, in each of its languages, and what of it is missing.

Official sentences are those of ``statements``, word for word. Where one has a choice to be made (a
slash, '…' or <…>) or there is none in a language, the label is not finished, and says so.
"""

import json
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from benchapp.desk.label.asked import Label
from benchapp.desk.label.filled import is_open, may_stand_for
from benchapp.desk.netcontent.marking import printed
from benchapp.desk.statements import statements_in
from benchapp.words import Message, message

_WORDS = Path(__file__).with_name("words")


@dataclass(frozen=True)
class Statement:
    """A sentence of the hazard part: its code ('' of the names that a label contains)."""

    code: str
    text: str


@dataclass(frozen=True)
class Spoken:
    """What stands on the label in one language.

    Attributes:
        signal: the signal word, or ''.
        contains: the substances that it names, in a sentence.
        owed, others: fire-safety sentences, by their symbols.
    """

    language: str
    signal: str
    statements: tuple[Statement, ...]
    owed: Mapping[str, str]
    others: Mapping[str, str]
    own: str


@dataclass(frozen=True)
class Content:
    """All that stands on the label, and what is missing of it.

    Attributes:
        title: the product's name; ``names`` those of other languages that differ.
        net: amounts, the first one first.
        lacks: what is owed and can't be set, each with what to do.
        recalled: what stands there from memory, and is to be looked up.
        looked_up: official words that are not here and that the maker typed, with their language.
        wordless: languages without sentences on fire safety, where such are asked for.
    """

    title: str
    names: tuple[tuple[str, str], ...]
    says: tuple[tuple[str, str], ...]
    net: tuple[str, ...]
    net_asks: tuple[Message, ...]
    spoken: tuple[Spoken, ...]
    owed_symbols: tuple[str, ...]
    other_symbols: tuple[str, ...]
    lacks: tuple[Message, ...]
    recalled: tuple[Message, ...]
    looked_up: tuple[str, ...]
    wordless: tuple[str, ...]


@cache
def fire_words() -> Mapping[str, Any]:
    """The fire-safety information, as ``words/fire.json`` has it."""
    return _read("fire")


@cache
def signal_words() -> Mapping[str, Any]:
    """The signal words, as ``words/signal.json`` has them."""
    return _read("signal")


def _read(name: str) -> Mapping[str, Any]:
    data: dict[str, Any] = json.loads((_WORDS / f"{name}.json").read_text(encoding="utf-8"))
    return data


def content_of(label: Label) -> Content:
    """What stands on a label."""
    lacks: list[Message] = []
    looked_up: list[str] = []
    amounts = printed(label.net_g, label.market, label.net_unit) if label.net_g else None
    spoken = tuple(_spoken(label, language, lacks, looked_up) for language in label.languages)
    fire = fire_words()
    title = label.title
    return Content(
        title=title,
        names=tuple(
            (language, name)
            for language, name in _different(label.product, label.languages)
            if name != title
        ),
        says=_different(label.says, label.languages),
        net=amounts.texts if amounts else (),
        net_asks=amounts.asks if amounts else (),
        spoken=spoken,
        owed_symbols=tuple(fire["compulsory"]),
        other_symbols=tuple(fire["optional"]),
        lacks=(*lacks, *_left_open(label)),
        recalled=tuple(_recalled(label)),
        looked_up=tuple(looked_up),
        wordless=tuple(language for language in label.languages if language not in fire["words"])
        if label.cautions != "symbols"
        else (),
    )


def _different(texts: Mapping[str, str], languages: tuple[str, ...]) -> tuple[tuple[str, str], ...]:
    """By language, each text once."""
    found: dict[str, str] = {}
    for language in languages:
        if (text := texts.get(language)) and text not in found.values():
            found[language] = text
    return tuple(found.items())


def _spoken(label: Label, language: str, lacks: list[Message], looked_up: list[str]) -> Spoken:
    words = fire_words()["words"].get(language, {}) if label.cautions != "symbols" else {}
    fire = fire_words()
    return Spoken(
        language=language,
        signal=_signal(label, language, looked_up),
        statements=tuple(_statements(label, language, lacks, looked_up)),
        owed={name: words[name] for name in fire["compulsory"] if name in words},
        others={name: words[name] for name in fire["optional"] if name in words},
        own=label.own.get(language, ""),
    )


# ---- the hazard part ---------------------------------------------------------------------------


def _left_open(label: Label) -> Iterator[Message]:
    """By language, the sentences in which she has still to choose."""
    codes: dict[str, list[str]] = {}
    for each in owed_sentences(label):
        if each.open and each.text is None and each.official is not None:
            codes.setdefault(each.language, []).append(each.code)
    for language, those in codes.items():
        yield message(
            "In {language} these leave something open: {codes}. Make their choices and fill in "
            "what is left out.",
            language=language,
            codes=", ".join(those),
        )


def _signal(label: Label, language: str, looked_up: list[str]) -> str:
    hazard = label.hazard
    if hazard is None or hazard.signal_word is None or label.market == "us":
        return ""
    row = signal_words()["words"][language]
    own = hazard.filled.get(hazard.signal_word, {}).get(language)
    if row["status"] == "memory" and own:
        looked_up.append(f"{own} ({language})")
        return own
    return str(row[hazard.signal_word])


def _recalled(label: Label) -> Iterator[Message]:
    """Signal words from memory, but for those that she looked up herself."""
    for language in label.languages:
        looked_up: list[str] = []
        word = _signal(label, language, looked_up)
        if word and not looked_up and signal_words()["words"][language]["status"] == "memory":
            yield message(
                "The signal word “{word}” in {language} is from memory: hold it against CLP "
                "Annex I in that language.",
                word=word,
                language=language,
            )


def _statements(
    label: Label, language: str, lacks: list[Message], looked_up: list[str]
) -> Iterator[Statement]:
    hazard = label.hazard
    if hazard is None or label.market == "us":
        return
    texts = statements_in(language).texts
    if hazard.names:
        yield Statement("", contains(language, hazard.names))
    for code in (*hazard.h, *hazard.supplemental):
        yield from _statement(label, language, code, lacks, looked_up)
    if hazard.euh208 and "EUH208" not in (*hazard.h, *hazard.supplemental):
        yield Statement("EUH208", _named(texts["EUH208"], hazard.euh208))
    for code in hazard.p:
        yield from _statement(label, language, code, lacks, looked_up)


def _statement(
    label: Label, language: str, code: str, lacks: list[Message], looked_up: list[str]
) -> Iterator[Statement]:
    hazard = label.hazard
    assert hazard is not None  # noqa: S101 - it has statements
    texts = statements_in(language).texts
    official = texts.get(code)
    own = hazard.filled.get(code, {}).get(language, "")
    if official is None and own:
        looked_up.append(f"{code} ({language})")
        yield Statement(code, own)
        return
    if official is None:
        lacks.append(
            message(
                "{code} has no official text in {language} here. Look it up in CLP, Annexes III "
                "and IV, in that language: nothing is translated.",
                code=code,
                language=language,
            )
        )
        return
    if code == "EUH208":
        if not hazard.names and not hazard.euh208:
            lacks.append(message("EUH208 names no substance. Say which ones it contains."))
            return
        yield Statement(code, _named(official, hazard.euh208 or hazard.names))
        return
    if own and may_stand_for(own, official, statements_in(language).choices.get(code, ())):
        yield Statement(code, own)
        return
    if own:
        lacks.append(
            message(
                "“{text}” is not {code} in {language} with its choices made: the official text "
                "stays as it is, but for what is left open in it.",
                text=own,
                code=code,
                language=language,
            )
        )
    yield Statement(code, official)


@dataclass(frozen=True)
class Owed:
    """A sentence of the law that stands on the label.

    Attributes:
        official: as it is printed in the law; None: it is not known here in that language.
        text: with its choices made, or as she looked it up.
        open: something is left to be chosen or filled in, and is not.
    """

    code: str
    language: str
    official: str | None
    text: str | None
    open: bool


def owed_sentences(label: Label) -> Iterator[Owed]:
    """The H and P statements of the label, by language."""
    hazard = label.hazard
    if hazard is None or label.market == "us":
        return
    for language in label.languages:
        statements = statements_in(language)
        for code in (*hazard.h, *hazard.p):
            if code == "EUH208":
                continue
            official = statements.texts.get(code)
            own = hazard.filled.get(code, {}).get(language) or None
            if official is None:
                yield Owed(code, language, None, own, own is None)
                continue
            good = own and may_stand_for(own, official, statements.choices.get(code, ()))
            yield Owed(code, language, official, own, is_open(official) and not good)


_PLACE = re.compile(r"<[^>]*>")


def contains(language: str, names: tuple[str, ...]) -> str:
    """'Contains …' in a language: the first sentence of EUH208, word for word."""
    text = statements_in(language).texts["EUH208"]
    at = _PLACE.search(text)
    assert at is not None  # noqa: S101 - a test looks at all 24
    end = text.find(". ", at.end())
    return _named(text[: end + 1], names)


def _named(text: str, names: tuple[str, ...]) -> str:
    return _PLACE.sub(lambda _place: ", ".join(names), text).strip()
