"""What several noses say."""

from typing import Any

from playwright.sync_api import Page

from tests import in_page

_ASK = """async (ratings) => {
  const { InputError } = await import('/words/door.js');
  const { ratingsOf } = await import('/burns/scent.js');
  try {
    return ratingsOf(ratings);
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    return { refused: error.message };
  }
}"""


def rated(wick: int, throw: str, nose: str, rating: Any) -> dict[str, Any]:
    return {"wick": wick, "throw": throw, "nose": nose, "rating": rating}


def test_medians_of_noses_by_wick_and_throw(twin: Page) -> None:
    answer = in_page.ask(
        twin,
        _ASK,
        [
            rated(1, "hot", "Ada", 2),
            *(rated(0, "hot", "Ada", 5), rated(0, "hot", "Ben", 3), rated(0, "hot", "Cleo", 4)),
            *(rated(0, "cold", "Ada", 1), rated(0, "cold", "Ben", 2)),
        ],
    )
    assert answer == [
        {"wick": 0, "throw": "cold", "n": 2, "median": 1.5, "enough": False},
        {"wick": 0, "throw": "hot", "n": 3, "median": 4, "enough": True},
        {"wick": 1, "throw": "hot", "n": 1, "median": 2, "enough": False},
    ]


def test_one_nose_counts_once_however_often_it_smells(twin: Page) -> None:
    again = [rated(0, "hot", name, 5) for name in ("Ada", "ada ", "ADA")]
    [answer] = in_page.ask(twin, _ASK, [*again, rated(0, "hot", "Ben", 1)])
    assert (answer["n"], answer["median"], answer["enough"]) == (2, 3, False)


def test_nothing_rated_says_nothing(twin: Page) -> None:
    assert in_page.ask(twin, _ASK, []) == []


def test_nonsense_is_refused(twin: Page) -> None:
    for bad in (0, 6, None, "4", float("nan")):
        assert "refused" in in_page.ask(twin, _ASK, [rated(0, "hot", "Ada", bad)])
    assert "refused" in in_page.ask(twin, _ASK, [rated(0, "warm", "Ada", 4)])
