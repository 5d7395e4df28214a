"""What rests is left out of no sum: shelves read with and without it, through months at random."""

from pathlib import Path

from playwright.sync_api import Browser

from tests.bench.conftest import WORKSHOP
from tests.served import static_files

RUNS = 4


def test_a_shelf_without_what_rests_is_the_whole_shelf(browser: Browser) -> None:
    settled = reopened = 0
    with static_files(Path(__file__).parent) as url:
        for seed in range(RUNS):
            # A phone with empty storage.
            context = browser.new_context(timezone_id="Europe/London")
            page = context.new_page()
            page.goto(url)
            told = page.evaluate(
                "async ([seed, records]) =>"
                " (await import('/helpers/settled.js')).play(seed, records)",
                [seed, WORKSHOP],
            )
            assert told["problem"] is None, f"seed {seed}: {told['problem']}"
            settled += told["settled"]
            reopened += told["reopened"]
            context.close()
    assert settled > 5 * RUNS
    assert reopened > RUNS
