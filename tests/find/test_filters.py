"""Which pours are shown: as the address says, and as they stand today; and what of a pour and of
its candles is found."""

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.bench.conftest import Bench, asked, fields_of
from tests.find.conftest import find

TEXTS = st.text(max_size=20)
ASKED = st.fixed_dictionaries(dict.fromkeys(("words", "month", "recipe", "lot", "state"), TEXTS))


@given(st.lists(ASKED, min_size=20, max_size=20))
def test_what_is_asked_stands_in_the_address(bench: Bench, drawn: list[dict[str, str]]) -> None:
    back = find(
        bench,
        """
        return g.map((asked) => {
          const path = filters.addressOf(asked).split('/').slice(1).map(decodeURIComponent);
          return filters.askedIn(path);
        });
        """,
        drawn,
    )
    assert back == drawn


def test_every_kind_that_she_makes_is_found_or_is_a_setting(bench: Bench) -> None:
    missing = find(
        bench,
        """
        return Promise.all([import('/records/kinds.js'), import('/find/kinds.js')]).then(
          ([{ KINDS, ONLY }, { INDEXED }]) =>
            KINDS.filter((kind) => !ONLY.includes(kind) && !Object.hasOwn(INDEXED, kind)));
        """,
    )
    assert missing == []


def pour(**changed: Any) -> dict[str, Any]:
    """What a list knows of a pour that was put away."""
    return {
        **{"stage": "put_away", "made": 6, "here": 6, "withdrawn": False},
        **{"set_on": "2026-11-20", "cure_least_days": 7},
        **changed,
    }


@pytest.mark.parametrize(
    ("told", "state"),
    [
        (pour(), "cured"),
        (pour(set_on="2026-11-24"), "curing"),
        (pour(set_on="2026-11-23"), "cured"),
        (pour(set_on="no day"), "cured"),
        (pour(set_on="2026-11-24", cure_least_days=None), "curing"),
        (pour(here=0), "none_left"),
        (pour(here=0, made=0), "cured"),
        (pour(withdrawn=True, here=0), "withdrawn"),
        *((pour(stage=each), each) for each in ("bench", "setting", "given_up")),
    ],
)
def test_each_pour_is_in_one_state(bench: Bench, told: dict[str, Any], state: str) -> None:
    assert find(bench, "return states.stateOf(g, '2026-11-30')", told) == state


def test_a_pour_is_found_by_what_is_in_it_and_by_where_its_candles_went(bench: Bench) -> None:
    recipe = fields_of("demo-recipe-slate")
    found = find(
        bench,
        """
        const sheet = b.sheetOf(g.asked);
        const event = (of, n, more) => ({ of: [of, 'p'], at: 1764070400000 + n,
          id: `00176407040000${n}.0000.other`, ...more });
        const record = { kind: 'pour', id: 'p', name: 'x', sheet, started_at: 1764070400000,
          events: {
            pour: [event('pour', 1, { type: 'noted', text: 'smells of rain' })],
            batch: [
              event('batch', 2, { type: 'sold', n: 1, where: 'quay fair' }),
              event('batch', 3, { type: 'noted', text: 'gone again' }),
              event('batch', 4, { type: 'undone', event: '001764070400003.0000.other' }),
            ],
          } };
        const odd = { kind: 'pour', id: 'odd', name: 'odd', sheet: {}, started_at: 1764070400000 };
        return g.words.map((words) => look([record, odd], words).length);
        """,
        {
            "asked": asked(recipe),
            "words": ["slate", "dune", "tin", "rain", "fair", "nov 2025", "gone", "odd"],
        },
    )
    assert found == [1, 1, 1, 1, 1, 1, 0, 0]


def test_a_code_is_found_by_its_beginning_and_its_slips_are_near(bench: Bench) -> None:
    told = find(
        bench,
        """
        const entry = (n, code) => [`pour ${n}`, { name: 'x', title: ' x', line: ' x', page: 'p',
          pour: { code, lots: [] } }];
        const all = new found.AllFound();
        all.take([entry(1, g.code), entry(2, '000-00000')]);
        const near = (text) => {
          const problem = searching.codeProblem(text, all.inOrder);
          return problem && [problem.problem.about ?? 'unknown', problem.near.length];
        };
        const hits = (words) => searching.search(all.inOrder, { ...filters.NOTHING, words },
          '2026-11-30', []).filter(({ byCode }) => byCode).length;
        return [g.found.map(hits), g.near.map(near)];
        """,
        {
            "code": "4RJ9-989V",
            "found": ["4RJ9", "4rj9-98", "4RJ9 989V", "4RJ9989U", "4RJ", "4RJ9-98W"],
            "near": ["4RJ9-98W", "4R9J-989V", "4RJ9-988V", "4RJ9-89V", "plum", "FF-2609"],
        },
    )
    assert told == [
        [1, 1, 1, 1, 0, 0],
        [["text", 0], ["text", 1], ["text", 1], ["text", 1], None, None],
    ]
