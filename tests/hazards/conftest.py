"""A page beside the modules of the hazard class."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from tests.served import static_files


@pytest.fixture(scope="module")
def page(browser: Browser) -> Iterator[Page]:
    context = browser.new_context()
    with static_files(Path(__file__).parent) as url:
        opened = context.new_page()
        opened.goto(url)
        yield opened
        context.close()
