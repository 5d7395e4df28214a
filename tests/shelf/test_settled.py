"""What rests is left out of no sum: shelves read with and without it, through months at random."""

from pathlib import Path

from playwright.sync_api import Browser

from tests.bench.conftest import WORKSHOP
from tests.served import played

RUNS = 4


def test_a_shelf_without_what_rests_is_the_whole_shelf(browser: Browser) -> None:
    told = played(browser, Path(__file__).with_name("settled.js"), [WORKSHOP], runs=RUNS)
    assert sum(each["settled"] for each in told) > 5 * RUNS
    assert sum(each["reopened"] for each in told) > RUNS
