"""What a page is asked and answers comes through as it is, numbers that JSON can't write too."""

import math

from tests.bench.conftest import Bench
from tests.in_page import ask


def test_what_is_asked_comes_back_as_it_was(bench: Bench) -> None:
    asked = {"a": [1, 0.1, -0.0, 2**53, "“x”\u2028", None, True], "b": {"c": [math.inf, -math.inf]}}
    answer = ask(bench.page, "(given) => given", asked)
    assert answer == asked
    assert math.copysign(1, answer["a"][2]) == -1
    assert math.isnan(ask(bench.page, "([nan]) => nan", [math.nan]))


def test_the_page_says_which_number_it_is(bench: Bench) -> None:
    told = ask(
        bench.page,
        """async () => ({
          below: -0, none: undefined, ratio: 0 / 0, whether: [Object.is(-0, 0 * -1), 1 / 0],
        })""",
    )
    assert math.copysign(1, told["below"]) == -1
    assert told["none"] is None
    assert math.isnan(told["ratio"])
    assert told["whether"] == [True, math.inf]
    seen = ask(
        bench.page,
        "([below, nan, inf]) => [Object.is(below, -0), Number.isNaN(nan), inf === Infinity]",
        [-0.0, math.nan, math.inf],
    )
    assert seen == [True, True, True]
