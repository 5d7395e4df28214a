"""What is typed finds what is meant: whatever its case and accents, in any order, as a day or as a
code."""

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.bench.conftest import Bench
from tests.find.conftest import find

LETTERS = "abcdefghijklmnopqrstuvwxyzäöüßéèñçøłæœđðþħıŋșěžćàβγδσςабвгдйё0123456789"
WORDS = st.text(st.sampled_from(LETTERS), min_size=1, max_size=12)
ACCENTS = "\u0301\u0308\u0327\u030c"


@st.composite
def texts(draw: st.DrawFn) -> tuple[str, list[str]]:
    """A text, and some of its words, or their beginnings, as somebody else would write them."""
    words = draw(st.lists(WORDS, min_size=1, max_size=6))
    typed = []
    for word in draw(st.lists(st.sampled_from(words), min_size=1, max_size=4)):
        begun = word[: draw(st.integers(1, len(word)))]
        way = draw(st.sampled_from(["as it is", "capitals", "accented", "taken apart"]))
        if way == "capitals":
            begun = begun.upper()
        elif way == "accented":
            begun = "".join(f"{each}{draw(st.sampled_from(ACCENTS))}" for each in begun)
        elif way == "taken apart":
            begun = unicodedata.normalize("NFD", begun)
        typed.append(begun)
    between = draw(st.sampled_from([" ", ", ", " – ", "/", "\n"]))
    return between.join(words), typed


@given(st.lists(texts(), min_size=20, max_size=20))
def test_a_word_of_a_record_always_finds_it(
    bench: Bench, drawn: list[tuple[str, list[str]]]
) -> None:
    cases = [{"text": text, "typed": " ".join(typed)} for text, typed in drawn]
    found = find(
        bench,
        """
        return g.map(({ text, typed }) => ['name', 'address', 'notes'].map((field) => {
          const record = { kind: 'supplier', id: 'x', name: 'zzz', [field]: text };
          return look([record], typed).length;
        }));
        """,
        cases,
    )
    missed = [case for case, each in zip(cases, found, strict=True) if each != [1, 1, 1]]
    assert missed == []


@pytest.mark.parametrize(
    ("typed", "text"),
    [
        ("strasse", "Straße 7"),
        ("lodz", "Łódź"),
        ("smorrebrod", "Smørrebrød"),
        ("aegir", "Ægir"),
        ("isik", "Işık"),
        ("marshs", "Marsh’s yard"),
        ("8,5", "load of 8.5 %"),
        ("no 7", "№ 7"),
        ("dune sun", "Sun-bleached dune"),
    ],
)
def test_letters_that_no_accent_can_be_taken_off(bench: Bench, typed: str, text: str) -> None:
    record = {"kind": "wax", "id": "a", "name": text}
    assert find(
        bench, "return look([g.record], g.typed).length", {"record": record, "typed": typed}
    )


def test_all_words_are_wanted_and_beginnings_come_first(bench: Bench) -> None:
    records = [
        {"kind": "wax", "id": "inside", "name": "Overkelp"},
        {"kind": "wax", "id": "begun", "name": "Kelp and salt"},
        {"kind": "wax", "id": "noted", "name": "Salt", "notes": "goes with kelp"},
        {"kind": "wax", "id": "named", "name": "Dune", "supplier": "k"},
        {"kind": "supplier", "id": "k", "name": "Kelp Yard"},
        {"kind": "wax", "id": "other", "name": "Plum"},
    ]
    found = find(
        bench,
        """
        const told = ({ entry, byNote }) => entry.id + (byNote ? ' by note' : '');
        const ids = (words) => look(g, words).map(told);
        return [ids('kelp'), ids('salt KELP'), ids('kelp plum'), ids('el')];
        """,
        records,
    )
    assert found == [
        ["supplier k", "wax begun", "wax named", "wax inside", "wax noted by note"],
        ["wax begun", "wax noted by note"],
        [],
        [],
    ]


@pytest.mark.parametrize(
    ("typed", "is_found"),
    [
        ("2026", True),
        ("2026-05", True),
        ("2026-05-14", True),
        ("14.5.2026", True),
        ("14/05/26", True),
        ("5/14", True),
        ("14.5.", True),
        ("5.2026", True),
        ("May", True),
        ("14 may", True),
        ("may 2026 lot", True),
        ("2025", False),
        ("13.5.2026", False),
        ("june", False),
        ("15 may", False),
        ("may 2025", False),
    ],
)
def test_a_day_is_typed_as_she_likes(bench: Bench, typed: str, is_found: bool) -> None:
    lot = {"kind": "lot", "id": "a", "name": "lot Q", "received_on": "2026-05-14"}
    assert find(bench, "return look([g.lot], g.typed).length", {"lot": lot, "typed": typed}) == (
        1 if is_found else 0
    )


def test_months_are_called_as_in_her_language(bench: Bench) -> None:
    names = find(bench, "return g.map((tag) => asking.monthNames(tag)[2])", ["en", "de", "pl"])
    assert names == [
        ["march", "mar"],
        ["marz", "mar"],
        ["marzec", "marca", "mar"],
    ]
