"""The index follows every change, holds nothing that was erased, and is what is made anew."""

from pathlib import Path

from playwright.sync_api import Browser

from tests.bench.conftest import WORKSHOP
from tests.served import played

RUNS = 3
TURNS = 16


def test_the_index_that_follows_is_the_index_made_anew(browser: Browser) -> None:
    helper = Path(__file__).with_name("played.js")
    told = played(browser, helper, [WORKSHOP, TURNS], runs=RUNS)
    assert sum(each["changes"] for each in told) > RUNS * TURNS / 2
