"""What the desk is asked of a batch's weights, and whether what it found is still of them."""

from fractions import Fraction

from hypothesis import strategies as st

from benchapp.formulas.rounding import steps
from tests.bench.conftest import Bench
from tests.bench.test_walks import OZ_G
from tests.formulas.test_twin import drawn
from tests.shelf.conftest import Json, shelf

SAID = {"law": "eu", "stated_g": 105, "unit": None, "countMarks": False, "panel": None}
SHEET = {"recipe": "r", "step_g": 0.1}


def asked(bench: Bench, weights: list[tuple[float, bool]], **said: Json) -> Json:
    batch = {
        **{"key": "tin", "most_g": 110, "of": 4, "unclear": 0},
        "weights": [{"grams": grams, "isMark": is_mark} for grams, is_mark in weights],
    }
    given = {"batch": batch, "sheet": SHEET, "said": {**SAID, **said}}
    body = """
        try {
          return asks.askedOf(g.batch, g.sheet, g.said);
        } catch (error) {
          if (!(error instanceof b.InputError)) throw error;
          return { refused: error.message };
        }
    """
    return shelf(bench, body, given)


def test_a_weight_goes_to_the_desk_as_it_was_read(bench: Bench) -> None:
    """To the millionth of a gram, as the desk keeps it."""
    reads = drawn(
        st.one_of(
            st.integers(1, 200_000).map(lambda n: n / 10),
            st.integers(1, 40_000).map(lambda n: n / 20 * OZ_G),
            st.floats(1e-6, 99_999),
        ),
        400,
    )
    texts = shelf(bench, "return g.map(asks.decimals)", reads)
    for read, text in zip(reads, texts, strict=True):
        assert Fraction(text) * 10**6 == steps(read, 1e-6), read


def test_a_touched_mark_is_asked_of_only_where_she_read_it(bench: Bench) -> None:
    weights = [(105.0, True), (104.5, False), (105.0, True)]
    read = asked(bench, weights)
    assert [Fraction(each) for each in read["weights_g"]] == [Fraction("104.5")]
    assert (read["marks"], read["of"]) == ([], 4)
    counted = asked(bench, weights, countMarks=True)
    assert (len(counted["weights_g"]), counted["marks"]) == (3, [0, 2])


def test_what_is_no_weight_is_not_asked_of(bench: Bench) -> None:
    assert "No weight of these was read" in asked(bench, [(105.0, True)])["refused"]
    assert "weighing nothing" in asked(bench, [(105.0, False), (0, False)])["refused"]


def test_a_finding_is_outdated_once_its_weights_are_others(bench: Bench) -> None:
    body = """
        const first = { grams: 105, isMark: true };
        const second = { grams: 104.5, isMark: false };
        const batch = { key: 'tin', of: 2, unclear: 0, weights: [first, second] };
        const changed = (more) => ({ ...batch, ...more });
        return [false, true].map((countMarks) => {
          const finding = { asked: asks.askedOf(batch, g.sheet, { ...g.said, countMarks }) };
          const isOutdated = (now, sheet = g.sheet) => asks.isOutdated(finding, now, sheet);
          return [
            isOutdated(batch),
            isOutdated(changed({ of: 3 })),
            isOutdated(changed({ weights: [first, { ...second, grams: 104.6 }] })),
            isOutdated(changed({ weights: [{ ...first, isMark: false }, second] })),
            isOutdated(changed({ weights: [{ ...first, grams: 104 }, second] })),
            isOutdated(changed({ weights: [] })),
            isOutdated(batch, { ...g.sheet, step_g: 1 }),
          ];
        });
    """
    unread, counted = shelf(bench, body, {"sheet": SHEET, "said": SAID})
    # Where touched marks do not count, another one changes nothing.
    assert unread == [False, True, True, True, False, True, True]
    assert counted == [False, True, True, True, True, True, True]


def test_the_newest_finding_is_the_one_that_was_made_last(bench: Bench) -> None:
    body = """
        const made = [3, 7, 5].map((made_at) => ({ made_at }));
        const told = (which) => asks.newest(made, which)?.made_at ?? null;
        return [told(), told(({ made_at }) => made_at < 6), told(() => false)];
    """
    assert shelf(bench, body) == [7, 5, None]
