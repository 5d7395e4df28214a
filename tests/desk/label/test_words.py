"""The words of a label: official sentences, choices made in them, signal words, forbidden words."""

import json
from pathlib import Path

import pytest

from benchapp.desk.label import claims
from benchapp.desk.label.boxes import meaning, symbol
from benchapp.desk.label.content import contains, fire_words, signal_words
from benchapp.desk.label.filled import is_open, may_stand_for
from benchapp.desk.statements import languages, statements_in
from tests.desk.label.asking import made, templates


@pytest.mark.parametrize("language", languages())
def test_contains_is_the_first_sentence_of_euh208(language: str) -> None:
    official = statements_in(language).texts["EUH208"]
    said = contains(language, ("Linalool", "Citral"))
    before, _, rest = official.partition("<")
    after = rest.partition(">")[2]
    assert said.startswith(before.strip())
    assert "Linalool, Citral" in said
    assert "<" not in said
    assert said.endswith(".")
    # What follows the names up to the first full stop; the second sentence is not in it.
    assert after.partition(". ")[0].rstrip(".") in said
    assert len(said) < len(official) + len("Linalool, Citral")


# Of EUR-Lex: the second from memory of labels, as the sentences in tests/desk/test_statements.py.
def test_contains_in_a_few_languages() -> None:
    assert contains("en", ("Linalool",)) == "Contains Linalool."
    assert contains("de", ("Linalool", "Citral")) == "Enthält Linalool, Citral."
    assert contains("hu", ("Linalool",)) == "Linalool-t tartalmaz."


def test_signal_words_are_there_in_24_languages_and_say_how_they_were_read() -> None:
    words = signal_words()["words"]
    assert set(words) == set(languages())
    assert {language for language, row in words.items() if row["status"] == "seen"} == {"en"}
    assert all(row["Warning"] and row["Danger"] for row in words.values())


def test_fire_words_are_whole_in_each_language() -> None:
    fire = fire_words()
    names = {*fire["compulsory"], *fire["optional"]}
    assert {"en", "de", "fr", "es", "it", "nl", "pl", "pt"} == set(fire["words"])
    for sentences in fire["words"].values():
        assert set(sentences) == names
        assert all(each.endswith(".") for each in sentences.values())
    symbols = Path(__file__).parents[3] / "benchapp/desk/symbols"
    assert names <= {each.stem for each in symbols.glob("*.svg")}


def test_every_picture_of_ours_says_what_it_means_and_refers_to_nothing() -> None:
    symbols = Path(__file__).parents[3] / "benchapp/desk/symbols"
    names = [each.stem for each in symbols.glob("*.svg")]
    assert len(names) == 23
    for name in names:
        assert meaning(name)
        assert "href" not in symbol(name)
        assert "<style" not in symbol(name)


# ---- choices -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("language", "code", "text", "may"),
    [
        ("en", "P501", "Dispose of contents to household hazardous waste.", True),
        ("en", "P501", "Dispose of container to household waste", True),
        ("en", "P501", "Dispose of contents/container to household waste", False),
        ("en", "P501", "Dispose of contents/container to …", False),
        ("en", "P501", "Throw contents to the dustbin", False),
        ("en", "P261", "Avoid breathing fume.", True),
        ("en", "P261", "Avoid breathing smoke.", False),
        ("en", "P261", "Avoid breathing fume", False),
        ("en", "P280", "Wear protective gloves.", True),
        ("en", "P280", "Wear gloves.", False),
        ("en", "P302+P352", "IF ON SKIN: Wash with plenty of water", True),
        ("en", "P302+P352", "IF ON SKIN: Wash with plenty of soap", True),
        ("en", "P333+P313", "If skin irritation or rash occurs: Get medical advice.", True),
        ("en", "P333+P313", "If skin irritation or rash occurs: Get a doctor.", False),
        ("de", "P501", "Inhalt der Sammelstelle zuführen.", True),
        ("de", "P501", "Behälter dem Wertstoffhof zuführen.", True),
        ("de", "P501", "Inhalt der Sammelstelle bringen.", False),
        ("de", "P261", "Einatmen von Rauch vermeiden.", True),
        ("de", "P261", "Einatmen von Luft vermeiden.", False),
        ("fr", "P501", "Éliminer le contenu dans un point de collecte", True),
    ],
)
def test_a_choice_is_made_within_the_official_sentence(
    language: str, code: str, text: str, may: bool
) -> None:
    held = statements_in(language)
    assert may_stand_for(text, held.texts[code], held.choices.get(code, ())) is may


@pytest.mark.parametrize(
    ("code", "opened"),
    [("H317", False), ("H412", False), ("P102", False), ("P273", False), ("P501", True),
     ("P261", True), ("P280", True), ("P302+P352", True), ("H351", True), ("P303+P361+P353", True),
     ("P405", False)],
)  # fmt: skip
def test_what_is_left_open(code: str, opened: bool) -> None:
    assert is_open(statements_in("en").texts[code]) is opened


def test_what_is_filled_in_stands_on_the_label_and_no_more_is_missing() -> None:
    filled = {"P501": {"en": "Dispose of contents to household hazardous waste."}}
    made_ = made(languages=["en"], hazard__filled=filled)
    report = made_["report"]
    assert report["missing"] == report["look_up"] == []
    # Only she can answer what is asked besides.
    assert report["finished"] == (not report["questions"])
    [text] = [
        part["text"] for part in report["pieces"][0]["parts"]
        if part["part"] == "hazard" and part["language"] == "en"
    ]  # fmt: skip
    assert "Dispose of contents to household hazardous waste." in text


def test_a_text_of_hers_that_is_not_the_official_one_is_not_set() -> None:
    filled = {"P501": {"en": "Just bin it."}}
    report = made(languages=["en"], hazard__filled=filled)["report"]
    assert not report["finished"]
    assert "with its choices made" in templates(report["missing"])
    assert "Just bin it" not in json.dumps(report["pieces"])


def test_what_has_no_official_text_is_missing_and_nothing_stands_for_it() -> None:
    report = made(languages=["de"], hazard__p=["P260", "P273"])["report"]
    [said] = [each for each in report["missing"] if "has no official text" in each["template"]]
    assert said["values"] == {"code": "P260", "language": "de"}
    assert "Staub" not in json.dumps(report["pieces"], ensure_ascii=False)


def test_what_she_looked_up_herself_is_set_and_asked_about() -> None:
    filled = {
        "Warning": {"de": "Achtung"},
        "P260": {"de": "Staub nicht einatmen."},
        "P501": {"de": "Inhalt der Sammelstelle zuführen."},
    }
    report = made(languages=["de"], hazard__p=["P260", "P501"], hazard__filled=filled)["report"]
    assert report["missing"] == report["look_up"] == []
    [asked] = [each for each in report["questions"] if "as you typed them" in each["template"]]
    assert asked["values"] == {"what": "Achtung (de), P260 (de)"}
    assert "Staub nicht einatmen." in json.dumps(report["pieces"], ensure_ascii=False)


# ---- forbidden words ---------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("language", "text", "found"),
    [
        ("en", "A NON-TOXIC candle", ["non-toxic"]),
        ("en", "Wholly eco-friendly", ["eco-friendly"]),
        ("de", "Ungiftig und umweltfreundlich", ["ungiftig", "umweltfreundlich"]),
        ("fr", "Bougie écologique", ["écologique"]),
        ("fi", "Non-toxic kynttilä", ["non-toxic"]),
        ("en", "A quiet evening by the sea", []),
    ],
)
def test_forbidden_words_are_found(language: str, text: str, found: list[str]) -> None:
    assert list(claims.forbidden({language: text})) == found


def test_a_forbidden_word_keeps_a_classified_candle_from_being_finished() -> None:
    report = made(own={"en": "Non-toxic wax"})["report"]
    assert "may not stand on a candle with a hazard class" in templates(report["missing"])
    free = made(own={"en": "Non-toxic wax"}, hazard=None, no_hazard="none")["report"]
    assert "may not stand" not in templates(free["missing"])


def test_a_sensitiser_is_named_once() -> None:
    """As a hazard report has it: EUH208 among the supplemental statements, its names beside."""
    changes = {
        **{"hazard__classes": [], "hazard__h": [], "hazard__p": [], "hazard__pictograms": []},
        **{"hazard__names": [], "hazard__signal_word": None},
        **{"hazard__euh208": ["Linalool"], "hazard__supplemental": ["EUH208"]},
    }
    text = json.dumps(made(languages=["en"], **changes)["report"]["pieces"])
    assert text.count("May produce an allergic reaction") == 1
