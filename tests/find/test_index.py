"""The index follows every change, holds nothing that was erased, and is what is made anew."""

from pathlib import Path

from playwright.sync_api import Browser

from tests.bench.conftest import WORKSHOP
from tests.served import static_files

RUNS = 3
TURNS = 16


def test_the_index_that_follows_is_the_index_made_anew(browser: Browser) -> None:
    changes = 0
    with static_files(Path(__file__).parent) as url:
        for seed in range(RUNS):
            # A phone with empty storage.
            context = browser.new_context(timezone_id="Europe/London")
            page = context.new_page()
            page.goto(url)
            told = page.evaluate(
                "async ([seed, records, turns]) =>"
                " (await import('/helpers/played.js')).play(seed, records, turns)",
                [seed, WORKSHOP, TURNS],
            )
            assert told["problem"] is None, f"seed {seed}: {told['problem']}"
            changes += told["changes"]
            context.close()
    assert changes > RUNS * TURNS / 2
