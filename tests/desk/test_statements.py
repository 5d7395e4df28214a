"""The official texts, letter by letter."""

from hashlib import sha256

import pytest

from benchapp.desk.rules import rules_of
from benchapp.desk.statements import languages, statements_in
from benchapp.words import InputError

# Of each language: how many texts, and SHA-256 over 'code TAB text LF', sorted by code, of those of
# Regulation (EC) No 1272/2008, Annexes III and IV, consolidated 2025-09-01 (machine extract, CC
# BY 4.0), reckoned from the extract itself and not from the files that are tested.
CHECKSUMS = {
    "bg": (74, "719f8a00ac1c3a4d76c24b901382ddbaf5ac58cb6a6719533e5482bfb1765ae2"),
    "cs": (74, "eef0046f59eda69d4c463d857d5cf72e1a2fa768f2880a2741cd2c2a1bc50cec"),
    "da": (74, "ef60d68fc14eafaa255867440ddfc5a9db46e77d3126f2a74c444724fe8abf42"),
    "de": (74, "e1aa6dd00800b9e3abf68d9fc38287514f077faf1af4057c3f227fe96e33e92b"),
    "el": (74, "38ddf9d0c77da109a11af05adadd49847cd7aeecbc451f75743c066578a0c082"),
    "en": (90, "9f3bd3bf0c1e3cfd3fceaf0c9ba19571097e4b467d6c79839e431dac6bdc3504"),
    "es": (74, "bffc5180cf277140207428164aad1904b9249fdf642d193161fcd35ba3c9b0c6"),
    "et": (74, "f08baa9706b4062fdeb5a35c966d05c10249db85e9395818153302f20267c592"),
    "fi": (74, "64c4aca7bb1db2cee4bacd44b3e64dd414e9837b0aa6abd80bcb719bfb0fa755"),
    "fr": (74, "7239ac45d00f5f4ee26eb4eef5751bcf5de5c74cc6f4212d1d4cd5f859f207db"),
    "ga": (58, "a0a007db3febaa08192383f88c5f9197cfd85d0f7d1a1e72b33ff65bc73a61a1"),
    "hr": (74, "ff8d3855529f2330531473b1f8e7af432d173a6d445916bc929a24f62a2ac277"),
    "hu": (74, "2b0893c9989d2468283965c998fd440213e6791deaaef04152e7cb823ac15ccd"),
    "it": (74, "94be6b633307592aaf5a3a1d54a77453c53513c22bcae96d577f3ada5d7c6345"),
    "lt": (74, "12dd4d8d5977637036028ed92f3d3113fdbbd3a25b686d782e59251db4ed6b12"),
    "lv": (74, "55eaee6dba3e434cb21f80dc9c43dc310f59bbb76542535ff56709649ab73146"),
    "mt": (74, "529a236d27e1b51f347178d0bedce2932305ccee2777e0357b795d0952e3f0a0"),
    "nl": (74, "411d7346b0d58c4818cb3dcf071c4114d2e3e844c939ca01a8af36d479f4a80c"),
    "pl": (74, "397918b96092ad1834d6436acb2f2accc7ddb020a79a361a8645e28be65d85f8"),
    "pt": (74, "b91a9ac07074ddc06cadc9ab9e759f4a7397cecb9279ea171c711318dfd751e8"),
    "ro": (74, "21bfb37e146e049f98af5b3ef0b01d2debfa7fe79cccaea594560e46b04b7f08"),
    "sk": (74, "76dc170b2467e0f315e2e9f979bc6c0daa5ab6d6bd4bcd9e66f6dd34bc6b35e9"),
    "sl": (74, "5945891131ee01c04b7365663180e9eb0b85ad6e58307385cbcf823d75a3e7a2"),
    "sv": (74, "b410d59c54123fe6de2c6e998b3164afe45dac2b558cda8eb4d2d6c99057fc4c"),
}

# From memory, of labels; the last two as the extract prints them.
SAMPLES = {
    ("en", "H317"): "May cause an allergic skin reaction.",
    ("de", "H317"): "Kann allergische Hautreaktionen verursachen.",
    ("fr", "H317"): "Peut provoquer une allergie cutanée.",
    ("en", "H412"): "Harmful to aquatic life with long lasting effects.",
    ("de", "P102"): "Darf nicht in die Hände von Kindern gelangen.",
    ("en", "P501"): "Dispose of contents/container to …",
    # As printed: no full stop, and a slash that is left over.
    ("en", "P302+P352"): "IF ON SKIN: Wash with plenty of water/…",
}


@pytest.mark.parametrize("language", CHECKSUMS)
def test_the_texts_are_those_of_the_extract(language: str) -> None:
    texts = statements_in(language).texts
    lines = "".join(f"{code}\t{texts[code]}\n" for code in sorted(texts))
    assert (len(texts), sha256(lines.encode()).hexdigest()) == CHECKSUMS[language]


def test_there_are_24_languages() -> None:
    assert set(languages()) == set(CHECKSUMS)
    assert len(languages()) == 24


@pytest.mark.parametrize(("language", "code"), SAMPLES)
def test_samples(language: str, code: str) -> None:
    assert statements_in(language).texts[code] == SAMPLES[language, code]


@pytest.mark.parametrize("language", CHECKSUMS)
def test_each_file_says_where_it_is_from(language: str) -> None:
    held = statements_in(language)
    assert held.language == language
    assert "1272/2008" in held.edition
    assert "CC BY 4.0" in held.attribution
    assert held.status


def test_what_is_missing_is_missing() -> None:
    """Nothing is translated, and no other language stands in for it."""
    assert statements_in("en").missing(["H317", "H300"]) == ("H300",)
    assert statements_in("de").missing(["H317", "P260"]) == ("P260",)
    assert statements_in("ga").missing(["H317", "EUH380"]) == ("EUH380",)
    with pytest.raises(InputError, match="no statements in the language"):
        statements_in("../rules/eu")
    with pytest.raises(InputError):
        statements_in("no")


def test_english_has_every_p_statement_that_a_label_may_ask_for() -> None:
    asked = {
        code for parts in rules_of("eu").precaution.values() for part in parts for code in part
    }
    assert len(asked) > 30
    assert statements_in("en").missing(sorted(asked)) == ()
